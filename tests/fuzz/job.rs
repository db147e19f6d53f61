//! Job files: read, or refused with a place; rendered messages hold no NUL.

use std::sync::OnceLock;

use borewright::job::{Job, make};
use borewright::measure::{Default, Kind, Library, PLACEHOLDER, Param, Source, Unit, render};
use borewright::parts::{PART_KINDS, PartKind};

use super::harness::hash;

/// What a job file is made of.
pub const WORDS: &[&str] = &[
    "format = 1\n",
    "[handle]\n",
    "[print]\n",
    "[[part]]\n",
    "[part.seat]\n",
    "[[part.pin]]\n",
    "kind = \"sample\"\n",
    "name = \"a\"\n",
    "bore = [25.4, 25.5]\n",
    "caliper = 0.02\n",
    "length = 210\n",
    "outside = 32\n",
    "printer = \"fdm-thin\"\n",
    "material = \"petg\"\n",
    "chord = 0.01\n",
    "time = \"2026-03-31T18:00:00\"\n",
    "profile = ",
    "{ profile = \"petg\" }",
    "nan",
    "-inf",
    "1e999",
    "-0.0",
    "0x7fffffffffffffffff",
    "9223372036854775808",
    "\"",
    "'''",
    "[",
    "]",
    "[[",
    "{",
    "}",
    "=",
    ".",
    "\n",
    "\r\n",
    "#",
    "\u{feff}",
    "\u{202e}",
    "\u{0}",
    "µ",
    "true",
    "1979-05-27T07:32:00Z",
    "\\u0000",
    "\"\"\"",
    PLACEHOLDER,
    "4.5",
    "-1",
    "\"blunt\"",
];

const PIN: &[Param] = &[
    Param::number("travel", Unit::Mm, (0.1, 5.0), "How far it goes in."),
    Param {
        key: "switch",
        kind: Kind::Component { family: "switches", default: Default::Value("6x6-h5.0") },
        doc: "The switch below it.",
    },
];

/// A kind with a row of every sort.
const SAMPLE: &[Param] = &[
    Param::number("wall", Unit::Mm, (0.4, 5.0), "A wall.").or(1.2),
    Param {
        key: "ribs",
        kind: Kind::Integer { min: 0, max: 8, default: Default::Value(2) },
        doc: "Ribs.",
    },
    Param::flag("mirrored", "Whether it is mirrored."),
    Param {
        key: "ends",
        kind: Kind::Choice { options: &["blunt", "pointed"], default: Default::Value("blunt") },
        doc: "Its ends.",
    },
    Param::note("label", 12, "A mark on it."),
    Param {
        key: "stations",
        kind: Kind::Numbers { unit: Unit::Mm, min: 0.0, max: 90.0, count: (2, 4), optional: true },
        doc: "Places.",
    },
    Param {
        key: "outline",
        kind: Kind::Points { min: -40.0, max: 40.0, count: (3, 16), optional: true },
        doc: "An outline.",
    },
    Param::component("cell", "cells", "A cell."),
    Param { key: "seat", kind: Kind::Table { rows: PIN, optional: true }, doc: "A seat." },
    Param { key: "pin", kind: Kind::List { rows: PIN, count: (0, 3), starts: 0 }, doc: "Pins." },
];

static SAMPLE_KINDS: &[PartKind] = &[PartKind {
    name: "sample",
    summary: "a sample",
    params: SAMPLE,
    make: |_, _| Ok(Vec::new()),
}];

pub fn run(input: &[u8]) -> u64 {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    let library = LIBRARY.get_or_init(Library::shipped);
    let Ok(source) = Source::new("job.toml", input.to_vec()) else { return 0 };
    let mut kind = 1;
    for kinds in [SAMPLE_KINDS, PART_KINDS] {
        match Job::read(&source, library.clone(), kinds) {
            Ok(job) => {
                let made = make(&job).map_or(0, |parts| 1 + parts.len() as u64);
                kind = kind * 131 + 7 + made;
            }
            Err(faults) => {
                assert!(faults.iter().all(|f| f.place.is_some()), "no place: {faults}");
                let text = render(&faults, false);
                assert!(text.contains("job.toml:") && !text.contains('\u{0}'), "{text}");
                // Which sorts of faults in which fields, not how many.
                let mut sorts: Vec<String> = faults
                    .iter()
                    .map(|f| {
                        let field: String =
                            f.field.chars().filter(|c| !c.is_ascii_digit()).collect();
                        format!("{:?}{field}", std::mem::discriminant(&f.what))
                    })
                    .collect();
                sorts.sort_unstable();
                sorts.dedup();
                sorts.truncate(3);
                kind = kind * 131 + hash(sorts.concat().as_bytes()) % (1 << 40);
            }
        }
    }
    kind
}
