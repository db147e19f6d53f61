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
fn random_covers_are_solid_or_refused_with_numbers() {
    let trial = Trial {
        random,
        count: 500,
        items: ".land",
        chords: 2.0 * CHORDS,
        unmade_percent: 1,
        made_percent: 33,
    };
    trial.run();
}

const BARE: &str = "lead_in = 0\nfirst_layer = 0\nlength = 40\n";
const RAIL: &str = "rail_width = 14\nrail_depth = 10\n";

#[test]
fn shells_have_the_volume_of_closed_forms() {
    let (r, q) = (15.385, 15.385 - 1.6);
    let close = |found: f64, wanted: f64| {
        assert!((found - wanted).abs() < 1e-6 * wanted, "{found} is not {wanted}");
    };
    let sector = |degrees: f64, h: f64| PI * (r * r - q * q) * degrees / 360.0 * h;
    let glued = format!("{BARE}hold = \"glue\"\n");
    close(volume(&bodies(&glued)[0]), sector(120.0, 40.0));
    let wide = bodies(&format!("{glued}from_angle = -20\nto_angle = 230\n"));
    close(volume(&wide[0]), sector(250.0, 40.0));
    let land = bodies(&format!("{glued}[[part.land]]\nclocking = 10\nwidth = 6\n"));
    let v = value(&land[0], "land1_height");
    let segment = r * r * (v / r).acos() - v * (r * r - v * v).sqrt();
    close(volume(&land[0]), sector(120.0, 40.0) - 40.0 * segment);
}

#[test]
fn pieces_are_of_equal_length_with_joints() {
    let all = bodies(&format!("{BARE}{RAIL}pieces = 3\njoint = 0.5\n"));
    let length = value(&all[0], "length");
    assert!((length - 13.0).abs() < 0.002);
    for pair in all.windows(2) {
        let gap = value(&pair[1], "from_z") - value(&pair[0], "from_z") - length;
        assert!((gap - 0.5).abs() < 0.002, "{gap}");
    }
    let names: Vec<&str> = all.iter().map(|b| b.name.as_str()).collect();
    assert_eq!(names, ["cover-1", "cover-2", "cover-3"]);
}

/// The legs bend as the formula says, hooks clear the rail, paint makes room.
#[test]
fn legs_bend_within_what_the_material_takes_and_paint_makes_room() {
    let body = &bodies(&format!("{BARE}{RAIL}"))[0];
    let (free, hook) = (value(body, "leg_free"), value(body, "hook"));
    let strain = 100.0 * 1.5 * 1.0 * hook / (free * free);
    assert!((value(body, "strain") - strain).abs() < 1e-9);
    assert!(strain <= 1.0 + 1e-3, "{strain}");
    assert!((value(body, "hook_tip_beside") - (7.0 - hook)).abs() < 1e-9);
    let painted = &bodies(&format!("{BARE}{RAIL}coat = 0.1\n"))[0];
    let room = |b: &Body| value(b, "leg_inside") - 7.0;
    assert!((room(painted) - room(body) - 0.1).abs() < 1e-9);
    assert!((value(body, "outside") - value(painted, "outside") - 0.2).abs() < 1e-9);
    let glued = &bodies(&format!("{BARE}hold = \"glue\"\n"))[0];
    assert!(volume(body) > volume(glued) + 2.0 * 8.0 * 40.0);
}

#[test]
fn what_cannot_be_is_refused_with_a_value_that_works() {
    let refused = |part: &str| {
        let text = job("[31.0]", PRINT, &format!("{BARE}{part}"));
        made(&text).expect_err("refused")
    };
    let (what, hints) = refused("rail_width = 14\nrail_depth = 2");
    assert!(what.contains("let hooks reach"), "{what}");
    assert!(hints.iter().any(|h| h.starts_with("rail_depth = ")), "{hints:?}");
    let (what, _) = refused("rail_width = 14");
    assert!(what.contains("its depth is not given"), "{what}");
    let (what, hints) = refused("rail_width = 28\nrail_depth = 8");
    assert!(what.contains("short by"), "{what}");
    assert!(hints.iter().any(|h| h.starts_with("rail_width = ")), "{hints:?}");
    let (what, hints) = refused("hold = \"glue\"\n[[part.land]]\nclocking = 0\nwidth = 20");
    assert!(what.contains("mm at most"), "{what}");
    assert!(hints[0].starts_with("width = "), "{hints:?}");
    let (what, hints) = refused("hold = \"glue\"\nfrom_angle = 300\nto_angle = 60");
    assert!(what.contains("goes -240.0 around"), "{what}");
    assert!(hints[0].starts_with("to_angle = 420"), "{hints:?}");
}
