//! The page of a band on made-up reports: what a seed catalogue does not show.

use std::collections::BTreeMap;

use super::{Detail, band, limits, month};
use crate::dto::{
    BandReport, IntervalDto, NotRanked, PluginUsed, Remark, Standing, SubsystemDto, ValuePoints,
    VerdictDto, fixture,
};

/// A product with two subsystems, one of them known.
fn standing(model: &str, price: f64, low: f64, high: f64) -> Standing {
    let known = SubsystemDto { value: Some(90.0), low: 90.0, high: 90.0, coverage: 1.0 };
    let open = SubsystemDto { value: None, low: 20.0, high: 60.0, coverage: 0.5 };
    Standing {
        subsystems: BTreeMap::from([("wiring".into(), known), ("cabinet".into(), open)]),
        ..fixture::standing(model, price, low, high)
    }
}

fn report(standings: Vec<Standing>) -> BandReport {
    let mut report = fixture::report(standings);
    report.band.high = None;
    report
}

/// The lines in which a product of the maker stands.
fn rows(text: &str) -> Vec<&str> {
    let table = text.split("Value for money").next().unwrap_or_default();
    table.lines().filter(|it| it.contains("Quill")).collect()
}

fn five() -> Vec<Standing> {
    ["a", "b", "c", "d", "e"].map(|it| standing(it, 300.0, 50.0, 60.0)).to_vec()
}

#[test]
fn few_products_have_no_ranks_and_stand_by_price() {
    let some = vec![standing("dear", 450.0, 80.0, 80.0), standing("cheap", 210.0, 40.0, 50.0)];
    let text = band(&report(some), 100, Detail::Brief);
    assert!(text.contains("With fewer than 5 ranked products there are no ranks"), "{text}");
    assert!(!text.contains("rank product"), "{text}");
    let rows = rows(&text);
    assert!(rows[0].contains("cheap") && rows[1].contains("dear"), "{text}");
    assert!(!rows[0].contains("1–3"), "{text}");
    let (_, value) = text.split_once("Value for money").unwrap();
    assert!(value.lines().all(|it| !it.contains("Quill") || !it.contains('%')), "{text}");
}

#[test]
fn five_products_have_ranks_and_keep_their_order() {
    let text = band(&report(five()), 100, Detail::Brief);
    assert!(!text.contains("there are no ranks"), "{text}");
    assert!(rows(&text).iter().all(|it| it.starts_with("A  1–3 ")), "{text}");
}

#[test]
fn a_band_without_ranked_products_says_so() {
    let mut empty = report(Vec::new());
    empty.not_ranked.push(NotRanked {
        product: "quill/fern".into(),
        maker: "Quill".into(),
        model: "Fern".into(),
        why: "powered".into(),
        real_pair: 250.0,
        index: IntervalDto { value: None, low: 10.0, high: 90.0 },
        coverage: 0.2,
        missing: ["woofer.fs", "woofer.re", "woofer.qes", "woofer.qms"].map(Into::into).to_vec(),
    });
    let brief = band(&empty, 100, Detail::Brief);
    assert!(brief.contains("No product in this band can be ranked."), "{brief}");
    assert!(brief.contains("and 1 more") && !brief.contains("10–90"), "{brief}");
    assert!(brief.contains("No plugin scored."), "{brief}");
    let all = band(&empty, 100, Detail::All);
    assert!(all.contains("woofer.qms") && all.contains("10–90"), "{all}");
}

#[test]
fn the_remark_about_few_products_is_said_once() {
    let mut few = report(vec![standing("a", 300.0, 50.0, 60.0)]);
    let remark = |code: &str, text: &str| Remark {
        source: "boxworth".into(),
        code: code.into(),
        severity: "caution".into(),
        text: text.into(),
    };
    few.remarks = vec![remark("too_few", "said above"), remark("other", "said here")];
    let text = band(&few, 100, Detail::Brief);
    assert!(text.contains("said here") && !text.contains("said above"), "{text}");
}

#[test]
fn long_and_hostile_names_do_not_move_the_columns() {
    let mut some = five();
    some[1].model = "Grand Concert Reference Edition of the Second Series".into();
    some[2].model = "扬声器扬声器扬声器扬声器扬声器扬声器".into();
    some[3].model = "x\u{1b}[2J\u{202e}\n".into();
    let text = band(&report(some), 100, Detail::Brief);
    // The drawing begins in the same terminal column in each row.
    let starts: Vec<usize> = rows(&text)
        .iter()
        .map(|it| it.find("···").map_or(0, |at| export::width_of(&it[..at])))
        .collect();
    assert_eq!(starts.len(), 5, "{text}");
    assert!(starts.iter().all(|it| *it == starts[0] && *it > 0), "{starts:?}\n{text}");
    assert!(text.lines().all(|it| export::width_of(it) <= 100), "{text}");
    assert!(!text.contains(['\u{1b}', '\u{202e}']), "{text}");
}

#[test]
fn a_stale_price_is_marked_and_digits_stay_below_each_other() {
    let mut some = five();
    some[0].price.stale = true;
    let text = band(&report(some), 100, Detail::Brief);
    let rows = rows(&text);
    assert_eq!(rows[0].find("300°"), rows[1].find("300 "), "{text}");
    assert!(text.contains("° price older than 180 days"), "{text}");
    assert!(!band(&report(five()), 100, Detail::Brief).contains('°'));
}

#[test]
fn a_subsystem_that_does_not_apply_reads_none() {
    let mut some = five();
    some[0].subsystems.remove("wiring");
    let text = band(&report(some), 100, Detail::Brief);
    assert!(rows(&text)[0].contains("none"), "{text}");
}

#[test]
fn plugins_that_are_shut_in_differently_are_told_apart() {
    let plugin = |id: &str, sandbox: &str| PluginUsed {
        id: id.into(),
        version: "1.0.0".into(),
        sha256: String::new(),
        sandbox: sandbox.into(),
    };
    let mut it = report(five());
    it.plugins = vec![plugin("org.a", "full"), plugin("org.b", "process only")];
    let text = band(&it, 100, Detail::Brief);
    assert!(text.contains("org.a 1.0.0 (sandbox: full), org.b 1.0.0 (sandbox: process only)."));
    it.plugins.pop();
    let text = band(&it, 100, Detail::Brief);
    assert!(text.contains("Scored by org.a 1.0.0; sandbox: full."), "{text}");
}

#[test]
fn value_has_its_sign_and_only_settled_verdicts_have_a_word() {
    let mut some = five();
    let verdict = |kind: &str, verdict: &str| VerdictDto {
        kind: kind.into(),
        verdict: verdict.into(),
        text: format!("A sentence about {kind}."),
        close: false,
    };
    some[0].value_points = Some(ValuePoints {
        value: 6.2,
        low: -0.3,
        high: 11.0,
        p_positive: 0.996,
        p_large: 0.9,
        p_largest: 0.6,
        expected: 54.0,
    });
    some[0].verdicts =
        vec![verdict("unbeaten", "supported"), verdict("good value", "not supported")];
    let text = band(&report(some), 100, Detail::Brief);
    let (_, value) = text.split_once("Value for money").unwrap();
    let row = value.lines().find(|it| it.contains("Quill a")).unwrap();
    for part in ["54", "+6", "0 to +11", ">99 %", "unbeaten"] {
        assert!(row.contains(part), "{part}: {row}");
    }
    assert!(!row.contains("good value"), "{row}");
    assert!(
        text.contains("A sentence about unbeaten.") && !text.contains("about good value"),
        "{text}"
    );
}

#[test]
fn limits_and_months_read_as_people_write_them() {
    assert_eq!(limits(Some(200.0), Some(500.0)), "200..500");
    assert_eq!(limits(None, Some(500.0)), "..500");
    assert_eq!(limits(Some(200.0), None), "200..");
    assert_eq!(month("2026-06"), "June 2026");
    assert_eq!(month("2026-12"), "December 2026");
    for odd in ["2026-13", "2026-00", "2026", ""] {
        assert_eq!(month(odd), odd);
    }
}
