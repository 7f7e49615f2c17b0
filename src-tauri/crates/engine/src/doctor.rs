//! Is the catalogue sound, and can this installation score it?

use std::path::Path;

use catalog::{Repaired, backup, photo::files};
use domain::dossier::Dossier;

use crate::{
    Engine, Error,
    backup::aside,
    declared::Declarations,
    dto::{DoctorCheck, DoctorReport, RepairReport},
    error::count,
    photos,
};

impl Engine {
    /// Checks the file, its contents and the plugins.
    ///
    /// # Errors
    /// When the file cannot be read at all; what a check finds is in the answer.
    pub fn doctor(&self) -> Result<DoctorReport, Error> {
        let (faults, declarations, loaded, counts) = {
            let reader = self.reader();
            let declarations = Declarations::read(&reader)?;
            let loaded = reader.dossiers(&declarations.dictionary);
            (reader.integrity_faults()?, declarations, loaded, reader.finding_counts()?)
        };
        let mut pages = check("pages, indices and references", &faults, || "sound".into());
        if !pages.passed {
            pages.detail.push_str("; try `doctor --repair`, else go back to a copy with `restore`");
        }
        let mut checks = vec![pages];
        checks.extend(self.structure_checks()?);
        match &loaded {
            Ok(dossiers) => {
                let (ever, now) = counts;
                let detail = format!(
                    "{}, {now} findings hold, {} superseded",
                    count(dossiers.len(), "product"),
                    ever.saturating_sub(now)
                );
                checks.push(check("contents can be read", &[], || detail));
                checks.push(dictionary(dossiers, &declarations));
            }
            Err(why) => checks.push(check("contents can be read", &[why.to_string()], String::new)),
        }
        let info = self.reader().info()?;
        let terms = crate::pricing::Terms::of(&info, self.today());
        let faults: Vec<String> = terms.err().map(|it| it.to_string()).into_iter().collect();
        checks.push(check("currency and base month", &faults, || {
            format!("{}, {}", info.currency, info.base_month)
        }));
        checks.push(self.photo_check()?);
        checks.push(self.copy_check()?);
        checks.extend(self.plugin_checks()?);
        Ok(DoctorReport { healthy: checks.iter().all(|it| it.passed), checks })
    }

    /// Puts right what can be shown to be wrong without a guess: indices and triggers that their format names and that are
    /// gone or faulty, what a crash left unfinished, and files of photos that nothing names. The catalogue is kept as it
    /// was, byte for byte, before anything in it is touched.
    ///
    /// # Errors
    /// When the catalogue cannot be read or its folder cannot be written.
    pub fn repair(&self) -> Result<RepairReport, Error> {
        let Repaired { made, kept } = catalog::repair(self.catalogue(), &aside(self.catalogue()))?;
        let mut repaired: Vec<String> = made.iter().map(|it| format!("made anew: {it}")).collect();
        let gone = catalog::clear_unfinished(self.catalogue())?;
        repaired.extend(
            gone.iter().map(|it| format!("deleted {}, left by a copy that was cut off", name(it))),
        );
        // Which photos nothing names can only be said by a catalogue that can be read.
        if self.reader().integrity_faults()?.is_empty() {
            let named = self.reader().photo_files()?;
            let gone = files::clean(self.catalogue(), &named, false)?;
            repaired.extend(
                gone.iter().map(|it| format!("deleted {}, which belongs to no photo", name(it))),
            );
        }
        let kept = kept.map(|it| it.display().to_string());
        Ok(RepairReport { repaired, kept, after: self.doctor()? })
    }

    /// Whether all is there that the format and the history name, and editions are what they were.
    fn structure_checks(&self) -> Result<Vec<DoctorCheck>, Error> {
        let reader = self.reader();
        let gone = reader.missing_parts()?;
        let gone: Vec<String> = gone
            .iter()
            .map(|it| format!("{it} is gone; `doctor --repair` makes it anew"))
            .collect();
        let lost = reader.lost_rows()?;
        let changed = reader.changed_editions()?;
        let changed: Vec<String> = changed
            .iter()
            .map(|(number, file)| format!("{file} of edition {number} was changed"))
            .collect();
        let editions = reader.editions()?.len();
        Ok(vec![
            check("what guards the facts is there", &gone, || "all".into()),
            check("no fact is lost", &lost, || "numbers without gaps, history complete".into()),
            check("editions are as published", &changed, || count(editions, "edition")),
        ])
    }

    /// Whether each copy is a whole catalogue.
    fn copy_check(&self) -> Result<DoctorCheck, Error> {
        let copies = backup::copies(self.catalogue())?;
        let faults: Vec<String> = copies
            .iter()
            .filter_map(|it| {
                Some(format!("{}: {}", name(&it.path), backup::verify(&it.path).err()?))
            })
            .collect();
        let whole = match copies.len() {
            1 => "1 copy".to_owned(),
            n => format!("{n} copies"),
        };
        let left = backup::unfinished(self.catalogue()).len();
        Ok(check("copies are whole", &faults, || match left {
            0 => whole,
            _ => format!(
                "{whole}; {} left unfinished, harmless, cleared by the next copy or `doctor --repair`",
                count(left, "file")
            ),
        }))
    }

    /// Whether each photo has its file, and each file its photo.
    fn photo_check(&self) -> Result<DoctorCheck, Error> {
        let named = self.reader().photo_files()?;
        let found = files::audit(self.catalogue(), &named)?;
        let missing =
            found.missing.iter().map(|it| format!("the file of {} is missing", it.short()));
        let changed = found.changed.iter().map(|it| format!("{} was changed", name(it)));
        let orphans = found
            .orphans
            .iter()
            .map(|it| format!("{} belongs to no photo; `doctor --repair` deletes it", name(it)));
        let faults: Vec<String> = missing.chain(changed).chain(orphans).collect();
        Ok(check("photos and their files", &faults, || match found.files {
            0 => "none".into(),
            files => format!("{}, {}", count(files, "file"), photos::size(found.bytes)),
        }))
    }

    fn plugin_checks(&self) -> Result<Vec<DoctorCheck>, Error> {
        let rows = self.plugins()?.plugins;
        Ok(rows
            .into_iter()
            .map(|it| {
                let name = format!("plugin {}", it.subsystem.as_deref().unwrap_or(&it.file));
                let faults: Vec<String> = it.fault.into_iter().collect();
                let sandbox = it.sandbox.unwrap_or_default();
                let version = it.version.unwrap_or_default();
                check(&name, &faults, || format!("version {version}, sandbox {sandbox}"))
            })
            .collect())
    }
}

/// Whether each finding is one that somebody declares, so that an older file shows what it lost. What waits for its plugin
/// to be trusted is no fault.
fn dictionary(dossiers: &[Dossier], of: &Declarations) -> DoctorCheck {
    let all = dossiers.iter().flat_map(|it| it.findings().map(move |finding| (it, finding)));
    let (mut unread, mut waiting) = (of.faults.clone(), 0);
    for (product, it) in all {
        if of.waits(it) {
            waiting += 1;
        } else if let Some(why) = of.unread(it) {
            unread.push(format!("{}: {} {why}", product.product.key, it.address()));
        }
    }
    check("findings are those of the dictionary", &unread, || match waiting {
        0 => "all".into(),
        _ => format!(
            "all but {}, kept for plugins that are not trusted here",
            count(waiting, "finding")
        ),
    })
}

/// The name of a file without its folder.
fn name(it: impl AsRef<Path>) -> String {
    it.as_ref().file_name().unwrap_or_default().to_string_lossy().into_owned()
}

fn check(name: &str, faults: &[String], sound: impl FnOnce() -> String) -> DoctorCheck {
    /// So many faults are told one by one.
    const MOST: usize = 5;
    let detail = if faults.is_empty() {
        sound()
    } else {
        let mut text = faults.iter().take(MOST).cloned().collect::<Vec<_>>().join("; ");
        if faults.len() > MOST {
            text.push_str(&format!("; and {} more", faults.len() - MOST));
        }
        text
    };
    DoctorCheck { name: name.to_owned(), passed: faults.is_empty(), detail }
}
