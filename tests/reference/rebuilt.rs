//! Parts built again from the numbers of their reports by a B-rep kernel's own
//! booleans: the examples, and random jobs over the range of every kind.

#[path = "../../src/parts/crystal_cradle/random.rs"]
mod cradle;
#[path = "../../src/parts/switch_plate/random.rs"]
mod plate;
#[path = "../../src/parts/cell_tray/random.rs"]
mod tray;

use std::path::Path;

use borewright::job::{files, make};
use borewright::measure::Library;
use fastrand::Rng;
use serde_json::{Value, json};

use crate::jobs::{examples, read};
use crate::{folder, judge_by};

/// Random jobs of each kind of part.
const EACH: usize = 60;
/// Jobs tried to get them.
const TRIES: usize = 1_000;

/// Chance of each row of a tray to be written.
const OFTEN: f64 = 0.12;

/// Writes the files of a job that can be made; gives its line for the referee.
fn case(name: &str, text: String, place: &Path) -> Option<Value> {
    let job = read(name, text)?;
    let made = make(&job).ok()?;
    for (file, bytes) in files(&job, &made, "2000-01-01T00:00:00").expect("they can be written") {
        let wanted = file.ends_with(".step") || file.ends_with(".json");
        if wanted {
            std::fs::write(place.join(format!("{name}-{file}")), bytes).expect("writable");
        }
    }
    let prefix = format!("{name}-");
    Some(json!({ "name": name, "report": format!("{name}-report.json"), "prefix": prefix }))
}

#[test]
fn parts_built_again_from_their_numbers_are_the_same() {
    let place = folder("parts");
    let mut cases = Vec::new();
    for (name, text) in examples() {
        cases.push(case(&name, text, &place).expect("an example can be made"));
    }
    type Random = fn(&mut Rng) -> String;
    let kinds: [(&str, Random); 3] = [
        ("cradle", |rng| cradle::random(rng, true)),
        ("plate", |rng| plate::random(rng).toml()),
        ("tray", |rng| tray::random_job(rng, &Library::shipped(), OFTEN)),
    ];
    for (kind, random) in kinds {
        let mut rng = Rng::with_seed(3);
        let before = cases.len();
        for tried in 0..TRIES {
            if cases.len() - before == EACH {
                break;
            }
            cases.extend(case(&format!("{kind}{tried}"), random(&mut rng), &place));
        }
        assert_eq!(cases.len() - before, EACH, "too few {kind} jobs can be made");
    }
    let (passed, text) = judge_by("part_referee.py", &place, cases);
    println!("{text}");
    assert!(passed, "{text}");
}
