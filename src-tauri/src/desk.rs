//! The catalogue that the window is open on.

use std::{
    path::PathBuf,
    sync::{Arc, Mutex, PoisonError},
};

use engine::{Code, Engine, EngineOptions, Error, ErrorDto};
use serde::Serialize;

/// Whether there is a catalogue to ask. The page has the same type by hand, as it is not of the engine.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct Status {
    /// `ready`, `absent` or `refused`.
    pub(crate) state: &'static str,
    /// The file.
    pub(crate) file: String,
    /// The version of the program.
    pub(crate) version: &'static str,
    /// Why the file was refused.
    pub(crate) fault: Option<ErrorDto>,
}

/// A file, and the engine on it once it could be opened.
#[derive(Debug)]
pub(crate) struct Desk {
    file: PathBuf,
    engine: Mutex<Option<Arc<Engine>>>,
}

impl Desk {
    /// A desk for `file`, which need not be there yet.
    pub(crate) fn new(file: PathBuf) -> Self {
        Desk { file, engine: Mutex::new(None) }
    }

    /// Whether the catalogue can be asked now. Cheap, as the page asks each time the window is returned to.
    pub(crate) fn status(&self) -> Status {
        let (state, fault) = match self.engine() {
            Ok(_) => ("ready", None),
            Err(why) if why.code() == Code::NoCatalogue => ("absent", None),
            Err(why) => ("refused", Some(first_fault(&why))),
        };
        Status {
            state,
            file: self.file.display().to_string(),
            version: env!("CARGO_PKG_VERSION"),
            fault,
        }
    }

    /// The engine, opened at first need and again when the file was away in between.
    pub(crate) fn engine(&self) -> Result<Arc<Engine>, Error> {
        let mut kept = self.engine.lock().unwrap_or_else(PoisonError::into_inner);
        // On Unix an open file outlives its name; what the user removed must not be shown any longer.
        if !self.file.exists() {
            *kept = None;
        }
        if let Some(engine) = kept.as_ref() {
            return Ok(Arc::clone(engine));
        }
        let options =
            EngineOptions { catalogue: self.file.clone(), require_sandbox: false, today: None };
        let engine = Arc::new(Engine::open(options)?);
        *kept = Some(Arc::clone(&engine));
        Ok(engine)
    }
}

/// The error as one object: no command of the window has several faults.
pub(crate) fn first_fault(why: &Error) -> ErrorDto {
    why.faults().into_iter().next().unwrap_or_else(|| ErrorDto {
        code: why.code().word().to_owned(),
        message: why.to_string(),
        r#where: String::new(),
        accepted: String::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use engine::NewRequest;
    use std::fs;

    struct Folder(PathBuf);

    impl Folder {
        fn new(name: &str) -> Self {
            let path =
                std::env::temp_dir().join(format!("boxworth-desk-{}-{name}", std::process::id()));
            fs::create_dir_all(&path).expect("a folder for the test");
            Folder(path)
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            // What cannot be removed is left to the system's own cleaning of temporary files.
            drop(fs::remove_dir_all(&self.0));
        }
    }

    fn make(file: &std::path::Path) {
        let request =
            NewRequest { title: None, currency: "USD".into(), base_month: "2026-06".into() };
        Engine::create(file, &request).expect("a new catalogue");
    }

    #[test]
    fn a_catalogue_is_found_when_it_comes_and_missed_when_it_goes() {
        let folder = Folder::new("comes-and-goes");
        let file = folder.0.join("a.boxworth");
        let desk = Desk::new(file.clone());
        assert_eq!(desk.status().state, "absent");
        make(&file);
        assert_eq!(desk.status().state, "ready");
        fs::remove_file(&file).expect("removed");
        assert_eq!(desk.status().state, "absent");
    }

    #[test]
    fn a_foreign_file_is_refused_with_the_engines_sentence_and_left_as_it_is() {
        let folder = Folder::new("foreign");
        let file = folder.0.join("a.boxworth");
        fs::write(&file, "not a catalogue").expect("written");
        let status = Desk::new(file.clone()).status();
        assert_eq!(status.state, "refused");
        let fault = status.fault.expect("a fault");
        assert_eq!(fault.code, "foreign_file", "{fault:?}");
        assert!(!fault.message.is_empty());
        assert_eq!(fs::read_to_string(&file).expect("read"), "not a catalogue");
    }
}
