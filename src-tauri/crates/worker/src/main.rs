//! The process in which one plugin runs. It is started by the host and is of no use by hand.
//!
//! The order matters and stands in [`run`]: the protocol moves to private descriptors before foreign code can print,
//! the library is read and hashed once and loaded from that very copy, and the sandbox is closed, by the only thread,
//! before `dlopen` runs the library's constructors. The library is never unloaded; the process ends with `_exit`,
//! because destructors of foreign code have been seen to crash.

mod call;
mod exit;
mod image;
mod library;
mod memory;
mod probe;
mod sandbox;
mod serve;
mod stdio;

use std::env;
use std::io::{Read, Write};
use std::mem::ManuallyDrop;

use sandbox::{Confinement as _, Here};
use wire::{FromWorker, Hello, Loaded, Part, START_MARK, ToWorker};

fn main() {
    if env::var_os(START_MARK).is_none() {
        let text = "boxworth-worker runs one plugin for Boxworth and is started by it; it does nothing by hand.";
        // Nobody is left to tell when even this fails.
        let _ = writeln!(std::io::stderr(), "{text}");
        exit::now(exit::BY_HAND);
    }
    let code = match run() {
        Ok(()) => exit::DONE,
        Err(text) => {
            let _ = writeln!(std::io::stderr(), "boxworth-worker: {text}");
            exit::PROTOCOL
        }
    };
    exit::now(code);
}

/// Greets, loads, serves. An error is one of the protocol; a library that is not taken is an answer.
fn run() -> Result<(), String> {
    exit::on_bad_memory();
    let (mut input, output) =
        stdio::make_private().map_err(|error| format!("no private pipes: {error}"))?;
    let memory = memory::receive(&input).map_err(|error| format!("no shared memory: {error}"))?;
    // The pipe closes with the process, so that the host never sees an end before there is an exit status.
    let mut output = ManuallyDrop::new(output);
    send(&mut *output, &FromWorker::Hello(Hello::new(std::process::id())))?;
    let load = match receive(&mut input)? {
        Some(ToWorker::Load(load)) => load,
        Some(other) => return Err(format!("expected a library to load, got {other:?}")),
        None => return Ok(()),
    };
    let image = match image::read(&load.path, load.sha256) {
        // Never closed either: a plugin may have closed it already, and closing it twice aborts.
        Ok(image) => ManuallyDrop::new(image),
        Err(error) => {
            let (part, why) = (Part::Library, error.to_string());
            return send(&mut *output, &FromWorker::Refused { part, why });
        }
    };
    let sandbox = match Here::confine(&load.limits) {
        Ok(sandbox) => sandbox,
        Err(error) => {
            return send(
                &mut *output,
                &FromWorker::Refused {
                    part: Part::Library,
                    why: format!("the sandbox failed: {error}"),
                },
            );
        }
    };
    let jobs = serve::listen(input, memory.map(|it| it.room).unwrap_or_default());
    match open(&image) {
        Ok((plugin, manifest)) => {
            send(&mut *output, &FromWorker::Loaded(Loaded { manifest, sandbox }))?;
            serve::serve(&plugin, memory, &jobs, &mut *output)
        }
        Err(error) => {
            let why = format!("{}: {error}", load.path.display());
            send(&mut *output, &FromWorker::Refused { part: error.part(), why })
        }
    }
}

fn open(image: &image::Image) -> Result<(library::Plugin, String), library::LibraryError> {
    let plugin = library::open(image)?;
    let manifest = plugin.manifest()?;
    Ok((plugin, manifest))
}

fn send(output: &mut impl Write, message: &FromWorker) -> Result<(), String> {
    wire::write(output, message).map_err(|error| error.to_string())
}

fn receive(input: &mut impl Read) -> Result<Option<ToWorker>, String> {
    wire::read(input).map_err(|error| error.to_string())
}
