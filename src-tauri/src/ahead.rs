//! The first answers, made before they are asked for.
//!
//! The web view takes longer to start than a band takes to rank. What the page will ask first is known: the band that was
//! asked about last, its ranks and then all of it. So the answers are begun with the process, on a thread of their own.

use std::{
    sync::{
        Arc, Mutex, PoisonError,
        mpsc::{Receiver, channel},
    },
    thread,
};

use engine::{
    BandRequest, Engine, Error, Moment, ProductsRequest,
    dto::{BandView, RankView},
};

/// Answers under way to one question.
#[derive(Debug)]
pub(crate) struct Ahead {
    request: BandRequest,
    ranks: Coming<RankView>,
    band: Coming<BandView>,
}

/// An answer that will be there, with what it is an answer of; given once.
type Coming<T> = Mutex<Option<Receiver<(Moment, T)>>>;

impl Ahead {
    /// Begins the answers. `engine` opens the catalogue. What goes wrong is left to the questions themselves.
    pub(crate) fn begin(
        request: BandRequest,
        engine: impl FnOnce() -> Result<Arc<Engine>, Error> + Send + 'static,
    ) -> Self {
        let ((ranks, ranks_come), (band, band_comes)) = (channel(), channel());
        let asked = request.clone();
        let work = move || -> Result<(), Error> {
            let engine = engine()?;
            let moment = engine.moment()?;
            // The list is asked for before both; the engine keeps it.
            engine.products(&ProductsRequest::default())?;
            // Nobody may be waiting any longer.
            drop(ranks.send((moment, engine.ranks_view(&asked)?)));
            drop(ranks);
            drop(band.send((moment, engine.band_view(&asked)?)));
            Ok(())
        };
        // Without a thread the answers are made when they are asked for.
        drop(thread::Builder::new().name("ahead".into()).spawn(work));
        Ahead { request, ranks: Mutex::new(Some(ranks_come)), band: Mutex::new(Some(band_comes)) }
    }

    /// The ranks, if they are what is asked for and still hold.
    pub(crate) fn ranks(&self, request: &BandRequest, engine: &Engine) -> Option<RankView> {
        self.answer(&self.ranks, request, engine)
    }

    /// The whole answer, if it is what is asked for and still holds.
    pub(crate) fn band(&self, request: &BandRequest, engine: &Engine) -> Option<BandView> {
        self.answer(&self.band, request, engine)
    }

    fn answer<T>(&self, coming: &Coming<T>, request: &BandRequest, engine: &Engine) -> Option<T> {
        let answer = coming.lock().unwrap_or_else(PoisonError::into_inner).take()?;
        if self.request != *request {
            return None;
        }
        // Nothing comes when something went wrong.
        let (moment, answer) = answer.recv().ok()?;
        (engine.moment().ok()? == moment).then_some(answer)
    }
}
