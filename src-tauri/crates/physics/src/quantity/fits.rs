//! The fits to the sweeps of one product, each made once however often its quantities are asked for.

use std::sync::OnceLock;

use domain::{
    dossier::Dossier,
    part::{Part, Role},
};

use crate::fit::{
    Fixed, ImpedanceFit, fit,
    vented::{VentedFit, VentedOptions, fit_vented},
};

/// A vented-box fit with more scatter than this share of |Z| has met more than a box: a midrange network, a chamber
/// (editorial).
const GOOD_FIT: f64 = 0.015;

/// What was fitted to the sweeps of one product. It is empty at first, and belongs to the dossier that it is first given
/// with.
#[derive(Debug, Default)]
pub struct Fits {
    drivers: [OnceLock<Option<ImpedanceFit>>; Role::ALL.len()],
    vented: OnceLock<Option<VentedFit>>,
}

impl Fits {
    /// The fit to a driver's free-air sweep; `None` where there is no sweep or no fit.
    pub(super) fn driver(&self, dossier: &Dossier, role: Role) -> Option<&ImpedanceFit> {
        let place = Role::ALL.iter().position(|it| *it == role)?;
        let made = || fit(&dossier.sweep(Part::first(role))?.points, &Fixed::default()).ok();
        self.drivers[place].get_or_init(made).as_ref()
    }

    /// The fit to the two peaks of the system sweep; `None` where there is none that explains the sweep.
    pub(super) fn vented(&self, dossier: &Dossier) -> Option<&VentedFit> {
        let made = || {
            let sweep = dossier.sweep(Part::first(Role::Whole))?;
            let fit = fit_vented(&sweep.points, &VentedOptions::default()).ok()?;
            let scatter = (fit.rss / f64::from(u32::try_from(fit.degrees_of_freedom).ok()?)).sqrt();
            (scatter <= GOOD_FIT).then_some(fit)
        };
        self.vented.get_or_init(made).as_ref()
    }
}
