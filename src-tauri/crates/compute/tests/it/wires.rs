//! Wire: gauge, resistance, loss.

use serde_json::{Value, json};

use crate::{REL, all_near, answer, near, number, with};

/// Gauge, diameter in mm, cross-section in mm², ohm per km at 20 °C: ASTM B258 and NBS Handbook 100.
#[test]
fn chk_6_1_gauges() {
    let rows = [
        (22, 0.6438033, 0.3255339, 52.96222),
        (20, 0.811821, 0.5176192, 33.30827),
        (18, 1.023687, 0.8230468, 20.94778),
        (16, 1.290846, 1.308696, 13.17419),
        (14, 1.627727, 2.080908, 8.285327),
        (12, 2.052525, 3.308773, 5.210693),
    ];
    for (awg, diameter, area, per_km) in rows {
        let wire = answer("wire", &json!({"awg": awg, "length": 1, "material": "copper"}));
        all_near(
            &wire,
            &[("diameter", diameter * 1e-3), ("area", area * 1e-6), ("r_per_m", per_km * 1e-3)],
        );
        assert!(wire["loss_db"].is_null());
    }
}

#[test]
fn chk_6_2_loops() {
    let rows = [
        ("copper", 18, 0.6, 8.0, 0.02513733, 0.0272497),
        ("copper", 18, 3.0, 4.0, 0.1256867, 0.268725),
        ("cca-10a", 18, 3.0, 4.0, 0.1998198, 0.4234133),
    ];
    for (material, awg, length, load, r_loop, loss) in rows {
        let wire = answer(
            "wire",
            &json!({"awg": awg, "length": length, "material": material, "load": load}),
        );
        all_near(&wire, &[("r_loop", r_loop), ("loss_db", loss)]);
    }
    let thin = answer("wire", &json!({"awg": 22, "length": 0.6, "material": "copper", "load": 8}));
    near(&thin, "loss_db", 0.0687310, REL);
}

#[test]
fn every_material_is_rho_l_over_a_with_one_coefficient() {
    // 1 mm² of copper is 0.017241 ohm/m exactly; the others are that over their conductivity.
    let base = json!({"area": 1e-6, "length": 1});
    let per_m = |more: &Value| number(&answer("wire", &with(&base, more)), "r_per_m");
    for (material, share) in
        [("copper", 1.0), ("cca-10a", 0.629), ("cca-15a", 0.644), ("aluminium", 0.61)]
    {
        let cold = per_m(&json!({"material": material}));
        assert!((cold / (0.017241 / share) - 1.0).abs() < 1e-12, "{material}: {cold}");
        let warm = per_m(&json!({"material": material, "temperature_c": 60}));
        assert!((warm / cold - 1.1572).abs() < 1e-12, "{material}: {warm}");
    }
    let round = answer("wire", &with(&base, &json!({"material": "copper"})));
    near(&round, "diameter", (4e-6 / std::f64::consts::PI).sqrt(), 1e-12);
}
