//! What may be entered for a spine.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::fixing::{GRIP, SCREW, SERIES};
use super::super::module::SLACK;
use crate::measure::{Default, Kind, MAX_NAME, Param, Unit};

/// Most runs of one spine. Common practice, no source.
const MAX_RUNS: usize = 12;

/// Rows of one run of wires.
const RUN: &[Param] = &[
    Param {
        key: "from",
        kind: Kind::Text { max_len: MAX_NAME, default: Default::Required },
        doc: "Name of the part that the wires leave.",
    },
    Param {
        key: "to",
        kind: Kind::Text { max_len: MAX_NAME, default: Default::Required },
        doc: "Name of the part that they go to.",
    },
    Param {
        key: "wires",
        kind: Kind::Integer { min: 1, max: 16, default: Default::Value(2) },
        doc: "Number of wires in the run.",
    },
    Param::component("wire", "wires", "The wire, all alike.").or_word("awg28"),
    Param::choice(
        "path",
        &["keel", "outside"],
        "Whether the run lies in a duct in the keel's flat, or along the outside at `clocking`, where \
         the modules have their grooves.",
    )
    .or_word("keel"),
    Param::number(
        "clocking",
        Unit::Degrees,
        (-360.0, 360.0),
        "Clocking of a run along the outside: that of the modules' grooves; rings get a notch there.",
    )
    .or(90.0),
    Param::number(
        "leaves_y",
        Unit::Mm,
        (-60.0, 60.0),
        "Height at which wires leave both modules, from the bore's axis; left out, just above the \
         keel.",
    )
    .optional(),
    Param::number(
        "bend",
        Unit::One,
        (1.0, 20.0),
        "Least radius of a bend over the wire's diameter; 4 is common practice for wires that stay put.",
    )
    .or(4.0),
    Param::number(
        "loop",
        Unit::Mm,
        (0.0, 300.0),
        "Service loop, so that the wires reach when the module lies beside its place.",
    )
    .or(20.0),
    Param::flag("plug", "Whether a plug on the run lets its modules come apart without unsoldering."),
];

/// Rows of a spine.
pub(super) const ROWS: &[Param] = &[
    Param::number(
        "keel",
        Unit::Mm,
        (0.0, 40.0),
        "Depth of the keel from the outside up to the modules; left out, the deepest of their own \
         keels, or all that they leave.",
    )
    .optional(),
    Param::number(
        "from_z",
        Unit::Mm,
        (0.0, 1500.0),
        "Modules that end below this are not joined; left out, all are.",
    )
    .optional(),
    Param::number(
        "to_z",
        Unit::Mm,
        (0.0, 1500.0),
        "Modules that begin above this are not joined; left out, all are.",
    )
    .optional(),
    FIT,
    COAT,
    Param::number(
        "glue_gap",
        Unit::Mm,
        (0.02, 0.5),
        "Gap for glue between the keel and what stands on it.",
    )
    .or(0.1),
    Param::choice(
        "rings",
        &["none", "ends", "between"],
        "Rings that fill the bore and bear against end faces of modules: none, at both ends of the \
         chassis, or between modules too; each where there is room.",
    )
    .or_word("ends"),
    Param::number("ring_length", Unit::Mm, (1.0, 20.0), "Length of a ring along the bore.").or(4.0),
    Param::number(
        "ring_wall",
        Unit::Mm,
        (0.3, 10.0),
        "Thickness of a ring from the bore inwards; left out, as stout as the printer's least pin.",
    )
    .optional(),
    Param::number(
        "seat",
        Unit::Mm,
        (0.0, 2.0),
        "Depth of the notch in the keel that holds a ring or a chair along the bore; 0 for none.",
    )
    .or(0.6),
    Param::number(
        "chair",
        Unit::Mm,
        (0.0, 40.0),
        "Length of the two chairs under a module whose underside lies higher than the keel; 0 for \
         none.",
    )
    .or(4.5),
    Param::number(
        "chair_width",
        Unit::Mm,
        (2.0, 60.0),
        "Width of a chair; left out, as wide as the keel.",
    )
    .optional(),
    Param::choice(
        "fixing",
        &["glue", "screws"],
        "How modules are held on the keel: glued, or by screws from below near both their ends.",
    )
    .or_word("glue"),
    SCREW,
    SERIES,
    GRIP,
    Param::choice(
        "split",
        &["auto", "never"],
        "Whether a keel longer than the printer's bed is made in pieces with keyed joints.",
    )
    .or_word("auto"),
    Param {
        key: "pieces",
        kind: Kind::Integer { min: 1, max: 8, default: Default::Absent },
        doc: "Number of pieces of the keel; left out, as few as fit the bed.",
    },
    Param {
        key: "run",
        kind: Kind::List { rows: RUN, count: (0, MAX_RUNS), starts: 0 },
        doc: "Runs of wires from module to module, for ducts, lengths and what can be taken out.",
    },
    SLACK,
    LEAD_IN,
    FIRST_LAYER,
];
