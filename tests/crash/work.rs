//! Work that is done as a whole by the real program: what it starts from, how it is called, and what must come of it.

use std::{
    fs,
    path::{Path, PathBuf},
};

use catalog::{
    Reader,
    backup::{self, Occasion},
    photo::files,
};
use rusqlite::Connection;
use tests::{Bench, seed};

use crate::tally::End;

/// What is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Work {
    /// An empty catalogue is made.
    New,
    /// A folder of the plain format.
    Import,
    /// A whole catalogue as one text.
    Exchange,
    /// A whole import is taken back.
    Undo,
    /// A photo is kept.
    Photo,
    /// A file of this older format is opened.
    Migrate(i32),
    /// A copy is made.
    Backup,
    /// A copy takes the place of the catalogue.
    Restore,
    /// A copy takes the place of a catalogue that is gone.
    RestoreAnew,
    /// The whole catalogue is written as one text.
    Export,
    /// The history is written down.
    Tell,
    /// A history is gone through.
    Replay,
    /// A guide is published.
    Publish,
}

/// By turns. Publication takes longest and writes most.
pub(crate) const TURNS: [Work; 16] = [
    Work::Import,
    Work::New,
    Work::Migrate(4),
    Work::Backup,
    Work::Exchange,
    Work::Restore,
    Work::Undo,
    Work::Publish,
    Work::Replay,
    Work::RestoreAnew,
    Work::Photo,
    Work::Publish,
    Work::Migrate(7),
    Work::Tell,
    Work::Export,
    Work::Publish,
];

/// The band that is published.
const BAND: &str = "200..500";

/// Texts that are written beside the catalogue.
const TEXT: &str = "all.json";
const HISTORY: &str = "all.jsonl";

/// The folder of a guide.
const GUIDE: &str = "guide";

impl Work {
    pub(crate) fn name(self) -> &'static str {
        match self {
            Work::New => "new catalogue",
            Work::Import => "import",
            Work::Exchange => "import of JSON",
            Work::Undo => "undo",
            Work::Photo => "photo",
            Work::Migrate(_) => "migration",
            Work::Backup => "backup",
            Work::Restore => "restore",
            Work::RestoreAnew => "restore of none",
            Work::Export => "export",
            Work::Tell => "history",
            Work::Replay => "replay",
            Work::Publish => "publication",
        }
    }

    /// A folder before the work: the catalogue and what the work reads.
    pub(crate) fn bench(self) -> Bench {
        let bench = match self {
            Work::New => Bench::bare(),
            Work::Exchange | Work::Replay => Bench::empty(),
            _ => Bench::seeded(),
        };
        let path = |name: &str| bench.path(name).to_str().unwrap().to_owned();
        match self {
            Work::New | Work::Undo | Work::Backup | Work::Export | Work::Tell | Work::Publish => {}
            Work::Import => lay_out(&bench.path("in")),
            Work::Photo => {
                let photo = tests::repository().join("tests/fixtures/photos/with-place.jpg");
                fs::copy(photo, bench.path("photo.jpg")).map(drop).unwrap();
            }
            Work::Exchange => {
                let other = Bench::seeded();
                let weight = ["rubric", "set", "subsystem.cabinet", "30", "--reason", "invented"];
                let _ = other.run(&weight).done();
                let _ = other.run(&["export", &path(TEXT)]).done();
            }
            Work::Replay => {
                let other = Bench::seeded();
                let _ = other.run(&["undo"]).done();
                let _ = other.run(&["history", "--write", &path(HISTORY)]).done();
            }
            Work::Restore | Work::RestoreAnew => {
                let copy = backup::back_up(&bench.catalogue(), Occasion::Asked, "invented");
                fs::rename(copy.unwrap().path, bench.path("copy.boxworth")).unwrap();
                if self == Work::Restore {
                    let _ = bench.run(&["undo"]).done();
                } else {
                    emptied(&bench);
                }
            }
            Work::Migrate(format) => {
                let older = bench.path("older.boxworth");
                older_file(&bench.catalogue(), &older, format);
                emptied(&bench);
                fs::rename(older, bench.catalogue()).unwrap();
            }
        }
        bench
    }

    /// The arguments in such a folder.
    pub(crate) fn arguments(self, bench: &Bench) -> Vec<String> {
        let path = |name: &str| bench.path(name).to_str().unwrap().to_owned();
        let words = |words: &[&str]| words.iter().map(|it| (*it).to_owned()).collect();
        match self {
            Work::New => words(&["new", &path("shelf.boxworth"), "--base-month", "2026-06"]),
            Work::Import => words(&["import", &path("in")]),
            Work::Exchange => words(&["import", &path(TEXT)]),
            Work::Undo => words(&["undo"]),
            Work::Photo => words(&[
                "photo",
                "add",
                "thistlequern/grist-5",
                &path("photo.jpg"),
                "--of",
                "woofer.basket",
            ]),
            // Whatever opens a file brings it forward.
            Work::Migrate(_) => words(&["history", "thistlequern/grist-5"]),
            Work::Backup => words(&["backup"]),
            Work::Restore => words(&["restore", &path("copy.boxworth"), "--discard-newer"]),
            Work::RestoreAnew => words(&["restore", &path("copy.boxworth")]),
            Work::Export => words(&["export", &path(TEXT)]),
            Work::Tell => words(&["history", "--write", &path(HISTORY)]),
            Work::Replay => words(&["replay", &path(HISTORY)]),
            Work::Publish => words(&["publish", BAND, "--draws", "200", "--to", &path(GUIDE)]),
        }
    }

    /// What must be so beside the catalogue: the copy that is made before it changes, once it has changed, and what was asked
    /// for, once it was acknowledged. What is there is whole in any case.
    pub(crate) fn beside(self, bench: &Bench, end: End) -> Result<(), String> {
        let catalogue = bench.catalogue();
        let is_acknowledged = end == End::ByItself;
        let copy_of = |occasion| match end {
            End::Before => Ok(()),
            End::After | End::ByItself => copied(&catalogue, occasion),
        };
        match self {
            Work::New | Work::Exchange | Work::Replay | Work::RestoreAnew => Ok(()),
            // A catalogue in which something was recorded is copied before its first change of the day.
            Work::Import | Work::Undo => copy_of(Occasion::Daily),
            Work::Photo => copy_of(Occasion::Daily).and_then(|()| photos(&catalogue)),
            Work::Migrate(_) => copy_of(Occasion::Format),
            Work::Backup => copy_of(Occasion::Asked),
            Work::Restore => copy_of(Occasion::Restore),
            Work::Export => text(&bench.path(TEXT), is_acknowledged, |it| it.ends_with("}\n")),
            Work::Tell => {
                let is_whole = |it: &str| it.lines().last().is_some_and(|it| it.contains("rows"));
                text(&bench.path(HISTORY), is_acknowledged, is_whole)
            }
            Work::Publish => copy_of(Occasion::Daily).and_then(|()| guide(bench, is_acknowledged)),
        }
    }
}

/// There is a copy for this reason. That it is whole is a part of the audit.
fn copied(catalogue: &Path, occasion: Occasion) -> Result<(), String> {
    let copies = backup::copies(catalogue).map_err(|it| it.to_string())?;
    match copies.iter().any(|it| it.occasion == occasion) {
        true => Ok(()),
        false => Err(format!("there is no {} copy", occasion.word())),
    }
}

/// Each photo that the catalogue names is there, with its bytes.
fn photos(catalogue: &Path) -> Result<(), String> {
    let words = |it: catalog::Error| it.to_string();
    let named = Reader::open(catalogue).and_then(|it| it.photo_files()).map_err(words)?;
    let found = files::audit(catalogue, &named).map_err(words)?;
    match (&found.missing[..], &found.changed[..]) {
        ([], []) => Ok(()),
        ([it, ..], _) => Err(format!("photo {it} is not there")),
        (_, [it, ..]) => Err(format!("{} is half there", it.display())),
    }
}

/// A text is there as a whole, or not at all before it was acknowledged.
fn text(file: &Path, must_be: bool, is_whole: impl Fn(&str) -> bool) -> Result<(), String> {
    match fs::read(file) {
        Err(_) if !must_be => Ok(()),
        Err(why) => Err(format!("{}: {why}", file.display())),
        Ok(bytes) => match String::from_utf8(bytes) {
            Ok(it) if is_whole(&it) => Ok(()),
            _ => Err(format!("{} is half there", file.display())),
        },
    }
}

/// Each file of the guide is one of the edition, with its bytes; once it was acknowledged, all are there.
fn guide(bench: &Bench, must_be: bool) -> Result<(), String> {
    let words = |it: catalog::Error| it.to_string();
    let kept =
        Reader::open(&bench.catalogue()).and_then(|it| it.edition_files(1)).map_err(words)?;
    let (mut folders, mut there) = (vec![bench.path(GUIDE)], 0);
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let name = path.strip_prefix(bench.path(GUIDE)).unwrap().to_string_lossy().into_owned();
            if name.ends_with(".part") {
                continue;
            }
            there += 1;
            let bytes = fs::read(&path).map_err(|it| it.to_string())?;
            if !kept.iter().any(|it| it.name == name && it.content == bytes) {
                return Err(format!("{name} in the folder is not that of the edition"));
            }
        }
    }
    if must_be && there != kept.len() {
        return Err(format!("{there} of {} files are in the folder", kept.len()));
    }
    Ok(())
}

/// Takes the catalogue out of a folder.
fn emptied(bench: &Bench) {
    for name in bench.files().keys() {
        fs::remove_file(bench.path(name)).unwrap();
    }
}

/// A folder of one product that the catalogue has not: one of the seed under another, invented name.
fn lay_out(folder: &Path) {
    let products = folder.join("products/thistlequern");
    fs::create_dir_all(&products).unwrap();
    fs::copy(seed().join("catalogue.toml"), folder.join("catalogue.toml")).unwrap();
    let text = fs::read_to_string(seed().join("products/farrowmere/sedge-5.toml")).unwrap();
    let renamed = |line: &str| {
        if line.starts_with("maker = ") {
            "maker = \"Thistlequern\"".to_owned()
        } else if line.starts_with("model = ") {
            "model = \"Sudden 5\"".to_owned()
        } else {
            line.to_owned()
        }
    };
    let text: Vec<String> = text.lines().map(renamed).collect();
    fs::write(products.join("sudden-5.toml"), text.join("\n")).unwrap();
}

/// The same facts as an older program would have kept them.
fn older_file(from: &Path, to: &Path, format: i32) {
    let folder = tests::repository().join("src-tauri/crates/catalog/migrations");
    let mut steps: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|it| it.unwrap().path()).collect();
    steps.sort();
    let sql = Connection::open(to).unwrap();
    for step in &steps[..usize::try_from(format).unwrap()] {
        sql.execute_batch(&fs::read_to_string(step).unwrap()).unwrap();
    }
    // `BXWT`, as the program writes it.
    sql.pragma_update(None, "application_id", 0x4258_5754).unwrap();
    sql.pragma_update(None, "user_version", format).unwrap();
    sql.pragma_update(None, "foreign_keys", false).unwrap();
    sql.execute("ATTACH ?1 AS newer", [from.to_str().unwrap()]).unwrap();
    for (table, names) in columns(&sql) {
        let copy = format!("INSERT INTO main.{table} ({names}) SELECT {names} FROM newer.{table}");
        sql.execute_batch(&copy).unwrap();
    }
    sql.execute_batch("DETACH newer; PRAGMA journal_mode = WAL;").unwrap();
    sql.close().unwrap();
}

/// The tables of a file, each with its columns.
fn columns(sql: &Connection) -> Vec<(String, String)> {
    let mut statement = sql
        .prepare(
            "SELECT it.name, group_concat(of.name, ', ') FROM main.sqlite_schema AS it
             JOIN pragma_table_info(it.name, 'main') AS of WHERE it.type = 'table' GROUP BY it.name",
        )
        .unwrap();
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
    rows.map(Result::unwrap).collect()
}
