//! `boxworth network`: the parts list of a crossover, one part at a time or as a whole.

use std::{
    fs,
    io::{self, Read},
    path::Path,
};

use engine::{
    NetworkRequest,
    dto::{NetworkReport, PartRow},
    text,
};

use crate::{
    args::{
        Global,
        parts::{Change, Network, Teardown},
    },
    commands::open,
    failure::Failure,
    output::Output,
};

/// Runs one of its commands.
pub(crate) fn run(global: &Global, it: &Network, output: &mut Output) -> Result<(), Failure> {
    let report = match it {
        Network::Show { at } => open(global)?.network(&request(at, None, None))?,
        Network::Set { at, part, cells, change } => edit(global, at, change, |parts| {
            let known = parts.iter().position(|it| it.name == *part);
            let place = known.unwrap_or_else(|| {
                parts.push(PartRow { name: part.clone(), ..PartRow::default() });
                parts.len() - 1
            });
            for (cell, text) in cells {
                if !parts.get_mut(place).is_some_and(|it| it.set(cell, text)) {
                    return Err(engine::Error::Request {
                        place: "part",
                        text: cell.clone(),
                        why: "is no cell of a part".into(),
                        accepted: PartRow::CELLS.join(", "),
                    }
                    .into());
                }
            }
            Ok(())
        })?,
        Network::Remove { at, parts: gone, change } => edit(global, at, change, |parts| {
            for name in gone {
                if !parts.iter().any(|it| it.name == *name) {
                    let names: Vec<&str> = parts.iter().map(|it| it.name.as_str()).collect();
                    return Err(engine::Error::Request {
                        place: "part",
                        text: name.clone(),
                        why: "is not in the list".into(),
                        accepted: names.join(", "),
                    }
                    .into());
                }
            }
            parts.retain(|it| !gone.contains(&it.name));
            Ok(())
        })?,
        Network::Read { at, file, change } => {
            let shown = file.display().to_string();
            let refuse = |why: String, accepted: &str| engine::Error::Request {
                place: "file",
                text: shown.clone(),
                why,
                accepted: accepted.into(),
            };
            let text = read(file).map_err(|why| {
                refuse(format!("cannot be read: {why}"), "a file that you may read, or -")
            })?;
            let parts: Vec<PartRow> = serde_json::from_str(&text).map_err(|why| {
                refuse(
                    format!("is no parts list: {why}"),
                    "a JSON list of parts, as `network show --json` prints them under parts",
                )
            })?;
            open(global)?.record_network(&request(at, Some(change), Some(parts)))?
        }
    };
    output.answer(&report, text::network)
}

/// The text of a file, or of standard input for `-`.
pub(crate) fn read(file: &Path) -> io::Result<String> {
    if file == Path::new("-") {
        let mut text = String::new();
        io::stdin().read_to_string(&mut text)?;
        return Ok(text);
    }
    fs::read_to_string(file)
}

fn request(at: &Teardown, change: Option<&Change>, parts: Option<Vec<PartRow>>) -> NetworkRequest {
    NetworkRequest {
        product: at.product.clone(),
        specimen: at.specimen.clone(),
        date: at.date.clone(),
        acquired: change.and_then(|it| it.acquired.clone()),
        parts,
        reason: change.map(|it| it.reason.clone()).unwrap_or_default(),
    }
}

fn edit(
    global: &Global,
    at: &Teardown,
    change: &Change,
    edit: impl FnOnce(&mut Vec<PartRow>) -> Result<(), Failure>,
) -> Result<NetworkReport, Failure> {
    let engine = open(global)?;
    let mut parts = engine.network(&request(at, Some(change), None))?.parts;
    edit(&mut parts)?;
    Ok(engine.record_network(&request(at, Some(change), Some(parts)))?)
}
