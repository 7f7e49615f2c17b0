//! Scores how a loudspeaker is made on the outside: the gap around its grille, and its surface.
//!
//! What is read, the points and the weights stand in `manifest.json`; here is how findings become measures.

use bw_sdk::{Row, RowScorer, RowSink, export_plugins, places};

places! {
    /// Inputs by their place in the manifest.
    input {
        GRILLE_GAP = "cabinet.org.example.finish.grille_gap",
        SURFACE = "cabinet.org.example.finish.surface",
    }
    /// Parameters by their place in the manifest.
    param {
        GAP_LIMIT = "gap_limit",
    }
    /// Criteria by their place in the manifest.
    criterion {
        GRILLE_GAP = "grille_gap",
        SURFACE = "surface",
    }
    /// Remarks by their place in the manifest.
    remark {
        GAP_WIDE = "gap_wide",
    }
}

/// The words of the surface.
const SURFACES: usize = 4;

struct Plugin {
    params: [f64; param::IDS.len()],
}

impl RowScorer for Plugin {
    const MANIFEST: &'static str = include_str!("../manifest.json");

    fn new(params: &[f64]) -> Result<Self, String> {
        Ok(Plugin { params: bw_sdk::params(params)? })
    }

    fn row(&self, row: &Row<'_>, out: &mut RowSink<'_, '_>) {
        let gap_mm = row.number(input::GRILLE_GAP).map(|gap_m| gap_m * 1000.0);
        if let Some(gap_mm) = gap_mm.filter(|it| it.is_finite()) {
            // A gap near 0 that is drawn with its uncertainty can come out below 0.
            let gap_mm = gap_mm.max(0.0);
            out.score(criterion::GRILLE_GAP, gap_mm);
            let limit_mm = self.params[param::GAP_LIMIT];
            if gap_mm > limit_mm {
                out.remark(remark::GAP_WIDE, &[gap_mm, limit_mm]);
            }
        }
        let surface = row.choice(input::SURFACE).filter(|it| *it < SURFACES);
        out.score(criterion::SURFACE, surface.map(|it| it as f64));
    }
}

export_plugins!(Plugin);

#[cfg(test)]
mod tests {
    use bw_sdk::testing::{self, choice, one};

    use super::{Plugin, criterion, input, param, remark};

    const GAP: &str = input::IDS[input::GRILLE_GAP];
    const SURFACE: &str = input::IDS[input::SURFACE];

    #[test]
    fn places_are_those_of_the_manifest() {
        testing::places::<Plugin>(input::IDS, param::IDS, criterion::IDS, remark::IDS);
    }

    #[test]
    fn a_gap_is_measured_in_millimetres_and_remarked_on_past_its_limit() {
        let narrow = one::<Plugin>(&[(GAP, 0.0015)]);
        assert!((narrow.score(0, "grille_gap") - 1.5).abs() < 1e-9);
        assert!(narrow.remarks.is_empty());
        let wide = one::<Plugin>(&[(GAP, 0.0025)]);
        assert_eq!(wide.codes(0), ["gap_wide"]);
        assert_eq!(
            wide.remarks[0].text,
            "the grille stands 2.5 mm off the baffle, more than 2.0 mm"
        );
    }

    #[test]
    fn a_surface_is_measured_by_its_place() {
        let scored = one::<Plugin>(&[choice::<Plugin>(SURFACE, "paint")]);
        assert!((scored.score(0, "surface") - 2.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_missing_stays_unscored() {
        let nothing = one::<Plugin>(&[]);
        assert!(nothing.scores[0].iter().all(|it| it.is_nan()), "{:?}", nothing.scores);
        assert!(nothing.remarks.is_empty());
        // What no millimetres can hold makes no sense either.
        assert!(one::<Plugin>(&[(GAP, f64::MAX)]).score(0, "grille_gap").is_nan());
    }
}
