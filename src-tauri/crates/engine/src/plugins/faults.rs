//! What plugins did wrong: written to the catalogue, read before anything is loaded, released by the user.

use std::path::{Path, PathBuf};

use catalog::{Catalog, PluginFault, Reader};
use host::{Counts, Fault, PluginFile, Sha256Sum, policy};

use super::{Candidate, Plugins, is_own};
use crate::{
    Engine, Error, clock,
    dto::{PluginFaultRow, PluginRow},
};

/// Begins the kind of a fault that puts a plugin in quarantine by itself.
const AT_LOAD: &str = "load_";

/// The faults in a catalogue.
#[derive(Debug)]
pub(super) struct Ledger {
    catalogue: PathBuf,
}

/// The faults of one file.
#[derive(Debug, Default)]
pub(super) struct Record {
    pub(super) faults: Vec<PluginFault>,
    /// From when on it is in quarantine.
    pub(super) quarantined_since: Option<String>,
}

impl Record {
    fn of(faults: Vec<PluginFault>) -> Record {
        let timed: Vec<(i64, bool)> = faults
            .iter()
            .filter_map(|it| Some((clock::second(&it.at)?, it.kind.starts_with(AT_LOAD))))
            .collect();
        let second = policy::quarantined_since(&timed);
        let since = faults.iter().find(|it| second.is_some() && clock::second(&it.at) == second);
        let quarantined_since = since.map(|it| to_the_second(&it.at));
        Record { faults, quarantined_since }
    }

    /// Why the file is not loaded, if it is in quarantine.
    pub(super) fn quarantine(&self, file: &Path) -> Option<String> {
        let since = self.quarantined_since.as_ref()?;
        let last = self.faults.last().map_or("", |it| it.detail.as_str());
        let count = match self.faults.len() {
            1 => "a fault".to_owned(),
            n => format!("{n} faults"),
        };
        Some(format!(
            "quarantined after {count}, the last: {last}; since {since}; lift it with `boxworth plugin release {}`",
            file.display()
        ))
    }
}

impl Ledger {
    pub(super) fn new(catalogue: PathBuf) -> Ledger {
        Ledger { catalogue }
    }

    pub(super) fn read(&self, sha256: &str) -> Result<Record, catalog::Error> {
        Ok(Record::of(Reader::open(&self.catalogue)?.plugin_faults(sha256)?))
    }

    /// Writes a fault down if it counts, and gives its text. Whoever tries out a file that nobody trusts leaves no trace.
    pub(super) fn record(&self, file: &PluginFile, fault: &Fault) -> String {
        let text = fault.text.clone();
        let Some(counts) = fault.counts else { return text };
        match self.write(file, counts, fault) {
            Ok(()) => text,
            Err(why) => format!("{text}; the fault could not be recorded: {why}"),
        }
    }

    fn write(
        &self,
        file: &PluginFile,
        counts: Counts,
        fault: &Fault,
    ) -> Result<(), catalog::Error> {
        let sha256 = file.sha256.to_string();
        let is_known =
            is_own(&file.sha256) || Reader::open(&self.catalogue)?.trusted_at(&sha256)?.is_some();
        if !is_known {
            return Ok(());
        }
        let kind = match counts {
            Counts::AtLoad => format!("{AT_LOAD}{}", fault.kind.word()),
            Counts::InCall => fault.kind.word().to_owned(),
        };
        let it = PluginFault { at: clock::now_exactly(), kind, detail: fault.text.clone() };
        Catalog::open(&self.catalogue)?.add_plugin_fault(&sha256, &it)
    }
}

/// The fields of a row that tell what the plugin did wrong.
pub(super) fn rows(record: Record) -> (Vec<PluginFaultRow>, Option<String>) {
    let row = |it: PluginFault| PluginFaultRow {
        at: to_the_second(&it.at),
        kind: it.kind,
        detail: it.detail,
    };
    (record.faults.into_iter().map(row).collect(), record.quarantined_since)
}

/// Nobody reads billionths of a second.
fn to_the_second(at: &str) -> String {
    at.split_once('.').map_or_else(|| at.to_owned(), |(second, _)| format!("{second}Z"))
}

impl Engine {
    /// Lifts the quarantine of a plugin, named by its file or its hash, and loads it.
    ///
    /// # Errors
    /// When it is in no quarantine, or the catalogue cannot be written.
    pub fn release_plugin(&self, hash_or_path: &str) -> Result<PluginRow, Error> {
        let refuse = |why: &str| Error::Plugin { file: hash_or_path.into(), why: why.into() };
        let full = Path::new(hash_or_path).canonicalize().ok();
        let trusted = self.reader().trusted_plugins()?;
        let named = |it: &Candidate| {
            it.sha256 == hash_or_path
                || it.file == Path::new(hash_or_path)
                || (full.is_some() && it.file.canonicalize().ok() == full)
        };
        let candidates = Plugins::candidates(&trusted);
        let known = candidates.iter().filter(|it| named(it));
        let mut none = refuse("is no plugin of this build and none that you trust");
        for it in known {
            if self.plugins.ledger.read(&it.sha256)?.quarantined_since.is_none() {
                none = refuse("is not in quarantine");
                continue;
            }
            self.writer()?.release_plugin(&it.sha256, &clock::now_exactly())?;
            if let (Ok(host), Ok(sha256)) = (self.plugins.host(), it.sha256.parse::<Sha256Sum>()) {
                host.release(sha256);
            }
            return Ok(self.plugin_row(it));
        }
        Err(none)
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use catalog::PluginFault;
    use host::{Counts, Fault, FaultKind, PluginFile, Sha256Sum};

    use super::{Ledger, Record};

    fn fault(kind: &str, at: &str) -> PluginFault {
        PluginFault { at: at.into(), kind: kind.into(), detail: "crashed".into() }
    }

    /// The scores are gone either way; what is new is said beside why.
    #[test]
    fn fault_that_cannot_be_recorded_is_told_with_its_text() {
        let ledger = Ledger::new("/no/such/folder/a.boxworth".into());
        let file = PluginFile { path: "/p/a.so".into(), sha256: Sha256Sum([1; 32]) };
        let fault = |counts| Fault {
            kind: FaultKind::Crash,
            plugin: "org.example.a".into(),
            text: "crashed".into(),
            counts,
        };
        let text = ledger.record(&file, &fault(Some(Counts::InCall)));
        assert!(text.starts_with("crashed; the fault could not be recorded: "), "{text}");
        assert_eq!(ledger.record(&file, &fault(None)), "crashed");
    }

    #[test]
    fn third_fault_within_ten_minutes_puts_a_plugin_in_quarantine() {
        let times = ["2026-06-01T10:00:00.000000000Z", "2026-06-01T10:05:00.000000000Z"];
        let mut faults: Vec<_> = times.iter().map(|at| fault("crash", at)).collect();
        assert_eq!(Record::of(faults.clone()).quarantine(Path::new("a.so")), None);
        for (at, since) in [
            ("2026-06-01T10:10:00.500000000Z", Some("2026-06-01T10:10:00Z")),
            ("2026-06-01T10:10:01.000000000Z", None),
        ] {
            faults.push(fault("timeout", at));
            assert_eq!(Record::of(faults.clone()).quarantined_since.as_deref(), since, "{at}");
            faults.pop();
        }
    }

    #[test]
    fn crash_at_load_is_enough_and_the_text_says_how_to_lift_it() {
        let record = Record::of(vec![fault("load_crash", "2026-06-01T10:00:00.000000000Z")]);
        let text = record.quarantine(Path::new("/p/a.so")).unwrap();
        let wanted = "quarantined after a fault, the last: crashed; since 2026-06-01T10:00:00Z; \
                      lift it with `boxworth plugin release /p/a.so`";
        assert_eq!(text, wanted);
    }
}
