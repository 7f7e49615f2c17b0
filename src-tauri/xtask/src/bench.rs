//! `cargo xtask bench`: the benches, with worker and plugins of the same profile, and the table of what they say.

mod figures;
mod growth;
mod table;

use crate::app::{self, Profile};
use crate::shell::{Failure, Shell, is_on_path};
use crate::{setup, verify};
use std::fs;
use table::Circumstances;

const TABLE: &str = "src-tauri/BENCHES.md";
/// The picture of what grows with the catalogue, beside the table.
const PICTURE: &str = "BENCHES-growth.svg";
/// Packages, and benches of theirs.
const PACKAGES: [&str; 5] = ["catalog", "engine", "host", "physics", "standing"];
const BENCHES: [&str; 8] =
    ["import", "band", "product", "scale", "shelf", "peers", "ranking", "isolation"];

/// Builds in release, runs each bench, shows what they print, and writes the table.
pub(crate) fn bench(shell: &Shell) -> Result<(), Failure> {
    setup::setup(shell, false, true)?;
    app::terminal(shell, Profile::Release)?;
    let options = |name: &'static str, list: &[&'static str]| -> Vec<&'static str> {
        list.iter().flat_map(|it| [name, *it]).collect()
    };
    let arguments =
        [vec!["bench"], options("-p", &PACKAGES), options("--bench", &BENCHES)].concat();
    let mut build = shell.cargo(&arguments);
    build.arg("--no-run");
    shell.run(build)?;

    let mut command = shell.cargo(&arguments);
    let worker = app::program(shell, Profile::Release, "boxworth-worker");
    // A bench lives in another folder than the programs it starts.
    if let Some(folder) = worker.parent() {
        command.env("BOXWORTH_PLUGINS", folder);
    }
    command.env("BOXWORTH_WORKER", &worker);
    let python = verify::python(shell);
    // Without them the bench measures ours alone, and says what to do.
    if python.is_file() && is_on_path("ngspice") {
        command.env("BOXWORTH_VERIFY_PYTHON", python);
    }
    let circumstances = circumstances(shell)?;
    let printed = String::from_utf8_lossy(&shell.output(command)?).into_owned();
    shell.say(&printed)?;
    let benches = figures::read(&printed).map_err(Failure::new)?;
    let count: usize = benches.iter().map(|it| it.figures.len()).sum();
    if benches.len() < BENCHES.len() {
        let said: Vec<&str> = benches.iter().map(|it| it.name.as_str()).collect();
        return Err(Failure::new(format!(
            "of {} benches only these have figures: {}",
            BENCHES.len(),
            said.join(", ")
        )));
    }
    let path = shell.root().join(TABLE);
    fs::write(&path, table::markdown(&benches, &circumstances, PICTURE))
        .map_err(Failure::at(&path))?;
    if let Some(svg) = benches.iter().find_map(growth::picture) {
        let path = path.with_file_name(PICTURE);
        fs::write(&path, svg).map_err(Failure::at(&path))?;
    }
    shell.say(format!("{count} figures of {} benches written to {TABLE}", benches.len()))
}

fn circumstances(shell: &Shell) -> Result<Circumstances, Failure> {
    let told = |name: &str, arguments: &[&str]| {
        let mut command = shell.program(name);
        command.args(arguments);
        Ok::<_, Failure>(String::from_utf8_lossy(&shell.output(command)?).trim().to_owned())
    };
    let threads = std::thread::available_parallelism().map_or(1, Into::into);
    let processors = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let memory = fs::read_to_string("/proc/meminfo").unwrap_or_default();
    let load = fs::read_to_string("/proc/loadavg").unwrap_or_default();
    Ok(Circumstances {
        machine: machine(&processors, &memory, threads),
        compiler: told("rustc", &["--version"])?,
        day: told("date", &["-u", "+%Y-%m-%d"])?,
        load: load.split_whitespace().next().map(str::to_owned),
    })
}

/// The processor with its threads, and the memory, as far as Linux tells of them.
fn machine(processors: &str, memory: &str, threads: usize) -> String {
    let value = |text: &str, key: &str| {
        let line = text.lines().find(|it| it.starts_with(key));
        line.and_then(|it| Some(it.split_once(':')?.1.trim().to_owned()))
    };
    let processor = value(processors, "model name").unwrap_or("a processor not named".to_owned());
    let kib = value(memory, "MemTotal").and_then(|it| it.trim_end_matches(" kB").parse().ok());
    let memory = kib.map_or(String::new(), |it: u64| format!(", {} GiB", it.div_ceil(1 << 20)));
    format!("{processor}, {threads} threads{memory}, {}", std::env::consts::OS)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_machine_is_named_as_the_system_tells() {
        let processors = "processor\t: 0\nmodel name\t: Some Chip 9\nflags\t: fpu\n";
        let named = machine(processors, "MemTotal:       24000000 kB\n", 2);
        assert!(named.starts_with("Some Chip 9, 2 threads, 23 GiB, "), "{named}");
        assert!(machine("", "", 1).starts_with("a processor not named, 1 threads, "));
    }
}
