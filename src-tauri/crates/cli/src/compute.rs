//! `boxworth compute`: one calculation, JSON in and JSON out, without a catalogue.

use std::{
    fs::File,
    io::{self, Read},
    path::Path,
};

use engine::compute::{self, Code, Fault};

use crate::{args::Compute, commands::with_line_end, failure::Failure, output::Output};

/// Runs, lists or describes.
pub(crate) fn run(it: &Compute, output: &mut Output) -> Result<(), Failure> {
    if it.list {
        let names: String = compute::list().iter().map(|it| format!("{}\n", it.name)).collect();
        return output.text(&names);
    }
    let Some(name) = &it.name else {
        let message = "NAME is missing; boxworth compute --list names all calculations";
        return Err(Fault::new(Code::Missing, "NAME", message).into());
    };
    let text = if it.schema {
        compute::schema(name)?
    } else if it.explain {
        compute::explain(name)?
    } else {
        // A name that does not exist is refused before anybody types an input for it.
        compute::known(name)?;
        compute::run(name, &read(it.input.as_deref())?)?
    };
    output.text(&with_line_end(text))
}

/// The input, but no more of it than is needed to see that it is too long.
fn read(file: Option<&Path>) -> Result<Vec<u8>, Fault> {
    let mut bytes = Vec::new();
    let most = compute::INPUT_MAX as u64 + 1;
    let (place, read) = match file {
        Some(path) => (
            format!("--in {}", path.display()),
            File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes)),
        ),
        None => ("standard input".to_owned(), io::stdin().take(most).read_to_end(&mut bytes)),
    };
    match read {
        Ok(_) => Ok(bytes),
        Err(why) => Err(Fault::new(Code::BadJson, place, format!("cannot be read: {why}"))),
    }
}
