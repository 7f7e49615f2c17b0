//! The standings as the window draws them: the same report, with its pictures.

use crate::{BandRequest, Engine, Error, chart, dto::BandView};

impl Engine {
    /// The report of [`Engine::band`] with its charts.
    ///
    /// # Errors
    /// As [`Engine::band`].
    pub fn band_view(&self, request: &BandRequest) -> Result<BandView, Error> {
        let report = self.band(request)?;
        let dots = chart::dot_plot(&report);
        let scatter = chart::scatter(&report);
        let (strip, multiples) = (chart::rank_strip(&report), chart::multiples(&report));
        Ok(BandView { report, dots, scatter, strip, multiples })
    }
}
