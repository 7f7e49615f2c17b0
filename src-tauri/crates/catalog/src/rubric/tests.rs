//! Changes of the rubric are kept in order, for good, and seen by whoever reads.

use std::path::Path;

use rusqlite::Connection;

use super::*;
use crate::{Info, migrate};

fn new(path: &Path) -> Catalog {
    let info = Info {
        title: "Shelf".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    Catalog::create(path, &info).unwrap()
}

fn change(value: Option<&str>, reason: &str) -> RubricChange {
    RubricChange {
        plugin: Some("org.boxworth.cabinet".into()),
        path: "criterion.panel_mode.weight".into(),
        value: value.map(str::to_owned),
        reason: reason.into(),
        recorded_at: "2026-11-25T10:00:00Z".into(),
    }
}

#[test]
fn changes_read_back_in_order_and_a_reader_notices() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.boxworth");
    let mut catalog = new(&path);
    let reader = Reader::open(&path).unwrap();
    assert_eq!(reader.rubric_changes().unwrap(), []);
    let before = reader.data_version().unwrap();
    let weight = RubricChange {
        plugin: None,
        path: "subsystem.cabinet".into(),
        ..change(Some("30.0"), "walls")
    };
    let all = [change(Some("15.0"), "too much"), weight, change(None, "")];
    for it in &all {
        catalog.change_rubric(it).unwrap();
    }
    assert_ne!(reader.data_version().unwrap(), before);
    assert_eq!(reader.rubric_changes().unwrap(), all);
}

/// So that a copy of the file alone is whole.
#[test]
fn a_change_is_in_the_file_and_not_only_in_its_log() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.boxworth");
    let mut catalog = new(&path);
    catalog.change_rubric(&change(Some("15.0"), "too much")).unwrap();
    let copy = dir.path().join("copy.boxworth");
    std::fs::copy(&path, &copy).unwrap();
    assert_eq!(Reader::open(&copy).unwrap().rubric_changes().unwrap().len(), 1);
}

#[test]
fn a_change_is_final_and_has_a_value_and_a_reason() {
    let dir = tempfile::tempdir().unwrap();
    let mut catalog = new(&dir.path().join("a.boxworth"));
    catalog.change_rubric(&change(Some("15.0"), "too much")).unwrap();
    for statement in ["UPDATE rubric_change SET value = '1'", "DELETE FROM rubric_change"] {
        let why = catalog.reader.connection.execute(statement, []).unwrap_err().to_string();
        assert!(why.contains("followed by another"), "{why}");
    }
    for bad in [change(Some("fifteen"), "not JSON"), change(Some("15.0"), "")] {
        assert!(catalog.change_rubric(&bad).is_err(), "{bad:?}");
    }
    assert_eq!(catalog.reader().rubric_changes().unwrap().len(), 1);
}

#[test]
fn an_older_file_is_brought_to_the_table_of_changes_with_its_facts() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.boxworth");
    let sql = Connection::open(&path).unwrap();
    sql.execute_batch(include_str!("../../migrations/0001_catalogue.sql")).unwrap();
    sql.execute_batch("INSERT INTO info VALUES ('title', 'Old shelf'), ('currency', 'USD'), ('base_month', '2026-06'), ('note', '')").unwrap();
    // `BXWT`, as in every catalogue.
    sql.pragma_update(None, "application_id", 0x4258_5754).unwrap();
    sql.pragma_update(None, "user_version", 1).unwrap();
    drop(sql);

    assert!(matches!(Reader::open(&path), Err(Error::Older { found: 1, .. })));
    let mut catalog = Catalog::open(&path).unwrap();
    catalog.change_rubric(&change(Some("15.0"), "too much")).unwrap();
    drop(catalog);
    let reader = Reader::open(&path).unwrap();
    assert_eq!(reader.info().unwrap().title, "Old shelf");
    assert_eq!(reader.rubric_changes().unwrap().len(), 1);
    let format: i32 =
        reader.connection.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
    assert_eq!(format, migrate::FORMAT);
}
