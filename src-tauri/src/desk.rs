//! The catalogue that the window is open on.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
    sync::{
        Arc, Mutex, OnceLock, PoisonError,
        atomic::{AtomicU32, Ordering},
    },
};

use engine::{
    BandRequest, Code, Engine, EngineOptions, Error, ErrorDto,
    dto::{BandView, RankView},
};
use serde::Serialize;

use crate::{
    ahead::Ahead,
    recent::{Recent, StartBand},
};

/// Whether there is a catalogue to ask. The page has the same type by hand, as it is not of the engine.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct Status {
    /// `ready`, `absent` or `refused`.
    pub(crate) state: &'static str,
    /// The file.
    pub(crate) file: String,
    /// The version of the program.
    pub(crate) version: &'static str,
    /// The band to begin with.
    pub(crate) band: StartBand,
    /// Why the file was refused.
    pub(crate) fault: Option<ErrorDto>,
}

/// A file, and the engine on it once it could be opened.
#[derive(Debug)]
pub(crate) struct Desk {
    file: Mutex<PathBuf>,
    engine: Mutex<Option<Arc<Engine>>>,
    recent: Recent,
    /// How many bands were asked about.
    bands: AtomicU32,
    /// The answer to the first question.
    ahead: OnceLock<Ahead>,
    /// Work that was announced and is not done, and whether it is to end.
    works: Mutex<BTreeMap<u32, bool>>,
    /// How much work was announced.
    announced: AtomicU32,
}

impl Desk {
    /// A desk for `file`, which need not be there yet.
    pub(crate) fn new(file: PathBuf, recent: Recent) -> Self {
        let (file, engine) = (Mutex::new(file), Mutex::new(None));
        Desk {
            file,
            engine,
            recent,
            bands: AtomicU32::new(0),
            ahead: OnceLock::new(),
            works: Mutex::default(),
            announced: AtomicU32::new(0),
        }
    }

    /// Begins the first ranks before they are asked for.
    pub(crate) fn start(self: &Arc<Self>) {
        let desk = Arc::clone(self);
        let request = self.recent.band(&self.file()).request();
        self.ahead.get_or_init(|| Ahead::begin(request, move || desk.engine()));
    }

    /// The ranks of a band.
    pub(crate) fn ranks(&self, request: &BandRequest) -> Result<RankView, Error> {
        let engine = self.engine()?;
        match self.ahead.get().and_then(|it| it.ranks(request, &engine)) {
            Some(it) => Ok(it),
            None => engine.ranks_view(request),
        }
    }

    /// The standings of a band, which is remembered as the one to begin with.
    pub(crate) fn band(&self, request: &BandRequest) -> Result<BandView, Error> {
        let turn = self.bands.fetch_add(1, Ordering::SeqCst) + 1;
        let engine = self.engine()?;
        let view = engine.band_view(request)?;
        // Answers may overtake each other; what counts is what was asked last.
        if self.bands.load(Ordering::SeqCst) == turn {
            self.recent.asked(engine.catalogue(), StartBand::of(request));
        }
        Ok(view)
    }

    /// The file that the window is on.
    pub(crate) fn file(&self) -> PathBuf {
        self.file.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// The catalogues that were opened, the last one first.
    pub(crate) fn recent(&self) -> Vec<String> {
        self.recent.list().iter().map(|it| it.display().to_string()).collect()
    }

    /// Goes to another catalogue. The one that is open stays when the other cannot be.
    pub(crate) fn open(&self, file: &Path) -> Result<Status, Error> {
        let engine = Arc::new(Engine::open(options(file))?);
        {
            // Both at once, so that nobody meets the engine of one file under the name of another.
            let mut kept = self.engine.lock().unwrap_or_else(PoisonError::into_inner);
            file.clone_into(&mut self.file.lock().unwrap_or_else(PoisonError::into_inner));
            *kept = Some(engine);
        }
        self.recent.opened(file);
        Ok(self.status())
    }

    /// Makes a catalogue and goes to it.
    pub(crate) fn make(
        &self,
        file: &Path,
        create: impl FnOnce(&Path) -> Result<(), Error>,
    ) -> Result<Status, Error> {
        create(file)?;
        self.open(file)
    }

    /// A number for a piece of work, which can be ended by it from now on. No number is given twice, so that no other work is
    /// ended by one that comes late, whichever page it comes from.
    pub(crate) fn announce(&self) -> u32 {
        let number = self.announced.fetch_add(1, Ordering::Relaxed) + 1;
        self.works.lock().unwrap_or_else(PoisonError::into_inner).insert(number, false);
        number
    }

    /// Does a piece of work that was announced.
    pub(crate) fn work<T>(&self, number: u32, work: impl FnOnce() -> T) -> T {
        let done = work();
        self.works.lock().unwrap_or_else(PoisonError::into_inner).remove(&number);
        done
    }

    /// Ends a piece of work at its next step, and before its first when it has not begun; does nothing when it is done.
    pub(crate) fn cancel(&self, work: u32) {
        let mut works = self.works.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(is_to_end) = works.get_mut(&work) {
            *is_to_end = true;
        }
    }

    /// Whether a piece of work is to end.
    pub(crate) fn is_cancelled(&self, work: u32) -> bool {
        self.works.lock().unwrap_or_else(PoisonError::into_inner).get(&work) == Some(&true)
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
            file: self.file().display().to_string(),
            version: env!("CARGO_PKG_VERSION"),
            band: self.recent.band(&self.file()),
            fault,
        }
    }

    /// The engine, opened at first need and again when the file was away in between.
    pub(crate) fn engine(&self) -> Result<Arc<Engine>, Error> {
        let mut kept = self.engine.lock().unwrap_or_else(PoisonError::into_inner);
        // On Unix an open file outlives its name; what the user removed must not be shown any longer.
        let file = self.file();
        if !file.exists() {
            *kept = None;
        }
        if let Some(engine) = kept.as_ref() {
            return Ok(Arc::clone(engine));
        }
        let engine = Arc::new(Engine::open(options(&file))?);
        *kept = Some(Arc::clone(&engine));
        self.recent.opened(&file);
        Ok(engine)
    }
}

fn options(file: &Path) -> EngineOptions {
    EngineOptions {
        catalogue: file.to_owned(),
        require_sandbox: false,
        today: None,
        cache: engine::cache_folder(),
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
        let desk = Desk::new(file.clone(), Recent::in_folder(None));
        assert_eq!(desk.status().state, "absent");
        make(&file);
        assert_eq!(desk.status().state, "ready");
        fs::remove_file(&file).expect("removed");
        assert_eq!(desk.status().state, "absent");
    }

    #[test]
    fn another_catalogue_is_opened_and_a_bad_one_leaves_the_first() {
        let folder = Folder::new("another");
        let (one, other) = (folder.0.join("a.boxworth"), folder.0.join("b.boxworth"));
        make(&one);
        let desk = Desk::new(one.clone(), Recent::in_folder(Some(folder.0.clone())));
        assert!(desk.open(&other).is_err(), "there is no such file");
        assert_eq!(desk.status().file, one.display().to_string());
        let request =
            NewRequest { title: None, currency: "EUR".into(), base_month: "2026-05".into() };
        let status = desk.make(&other, |it| Engine::create(it, &request)).expect("made");
        assert_eq!((status.state, status.file), ("ready", other.display().to_string()));
        let names: Vec<_> = desk.recent().iter().map(|it| it.ends_with("b.boxworth")).collect();
        assert_eq!(names, [true, false]);
    }

    #[test]
    fn work_is_ended_by_its_number_from_its_announcement_to_its_end() {
        let desk = Desk::new("no/such/file.boxworth".into(), Recent::in_folder(None));
        let [early, amid, late, other] = [(); 4].map(|()| desk.announce());
        let ended = |number| desk.work(number, || desk.is_cancelled(number));
        desk.cancel(early);
        assert!(ended(early), "before the work has begun");
        let ended_amid = desk.work(amid, || {
            desk.cancel(amid);
            desk.is_cancelled(amid)
        });
        assert!(ended_amid, "while it lasts");
        assert!(!ended(late));
        desk.cancel(late);
        assert!(!ended(other), "each ends its own work");
        assert!(!ended(desk.announce()), "what came too late ends nothing");
        assert!(desk.works.lock().is_ok_and(|it| it.is_empty()), "nothing is kept of what is done");
    }

    #[test]
    fn a_foreign_file_is_refused_with_the_engines_sentence_and_left_as_it_is() {
        let folder = Folder::new("foreign");
        let file = folder.0.join("a.boxworth");
        fs::write(&file, "not a catalogue").expect("written");
        let status = Desk::new(file.clone(), Recent::in_folder(None)).status();
        assert_eq!(status.state, "refused");
        let fault = status.fault.expect("a fault");
        assert_eq!(fault.code, "foreign_file", "{fault:?}");
        assert!(!fault.message.is_empty());
        assert_eq!(fs::read_to_string(&file).expect("read"), "not a catalogue");
    }
}
