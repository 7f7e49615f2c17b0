//! The standings as the window draws them: the same report, with its pictures.

use crate::{
    BandRequest, Engine, Error, WhatIfRequest, chart,
    dto::{BandView, RankView, WhatIfView},
};

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

    /// The report of [`Engine::ranks`] with its dots.
    ///
    /// # Errors
    /// As [`Engine::ranks`].
    pub fn ranks_view(&self, request: &BandRequest) -> Result<RankView, Error> {
        let report = self.ranks(request)?;
        let dots = chart::live_dots(&report);
        Ok(RankView { report, dots })
    }

    /// The report of [`Engine::what_if`] with its picture.
    ///
    /// # Errors
    /// As [`Engine::what_if`].
    pub fn what_if_view(&self, request: &WhatIfRequest) -> Result<WhatIfView, Error> {
        let report = self.what_if(request)?;
        let moves = chart::moves(&report);
        Ok(WhatIfView { report, moves })
    }
}
