//! N identical drivers wired together, as one equivalent driver.

use crate::driver::DriverParams;
use crate::error::{Result, at_least_one, positive_result};
use crate::lumped::Coil;

/// How identical drivers are wired.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Wiring {
    /// One after the other: the same current through each.
    Series,
    /// Side by side: the same voltage across each.
    Parallel,
}

/// The one driver that N identical drivers amount to.
///
/// Both ways: Mms·N, Cms/N, Rms·N, Sd·N, so fs and every Q stay, Vas and η₀ grow N times (sources
/// within about a quarter wavelength of each other). Parallel: Re/N, Le/N, BL as it is. Series:
/// Re·N, Le·N, BL·N. Drivers that differ belong in a network, not in an average. Derived from the
/// circuit; Small 1972 (from memory) uses the same equivalence.
///
/// # Errors
/// `OutOfDomain` when `count` is 0 or a parameter is not positive and finite.
///
/// ```
/// # use physics::{driver::DriverParams, driver_group::{group, Wiring}};
/// # let w = DriverParams { re_ohm: 5.6, mms_kg: 0.0142, cms_m_n: 0.00098, rms_kg_s: 0.85,
/// #     bl_tm: 6.1, sd_m2: 0.0133, le_h: None, xmax_m: None };
/// assert!((group(&w, 2, Wiring::Parallel)?.re_ohm - 2.8).abs() < 1e-12);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn group(one: &DriverParams, count: u32, wiring: Wiring) -> Result<DriverParams> {
    one.check()?;
    let n = at_least_one("count", count)?;
    let (electrical, bl) = match wiring {
        Wiring::Series => (n, n),
        Wiring::Parallel => (1.0 / n, 1.0),
    };
    Ok(DriverParams {
        re_ohm: one.re_ohm * electrical,
        mms_kg: one.mms_kg * n,
        cms_m_n: one.cms_m_n / n,
        rms_kg_s: one.rms_kg_s * n,
        bl_tm: one.bl_tm * bl,
        sd_m2: one.sd_m2 * n,
        le_h: one.le_h.map(|le| le * electrical),
        xmax_m: one.xmax_m,
    })
}

/// The coil of that one driver: inductance and K as the resistance, N times in series and one Nth in
/// parallel, the exponent as it is.
///
/// # Errors
/// `OutOfDomain` when `count` is 0 or the coil's values are out of their domain.
pub fn group_coil(one: Coil, count: u32, wiring: Wiring) -> Result<Coil> {
    one.check()?;
    let n = at_least_one("count", count)?;
    let times = match wiring {
        Wiring::Series => n,
        Wiring::Parallel => 1.0 / n,
    };
    Ok(match one {
        Coil::Ideal => Coil::Ideal,
        Coil::Inductance { le_h } => {
            Coil::Inductance { le_h: positive_result("le_h", le_h * times)? }
        }
        Coil::Lossy { k, n } => Coil::Lossy { k: positive_result("k", k * times)?, n },
    })
}
