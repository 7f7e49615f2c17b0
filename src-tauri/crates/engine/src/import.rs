//! Taking a folder of the plain format into the catalogue.

use std::{
    ops::RangeInclusive,
    path::{Path, PathBuf},
};

use catalog::{
    Exchange, Tally,
    plain::{self, Unread},
};
use domain::dictionary::Dictionary;

use crate::{
    Engine, Error, Watch, clock,
    declared::Declarations,
    dto::{ImportNote, ImportReport},
    pricing,
    progress::Stages,
};

/// The largest text of a whole catalogue that is read, in bytes: it is held in memory as a whole.
const LARGEST: u64 = 1 << 31;

/// Reading the files takes this share of an import, in hundredths.
const READ: RangeInclusive<usize> = 0..=40;
/// Taking in what they hold takes the rest.
const TAKEN: RangeInclusive<usize> = 40..=100;

/// What to import.
#[derive(Debug, Clone, Default)]
pub struct ImportRequest {
    /// Folders of the plain format, single product files, or one JSON text of a whole catalogue.
    pub paths: Vec<PathBuf>,
    /// Only try: count, and change nothing.
    pub dry_run: bool,
}

impl Engine {
    /// Imports folders or files: all of it or none.
    ///
    /// An empty catalogue takes title, currency and base month from the folder; one that holds products keeps its own.
    ///
    /// `watch` is told of each file that is read and of each product that is taken in, and may end the work there.
    ///
    /// # Errors
    /// [`Error::Import`] with each fault located, or when it was ended; the catalogue is then as before.
    pub fn import(
        &self,
        request: &ImportRequest,
        watch: &mut Watch<'_>,
    ) -> Result<ImportReport, Error> {
        let mut stages = Stages::of(watch);
        let dictionary = Declarations::read(&self.reader())?.dictionary;
        if let [only] = &request.paths[..]
            && only.is_file()
            && only.extension().is_some_and(|it| it == "json")
        {
            return self.import_exchange(only, &dictionary, request.dry_run, &mut stages);
        }
        let read =
            plain::read(&request.paths, &dictionary, &mut |at| stages.count(&READ, at, "file"));
        let folder = read.map_err(|why| match why {
            Unread::Faulty(faults) => Error::Import { faults },
            Unread::Stopped => Error::Stopped,
        })?;
        if let Some(info) = &folder.info {
            pricing::base_month(&info.base_month.to_string())?;
        }
        let mut catalogue = self.writer()?;
        let info = folder.info.map(|it| catalog::Info {
            title: it.title,
            currency: it.currency.word().into(),
            base_month: it.base_month.to_string(),
            note: it.note,
        });
        let total = folder.dossiers.len();
        let tally = catalogue.import(
            &folder.dossiers,
            info.as_ref(),
            &clock::now(),
            request.dry_run,
            &mut |at| stages.count(&TAKEN, (at, total), "product"),
        )?;
        let notes = folder.notes.into_iter();
        let notes = notes.map(|it| ImportNote { file: it.file, line: it.line, text: it.text });
        Ok(report(request.dry_run, tally, notes.collect()))
    }

    /// Takes a catalogue in that was exported as one JSON text. The rubric's changes come along when this catalogue has
    /// neither products nor changes of its own.
    fn import_exchange(
        &self,
        file: &Path,
        dictionary: &Dictionary,
        dry_run: bool,
        stages: &mut Stages<'_>,
    ) -> Result<ImportReport, Error> {
        let refuse = |why: String| Error::Request {
            place: "import",
            text: file.display().to_string(),
            why,
            accepted: "a catalogue as `boxworth export` writes it".into(),
        };
        let size = std::fs::metadata(file).map_or(0, |it| it.len());
        if size > LARGEST {
            return Err(refuse(format!("is larger than {} MiB", LARGEST >> 20)));
        }
        stages.reach(&READ, (0, 2), "the text")?;
        let text = std::fs::read_to_string(file)
            .map_err(|why| refuse(format!("cannot be read: {}", why.kind())))?;
        stages.reach(&READ, (1, 2), "what the text holds")?;
        let exchange = Exchange::read(&text, dictionary).map_err(|why| refuse(why.to_string()))?;
        pricing::base_month(&exchange.info.base_month)?;
        pricing::currency(&exchange.info.currency)?;
        let total = exchange.dossiers.len();
        let (tally, took_rubric) =
            self.writer()?.import_exchange(&exchange, &clock::now(), dry_run, &mut |at| {
                stages.count(&TAKEN, (at, total), "product")
            })?;
        let mut notes = Vec::new();
        if !exchange.rubric.is_empty() && !took_rubric {
            notes.push(ImportNote {
                file: file.display().to_string(),
                line: None,
                text: "the changes of the rubric were left out, since this catalogue is not empty"
                    .into(),
            });
        }
        Ok(report(dry_run, tally, notes))
    }
}

fn report(dry_run: bool, tally: Tally, notes: Vec<ImportNote>) -> ImportReport {
    ImportReport {
        dry_run,
        products: tally.products,
        new_products: tally.new_products,
        added: tally.added,
        corrected: tally.corrected,
        unchanged: tally.unchanged,
        notes,
    }
}
