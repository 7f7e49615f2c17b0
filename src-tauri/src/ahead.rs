//! The first ranks, made before they are asked for.
//!
//! The web view takes longer to start than a band takes to rank. What the page will ask first is known: the ranks of the band
//! that was asked about last. So they are begun with the process, on a thread of their own. The rest of the answer waits
//! until they are painted, since it would take the processor from the web view.

use std::{
    sync::{
        Arc, Mutex, PoisonError,
        mpsc::{Receiver, channel},
    },
    thread,
};

use engine::{BandRequest, Engine, Error, Moment, ProductsRequest, dto::RankView};

/// Ranks under way.
#[derive(Debug)]
pub(crate) struct Ahead {
    request: BandRequest,
    /// The ranks, with what they are ranks of; given once.
    coming: Mutex<Option<Receiver<(Moment, RankView)>>>,
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
            drop(ranks.send((moment, engine.ranks_view(&asked)?)));
            Ok(())
        };
        // Without a thread the ranks are made when they are asked for.
        drop(thread::Builder::new().name("ahead".into()).spawn(work));
        Ahead { request, coming: Mutex::new(Some(coming)) }
    }

    /// The ranks, if they are what is asked for and still hold.
    pub(crate) fn ranks(&self, request: &BandRequest, engine: &Engine) -> Option<RankView> {
        let coming = self.coming.lock().unwrap_or_else(PoisonError::into_inner).take()?;
        if self.request != *request {
            return None;
        }
        // Nothing comes when something went wrong.
        let (moment, ranks) = coming.recv().ok()?;
        (engine.moment().ok()? == moment).then_some(ranks)
    }
}
