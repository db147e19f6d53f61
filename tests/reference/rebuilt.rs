//! Parts built again from the numbers of their reports by a B-rep kernel's own
//! booleans: the examples, and random jobs over the range of every kind.

#[path = "../../src/parts/wire_cover/random.rs"]
mod cover;
#[path = "../../src/parts/crystal_cradle/random.rs"]
mod cradle;
#[path = "../../src/parts/speaker_cup/random.rs"]
mod cup;
#[path = "../../src/parts/kill_pocket/random.rs"]
mod kill;
#[path = "../../src/parts/front_mount/random.rs"]
mod mount;
#[path = "../../src/parts/switch_plate/random.rs"]
mod plate;
#[path = "../../src/parts/display_plug/random.rs"]
mod plug;
#[path = "../../src/parts/adapter_ring/random.rs"]
mod ring;
#[path = "../../src/parts/locking_seat/random.rs"]
mod seat;
#[path = "../../src/parts/board_sled/random.rs"]
mod sled;
#[path = "../../src/parts/spine/random.rs"]
mod spine;
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
const EACH: usize = 40;
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
    ("keel", &["1.5", "3", "4"]),
];
const SELDOM_IN_TRAYS: &[(&str, &[&str])] = &[
    ("wires", &["0", "1", "3"]),
    ("cover", &["\"closed\"", "\"fingers\"", "\"mouth\""]),
    ("duct", &["\"closed\""]),
    ("positive", &["\"back\""]),
    ("keel", &["1", "2.5", "4"]),
];
const SELDOM_IN_CUPS: &[(&str, &[&str])] = &[
    ("keel", &["1", "3", "4.5"]),
    ("wires", &["2", "4"]),
    ("facing", &["\"front\""]),
    ("retention", &["\"ring\""]),
    ("exit", &["\"face\""]),
    ("gasket", &["0.5", "1"]),
];
const SELDOM_IN_MOUNTS: &[(&str, &[&str])] = &[
    ("keel", &["1", "2.5"]),
    ("rim", &["0.5", "1"]),
    ("wires", &["1", "2"]),
    ("socket_diameter", &["40"]),
    ("tube_diameter", &["39.8"]),
    ("retention", &["\"m3-socket\""]),
];
const SELDOM_IN_PLUGS: &[(&str, &[&str])] = &[
    ("head", &["\"dome\"", "\"cone\""]),
    ("seat", &["\"cone\""]),
    ("windows", &["1", "3", "4"]),
    ("window", &["\"round\""]),
    ("retention", &["\"m3-socket\""]),
    ("grip", &["\"slot\"", "\"none\""]),
];

/// A part's rows with some of those that it seldom has.
fn with(rows: &[(&str, &[&str])], mut part: String, rng: &mut Rng) -> String {
    for (key, words) in rows {
        let written = part.lines().any(|l| l.starts_with(&format!("{key} =")));
        if !written && rng.u8(0..3) == 0 {
            writeln!(part, "{key} = {}", rng.choice(*words).expect("some")).expect("text");
        }
    }
    part
}

fn random_plate(rng: &mut Rng) -> String {
    let mut text = plate::random(rng);
    text.part = with(SELDOM_IN_PLATES, text.part, rng);
    text.toml()
}

fn random_tray(rng: &mut Rng) -> String {
    let text = tray::random_job(rng, &Library::shipped(), OFTEN);
    with(SELDOM_IN_TRAYS, text, rng)
}

/// A kind of part that is built again.
struct Built {
    kind: &'static str,
    /// A random job with such a part.
    random: fn(&mut Rng) -> String,
    /// What parts that are the same must have between them.
    features: &'static [&'static str],
}

/// All kinds: one row each.
const BUILT: &[Built] = &[
    Built {
        kind: "crystal_cradle",
        random: |rng| cradle::random(rng, true),
        features: &[
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
            "keel",
        ],
    },
    Built {
        kind: "switch_plate",
        random: random_plate,
        features: &[
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
            "keel",
            "legs through",
            "legs surface",
            "1 plungers",
            "2 plungers",
            "3 plungers",
        ],
    },
    Built {
        kind: "cell_tray",
        random: random_tray,
        features: &[
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
            "keel",
        ],
    },
    Built {
        kind: "speaker_cup",
        random: |rng| with(SELDOM_IN_CUPS, cup::random_job(rng, &Library::shipped(), OFTEN), rng),
        features: &[
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
    },
    Built {
        kind: "board_sled",
        random: |rng| sled::random_job(rng, &Library::shipped()),
        features: &[
            "outline rectangle",
            "outline notched",
            "outline polygon",
            "face up",
            "face down",
            "hold rails",
            "hold posts",
            "lock gate",
            "lock none",
            "fixing screws",
            "fixing glue",
            "strain_relief none",
            "strain_relief tie",
            "strain_relief comb",
            "keep-out top",
            "keep-out bottom",
            "port cap",
            "port front",
            "port left",
            "port right",
            "plug",
            "keel",
            "groove",
        ],
    },
    Built {
        kind: "kill_pocket",
        random: kill::random,
        features: &[
            "cap glue",
            "cap screws",
            "cap ears",
            "cap no ears",
            "side glue",
            "side screws",
            "side ears",
            "side no ears",
            "on high",
            "on low",
            "leads cap",
            "leads front",
            "keel",
            "wires",
            "mark_depth",
            "coat",
        ],
    },
    Built {
        kind: "locking_seat",
        random: seat::random,
        features: &[
            "seat flat",
            "seat dimple",
            "seat slot along",
            "seat slot around",
            "point cone",
            "point cup",
            "point dog",
            "point flat",
            "keel",
            "core",
            "wires",
            "mark_depth",
            "coat",
        ],
    },
    Built {
        kind: "front_mount",
        random: |rng| {
            with(SELDOM_IN_MOUNTS, mount::random_job(rng, &Library::shipped(), OFTEN), rng)
        },
        features: &[
            "fixing glue",
            "fixing screws",
            "key",
            "no key",
            "keel",
            "rim",
            "groove",
            "socket",
            "retention",
        ],
    },
    Built {
        kind: "display_plug",
        random: |rng| with(SELDOM_IN_PLUGS, plug::random_job(rng, &Library::shipped(), OFTEN), rng),
        features: &[
            "head flat",
            "head dome",
            "head cone",
            "seat flat",
            "seat cone",
            "grip groove",
            "grip slot",
            "grip none",
            "retention",
            "windows slot",
            "windows round",
            "light_bore",
        ],
    },
    Built {
        kind: "wire_cover",
        random: cover::random,
        features: &[
            "hold clips",
            "hold glue",
            "less than half around",
            "more than half around",
            "lands",
            "pieces",
            "coat",
        ],
    },
    Built {
        kind: "adapter_ring",
        random: ring::random,
        features: &[
            "form closed",
            "form split",
            "inner_fit press",
            "inner_fit slide",
            "inner_fit loose",
            "flange",
            "keel",
            "wires",
            "shim_count",
            "round hole",
            "slotted hole",
        ],
    },
    Built {
        kind: "spine",
        random: |rng| spine::random(rng).toml(),
        features: &[
            "rings none",
            "rings ends",
            "rings between",
            "fixing glue",
            "fixing screws",
            "head countersunk",
            "notches",
            "path keel",
            "path outside",
            "pieces",
            "one piece",
        ],
    },
];

/// `BOREWRIGHT_REBUILT` sets how many random jobs of each kind are built, and
/// `BOREWRIGHT_KINDS` of which kinds alone: words of their names.
#[test]
fn parts_built_again_from_their_numbers_are_the_same() {
    let place = folder("parts");
    let mut cases = Vec::new();
    for (name, text) in examples() {
        cases.push(case(&name, text, &place).expect("an example can be made"));
    }
    let asked = std::env::var("BOREWRIGHT_REBUILT").ok().and_then(|n| n.parse().ok());
    let each = asked.unwrap_or(EACH);
    let only = std::env::var("BOREWRIGHT_KINDS").ok();
    let wanted = |built: &&Built| {
        only.as_ref().is_none_or(|only| only.split(',').any(|word| built.kind.contains(word)))
    };
    for built in BUILT.iter().filter(wanted) {
        let kind = built.kind;
        let mut rng = Rng::with_seed(3);
        let before = cases.len();
        for tried in 0..TRIES * each {
            if cases.len() - before == each {
                break;
            }
            let name = format!("{}{tried}", kind.replace('_', "-"));
            cases.extend(case(&name, (built.random)(&mut rng), &place));
        }
        assert_eq!(cases.len() - before, each, "too few jobs of {kind} can be made");
    }
    let (passed, text) = judge_by("part_referee.py", &place, cases);
    println!("{text}");
    assert!(passed, "{text}");
    let verdict = std::fs::read_to_string(place.join("verdict.json")).expect("just written");
    let verdict: Value = serde_json::from_str(&verdict).expect("it is JSON");
    for Built { kind, features, .. } in BUILT.iter().filter(wanted) {
        let of = &verdict[*kind];
        // An example or more, and the random ones.
        assert!(of["same"].as_u64() > Some(each as u64), "{kind}: {}", of["same"]);
        // A few random jobs do not have all.
        for feature in features.iter().filter(|_| each >= EACH) {
            assert!(of["features"][*feature].as_u64() > Some(0), "{kind}: no {feature}");
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
