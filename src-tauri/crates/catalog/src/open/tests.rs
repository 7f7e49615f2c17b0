//! A catalogue is made once, opened many times, and never touched when it is not ours.

use domain::dictionary::Dictionary;

use super::*;

fn info() -> Info {
    Info {
        title: "Shelf".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    }
}

fn bytes(path: &Path) -> Vec<u8> {
    std::fs::read(path).unwrap()
}

#[test]
fn a_new_catalogue_reads_back_and_is_marked() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.boxworth");
    drop(Catalog::create(&path, &info()).unwrap());
    assert_eq!(Reader::open(&path).unwrap().info().unwrap(), info());
    // SQLite file format, section 1.3: user version at byte 60, application id at byte 68.
    let file = bytes(&path);
    assert_eq!(&file[68..72], b"BXWT");
    assert_eq!(file[60..64], migrate::FORMAT.to_be_bytes());
    // Section 1.3.3: 2 at bytes 18 and 19 means write-ahead log.
    assert_eq!(file[18..20], [2, 2]);
}

#[test]
fn writing_is_durable_and_checked() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.boxworth");
    let it = Catalog::create(&path, &info()).unwrap();
    let pragma = |name: &str| {
        it.reader.connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0)).unwrap()
    };
    // sqlite.org/pragma.html: synchronous FULL is 2.
    assert_eq!(
        (pragma("synchronous"), pragma("foreign_keys"), pragma("trusted_schema")),
        (2, 1, 0)
    );
    let strict: i64 = it
        .reader
        .connection
        .query_row(
            "SELECT count(*) FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite%' AND strict = 0",
            [],
            |row| row.get(0),
        )
        .unwrap();
    assert_eq!(strict, 0, "a table is not STRICT");
}

#[test]
fn an_existing_file_is_never_replaced() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("notes.txt");
    std::fs::write(&path, "mine").unwrap();
    assert!(matches!(Catalog::create(&path, &info()), Err(Error::Exists { .. })));
    assert_eq!(bytes(&path), b"mine");
}

#[test]
fn foreign_files_are_refused_untouched() {
    let dir = tempfile::tempdir().unwrap();
    let other = dir.path().join("other.db");
    Connection::open(&other).unwrap().execute_batch("CREATE TABLE t (x)").unwrap();
    let text = dir.path().join("a.txt");
    std::fs::write(&text, "x".repeat(500)).unwrap();
    let empty = dir.path().join("empty");
    std::fs::write(&empty, "").unwrap();
    for path in [&other, &text, &empty] {
        let before = bytes(path);
        assert!(matches!(Catalog::open(path), Err(Error::Foreign { .. })), "{}", path.display());
        assert!(matches!(Reader::open(path), Err(Error::Foreign { .. })), "{}", path.display());
        assert_eq!(bytes(path), before);
    }
    assert!(matches!(Reader::open(&dir.path().join("none")), Err(Error::NotFound { .. })));
}

#[test]
fn a_newer_file_is_refused_with_both_numbers_and_left_untouched() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.boxworth");
    let it = Catalog::create(&path, &info()).unwrap();
    it.reader.connection.pragma_update(None, "user_version", migrate::FORMAT + 1).unwrap();
    drop(it);
    let before = bytes(&path);
    for why in [Catalog::open(&path).err(), Reader::open(&path).err()] {
        let text = why.unwrap().to_string();
        let (found, known) = (migrate::FORMAT + 1, migrate::FORMAT);
        let numbers = format!("format {found}; this one reads up to {known}");
        assert!(text.contains("newer version") && text.contains(&numbers), "{text}");
    }
    assert_eq!(bytes(&path), before);
    assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1, "a file was made beside it");
}

#[test]
fn facts_can_neither_be_changed_nor_deleted() {
    let dir = tempfile::tempdir().unwrap();
    let it = Catalog::create(&dir.path().join("a.boxworth"), &info()).unwrap();
    let sql = &it.reader.connection;
    sql.execute_batch(
        "INSERT INTO product VALUES (1, 'a/b', 'A', 'B', 'stand-mount', 2, 0, 2024, '');
         INSERT INTO finding VALUES (1, 1, NULL, 'whole', 'rated_z', '8 ohm', 'ohm', 'number', 8.0, NULL, NULL, 'claimed', '', '2026-01-01', 'now', NULL);",
    )
    .unwrap();
    let why = sql.execute("UPDATE finding SET si = 4.0", []).unwrap_err().to_string();
    assert!(why.contains("superseded"), "{why}");
    assert!(sql.execute("DELETE FROM finding", []).is_err());
    // STRICT: a text is no REAL.
    assert!(sql.execute("INSERT INTO finding SELECT 2, product_id, teardown_id, part, key, typed, unit, kind, 'eight', NULL, NULL, evidence, note, day, recorded_at, NULL FROM finding", []).is_err());
}

/// A file as the first version made it, with a traced network.
fn file_of_format_1(path: &Path) {
    let sql = Connection::open(path).unwrap();
    sql.execute_batch(include_str!("../../migrations/0001_catalogue.sql")).unwrap();
    sql.pragma_update(None, "application_id", APPLICATION_ID).unwrap();
    sql.pragma_update(None, "user_version", 1).unwrap();
    sql.execute_batch(
        "INSERT INTO product VALUES (1, 'a/b', 'A', 'B', 'stand-mount', 2, 0, 2024, '');
         INSERT INTO specimen (id, product_id, label, acquired, serial) VALUES (1, 1, 'A', 'retail', '');
         INSERT INTO teardown (id, specimen_id, day, note) VALUES (1, 1, '2026-01-01', '');
         INSERT INTO network (id, teardown_id, recorded_at) VALUES (1, 1, 'now');
         INSERT INTO element VALUES (1, 0, 'C1', 'capacitor', 'in', '0', '4.7 µF', 4.7e-6, '', NULL, 0.1, NULL, 'polyester, 100 V');",
    )
    .unwrap();
}

#[test]
fn an_older_file_is_brought_forward_by_a_writer_and_keeps_its_facts() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.boxworth");
    file_of_format_1(&path);
    assert!(matches!(
        Reader::open(&path),
        Err(Error::Older { found: 1, known: migrate::FORMAT, .. })
    ));
    let it = Catalog::open(&path).unwrap();
    // What it was lies beside it.
    let copies = crate::backup::copies(&path).unwrap();
    let [copy] = &copies[..] else { panic!("{copies:?}") };
    assert_eq!(copy.stamp, "from-1");
    assert!(matches!(Reader::open(&copy.path), Err(Error::Older { found: 1, .. })));
    let dossiers = it.reader().dossiers(&Dictionary::standard()).unwrap();
    let [element] = dossiers[0].network().unwrap() else { panic!("{dossiers:?}") };
    assert_eq!((element.name.as_str(), element.note.as_str()), ("C1", "polyester, 100 V"));
    assert_eq!(
        (element.construction.as_str(), element.rating_typed.as_str(), element.rating_si),
        ("", "", None)
    );
    assert_eq!(it.reader().integrity_faults().unwrap(), [""; 0]);
    assert!(it.reader.connection.execute("UPDATE element SET construction = 'x'", []).is_err());
    drop(it);
    assert_eq!(Reader::open(&path).unwrap().dossiers(&Dictionary::standard()).unwrap(), dossiers);
}

/// SQLite gives the same code for a full disk and for its own limit of pages (sqlite.org/rescode.html, SQLITE_FULL).
#[test]
fn a_full_disk_is_said_to_be_full_and_changes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.boxworth");
    let mut it = Catalog::create(&path, &info()).unwrap();
    let pages: i64 =
        it.reader.connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
    it.reader
        .connection
        .pragma_update_and_check(None, "max_page_count", pages, |row| row.get::<_, i64>(0))
        .unwrap();
    let change = crate::RubricChange {
        plugin: None,
        path: "subsystem.cabinet".into(),
        value: Some("30".into()),
        reason: "invented ".repeat(10_000),
        recorded_at: "2026-11-29T10:00:00Z".into(),
    };
    let why = it.change_rubric(&change).unwrap_err().to_string();
    assert!(why.contains("the disk is full; nothing was changed"), "{why}");
    assert_eq!(Reader::open(&path).unwrap().rubric_changes().unwrap(), []);
}
