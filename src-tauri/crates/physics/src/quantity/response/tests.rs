//! Draws of the model against full computations, against the guides, and against themselves.

use statrs::distribution::Normal;

use super::*;
use crate::{
    air::AIR20,
    fixture::{dossier, graded as with_grade, two_way, w1_with, with_u},
    quantity::quantities,
};

const SEED: u64 = 7;

type Draws = Vec<Option<Vec<f64>>>;

fn standard(of: &Responses<'_>, n: usize) -> Draws {
    (0..of.sources().len()).map(|it| Some(of.standard_draws(it, SEED, "quill/fern", n))).collect()
}

fn source(of: &Responses<'_>, id: &str) -> usize {
    of.sources().iter().position(|it| it.id == id).unwrap_or_else(|| panic!("no source {id}"))
}

fn mean(list: &[f64]) -> f64 {
    list.iter().sum::<f64>() / list.len() as f64
}

fn deviation(list: &[f64]) -> f64 {
    let mean = mean(list);
    (list.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / (list.len() - 1) as f64).sqrt()
}

/// The model's draws and those of full computations, under the same draws of all numbers.
struct Both {
    id: &'static str,
    rough: bool,
    model: Vec<f64>,
    full: Vec<f64>,
}

fn both(of: &Dossier, n: usize) -> Vec<Both> {
    let spreads = Spreads::default();
    let model = responses(of, &AIR20, &Fits::default(), &spreads, |_| true);
    let z: Draws = standard(&model, n)
        .into_iter()
        .zip(model.sources())
        .map(|(z, it)| z.filter(|_| !matches!(it.law, Law::Slip(_))))
        .collect();
    let fits = Fits::default();
    let grade = |finding: &Finding, value: &Value| graded(finding, value, &spreads);
    let inputs = Inputs::new(of, AIR20, &fits, &grade);
    let bench = Bench::nominal(&inputs);
    let lines: Vec<_> = ALL.iter().collect();
    let nominal: Vec<Nominal> = lines
        .iter()
        .enumerate()
        .filter_map(|(place, line)| {
            let (_, value, account) = computed(line, &bench);
            Nominal::of(place, &value, &account)
        })
        .collect();
    let variables = inputs.variables();
    let all = computes(&lines);
    let mut full = vec![Vec::with_capacity(n); nominal.len()];
    for draw in 0..n {
        let by =
            |(of, z): (&Variable, &Option<Vec<f64>>)| z.as_ref().map_or(0.0, |z| of.u * z[draw]);
        let shift: Vec<f64> = variables.iter().zip(&z).map(by).collect();
        let pass = Bench::moved(&bench, Shift::All(&shift));
        for (full, of) in full.iter_mut().zip(&nominal) {
            full.extend(all[of.quantity](&mut Ledger::new(&pass)).ok());
        }
    }
    let specs: Vec<_> = crate::quantity::specs().collect();
    let mut list = Vec::new();
    for (at, full) in full.into_iter().enumerate() {
        let id = specs[nominal[at].quantity].id;
        if let Some(drawn) = model.draws(id, &z, n) {
            list.push(Both { id, rough: model.quantities[id].is_rough(), model: drawn, full });
        }
    }
    list
}

/// Measured numbers, each to 3 %: what is smooth agrees with full computations to 5 % of a standard deviation in the
/// mean and to 6 % in the spread. What is not is scaled by 64 stratified draws, which are good to 7 %, so to three times that; so
/// far off is also the greatest of several peaks, where each source alone moves another one.
#[test]
fn the_model_spreads_as_full_computations_do() {
    let list = both(&two_way(&[]), 10_000);
    assert!(list.len() > 30, "{}", list.len());
    assert!(list.iter().any(|it| it.rough));
    for Both { id, rough, model, full } in list {
        let peaks = id == "crossover.ripple_db";
        let (mean_off, spread_off) = if rough || peaks { (0.21, 0.21) } else { (0.05, 0.06) };
        let u = deviation(&full);
        let off = (mean(&model) - mean(&full)) / u;
        assert!(off.abs() < mean_off, "{id}: the mean is off by {off:.3} u");
        let off = deviation(&model) / u - 1.0;
        assert!(off.abs() < spread_off, "{id}: the spread is off by {off:.3}");
    }
}

/// Claimed numbers, each to 20 % either way: what is not smooth still spreads as it should.
#[test]
fn wide_spreads_are_scaled_to_full_computations() {
    let mut it = two_way(&[]);
    it.jobs[0].findings.iter_mut().for_each(|it| it.evidence = Evidence::Claimed);
    let list = both(&it, 500);
    for id in ["system.f3_hz", "cabinet.panel_f_hz"] {
        let it = list.iter().find(|it| it.id == id).unwrap();
        assert!(it.rough, "{id}");
        let off = deviation(&it.model) / deviation(&it.full) - 1.0;
        assert!(off.abs() < 0.21, "{id}: the spread is off by {off:.3}");
    }
}

/// A product of powers, and a level of one, is its own model: each draw agrees, however wide the spreads.
#[test]
fn products_of_powers_are_exact() {
    let mut it = two_way(&[]);
    for (at, of) in it.jobs[0].findings.iter_mut().enumerate() {
        of.evidence = Evidence::ALL[at % Evidence::ALL.len()];
    }
    let exact = [
        "woofer.fs_hz",
        "woofer.vas_m3",
        "woofer.motor_n_s_m",
        "system.sens_2v83_db",
        "cabinet.baffle_step_hz",
        "wiring.loop_ohm",
    ];
    let list = both(&it, 200);
    for id in exact {
        let it = list.iter().find(|it| it.id == id).unwrap();
        for (model, full) in it.model.iter().zip(&it.full) {
            assert!((model / full - 1.0).abs() < 1e-9, "{id}: {model}, not {full}");
        }
    }
}

/// JCGM 100:2008, 4.3.7 and 4.3.9: a half width of 5 has u = 5/√3 as a rectangle and 5/√6 as a triangle.
#[test]
fn half_widths_have_the_uncertainties_of_the_guide() {
    assert!((Shape::Rectangular.standard(5.0) - 2.886_751_345_9).abs() < 1e-10);
    assert!((Shape::Triangular.standard(5.0) - 2.041_241_452_3).abs() < 1e-10);
    let wide = Spreads { claimed_half: 0.5, inferred_half: 0.5, ..Spreads::default() };
    let of = |evidence| with_grade(dossier(&[("woofer.mms", "10.00 g")]), "woofer.mms", evidence);
    for (evidence, law, u) in [
        (Evidence::Claimed, Law::Rectangular, 2.886_751_345_9e-3),
        (Evidence::Inferred, Law::Triangular, 2.041_241_452_3e-3),
    ] {
        let it = of(evidence);
        let it = responses(&it, &AIR20, &Fits::default(), &wide, |_| true);
        assert_eq!(it.sources()[source(&it, "woofer.mms")].law, law);
        assert!((it.numbers["woofer.mms"].u - u).abs() < 1e-12, "{evidence}");
    }
}

/// JCGM 101:2008, 9.2.3: four rectangles of unit deviation have 95 % of their sum within ±3.88.
#[test]
fn four_rectangles_add_as_in_the_supplement() {
    let it = two_way(&[]);
    let model = responses(&it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
    let rectangles =
        (0..model.sources().len()).filter(|&it| model.sources()[it].law == Law::Rectangular);
    let n = 100_000;
    let four: Vec<Vec<f64>> =
        rectangles.take(4).map(|it| model.standard_draws(it, SEED, "quill/fern", n)).collect();
    assert_eq!(four.len(), 4);
    let sums = (0..n).map(|at| four.iter().map(|it| it[at]).sum::<f64>());
    let inside = sums.filter(|it| it.abs() < 3.879_406_741_3).count() as f64 / n as f64;
    // Four standard errors of a share of 95 % in 100,000.
    assert!((inside - 0.95).abs() < 0.0028, "{inside}");
}

/// Mean, variance and fourth moment of each law: 3 for the normal, 9/5 for the rectangle, 12/5 for the triangle.
#[test]
fn each_stratum_is_drawn_once_and_the_moments_are_those_of_the_law() {
    let n = 1000;
    let normal = Normal::standard();
    for (id, evidence, shape, fourth) in [
        ("woofer.mms", Evidence::Measured, Shape::Normal, 3.0),
        ("woofer.cms", Evidence::Claimed, Shape::Rectangular, 1.8),
        ("woofer.bl", Evidence::Inferred, Shape::Triangular, 2.4),
    ] {
        let it = with_grade(w1_with(&[]), id, evidence);
        let model = responses(&it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
        let of = source(&model, id);
        assert_eq!(model.sources()[of].law, Law::from(shape));
        let mut list = model.standard_draws(of, SEED, "quill/fern", n);
        assert!(list.windows(2).any(|it| it[0] > it[1]), "{id} is in order");
        list.sort_by(f64::total_cmp);
        for (stratum, it) in list.iter().enumerate() {
            let end = |at: usize| strata::quantile(shape, at as f64 / n as f64, &normal);
            assert!(end(stratum) <= *it && *it <= end(stratum + 1), "{id}: {it} in {stratum}");
        }
        let moment = |power: i32| mean(&list.iter().map(|it| it.powi(power)).collect::<Vec<_>>());
        assert!(moment(1).abs() < 0.002, "{id}: mean {}", moment(1));
        assert!((moment(2) - 1.0).abs() < 0.01, "{id}: variance {}", moment(2));
        assert!((moment(4) - fourth).abs() < 0.1, "{id}: fourth moment {}", moment(4));
    }
}

#[test]
fn draws_depend_on_seed_product_and_source_alone() {
    let (few, more) = (w1_with(&[]), two_way(&[("cabinet.baffle_edge_r", "5 mm")]));
    let spreads = Spreads::default();
    let (few, more) = (
        responses(&few, &AIR20, &Fits::default(), &spreads, |_| true),
        responses(&more, &AIR20, &Fits::default(), &spreads, |_| true),
    );
    for (place, of) in few.sources().iter().enumerate() {
        let draws = few.standard_draws(place, SEED, "quill/fern", 50);
        let other = source(&more, &of.id);
        assert_eq!(draws, more.standard_draws(other, SEED, "quill/fern", 50), "{}", of.id);
        assert_ne!(draws, few.standard_draws(place, SEED + 1, "quill/fern", 50));
        assert_ne!(draws, few.standard_draws(place, SEED, "quill/moss", 50));
    }
    assert_eq!(few.standard_draws(usize::MAX, SEED, "quill/fern", 50), [0.0; 0]);
}

#[test]
fn a_slip_has_the_stated_share_and_the_neighbours_of_the_dictionary() {
    let of = |evidence| with_grade(two_way(&[]), "cabinet.panel_material", evidence);
    let it = of(Evidence::Inspected);
    let model = responses(&it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
    let (source, values) = model.alternatives("cabinet.panel_material").unwrap();
    let words = ["particle", "mdf", "ply"].map(|it| Value::Choice(it.into()));
    assert_eq!(values, words);
    assert_eq!(model.sources()[source].law, Law::Slip(vec![0.015, 0.015]));
    let draws = model.standard_draws(source, SEED, "quill/fern", 1000);
    let above = |what: f64| draws.iter().filter(|it| **it > what).count();
    assert_eq!([above(-0.5), above(0.5), above(1.5), above(2.5)], [1000, 30, 15, 0]);
    for evidence in [Evidence::Measured, Evidence::Marked] {
        let it = of(evidence);
        let model = responses(&it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
        assert_eq!(model.alternatives("cabinet.panel_material"), None, "{evidence}");
    }
}

#[test]
fn ends_counts_and_flags_have_their_neighbours() {
    let mut it = two_way(&[("cabinet.gasket", "none"), ("whole.sens_convention", "not stated")]);
    for of in &mut it.jobs[0].findings {
        of.evidence = Evidence::Inferred;
    }
    let model = responses(&it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
    let values = |address: &str| model.alternatives(address).map(|it| it.1);
    let choice = |it: &str| Value::Choice(it.into());
    assert_eq!(values("cabinet.gasket"), Some(vec![choice("none"), choice("foam")]));
    let last = values("whole.sens_convention").unwrap();
    assert_eq!(last, [choice("not stated"), choice("1 W, 1 m")]);
    assert_eq!(values("cabinet.leak_found"), Some(vec![Value::Flag(false), Value::Flag(true)]));
    let counts = [1, 0, 2].map(Value::Count).to_vec();
    assert_eq!(values("cabinet.brace_count"), Some(counts));
    assert_eq!(values("cabinet.box_type"), None);
    assert_eq!(values("cabinet.port_n"), None);
    assert_eq!(values("cabinet.net_volume"), None);
}

/// By their grade, their rounding and their own words; what nobody declares any more stays as it is.
#[test]
fn findings_of_plugins_move_like_standard_ones() {
    use domain::{
        dictionary::{Expected, Own, OwnKind},
        finding::{Answer, Declared},
    };
    let own = |key: &str, kind| {
        Declared::Own(std::sync::Arc::new(Own {
            plugin: "org.example.finish".into(),
            key: format!("org.example.finish.{key}"),
            role: Role::Cabinet,
            label: key.into(),
            kind,
            typical: None,
            expected: Expected::Optional,
            why: String::new(),
        }))
    };
    let mut it = two_way(&[("cabinet.lining_thick", "18 mm")]);
    let like = it.current(Part::first(Role::Cabinet), "lining_thick").unwrap().clone();
    let grilles = ["none", "cloth", "metal"].map(str::to_owned).to_vec();
    let cloth = Value::Choice("cloth".into());
    for (key, declared, answer) in [
        ("film", own("film", OwnKind::Number(Dimension::Length, "mm")), like.answer.clone()),
        ("grille", own("grille", OwnKind::Choice(grilles)), Answer::Value(cloth.clone())),
        ("gone", Declared::Nowhere, like.answer.clone()),
        ("lost", Declared::Nowhere, Answer::Value(cloth)),
    ] {
        let key = format!("org.example.finish.{key}");
        let evidence = match answer {
            Answer::Value(Value::Choice(_)) => Evidence::Inspected,
            _ => like.evidence,
        };
        let found = Finding { key, declared, answer, evidence, ..like.clone() };
        it.jobs[0].findings.push(found);
    }
    let model = responses(&it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
    let address = |key: &str| format!("cabinet.org.example.finish.{key}");
    let z = standard(&model, 1000);
    let spread = |id: &str| deviation(&model.draws(id, &z, 1000).unwrap());
    let (film, lining) = (spread(&address("film")), spread("cabinet.lining_thick"));
    assert!(film > 0.0 && (film / lining - 1.0).abs() < 0.01, "{film} {lining}");
    let (source, values) = model.alternatives(&address("grille")).unwrap();
    assert_eq!(values, ["cloth", "none", "metal"].map(|it| Value::Choice(it.into())));
    assert_eq!(model.sources()[source].law, Law::Slip(vec![0.015, 0.015]));
    assert_eq!(model.draws(&address("gone"), &z, 1000), None);
    assert_eq!(model.alternatives(&address("lost")), None);
}

/// The model of a slip is a computation with the other word.
#[test]
fn a_slip_moves_a_quantity_to_where_the_other_word_puts_it() {
    let it = with_grade(two_way(&[]), "cabinet.panel_material", Evidence::Inspected);
    let model = responses(&it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
    let (source, values) = model.alternatives("cabinet.panel_material").unwrap();
    let mut z: Draws = vec![None; model.sources().len()];
    z[source] = Some(vec![0.0, 1.0, 2.0]);
    let drawn = model.draws("cabinet.panel_f_hz", &z, 3).unwrap();
    for (drawn, value) in drawn.iter().zip(values) {
        let Value::Choice(word) = value else { panic!("{value:?}") };
        let mut other = two_way(&[]);
        let of = other.jobs[0].findings.iter_mut().find(|it| it.key == "panel_material").unwrap();
        of.answer = domain::finding::Answer::Value(Value::Choice(word));
        let list = quantities(&other, &AIR20);
        let want = list.iter().find(|it| it.spec.id == "cabinet.panel_f_hz").unwrap();
        let want = want.value.clone().unwrap();
        assert!((drawn / want - 1.0).abs() < 1e-12, "{drawn}, not {want}");
    }
    assert_eq!(
        model.draws("woofer.fs_hz", &z, 3).unwrap(),
        [model.quantities["woofer.fs_hz"].draws(&[], 1)[0]; 3]
    );
}

/// Without its only brace a box has no place of a brace; what would be missing then is no doubt of degree.
#[test]
fn an_alternative_that_removes_a_quantity_does_not_move_it() {
    let bare = [("cabinet.brace_count", "0"), ("cabinet.lining_material", "none")];
    let mut it = two_way(&[]);
    it.jobs[0].findings.retain(|it| {
        !["brace_pos", "brace_count", "lining_material", "lining_thick"].contains(&it.key.as_str())
    });
    it.jobs[0].findings.extend(dossier(&bare).jobs.remove(0).findings);
    for of in &mut it.jobs[0].findings {
        of.evidence = Evidence::Inspected;
    }
    let model = responses(&it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
    for (address, id) in [
        ("cabinet.brace_count", "cabinet.panel_f_hz"),
        ("cabinet.lining_material", "cabinet.cavity_q"),
    ] {
        let (source, _) = model.alternatives(address).unwrap();
        assert!(!model.sources_of(id).contains(&source), "{address} moves {id}");
        assert_eq!(model.sources_of(address), [source]);
    }
}

#[test]
fn a_stated_uncertainty_holds_and_a_rounding_may_be_the_greater() {
    let u_of = |it: &Dossier, address: &str| {
        let model = responses(it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
        model.numbers.get(address).map(|of| (of.u, model.sources()[of.source].law.clone()))
    };
    let stated = with_u(w1_with(&[]), "woofer.mms", 1e-4);
    assert_eq!(u_of(&stated, "woofer.mms"), Some((1e-4, Law::Normal)));
    let guessed = with_grade(stated, "woofer.mms", Evidence::Inferred);
    assert_eq!(u_of(&guessed, "woofer.mms"), Some((1e-4, Law::Triangular)));
    let exact = with_u(w1_with(&[]), "woofer.mms", 0.0);
    assert_eq!(u_of(&exact, "woofer.mms"), None);
    // 2 mm is read to half a millimetre: 0.5/√3 is more than 3 %.
    let coarse = dossier(&[("woofer.xmax", "2 mm"), ("cabinet.port_flare.in", "0 mm")]);
    let half = 0.5e-3 / 3_f64.sqrt();
    for address in ["woofer.xmax", "cabinet.port_flare.in"] {
        let (u, law) = u_of(&coarse, address).unwrap();
        assert!((u - half).abs() < 1e-15 && law == Law::Rectangular, "{address}: {u}");
    }
    // A level of 3 % in its amplitude; a promise is taken at its word, to its last digit.
    let levels = dossier(&[("whole.rated_sens", "90 dB"), ("whole.rated_z", "8 ohm")]);
    let claimed = with_grade(levels, "whole.rated_z", Evidence::Claimed);
    for address in ["whole.rated_sens", "whole.rated_z"] {
        let (u, _) = u_of(&claimed, address).unwrap();
        assert!((u - 0.5 / 3_f64.sqrt()).abs() < 1e-12, "{address}: {u}");
    }
}

#[test]
fn numbers_are_drawn_within_their_limits() {
    let it = with_u(two_way(&[]), "cabinet.lining_cover", 0.5);
    let it = with_u(it, "woofer.xmax", 4e-3);
    let model = responses(&it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
    let z = standard(&model, 1000);
    let cover = model.draws("cabinet.lining_cover", &z, 1000).unwrap();
    assert!(cover.iter().all(|it| (0.0..=1.0).contains(it)));
    assert!(cover.contains(&0.0) && cover.contains(&1.0));
    let xmax = model.draws("woofer.xmax", &z, 1000).unwrap();
    assert!(xmax.iter().all(|it| *it >= 0.0));
    let z_mms = z[source(&model, "woofer.mms")].as_ref().unwrap();
    let mms = model.draws("woofer.mms", &z, 1000).unwrap();
    for (mms, z) in mms.iter().zip(z_mms) {
        assert!((mms / (0.0142 * (1.0 + 0.03 * z)) - 1.0).abs() < 1e-12);
    }
}

#[test]
fn what_is_exact_or_unknown_has_no_draws() {
    let it = w1_with(&[]);
    let model = responses(&it, &AIR20, &Fits::default(), &Spreads::default(), |_| true);
    let z = standard(&model, 10);
    for id in ["whole.ways", "system.f3_hz", "no.such", "cabinet.box_type"] {
        assert_eq!(model.draws(id, &z, 10), None, "{id}");
        assert_eq!(model.sources_of(id), [0; 0], "{id}");
    }
    assert_eq!(model.sources_of("woofer.sd"), [source(&model, "woofer.sd")]);
    let of_fs: Vec<&str> =
        model.sources_of("woofer.fs_hz").iter().map(|it| &*model.sources()[*it].id).collect();
    assert_eq!(of_fs, ["woofer.mms", "woofer.cms"]);
}

#[test]
fn wider_spreads_never_narrow_a_smooth_quantity() {
    let mut it = two_way(&[]);
    for (at, of) in it.jobs[0].findings.iter_mut().enumerate() {
        of.evidence = Evidence::ALL[at % Evidence::ALL.len()];
    }
    let base = Spreads::default();
    let spread = |spreads: &Spreads| -> Vec<(&'static str, bool, f64)> {
        let model = responses(&it, &AIR20, &Fits::default(), spreads, |_| true);
        let z = standard(&model, 1000);
        crate::quantity::specs()
            .filter_map(|it| {
                let spread = deviation(&model.draws(it.id, &z, 1000)?);
                Some((it.id, model.quantities[it.id].is_rough(), spread))
            })
            .collect()
    };
    let narrow = spread(&base);
    for entry in &crate::spread::ENTRIES {
        let mut wide = base;
        wide.set(entry.id, (1.5 * entry.default).min(entry.max)).unwrap();
        let mut widened = 0;
        for ((id, was_rough, before), (_, rough, after)) in narrow.iter().zip(spread(&wide)) {
            if rough || *was_rough {
                continue;
            }
            assert!(after >= before * (1.0 - 1e-3), "{}: {id} {before} to {after}", entry.id);
            widened += usize::from(after > before * 1.001);
        }
        assert!(widened > 0 || entry.id.ends_with("_slip"), "{} moves nothing", entry.id);
    }
}
