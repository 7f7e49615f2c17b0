//! The judgement of the plugins of this build is data in their manifests, and adds up.

use bw_sdk::manifest::{Better, Criterion, Manifest, Utility};
use standing::utility::{self, Scale};

use crate::vocabulary::{PLUGINS, manifest};

fn criterion(manifest: &Manifest, id: &str) -> Criterion {
    manifest.criteria[manifest.criterion_index(id).unwrap()].clone()
}

/// The curve of a criterion, as the engine makes it; `None` for a table.
fn curve(of: &Criterion) -> Option<utility::Utility> {
    let (scale, points) = match of.utility.as_ref()? {
        Utility::Linear { points } => (Scale::Linear, points),
        Utility::Log { points } => (Scale::Log, points),
        Utility::Choice { .. } => return None,
    };
    Some(utility::Utility::new(scale, points.iter().map(|[x, u]| (*x, *u)).collect()).unwrap())
}

/// Worked values by `numpy.interp` on the measure, or on its logarithm where the scale is one.
#[test]
fn chk_11_1_points_of_the_manifests_give_the_worked_utilities() {
    for (plugin, id, measure, points, tolerance) in [
        ("cabinet", "panel_mode", 260.0, 49.4121, 5e-5),
        ("cabinet", "cavity_q", 8.807_999_3, 51.849_73, 5e-6),
        ("crossover", "z_min_ratio", 0.72, 48.0, 1e-9),
    ] {
        let found = curve(&criterion(&manifest(plugin), id)).unwrap().at(measure);
        assert!((found - points).abs() <= tolerance, "{plugin} {id}: {found}");
    }
}

/// More of what is better never scores less.
#[test]
fn points_run_the_way_the_criterion_says() {
    let mut n_curves = 0;
    for plugin in PLUGINS {
        for of in manifest(plugin).criteria {
            let Some(curve) = curve(&of) else { continue };
            let mut runs = curve.points().windows(2).map(|it| it[1].1 - it[0].1);
            match of.better {
                Better::Lower => assert!(runs.all(|it| it <= 0.0), "{plugin} {}", of.id),
                Better::Higher => assert!(runs.all(|it| it >= 0.0), "{plugin} {}", of.id),
                Better::Target => panic!("{plugin} {}: no such criterion yet", of.id),
            }
            n_curves += 1;
        }
    }
    assert!(n_curves >= 8, "{n_curves} curves");
}

#[test]
fn each_number_of_the_judgement_says_what_it_is_and_where_it_comes_from() {
    for plugin in PLUGINS {
        let manifest = manifest(plugin);
        for it in &manifest.params {
            assert!(!it.doc.is_empty() && !it.source.is_empty(), "{plugin} {}", it.id);
            assert!(it.min < it.max, "{plugin} {}: nothing to set", it.id);
        }
    }
}
