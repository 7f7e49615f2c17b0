//! What is typed at the bench is read, saved and shown; nothing is saved that was not understood.

use super::*;
use crate::{
    AddProductRequest, AddSpecimenRequest, AddTeardownRequest, EngineOptions, HistoryRequest,
    NewRequest,
    dto::{BenchEcho, BenchRow, BenchSaved},
};

const PRODUCT: &str = "quill/fern-5";

struct Shelf {
    _folder: tempfile::TempDir,
    engine: Engine,
}

impl Shelf {
    /// A product with one specimen and a day of work on it.
    fn opened() -> Self {
        let shelf = Shelf::bare();
        let engine = &shelf.engine;
        engine.add_product(&product("Fern 5")).unwrap();
        let label = "A".to_owned();
        let acquired = "retail".to_owned();
        let specimen =
            AddSpecimenRequest { product: PRODUCT.into(), label, acquired, ..Default::default() };
        engine.add_specimen(&specimen).unwrap();
        let date = Some("2026-06-02".to_owned());
        let teardown = AddTeardownRequest {
            product: PRODUCT.into(),
            specimen: "A".into(),
            date,
            ..Default::default()
        };
        engine.add_teardown(&teardown).unwrap();
        shelf
    }

    fn bare() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let catalogue = folder.path().join("a.boxworth");
        let new = NewRequest { title: None, currency: "USD".into(), base_month: "2026-06".into() };
        Engine::create(&catalogue, &new).unwrap();
        let today = Some("2026-11-25".parse().unwrap());
        let engine =
            Engine::open(EngineOptions { catalogue, require_sandbox: false, today, cache: None })
                .unwrap();
        Shelf { _folder: folder, engine }
    }

    fn report(&self) -> BenchReport {
        self.engine.bench(&bench()).unwrap()
    }

    fn row(&self, address: &str, place: &str) -> Option<BenchRow> {
        found(&self.report(), address, place)
    }

    fn save(&self, request: BenchSaveRequest) -> BenchSaved {
        self.engine.save_finding(&request).unwrap()
    }

    fn value(&self, address: &str, value: &str) -> BenchSaved {
        self.save(valued(address, value))
    }

    fn echo(&self, finding: &str, value: &str) -> BenchEcho {
        let request = BenchReadRequest { finding: finding.into(), value: value.into() };
        self.engine.read_finding(&request).unwrap()
    }
}

fn product(model: &str) -> AddProductRequest {
    AddProductRequest {
        maker: "Quill".into(),
        model: model.into(),
        kind: "stand-mount".into(),
        ways: 2,
        year: 2021,
        ..Default::default()
    }
}

fn bench() -> BenchRequest {
    BenchRequest { product: PRODUCT.into(), ..Default::default() }
}

fn field(address: &str) -> BenchSaveRequest {
    let place = "found".to_owned();
    BenchSaveRequest { bench: bench(), finding: address.into(), place, ..Default::default() }
}

fn valued(address: &str, value: &str) -> BenchSaveRequest {
    BenchSaveRequest { value: Some(value.into()), ..field(address) }
}

fn found(report: &BenchReport, address: &str, place: &str) -> Option<BenchRow> {
    let mut rows = report.parts.iter().flat_map(|it| &it.rows);
    rows.find(|it| it.address == address && it.place == place).cloned()
}

fn state(shelf: &Shelf, address: &str) -> String {
    shelf.row(address, "found").unwrap().state
}

#[test]
fn a_reading_is_kept_as_typed_and_echoed_in_si() {
    let shelf = Shelf::opened();
    let saved = shelf.value("woofer.driver_mass", "1 lb 6 oz");
    assert_eq!((saved.before, saved.changed), (None, true));
    let row = found(&saved.bench, "woofer.driver_mass", "found").unwrap();
    assert_eq!((row.typed.as_str(), row.state.as_str()), ("1 lb 6 oz", "value"));
    assert_eq!((row.evidence.as_str(), row.date.as_str()), ("measured", "2026-06-02"));
    // One pound is 0.45359237 kg (International Yard and Pound Agreement, 1959): 22 oz are 0.62369 kg.
    assert!(row.si.starts_with("0.62"), "{}", row.si);
    assert!(row.si.ends_with("kg"), "{}", row.si);
}

#[test]
fn an_echo_saves_nothing_and_says_what_is_wrong() {
    let shelf = Shelf::opened();
    let it = shelf.echo("cabinet.panel_thick.front", "11/16 in");
    assert!(it.understood);
    // 11/16 of 25.4 mm, by the definition of the inch.
    assert!(it.shown.starts_with("17.") && it.shown.ends_with("mm"), "{}", it.shown);
    assert!(it.si.starts_with("0.017") && it.si.ends_with('m'), "{}", it.si);
    let it = shelf.echo("woofer.re", "5.6");
    assert!(!it.understood);
    assert!(it.accepted.contains("ohm"), "{}", it.accepted);
    assert!(!it.fault.contains("accepted") && !it.fault.is_empty(), "{}", it.fault);
    let it = shelf.echo("woofer.basket", "st");
    assert_eq!((it.value.as_str(), it.understood), ("stamped steel", true));
    let it = shelf.echo("woofer.re", "56 ohm");
    assert!(it.understood && it.remarks[0].contains("outside"), "{:?}", it.remarks);
    assert_eq!(shelf.echo("woofer.re", " ").state, "open");
    let unknown = BenchReadRequest { finding: "woofer.colour".into(), value: "red".into() };
    assert!(shelf.engine.read_finding(&unknown).is_err());
    assert_eq!(shelf.report().undo, None);
}

#[test]
fn absent_is_found_and_not_inspected_is_left() {
    let shelf = Shelf::opened();
    let open = shelf.report().found;
    shelf.value("cabinet.brace_count", "absent");
    shelf.value("cabinet.wall_damping", "?");
    shelf.value("cabinet.gasket", "??");
    shelf.value("cabinet.leak_found", "n");
    assert_eq!(state(&shelf, "cabinet.brace_count"), "absent");
    assert_eq!(state(&shelf, "cabinet.wall_damping"), "not inspected");
    assert_eq!(state(&shelf, "cabinet.gasket"), "could not tell");
    assert_eq!(state(&shelf, "cabinet.leak_found"), "value");
    let report = shelf.report();
    assert_eq!(report.found, open + 2);
    let left: Vec<&str> = report.left.iter().map(|it| it.address.as_str()).collect();
    assert!(left.contains(&"cabinet.wall_damping") && left.contains(&"cabinet.gasket"), "{left:?}");
    assert!(!left.contains(&"cabinet.brace_count"), "{left:?}");
}

#[test]
fn evidence_and_note_leave_the_value_and_its_uncertainty_as_they_are() {
    let shelf = Shelf::opened();
    shelf.value("cabinet.net_volume", "12.5 ± 0.2 L");
    let before = shelf.row("cabinet.net_volume", "found").unwrap();
    assert_eq!(before.typed, "12.5 L ± 0.2 L");
    shelf.save(BenchSaveRequest {
        evidence: Some("inferred".into()),
        ..field("cabinet.net_volume")
    });
    shelf.save(BenchSaveRequest { note: Some("by sand".into()), ..field("cabinet.net_volume") });
    let row = shelf.row("cabinet.net_volume", "found").unwrap();
    assert_eq!((row.evidence.as_str(), row.note.as_str()), ("inferred", "by sand"));
    assert_eq!((row.si, row.typed), (before.si, before.typed));
    // A corrected value is known as before, and keeps its note.
    shelf.value("cabinet.net_volume", "12.7 L");
    let row = shelf.row("cabinet.net_volume", "found").unwrap();
    assert_eq!((row.evidence.as_str(), row.note.as_str()), ("inferred", "by sand"));
}

#[test]
fn what_the_maker_says_stands_apart() {
    let shelf = Shelf::opened();
    shelf.value("cabinet.net_volume", "14 L");
    let saved = shelf
        .save(BenchSaveRequest { evidence: Some("claimed".into()), ..field("cabinet.net_volume") });
    assert_eq!(saved.place, "stated");
    assert_eq!(state(&shelf, "cabinet.net_volume"), "open");
    assert_eq!(shelf.row("cabinet.net_volume", "stated").unwrap().typed, "14 L");
    // What is found now stands beside it.
    shelf.value("cabinet.net_volume", "12.5 L");
    assert_eq!(shelf.row("cabinet.net_volume", "stated").unwrap().typed, "14 L");
    assert_eq!(state(&shelf, "cabinet.net_volume"), "value");
    // It was one action, and is taken back as one.
    shelf.engine.undo().unwrap();
    shelf.engine.undo().unwrap();
    assert_eq!(shelf.row("cabinet.net_volume", "stated"), None);
    assert_eq!(shelf.row("cabinet.net_volume", "found").unwrap().typed, "14 L");
}

#[test]
fn what_is_not_understood_is_not_saved() {
    let shelf = Shelf::opened();
    let wrong = [
        valued("woofer.re", "5.6"),
        valued("woofer.colour", "red"),
        BenchSaveRequest { evidence: Some("seen".into()), ..valued("woofer.re", "5.6 ohm") },
        BenchSaveRequest { note: Some("nothing to belong to".into()), ..field("woofer.re") },
        BenchSaveRequest { place: "elsewhere".into(), ..valued("woofer.re", "5.6 ohm") },
        BenchSaveRequest {
            bench: BenchRequest { date: Some("2026-06-03".into()), ..bench() },
            ..valued("woofer.re", "5.6 ohm")
        },
    ];
    for request in wrong {
        assert!(shelf.engine.save_finding(&request).is_err(), "{request:?}");
    }
    assert_eq!(shelf.report().undo, None);
}

#[test]
fn without_a_teardown_only_the_makers_word_can_be_saved() {
    let shelf = Shelf::bare();
    shelf.engine.add_product(&product("Fern 5")).unwrap();
    let refused = shelf.engine.save_finding(&valued("woofer.re", "5.6 ohm")).unwrap_err();
    assert!(refused.to_string().contains("no teardown yet"), "{refused}");
    let stated = BenchSaveRequest { place: "stated".into(), ..valued("whole.rated_z", "8 ohm") };
    assert!(shelf.save(stated).changed);
}

#[test]
fn a_correction_says_why_and_can_be_taken_back_after_a_restart() {
    let shelf = Shelf::opened();
    shelf.value("woofer.re", "56 ohm");
    let corrected =
        BenchSaveRequest { reason: "slip of the point".into(), ..valued("woofer.re", "5.6 ohm") };
    let saved = shelf.save(corrected);
    assert_eq!(saved.before.as_deref(), Some("56 ohm (measured)"));
    let request = HistoryRequest { product: PRODUCT.into(), finding: Some("woofer.re".into()) };
    let history = shelf.engine.history(&request).unwrap();
    assert_eq!(history.actions[0].reason, "slip of the point");
    // Another engine on the same file, as after a restart.
    let again = Engine::open(shelf.engine.options.clone()).unwrap();
    let undo = again.bench(&bench()).unwrap().undo.unwrap();
    assert!(undo.allowed);
    assert_eq!(undo.changes[0].what, "woofer.re");
    assert_eq!(undo.changes[0].after.as_deref(), Some("56 ohm (measured)"));
    again.undo().unwrap();
    let report = again.bench(&bench()).unwrap();
    assert_eq!(found(&report, "woofer.re", "found").unwrap().typed, "56 ohm");
    assert_eq!(report.redo.unwrap().changes[0].after.as_deref(), Some("5.6 ohm (measured)"));
}

#[test]
fn a_second_woofer_has_rows_before_anything_is_known_of_it() {
    let shelf = Shelf::opened();
    let woofer = |report: &BenchReport| {
        let of = report.parts.iter().filter(|it| it.role == "woofer");
        of.map(|it| (it.part.clone(), it.another.clone())).collect::<Vec<_>>()
    };
    assert_eq!(woofer(&shelf.report()), [("woofer".into(), Some("woofer2".into()))]);
    let with = BenchRequest { parts: vec!["woofer2".into()], ..bench() };
    let report = shelf.engine.bench(&with).unwrap();
    assert_eq!(
        woofer(&report),
        [("woofer".into(), None), ("woofer2".into(), Some("woofer3".into()))]
    );
    let request = BenchSaveRequest { bench: with, ..valued("woofer2.re", "6.1 ohm") };
    shelf.engine.save_finding(&request).unwrap();
    // Once something is known it is there by itself.
    assert_eq!(woofer(&shelf.report()).len(), 2);
    let bad = BenchRequest { parts: vec!["cabinet2".into()], ..bench() };
    assert!(shelf.engine.bench(&bad).is_err());
}

#[test]
fn quantities_and_expectations_follow_each_field() {
    let shelf = Shelf::opened();
    assert!(!shelf.row("cabinet.port_d", "found").unwrap().expected);
    let saved = shelf.value("cabinet.box_type", "vented");
    assert!(found(&saved.bench, "cabinet.port_d", "found").unwrap().expected);
    let known =
        |report: &BenchReport| report.quantities.iter().filter(|it| it.si.is_some()).count();
    let before = known(&saved.bench);
    let saved = shelf.value("woofer.fs", "48.2 Hz");
    assert!(known(&saved.bench) > before);
    let fs = saved.bench.quantities.iter().find(|it| it.id == "woofer.fs_hz").unwrap();
    assert!(fs.u.is_some(), "{fs:?}");
}

#[test]
fn grades_have_one_key_each() {
    let report = Shelf::opened().report();
    let mut keys: Vec<&str> = report.grades.iter().map(|it| it.key.as_str()).collect();
    assert!(report.grades.iter().all(|it| it.word.contains(&it.key)));
    keys.sort_unstable();
    keys.dedup();
    assert_eq!(keys.len(), Evidence::ALL.len());
}
