//! The one surface that the command line and the window share: a function for each thing a person does.
//!
//! A request goes in, an answer of [`dto`] comes out, or an [`Error`] whose sentence can be shown as it is.
//! Neither caller sees SQL, processes or formulas.
#![forbid(unsafe_code)]

mod add;
mod answerable;
mod authoring;
mod backup;
mod band;
mod bands;
mod bench;
mod chart;
mod claims;
mod clock;
mod compare;
mod conformance;
mod cores;
mod cross;
mod declared;
mod doctor;
mod drawn;
pub mod dto;
mod error;
mod history;
mod import;
mod inputs;
mod job;
mod naming;
mod network;
mod next;
mod normal;
mod paths;
mod photos;
#[cfg(test)]
mod plans;
mod plugins;
mod prices;
mod pricing;
mod products;
mod progress;
mod publication;
mod ranks;
mod record;
mod rubric;
mod schematic;
mod scope;
mod scoring;
mod search;
mod seed;
mod shares;
mod sheet;
mod stability;
mod sweep;
pub mod text;
mod typed;
mod view;
mod weights;
mod what_if;

use std::{
    collections::HashSet,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

/// Watches no work and ends none.
pub use catalog::unwatched;
use catalog::{Catalog, Info, KnownPages, Reader};
/// Every calculation, callable alone; needs no catalogue.
pub use compute;
pub use domain::Date;
use domain::{dictionary::Dictionary, key::ProductKey};

pub use add::{AddProductRequest, AddSpecimenRequest, AddTeardownRequest};
pub use authoring::{NewPluginRequest, new_plugin};
pub use backup::{copies, restore};
pub use band::{BandRequest, parse_band};
pub use bands::BandsRequest;
pub use bench::{BenchReadRequest, BenchRequest, BenchSaveRequest};
pub use claims::{ClaimAddRequest, ClaimRequest, ClaimWithdrawRequest, DraftRequest, claim_help};
pub use clock::today;
pub use compare::CompareRequest;
pub use conformance::{CheckRequest, check_plugin};
pub use error::{Code, Error, ErrorDto};
pub use history::HistoryRequest;
pub use import::ImportRequest;
pub use network::NetworkRequest;
pub use paths::{cache_folder, default_catalogue, settings_folder};
pub use photos::{PhotoAddRequest, PhotoEditRequest, PhotoRequest, PhotosRequest};
pub use prices::{PriceRequest, PriceWithdrawal};
pub use products::{NotesRequest, ProductsRequest};
pub use progress::{Progress, Watch};
pub use publication::{
    Definition, DefinitionRequest, Disclosure, PublishRequest, ReproduceRequest, formats,
};
pub use record::RecordRequest;
pub use rubric::RubricRequest;
pub use sheet::ShowRequest;
pub use sweep::SweepRequest;
pub use what_if::WhatIfRequest;

use declared::Declarations;
use plugins::Plugins;
use scoring::Scored;

/// How to open an engine.
#[derive(Debug, Clone)]
pub struct EngineOptions {
    /// The catalogue file.
    pub catalogue: PathBuf,
    /// Refuse to score where the sandbox is not complete.
    pub require_sandbox: bool,
    /// The day for which prices are taken; today when absent.
    pub today: Option<Date>,
    /// The folder where draws of findings are kept for the next start; none are kept when absent.
    pub cache: Option<PathBuf>,
}

/// What a new catalogue says about itself.
#[derive(Debug, Clone)]
pub struct NewRequest {
    /// A title; the file's name when absent.
    pub title: Option<String>,
    /// The currency, such as `USD`.
    pub currency: String,
    /// The month whose money real prices are in, `YYYY-MM`.
    pub base_month: String,
}

/// Rows of all products.
#[derive(Debug, Clone)]
struct Listed {
    /// The state of the file, and the day.
    of: (i64, Date),
    /// Whether findings were counted.
    counted: bool,
    rows: Arc<Vec<dto::ProductRow>>,
}

/// Scores, and what they are of.
#[derive(Debug, Clone)]
struct KeptScores {
    /// The state of the file.
    version: i64,
    /// The products that were asked for; `None` for all.
    of: Option<Arc<HashSet<ProductKey>>>,
    scored: Arc<Scored>,
}

impl KeptScores {
    fn holds(&self, keys: Option<&[&ProductKey]>) -> bool {
        match (&self.of, keys) {
            (None, _) => true,
            (Some(of), Some(keys)) => keys.iter().all(|it| of.contains(it)),
            (Some(_), None) => false,
        }
    }
}

/// An open catalogue with what it takes to score it.
#[derive(Debug)]
pub struct Engine {
    options: EngineOptions,
    reader: Mutex<Reader>,
    plugins: Plugins,
    /// The last scores.
    scored: Mutex<Option<KeptScores>>,
    /// The last prices of all products.
    priced: Mutex<Option<scope::Priceds>>,
    /// What is known of products that this file lacks; of an edition that is computed again.
    beyond: Option<scope::Beyond>,
    /// The last list of products.
    listed: Mutex<Option<Listed>>,
    /// What is written about the products of a state of the file.
    written: Mutex<Option<(i64, Arc<search::Concordance>)>>,
    /// The last draws of findings.
    drawn: Mutex<Option<band::Kept>>,
    /// The last scores, and those of their hard findings alone.
    hard: Mutex<Option<(Arc<Scored>, Arc<Scored>)>>,
    /// The last draws of hard findings alone.
    drawn_hard: Mutex<Option<band::Kept>>,
    /// The draws of the last start.
    store: Option<drawn::Store>,
    /// What is known of the file's pages.
    pages: KnownPages,
    /// What findings are worth at the bench.
    worth: Mutex<Option<Arc<bench::Worth>>>,
}

impl Engine {
    /// Makes a new, empty catalogue.
    ///
    /// # Errors
    /// When the file exists, cannot be written, or the month or currency is not understood.
    pub fn create(path: &Path, request: &NewRequest) -> Result<(), Error> {
        pricing::base_month(&request.base_month)?;
        pricing::currency(&request.currency)?;
        paths::make_data_folder(path);
        let stem = path.file_stem().map(|it| it.to_string_lossy().into_owned()).unwrap_or_default();
        let title = request.title.clone().unwrap_or(stem);
        Catalog::create(
            path,
            &Info {
                title,
                currency: request.currency.clone(),
                base_month: request.base_month.clone(),
                note: String::new(),
            },
        )?;
        Ok(())
    }

    /// Opens a catalogue.
    ///
    /// # Errors
    /// When there is no such file, or it is foreign, newer or damaged; the file is then untouched.
    pub fn open(options: EngineOptions) -> Result<Self, Error> {
        let reader = match Reader::open(&options.catalogue) {
            // An older file is brought to the current format once, then read.
            Err(catalog::Error::Older { .. }) => {
                drop(Catalog::open(&options.catalogue)?);
                Reader::open(&options.catalogue)?
            }
            other => other?,
        };
        let plugins = Plugins::new(options.require_sandbox, options.catalogue.clone());
        let store = options.cache.as_ref().map(|it| drawn::Store::new(it, &options.catalogue));
        Ok(Engine {
            options,
            store,
            reader: Mutex::new(reader),
            plugins,
            scored: Mutex::new(None),
            priced: Mutex::new(None),
            beyond: None,
            listed: Mutex::new(None),
            written: Mutex::new(None),
            drawn: Mutex::new(None),
            hard: Mutex::new(None),
            drawn_hard: Mutex::new(None),
            pages: KnownPages::default(),
            worth: Mutex::new(None),
        })
    }

    /// The catalogue file.
    #[must_use]
    pub fn catalogue(&self) -> &Path {
        &self.options.catalogue
    }

    /// What answers depend on: the same as long as nobody has changed the file and it is the same day.
    ///
    /// # Errors
    /// When the catalogue cannot be read.
    pub fn moment(&self) -> Result<Moment, Error> {
        Ok(Moment { version: self.reader().data_version()?, today: self.today() })
    }

    fn today(&self) -> Date {
        self.options.today.unwrap_or_else(clock::today)
    }

    /// Currency, base month and day of questions about prices.
    fn terms(&self) -> Result<pricing::Terms, Error> {
        pricing::Terms::of(&self.reader().info()?, self.today())
    }

    fn reader(&self) -> MutexGuard<'_, Reader> {
        // A panic while reading leaves a connection that still reads.
        self.reader.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The scores of some products, or of all. When the file has changed, the products that changed are computed anew. `keep`
    /// puts them in the place of the last ones.
    fn scored_among(&self, keys: Option<&[&ProductKey]>, keep: bool) -> Result<Arc<Scored>, Error> {
        let earlier;
        let (version, declarations, members, trusted, history) = {
            let reader = self.reader();
            let version = reader.data_version()?;
            let kept = self.scored.lock().unwrap_or_else(PoisonError::into_inner).clone();
            match kept {
                Some(it) if it.version == version && it.holds(keys) => return Ok(it.scored),
                other => earlier = other.map(|it| it.scored),
            }
            let declarations = Declarations::read(&reader)?;
            let members = match keys {
                None => reader.keys()?,
                Some(keys) => {
                    let mut members: Vec<ProductKey> =
                        keys.iter().map(|it| (*it).clone()).collect();
                    members.sort_unstable();
                    members.dedup();
                    members
                }
            };
            let trusted = reader.trusted_plugins()?;
            (version, Arc::new(declarations), members, trusted, reader.rubric_changes()?)
        };
        let changes = rubric::Changes::of(history);
        let last = scoring::Last::of(earlier.as_deref());
        // Who has read a share of the products also computes their quantities.
        let examined = self.read_at_once(&shares::parts(&members), |reader, some| {
            let dossiers = reader.dossiers_of(*some, &declarations.dictionary)?;
            Ok(dossiers.into_iter().map(|it| last.examined(it)).collect::<Vec<_>>())
        })?;
        let examined = examined.into_iter().flatten().collect();
        let scored = scoring::score(examined, &self.plugins, &trusted, &changes, declarations);
        let scored = Arc::new(scored);
        // A plugin that failed is tried again at the next question.
        if keep && scored.is_complete() {
            let of = keys.map(|keys| Arc::new(keys.iter().map(|it| (*it).clone()).collect()));
            *self.scored.lock().unwrap_or_else(PoisonError::into_inner) =
                Some(KeptScores { version, of, scored: Arc::clone(&scored) });
        }
        Ok(scored)
    }

    /// Whether some scores are those that are kept.
    fn is_kept(&self, scored: &Arc<Scored>) -> bool {
        let kept = self.scored.lock().unwrap_or_else(PoisonError::into_inner);
        kept.as_ref().is_some_and(|it| Arc::ptr_eq(&it.scored, scored))
    }

    /// The JSON Schema of a product file with the findings of the plugins that this catalogue trusts.
    ///
    /// # Errors
    /// When the catalogue cannot be read.
    pub fn product_schema(&self) -> Result<String, Error> {
        Ok(schema_text(&Declarations::read(&self.reader())?.dictionary))
    }
}

/// A state of a catalogue on a day, as one open engine sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    version: i64,
    today: Date,
}

/// The JSON Schema of a product file with the standard findings.
#[must_use]
pub fn product_schema() -> String {
    schema_text(&Dictionary::standard())
}

fn schema_text(dictionary: &Dictionary) -> String {
    let mut text = format!("{:#}", catalog::plain::product_schema(dictionary));
    text.push('\n');
    text
}
