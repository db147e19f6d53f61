use std::f64::consts::PI;

use super::random::{job, random};
use crate::parts::Body;
use crate::parts::trying::{CHORDS, Trial, made, value, volume};

const PRINT: &str = "printer = \"fdm-thin\"\nmaterial = \"petg\"";

fn bodies(part: &str) -> Vec<Body> {
    let text = job("[31.0]", PRINT, part);
    made(&text).unwrap_or_else(|(what, hints)| panic!("{what}\n{hints:?}"))
}

#[test]
fn random_rings_are_solid_or_refused_with_numbers() {
    let trial = Trial {
        random,
        count: 500,
        items: ".hole",
        chords: 2.0 * CHORDS,
        unmade_percent: 2,
        made_percent: 33,
    };
    trial.run();
}

const BARE: &str = "lead_in = 0\nfirst_layer = 0\nlength = 20\ninner = 24\n";

#[test]
fn rings_have_the_volume_of_closed_forms() {
    let (outer, inner) = (15.385, 12.1);
    let close = |body: &Body, wanted: f64| {
        let found = volume(body);
        assert!((found - wanted).abs() < 1e-6 * wanted, "{found} is not {wanted}");
    };
    let ring = |r: f64, q: f64, h: f64| PI * (r * r - q * q) * h;
    close(&bodies(BARE)[0], ring(outer, inner, 20.0));
    let split = &bodies(&format!("{BARE}form = \"split\"\nspring = 0.5\ngap_angle = 30\n"))[0];
    close(split, ring(outer + 0.25, inner + 0.25, 20.0) * 330.0 / 360.0);
    let flanged = &bodies(&format!("{BARE}flange = 2\nflange_diameter = 36\n"))[0];
    close(flanged, ring(outer, inner, 20.0) + ring(18.0, inner, 2.0));
}

#[test]
fn shims_are_thicker_step_by_step_and_marked_by_notches() {
    let all = bodies(&format!("{BARE}shim_count = 3\nshim_step = 0.1\nmark_depth = 0\n"));
    assert_eq!(all.len(), 4);
    for (k, body) in all.iter().enumerate() {
        assert!((value(body, "wall") - value(&all[0], "wall") - 0.1 * k as f64).abs() < 1e-9);
    }
    let marked = bodies(&format!("{BARE}shim_count = 3\nshim_step = 0.1\nmark_depth = 1\n"));
    for (k, (marked, plain)) in marked.iter().zip(&all).enumerate() {
        let taken = volume(plain) - volume(marked);
        let one = 0.6 * value(plain, "wall");
        assert!((taken - k as f64 * one).abs() < 0.01, "{taken} {one}");
        let notches = marked.computed.iter().filter(|c| c.key.ends_with("_at")).count();
        assert_eq!(notches, k);
    }
}

#[test]
fn holes_pass_the_wall() {
    let plain = volume(&bodies(BARE)[0]);
    let hole = "[[part.hole]]\nz = 10\nclocking = 30\ndiameter = 4\n";
    let round = &bodies(&format!("{BARE}{hole}"))[0];
    let taken = plain - volume(round);
    let wanted = PI * 0.25 * 4.15 * 4.15 * 3.285;
    assert!((taken - wanted).abs() < 0.02 * wanted, "{taken} {wanted}");
    let slot = &bodies(&format!("{BARE}{hole}slot = 5\n"))[0];
    assert!(volume(slot) < volume(round) - 4.15 * 5.0 * 3.2);
}

#[test]
fn what_cannot_be_is_refused_with_a_value_that_works() {
    let refused = |part: &str| made(&job("[31.0]", PRINT, part)).expect_err("refused");
    let (what, hints) = refused("inner = 30");
    assert!(what.contains("short by 0.51"), "{what}");
    assert!(hints.contains(&"inner = 28.97 works".to_owned()), "{hints:?}");
    bodies("inner = 28.97");
    assert!(hints.iter().any(|h| h.contains("strips of tape")), "{hints:?}");
    let (what, hints) = refused("inner = 24\nform = \"split\"\ngap_angle = 2");
    assert!(what.contains("closes when"), "{what}");
    assert!(hints[0].starts_with("gap_angle = "), "{hints:?}");
    let (what, hints) =
        refused("inner = 24\nform = \"split\"\nspring = 0.2\ngap_at = 0\n[[part.hole]]\nz = 6");
    assert!(what.contains("beside the hole"), "{what}");
    assert!(hints[0].starts_with("clocking = "), "{hints:?}");
    let (what, _) = refused("inner = 24\nflange = 2\nfrom_z = 5");
    assert!(what.contains("begins at z = 5.00"), "{what}");
}

#[test]
fn a_painted_split_ring_presses_as_one_without_paint() {
    let split = format!("{BARE}form = \"split\"\nspring = 0.5\n");
    let gap = |part: &str| {
        let body = &bodies(part)[0];
        let mating = &body.declared.matings[0];
        assert!(mating.what.contains("free"), "{}", mating.what);
        mating.terms.iter().map(|term| term.value).sum::<f64>()
    };
    assert!((gap(&split) - gap(&format!("{split}coat = 0.3\n"))).abs() < 1e-9);
}

#[test]
fn a_keel_that_is_too_deep_for_a_split_ring_gets_one_that_works() {
    let deep = |keel: &str| {
        let part = format!("{BARE}form = \"split\"\ngap_at = 0\nkeel = {keel}\n");
        made(&job("[31.0]", PRINT, &part))
    };
    let (what, hints) = deep("2.2").expect_err("too deep");
    let hint = hints[0].strip_prefix("keel = ").and_then(|h| h.strip_suffix(" works"));
    let keel = hint.unwrap_or_else(|| panic!("{what}: {hints:?}"));
    assert!(deep(keel).is_ok(), "{keel}");
}

#[test]
fn thicker_shims_are_squeezed_more() {
    let part = format!("{BARE}form = \"split\"\nshim_count = 3\nshim_step = 0.1\n");
    let all = bodies(&part);
    let rows = ["squeeze", "gap_closes", "strain"];
    let [squeeze, closes, strain] = rows.map(|key| all.iter().map(move |b| value(b, key)));
    assert!(squeeze.zip([0.5, 0.7, 0.9, 1.1]).all(|(got, wanted)| (got - wanted).abs() < 1e-9));
    assert!(strain.is_sorted_by(|a, b| a < b));
    // The gap of the thickest does not close.
    let widths = all.iter().map(|b| value(b, "gap_width"));
    assert!(closes.zip(widths).all(|(closes, width)| closes < width));
}
