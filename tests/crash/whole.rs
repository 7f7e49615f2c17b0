//! Work that is done as a whole by the real program: it is there, or it is not.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
    process::{Child, Stdio},
    thread,
    time::{Duration, Instant},
};

use catalog::backup;
use rusqlite::Connection;
use tests::{Bench, seed};

use crate::{
    audit::{State, audit},
    dice::Dice,
    tally::{End, Tally},
};

/// What is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Work {
    /// A folder of the plain format.
    Import,
    /// A whole catalogue as one text.
    Exchange,
    /// A whole import is taken back.
    Undo,
    /// A file of this older format is opened.
    Migrate(i32),
    /// A copy is made.
    Backup,
    /// A copy takes the place of the catalogue.
    Restore,
    /// A history is gone through.
    Replay,
    /// A guide is published.
    Publish,
}

/// By turns; publication, which takes longest, comes last.
const TURNS: [Work; 9] = [
    Work::Import,
    Work::Migrate(4),
    Work::Exchange,
    Work::Backup,
    Work::Restore,
    Work::Undo,
    Work::Replay,
    Work::Migrate(7),
    Work::Publish,
];

/// The band that is published.
const BAND: &str = "200..500";

impl Work {
    fn name(self) -> &'static str {
        match self {
            Work::Import => "import",
            Work::Exchange => "import of JSON",
            Work::Undo => "undo",
            Work::Migrate(_) => "migration",
            Work::Backup => "backup",
            Work::Restore => "restore",
            Work::Replay => "replay",
            Work::Publish => "publication",
        }
    }

    /// A folder before the work: the catalogue and what the work reads.
    fn bench(self) -> Bench {
        let is_into_empty = matches!(self, Work::Exchange | Work::Replay);
        let bench = if is_into_empty { Bench::empty() } else { Bench::seeded() };
        let path = |name: &str| bench.path(name).to_str().unwrap().to_owned();
        match self {
            Work::Undo | Work::Backup | Work::Publish => {}
            Work::Import => lay_out(&bench.path("in")),
            Work::Exchange => {
                let other = Bench::seeded();
                let weight = ["rubric", "set", "subsystem.cabinet", "30", "--reason", "invented"];
                let _ = other.run(&weight).done();
                let _ = other.run(&["export", &path("all.json")]).done();
            }
            Work::Replay => {
                let other = Bench::seeded();
                let _ = other.run(&["undo"]).done();
                let _ = other.run(&["history", "--write", &path("all.jsonl")]).done();
            }
            Work::Restore => {
                let copy = backup::back_up(&bench.catalogue(), backup::Occasion::Asked, "invented");
                fs::rename(copy.unwrap().path, bench.path("copy.boxworth")).unwrap();
                let _ = bench.run(&["undo"]).done();
            }
            Work::Migrate(format) => {
                let older = bench.path("older.boxworth");
                older_file(&bench.catalogue(), &older, format);
                for name in bench.files().keys() {
                    fs::remove_file(bench.path(name)).unwrap();
                }
                fs::rename(older, bench.catalogue()).unwrap();
            }
        }
        bench
    }

    /// The arguments in such a folder.
    fn arguments(self, bench: &Bench) -> Vec<String> {
        let path = |name: &str| bench.path(name).to_str().unwrap().to_owned();
        let words = |words: &[&str]| words.iter().map(|it| (*it).to_owned()).collect();
        match self {
            Work::Import => words(&["import", &path("in")]),
            Work::Exchange => words(&["import", &path("all.json")]),
            Work::Undo => words(&["undo"]),
            // Whatever opens a file brings it forward.
            Work::Migrate(_) => words(&["history", "thistlequern/grist-5"]),
            Work::Backup => words(&["backup"]),
            Work::Restore => words(&["restore", &path("copy.boxworth"), "--discard-newer"]),
            Work::Replay => words(&["replay", &path("all.jsonl")]),
            Work::Publish => words(&["publish", BAND, "--draws", "200", "--to", &path("guide")]),
        }
    }
}

/// What is known of a work before it is killed.
struct Known {
    /// All files of the folder before it.
    files: BTreeMap<PathBuf, Vec<u8>>,
    before: State,
    after: State,
    took: Duration,
}

/// All works so far.
#[derive(Default)]
pub(crate) struct Works {
    known: BTreeMap<Work, Known>,
}

impl Works {
    pub(crate) fn round(&mut self, turn: usize, dice: &mut Dice, tally: &mut Tally) {
        let work = TURNS[turn % TURNS.len()];
        let known = self.known.entry(work).or_insert_with(|| learned(work));
        let bench = Bench::bare();
        laid_down(known, &bench);
        let arguments = work.arguments(&bench);
        match killed(work, known, &bench, &arguments, dice) {
            Ok(end) => tally.ended(work.name(), end, u64::from(end == End::ByItself)),
            Err(why) => tally.half(work.name(), why),
        }
    }
}

/// Does a work to its end once, to know what must come of it and how long it takes.
fn learned(work: Work) -> Known {
    let bench = work.bench();
    let arguments = work.arguments(&bench);
    let mut files = BTreeMap::new();
    gather(&bench.path(""), &bench.path(""), &mut files);
    let before = audit(&bench.catalogue()).unwrap();
    let begun = Instant::now();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let _ = bench.run(&words).done();
    let took = begun.elapsed();
    Known { files, before, after: audit(&bench.catalogue()).unwrap(), took }
}

/// Puts the files of before into a fresh folder.
fn laid_down(known: &Known, bench: &Bench) {
    for (name, bytes) in &known.files {
        let path = bench.path(name.to_str().unwrap());
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, bytes).unwrap();
    }
}

/// All files of a folder, by their path in it.
fn gather(root: &Path, folder: &Path, files: &mut BTreeMap<PathBuf, Vec<u8>>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(root, &path, files);
        } else {
            files.insert(path.strip_prefix(root).unwrap().to_owned(), fs::read(&path).unwrap());
        }
    }
}

/// Starts the work, kills it, and looks at what is there; then does it to its end.
fn killed(
    work: Work,
    known: &Known,
    bench: &Bench,
    arguments: &[String],
    dice: &mut Dice,
) -> Result<End, String> {
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let mut command = bench.command(&words);
    let mut child = command.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
    // Most of the time is reading and computing, so two of three wait for the first byte: of anything, such as the copy of
    // the day, or of the catalogue itself.
    match dice.below(3) {
        0 => thread::sleep(known.took.mul_f64(dice.share() * 1.05)),
        which => {
            first_byte(bench, &mut child, which == 1)?;
            thread::sleep(Duration::from_millis(40).mul_f64(dice.share()));
        }
    }
    let is_done = has_ended(&mut child)?;
    if !is_done {
        child.kill().unwrap();
    }
    drop(child.wait());
    let now = audit(&bench.catalogue())?;
    let end = match (is_done, now == known.before, now == known.after) {
        (true, _, true) => End::ByItself,
        (true, _, false) => return Err("what was acknowledged is not there".into()),
        (false, true, _) => End::Before,
        (false, _, true) => End::After,
        (false, ..) => {
            return Err(format!("neither as before nor as after: {}", differ(&now, known)));
        }
    };
    finished(work, known, bench, &words, end)?;
    Ok(end)
}

/// After a kill the work can be done as if nothing had happened, and nothing is left lying about.
fn finished(
    work: Work,
    known: &Known,
    bench: &Bench,
    words: &[&str],
    end: End,
) -> Result<(), String> {
    if end == End::Before {
        let again = bench.run(words);
        if again.status != 0 {
            return Err(format!("it cannot be done again: {}", again.err));
        }
        let now = audit(&bench.catalogue())?;
        if now != known.after {
            return Err(format!("done again it is something else: {}", differ(&now, known)));
        }
    }
    if work == Work::Publish {
        let folder = bench.path("guide");
        let folder = folder.to_str().unwrap();
        let again = bench.run(&["publish", "--edition", "1", "--to", folder]);
        if again.status != 0 {
            return Err(format!("the edition cannot be written out: {}", again.err));
        }
    }
    if end != End::ByItself {
        let doctor = bench.run(&["doctor", "--repair"]);
        if doctor.status != 0 {
            return Err(format!("the doctor finds something: {}{}", doctor.out, doctor.err));
        }
    }
    let mut files = BTreeMap::new();
    gather(&bench.path(""), &bench.path(""), &mut files);
    match files.keys().find(|it| it.to_string_lossy().contains(".part")) {
        None => Ok(()),
        Some(it) => Err(format!("{} is left", it.display())),
    }
}

fn differ(now: &State, known: &Known) -> String {
    let tables = now.iter().filter(|(table, rows)| {
        known.before.get(*table) != Some(rows) && known.after.get(*table) != Some(rows)
    });
    tables
        .map(|(table, rows)| format!("{table} has {} rows", rows.len()))
        .collect::<Vec<_>>()
        .join(", ")
}

/// Waits until the catalogue changes, or with `or_copies` also its folder of copies, or the process ends.
fn first_byte(bench: &Bench, child: &mut Child, or_copies: bool) -> Result<(), String> {
    let sizes = || {
        let of = |name: &str| fs::metadata(bench.path(name)).map_or(0, |it| it.len());
        let copies = match or_copies {
            true => fs::read_dir(backup::folder(&bench.catalogue())).map_or(0, Iterator::count),
            false => 0,
        };
        (of("shelf.boxworth"), of("shelf.boxworth-wal"), of("shelf.boxworth-journal"), copies)
    };
    let before = sizes();
    while sizes() == before && !has_ended(child)? {
        thread::sleep(Duration::from_micros(300));
    }
    Ok(())
}

/// Whether a process ended by itself and well.
fn has_ended(child: &mut Child) -> Result<bool, String> {
    match child.try_wait().map_err(|it| it.to_string())? {
        None => Ok(false),
        Some(status) if status.success() => Ok(true),
        Some(status) => {
            let mut errors = String::new();
            if let Some(mut it) = child.stderr.take() {
                drop(std::io::Read::read_to_string(&mut it, &mut errors));
            }
            Err(format!("ended with {status}: {errors}"))
        }
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
