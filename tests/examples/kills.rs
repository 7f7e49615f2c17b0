//! Kills the program at random moments while it writes, and compares what is left with what was acknowledged.
//!
//! `cargo run -p tests --example kills -- 1000 [SEED]`. Each round does one thing (enter a finding, import a product, take
//! back, copy) twice: to its end on a copy of the catalogue, which tells what must come of it
//! and how long it takes, and on the catalogue itself, where SIGKILL comes at a moment drawn evenly from that time and
//! a twentieth more. Afterwards the catalogue must be sound and be as before or as after, and as after if the program had said so;
//! each copy in its folder must be whole. This is the method of SQLite's crash tests (sqlite.org/testing.html, section 3.3)
//! without the simulated file system: what a power cut tears apart is not tried here.
#![expect(clippy::print_stdout, reason = "a program for the terminal")]
#![expect(clippy::unwrap_used, reason = "a harness that cannot start has nothing to say")]

use std::{
    collections::BTreeMap,
    fs,
    path::Path,
    process::{Child, ExitCode},
    thread,
    time::Instant,
};

use catalog::{Reader, backup};
use domain::{dictionary::Dictionary, dossier::Dossier};
use tests::{Bench, seed};

const PRODUCT: &str = "thistlequern/grist-5";

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let rounds: u64 = arguments.next().and_then(|it| it.parse().ok()).unwrap_or(100);
    let mut dice = Dice(arguments.next().and_then(|it| it.parse().ok()).unwrap_or(1));
    let bench = Bench::seeded();
    let mut tally: BTreeMap<&str, [u64; 3]> = BTreeMap::new();
    let mut faults = Vec::new();
    for round in 0..rounds {
        let deed = Deed::drawn(&mut dice, round);
        let outcome = deed.tried(&bench, &mut dice, round);
        let counts = tally.entry(deed.name()).or_default();
        match outcome {
            Ok(End::Done) => counts[0] += 1,
            Ok(End::KilledBefore) => counts[1] += 1,
            Ok(End::KilledAfter) => counts[2] += 1,
            Err(why) => {
                println!("round {round}, {}: {why}", deed.name());
                faults.push(round);
            }
        }
    }
    println!(
        "{:<10} {:>14} {:>18} {:>17}",
        "", "ended by itself", "killed, as before", "killed, as after"
    );
    for (name, [done, before, after]) in &tally {
        println!("{name:<10} {done:>14} {before:>18} {after:>17}");
    }
    println!(
        "{} of {rounds} rounds left the catalogue sound and lost nothing",
        rounds - faults.len() as u64
    );
    if faults.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// How a round ended.
enum End {
    Done,
    KilledBefore,
    KilledAfter,
}

/// One thing that writes.
enum Deed {
    Record(String),
    Import(String),
    Undo,
    Copy,
}

impl Deed {
    fn drawn(dice: &mut Dice, round: u64) -> Deed {
        match dice.below(10) {
            0..=4 => Deed::Record(format!("{}.{} mm", 9 + dice.below(12), dice.below(10))),
            5 | 6 => Deed::Import(format!("Round {round}")),
            7 | 8 => Deed::Undo,
            _ => Deed::Copy,
        }
    }

    fn name(&self) -> &'static str {
        match self {
            Deed::Record(_) => "record",
            Deed::Import(_) => "import",
            Deed::Undo => "undo",
            Deed::Copy => "backup",
        }
    }

    /// The arguments, after what they read is laid out.
    fn arguments(&self, bench: &Bench) -> Vec<String> {
        let words: Vec<&str> = match self {
            Deed::Record(value) => vec!["record", PRODUCT, "cabinet.panel_thick.front", value],
            Deed::Undo => vec!["undo"],
            Deed::Copy => vec!["backup"],
            Deed::Import(model) => {
                let (folder, maker) = (bench.path("in"), "products/thistlequern");
                drop(fs::remove_dir_all(&folder));
                fs::create_dir_all(folder.join(maker)).unwrap();
                fs::copy(seed().join("catalogue.toml"), folder.join("catalogue.toml")).unwrap();
                let text =
                    fs::read_to_string(seed().join("products/farrowmere/sedge-5.toml")).unwrap();
                let text: Vec<String> = text.lines().map(|it| renamed(it, model)).collect();
                let name = format!("{}.toml", model.to_lowercase().replace(' ', "-"));
                fs::write(folder.join(maker).join(name), text.join("\n")).unwrap();
                return vec!["import".into(), folder.to_str().unwrap().into()];
            }
        };
        words.into_iter().map(str::to_owned).collect()
    }

    fn tried(&self, bench: &Bench, dice: &mut Dice, round: u64) -> Result<End, String> {
        let arguments = self.arguments(bench);
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let before = state(&bench.catalogue())?;
        // To its end on a copy, which has a folder of copies of its own.
        let shadow = bench.path(&format!("shadow-{round}.boxworth"));
        backup::restore(&copied(bench)?, &shadow).map_err(|it| it.to_string())?;
        let begun = Instant::now();
        let mut whole = tests::command(tests::programs().join("boxworth"));
        whole.env("HOME", bench.path("")).arg("--catalogue").arg(&shadow).args(&arguments);
        let output = whole.output().map_err(|it| it.to_string())?;
        let took = begun.elapsed();
        if !output.status.success() {
            return Err(format!("refused: {}", String::from_utf8_lossy(&output.stderr)));
        }
        let after = state(&shadow)?;
        for it in [shadow.clone(), backup::folder(&shadow)] {
            let _ = if it.is_dir() { fs::remove_dir_all(it) } else { fs::remove_file(it) };
        }

        let mut child = bench.start(&arguments);
        thread::sleep(took.mul_f64(dice.share() * 1.05));
        let done = ended(&mut child)?;
        if !done {
            child.kill().map_err(|it| it.to_string())?;
        }
        drop(child.wait());
        let now = state(&bench.catalogue())?;
        for it in backup::copies(&bench.catalogue()).map_err(|it| it.to_string())? {
            backup::verify(&it.path).map_err(|why| format!("{}: {why}", it.path.display()))?;
            // The first change of the day makes one; the others would only fill the disk.
            if it.occasion == backup::Occasion::Asked {
                drop(fs::remove_file(it.path));
            }
        }
        match (done, now == before, now == after) {
            (true, _, true) => Ok(End::Done),
            (true, ..) => Err("what was acknowledged is not there".into()),
            (false, true, _) => Ok(End::KilledBefore),
            (false, _, true) => Ok(End::KilledAfter),
            (false, ..) => Err("neither as before nor as after".into()),
        }
    }
}

fn renamed(line: &str, model: &str) -> String {
    if line.starts_with("maker = ") {
        "maker = \"Thistlequern\"".to_owned()
    } else if line.starts_with("model = ") {
        format!("model = \"{model}\"")
    } else {
        line.to_owned()
    }
}

/// A still copy of the catalogue for the shadow.
fn copied(bench: &Bench) -> Result<std::path::PathBuf, String> {
    let it = backup::back_up(&bench.catalogue(), backup::Occasion::Asked, "shadow")
        .map_err(|it| it.to_string())?;
    Ok(it.path)
}

/// Whether a process ended by itself and well.
fn ended(child: &mut Child) -> Result<bool, String> {
    match child.try_wait().map_err(|it| it.to_string())? {
        None => Ok(false),
        Some(status) if status.success() => Ok(true),
        Some(status) => Err(format!("ended with {status}")),
    }
}

/// All facts of a catalogue that is sound.
fn state(catalogue: &Path) -> Result<Vec<Dossier>, String> {
    let reader = Reader::open(catalogue).map_err(|it| it.to_string())?;
    if let Some(fault) = reader.integrity_faults().map_err(|it| it.to_string())?.first() {
        return Err(format!("damaged: {fault}"));
    }
    reader.dossiers(&Dictionary::standard()).map_err(|it| it.to_string())
}

/// The generator of Steele, Lea and Flood (2014), from memory; any other would do.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, end: u64) -> u64 {
        self.next() % end
    }

    fn share(&mut self) -> f64 {
        self.below(1 << 20) as f64 / f64::from(1 << 20)
    }
}
