//! The first ranks, made before they are asked for.
//!
//! The web view takes longer to start than a band takes to rank. What the page will ask first is known: the ranks of the band
//! that was asked about last. So they are begun with the process, on a thread of their own. The rest of the answer waits
//! until they are painted, since it would take the processor from the web view.

use std::{
    sync::{
        Arc, Mutex, PoisonError, Weak,
        mpsc::{Receiver, channel},
    },
    thread,
};

use engine::{BandRequest, Engine, Error, Moment, ProductsRequest, dto::RankView};

/// Ranks, with the catalogue that they are of and its state.
type Made = (Weak<Engine>, Moment, RankView);

/// Ranks under way.
#[derive(Debug)]
pub(crate) struct Ahead {
    request: BandRequest,
    /// Given once.
    coming: Mutex<Option<Receiver<Made>>>,
}

impl Ahead {
    /// Begins the ranks. `engine` opens the catalogue. What goes wrong is left to the question itself.
    pub(crate) fn begin(
        request: BandRequest,
        engine: impl FnOnce() -> Result<Arc<Engine>, Error> + Send + 'static,
    ) -> Self {
        let (ranks, coming) = channel();
        let asked = request.clone();
        let work = move || -> Result<(), Error> {
            let engine = engine()?;
            let moment = engine.moment()?;
            // The list is asked for before; the engine keeps it.
            engine.products(&ProductsRequest::default())?;
            // Nobody may be waiting any longer.
            drop(ranks.send((Arc::downgrade(&engine), moment, engine.ranks_view(&asked)?)));
            Ok(())
        };
        // Without a thread the ranks are made when they are asked for.
        drop(thread::Builder::new().name("ahead".into()).spawn(work));
        Ahead { request, coming: Mutex::new(Some(coming)) }
    }

    /// The ranks, if they are what is asked for, of the catalogue that is open, and still hold.
    pub(crate) fn ranks(&self, request: &BandRequest, engine: &Arc<Engine>) -> Option<RankView> {
        let coming = self.coming.lock().unwrap_or_else(PoisonError::into_inner).take()?;
        if self.request != *request {
            return None;
        }
        // Nothing comes when something went wrong.
        let (of, moment, ranks) = coming.recv().ok()?;
        // States of two catalogues may look alike.
        let is_open = Weak::ptr_eq(&of, &Arc::downgrade(engine));
        (is_open && engine.moment().ok()? == moment).then_some(ranks)
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use engine::{EngineOptions, NewRequest};

    use super::*;

    fn engine(file: &Path) -> Arc<Engine> {
        let request =
            NewRequest { title: None, currency: "USD".into(), base_month: "2026-06".into() };
        Engine::create(file, &request).expect("a new catalogue");
        let catalogue = file.to_owned();
        let options = EngineOptions { catalogue, require_sandbox: false, today: None, cache: None };
        Arc::new(Engine::open(options).expect("opened"))
    }

    #[test]
    fn ranks_are_given_once_and_for_their_own_catalogue_and_question_alone() {
        let folder = std::env::temp_dir().join(format!("boxworth-ahead-{}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("a folder for the test");
        let [one, other] = ["a", "b"].map(|it| engine(&folder.join(it).with_extension("boxworth")));
        let asked = BandRequest { low: Some(200.0), ..BandRequest::default() };
        let begin = || {
            let one = Arc::clone(&one);
            Ahead::begin(asked.clone(), move || Ok(one))
        };
        let ahead = begin();
        assert!(ahead.ranks(&asked, &one).is_some(), "what was begun");
        assert!(ahead.ranks(&asked, &one).is_none(), "it was given already");
        assert!(begin().ranks(&asked, &other).is_none(), "another catalogue in the same state");
        assert!(begin().ranks(&BandRequest::default(), &one).is_none(), "another question");
        let failed = Ahead::begin(asked.clone(), || Err(Error::Internal("invented".into())));
        assert!(failed.ranks(&asked, &one).is_none(), "nothing to give");
        // What cannot be removed is left to the system's own cleaning of temporary files.
        drop(std::fs::remove_dir_all(&folder));
    }
}
