//! Is the catalogue sound, and can this installation score it?

use crate::{
    Engine, Error,
    dto::{DoctorCheck, DoctorReport},
    error::count,
};

impl Engine {
    /// Checks the file, its contents and the plugins.
    ///
    /// # Errors
    /// When the file cannot be read at all; what a check finds is in the answer.
    pub fn doctor(&self) -> Result<DoctorReport, Error> {
        let (faults, loaded, counts) = {
            let reader = self.reader();
            (reader.integrity_faults()?, reader.dossiers(), reader.finding_counts()?)
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
                checks.push(dictionary(dossiers));
            }
            Err(why) => checks.push(check("contents can be read", &[why.to_string()], String::new)),
        }
        let info = self.reader().info()?;
        let terms = crate::pricing::Terms::of(&info, self.today());
        let faults: Vec<String> = terms.err().map(|it| it.to_string()).into_iter().collect();
        checks.push(check("currency and base month", &faults, || {
            format!("{}, {}", info.currency, info.base_month)
        }));
        checks.extend(self.plugin_checks()?);
        Ok(DoctorReport { healthy: checks.iter().all(|it| it.passed), checks })
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

/// Whether each finding is still one of the dictionary, so that an older file shows what it lost.
fn dictionary(dossiers: &[domain::dossier::Dossier]) -> DoctorCheck {
    let unknown: Vec<String> = dossiers
        .iter()
        .flat_map(|it| it.findings().map(move |finding| (it, finding)))
        .filter(|(_, it)| domain::dictionary::find(it.part.role, &it.key).is_none())
        .map(|(of, it)| format!("{}: {} is not in the dictionary", of.product.key, it.address()))
        .collect();
    check("findings are those of the dictionary", &unknown, || "all".into())
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
