//! What can be proven is put right; what would hide a loss is left as it is.

use rusqlite::config::DbConfig;

use super::*;
use crate::{Catalog, Info, RubricChange};

fn info() -> Info {
    Info {
        title: "Shelf".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    }
}

/// A catalogue with three changes of the rubric and three products, all invented.
fn filled(path: &Path) {
    let mut it = Catalog::create(path, &info()).unwrap();
    for weight in ["30", "31", "32"] {
        it.change_rubric(&RubricChange {
            plugin: None,
            path: "subsystem.cabinet".into(),
            value: Some(weight.into()),
            reason: "invented".into(),
            recorded_at: "2026-11-29T10:00:00Z".into(),
        })
        .unwrap();
    }
    it.reader
        .connection
        .execute_batch(
            "INSERT INTO product VALUES (1, 'a/b', 'A', 'B', 'stand-mount', 2, 0, 2024, ''),
                (2, 'a/c', 'A', 'C', 'stand-mount', 2, 0, 2024, ''), (3, 'a/d', 'A', 'D', 'stand-mount', 2, 0, 2024, '');",
        )
        .unwrap();
}

/// Changes a file as no program of ours would.
fn meddle(path: &Path, sql: &str) {
    let it = Connection::open(path).unwrap();
    it.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, false).unwrap();
    it.execute_batch(sql).unwrap();
}

#[test]
fn an_index_that_is_gone_is_made_again_and_the_file_kept_as_it_was() {
    let dir = tempfile::tempdir().unwrap();
    let (path, aside) = (dir.path().join("a.boxworth"), dir.path().join("kept.boxworth"));
    filled(&path);
    meddle(&path, "DROP INDEX price_by_product; DROP TRIGGER finding_stays;");
    let reader = Reader::open(&path).unwrap();
    assert_eq!(
        reader.missing_parts().unwrap(),
        ["index price_by_product", "trigger finding_stays"]
    );
    drop(reader);
    let report = repair(&path, &aside).unwrap();
    assert_eq!(report.made, ["index price_by_product", "trigger finding_stays"]);
    assert_eq!(Reader::open(&path).unwrap().missing_parts().unwrap(), [""; 0]);
    assert_eq!(Reader::open(&aside).unwrap().missing_parts().unwrap().len(), 2);
    // A second time there is nothing to do, and nothing is copied.
    assert_eq!(
        repair(&path, &dir.path().join("b")).unwrap(),
        Repaired { made: vec![], kept: None }
    );
}

/// A file whose index is that of an earlier moment than its table, as a write that never reached the disk leaves it.
fn mismatched(path: &Path, in_table: &str) {
    filled(path);
    meddle(path, SETTLE);
    let page: u32 = Connection::open(path)
        .unwrap()
        .query_row(
            "SELECT rootpage FROM sqlite_schema WHERE name = 'sqlite_autoindex_product_1'",
            [],
            |row| row.get(0),
        )
        .unwrap();
    let page = usize::try_from(page).unwrap();
    let place = (page - 1) * 4096..page * 4096;
    let earlier = fs::read(path).unwrap()[place.clone()].to_vec();
    meddle(path, in_table);
    let mut bytes = fs::read(path).unwrap();
    bytes[place].copy_from_slice(&earlier);
    fs::write(path, bytes).unwrap();
}

const SETTLE: &str = "PRAGMA wal_checkpoint(TRUNCATE);";

#[test]
fn an_index_that_forgot_a_row_is_made_anew() {
    let dir = tempfile::tempdir().unwrap();
    let (path, aside) = (dir.path().join("a.boxworth"), dir.path().join("kept.boxworth"));
    let more = "INSERT INTO product VALUES (4, 'a/e', 'A', 'E', 'stand-mount', 2, 0, 2024, '');";
    mismatched(&path, &format!("{more}{SETTLE}"));
    assert!(!Reader::open(&path).unwrap().integrity_faults().unwrap().is_empty());
    let report = repair(&path, &aside).unwrap();
    assert_eq!(report.made, ["all indices"]);
    let reader = Reader::open(&path).unwrap();
    assert_eq!(reader.integrity_faults().unwrap(), [""; 0]);
    assert_eq!(reader.lost_rows().unwrap(), [""; 0]);
    assert!(!Reader::open(&aside).unwrap().integrity_faults().unwrap().is_empty());
}

/// The index is the only witness of the row that the table lost; made anew it would say that all is well.
#[test]
fn an_index_that_remembers_a_lost_row_is_left_alone() {
    let dir = tempfile::tempdir().unwrap();
    let (path, aside) = (dir.path().join("a.boxworth"), dir.path().join("kept.boxworth"));
    mismatched(&path, &format!("DELETE FROM product WHERE id = 2;{SETTLE}"));
    let before = fs::read(&path).unwrap();
    assert_eq!(repair(&path, &aside).unwrap(), Repaired { made: vec![], kept: None });
    assert!(fs::read(&path).unwrap() == before, "the file was changed");
    assert!(!Reader::open(&path).unwrap().integrity_faults().unwrap().is_empty());
    assert_eq!(Reader::open(&path).unwrap().lost_rows().unwrap(), ["product: 1 of its rows gone"]);
}
