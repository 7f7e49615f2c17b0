//! Taking a folder of the plain format into the catalogue.

use std::path::PathBuf;

use catalog::plain;

use crate::{
    Engine, Error, clock,
    declared::Declarations,
    dto::{ImportNote, ImportReport},
    pricing,
};

/// What to import.
#[derive(Debug, Clone, Default)]
pub struct ImportRequest {
    /// Folders of the plain format, or single product files.
    pub paths: Vec<PathBuf>,
    /// Only try: count, and change nothing.
    pub dry_run: bool,
}

/// How far a longer job has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Steps done.
    pub done: usize,
    /// Steps in all.
    pub total: usize,
}

impl Engine {
    /// Imports folders or files: all of it or none.
    ///
    /// An empty catalogue takes title, currency and base month from the folder; one that holds products keeps its own.
    ///
    /// # Errors
    /// [`Error::Import`] with each fault located; the catalogue is then as before.
    pub fn import(
        &self,
        request: &ImportRequest,
        progress: &mut dyn FnMut(Progress),
    ) -> Result<ImportReport, Error> {
        let dictionary = Declarations::read(&self.reader())?.dictionary;
        let folder =
            plain::read(&request.paths, &dictionary).map_err(|faults| Error::Import { faults })?;
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
            &mut |done| {
                progress(Progress { done, total });
            },
        )?;
        Ok(ImportReport {
            dry_run: request.dry_run,
            products: tally.products,
            new_products: tally.new_products,
            added: tally.added,
            corrected: tally.corrected,
            unchanged: tally.unchanged,
            notes: folder
                .notes
                .into_iter()
                .map(|it| ImportNote { file: it.file, line: it.line, text: it.text })
                .collect(),
        })
    }
}
