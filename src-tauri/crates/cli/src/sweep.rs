//! `boxworth sweep`: a sweep read from a file of columns, fitted and recorded.

use engine::{SweepRequest, text};

use crate::{
    args::{Global, parts::Sweep},
    commands::open,
    failure::Failure,
    network::read,
    output::Output,
};

/// Runs one of its commands.
pub(crate) fn run(global: &Global, it: &Sweep, output: &mut Output) -> Result<(), Failure> {
    let (at, part) = match it {
        Sweep::Show { at, part }
        | Sweep::Read { at, part, .. }
        | Sweep::Remove { at, part, .. } => (at, part),
    };
    let mut request = SweepRequest {
        product: at.product.clone(),
        specimen: at.specimen.clone(),
        date: at.date.clone(),
        part: part.clone(),
        ..SweepRequest::default()
    };
    match it {
        Sweep::Show { .. } => {}
        Sweep::Read { file, note, dry_run, change, .. } => {
            let text = read(file).map_err(|why| engine::Error::Request {
                place: "file",
                text: file.display().to_string(),
                why: format!("cannot be read: {why}"),
                accepted: "a text file that you may read, or -".into(),
            })?;
            request.text = Some(text);
            request.note.clone_from(note);
            request.record = !dry_run;
            request.acquired.clone_from(&change.acquired);
            request.reason.clone_from(&change.reason);
        }
        Sweep::Remove { change, .. } => {
            request.remove = true;
            request.reason.clone_from(&change.reason);
        }
    }
    output.answer(&open(global)?.record_sweep(&request)?, text::sweep)
}
