//! What may be entered for a kill-switch pocket.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::marks::MARK_DEPTH;
use super::super::module::{FROM_Z, GROOVE_AT, KEEL, SLACK, WIRE, WIRES};
use crate::measure::{Param, Unit};

/// Rows of the part.
pub(super) const ROWS: &[Param] = &[
    Param::component("switch", "kill_switches", "The switch; measured sizes beat those of a profile."),
    Param::number(
        "current",
        Unit::Ampere,
        (0.01, 30.0),
        "Largest current that the cell gives, to compare with what the switch is rated for.",
    ),
    FROM_Z,
    Param::number(
        "length",
        Unit::Mm,
        (4.0, 120.0),
        "Length of the part along the bore; left out, as long as the switch needs.",
    )
    .optional(),
    Param::choice(
        "face",
        &["cap", "side"],
        "Which way the lever points: to the end cap, or sideways out of the part.",
    )
    .or_word("cap"),
    Param::number(
        "turn",
        Unit::Degrees,
        (-360.0, 360.0),
        "With the lever to the cap, the clocking that its travel runs along; else the clocking that it points to.",
    )
    .or(0.0),
    Param::choice(
        "on",
        &["high", "low"],
        "At which end of its travel the lever closes the circuit: where `turn` points to, or the other; sideways: nearer to the front, or to the cap.",
    )
    .or_word("high"),
    Param::number(
        "recess",
        Unit::Mm,
        (0.3, 10.0),
        "How far the lever stays below the part's end, or below its outside, so that nothing moves it by chance.",
    )
    .or(1.0),
    Param::number(
        "reach",
        Unit::Mm,
        (0.2, 8.0),
        "Room around the lever's way for a fingernail or a pin.",
    )
    .or(1.0),
    Param::number(
        "clearance",
        Unit::Mm,
        (0.0, 1.0),
        "Room on each side of the switch in its pocket; left out, half the printer's sliding fit.",
    )
    .optional(),
    Param::choice(
        "fixing",
        &["glue", "screws"],
        "How the switch is held: glued on its face or ears, or by screws through its ears.",
    )
    .or_word("glue"),
    Param::component("lead", "wires", "The switch's own two wires.").or_word("awg26"),
    Param::choice(
        "leads",
        &["front", "cap"],
        "To which end the switch's wires leave, if the lever points sideways.",
    )
    .or_word("front"),
    MARK_DEPTH,
    FIT,
    COAT,
    KEEL,
    WIRES,
    WIRE,
    GROOVE_AT,
    SLACK,
    FIRST_LAYER,
    LEAD_IN,
];
