//! Tests of display plugs.

use std::f64::consts::PI;

use super::super::{Body, Severity};
use super::profile::Dome;
use super::random::{job, random_job};
use super::rows::ROWS;
use crate::measure::{Library, Vec3, check_rows};
use crate::parts::trying::{Tally, told, value, volume};

const PRINT: &str = "printer = \"fdm-thin\"\nmaterial = \"petg\"";

/// The one body.
fn made(text: &str) -> Result<Body, String> {
    told(text).map(|mut bodies| bodies.remove(0))
}

/// A plug for a socket of 38 mm, sure of 37.97, 25 deep; the handle is 42 mm
/// thick and its shoulder at z 220.
fn plug(part: &str) -> Result<Body, String> {
    made(&job(PRINT, &format!("socket_diameter = 38\nsocket_depth = 25\n{part}")))
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} is not {b}");
}

/// Volume of a frustum.
fn frustum(r: f64, s: f64, height: f64) -> f64 {
    PI / 3.0 * height * (r * r + r * s + s * s)
}

const PLAIN: &str = "lead_in = 0\nfirst_layer = 0\ngrip = \"none\"\n";
const STEM: f64 = 18.885;

#[test]
fn rows_keep_the_rules() {
    check_rows(ROWS).unwrap();
}

/// Jobs of the random test; each is meshed at the default chord.
const JOBS: usize = 600;

#[test]
fn random_plugs_are_made_or_refused_with_numbers() {
    let mut rng = fastrand::Rng::with_seed(38);
    let library = Library::shipped();
    let tally = Tally::of((0..JOBS).map(|_| random_job(&mut rng, &library, 0.12)));
    assert!(tally.made > JOBS / 4, "{}", tally.made);
    let whys = tally.whys;
    assert!(whys.keys().all(|w| !w.contains("the plug cannot be made")), "{whys:?}");
}

#[test]
fn a_plain_plug_has_the_volume_reckoned_by_hand() {
    let body = plug(PLAIN).unwrap();
    close(value(&body, "stem"), 2.0 * STEM);
    let stem = PI * STEM * STEM * 22.0;
    close(volume(&body), stem + PI * 21.0 * 21.0 * 23.0);
    assert_eq!(body.declared.up, Some(-Vec3::z()));
    let cone = plug(&format!("{PLAIN}head = \"cone\"\ncrown = 8")).unwrap();
    let head = PI * 21.0 * 21.0 * 15.0 + frustum(21.0, 1.0, 8.0);
    close(volume(&cone), stem + head);
    assert_eq!(cone.declared.up, Some(Vec3::z()));
}

#[test]
fn the_cone_of_the_seat_meets_the_sockets_edge() {
    let body = plug(&format!("{PLAIN}seat = \"cone\"")).unwrap();
    // 45 degrees from the stem through the socket's radius in the front's plane.
    close(value(&body, "stem_end_z"), 245.0 - (18.985 - STEM));
    let slope = 21.0 - STEM;
    let stem = PI * STEM * STEM * (value(&body, "stem_end_z") - 223.0);
    close(volume(&body), stem + frustum(STEM, 21.0, slope) + PI * 21.0 * 21.0 * 23.0);
}

/// A press fit leaves no gap, and the cone begins at the socket's very edge.
#[test]
fn the_cone_stays_under_a_press_fit() {
    let body = plug(&format!("{PLAIN}seat = \"cone\"\nfit = \"press\"")).unwrap();
    close(value(&body, "stem_end_z"), 245.0);
    let stem = 18.985;
    let cone = frustum(stem, 21.0, 21.0 - stem);
    close(volume(&body), PI * stem * stem * 22.0 + cone + PI * 21.0 * 21.0 * 23.0);
}

#[test]
fn grooves_take_their_trapezoids() {
    let ring = |r: f64, width: f64, depth: f64| {
        let s = r - depth;
        PI * r * r * width - 2.0 * frustum(r, s, depth) - PI * s * s * (width - 2.0 * depth)
    };
    let whole = volume(&plug(PLAIN).unwrap());
    let grip = plug(&PLAIN.replace("none", "groove")).unwrap();
    close(whole - volume(&grip), ring(21.0, 4.0, 1.2));
    let held = plug(&format!("{PLAIN}retention = \"m4-socket\"\nretention_z = 12")).unwrap();
    close(whole - volume(&held), ring(STEM, 6.5, 1.0));
    // Its middle is the screw's.
    close(value(&held, "groove_z") + 3.25, 232.0);
    close(value(&held, "screw_reach"), 18.985 - STEM + 1.0);
    close(value(&held, "screw_turns"), (18.985 - STEM + 1.0) / 0.7);
}

#[test]
fn a_dome_lies_within_its_error() {
    for (radius, height, error) in [(21.0, 21.0, 0.05), (21.0, 6.0, 0.01), (10.0, 25.0, 0.3)] {
        let dome = Dome::new(radius, height, error);
        let mut worst = 0.0_f64;
        for pair in dome.corners.windows(2) {
            for t in [0.0, 0.25, 0.5, 0.75, 1.0] {
                let z = pair[0].0 + t * (pair[1].0 - pair[0].0);
                let r = pair[0].1 + t * (pair[1].1 - pair[0].1);
                assert!((z / height).hypot(r / radius) < 1.0 + 1e-12);
                // Distance from the ellipse, by its nearest point.
                let near = (0..=2000).map(|i| {
                    let (sin, cos) = (f64::from(i) / 2000.0 * PI / 2.0).sin_cos();
                    (height * sin - z).hypot(radius * cos - r)
                });
                worst = worst.max(near.fold(f64::INFINITY, f64::min));
            }
        }
        let (top, _) = dome.corners[dome.tapers()];
        assert!(worst <= error * 1.01 && height - top <= error * (1.0 + 1e-9), "{worst}");
        assert!(worst > 0.3 * error, "{worst} of {error}: far more tapers than needed");
    }
    // The volume converges to half an ellipsoid's from below.
    let ideal = PI * 21.0 * 21.0 * 10.0 * 2.0 / 3.0;
    let plain = volume(&plug(&format!("{PLAIN}head_length = 10")).unwrap());
    let mut last = f64::INFINITY;
    for error in [0.4, 0.1, 0.025] {
        let part = format!("{PLAIN}head = \"dome\"\ncrown = 10\ndome_error = {error}");
        let off = ideal - (volume(&plug(&part).unwrap()) - plain);
        assert!(0.0 < off && off < last / 2.0, "{off} after {last}");
        last = off;
    }
}

#[test]
fn windows_open_the_light_bore() {
    let lit = format!("{PLAIN}head_length = 30\nlight_bore = 12\n");
    let none = volume(&plug(&lit).unwrap());
    let slots = plug(&format!("{lit}windows = 4\nwindow_width = 3\nwindow_height = 6")).unwrap();
    // Each is a bar through the wall, between the two circles.
    let strip = |r: f64| 1.5 * (r * r - 2.25).sqrt() + r * r * (1.5 / r).asin();
    close((none - volume(&slots)) / 4.0, 6.0 * (strip(21.0) - strip(6.0)));
    close(value(&slots, "bars"), 12.0 * (PI / 4.0).sin() - 3.0);
    let round = plug(&format!("{lit}windows = 3\nwindow = \"round\"\nwindow_width = 5")).unwrap();
    let hole = (none - volume(&round)) / 3.0;
    assert!((hole / (PI * 6.25 * 15.0) - 1.0).abs() < 0.03, "{hole}");
    let caution = |b: &Body| b.messages.iter().any(|m| m.severity == Severity::Caution);
    assert!(caution(&slots) && !caution(&plug(PLAIN).unwrap()));
}

#[test]
fn hints_name_values_that_work() {
    let after = |why: &str, words: &str| -> f64 {
        let hint = why.split("hint: ").find_map(|h| h.strip_prefix(words));
        let hint = hint.unwrap_or_else(|| panic!("{why}"));
        hint.split([' ', '\n']).next().expect("a number").parse().expect("a number")
    };
    let lit = format!("{PLAIN}head_length = 30\nlight_bore = 12\n");
    for (part, key, value) in [
        (PLAIN, "flange_diameter", "38"),
        ("", "grip_z", "30"),
        ("", "grip_width", "2"),
        ("", "head_length", "3"),
        (PLAIN, "light_bore", "40"),
        (&format!("{lit}windows = 2\n"), "window_width", "11"),
        (&format!("{lit}windows = 2\n"), "window_width", "1"),
    ] {
        let why = plug(&format!("{part}{key} = {value}\n")).expect_err(key);
        let works = after(&why, &format!("give {key} "));
        plug(&format!("{part}{key} = {works}\n")).unwrap_or_else(|e| panic!("{key}: {e}"));
    }
    let why = plug(&format!("{lit}windows = 20")).expect_err("20 windows");
    let works = after(&why, "give windows = ");
    assert!(works >= 2.0);
    plug(&format!("{lit}windows = {works}")).unwrap();
    plug(&format!("{lit}windows = {}", works + 1.0)).expect_err("one more");
    let short = |gap: f64| {
        made(&job(PRINT, &format!("socket_diameter = 38\nsocket_depth = 15\nend_gap = {gap}")))
    };
    short(after(&short(14.0).expect_err("no stem"), "give end_gap ")).unwrap();
    let screw = format!("{PLAIN}retention = \"m4-socket\"\n");
    let why = plug(&format!("{screw}retention_z = 2")).expect_err("too low");
    let works = after(&why, "retention_z from ");
    plug(&format!("{screw}retention_z = {works}")).unwrap();
}
