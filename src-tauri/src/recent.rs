//! The catalogues that were opened, the last one first, each with the band that was asked about last.

use std::{
    fs,
    path::{Path, PathBuf},
};

use engine::BandRequest;
use serde::{Deserialize, Serialize};

/// How many are kept.
const KEPT: usize = 8;

/// A price band to begin with. The page has the same type by hand, as it is not of the engine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct StartBand {
    /// Lowest real price of a pair, in whole units; open when absent.
    low: Option<f64>,
    /// The price below which the band ends; open when absent.
    high: Option<f64>,
    /// Only this kind of product.
    kind: Option<String>,
}

impl Default for StartBand {
    /// Where budget pairs are, by common practice, no source.
    fn default() -> Self {
        StartBand { low: Some(200.0), high: Some(500.0), kind: None }
    }
}

impl StartBand {
    /// The band of a question.
    pub(crate) fn of(request: &BandRequest) -> Self {
        StartBand { low: request.low, high: request.high, kind: request.kind.clone() }
    }

    /// The question about it that the page asks first: with the catalogue's own weights.
    pub(crate) fn request(&self) -> BandRequest {
        let Self { low, high, kind } = self.clone();
        BandRequest { low, high, kind, ..BandRequest::default() }
    }
}

/// One catalogue of the list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Entry {
    file: PathBuf,
    band: Option<StartBand>,
}

/// The list, in a file of its own. What cannot be read counts as empty: it is a convenience and no record.
#[derive(Debug, Clone)]
pub(crate) struct Recent(Option<PathBuf>);

impl Recent {
    /// The list in this folder; without one nothing is kept.
    pub(crate) fn in_folder(folder: Option<PathBuf>) -> Self {
        Recent(folder.map(|it| it.join("recent.json")))
    }

    /// Those that are still there.
    pub(crate) fn list(&self) -> Vec<PathBuf> {
        self.read().into_iter().map(|it| it.file).collect()
    }

    /// The band that was asked about last in a catalogue, or the usual one.
    pub(crate) fn band(&self, file: &Path) -> StartBand {
        let file = file.canonicalize().unwrap_or_default();
        self.read()
            .into_iter()
            .find(|it| it.file == file)
            .and_then(|it| it.band)
            .unwrap_or_default()
    }

    /// Puts a file first.
    pub(crate) fn opened(&self, file: &Path) {
        self.put(file, None);
    }

    /// Puts a file first, with the band that was asked about.
    pub(crate) fn asked(&self, file: &Path, band: StartBand) {
        self.put(file, Some(band));
    }

    fn read(&self) -> Vec<Entry> {
        let text = self.0.as_ref().and_then(|it| fs::read_to_string(it).ok()).unwrap_or_default();
        let all: Vec<Entry> = serde_json::from_str(&text).unwrap_or_default();
        all.into_iter().filter(|it| it.file.is_file()).collect()
    }

    fn put(&self, file: &Path, band: Option<StartBand>) {
        let Some(at) = &self.0 else { return };
        // A path as typed may mean another file from another folder.
        let Ok(file) = file.canonicalize() else { return };
        let before = self.read();
        let known = before.iter().find(|it| it.file == file);
        let band = band.or_else(|| known?.band.clone());
        let others = before.iter().filter(|it| it.file != file).take(KEPT - 1).cloned();
        let all: Vec<Entry> =
            std::iter::once(Entry { file: file.clone(), band }).chain(others).collect();
        if all == before {
            return;
        }
        let kept = serde_json::to_string_pretty(&all).map_err(std::io::Error::from);
        let folder = at.parent().map_or(Ok(()), fs::create_dir_all);
        if let Err(why) = folder.and(kept).and_then(|text| fs::write(at, text)) {
            crate::complain(&format!("{} cannot be written: {why}", at.display()));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_opened_comes_first_and_what_is_gone_is_left_out() {
        let folder = std::env::temp_dir().join(format!("boxworth-recent-{}", std::process::id()));
        fs::create_dir_all(&folder).expect("a folder for the test");
        let recent = Recent::in_folder(Some(folder.join("new")));
        let files = ["a", "b", "c"].map(|it| folder.join(it));
        for it in &files {
            fs::write(it, "").expect("written");
            recent.opened(it);
        }
        recent.opened(&files[0]);
        fs::remove_file(&files[2]).expect("removed");
        let names: Vec<_> =
            recent.list().iter().filter_map(|it| it.file_name().map(ToOwned::to_owned)).collect();
        assert_eq!(names, ["a", "b"]);
        assert_eq!(Recent::in_folder(None).list(), Vec::<PathBuf>::new());
        // A band belongs to its catalogue and stays when that is opened again.
        let band = StartBand { low: None, high: Some(150.0), kind: Some("bookshelf".into()) };
        recent.asked(&files[1], band.clone());
        recent.opened(&files[0]);
        recent.opened(&files[1]);
        assert_eq!(recent.band(&files[1]), band);
        assert_eq!(recent.band(&files[0]), StartBand::default());
        assert_eq!(StartBand::of(&band.request()), band);
        // What cannot be removed is left to the system's own cleaning of temporary files.
        drop(fs::remove_dir_all(&folder));
    }
}
