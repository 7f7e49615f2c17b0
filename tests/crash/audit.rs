//! Whether a catalogue is sound, and all that it holds.

use std::{collections::BTreeMap, path::Path};

use catalog::Reader;
use domain::dictionary::Dictionary;
use rusqlite::{Connection, OpenFlags};

/// What differs between two runs of the same work: moments, and documents that name one.
const VOLATILE: [&str; 12] = [
    "recorded_at",
    "at",
    "made_at",
    "judged_at",
    "decided_at",
    "withdrawn_at",
    "seen_at",
    "request",
    "inputs",
    "results",
    "sha256",
    "content",
];

/// The rows of each table as one text, without what differs from run to run.
pub(crate) type State = BTreeMap<String, String>;

/// The state of a catalogue of any format, after it was looked at with every check that there is; of none it is empty.
pub(crate) fn audit(catalogue: &Path) -> Result<State, String> {
    if !catalogue.exists() {
        return Ok(State::new());
    }
    let words = |it: rusqlite::Error| it.to_string();
    let state = {
        let sql = Connection::open_with_flags(catalogue, OpenFlags::SQLITE_OPEN_READ_WRITE)
            .map_err(words)?;
        // What is looked at is a copy that nobody needs to keep.
        sql.pragma_update(None, "synchronous", "OFF").map_err(words)?;
        let pages: String =
            sql.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0)).map_err(words)?;
        if pages != "ok" {
            return Err(format!("damaged: {pages}"));
        }
        dump(&sql).map_err(words)?
    };
    match Reader::open(catalogue) {
        Ok(reader) => sound(&reader).map_err(|it| it.to_string())?,
        // What is brought forward is checked again afterwards.
        Err(catalog::Error::Older { .. }) => {}
        Err(why) => return Err(why.to_string()),
    }
    for copy in catalog::backup::copies(catalogue).map_err(|it| it.to_string())? {
        catalog::backup::verify(&copy.path)
            .map_err(|it| format!("{}: {it}", copy.path.display()))?;
    }
    Ok(state)
}

fn sound(reader: &Reader) -> Result<(), String> {
    let words = |it: catalog::Error| it.to_string();
    let mut faults = reader.integrity_faults().map_err(words)?;
    faults.extend(reader.lost_rows().map_err(words)?);
    faults.extend(reader.missing_parts().map_err(words)?);
    let changed = reader.changed_editions().map_err(words)?;
    faults.extend(changed.into_iter().map(|(number, file)| format!("{file} of edition {number}")));
    for it in reader.editions().map_err(words)? {
        if reader.edition_files(it.number).map_err(words)?.is_empty() {
            faults.push(format!("edition {} has no files", it.number));
        }
    }
    reader.dossiers(&Dictionary::standard()).map_err(words)?;
    match faults.into_iter().next() {
        None => Ok(()),
        Some(it) => Err(it),
    }
}

fn dump(sql: &Connection) -> rusqlite::Result<State> {
    let mut tables = sql.prepare("SELECT name FROM sqlite_schema WHERE type = 'table'")?;
    let tables: Vec<String> = tables.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    let format: i32 = sql.pragma_query_value(None, "user_version", |row| row.get(0))?;
    let mut state = State::from([("format".to_owned(), format.to_string())]);
    for table in tables {
        let names: Vec<String> = {
            let mut columns = sql.prepare("SELECT name FROM pragma_table_info(?1)")?;
            columns.query_map([&table], |row| row.get(0))?.collect::<Result<_, _>>()?
        };
        let kept = names.iter().filter(|it| !VOLATILE.contains(&it.as_str()));
        let cells: Vec<String> = kept.map(|it| format!("quote(\"{it}\")")).collect();
        let row = cells.join(" || ', ' || ");
        let all = format!("SELECT coalesce(group_concat({row}, char(10)), '') FROM \"{table}\"");
        let rows = sql.query_row(&all, [], |row| row.get(0))?;
        state.insert(table, rows);
    }
    Ok(state)
}
