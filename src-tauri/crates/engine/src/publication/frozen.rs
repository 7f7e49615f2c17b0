//! Freezing an edition, finding the one before, and computing one anew from what it was made of.

use std::collections::{BTreeMap, BTreeSet};

use catalog::{Catalog, Edition, EditionFile, EditionHead, Exchange, unwatched};
use domain::{dictionary::Dictionary, key::ProductKey};
use serde::Serialize;
use serde_json::Value;

use super::{
    Basis, Definition, Frozen, Results,
    changes::{Sides, changes},
    files::{self, Made},
};
use crate::{
    BandRequest, Engine, EngineOptions, Error, HistoryRequest, clock,
    declared::Declarations,
    dto::{BandReport, ChangesDto, EditionCheck},
    progress::Stages,
};

/// What an edition belongs to. Editions of other bands, kinds or titles are other publications.
fn series(band: &BandRequest, definition: &Definition) -> String {
    format!("{}{}", series_of(band), definition.title.trim())
}

/// How the series of a band begin, whatever their titles.
fn series_of(band: &BandRequest) -> String {
    let edge = |it: Option<f64>| it.map(|it| it.to_string()).unwrap_or_default();
    let kind = band.kind.as_deref().unwrap_or("any");
    format!("{}..{} {kind} ", edge(band.low), edge(band.high))
}

fn json<T: Serialize>(it: &T) -> Result<String, Error> {
    serde_json::to_string(it).map_err(|why| Error::Internal(why.to_string()))
}

impl Basis {
    fn series(&self) -> String {
        series(&self.frozen.band, &self.frozen.definition)
    }

    fn results(&self) -> Result<String, Error> {
        json(&Results { band: &self.view.report, claims: &self.claims })
    }
}

fn damaged(number: u32, what: &str, why: impl ToString) -> Error {
    Error::Internal(format!("edition {number}: {what}: {}", why.to_string()))
}

fn read_exchange(number: u32, text: &str, dictionary: &Dictionary) -> Result<Exchange, Error> {
    Exchange::read(text, dictionary).map_err(|why| damaged(number, "what it was made of", why))
}

impl Engine {
    /// What the catalogue holds of some products, or of all.
    pub(super) fn exchange(&self, of: Option<&BTreeSet<ProductKey>>) -> Result<Exchange, Error> {
        let reader = self.reader();
        let declarations = Declarations::read(&reader)?;
        let dictionary = &declarations.dictionary;
        let mut dossiers = match of {
            Some(of) => reader.dossiers_of(of, dictionary)?,
            None => reader.dossiers(dictionary)?,
        };
        dossiers.sort_by(|a, b| a.product.key.cmp(&b.product.key));
        Ok(Exchange { info: reader.info()?, dossiers, rubric: reader.rubric_changes()? })
    }

    /// The products that a publication rests on, where the catalogue is too large to be kept with it: those whom the band and
    /// the claims are about, and those that the last edition printed. `None` for all.
    pub(super) fn frozen_products(
        &self,
        frozen: &Frozen,
    ) -> Result<Option<BTreeSet<ProductKey>>, Error> {
        if !self.is_large()? {
            return Ok(None);
        }
        let mut keys = self.members_of(&frozen.band)?;
        for it in &frozen.claims {
            keys.extend(self.members_of_claim(&it.statement)?);
        }
        if let Some(last) = self.before(&series(&frozen.band, &frozen.definition), None)? {
            let printed: Value = serde_json::from_str(&last.results)
                .map_err(|why| damaged(last.head.number, "its results", why))?;
            let rows = ["standings", "not_ranked"].map(|it| &printed["band"][it]);
            let rows = rows.into_iter().filter_map(Value::as_array).flatten();
            let known = rows.filter_map(|it| it["product"].as_str());
            keys.extend(known.filter_map(|it| ProductKey::parse(it).ok()));
        }
        Ok(Some(keys))
    }

    pub(super) fn next_edition(&self) -> Result<u32, Error> {
        Ok(self.reader().editions()?.last().map_or(1, |it| it.number + 1))
    }

    fn wanted(&self, number: u32) -> Result<Edition, Error> {
        let reader = self.reader();
        let found = reader.edition(number)?;
        found.ok_or_else(|| {
            let known = reader.editions().map(|it| it.len()).unwrap_or(0);
            Error::Request {
                place: "edition",
                text: number.to_string(),
                why: "is not there".into(),
                accepted: match known {
                    0 => "a published edition; there is none yet".into(),
                    n => format!("1 to {n}"),
                },
            }
        })
    }

    /// The newest edition of a series before a number, or of all.
    fn before(&self, series: &str, number: Option<u32>) -> Result<Option<Edition>, Error> {
        let reader = self.reader();
        let heads = reader.editions()?;
        let last = heads
            .iter()
            .rev()
            .find(|it| it.series == series && number.is_none_or(|number| it.number < number));
        match last {
            Some(it) => Ok(reader.edition(it.number)?),
            None => Ok(None),
        }
    }

    /// What the last edition of a band held, so that a guide goes on under its title unless somebody changes it. Columns and
    /// products that are no longer to be had are left out.
    pub(super) fn continued(&self, band: &BandRequest) -> Result<Definition, Error> {
        let begins = series_of(band);
        let heads = self.reader().editions()?;
        let Some(last) = heads.iter().rev().find(|it| it.series.starts_with(&begins)) else {
            return Ok(Definition::default());
        };
        let edition = self.wanted(last.number)?;
        let frozen: Frozen = serde_json::from_str(&edition.request)
            .map_err(|why| damaged(last.number, "its request", why))?;
        let mut definition = frozen.definition;
        let columns = super::columns(&self.asked(band)?.1);
        definition.columns.retain(|it| columns.iter().any(|of| of.id == *it));
        if definition.columns.is_empty() {
            definition.columns = Definition::default().columns;
        }
        let products = super::ranked(&self.band_view(band)?.report);
        definition.products.retain(|it| products.iter().any(|of| of.id == *it));
        Ok(definition)
    }

    /// The last edition of the series, if it says the same.
    pub(super) fn same_edition(&self, basis: &Basis) -> Result<Option<u32>, Error> {
        let Some(last) = self.before(&basis.series(), None)? else { return Ok(None) };
        let is_same = last.head.as_of == basis.view.report.as_of
            && last.request == json(&basis.frozen)?
            && last.results == basis.results()?
            && last.inputs == basis.exchange.text();
        Ok(is_same.then_some(last.head.number))
    }

    /// What changed since the last edition of the series; `None` when there is none.
    pub(super) fn changes_since(&self, basis: &Basis) -> Result<Option<ChangesDto>, Error> {
        let Some(last) = self.before(&basis.series(), None)? else { return Ok(None) };
        Ok(Some(self.compared(&last, basis, &clock::now())?))
    }

    fn compared(&self, last: &Edition, basis: &Basis, until: &str) -> Result<ChangesDto, Error> {
        let after = &basis.exchange;
        let number = last.head.number;
        let dictionary = &basis.scored.declarations.dictionary;
        let before = read_exchange(number, &last.inputs, dictionary)?;
        let results_before: Value = serde_json::from_str(&last.results)
            .map_err(|why| damaged(number, "its results", why))?;
        let reasons = self.reasons(&before, after, &last.head.made_at, until)?;
        let sides = Sides {
            before: &before,
            after,
            results_before: &results_before,
            results_after: &basis.view.report,
            claims_after: &basis.claims,
            reasons: &reasons,
            dictionary,
        };
        Ok(changes(number, &sides))
    }

    /// Why findings were corrected between two times, by product and address; the newest reason holds.
    fn reasons(
        &self,
        before: &Exchange,
        after: &Exchange,
        from: &str,
        until: &str,
    ) -> Result<BTreeMap<(String, String), String>, Error> {
        let mut reasons = BTreeMap::new();
        for now in &after.dossiers {
            let then = before.dossiers.iter().find(|it| it.product.key == now.product.key);
            if then.is_none_or(|it| it == now) {
                continue;
            }
            let key = now.product.key.to_string();
            let history = self.history(&HistoryRequest { product: key.clone(), finding: None })?;
            // Oldest first: a later reason takes the place of an earlier one, and one that was not given leaves none.
            for action in history.actions.iter().rev() {
                let within = action.at.as_str() >= from && action.at.as_str() <= until;
                for it in action.changes.iter().filter(|_| within) {
                    let place = (key.clone(), it.what.clone());
                    if action.reason.trim().is_empty() {
                        reasons.remove(&place);
                    } else {
                        reasons.insert(place, action.reason.clone());
                    }
                }
            }
        }
        Ok(reasons)
    }

    /// What an edition printed as changed since the one before, computed from what is kept of both.
    pub(super) fn changes_of(&self, number: u32) -> Result<Option<ChangesDto>, Error> {
        let it = self.wanted(number)?;
        let Some(file) =
            self.reader().edition_files(number)?.into_iter().find(|it| it.name == files::CHANGES)
        else {
            return Ok(None);
        };
        serde_json::from_slice(&file.content)
            .map_err(|why| damaged(it.head.number, "its changes", why))
    }

    /// Title and files of an edition, with bytes that have the hash they were published with.
    pub(super) fn kept_files(&self, number: u32) -> Result<(String, Vec<Made>), Error> {
        let it = self.wanted(number)?;
        let files = self.reader().edition_files(number)?;
        if let Some(bad) = files.iter().find(|it| files::hash(&it.content) != it.sha256) {
            return Err(damaged(number, &bad.name, "its bytes are not those that were published"));
        }
        let made = files.into_iter().map(|it| Made { name: it.name, content: it.content });
        Ok((it.head.title, made.collect()))
    }

    pub(super) fn freeze(
        &self,
        number: u32,
        title: &str,
        basis: &Basis,
        made: &[Made],
        stages: &mut Stages<'_>,
    ) -> Result<(), Error> {
        let edition = Edition {
            head: EditionHead {
                number,
                made_at: clock::now(),
                as_of: basis.view.report.as_of.clone(),
                title: title.to_owned(),
                series: basis.series(),
            },
            request: json(&basis.frozen)?,
            inputs: basis.exchange.text(),
            results: basis.results()?,
        };
        let files: Vec<EditionFile> = made
            .iter()
            .map(|it| EditionFile {
                name: it.name.clone(),
                sha256: files::hash(&it.content),
                content: it.content.clone(),
            })
            .collect();
        // What was frozen and what was computed from it must be one state of the file. The copy of the day, which a writer makes
        // first, takes the longest, so that it comes before the comparison.
        let mut writer = self.writer()?;
        if self.exchange(self.frozen_products(&basis.frozen)?.as_ref())? != basis.exchange {
            return Err(Error::request(
                "publish",
                title,
                "was not kept: the catalogue changed while it was computed",
                "publishing it again",
            ));
        }
        stages.reach(&super::KEPT, (1, 2), "the edition")?;
        Ok(writer.publish(&edition, &files)?)
    }

    /// Computes an edition anew from what it was made of, in a catalogue of its own, and holds the files against those that
    /// were published. Of the plugins that are trusted here those take part whose hash is that of then; the program's own
    /// take part as they are now, and one that is another file since is named.
    ///
    /// # Errors
    /// When there is no such edition or it cannot be computed at all.
    pub fn check_edition(&self, number: u32) -> Result<EditionCheck, Error> {
        let edition = self.wanted(number)?;
        let kept = self.reader().edition_files(number)?;
        let is_whole = kept.iter().all(|it| files::hash(&it.content) == it.sha256);
        let declarations = Declarations::read(&self.reader())?;
        let frozen: Frozen = serde_json::from_str(&edition.request)
            .map_err(|why| damaged(number, "its request", why))?;
        let inputs = read_exchange(number, &edition.inputs, &declarations.dictionary)?;
        let folder = tempfile::tempdir().map_err(|why| damaged(number, "a folder", why))?;
        let file = folder.path().join("edition.boxworth");
        let mut catalogue = Catalog::create(&file, &inputs.info)?;
        catalogue.import_exchange(&inputs, &edition.head.made_at, false, &mut unwatched)?;
        self.hand_over_trust(&mut catalogue, &hashes(&edition.results))?;
        drop(catalogue);
        let again = Engine::open(EngineOptions {
            catalogue: file,
            require_sandbox: self.options.require_sandbox,
            today: Some(
                edition
                    .head
                    .as_of
                    .parse()
                    .map_err(|why: jiff::Error| damaged(number, "its day", why))?,
            ),
            // An edition is computed from what was frozen alone.
            cache: None,
        })?;
        let again = again.beyond(frozen.beyond);
        let basis = again.basis_of(frozen, None, &mut Stages::of(&mut unwatched))?;
        let before = self.before(&edition.head.series, Some(number))?;
        let changes = match before {
            Some(last) => Some(self.compared(&last, &basis, &edition.head.made_at)?),
            None => None,
        };
        let report = basis.report(Some(number), changes.as_ref())?;
        let made = files::files(&report, &basis.view.report, changes.as_ref(), &mut |_, _| Ok(()))?;
        let mut differences = plugins_differ(&edition.results, &basis.view.report);
        for it in &made {
            match kept.iter().find(|kept| kept.name == it.name) {
                Some(kept) if kept.content == it.content => {}
                Some(_) => differences.push(format!("{} comes out otherwise", it.name)),
                None => differences.push(format!("{} was not published then", it.name)),
            }
        }
        for it in &kept {
            if !made.iter().any(|made| made.name == it.name) {
                differences.push(format!("{} does not come out now", it.name));
            }
        }
        Ok(EditionCheck { number, is_whole, is_same: differences.is_empty(), differences })
    }

    fn hand_over_trust(
        &self,
        to: &mut Catalog,
        then: &BTreeMap<String, String>,
    ) -> Result<(), Error> {
        let (trusted, manifests) = {
            let reader = self.reader();
            (reader.trusted_plugins()?, reader.plugin_manifests()?)
        };
        for it in trusted.into_iter().filter(|it| then.values().any(|hash| *hash == it.sha256)) {
            if let Some(of) = manifests.iter().find(|of| of.sha256 == it.sha256) {
                to.trust_plugin(&it, &of.manifest, &[], &clock::now())?;
            }
        }
        Ok(())
    }
}

/// The plugins that took part in an edition: hashes by id.
fn hashes(results: &str) -> BTreeMap<String, String> {
    let then: Value = serde_json::from_str(results).unwrap_or_default();
    let list = then["band"]["plugins"].as_array().into_iter().flatten();
    list.filter_map(|it| Some((it["id"].as_str()?.to_owned(), it["sha256"].as_str()?.to_owned())))
        .collect()
}

fn plugins_differ(results: &str, now: &BandReport) -> Vec<String> {
    let hashes = hashes(results);
    let mut list = Vec::new();
    for (id, hash) in &hashes {
        match now.plugins.iter().find(|it| it.id == **id) {
            None => list.push(format!("the plugin {id} is not there")),
            Some(it) if it.sha256 != *hash => list.push(format!("the plugin {id} is another file")),
            Some(_) => {}
        }
    }
    let more = now.plugins.iter().filter(|it| !hashes.contains_key(it.id.as_str()));
    list.extend(more.map(|it| format!("the plugin {} took no part then", it.id)));
    list
}
