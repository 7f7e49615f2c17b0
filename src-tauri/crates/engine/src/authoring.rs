//! `plugin new`: writes a complete small plugin, with the SDK beside it, into a folder of its own.
//!
//! It needs no catalogue. What is written is the example of `plugins/examples`, with the author's names in it.

mod template;
#[cfg(test)]
mod tests;

use std::{
    env,
    fs::{self, OpenOptions},
    io::{self, ErrorKind, Write},
    path::{Path, PathBuf},
};

use crate::{Error, dto::NewPlugin, plugins::OWN};
use template::{Lang, Names};

/// Longest name and longest domain: with the longest key of the example they stay under the longest id.
const LONGEST_NAME: usize = 24;
const LONGEST_DOMAIN: usize = 40;

/// What plugin to write, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPluginRequest {
    /// Its name, which is also the subsystem that it scores: a-z, 0-9 and `_`, at most 24, a letter first.
    pub name: String,
    /// The language: `rust` or `c`.
    pub lang: String,
    /// The author's reversed domain, at most 40 characters, such as `org.example`; with the name it is the plugin's id.
    pub domain: String,
    /// The folder to write into; one of the plugin's name in the current folder when absent.
    pub into: Option<PathBuf>,
}

/// Writes a plugin that builds, passes its tests and scores.
///
/// # Errors
/// When name, domain or language is not understood, when the folder holds anything, or when it cannot be written;
/// nothing is left behind then.
pub fn new_plugin(request: &NewPluginRequest) -> Result<NewPlugin, Error> {
    let lang = lang(&request.lang)?;
    let names = names(&request.name, &request.domain)?;
    let folder = request.into.clone().unwrap_or_else(|| PathBuf::from(&request.name));
    refuse_occupied(&folder)?;
    let files = template::files(lang, &names);
    Writer::default().write(&folder, &files)?;
    Ok(NewPlugin {
        folder: folder.display().to_string(),
        id: names.id(),
        subsystem: names.name.clone(),
        lang: lang.word().to_owned(),
        files: files.into_iter().map(|(path, _)| path).collect(),
        build: lang.build().iter().map(|it| (*it).to_owned()).collect(),
        library: format!(
            "{}{}{}{}",
            lang.output(),
            env::consts::DLL_PREFIX,
            names.name,
            env::consts::DLL_SUFFIX
        ),
    })
}

fn lang(text: &str) -> Result<Lang, Error> {
    Lang::ALL.into_iter().find(|it| it.word() == text).ok_or_else(|| Error::Request {
        place: "lang",
        text: text.to_owned(),
        why: "is no language that a plugin can be begun in".into(),
        accepted: Lang::ALL.map(Lang::word).join(", "),
    })
}

fn names(name: &str, domain: &str) -> Result<Names, Error> {
    let refuse = |place, text: &str, why: &str, accepted: String| {
        Err(Error::Request { place, text: text.to_owned(), why: why.to_owned(), accepted })
    };
    let is_word = |text: &str| {
        text.starts_with(|it: char| it.is_ascii_lowercase())
            && text.chars().all(|it| it.is_ascii_lowercase() || it.is_ascii_digit() || it == '_')
    };
    if !is_word(name) || LONGEST_NAME < name.len() {
        let accepted = format!("a-z, 0-9 and _, at most {LONGEST_NAME}, a letter first");
        return refuse("name", name, "is no name of a plugin", accepted);
    }
    if OWN.contains(&name) {
        let why = "is a subsystem that a plugin of this program scores";
        return refuse("name", name, why, "another name".to_owned());
    }
    let is_label = |it: &str| {
        it.starts_with(|it: char| it.is_ascii_lowercase())
            && it.chars().all(|it| it.is_ascii_lowercase() || it.is_ascii_digit() || it == '-')
    };
    if !domain.split('.').all(is_label) || LONGEST_DOMAIN < domain.len() {
        let accepted = format!(
            "words of a-z, 0-9 and - with dots between, such as org.example, at most {LONGEST_DOMAIN}"
        );
        return refuse("domain", domain, "is no reversed domain", accepted);
    }
    Ok(Names { name: name.to_owned(), domain: domain.to_owned() })
}

/// Only a folder that is empty, or a place where nothing is, is written to.
fn refuse_occupied(folder: &Path) -> Result<(), Error> {
    let occupied = |why: &str| {
        Err(Error::Occupied { path: folder.display().to_string(), why: why.to_owned() })
    };
    match fs::read_dir(folder).map(|mut it| it.next().is_none()) {
        Ok(true) => Ok(()),
        Ok(false) => occupied("holds files already"),
        Err(why) if why.kind() == ErrorKind::NotFound => Ok(()),
        Err(why) if why.kind() == ErrorKind::NotADirectory => occupied("is no folder"),
        Err(why) => Err(unwritable(folder, &why)),
    }
}

fn unwritable(path: &Path, why: &io::Error) -> Error {
    Error::Unwritable { path: path.display().to_string(), why: why.to_string() }
}

/// Writes files and takes them away again when one of them fails.
#[derive(Debug, Default)]
struct Writer {
    /// What was made, folders before what is in them.
    made: Vec<PathBuf>,
}

impl Writer {
    fn write(&mut self, folder: &Path, files: &[(String, String)]) -> Result<(), Error> {
        let written = self.folder(folder).and_then(|()| {
            files.iter().try_for_each(|(path, text)| self.file(&folder.join(path), text))
        });
        if written.is_err() {
            for path in self.made.iter().rev() {
                // What cannot be removed is no worse than the fault that is reported.
                let _ = fs::remove_file(path).or_else(|_| fs::remove_dir(path));
            }
        }
        written
    }

    fn folder(&mut self, folder: &Path) -> Result<(), Error> {
        if folder.as_os_str().is_empty() || folder.is_dir() {
            return Ok(());
        }
        if let Some(above) = folder.parent() {
            self.folder(above)?;
        }
        fs::create_dir(folder).map_err(|why| unwritable(folder, &why))?;
        self.made.push(folder.to_owned());
        Ok(())
    }

    fn file(&mut self, path: &Path, text: &str) -> Result<(), Error> {
        if let Some(above) = path.parent() {
            self.folder(above)?;
        }
        // Made anew or not at all: somebody may have put a file there meanwhile.
        let made = OpenOptions::new().write(true).create_new(true).open(path);
        let mut file = made.map_err(|why| unwritable(path, &why))?;
        self.made.push(path.to_owned());
        file.write_all(text.as_bytes()).map_err(|why| unwritable(path, &why))
    }
}
