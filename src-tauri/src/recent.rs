//! The catalogues that were opened, the last one first.

use std::{
    fs,
    path::{Path, PathBuf},
};

/// How many are kept.
const KEPT: usize = 8;

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
        let text = self.0.as_ref().and_then(|it| fs::read_to_string(it).ok()).unwrap_or_default();
        let all: Vec<PathBuf> = serde_json::from_str(&text).unwrap_or_default();
        all.into_iter().filter(|it| it.is_file()).collect()
    }

    /// Puts a file first.
    pub(crate) fn opened(&self, file: &Path) {
        let Some(at) = &self.0 else { return };
        // A path as typed may mean another file from another folder.
        let Ok(file) = file.canonicalize() else { return };
        let mut all = self.list();
        if all.first() == Some(&file) {
            return;
        }
        all.retain(|it| *it != file);
        all.insert(0, file);
        all.truncate(KEPT);
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
        // What cannot be removed is left to the system's own cleaning of temporary files.
        drop(fs::remove_dir_all(&folder));
    }
}
