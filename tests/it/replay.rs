//! A written history leads from an empty catalogue to the same one: the same export, the same rows of all tables.

use std::{collections::BTreeMap, fs, path::Path};

use rusqlite::{Connection, types::Value};
use tests::Bench;

const PRODUCT: &str = "thistlequern/grist-5";

/// All rows of all tables as they lie in the file, and the schema itself.
fn dump(catalogue: &Path) -> BTreeMap<String, Vec<String>> {
    let sql = Connection::open(catalogue).unwrap();
    let mut tables = sql.prepare("SELECT name FROM sqlite_schema WHERE type = 'table'").unwrap();
    let mut tables: Vec<String> =
        tables.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    tables.push("sqlite_schema".into());
    let rows = |table: &String| {
        let what = if table == "sqlite_schema" { "type, name, sql" } else { "*" };
        let mut statement = sql.prepare(&format!("SELECT {what} FROM {table}")).unwrap();
        let columns = statement.column_count();
        let cells = |row: &rusqlite::Row<'_>| {
            (0..columns).map(|at| row.get::<_, Value>(at)).collect::<Result<Vec<_>, _>>()
        };
        statement.query_map([], cells).unwrap().map(|it| format!("{:?}", it.unwrap())).collect()
    };
    tables.iter().map(|it| (it.clone(), rows(it))).collect()
}

#[test]
fn a_written_history_leads_to_the_same_catalogue() {
    let bench = Bench::seeded();
    for arguments in [
        &["record", PRODUCT, "cabinet.brace_count", "3", "--reason", "box opened again"][..],
        &["record", PRODUCT, "cabinet.net_volume", "12.5 ± 0.2 L"],
        &["undo"],
        &["redo"],
        &["price", "add", PRODUCT, "249", "--shop", "Invented shop"],
        &["record", PRODUCT, "cabinet.brace_count", ""],
        &["undo"],
        &["rubric", "set", "subsystem.cabinet", "30", "--reason", "boxes matter more"],
        &["claims", "add", "best product=thistlequern/grist-6 of=cabinet band=200..500"],
        &["publish", "200..500", "--draws", "200", "--format", "md"],
        &["undo"],
    ] {
        let ran = bench.run(arguments);
        assert_eq!(ran.status, 0, "{arguments:?}: {}", ran.err);
    }
    let text = bench.path("history.jsonl");
    let told = bench.run(&["history", "--write", text.to_str().unwrap(), "--json"]).answer();
    assert!(told["actions"].as_u64().unwrap() >= 9, "{told}");

    let other = Bench::empty();
    let heard = other.run(&["replay", text.to_str().unwrap(), "--json"]).answer();
    assert_eq!((&heard["actions"], &heard["rows"]), (&told["actions"], &told["rows"]));
    let (wanted, found) = (dump(&bench.catalogue()), dump(&other.catalogue()));
    for (table, rows) in &wanted {
        assert_eq!(found.get(table), Some(rows), "{table}");
    }
    assert_eq!(found.len(), wanted.len());
    assert!(
        ["edition_file", "claim_verdict", "withdrawn"].iter().all(|it| !wanted[*it].is_empty())
    );
    let export = |of: &Bench| {
        let file = of.path("all.json");
        let _ = of.run(&["export", file.to_str().unwrap()]).done();
        fs::read_to_string(file).unwrap()
    };
    assert_eq!(export(&other), export(&bench));
    // It goes on from there as from the first one.
    let (one, two) =
        (bench.run(&["undo", "--json"]).answer(), other.run(&["undo", "--json"]).answer());
    assert_eq!(one, two);
}
