//! The rows of a comparison: what stands beside what, and whether it differs.

use std::collections::BTreeMap;

use domain::part::Part;
use standing::gates::DELTA_S;

use crate::{
    dto::{
        CompareCell, CompareRow, CompareSection, CriterionDto, FindingDto, ProductScores,
        ProductSheet, QuantityDto,
    },
    scoring::{Scored, ScoredProduct},
    sheet,
};

/// Numbers differ when they are further apart than this many standard uncertainties of their difference.
const APART_Z: f64 = 2.0;

/// All rows. A row that no product has a value or a gap in is left out.
pub(super) fn sections(
    sheets: &[ProductSheet],
    products: &[&ScoredProduct],
    shares: &BTreeMap<String, f64>,
    scored: &Scored,
) -> Vec<CompareSection> {
    let section = |id: &str, title: &str, rows: Vec<CompareRow>| CompareSection {
        id: id.into(),
        title: title.into(),
        rows,
    };
    vec![
        section("short", "In short", short(sheets)),
        section("scores", "Scores", scores(sheets, shares, scored)),
        section("quantities", "Computed quantities", quantities(sheets)),
        section("findings", "Findings", findings(sheets, products, scored)),
    ]
    .into_iter()
    .filter(|it| !it.rows.is_empty())
    .collect()
}

fn cell(text: impl Into<String>) -> CompareCell {
    CompareCell {
        text: text.into(),
        measured: String::new(),
        low: None,
        high: None,
        evidence: String::new(),
        date: String::new(),
        state: "known".into(),
        note: String::new(),
    }
}

fn missing(text: &str) -> CompareCell {
    CompareCell { state: "missing".into(), ..cell(text) }
}

/// What is known of a number, to tell whether two differ.
#[derive(Debug, Clone, Copy)]
enum Number {
    /// With its standard uncertainty.
    Exactly(f64, f64),
    /// Anywhere between two ends.
    Between(f64, f64),
}

impl Number {
    /// By how much the two are apart, in units of what counts as a difference: above 1 they differ.
    fn apart(self, other: Number) -> f64 {
        match (self, other) {
            (Number::Exactly(a, u), Number::Exactly(b, v)) => {
                let u = u.hypot(v);
                // Without an uncertainty any difference is one.
                let counts = (APART_Z * u).max(f64::EPSILON * a.abs().max(b.abs()));
                if counts > 0.0 { (a - b).abs() / counts } else { 0.0 }
            }
            (Number::Between(a, b), Number::Between(c, d)) => (c - b).max(a - d) / DELTA_S,
            _ => 0.0,
        }
    }
}

/// Whether cells differ: by their numbers where each known one has one, else by their texts.
fn difference(cells: &[CompareCell], numbers: &[Option<Number>]) -> &'static str {
    let known: Vec<usize> = (0..cells.len()).filter(|&at| cells[at].state == "known").collect();
    let all_numbers = known.iter().all(|&at| numbers.get(at).is_some_and(Option::is_some));
    let differ = known.iter().enumerate().any(|(nth, &a)| {
        known[nth + 1..].iter().any(|&b| match (numbers.get(a), numbers.get(b)) {
            (Some(Some(x)), Some(Some(y))) if all_numbers => x.apart(*y) > 1.0,
            _ => cells[a].text != cells[b].text,
        })
    });
    let lacks = cells.iter().any(|it| it.state == "missing");
    let applies_to_some = cells.iter().any(|it| it.state == "not applicable") && !known.is_empty();
    match (differ || applies_to_some, lacks) {
        (true, _) => "differs",
        (false, true) => "open",
        (false, false) => "alike",
    }
}

fn row(
    id: impl Into<String>,
    group: &str,
    label: impl Into<String>,
    cells: Vec<CompareCell>,
    numbers: &[Option<Number>],
) -> CompareRow {
    let difference = difference(&cells, numbers).to_owned();
    CompareRow {
        id: id.into(),
        group: group.into(),
        label: label.into(),
        level: 0,
        best: vec![false; cells.len()],
        cells,
        difference,
    }
}

fn short(sheets: &[ProductSheet]) -> Vec<CompareRow> {
    let texts = |of: fn(&ProductSheet) -> CompareCell| sheets.iter().map(of).collect::<Vec<_>>();
    let plain = |id: &str, label: &str, of: fn(&ProductSheet) -> CompareCell| {
        row(id, "", label, texts(of), &[])
    };
    vec![
        plain("price", "Price", |it| match &it.row.price {
            Some(price) => CompareCell {
                date: price.date.clone(),
                note: if price.stale { "stale".into() } else { String::new() },
                ..cell(format!("{:.0}", price.real_pair))
            },
            None => missing("none"),
        }),
        plain("kind", "Kind", |it| cell(it.row.kind.clone())),
        plain("ways", "Ways", |it| cell(it.row.ways.to_string())),
        plain("year", "Year", |it| cell(it.row.year.to_string())),
        plain("opened", "Last opened", |it| match &it.row.last_teardown {
            Some(day) => cell(day.clone()),
            None => missing("never"),
        }),
        plain("found", "Findings of a full teardown", |it| {
            cell(format!("{} of {}", it.row.found, it.row.expected))
        }),
    ]
}

fn points(low: f64, high: f64) -> String {
    let (low, high) = (format!("{low:.0}"), format!("{high:.0}"));
    if low == high { low } else { format!("{low}–{high}") }
}

fn scores(
    sheets: &[ProductSheet],
    shares: &BTreeMap<String, f64>,
    scored: &Scored,
) -> Vec<CompareRow> {
    let mut rows = Vec::new();
    let mut weighed: Vec<(&String, f64)> =
        shares.iter().filter(|it| *it.1 > 0.0).map(|(name, share)| (name, *share)).collect();
    weighed.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(b.0)));
    for (name, _) in weighed {
        let parts: Vec<Option<(f64, f64)>> = sheets
            .iter()
            .map(|it| it.scores.as_ref()?.subsystems.get(name).map(|it| (it.low, it.high)))
            .collect();
        let cells: Vec<CompareCell> = sheets
            .iter()
            .zip(&parts)
            .map(|(sheet, it)| match it {
                Some((low, high)) => {
                    CompareCell { low: Some(*low), high: Some(*high), ..cell(points(*low, *high)) }
                }
                None if sheet.scores.is_none() => missing("not scored"),
                None => CompareCell { state: "not applicable".into(), ..cell("does not apply") },
            })
            .collect();
        let numbers: Vec<Option<Number>> =
            parts.iter().map(|it| it.map(|(low, high)| Number::Between(low, high))).collect();
        rows.push(marked(row(name.clone(), name, name.clone(), cells, &numbers), &numbers));
        let Some(place) = scored.subsystems.iter().position(|it| it == name) else { continue };
        let of = scored.products.iter().find_map(|it| it.subsystems.get(place));
        for criterion in of.iter().flat_map(|it| &it.criteria) {
            rows.push(criterion_row(sheets, name, &criterion.id, &criterion.title));
        }
    }
    rows
}

fn criterion_row(sheets: &[ProductSheet], subsystem: &str, id: &str, title: &str) -> CompareRow {
    let of = |scores: &ProductScores| -> Option<CriterionDto> {
        let mut all = scores.criteria.iter();
        all.find(|it| it.subsystem == subsystem && it.id == id).cloned()
    };
    let found: Vec<Option<CriterionDto>> =
        sheets.iter().map(|it| it.scores.as_ref().and_then(of)).collect();
    let cells: Vec<CompareCell> = found
        .iter()
        .map(|it| match it {
            None => missing("not scored"),
            Some(it) => criterion_cell(it),
        })
        .collect();
    let numbers: Vec<Option<Number>> = found
        .iter()
        .map(|it| it.as_ref()?.score.map(|score| Number::Between(score, score)))
        .collect();
    let row = row(format!("{subsystem}.{id}"), subsystem, title, cells, &numbers);
    CompareRow { level: 1, ..marked(row, &numbers) }
}

fn criterion_cell(it: &CriterionDto) -> CompareCell {
    let measured = it.measure.map_or_else(String::new, |measure| {
        let text = short_number(measure);
        if it.unit.is_empty() { text } else { format!("{text} {}", it.unit) }
    });
    let grade = if it.hard { "" } else { "claimed or judged" };
    match it.score {
        Some(score) => CompareCell {
            // A choice measures what it is worth: the same number twice says nothing.
            measured: if it.unit.is_empty() && same(it.measure, score) {
                String::new()
            } else {
                measured
            },
            low: Some(score),
            high: Some(score),
            evidence: grade.into(),
            ..cell(format!("{score:.0}"))
        },
        None => CompareCell { state: it.state.clone(), ..cell(it.state.clone()) },
    }
}

fn same(measure: Option<f64>, score: f64) -> bool {
    measure.is_some_and(|it| (it - score).abs() < 0.5)
}

/// Three significant digits: enough to compare.
fn short_number(value: f64) -> String {
    if value == 0.0 {
        return "0".into();
    }
    #[expect(clippy::cast_possible_truncation, reason = "a logarithm is small")]
    let magnitude = value.abs().log10().floor() as i32;
    if !(-4..6).contains(&magnitude) {
        return format!("{value:.2e}");
    }
    let digits = usize::try_from(2 - magnitude).unwrap_or(0);
    // A minus as people print it.
    format!("{value:.digits$}").replace('-', "\u{2212}")
}

/// Marks who is best: whose lower end lies above the upper end of another by a difference that counts, and is beaten by
/// nobody in the same way.
fn marked(mut row: CompareRow, numbers: &[Option<Number>]) -> CompareRow {
    let clearly = |a: &Number, b: &Number| match (a, b) {
        (Number::Between(low, _), Number::Between(_, high)) => low - high >= DELTA_S,
        _ => false,
    };
    for (at, own) in numbers.iter().enumerate() {
        let Some(own) = own else { continue };
        let mut others = numbers.iter().enumerate().filter(|it| it.0 != at);
        let beaten = others.any(|(_, it)| it.is_some_and(|it| clearly(&it, own)));
        let beats = numbers.iter().any(|it| it.is_some_and(|it| clearly(own, &it)));
        row.best[at] = beats && !beaten;
    }
    row
}

fn quantities(sheets: &[ProductSheet]) -> Vec<CompareRow> {
    let Some(first) = sheets.first() else { return Vec::new() };
    first
        .quantities
        .iter()
        .filter_map(|it| {
            let found: Vec<Option<&QuantityDto>> = sheets
                .iter()
                .map(|sheet| sheet.quantities.iter().find(|of| of.id == it.id))
                .collect();
            if found.iter().all(|it| it.is_none_or(|it| it.si.is_none())) {
                return None;
            }
            let cells = found.iter().map(|it| it.map_or_else(|| missing(""), quantity_cell));
            let numbers: Vec<Option<Number>> = found
                .iter()
                .map(|it| it.and_then(|it| Some(Number::Exactly(it.si?, it.u.unwrap_or(0.0)))))
                .collect();
            Some(row(it.id.clone(), "", it.label.clone(), cells.collect(), &numbers))
        })
        .collect()
}

fn quantity_cell(it: &QuantityDto) -> CompareCell {
    match it.si {
        Some(si) => {
            let u = it.u.unwrap_or(0.0);
            CompareCell {
                low: Some(si - u),
                high: Some(si + u),
                evidence: it.evidence.clone().unwrap_or_default(),
                ..cell(it.shown.clone())
            }
        }
        // "not applicable: why" is a sentence of its own on the sheet.
        None if it.shown.starts_with("not applicable") => CompareCell {
            state: "not applicable".into(),
            note: it.shown.clone(),
            ..cell("does not apply")
        },
        None => missing("missing"),
    }
}

fn findings(
    sheets: &[ProductSheet],
    products: &[&ScoredProduct],
    scored: &Scored,
) -> Vec<CompareRow> {
    // In the order in which sheets list them; what a later product adds stands after its neighbours of the same part.
    let mut order: Vec<(String, String, String)> = Vec::new();
    for sheet in sheets {
        for it in &sheet.findings {
            if order.iter().any(|of| of.0 == it.address) {
                continue;
            }
            let after = order.iter().rposition(|of| of.1 == it.part);
            let at = after.map_or(order.len(), |at| at + 1);
            order.insert(at, (it.address.clone(), it.part.clone(), it.label.clone()));
        }
    }
    order
        .into_iter()
        .map(|(address, part, label)| {
            let found: Vec<Option<FindingDto>> =
                products.iter().map(|it| current(it, &address, scored)).collect();
            let cells =
                found.iter().map(|it| it.as_ref().map_or_else(|| missing("none"), finding_cell));
            let numbers: Vec<Option<Number>> = found
                .iter()
                .map(|it| {
                    let it = it.as_ref()?;
                    Some(Number::Exactly(it.si?, it.std_uncertainty.unwrap_or(0.0)))
                })
                .collect();
            row(address, &part, label, cells.collect(), &numbers)
        })
        .collect()
}

/// The finding that holds at an address.
fn current(product: &ScoredProduct, address: &str, scored: &Scored) -> Option<FindingDto> {
    let (part, key) = address.split_once('.')?;
    let part: Part = part.parse().ok()?;
    let found = product.dossier.current(part, key)?;
    Some(sheet::finding(found, &scored.declarations))
}

fn finding_cell(it: &FindingDto) -> CompareCell {
    let state = match it.typed.as_str() {
        "not applicable" => "not applicable",
        "not inspected" | "could not tell" => "missing",
        _ => "known",
    };
    let u = it.std_uncertainty.unwrap_or(0.0);
    CompareCell {
        low: it.si.map(|si| si - u),
        high: it.si.map(|si| si + u),
        evidence: it.evidence.clone(),
        date: it.date.clone(),
        state: state.into(),
        note: it.note.clone(),
        ..cell(it.shown.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(list: &[&str]) -> Vec<CompareCell> {
        let state = |it: &&str| if it.is_empty() { missing("none") } else { cell(*it) };
        list.iter().map(state).collect()
    }

    #[test]
    fn numbers_differ_past_their_uncertainty_and_words_when_they_are_others() {
        let exactly = |list: &[(f64, f64)]| -> Vec<Option<Number>> {
            list.iter().map(|(x, u)| Some(Number::Exactly(*x, *u))).collect()
        };
        let two = texts(&["6.0 ohm", "6.2 ohm"]);
        // 0.2 against twice the root of 0.1^2 + 0.1^2 = 0.28, by hand.
        assert_eq!(difference(&two, &exactly(&[(6.0, 0.1), (6.2, 0.1)])), "alike");
        assert_eq!(difference(&two, &exactly(&[(6.0, 0.01), (6.2, 0.01)])), "differs");
        assert_eq!(difference(&two, &exactly(&[(6.0, 0.0), (6.2, 0.0)])), "differs");
        assert_eq!(difference(&texts(&["mdf", "plywood"]), &[None, None]), "differs");
        assert_eq!(difference(&texts(&["mdf", "mdf"]), &[None, None]), "alike");
        assert_eq!(difference(&texts(&["mdf", "", "mdf"]), &[None, None, None]), "open");
        let points = [Some(Number::Between(40.0, 60.0)), Some(Number::Between(59.0, 70.0))];
        assert_eq!(difference(&texts(&["40–60", "59–70"]), &points), "alike");
    }

    #[test]
    fn only_what_is_clearly_above_another_and_below_none_is_best() {
        let best = |spans: &[(f64, f64)]| {
            let numbers: Vec<Option<Number>> =
                spans.iter().map(|(low, high)| Some(Number::Between(*low, *high))).collect();
            let cells = spans.iter().map(|(low, high)| cell(points(*low, *high))).collect();
            marked(row("", "", "", cells, &numbers), &numbers).best
        };
        assert_eq!(best(&[(70.0, 70.0), (50.0, 50.0)]), [true, false]);
        assert_eq!(best(&[(70.0, 70.0), (69.0, 69.0)]), [false, false]);
        assert_eq!(best(&[(70.0, 70.0), (69.0, 69.0), (40.0, 40.0)]), [true, true, false]);
        assert_eq!(best(&[(60.0, 90.0), (50.0, 65.0)]), [false, false]);
    }

    #[test]
    fn a_measure_keeps_three_figures() {
        for (value, text) in [(0.0, "0"), (123.4, "123"), (1.234, "1.23"), (0.01234, "0.0123")] {
            assert_eq!(short_number(value), text);
        }
        assert_eq!(short_number(1.5e-6), "1.50e-6");
    }
}
