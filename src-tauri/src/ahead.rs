//! The first answer, made before it is asked for.
//!
//! The web view takes longer to start than a band takes to rank. What the page will ask first is known: the band that was
//! asked about last. So the answer is begun with the process, on a thread of its own.

use std::{
    sync::Arc,
    thread::{self, JoinHandle},
};

use engine::{BandRequest, Engine, Error, Moment, ProductsRequest, dto::BandView};

/// An answer under way.
#[derive(Debug)]
pub(crate) struct Ahead {
    request: BandRequest,
    answer: JoinHandle<Result<(Moment, BandView), Error>>,
}

impl Ahead {
    /// Begins an answer. `engine` opens the catalogue.
    pub(crate) fn begin(
        request: BandRequest,
        engine: impl FnOnce() -> Result<Arc<Engine>, Error> + Send + 'static,
    ) -> Option<Self> {
        let asked = request.clone();
        let work = move || {
            let engine = engine()?;
            let moment = engine.moment()?;
            // The list is asked for first; the engine keeps it.
            engine.products(&ProductsRequest::default())?;
            Ok((moment, engine.band_view(&asked)?))
        };
        // Without a thread the answer is made when it is asked for.
        let answer = thread::Builder::new().name("ahead".into()).spawn(work).ok()?;
        Some(Ahead { request, answer })
    }

    /// The answer, if it is one to this question and still holds. What went wrong is left to the question itself.
    pub(crate) fn take(self, request: &BandRequest, engine: &Engine) -> Option<BandView> {
        if self.request != *request {
            return None;
        }
        let (moment, view) = self.answer.join().ok()?.ok()?;
        (engine.moment().ok()? == moment).then_some(view)
    }
}
