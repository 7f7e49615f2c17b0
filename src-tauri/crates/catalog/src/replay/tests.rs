//! A history leads to the same rows, and one that was cut, reordered or edited is refused.

use std::{
    fs,
    path::{Path, PathBuf},
};

use domain::{dictionary::Dictionary, dossier::Dossier};
use rusqlite::Connection;

use super::*;
use crate::{Catalog, Error, Info, Reader, RubricChange, plain, unwatched};

fn info(title: &str) -> Info {
    Info {
        title: title.into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    }
}

/// Two invented products of the seed catalogue, with parts lists and sweeps.
fn dossiers() -> Vec<Dossier> {
    let seed = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../seed-catalog");
    let mut all = plain::read(&[seed], &Dictionary::standard(), &mut unwatched).unwrap().dossiers;
    all.retain(|it| it.network().is_some());
    all.truncate(2);
    assert_eq!(all.len(), 2);
    all
}

/// An import, two corrections, each kind of way back, and a change of the rubric.
fn lived_in(folder: &Path) -> PathBuf {
    let file = folder.join("a.boxworth");
    let mut it = Catalog::create(&file, &info("Lived in")).unwrap();
    let all = dossiers();
    it.import(&all[..1], None, "2026-11-01T10:00:00Z", false, &mut unwatched).unwrap();
    let mut changed = all[0].clone();
    changed.jobs[0].findings.truncate(3);
    changed.jobs[0].findings[0].note = "looked at again".into();
    changed.jobs[0].network.pop();
    it.record(&changed, "box opened again", "2026-11-02T10:00:00Z").unwrap();
    it.undo("2026-11-03T10:00:00Z").unwrap();
    it.redo("2026-11-04T10:00:00Z").unwrap();
    it.import(&all[1..], None, "2026-11-05T10:00:00Z", false, &mut unwatched).unwrap();
    it.undo("2026-11-06T10:00:00Z").unwrap();
    it.change_rubric(&RubricChange {
        plugin: None,
        path: "subsystem.cabinet".into(),
        value: Some("30".into()),
        reason: "invented".into(),
        recorded_at: "2026-11-07T10:00:00Z".into(),
    })
    .unwrap();
    file
}

/// All rows of all tables.
fn dump(file: &Path) -> BTreeMap<String, Vec<String>> {
    let sql = Connection::open(file).unwrap();
    let tables: Vec<String> = sql
        .prepare("SELECT name FROM sqlite_schema WHERE type = 'table'")
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    let rows = |table: &String| {
        let mut statement = sql.prepare(&format!("SELECT * FROM {table}")).unwrap();
        let columns = statement.column_count();
        let cells = |row: &rusqlite::Row<'_>| {
            (0..columns).map(|at| row.get::<_, Value>(at)).collect::<Result<Vec<_>, _>>()
        };
        let mut rows: Vec<String> = statement
            .query_map([], cells)
            .unwrap()
            .map(|it| format!("{:?}", it.unwrap()))
            .collect();
        rows.sort();
        rows
    };
    tables.iter().map(|it| (it.clone(), rows(it))).collect()
}

fn empty(folder: &Path, name: &str) -> Catalog {
    Catalog::create(&folder.join(name), &info("Empty")).unwrap()
}

#[test]
fn a_history_leads_to_the_same_rows() {
    let dir = tempfile::tempdir().unwrap();
    let (file, text) = (lived_in(dir.path()), dir.path().join("history.jsonl"));
    let told = Reader::open(&file).unwrap().write_history(&text).unwrap();
    assert_eq!(told.actions, 6);
    assert_eq!(empty(dir.path(), "b.boxworth").replay(&text).unwrap(), told);
    let (wanted, found) = (dump(&file), dump(&dir.path().join("b.boxworth")));
    assert!(
        wanted["finding"].len() > 50 && wanted["withdrawn"].len() > 10,
        "too little to compare"
    );
    assert_eq!(found, wanted);
    // It goes nowhere else, and takes no file's place.
    let mut lived = Catalog::open(&file).unwrap();
    assert!(matches!(lived.replay(&text), Err(Error::History { line: 1, .. })));
    assert!(matches!(lived.reader().write_history(&text), Err(Error::Exists { .. })));
}

#[test]
fn a_history_that_was_cut_or_edited_is_refused_with_its_line() {
    let dir = tempfile::tempdir().unwrap();
    let (file, text) = (lived_in(dir.path()), dir.path().join("history.jsonl"));
    Reader::open(&file).unwrap().write_history(&text).unwrap();
    let whole = fs::read_to_string(&text).unwrap();
    let lines: Vec<&str> = whole.lines().collect();
    let undo = lines.iter().position(|it| it.contains("\"action\":\"undo\"")).unwrap();
    let joined = |lines: &[&str]| lines.join("\n") + "\n";
    let without = |at: usize| joined(&[&lines[..at], &lines[at + 1..]].concat());
    let edited = |at: usize, from: &str, to: &str| {
        assert!(lines[at].contains(from), "{}", lines[at]);
        joined(&[&lines[..at], &[lines[at].replace(from, to).as_str()], &lines[at + 1..]].concat())
    };
    let last = lines.len() - 1;
    let row = undo + 1;
    for (why, bad) in [
        ("the last line is missing", joined(&lines[..last])),
        ("rows were written", without(last - 1)),
        ("has no end", whole.trim_end().to_owned()),
        ("there is nothing in it", String::new()),
        ("newer than this program", edited(0, "\"boxworth_history\":1", "\"boxworth_history\":2")),
        ("does not follow", edited(row, "2026-11-03", "2026-11-13")),
        ("was not the next", edited(undo, "\"reverts\":2", "\"reverts\":1")),
        ("there is no table", edited(5, "\"table\":\"", "\"table\":\"x")),
        ("no column", edited(5, "\"row\":{", "\"row\":{\"x\\\" = 1; --\":1,")),
        ("more after the last line", format!("{whole}{{}}\n")),
    ] {
        fs::write(&text, &bad).unwrap();
        let name = format!("{}.boxworth", why.replace(' ', "-"));
        let mut target = empty(dir.path(), &name);
        let before = dump(&dir.path().join(&name));
        let found = target.replay(&text).unwrap_err();
        assert!(found.to_string().contains(why), "{why}: {found}");
        assert_eq!(dump(&dir.path().join(&name)), before, "{why}");
    }
}

#[test]
fn bytes_and_numbers_come_back_to_the_last_digit() {
    for cell in [
        ValueRef::Null,
        ValueRef::Integer(i64::MIN),
        ValueRef::Real(0.1 + 0.2),
        ValueRef::Real(5.0),
        ValueRef::Real(-f64::MIN_POSITIVE),
        ValueRef::Text("± \u{1F50A} \"".as_bytes()),
        ValueRef::Blob(&[0, 9, 255]),
    ] {
        let text = told(cell).unwrap().to_string();
        let back = heard(&serde_json::from_str(&text).unwrap()).unwrap();
        assert_eq!(ValueRef::from(&back), cell, "{text}");
    }
    assert_eq!(told(ValueRef::Real(f64::INFINITY)), None);
    assert_eq!(bytes("0"), None);
    assert_eq!(bytes("zz"), None);
}
