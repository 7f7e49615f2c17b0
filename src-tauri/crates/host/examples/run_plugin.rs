//! Loads a plugin, trusting the file as it is, scores rows of missing inputs, and tells how long each step takes.
//!
//! `run_plugin FILE ROWS [TIMES]`; the first line is the worker's process id.

use std::io::{self, Write};
use std::path::PathBuf;
use std::time::{Duration, Instant};

use bw_sdk::manifest::InputKind;
use host::{Blocking, Deadlines, Evaluate, HostOptions, Input, PluginFile, sha256_file};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args_os().skip(1);
    let path = arguments.next().map(PathBuf::from).ok_or("which plugin file?")?;
    let n_rows: usize =
        arguments.next().and_then(|it| it.into_string().ok()).ok_or("how many rows?")?.parse()?;
    let times: u32 =
        arguments.next().and_then(|it| it.into_string().ok()).map_or(Ok(1), |it| it.parse())?;
    let file = PluginFile { sha256: sha256_file(&path)?, path };
    // Slow plugins are to be measured, too.
    let deadlines = Deadlines { call: Duration::from_secs(30), ..Deadlines::default() };
    let host = Blocking::new(HostOptions { deadlines, ..HostOptions::default() })?;
    let start = Instant::now();
    let mut plugin = host.load(&file)?;
    let first = start.elapsed();
    let (mut loads, mut calls) = (vec![first], Vec::new());
    for _ in 0..times {
        let start = Instant::now();
        plugin = host.load(&file)?;
        loads.push(start.elapsed());
    }
    // Each load replaces the worker, so only the last one is worth naming.
    let mut out = io::stdout();
    writeln!(out, "worker {}", plugin.pid)?;
    writeln!(
        out,
        "{} {}, sandbox {:?}",
        plugin.manifest.id, plugin.manifest.version, plugin.sandbox
    )?;
    let inputs = plugin.manifest.inputs.iter().map(|input| match input.kind {
        InputKind::Curve => Input::Curve {
            grid: (1..=200_u32).map(f64::from).collect(),
            values: vec![f64::NAN; 200 * n_rows],
        },
        _ => Input::Scalar(vec![f64::NAN; n_rows]),
    });
    let request =
        Evaluate { params: plugin.manifest.default_params(), n_rows, inputs: inputs.collect() };
    for _ in 0..times {
        let request = request.clone();
        let start = Instant::now();
        host.evaluate(&plugin, request)?;
        calls.push(start.elapsed());
    }
    writeln!(out, "load, first and median: {first:?} {:?}", median(&mut loads))?;
    writeln!(out, "{n_rows} rows, median: {:?}", median(&mut calls))?;
    Ok(())
}

fn median(times: &mut [Duration]) -> Duration {
    times.sort();
    times[times.len() / 2]
}
