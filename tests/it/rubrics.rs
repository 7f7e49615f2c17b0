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
        ("cabinet", "port_velocity", 25.0, 40.0, 0.0),
        ("driver", "tweeter_margin", 1.735_303_5, 79.412_14, 1e-9),
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
    assert!(n_curves >= 20, "{n_curves} curves");
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

#[test]
fn weights_of_each_plugin_add_up_to_100() {
    for plugin in PLUGINS {
        let total: f64 = manifest(plugin).criteria.iter().map(|it| it.weight).sum();
        assert!((total - 100.0).abs() < 1e-9, "{plugin}: {total}");
    }
}

/// What is seen stands in for what was not measured, as a measure: it earns the points meant for it.
#[test]
fn stand_ins_earn_the_points_meant_for_them() {
    for (plugin, id, param, points) in [
        ("cabinet", "leak", "leak.ql_leak_found", 20.0),
        ("cabinet", "leak", "leak.ql_gasket_none", 40.0),
        ("cabinet", "leak", "leak.ql_gasket_foam", 70.0),
        ("cabinet", "leak", "leak.ql_gasket_caulk", 90.0),
        ("crossover", "tweeter_capacitor", "capacitor.loss_polypropylene", 95.0),
        ("crossover", "tweeter_capacitor", "capacitor.loss_polyester", 80.0),
        ("crossover", "tweeter_capacitor", "capacitor.loss_electrolytic", 45.0),
    ] {
        let manifest = manifest(plugin);
        let measure = manifest.params.iter().find(|it| it.id == param).unwrap().default;
        let found = curve(&criterion(&manifest, id)).unwrap().at(measure);
        assert!((found - points).abs() < 0.1, "{param}: {found}");
    }
}
