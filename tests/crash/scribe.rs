//! The writing process: this very program, which goes on entering and says each write that it has done.

use std::{
    ffi::{c_char, c_int},
    io::Write,
    path::PathBuf,
    process::{Command, ExitCode},
};

use engine::{Engine, EngineOptions, PriceRequest, RecordRequest};
use rusqlite::{
    Connection,
    auto_extension::{init_auto_extension, register_auto_extension},
    ffi,
    hooks::{AuthAction, AuthContext, Authorization},
};
use tests::Bench;

/// An invented product of the seed catalogue.
pub(crate) const PRODUCT: &str = "thistlequern/grist-5";

/// How a writing process is told to work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Habit {
    /// As the program does.
    Good,
    /// Says that a write is done before it is.
    Early,
    /// With `PRAGMA synchronous = OFF`, whatever the program sets.
    Off,
    /// As the program does, while somebody reads and thereby holds the log open: no checkpoint helps, and a write is kept by
    /// the flush of its commit alone.
    Watched,
    /// The same, with `PRAGMA synchronous = NORMAL`, which flushes at checkpoints only.
    WatchedNormal,
}

impl Habit {
    const ALL: [Habit; 5] =
        [Habit::Good, Habit::Early, Habit::Off, Habit::Watched, Habit::WatchedNormal];

    fn word(self) -> &'static str {
        match self {
            Habit::Good => "good",
            Habit::Early => "early",
            Habit::Off => "off",
            Habit::Watched => "watched",
            Habit::WatchedNormal => "watched-normal",
        }
    }
}

/// One write. It follows from its number, so that both sides know it.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Deed {
    Finding(&'static str, String),
    Price(i64),
    Undo,
}

impl Deed {
    pub(crate) fn of(number: u64) -> Deed {
        // Different from all before it, since what is there already is not written again.
        let (whole, part) = (9 + number % 12, number / 12 % 100);
        match number % 7 {
            // It takes back the one before it, which is no undo.
            0 => Deed::Undo,
            3 => Deed::Price(i64::try_from(100 + number).unwrap()),
            1 | 4 => Deed::Finding("cabinet.net_volume", format!("{whole}.{part:02} L")),
            _ => Deed::Finding("cabinet.panel_thick.front", format!("{whole}.{part:02} mm")),
        }
    }

    fn done(&self, engine: &Engine, number: u64) -> Result<(), engine::Error> {
        let reason = format!("write {number}");
        match self {
            Deed::Undo => drop(engine.undo()?),
            Deed::Finding(address, value) => drop(engine.record(&RecordRequest {
                product: PRODUCT.into(),
                finding: (*address).into(),
                value: value.clone(),
                reason,
                ..RecordRequest::default()
            })?),
            Deed::Price(amount) => drop(engine.add_price(&PriceRequest {
                product: PRODUCT.into(),
                price: amount.to_string(),
                shop: format!("Invented shop {number}"),
                reason,
                ..PriceRequest::default()
            })?),
        }
        Ok(())
    }
}

/// Starts with a write, and ends with one or goes on for ever.
pub(crate) fn command(bench: &Bench, first: u64, last: Option<u64>, habit: Habit) -> Command {
    let mut command = tests::command(std::env::current_exe().unwrap());
    command.arg("scribe").arg(bench.catalogue()).args([habit.word(), &first.to_string()]);
    command.args(last.map(|it| it.to_string())).env("HOME", bench.path(""));
    command
}

/// The process: `scribe CATALOGUE HABIT FIRST [LAST]`.
pub(crate) fn scribe(arguments: &[String]) -> ExitCode {
    let [catalogue, habit, first, rest @ ..] = arguments else { return ExitCode::from(2) };
    let Some(habit) = Habit::ALL.into_iter().find(|it| it.word() == habit) else {
        return ExitCode::from(2);
    };
    let synchronous = match habit {
        Habit::Good | Habit::Early | Habit::Watched => None,
        Habit::Off => Some(Synchronous::Off),
        Habit::WatchedNormal => Some(Synchronous::Normal),
    };
    synchronous.into_iter().for_each(loosen);
    let options = EngineOptions {
        catalogue: PathBuf::from(catalogue),
        require_sandbox: false,
        today: tests::AS_OF.parse().ok(),
        cache: None,
    };
    let engine = Engine::open(options).unwrap();
    let reading = matches!(habit, Habit::Watched | Habit::WatchedNormal).then(|| {
        let sql = Connection::open(catalogue).unwrap();
        sql.execute_batch("BEGIN; SELECT count(*) FROM info;").unwrap();
        sql
    });
    let last = rest.first().map_or(u64::MAX, |it| it.parse().unwrap());
    let mut out = std::io::stdout().lock();
    for number in first.parse().unwrap()..=last {
        writeln!(out, "begin {number}").and_then(|()| out.flush()).unwrap();
        let done = |out: &mut dyn Write| {
            writeln!(out, "done {number}").and_then(|()| out.flush()).unwrap();
        };
        if habit == Habit::Early {
            done(&mut out);
        }
        if let Err(why) = Deed::of(number).done(&engine, number) {
            writeln!(out, "failed {number}: {why}").unwrap();
            return ExitCode::FAILURE;
        }
        if habit != Habit::Early {
            done(&mut out);
        }
    }
    drop(reading);
    ExitCode::SUCCESS
}

/// The number after a word in the last line that begins with it, of what a writing process said.
pub(crate) fn last_said<'a>(
    word: &str,
    said: impl DoubleEndedIterator<Item = &'a str>,
) -> Option<u64> {
    said.rev().filter_map(|it| it.strip_prefix(word)).find_map(|it| it.parse().ok())
}

/// A lower `synchronous` than the program's.
#[derive(Debug, Clone, Copy)]
enum Synchronous {
    Off,
    Normal,
}

/// Lets every connection of this process begin with a lower `synchronous`, and take no other. The program that is shipped
/// has no such door: SQLite calls us for each connection that it opens, and asks us before it obeys a pragma.
fn loosen(to: Synchronous) {
    unsafe extern "C" fn off(
        sql: *mut ffi::sqlite3,
        why: *mut *mut c_char,
        _: *const ffi::sqlite3_api_routines,
    ) -> c_int {
        // SAFETY: SQLite gives what it asks for; nothing is opened or closed in it.
        unsafe { init_auto_extension(sql, why, |it| begin(it, "OFF")) }
    }
    unsafe extern "C" fn normal(
        sql: *mut ffi::sqlite3,
        why: *mut *mut c_char,
        _: *const ffi::sqlite3_api_routines,
    ) -> c_int {
        // SAFETY: as above.
        unsafe { init_auto_extension(sql, why, |it| begin(it, "NORMAL")) }
    }
    fn begin(mut sql: Connection, word: &str) -> rusqlite::Result<()> {
        sql.pragma_update(None, "synchronous", word)?;
        sql.authorizer(Some(|it: AuthContext<'_>| match it.action {
            AuthAction::Pragma { pragma_name: "synchronous", pragma_value: Some(_) } => {
                Authorization::Ignore
            }
            _ => Authorization::Allow,
        }))?;
        // The handle is SQLite's; what we lent it must live as long.
        std::mem::forget(sql);
        Ok(())
    }
    let each = match to {
        Synchronous::Off => off,
        Synchronous::Normal => normal,
    };
    // SAFETY: once, before the first connection of this process.
    unsafe { register_auto_extension(each) }.unwrap();
}
