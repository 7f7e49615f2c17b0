//! Copies of a catalogue that can be trusted, in a folder beside it.
//!
//! A copy is made by SQLite's online backup (sqlite.org/backup.html), so others may read and write meanwhile, under another
//! name; it is opened and checked, and gets its own name only then. What is in the folder is therefore whole.
//! One program makes copies at a time (`unfinished.rs` says how), so that what a crash left unfinished is known to be nobody's.
//! Of the daily copies the newest [`KEPT_DAYS`] stay and the first of each of the newest [`KEPT_MONTHS`] months; the others
//! (before a new format, before a restore, asked for) are removed by nobody but the user.

mod unfinished;

use std::{
    fs::{self, File},
    path::{Path, PathBuf},
    time::Duration,
};

use rusqlite::{Connection, OpenFlags, backup};

use crate::{
    Error,
    durable::{self, PART},
    error::PAGES,
    open,
    photo::{self, PhotoFiles},
};
use unfinished::Turn;

pub(crate) use unfinished::clear;
pub use unfinished::unfinished;

/// Newest daily copies that stay.
pub const KEPT_DAYS: usize = 7;
/// Newest months of which the first daily copy stays.
pub const KEPT_MONTHS: usize = 12;

/// Pages copied at a time; between two times others may write.
const STEP: i32 = 4096;

/// Why a copy was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Occasion {
    /// The first change of a day.
    Daily,
    /// The catalogue was about to be brought to a newer format.
    Format,
    /// Another copy was about to take its place.
    Restore,
    /// Somebody asked.
    Asked,
}

impl Occasion {
    /// The word in the name of the file.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Occasion::Daily => "daily",
            Occasion::Format => "format",
            Occasion::Restore => "restore",
            Occasion::Asked => "asked",
        }
    }

    fn parse(word: &str) -> Option<Self> {
        [Occasion::Daily, Occasion::Format, Occasion::Restore, Occasion::Asked]
            .into_iter()
            .find(|it| it.word() == word)
    }
}

/// A copy in the folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Copy {
    /// The file.
    pub path: PathBuf,
    /// Why it was made.
    pub occasion: Occasion,
    /// When, `YYYY-MM-DDTHH-MM-SSZ`; for a copy before a new format `from-N`, N being the old one.
    pub stamp: String,
    /// Its size.
    pub bytes: u64,
}

/// The folder of a catalogue's copies: `shelf.boxworth.backups` beside `shelf.boxworth`. The name of the file stands in it whole,
/// so that no two catalogues share a folder.
#[must_use]
pub fn folder(catalogue: &Path) -> PathBuf {
    let mut name = catalogue.as_os_str().to_owned();
    name.push(".backups");
    name.into()
}

/// The copies of a catalogue, oldest first within each occasion. Files of other names are none of ours.
///
/// # Errors
/// [`Error::Io`] when the folder is there and cannot be read.
pub fn copies(catalogue: &Path) -> Result<Vec<Copy>, Error> {
    let folder = folder(catalogue);
    let entries = match fs::read_dir(&folder) {
        Ok(it) => it,
        Err(why) if why.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(source) => return Err(Error::Io { path: folder, source }),
    };
    let mut copies = Vec::new();
    for entry in entries {
        let entry = entry.map_err(|source| Error::Io { path: folder.clone(), source })?;
        let name = entry.file_name();
        let Some((occasion, stamp)) = name.to_str().and_then(parsed) else { continue };
        let bytes = entry.metadata().map_or(0, |it| it.len());
        copies.push(Copy { path: entry.path(), occasion, stamp: stamp.to_owned(), bytes });
    }
    copies.sort_by(|a, b| (a.occasion.word(), &a.stamp).cmp(&(b.occasion.word(), &b.stamp)));
    Ok(copies)
}

/// Copies a catalogue into its folder, checks the copy, and removes daily ones that the rule no longer keeps, and what a
/// crash left unfinished.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Foreign`] or [`Error::Newer`] as for opening; [`Error::Io`] or [`Error::Sql`] when the copy
/// cannot be written, [`Error::Damaged`] when it is not sound, [`Error::CopyUnderWay`] when another program does not end.
/// The catalogue is never touched, and no part of a copy stays.
pub fn back_up(catalogue: &Path, occasion: Occasion, stamp: &str) -> Result<Copy, Error> {
    open::refuse_by_header(catalogue)?;
    let source = open::connect(catalogue, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    open::checked_format(&source, catalogue)?;
    let folder = folder(catalogue);
    durable::make_folder(&folder)?;
    let turn = Turn::take(&folder)?;
    turn.clear(catalogue);
    let path = free_name(&folder, occasion, stamp);
    let part = path.with_extension(PART);
    let made = copied(&source, &part).and_then(|()| {
        fs::rename(&part, &path).map_err(|why| Error::Io { path: path.clone(), source: why })?;
        durable::settle(&folder)
    });
    if let Err(why) = made {
        // What cannot be removed is no copy by its name, and the next attempt writes over it.
        drop(fs::remove_file(&part));
        return Err(why);
    }
    if occasion == Occasion::Daily {
        let name = path.file_name().and_then(|it| it.to_str());
        thin_out(catalogue, name.and_then(parsed).map_or(stamp, |(_, own)| own))?;
    }
    let bytes = fs::metadata(&path).map_or(0, |it| it.len());
    Ok(Copy { path, occasion, stamp: stamp.to_owned(), bytes })
}

/// Opens a copy and checks that it is a whole catalogue, and nothing else.
///
/// # Errors
/// As for opening, [`Error::Altered`], and [`Error::Damaged`] with the first fault that SQLite finds.
pub fn verify(copy: &Path) -> Result<(), Error> {
    let connection = lying_still(copy)?;
    let format = open::checked_format(&connection, copy)?;
    open::refuse_by_shape(&connection, copy, format)?;
    match open::integrity_faults(&connection)?.into_iter().next() {
        None => Ok(()),
        Some(why) => Err(Error::Damaged { table: PAGES, row: 0, why }),
    }
}

/// A copy lies still, so that it is read as it is and nothing is made beside it.
fn lying_still(copy: &Path) -> Result<Connection, Error> {
    open::refuse_by_header(copy)?;
    let uri = format!("file:{}?immutable=1", escaped(copy));
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
    let connection = open::connect(Path::new(&uri), flags)?;
    open::checked_format(&connection, copy)?;
    Ok(connection)
}

/// The files of photos that a copy names; an older format names none.
///
/// # Errors
/// As [`verify`], without the check of its pages.
pub(crate) fn photo_files(copy: &Path) -> Result<PhotoFiles, Error> {
    let connection = lying_still(copy)?;
    let is_there = connection.table_exists(None, "photo")?;
    if is_there { photo::files_named(&connection) } else { Ok(PhotoFiles::default()) }
}

/// What a person enters or decides, and the column that says when. Faults of plugins are none of it.
const DATED: [(&str, &str); 13] = [
    ("change_set", "at"),
    ("finding", "recorded_at"),
    ("price", "recorded_at"),
    ("network", "recorded_at"),
    ("sweep", "recorded_at"),
    ("photo", "recorded_at"),
    ("rubric_change", "recorded_at"),
    ("plugin_trust", "decided_at"),
    ("plugin_release", "at"),
    ("claim", "made_at"),
    ("claim_verdict", "judged_at"),
    ("claim_withdrawn", "withdrawn_at"),
    ("edition", "made_at"),
];

/// How far a catalogue or a copy has come. What has no time of its own, such as a product in which nothing was recorded yet,
/// counts not.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Extent {
    /// The time of the last change of facts, rubric, decisions about plugins, claims or editions; `None` when nothing was
    /// ever changed.
    pub last_change: Option<String>,
    /// Rows of each kind, in the order of the kinds. Nothing is ever deleted, so that more rows are later ones, whatever the
    /// clock said.
    rows: [i64; DATED.len()],
}

impl Extent {
    /// Whether it holds what the other cannot know.
    #[must_use]
    pub fn is_beyond(&self, other: &Extent) -> bool {
        self.last_change > other.last_change
            || self.rows.iter().zip(&other.rows).any(|(mine, theirs)| mine > theirs)
    }
}

/// How far a catalogue or a copy has come.
///
/// # Errors
/// As for opening.
pub fn extent(catalogue: &Path) -> Result<Extent, Error> {
    open::refuse_by_header(catalogue)?;
    let connection = open::connect(catalogue, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    open::checked_format(&connection, catalogue)?;
    let mut extent = Extent::default();
    for (at, (table, column)) in DATED.into_iter().enumerate() {
        // An older format has fewer tables.
        let is_there = connection.table_exists(None, table)?;
        if is_there {
            let sql = format!("SELECT max({column}), count(*) FROM {table}");
            let (last, rows) = connection
                .query_row(&sql, [], |row| Ok((row.get::<_, Option<String>>(0)?, row.get(1)?)))?;
            extent.last_change = extent.last_change.max(last);
            extent.rows[at] = rows;
        }
    }
    Ok(extent)
}

/// Copies a catalogue to a new file, which is whole and checked, or not there.
///
/// # Errors
/// As [`back_up`], and [`Error::Exists`].
pub fn copy_to(catalogue: &Path, to: &Path) -> Result<(), Error> {
    let source = open::connect(catalogue, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    durable::appear(to, |part| copied(&source, part))
}

/// Puts a copy in the place of a catalogue, which may be there or not. Who reads the catalogue meanwhile sees the old state
/// or the new one.
///
/// # Errors
/// As [`verify`], and when the catalogue cannot be written; it is then as it was.
pub fn restore(copy: &Path, catalogue: &Path) -> Result<(), Error> {
    verify(copy)?;
    if !catalogue.exists() {
        return copy_to(copy, catalogue);
    }
    let source = open::connect(copy, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let mut target = open::connect(catalogue, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    run(&source, &mut target)?;
    target.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))?;
    Ok(())
}

fn copied(source: &Connection, part: &Path) -> Result<(), Error> {
    drop(fs::remove_file(part));
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
    let mut target = Connection::open_with_flags(part, flags)?;
    run(source, &mut target)?;
    // A copy of a file with a write-ahead log says that it has one, too; it lies still and needs none.
    target
        .pragma_update_and_check(None, "journal_mode", "DELETE", |row| row.get::<_, String>(0))?;
    target.close().map_err(|(_, why)| why)?;
    let file = File::open(part).map_err(|why| Error::io(part, why))?;
    file.sync_all().map_err(|why| Error::io(part, why))?;
    verify(part)
}

fn run(source: &Connection, target: &mut Connection) -> Result<(), Error> {
    let work = backup::Backup::new(source, target)?;
    work.run_to_completion(STEP, Duration::ZERO, None)?;
    Ok(())
}

/// `daily.2026-11-29T18-04-03Z.boxworth`; a second copy of the same second has a number.
fn free_name(folder: &Path, occasion: Occasion, stamp: &str) -> PathBuf {
    let mut path = folder.join(format!("{}.{stamp}.boxworth", occasion.word()));
    let mut number = 2;
    while path.exists() {
        path = folder.join(format!("{}.{stamp}-{number}.boxworth", occasion.word()));
        number += 1;
    }
    path
}

fn parsed(name: &str) -> Option<(Occasion, &str)> {
    let (word, rest) = name.strip_suffix(".boxworth")?.split_once('.')?;
    Some((Occasion::parse(word)?, rest))
}

/// Removes daily copies that the rule does not keep, of which the one of `now` has just been made.
fn thin_out(catalogue: &Path, now: &str) -> Result<(), Error> {
    let all = copies(catalogue)?;
    let mut daily: Vec<&Copy> = all.iter().filter(|it| it.occasion == Occasion::Daily).collect();
    // What is there already was made earlier, whatever it says: a clock that was put back must not make today's copy the oldest.
    daily.sort_by_key(|it| (it.stamp.as_str() <= now, it.stamp.as_str()));
    let stamps: Vec<&str> = daily.iter().map(|it| it.stamp.as_str()).collect();
    for at in superfluous(&stamps) {
        let path = &daily[at].path;
        fs::remove_file(path).map_err(|source| Error::Io { path: path.clone(), source })?;
    }
    Ok(())
}

/// Which of some daily stamps, in the order in which they were made, the rule does not keep.
fn superfluous(stamps: &[&str]) -> Vec<usize> {
    let month = |stamp: &str| stamp.get(..7).unwrap_or(stamp).to_owned();
    let mut months: Vec<String> = Vec::new();
    let mut first_of_month = vec![false; stamps.len()];
    for (at, stamp) in stamps.iter().enumerate() {
        if !months.contains(&month(stamp)) {
            months.push(month(stamp));
            first_of_month[at] = true;
        }
    }
    let kept_months = &months[months.len().saturating_sub(KEPT_MONTHS)..];
    (0..stamps.len().saturating_sub(KEPT_DAYS))
        .filter(|&at| !(first_of_month[at] && kept_months.contains(&month(stamps[at]))))
        .collect()
}

/// A path inside a URI (sqlite.org/uri.html).
fn escaped(path: &Path) -> String {
    path.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23")
}

#[cfg(test)]
mod tests;
