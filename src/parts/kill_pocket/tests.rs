//! Tests of kill-switch pockets.

use std::collections::BTreeMap;

use super::super::hinted::hinted;
use super::super::{Body, PART_KINDS, Severity};
use super::random::{job, random_job};
use super::rows::ROWS;
use crate::job::{Job, make};
use crate::measure::{Library, Source, check_rows};
use crate::mesh::{ChordTolerance, tessellate};

const PRINT: &str = "printer = \"fdm-medium\"\nmaterial = \"petg\"";

/// The body, or the refusal's text and its hints.
fn made(text: &str) -> Result<Body, (String, Vec<String>)> {
    let source = Source::new("test.toml", text).expect("UTF-8");
    let job = Job::read(&source, Library::shipped(), PART_KINDS)
        .map_err(|faults| (format!("unread: {faults}\n{text}"), Vec::new()))?;
    match make(&job) {
        Ok(mut made) => Ok(made.remove(0).bodies.remove(0).body),
        Err(error) => {
            let hints = error.0.iter().flat_map(|f| f.hints.clone()).collect();
            Err((error.0.to_string(), hints))
        }
    }
}

fn pocket(bore: f64, part: &str) -> Body {
    made(&job(bore, PRINT, part)).unwrap_or_else(|(why, _)| panic!("{why}\n{part}"))
}

fn value(body: &Body, key: &str) -> f64 {
    let row = body.computed.iter().find(|c| c.key == key);
    row.unwrap_or_else(|| panic!("no computed {key}")).value
}

fn volume(body: &Body) -> f64 {
    body.solid.properties().volume
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 2e-6 * b.abs().max(1.0), "{a} is not {b}");
}

#[test]
fn rows_keep_the_rules() {
    check_rows(ROWS).unwrap();
}

/// Jobs of the random test.
const JOBS: usize = 400;

#[test]
fn random_pockets_are_made_or_refused_with_numbers_and_hints_that_work() {
    let mut rng = fastrand::Rng::with_seed(5007);
    let library = Library::shipped();
    let (mut count, mut followed) = (0, 0);
    let mut whys = BTreeMap::<String, usize>::new();
    for _ in 0..JOBS {
        let text = random_job(&mut rng, &library, 0.1);
        match made(&text) {
            Ok(body) => {
                count += 1;
                let mesh = tessellate(&body.solid, &ChordTolerance::default());
                let mesh = mesh.unwrap_or_else(|e| panic!("{e}\n{text}"));
                assert!((mesh.volume() / volume(&body) - 1.0).abs() < 0.01, "{text}");
                assert!(body.declared.undrawn.is_empty(), "{:?}", body.declared.undrawn);
                assert!(value(&body, "wall_bore") >= 0.4 - 3e-3, "{text}");
                assert!(value(&body, "load") <= 100.0);
            }
            Err((why, hints)) => {
                assert!(!why.starts_with("unread"), "{why}");
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
fn a_pocket_has_the_volume_reckoned_by_hand() {
    let part = "switch = \"push-8\"\ncurrent = 0.5\nlead_in = 0\nfirst_layer = 0\nmark_depth = 0";
    let body = pocket(36.0, part);
    // Case 8.5 + 0.1, pocket 0.2 more; ledges of 1; sink 1 all round.
    let outside = 0.25 * std::f64::consts::PI * value(&body, "outside").powi(2);
    let length = 4.0 + 4.0 + 8.0 + 3.5 + 0.5;
    close(value(&body, "length"), length);
    let (room, case, sink) = (6.8_f64.powi(2), 8.8_f64.powi(2), 10.8_f64.powi(2));
    let wanted = outside * length - room * 8.0 - case * 8.0 - sink * 4.0;
    close(volume(&body), wanted);
    close(value(&body, "lever_below"), 0.5);
    // The marks take a circle and a line off, 0.4 mm deep.
    let marked = pocket(36.0, &part.replace("mark_depth = 0", "mark_depth = 0.4"));
    let (height, line) = (value(&marked, "mark_height"), value(&marked, "mark_line"));
    let ring = std::f64::consts::PI * line * (height - line);
    let bar = line * value(&marked, "mark_bar");
    close(volume(&body) - volume(&marked), 0.4 * (ring + bar));
}

#[test]
fn a_switch_that_is_rated_too_low_is_refused_with_one_that_is_not() {
    let Err((why, hints)) = made(&job(36.0, PRINT, "switch = \"slide-small\"\ncurrent = 2")) else {
        panic!("it is too weak")
    };
    assert!(why.contains("rated 0.5 A; 2 A are to be cut: 1.5 A too much"), "{why}");
    assert!(hints.iter().any(|h| h.contains("slide-3a")), "{hints:?}");
}

#[test]
fn ears_are_screwed_where_they_have_holes_and_glued_where_not() {
    let screwed = pocket(36.0, "switch = \"slide-3a\"\ncurrent = 0.3");
    assert!(value(&screwed, "pilot_wall") > 1.0);
    let glued = pocket(36.0, "switch = \"slide-3a\"\ncurrent = 0.3\nretention = \"glue\"");
    assert!(glued.computed.iter().all(|c| c.key != "pilot"));
    let cautions = screwed.messages.iter().filter(|m| m.severity == Severity::Caution);
    assert_eq!(cautions.count(), 2);
}

#[test]
fn the_line_stands_where_the_lever_is_on() {
    let at = |angle: f64| {
        let part = format!("switch = \"slide-small\"\ncurrent = 0.3\non_at = {angle}");
        let body = pocket(36.0, &part);
        ["mark_on_x", "mark_on_y", "mark_off_x", "mark_off_y"].map(|key| value(&body, key))
    };
    let [x, y, u, v] = at(270.0);
    assert!(x > 5.0 && u < -5.0 && y.abs() < 1e-9 && v.abs() < 1e-9);
    let [x, y, u, v] = at(0.0);
    assert!(y > 5.0 && v < -5.0 && x.abs() < 1e-9 && u.abs() < 1e-9);
}
