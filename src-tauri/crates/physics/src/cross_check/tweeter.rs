//! How far the tweeter is kept from its own resonance.

use domain::unit::Dimension::{Frequency, Level};

use super::{Computed, CrossCheck, Severity, Subject};

/// Octaves between resonance and crossover that a second- or third-order network should leave (common practice, no
/// source).
const LEAST_OCTAVES: f64 = 1.0;
/// Electrical attenuation at the resonance that keeps a tweeter from harm, dB (common practice, no source).
const LEAST_ATTENUATION_DB: f64 = -12.0;

pub(super) fn checks(computed: &Computed<'_>) -> Vec<CrossCheck> {
    let Some((margin, of_margin)) = computed.of("crossover.tweeter_margin_oct") else {
        return Vec::new();
    };
    let drive = computed.of("crossover.tweeter_attenuation_db").map(|(it, _)| it);
    let near = margin.value < LEAST_OCTAVES;
    let loud = drive.is_some_and(|it| it.value > LEAST_ATTENUATION_DB);
    if !near && !loud {
        return Vec::new();
    }
    let text = match drive.filter(|_| loud && !near) {
        Some(drive) => format!(
            "At its own resonance the tweeter still gets all but {} of its drive.",
            positive_db(drive.value)
        ),
        None => format!(
            "The crossover{} lies only {:.1} octaves above the tweeter's resonance.",
            computed
                .of("crossover.fx_high_hz")
                .map(|(it, _)| format!(" at {}", it.shown(Frequency, "Hz")))
                .unwrap_or_default(),
            margin.value
        ),
    };
    vec![CrossCheck {
        code: "tweeter_margin_small",
        severity: Severity::Caution,
        subject: Subject::Design,
        text: format!(
            "{text} Near its resonance a tweeter moves most; loud music or a sweep can destroy it. Measure it at low \
             level and with a protective series capacitor."
        ),
        addresses: of_margin.from.clone(),
        z: None,
        offers: Vec::new(),
    }]
}

fn positive_db(level: f64) -> String {
    domain::reading::shown(level.abs(), Some(1.0), Level, "dB")
}
