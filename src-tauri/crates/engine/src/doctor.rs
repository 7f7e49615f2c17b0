//! Is the catalogue sound, and can this installation score it?

use std::path::PathBuf;

use catalog::photo::files;
use domain::dossier::Dossier;

use crate::{
    Engine, Error,
    declared::Declarations,
    dto::{DoctorCheck, DoctorReport},
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
        let mut checks = vec![check("pages, indices and references", &faults, || "sound".into())];
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
        checks.extend(self.plugin_checks()?);
        Ok(DoctorReport { healthy: checks.iter().all(|it| it.passed), checks })
    }

    /// Whether each photo has its file, and each file its photo.
    fn photo_check(&self) -> Result<DoctorCheck, Error> {
        let named = self.reader().photo_files()?;
        let found = files::audit(self.catalogue(), &named)?;
        let missing =
            found.missing.iter().map(|it| format!("the file of {} is missing", it.short()));
        let name = |it: &PathBuf| it.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let changed = found.changed.iter().map(|it| format!("{} was changed", name(it)));
        let orphans = found
            .orphans
            .iter()
            .map(|it| format!("{} belongs to no photo; `photo clean` deletes it", name(it)));
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
