//! Tests of front mounts.

use std::f64::consts::PI;

use super::super::{Body, Severity};
use super::random::{job, random_job};
use super::rows::ROWS;
use crate::measure::{Library, check_rows};
use crate::parts::trying::{Tally, told, value, volume};

const PRINT: &str = "printer = \"fdm-thin\"\nmaterial = \"petg\"";

/// The one body.
fn made(text: &str) -> Result<Body, String> {
    told(text).map(|mut bodies| bodies.remove(0))
}

fn mount(part: &str) -> Result<Body, String> {
    made(&job("[36.03]", PRINT, part))
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} is not {b}");
}

#[test]
fn rows_keep_the_rules() {
    check_rows(ROWS).unwrap();
}

/// Jobs of the random test; each is meshed at the default chord.
const JOBS: usize = 600;

#[test]
fn random_mounts_are_made_or_refused_with_numbers() {
    let mut rng = fastrand::Rng::with_seed(24);
    let library = Library::shipped();
    let tally = Tally::of((0..JOBS).map(|_| random_job(&mut rng, &library, 0.1)));
    assert!(tally.made > JOBS / 4, "{}", tally.made);
}

/// A board without notch, with nothing chamfered, so that the mount is rings.
const PLAIN: &str = "contacts = { profile = \"round-24\", notch_width = 0, notch_depth = 0 }\n\
                     lead_in = 0\nfirst_layer = 0\n";

#[test]
fn a_plain_mount_has_the_volume_reckoned_by_hand() {
    let body = mount(PLAIN).unwrap();
    // Bore 36.03 less 0.03 and 0.2; board 24 + 0.15 and 0.1 on each side.
    let (outside, seat, recess, exit) = (17.9, 12.175, 10.8, 0.5 * value(&body, "exit"));
    close(value(&body, "seat"), 2.0 * seat);
    close(value(&body, "recess"), 2.0 * recess);
    let heights = ["from_z", "floor_z", "seat_z", "top_z"].map(|key| value(&body, key));
    let radii = [exit, recess, seat];
    let rings = heights.windows(2).zip(radii);
    let wanted: f64 = rings.map(|(z, r)| PI * (outside * outside - r * r) * (z[1] - z[0])).sum();
    close(volume(&body), wanted);
}

#[test]
fn a_short_handle_is_told_what_would_do() {
    let short = |rows: &str| {
        made(
            &job("[36.03]", PRINT, &format!("{PLAIN}{rows}"))
                .replace("length = 220", "length = 60"),
        )
    };
    let why = short("land = 60\n").unwrap_err();
    assert!(why.contains("before the end cap") && why.contains("shorter together"), "{why}");
    let why = short("land = 20\nshoulder_z = 20\n").unwrap_err();
    let hint = why.split("shoulder_z = ").nth(1).and_then(|h| h.split(' ').next());
    let hinted = hint.unwrap_or_else(|| panic!("{why}"));
    short(&format!("land = 20\nshoulder_z = {hinted}\n")).unwrap();
}

#[test]
fn the_key_fills_the_notch_but_for_its_clearance() {
    let with = mount("contacts = \"round-24\"\nlead_in = 0\nfirst_layer = 0").unwrap();
    let without = mount(PLAIN).unwrap();
    // Between its inner face and the arc of the seat, as high as the board.
    let (r, x, inner) = (12.175_f64, 1.9_f64, 10.1_f64);
    let area = x * (r * r - x * x).sqrt() + r * r * (x / r).asin() - 2.0 * x * inner;
    close(value(&with, "key_width"), 2.0 * x);
    // The recess is narrower before a key.
    let ring = PI * (10.8_f64.powi(2) - 9.6_f64.powi(2));
    close(value(&with, "recess"), 19.2);
    let deep = value(&with, "seat_z") - value(&with, "floor_z");
    close(volume(&with) - volume(&without), area * 1.6 + ring * deep);
}

#[test]
fn the_depth_presses_the_pins_as_asked() {
    for (more, contact, pressed) in [
        ("", 220.0, 1.2),
        ("shoulder_z = 200\ncompression = 0.7", 200.0, 0.7),
        ("tube_recess = 1", 221.0, 1.2),
    ] {
        let body = mount(&format!("{PLAIN}{more}")).unwrap();
        close(value(&body, "contact_z"), contact);
        close(value(&body, "face_z"), contact - 3.0 + pressed);
        let pins = body.declared.matings.iter().find(|m| m.what.starts_with("pins")).unwrap();
        close(pins.nominal(), 3.0 - pressed);
        assert_eq!((pins.binds_below, pins.rattles_above), (1.0, Some(2.6)));
        let off: f64 = pins.terms.iter().map(|t| t.reach.1).sum();
        close(value(&body, "compression_least"), pressed - off);
        close(value(&body, "compression_most"), pressed + off);
    }
}

#[test]
fn hints_name_values_that_work() {
    let number = |why: &str, key: &str| -> f64 {
        let hint = why.lines().find(|l| l.contains(key)).unwrap_or_else(|| panic!("{why}"));
        let after = &hint[hint.find(key).expect("found") + key.len()..];
        after.split_whitespace().next().expect("a number").parse().expect("a number")
    };
    // The keel, the rim, the ledge, the land: the value of the hint is taken.
    let screwed = "contacts = \"round-24-screwed\"\nfixing = \"screws\"\nscrew = \"m1.6-socket\"\nsolder_room = 1\n";
    for (part, key) in [
        (PLAIN, "keel = 8"),
        (PLAIN, "rim = 4"),
        (PLAIN, "ledge = 9"),
        (screwed, "land = 1"),
        (PLAIN, "compression = 3"),
        (PLAIN, "shoulder_z = 300"),
    ] {
        let why = mount(&format!("{part}{key}\n")).expect_err(key);
        let name = key.split(' ').next().expect("a name");
        let works = number(&why, &format!("give {name} "));
        mount(&format!("{part}{name} = {works}\n")).unwrap_or_else(|e| panic!("{key}: {e}"));
    }
    let socket = "socket_diameter = 38\ntube_diameter = 37.8\nretention = \"m4-socket\"\n";
    for (more, key, row) in [
        ("retention_length = 3", "a screw of ", "retention_length"),
        ("retention_length = 8\nretention_z = 0", "hint: ", "retention_z"),
    ] {
        let why = mount(&format!("{PLAIN}{socket}{more}\n")).expect_err(more);
        let works = number(&why, key);
        let others = more.lines().filter(|line| !line.starts_with(row));
        let kept: String = others.map(|line| format!("{line}\n")).collect();
        let again = mount(&format!("{PLAIN}{socket}{kept}{row} = {works}\n"));
        again.unwrap_or_else(|e| panic!("{e}"));
    }
}

#[test]
fn the_retention_screw_is_reckoned() {
    let part = "socket_diameter = 38\ntube_diameter = 37.86\nretention = \"m3-socket\"\n\
                retention_z = 12\nretention_length = 8";
    let body = mount(&format!("{PLAIN}{part}")).unwrap();
    // Outside 50: a wall of 6, thread M3 with a pitch of 0.5.
    close(value(&body, "retention_engaged"), 6.0);
    close(value(&body, "retention_threads"), 12.0);
    close(value(&body, "retention_through"), 2.0);
    close(value(&body, "retention_turns"), 0.14);
    close(value(&body, "retention_turns_most"), 0.28);
    close(value(&body, "retention_clear"), 232.0 - 1.5 - value(&body, "top_z"));
    let thick = mount(&format!("{PLAIN}{}", part.replace("37.86", "38.1"))).expect_err("thick");
    assert!(thick.contains("too thick by 0.10"), "{thick}");
}

#[test]
fn turning_the_notch_turns_the_mount_alone() {
    let at = |clocking: f64| {
        mount(&format!("contacts = \"round-24\"\nclocking = {clocking}\n")).map(|b| volume(&b))
    };
    let straight = at(0.0).unwrap();
    for clocking in [90.0, 180.0, 37.0, -120.0] {
        let turned = at(clocking).unwrap();
        assert!((turned / straight - 1.0).abs() < 1e-6, "{clocking}: {turned} {straight}");
    }
}

#[test]
fn live_pins_are_cautioned() {
    let body = mount(PLAIN).unwrap();
    let cautions = body.messages.iter().filter(|m| m.severity == Severity::Caution);
    assert!(cautions.count() >= 2);
    assert!(
        body.messages.iter().any(|m| m.text.contains("turning") && m.severity == Severity::Warning)
    );
}
