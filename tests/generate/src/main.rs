//! Writes a catalogue of invented products: `cargo run -p generate -- NUMBER FILE [SEED]`.
#![forbid(unsafe_code)]
#![expect(clippy::print_stderr, clippy::print_stdout, reason = "a program for the terminal")]

use std::{env, path::Path, process::ExitCode};

const USAGE: &str = "usage: generate NUMBER FILE [SEED]; NUMBER from 1 to 100000, FILE must not exist, SEED is 0 unless given";

fn main() -> ExitCode {
    let arguments: Vec<String> = env::args().skip(1).collect();
    let asked = match &arguments[..] {
        [number, file] => Some((number.parse(), file, Ok(0))),
        [number, file, seed] => Some((number.parse(), file, seed.parse())),
        _ => None,
    };
    let Some((Ok(number), file, Ok(seed))) = asked else {
        eprintln!("{USAGE}");
        return ExitCode::from(2);
    };
    if !(1..=generate::MOST).contains(&number) {
        eprintln!("{USAGE}");
        return ExitCode::from(2);
    }
    match generate::write(Path::new(file), seed, number, &mut |_| {}) {
        Ok(tally) => {
            println!("{file}: {} products, {} facts", tally.new_products, tally.added);
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("{why}");
            ExitCode::from(2)
        }
    }
}
