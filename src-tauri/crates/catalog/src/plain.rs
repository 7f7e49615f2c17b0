//! The plain catalogue: a folder of text files that a person edits and a version control system compares.
//!
//! `catalogue.toml` says what it is, `products/<maker>/<model>.toml` holds one product each, and the sweeps that a
//! product names are plain columns. [`read`] takes all of it or nothing, and says everything that is wrong at once.
//! [`product_schema`] is what an editor checks a product file against while it is being written.

mod catalogue_file;
mod cursor;
mod fault;
mod finding_table;
mod folder;
mod network_table;
mod price_table;
mod product_file;
mod schema;
mod sweep_file;
mod text;

use std::{
    collections::HashMap,
    ops::ControlFlow,
    path::{Path, PathBuf},
};

use domain::{dictionary::Dictionary, dossier::Dossier, key::ProductKey};

pub use catalogue_file::CatalogueInfo;
pub use fault::{Fault, MAX_FAULTS, Note};
pub use schema::product_schema;

use catalogue_file::Catalogue;
use cursor::{Report, Table};
use fault::{Faults, Refusal};
use folder::{Base, Unreadable, slashed};
use price_table::Usual;
use product_file::Surroundings;

/// What was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Folder {
    /// What the catalogue says about itself; `None` when single product files were read.
    pub info: Option<CatalogueInfo>,
    /// The products, by key.
    pub dossiers: Vec<Dossier>,
    /// What was assumed or converted and what is probably a slip, by file and line.
    pub notes: Vec<Note>,
}

/// Why nothing was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unread {
    /// All faults of all files, by file and line, at most [`MAX_FAULTS`].
    Faulty(Vec<Fault>),
    /// Whoever watched ended it.
    Stopped,
}

/// Reads a folder of the format, or single product files.
///
/// Single files take sweeps and currency from the catalogue that they stand in, if they stand in one. The dictionary says
/// which findings there are. `watch` is told before each product file how many were read, and of how many, and may end it
/// there.
///
/// # Errors
/// [`Unread`], with everything that is wrong.
pub fn read(
    paths: &[PathBuf],
    dictionary: &Dictionary,
    watch: &mut dyn FnMut((usize, usize)) -> ControlFlow<()>,
) -> Result<Folder, Unread> {
    let mut reading = Reading {
        dictionary,
        watch,
        faults: Faults::default(),
        dossiers: Vec::new(),
        files: HashMap::new(),
    };
    let read = match paths {
        [only] if only.is_dir() => reading.folder(only),
        _ => reading.files(paths).map_continue(|()| None),
    };
    let ControlFlow::Continue(info) = read else { return Err(Unread::Stopped) };
    let notes = reading.faults.finish().map_err(Unread::Faulty)?;
    reading.dossiers.sort_by(|a, b| a.product.key.cmp(&b.product.key));
    Ok(Folder { info, dossiers: reading.dossiers, notes })
}

/// The currency of prices that name none; `None` where the products are not to be read.
fn usual(catalogue: &Catalogue) -> Option<Usual> {
    match catalogue {
        Catalogue::Read(it) => Some(Usual::Is(it.currency)),
        Catalogue::Faulty => Some(Usual::Unreadable),
        Catalogue::Foreign => None,
    }
}

struct Reading<'a> {
    dictionary: &'a Dictionary,
    watch: &'a mut dyn FnMut((usize, usize)) -> ControlFlow<()>,
    faults: Faults,
    dossiers: Vec<Dossier>,
    /// The file that each product was found in.
    files: HashMap<ProductKey, String>,
}

impl Reading<'_> {
    fn folder(&mut self, dir: &Path) -> ControlFlow<(), Option<CatalogueInfo>> {
        let base = Base::new(dir);
        let catalogue = catalogue_file::read(&base, &mut self.faults);
        // Any folder may have a folder `products`; without a catalogue nothing says that this one is ours.
        let Some(currency) = usual(&catalogue) else { return ControlFlow::Continue(None) };
        let dictionary = self.dictionary;
        let around = Surroundings { base: &base, currency, is_in_catalogue: true, dictionary };
        let files = base.product_files(&mut self.faults);
        for (done, file) in files.iter().enumerate() {
            (self.watch)((done, files.len()))?;
            self.product(file, &around);
        }
        ControlFlow::Continue(match catalogue {
            Catalogue::Read(it) => Some(it),
            Catalogue::Faulty | Catalogue::Foreign => None,
        })
    }

    fn files(&mut self, paths: &[PathBuf]) -> ControlFlow<()> {
        if paths.is_empty() {
            let accepted = "a folder with catalogue.toml, or product files";
            self.faults.add("", None, "", Refusal::new("nothing is named to be read", accepted));
        }
        let mut currencies = HashMap::new();
        for (done, path) in paths.iter().enumerate() {
            (self.watch)((done, paths.len()))?;
            if path.is_dir() {
                let why = Refusal::new(
                    "is a folder beside other paths",
                    "one folder alone, or product files",
                );
                self.faults.add(&slashed(path), None, "", why);
                continue;
            }
            let (base, file) = match Base::of_file(path) {
                Ok(it) => it,
                Err(why) => {
                    let why = Refusal::new(
                        format!("cannot be reached: {}", why.kind()),
                        "a product file",
                    );
                    self.faults.add(&slashed(path), None, "", why);
                    continue;
                }
            };
            let is_in_catalogue = base.is_catalogue();
            let faults = &mut self.faults;
            let currency = *currencies.entry(base.clone()).or_insert_with(|| {
                if is_in_catalogue {
                    usual(&catalogue_file::read(&base, faults))
                } else {
                    Some(Usual::None)
                }
            });
            if let Some(currency) = currency {
                let dictionary = self.dictionary;
                let around = Surroundings { base: &base, currency, is_in_catalogue, dictionary };
                self.product(&file, &around);
            }
        }
        ControlFlow::Continue(())
    }

    fn product(&mut self, file: &str, around: &Surroundings<'_>) {
        let text = match around.base.read(file) {
            Ok(it) => it,
            Err(Unreadable::Path(message)) => {
                self.faults.add(file, None, "", Refusal::new(message, "a product file"));
                return;
            }
            Err(Unreadable::Content { line, why }) => {
                self.faults.add(file, line, "", why);
                return;
            }
        };
        let mut report = Report::new(file, &text, &mut self.faults);
        let Some(entries) = report.parse(&text) else { return };
        let Some(found) = product_file::read(&mut report, &Table::document(&entries), around)
        else {
            return;
        };
        let key = found.dossier.product.key.clone();
        if let Some(first) = self.files.get(&key) {
            let why = Refusal::new(
                format!("the product {key} stands in {first} too"),
                "each product in one file",
            );
            report.fault(found.at, "model", why);
            return;
        }
        self.files.insert(key, file.to_owned());
        self.dossiers.push(found.dossier);
    }
}

#[cfg(test)]
mod tests;
