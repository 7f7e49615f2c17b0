//! Strata and pulls; the draws as a whole are tested through the program in `tests/it/standings.rs`.

use super::*;

#[test]
fn each_stratum_is_drawn_once_whatever_else_is_asked() {
    let one = strata(1, "quill/fern", "cabinet.leak");
    let mut places: Vec<String> =
        one.iter().map(|it| format!("{:03}", (it * FINDING_DRAWS as f64).floor())).collect();
    places.sort_unstable();
    assert!(places.iter().eq(&(0..FINDING_DRAWS).map(|it| format!("{it:03}")).collect::<Vec<_>>()));
    assert_eq!(one, strata(1, "quill/fern", "cabinet.leak"));
    for other in [strata(2, "quill/fern", "cabinet.leak"), strata(1, "quill/moss", "cabinet.leak")]
    {
        assert_ne!(one, other);
    }
}

/// Points that follow one source exactly pull by their standard deviation, and no other source pulls.
#[test]
fn a_pull_is_the_covariance_with_the_standardised_source() {
    let even: Vec<f64> = (0..FINDING_DRAWS).map(|it| it as f64 - 499.5).collect();
    let sd = (even.iter().map(|it| it * it).sum::<f64>() / FINDING_DRAWS as f64).sqrt();
    let z: Vec<f64> = even.iter().map(|it| it / sd).collect();
    let other: Vec<f64> =
        (0..FINDING_DRAWS).map(|it| if it % 2 == 0 { 1.0 } else { -1.0 }).collect();
    let known: Vec<f64> = z.iter().map(|it| 50.0 + 3.0 * it).collect();
    let parts = [Part::Absent, Part::Present { known, gaps: Vec::new() }];
    let movers = [
        Mover::of("cabinet.outer_h", Some(Evidence::Claimed), z),
        Mover::of("cabinet.outer_w", Some(Evidence::Measured), other),
    ];
    let found = pulls(&parts, &movers);
    assert_eq!(found[0].source, "cabinet.outer_h");
    assert!(found[0].soft && found[0].by_part[0].abs() < 1e-12);
    assert!((found[0].by_part[1] - 3.0).abs() < 1e-9, "{found:?}");
    assert!(found.iter().skip(1).all(|it| it.by_part[1].abs() < 0.01), "{found:?}");
}
