//! Tests of speaker cups.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use super::super::hinted::hinted;
use super::super::{Body, Severity};
use super::random::{job, random_job};
use super::rows::ROWS;
use crate::measure::{Library, check_rows};
use crate::mesh::{ChordTolerance, tessellate};
use crate::parts::trying::{made, value, volume};

const PRINT: &str = "printer = \"fdm-medium\"\nmaterial = \"petg\"";

fn cup(bore: f64, part: &str) -> Vec<Body> {
    made(&job(bore, PRINT, part)).unwrap_or_else(|(why, _)| panic!("{why}\n{part}"))
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 2e-6 * b.abs().max(1.0), "{a} is not {b}");
}

fn disc(diameter: f64) -> f64 {
    0.25 * PI * diameter * diameter
}

#[test]
fn rows_keep_the_rules() {
    check_rows(ROWS).unwrap();
}

/// Jobs of the random test.
const JOBS: usize = 400;

#[test]
fn random_cups_are_made_or_refused_with_numbers_and_hints_that_work() {
    let mut rng = fastrand::Rng::with_seed(28);
    let library = Library::shipped();
    let (mut count, mut followed) = (0, 0);
    let mut whys = BTreeMap::<String, usize>::new();
    for _ in 0..JOBS {
        let text = random_job(&mut rng, &library, 0.1);
        match made(&text) {
            Ok(bodies) => {
                count += 1;
                for body in &bodies {
                    let mesh = tessellate(&body.solid, &ChordTolerance::default());
                    let mesh = mesh.unwrap_or_else(|e| panic!("{}: {e}\n{text}", body.name));
                    assert!((mesh.volume() / volume(body) - 1.0).abs() < 0.01, "{text}");
                    assert!(body.declared.undrawn.is_empty(), "{:?}", body.declared.undrawn);
                }
                let walls = ["wall_bore", "port_wall"].map(|key| value(&bodies[0], key));
                assert!(walls.iter().all(|w| *w >= 0.4 - 3e-3), "{walls:?}\n{text}");
            }
            Err((why, hints)) => {
                assert!(why.chars().any(|c| c.is_ascii_digit()), "{why}\n{text}");
                for hint in &hints {
                    let Some(other) = hinted(&text, hint) else { continue };
                    followed += 1;
                    if let Err((now, _)) = made(&other) {
                        // Something else may be wrong then, but never the same.
                        let start = |s: &str| s.chars().take(24).collect::<String>();
                        assert_ne!(start(&why), start(&now), "{hint}\n{now}\n{other}");
                    }
                }
                let kind: String = why.chars().filter(|c| !c.is_ascii_digit()).take(60).collect();
                *whys.entry(kind).or_default() += 1;
            }
        }
    }
    println!("{count} of {JOBS} made, {followed} hints followed");
    for (why, n) in &whys {
        println!("{n} {why}");
    }
    assert!(count > JOBS / 3 && followed > JOBS / 20, "{count}, {followed}");
    assert!(whys.keys().all(|w| !w.contains("cannot be made")), "{whys:?}");
}

#[test]
fn a_cup_has_the_volume_reckoned_by_hand() {
    let bodies = cup(36.0, "speaker = \"round-28\"\nlead_in = 0\nfirst_layer = 0\nrear = 5");
    let body = &bodies[0];
    let count = value(body, "ports");
    // Bore 36 less 0.03 less 0.2; frame 28 + 0.1, seat 0.2 more; rim 2 wide.
    let outside = disc(value(body, "outside"));
    assert!((value(body, "outside") - 35.77).abs() < 2e-3);
    let (seat, opening) = (disc(28.3), disc(24.1));
    let port = disc(value(body, "port_drawn"));
    let solid = outside * (1.6 + 1.5 + 5.5 + 5.0) - count * port * 1.6 - opening * 1.5;
    // Radii are on the grid of a thousandth.
    let wanted = solid - seat * 10.5;
    assert!((volume(body) / wanted - 1.0).abs() < 2e-3, "{} {wanted}", volume(body));
    close(value(body, "front_volume"), opening * 1.5);
    let speaker = disc(28.1) + disc(24.1) * 2.5 + disc(16.0) * 2.0;
    close(value(body, "rear_volume"), seat * 10.5 - speaker);
    assert!(value(body, "open_share_made") >= 20.0);
    close(value(body, "open_area"), count * disc(2.0));
    assert_eq!(value(body, "leak_share"), 0.0);
}

#[test]
fn facing_the_front_mirrors_the_cup() {
    let part = "speaker = \"oval-20x30\"\nfrom_z = 7\nlead_in = 0\nfirst_layer = 0\nkeel = 3";
    let (back, front) = (cup(36.0, part), cup(36.0, &format!("{part}\nfacing = \"front\"")));
    close(volume(&back[0]), volume(&front[0]));
    let length = value(&back[0], "length");
    close(value(&back[0], "rim_z") - 7.0, 7.0 + length - value(&front[0], "rim_z"));
    let (up, down) = (back[0].declared.up.unwrap(), front[0].declared.up.unwrap());
    assert!(up.z > 0.5 && down.z < -0.5);
}

#[test]
fn a_ring_presses_the_rim_and_stands_in_the_seat() {
    let bodies = cup(36.0, "speaker = \"round-28\"\nretention = \"ring\"");
    assert_eq!(bodies.len(), 2);
    let ring = &bodies[1];
    let low = value(&bodies[0], "rim_z") + 1.0;
    close(value(ring, "from_z"), low);
    assert!(value(&bodies[0], "seat_width") - value(ring, "outer_width") < 0.06);
    assert!(value(ring, "ring_wall") >= 1.0);
    assert!(bodies[0].messages.iter().filter(|m| m.severity == Severity::Caution).count() == 1);
}

#[test]
fn wires_past_the_rim_leak_what_the_report_says() {
    let part = "speaker = \"round-20\"\nexit = \"face\"\nlead_in = 0\nfirst_layer = 0";
    let (with, without) =
        (cup(36.0, part), cup(36.0, "speaker = \"round-20\"\nlead_in = 0\nfirst_layer = 0"));
    assert!(volume(&with[0]) < volume(&without[0]));
    let leak = value(&with[0], "leak_area");
    let wires = disc(value(&with[0], "channel")) - leak;
    assert!(wires > 0.5 && leak > 0.0);
    close(value(&with[0], "leak_share"), 100.0 * leak / value(&with[0], "open_area"));
}

#[test]
fn a_speaker_too_wide_names_the_largest_that_fits() {
    let Err((why, hints)) = made(&job(26.0, PRINT, "speaker = \"oval-20x30\"")) else {
        panic!("it does not fit")
    };
    assert!(why.contains("short by"), "{why}");
    assert!(hints.iter().any(|h| h.contains("that works: round-20")), "{hints:?}");
}
