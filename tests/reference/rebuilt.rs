//! Parts built again from the numbers of their reports by a B-rep kernel's own
//! booleans: the examples, and random jobs over the range of every kind.

#[path = "../../src/parts/crystal_cradle/random.rs"]
mod cradle;
#[path = "../../src/parts/speaker_cup/random.rs"]
mod cup;
#[path = "../../src/parts/kill_pocket/random.rs"]
mod kill;
#[path = "../../src/parts/switch_plate/random.rs"]
mod plate;
#[path = "../../src/parts/cell_tray/random.rs"]
mod tray;

use std::fmt::Write;
use std::path::Path;

use borewright::job::{files, make};
use borewright::measure::Library;
use fastrand::Rng;
use serde_json::{Value, json};

use crate::vary::{examples, read};
use crate::{folder, judge_by};

/// Random jobs of each kind of part.
const EACH: usize = 60;
/// Jobs tried for each that is to be made.
const TRIES: usize = 20;

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

/// Rows that random jobs seldom have, to be added with a chance of a third
/// where they are not.
const SELDOM_IN_PLATES: &[(&str, &[&str])] = &[
    ("fixing", &["\"screws\""]),
    ("screw", &["\"m1.6-countersunk\"", "\"m2-pan\"", "\"m2-socket\""]),
    ("print_on", &["\"end\""]),
    ("wires", &["\"cap\"", "\"front\"", "\"none\""]),
];
const SELDOM_IN_TRAYS: &[(&str, &[&str])] = &[
    ("wires", &["0", "1", "3"]),
    ("cover", &["\"closed\"", "\"fingers\"", "\"mouth\""]),
    ("duct", &["\"closed\""]),
    ("positive", &["\"back\""]),
];

const SELDOM_IN_CUPS: &[(&str, &[&str])] = &[
    ("keel", &["1", "3", "4.5"]),
    ("wires", &["2", "4"]),
    ("facing", &["\"front\""]),
    ("retention", &["\"ring\""]),
    ("exit", &["\"face\""]),
    ("gasket", &["0.5", "1"]),
];

const SELDOM_IN_POCKETS: &[(&str, &[&str])] = &[
    ("keel", &["1", "3", "4.5"]),
    ("wires", &["2", "4"]),
    ("on_at", &["0", "33", "90", "200"]),
    ("mark_depth", &["0", "0.6"]),
    ("retention", &["\"glue\""]),
];

fn with(rows: &[(&str, &[&str])], part: &mut String, rng: &mut Rng) {
    for (key, words) in rows {
        let written = part.lines().any(|l| l.starts_with(&format!("{key} =")));
        if !written && rng.u8(0..3) == 0 {
            writeln!(part, "{key} = {}", rng.choice(*words).expect("some")).expect("text");
        }
    }
}

fn random_plate(rng: &mut Rng) -> String {
    let mut text = plate::random(rng);
    with(SELDOM_IN_PLATES, &mut text.part, rng);
    text.toml()
}

fn random_tray(rng: &mut Rng) -> String {
    let mut text = tray::random_job(rng, &Library::shipped(), OFTEN);
    with(SELDOM_IN_TRAYS, &mut text, rng);
    text
}

fn random_cup(rng: &mut Rng) -> String {
    let mut text = cup::random_job(rng, &Library::shipped(), OFTEN);
    with(SELDOM_IN_CUPS, &mut text, rng);
    text
}

fn random_pocket(rng: &mut Rng) -> String {
    let mut text = kill::random_job(rng, &Library::shipped(), OFTEN);
    with(SELDOM_IN_POCKETS, &mut text, rng);
    text
}

/// What parts that are the same must have between them, by kind.
const COVERED: &[(&str, &[&str])] = &[
    (
        "crystal_cradle",
        &[
            "retention glue",
            "retention lips",
            "retention cap",
            "cavity flat",
            "cavity arc",
            "pixel low",
            "pixel high",
            "board none",
            "board round",
            "board rectangle",
            "light round",
            "light square",
            "stone round",
            "stone hexagon",
            "stone facets",
            "stone rectangle",
            "stone points",
            "tip_low",
            "tip_high",
            "groove",
        ],
    ),
    (
        "switch_plate",
        &[
            "facet across",
            "facet trough",
            "plungers stay",
            "plungers out",
            "wires cap",
            "wires front",
            "wires none",
            "fixing glue",
            "fixing screws",
            "head countersunk",
            "head pan",
            "head socket",
            "print_on back",
            "print_on end",
            "land_top",
            "legs through",
            "legs surface",
            "1 plungers",
            "2 plungers",
            "3 plungers",
        ],
    ),
    (
        "cell_tray",
        &[
            "positive front",
            "positive back",
            "cover none",
            "cover closed",
            "cover fingers",
            "cover mouth",
            "layers lying",
            "layers upright",
            "duct open",
            "duct closed",
            "no wires",
            "base",
            "tail",
            "mark_depth",
        ],
    ),
    (
        "speaker_cup",
        &[
            "facing cap",
            "facing front",
            "retention glue",
            "retention ring",
            "exit behind",
            "exit face",
            "round",
            "oval",
            "keel",
            "wires",
            "gasket",
        ],
    ),
    (
        "kill_pocket",
        &["slide", "push", "screws", "glue", "ears", "ledge", "marks", "no marks", "keel", "wires"],
    ),
];

/// `BOREWRIGHT_REBUILT` sets how many random jobs of each kind are built.
#[test]
fn parts_built_again_from_their_numbers_are_the_same() {
    let place = folder("parts");
    let mut cases = Vec::new();
    for (name, text) in examples() {
        cases.push(case(&name, text, &place).expect("an example can be made"));
    }
    let asked = std::env::var("BOREWRIGHT_REBUILT").ok().and_then(|n| n.parse().ok());
    let each = asked.unwrap_or(EACH);
    type Random = fn(&mut Rng) -> String;
    let kinds: &[(&str, Random)] = &[
        ("cradle", |rng| cradle::random(rng, true)),
        ("plate", random_plate),
        ("tray", random_tray),
        ("cup", random_cup),
        ("pocket", random_pocket),
    ];
    for &(kind, random) in kinds {
        let mut rng = Rng::with_seed(3);
        let before = cases.len();
        for tried in 0..TRIES * each {
            if cases.len() - before == each {
                break;
            }
            cases.extend(case(&format!("{kind}{tried}"), random(&mut rng), &place));
        }
        assert_eq!(cases.len() - before, each, "too few {kind} jobs can be made");
    }
    let (passed, text) = judge_by("part_referee.py", &place, cases);
    println!("{text}");
    assert!(passed, "{text}");
    let verdict = std::fs::read_to_string(place.join("verdict.json")).expect("just written");
    let verdict: Value = serde_json::from_str(&verdict).expect("it is JSON");
    for &(kind, features) in COVERED {
        let of = &verdict[kind];
        assert!(of["same"].as_u64() >= Some(each as u64), "{kind}: {}", of["same"]);
        for feature in features {
            assert!(of["features"][feature].as_u64() > Some(0), "{kind}: no {feature}");
        }
    }
}

/// The referee is worth nothing if other numbers give the same part: the
/// examples' reports with one number off by little.
#[test]
fn parts_built_from_other_numbers_are_told_apart() {
    /// The example, where its report has the number, and what is added.
    const OFF: &[(&str, &str, f64)] = &[
        ("lamplighters-rod", "/handle/inputs/caliper/value", 0.002),
        ("lamplighters-rod", "/parts/0/inputs/clearance/value", 0.001),
        ("lamplighters-rod", "/parts/0/inputs/station/1/turn/value", 0.1),
        ("lamplighters-rod", "/parts/0/inputs/pixel/package_height/value", 0.01),
        ("ember-wand", "/parts/0/inputs/cell/diameter_max/value", 0.002),
        ("ember-wand", "/parts/0/inputs/mark_depth/value", 0.001),
        ("ember-wand", "/parts/0/inputs/tab_thickness/value", 0.01),
        ("two-plungers", "/parts/0/inputs/plunger/1/clocking/value", 0.1),
        ("two-plungers", "/parts/0/inputs/plunger/0/z/value", 0.01),
        ("two-plungers", "/parts/0/inputs/first_layer/value", 0.01),
    ];
    let place = folder("other-parts");
    let mut cases = Vec::new();
    for (name, text) in examples() {
        let Some(case) = case(&name, text, &place) else { continue };
        let report = std::fs::read_to_string(place.join(format!("{name}-report.json")));
        let report: Value =
            serde_json::from_str(&report.expect("just written")).expect("it is JSON");
        for (i, (_, at, by)) in OFF.iter().enumerate().filter(|(_, off)| off.0 == name) {
            let (mut report, mut case) = (report.clone(), case.clone());
            let number = report.pointer_mut(at).unwrap_or_else(|| panic!("{name}: no {at}"));
            *number = json!(number.as_f64().expect("a number") + by);
            let file = format!("off{i}.json");
            std::fs::write(place.join(&file), report.to_string()).expect("target is writable");
            case["report"] = json!(file);
            case["name"] = json!(format!("off {i}"));
            cases.push(case);
        }
    }
    assert_eq!(cases.len(), OFF.len());
    let (passed, text) = judge_by("part_referee.py", &place, cases);
    println!("{text}");
    assert!(!passed, "{text}");
    for (i, off) in OFF.iter().enumerate() {
        let fault = format!("FAULT off {i}: ");
        let found = text.lines().any(|l| l.starts_with(&fault) && l.contains("in one only"));
        assert!(found, "{off:?} is not told apart:\n{text}");
    }
}
