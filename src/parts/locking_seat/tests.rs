use std::f64::consts::PI;

use super::random::{job, random};
use crate::parts::Body;
use crate::parts::trying::{CHORDS, Trial, made, value, volume};

const PRINT: &str = "printer = \"fdm-thin\"\nmaterial = \"petg\"";

fn body(part: &str) -> Body {
    let text = job("[31.0]", PRINT, &format!("screw_z = 60\n{part}"));
    made(&text).unwrap_or_else(|(what, hints)| panic!("{what}\n{hints:?}")).remove(0)
}

#[test]
fn random_seats_are_solid_or_refused_with_numbers() {
    let trial = Trial {
        random,
        count: 500,
        items: "",
        chords: CHORDS,
        unmade_percent: 1,
        made_percent: 33,
    };
    trial.run();
}

const BARE: &str = "mark_depth = 0\nlead_in = 0\nfirst_layer = 0\nlength = 20\n";

/// Area between a circle and its chord at distance `v` from the middle.
fn segment(r: f64, v: f64) -> f64 {
    r * r * (v / r).acos() - v * ((r - v) * (r + v)).sqrt()
}

#[test]
fn flats_and_passages_have_the_volume_of_closed_forms() {
    let r = 15.385;
    let whole = |core: f64| PI * (r * r - core * core) * 20.0;
    let close = |body: &Body, wanted: f64| {
        let found = volume(body);
        assert!((found - wanted).abs() < 1e-6 * wanted, "{found} is not {wanted}");
    };
    let flat = body(&format!("{BARE}seat = \"flat\"\nflat_length = 6\n"));
    assert_eq!(value(&flat, "outside"), 2.0 * r);
    close(&flat, whole(0.0) - 6.0 * segment(r, r - 1.5));
    let cored = body(&format!("{BARE}seat = \"flat\"\nflat_length = 6\ncore = 10\n"));
    close(&cored, whole(5.0) - 6.0 * segment(r, r - 1.5));
    let line = body(&format!("{BARE}seat = \"flat\"\nflat_length = 6\nmark_depth = 1\n").replacen(
        "mark_depth = 0\n",
        "",
        1,
    ));
    // A line in each end face, from its beginning to the outside, and two along the outside.
    let row = |key: &str| value(&line, key);
    let faces = (row("mark_depth_low") + row("mark_depth_high")) * (r - row("mark_from"));
    let sides = row("line1_to") - row("line1_from") + row("line2_to") - row("line2_from");
    let lines = row("mark_width") * (faces + 1.0 * sides);
    let cut = volume(&flat) - volume(&line);
    assert!(lines > 1.0 && (cut - lines).abs() < 0.03 * lines, "{cut} is not {lines}");
}

#[test]
fn holes_are_as_wide_as_the_screw_in_them() {
    let dog = body("screw = \"m4-dog\"\ndepth = 1.5\nclearance = 0.2");
    // The dog is 2 mm long; hole shrink 0.15.
    assert!((value(&dog, "seat_width") - (2.5 + 0.15 + 0.4)).abs() < 1e-9);
    let deep = body("screw = \"m4-dog\"\ndepth = 2.5\nclearance = 0.2");
    assert!((value(&deep, "seat_width") - (4.0 + 0.15 + 0.4)).abs() < 0.0011);
    assert!((value(&dog, "seat_floor") - (15.385 - 1.5)).abs() < 1e-9);
    // 15.485 is the sure bore's radius.
    let turns = (0.5 * value(&dog, "bore_sure") - value(&dog, "seat_floor")) / 0.7;
    assert!((value(&dog, "turns_in") - turns).abs() < 1e-9);
}

/// The halves of the outside meet at 90 degrees: near it a hole has no cone.
#[test]
fn holes_are_made_at_every_clocking() {
    for clocking in [0, 45, 80, 84, 86, 88, 90, 92, 95, 180, 268, 270] {
        let body = body(&format!("clocking = {clocking}\n"));
        assert_eq!(value(&body, "seat_width"), 4.35);
    }
}

#[test]
fn slots_let_it_move_as_far_as_asked() {
    let along = body("seat = \"slot\"\ntravel = 6\nlength = 24");
    let dimple = body("length = 24");
    let play = |b: &Body| 2.0 * value(b, "axial_play");
    assert!((play(&along) - play(&dimple) - 6.0).abs() < 1e-6);
    let around = body("seat = \"slot\"\nslot = \"around\"\nangle_range = 40");
    let more = value(&around, "angle_play");
    assert!((20.0..21.0).contains(&more), "{more}");
    let wide = body("seat = \"slot\"\nslot = \"around\"\nangle_range = 60");
    assert!(volume(&wide) < volume(&around));
}

#[test]
fn a_looser_hole_turns_more_and_a_pressed_flat_not_at_all() {
    let play = |part: &str| value(&body(part), "angle_play");
    assert!(play("clearance = 0.3") > play("clearance = 0.1"));
    assert!(play("seat = \"flat\"") < 1e-3);
    assert!(play("seat = \"flat\"\ngap = 0.1") > 1.0);
}

#[test]
fn what_cannot_be_is_refused_with_a_value_that_works() {
    let text = |part: &str| job("[31.0]", PRINT, &format!("screw_z = 60\n{part}"));
    let refused = |part: &str| made(&text(part)).expect_err("refused");
    let (what, hints) = refused("length = 6");
    assert!(what.contains("needs a part from z ="), "{what}");
    assert!(hints.iter().any(|h| h.starts_with("length = ")), "{hints:?}");
    let (what, hints) = refused("core = 27");
    assert!(what.contains("short by"), "{what}");
    assert!(hints.iter().any(|h| h.starts_with("core = ")), "{hints:?}");
    let (what, hints) = refused("wires = 4\ngroove_at = 12");
    assert!(what.contains("the wires' groove 0.00 mm are left"), "{what}");
    assert!(hints.iter().any(|h| h.starts_with("groove_at = ")), "{hints:?}");
    let (what, _) = refused("seat = \"slot\"\nslot = \"around\"\nangle_range = 150");
    assert!(what.contains("degrees either way"), "{what}");
}
