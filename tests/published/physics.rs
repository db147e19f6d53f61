//! What physics says must hold between results.

use crate::support::{run, try_run, value};

/// `name` with `key` at each value: whether `result` rises all the way.
fn rises(name: &str, fixed: &str, key: &str, values: &[f64], result: &str) -> bool {
    let results: Vec<f64> =
        values.iter().map(|v| value(name, &format!("{fixed} {key}={v}"), result)).collect();
    results.windows(2).all(|pair| pair[0] < pair[1])
}

const ARM: &str = "width_mm=6 modulus_mpa=1700 allowed_percent=2";

#[test]
fn cantilever_is_monotone() {
    let up = [1.0, 1.5, 2.0, 3.0];
    let fixed = format!("{ARM} length_mm=20 thickness_mm=2");
    for result in ["strain_percent", "deflection_force_n", "insertion_n"] {
        assert!(rises("snap-cantilever", &fixed, "deflection_mm", &up, result));
    }
    let fixed = format!("{ARM} length_mm=20 deflection_mm=1");
    assert!(rises("snap-cantilever", &fixed, "thickness_mm", &up, "stiffness_n_per_mm"));
    let fixed = format!("{ARM} thickness_mm=2 deflection_mm=1");
    let shorter = [40.0, 30.0, 20.0, 10.0];
    assert!(rises("snap-cantilever", &fixed, "length_mm", &shorter, "strain_percent"));
    let fixed = format!("{ARM} length_mm=20 thickness_mm=2 deflection_mm=1");
    let thicker_tips = [0.3, 0.5, 0.7, 0.81, 0.9, 1.0];
    assert!(rises("snap-cantilever", &fixed, "tip_ratio", &thicker_tips, "stiffness_n_per_mm"));
    assert!(rises("snap-cantilever", &fixed, "friction", &[0.0, 0.2, 0.5], "insertion_n"));
}

/// Scaling every length by `s` keeps strains and multiplies forces by `s^2`.
#[test]
fn units_are_consistent_under_scaling() {
    let arm = |s: f64| {
        run(
            "snap-cantilever",
            &format!(
                "length_mm={} thickness_mm={} width_mm={} deflection_mm={} modulus_mpa=1700 allowed_percent=2",
                20.0 * s,
                2.0 * s,
                6.0 * s,
                s
            ),
        )
    };
    let lip = |s: f64| {
        run(
            "curved-lip",
            &format!(
                "cylinder_mm={} trough_mm={} thickness_mm={} length_mm={} wrap_deg=20 modulus_mpa=1700 \
                 allowed_percent=2",
                18.5 * s,
                18.8 * s,
                1.2 * s,
                40.0 * s
            ),
        )
    };
    let ring = |s: f64| {
        run(
            "snap-annular",
            &format!(
                "joint_mm={} other_mm={} undercut_mm={} modulus_mpa=1800",
                26.0 * s,
                30.0 * s,
                0.26 * s
            ),
        )
    };
    for s in [0.5, 2.0, 3.0] {
        for (one, scaled) in [(arm(1.0), arm(s)), (lip(1.0), lip(s)), (ring(1.0), ring(s))] {
            let ratio = |key: &str| scaled.value(key).unwrap() / one.value(key).unwrap();
            assert!((ratio("strain_percent") - 1.0).abs() < 1e-9);
            assert!((ratio("insertion_n") / (s * s) - 1.0).abs() < 1e-9);
        }
    }
}

#[test]
fn light_falls_with_distance_and_rises_with_the_bore() {
    let fixed = "bore_distance_mm=2 stone_mm=12";
    assert!(rises(
        "light-bore",
        &format!("{fixed} bore_mm=6"),
        "stone_distance_mm",
        &[20.0, 10.0, 5.0, 2.0],
        "stone_percent"
    ));
    let fixed = "bore_distance_mm=4 stone_mm=12 stone_distance_mm=6";
    assert!(rises("light-bore", fixed, "bore_mm", &[2.0, 4.0, 8.0], "mouth_percent"));
    let huge = value(
        "light-bore",
        "bore_mm=100 bore_distance_mm=0.01 stone_mm=100 stone_distance_mm=0.01",
        "direct_percent",
    );
    assert!((huge - 100.0).abs() < 1e-3, "{huge}");
}

#[test]
fn dispersion_is_normal() {
    for material in ["quartz-o", "quartz-e", "fluorite", "bk7", "pmma"] {
        let fixed = format!("material={material}");
        assert!(rises(
            "sellmeier",
            &fixed,
            "wavelength_nm",
            &[900.0, 700.0, 600.0, 500.0, 450.0],
            "index"
        ));
    }
}

#[test]
fn wires_and_contacts_are_monotone() {
    assert!(rises("wire", "gauge=24 run_m=1", "current_a", &[0.5, 1.0, 2.0], "loss_mw"));
    assert!(rises("wire", "gauge=24 current_a=1", "copper_degc", &[-20.0, 20.0, 60.0], "drop_mv"));
    assert!(rises(
        "wire-bundle",
        "wire_mm=1.5",
        "wires",
        &[1.0, 2.0, 3.0, 5.0, 7.0, 19.0, 30.0, 60.0],
        "duct_mm"
    ));
    let leaf = "width_mm=6 thickness_mm=0.3 space_mm=67.5 free_height_mm=4 cell_min_mm=64.5 cell_max_mm=65.5";
    assert!(rises("leaf-contact", leaf, "length_mm", &[20.0, 16.0, 12.0], "force_high_n"));
}

#[test]
fn looser_tolerances_never_help_a_plunger() {
    let fixed = "tip_mm=12 seat_mm=4.1 switch_mm=5 travel_mm=4";
    let falls =
        |key: &str, result: &str| rises("plunger", fixed, key, &[0.3, 0.2, 0.1, 0.0], result);
    for key in ["tip_tol_mm", "play_tol_mm", "seat_tol_mm", "switch_tol_mm"] {
        for result in ["worst_gap_low_mm", "worst_left_mm", "rss_left_mm"] {
            assert!(falls(key, result), "{key} {result}");
        }
    }
    let err = try_run("plunger", "tip_mm=12 seat_mm=4.1 switch_mm=5 travel_mm=1").unwrap_err();
    assert!(err.to_string().starts_with("no seat height works"), "{err}");
    assert!(!err.hint().is_empty());
}
