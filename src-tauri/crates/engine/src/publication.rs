//! Publications: a report of a band in all formats, frozen under a number, and what changed since the one before.
//!
//! What is guaranteed: an edition is given out again as the bytes that were published, by any later program, since the
//! bytes themselves are kept, with their hashes. Beside them lies what they were made of: the catalogue as it was in the
//! exchange format, the request with weights, seed and definition, the results, and in these the hashes of the plugins and
//! the rubric. [`Engine::check_edition`] computes the edition anew from that and says what comes out otherwise and why.

mod changes;
mod definition;
mod files;
mod folder;
mod frozen;
mod guide;
mod method;
mod pictures;
mod tables;

use std::{
    fs,
    ops::RangeInclusive,
    path::{Path, PathBuf},
    sync::Arc,
};

use catalog::{Exchange, durable, unwatched};
use domain::{dictionary::Kind, part::Part};
use serde::{Deserialize, Serialize};

pub use definition::{Definition, Disclosure};

use crate::{
    BandRequest, Engine, Error, Watch,
    claims::{PrintedClaim, PutDown},
    cores::on_all_cores,
    dto::{
        BandReport, BandView, ChangesDto, ColumnChoice, EditionList, EditionRow, Publication,
        PublicationPreview, PublishedFile, Remark,
    },
    pricing::Terms,
    progress::Stages,
    scope::Beyond,
    scoring::Scored,
    sheet,
};
use files::Made;

/// What to publish.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct PublishRequest {
    /// The band, the weights and the draws.
    pub band: BandRequest,
    /// What the publication shall hold; when absent, what the last edition of the band held, or what most guides hold.
    pub definition: Option<Definition>,
    /// The folder to write to; nothing is written when absent.
    #[cfg_attr(feature = "types", ts(type = "string | null"))]
    pub to: Option<PathBuf>,
    /// The formats to write; all when there are none. All are kept whatever is written.
    pub formats: Vec<String>,
    /// Whether files of other content that stand in the folder may be replaced.
    pub replace: bool,
    /// Whether this is only to be looked at: nothing is kept, and every page says that it is a draft.
    pub draft: bool,
}

/// Which edition to give out again.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct ReproduceRequest {
    /// Its number.
    pub edition: u32,
    /// The folder to write to; nothing is written when absent.
    #[cfg_attr(feature = "types", ts(type = "string | null"))]
    pub to: Option<PathBuf>,
    /// The formats to write; all when there are none.
    pub formats: Vec<String>,
    /// Whether files of other content that stand in the folder may be replaced.
    pub replace: bool,
}

/// The text of a definition file, to be read.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct DefinitionRequest {
    /// The text, TOML.
    pub text: String,
}

/// What an edition was asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Frozen {
    band: BandRequest,
    definition: Definition,
    claims: Vec<PutDown>,
    /// What the result says of products that are not kept with it; only of a large catalogue.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    beyond: Option<Beyond>,
}

/// What came out, as an edition keeps it.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Results<'a> {
    band: &'a BandReport,
    claims: &'a [PrintedClaim],
}

/// The formats of a publication.
#[must_use]
pub fn formats() -> [&'static str; 9] {
    files::FORMATS
}

// Hundredths of the work, about as a guide of some dozen products with a few claims takes them.
const READ: RangeInclusive<usize> = 0..=2;
const RANKED: RangeInclusive<usize> = 2..=45;
const JUDGED: RangeInclusive<usize> = 45..=65;
const COMPARED: RangeInclusive<usize> = 65..=70;
const LAID_OUT: RangeInclusive<usize> = 70..=75;
const MADE: RangeInclusive<usize> = 75..=95;
const KEPT: RangeInclusive<usize> = 95..=98;
const WRITTEN: RangeInclusive<usize> = 98..=100;

/// What a publication is made of, before it has a number.
struct Basis {
    frozen: Frozen,
    view: BandView,
    claims: Vec<PrintedClaim>,
    scored: Arc<Scored>,
    terms: Terms,
    /// The catalogue as it was.
    exchange: Exchange,
}

impl Engine {
    /// What a publication rests on now, with the claims that stand.
    fn basis(&self, request: &PublishRequest, stages: &mut Stages<'_>) -> Result<Basis, Error> {
        stages.reach(&READ, (0, 1), "what is recorded")?;
        let definition = match &request.definition {
            Some(it) => it.clone(),
            None => self.continued(&request.band)?,
        };
        let claims = if definition.claims { self.claims_about(&request.band)? } else { Vec::new() };
        // The number of cores changes no number.
        let band = BandRequest { threads: None, ..request.band.clone() };
        let beyond = if self.is_large()? { self.placed(&band)?.scope.beyond() } else { None };
        self.basis_of(Frozen { band, definition, claims, beyond }, request.band.threads, stages)
    }

    fn basis_of(
        &self,
        frozen: Frozen,
        threads: Option<u32>,
        stages: &mut Stages<'_>,
    ) -> Result<Basis, Error> {
        let exchange = self.exchange(self.frozen_products(&frozen)?.as_ref())?;
        stages.reach(&RANKED, (0, 1), "the standings")?;
        let view = self.band_view(&BandRequest { threads, ..frozen.band.clone() })?;
        let info = self.reader().info()?;
        let (_, scored) = self.asked(&frozen.band)?;
        let claims = self.printed_claims(&frozen.claims, &mut |(at, of)| {
            stages.reach(&JUDGED, (at, of), format!("claim {} of {of}", at + 1))
        })?;
        let terms = Terms::of(&info, self.today())?;
        Ok(Basis { frozen, view, claims, scored, terms, exchange })
    }

    /// A publication as a page, with what it could hold.
    ///
    /// # Errors
    /// When the request or the definition is not understood or the catalogue cannot be read.
    pub fn preview_publication(
        &self,
        request: &PublishRequest,
    ) -> Result<PublicationPreview, Error> {
        let basis = self.basis(request, &mut Stages::of(&mut unwatched))?;
        let changes = self.changes_since(&basis)?;
        let report = basis.report(None, changes.as_ref())?;
        Ok(PublicationPreview {
            html: export::to_html(&report),
            definition: basis.frozen.definition.clone(),
            definition_text: basis.frozen.definition.text()?,
            changes,
            formats: files::FORMATS.map(str::to_owned).into(),
            columns: columns(&basis.scored),
            products: ranked(&basis.view.report),
            remarks: remarks(&report),
        })
    }

    /// The definition that a text gives, as the command line reads it from a file.
    ///
    /// # Errors
    /// When the text is not understood, with the place in it.
    pub fn read_definition(&self, request: &DefinitionRequest) -> Result<Definition, Error> {
        Definition::parse(&request.text, "the text")
    }

    /// Publishes: freezes data, prices, weights, rubric, plugin hashes, seed, results and files under the next number, and
    /// writes the files that are asked for. When the last edition of the same band and title says the same, that one is
    /// given out again.
    ///
    /// `watch` is told of each stage and each file, and may end the work until the edition is kept, or until the first file of
    /// what needs no keeping is written.
    ///
    /// # Errors
    /// When something is not understood, a file of other content stands in the folder, or it was ended; nothing is kept and
    /// no file is written then.
    pub fn publish(
        &self,
        request: &PublishRequest,
        watch: &mut Watch<'_>,
    ) -> Result<Publication, Error> {
        let mut stages = Stages::of(watch);
        let chosen = chosen(&request.formats)?;
        let basis = self.basis(request, &mut stages)?;
        stages.reach(&COMPARED, (0, 1), "the edition before")?;
        let kept = if request.draft { None } else { self.same_edition(&basis)? };
        let (edition, is_new, title, made, changes, remarks) = if let Some(number) = kept {
            let (title, made) = self.kept_files(number)?;
            let since = self.changes_of(number)?;
            (Some(number), false, title, made, since, Vec::new())
        } else {
            let changes = self.changes_since(&basis)?;
            let number = if request.draft { None } else { Some(self.next_edition()?) };
            stages.reach(&LAID_OUT, (0, 1), "the pages")?;
            let report = basis.report(number, changes.as_ref())?;
            let made =
                files::files(&report, &basis.view.report, changes.as_ref(), &mut |at, name| {
                    stages.reach(&MADE, at, name)
                })?;
            let remarks = remarks(&report);
            (number, number.is_some(), report.title, made, changes, remarks)
        };
        let written: Vec<&Made> = made.iter().filter(|it| chosen(&it.name)).collect();
        let folder =
            request.to.as_deref().map(|to| folder::Folder::ready(to, &written, request.replace));
        let folder = folder.transpose()?;
        stages.reach(&KEPT, (0, 1), if is_new { "the edition" } else { "the folder" })?;
        if let (Some(number), true) = (edition, is_new) {
            self.freeze(number, &title, &basis, &made, &mut stages)?;
        }
        if let Some(folder) = &folder {
            folder.write(&written, &mut |at, name| stages.pass(&WRITTEN, at, name))?;
        }
        Ok(Publication {
            edition,
            is_new,
            title,
            folder: request.to.as_ref().map(|it| it.display().to_string()),
            files: written.into_iter().map(published).collect(),
            changes,
            remarks,
        })
    }

    /// Writes the files of an edition as they were published.
    ///
    /// # Errors
    /// When there is no such edition, its bytes are damaged, or the folder holds files of other content.
    pub fn reproduce(&self, request: &ReproduceRequest) -> Result<Publication, Error> {
        let number = request.edition;
        let chosen = chosen(&request.formats)?;
        let (title, made) = self.kept_files(number)?;
        let changes = self.changes_of(number)?;
        let written: Vec<&Made> = made.iter().filter(|it| chosen(&it.name)).collect();
        if let Some(to) = &request.to {
            folder::Folder::ready(to, &written, request.replace)?
                .write(&written, &mut |_, _| {})?;
        }
        Ok(Publication {
            edition: Some(number),
            is_new: false,
            title,
            folder: request.to.as_ref().map(|it| it.display().to_string()),
            files: written.into_iter().map(published).collect(),
            changes,
            remarks: Vec::new(),
        })
    }

    /// All editions, newest first.
    ///
    /// # Errors
    /// When the catalogue cannot be read.
    pub fn editions(&self) -> Result<EditionList, Error> {
        let reader = self.reader();
        let mut editions = Vec::new();
        for head in reader.editions()?.into_iter().rev() {
            let files = reader.edition_file_list(head.number)?;
            editions.push(EditionRow {
                number: head.number,
                title: head.title,
                band: head.series.split(' ').next().unwrap_or_default().to_owned(),
                as_of: head.as_of,
                made_at: head.made_at,
                files: files
                    .into_iter()
                    .map(|(name, sha256, bytes)| PublishedFile {
                        format: files::format_of(&name).into(),
                        bytes,
                        name,
                        sha256,
                    })
                    .collect(),
            });
        }
        Ok(EditionList { editions })
    }

    /// Writes the catalogue as one JSON text to a new file, and gives the number of products: what currently holds, and all
    /// changes of the rubric. An export is a copy to rely on: it is whole or not there, and takes no other file's place.
    ///
    /// # Errors
    /// When the catalogue cannot be read, or the file exists or cannot be written.
    pub fn export(&self, to: &Path) -> Result<usize, Error> {
        let it = self.exchange(None)?;
        durable::appear(to, |part| {
            let failed = |source| catalog::Error::Io { path: to.to_owned(), source };
            fs::write(part, it.text()).map_err(failed)
        })?;
        Ok(it.dossiers.len())
    }
}

impl Basis {
    fn report(
        &self,
        edition: Option<u32>,
        changes: Option<&ChangesDto>,
    ) -> Result<export::Report, Error> {
        let definition = &self.frozen.definition;
        let sheets = if definition.sheets { self.sheets()? } else { Vec::new() };
        let blocks = changes.map(changes::blocks).unwrap_or_default();
        guide::guide(self, &sheets, edition, blocks)
    }

    /// The sheets of the ranked products, in their order.
    fn sheets(&self) -> Result<Vec<crate::dto::ProductSheet>, Error> {
        let find = |key: &str| {
            self.scored.products.iter().find(|it| it.dossier.product.key.as_str() == key)
        };
        let products: Vec<_> =
            self.view.report.standings.iter().filter_map(|it| find(&it.product)).collect();
        on_all_cores(products, |it| {
            sheet::sheet(&self.scored, it, &self.terms, Some(&self.view.report.weights))
        })
        .into_iter()
        .collect()
    }
}

fn published(it: &Made) -> PublishedFile {
    PublishedFile {
        name: it.name.clone(),
        format: files::format_of(&it.name).into(),
        bytes: u32::try_from(it.content.len()).unwrap_or(u32::MAX),
        sha256: files::hash(&it.content),
    }
}

/// Whether a file is among the chosen formats.
fn chosen(formats: &[String]) -> Result<impl Fn(&str) -> bool + '_, Error> {
    if let Some(bad) = formats.iter().find(|it| !files::FORMATS.contains(&it.as_str())) {
        return Err(Error::Request {
            place: "format",
            text: bad.clone(),
            why: "is no format".into(),
            accepted: files::FORMATS.join(", "),
        });
    }
    Ok(move |name: &str| {
        let of = files::format_of(name);
        // Markdown shows its charts from files beside it.
        formats.is_empty() || formats.iter().any(|it| it == of || (it == "md" && of == "svg"))
    })
}

fn remarks(report: &export::Report) -> Vec<Remark> {
    let one = |it: export::Unwritable| Remark {
        source: "boxworth".into(),
        code: "no_glyph".into(),
        severity: "caution".into(),
        text: format!(
            "PDF and PNG show a replacement for {:?} (U+{:04X}) in {:?}: their typeface has no such character",
            it.character,
            u32::from(it.character),
            export::literal_line(&it.text)
        ),
    };
    export::unwritable(report).into_iter().map(one).collect()
}

/// The products that a comparison may show, in the order of the standings.
fn ranked(report: &BandReport) -> Vec<ColumnChoice> {
    let one = |it: &crate::dto::Standing| ColumnChoice {
        id: it.product.clone(),
        label: format!("{} {}", it.maker, it.model),
    };
    report.standings.iter().map(one).collect()
}

/// All columns that a comparison may have.
fn columns(scored: &Scored) -> Vec<ColumnChoice> {
    let choice = |id: &str, label: &str| ColumnChoice {
        id: id.to_owned(),
        label: crate::text::title(label),
    };
    let mut list: Vec<ColumnChoice> = [
        ("price", "price as asked"),
        ("price_date", "date of the price"),
        ("kind", "kind"),
        ("year", "year"),
        ("index", "index"),
        ("value", "value points"),
        ("coverage", "share known"),
    ]
    .map(|(id, label)| choice(id, label))
    .into();
    list.extend(scored.subsystems.iter().map(|it| choice(it, &format!("{it}, score"))));
    let dictionary = &scored.declarations.dictionary;
    for entry in dictionary.entries() {
        if matches!(entry.kind, Kind::Text) {
            continue;
        }
        for role in entry.roles {
            let id = format!("{}.{}", Part::first(*role), entry.key);
            list.push(choice(&id, &crate::naming::named(dictionary, &id)));
        }
    }
    if let Some(it) = scored.products.first() {
        list.extend(it.quantities().iter().map(|it| choice(it.spec.id, it.spec.label)));
    }
    list
}
