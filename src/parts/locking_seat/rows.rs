//! What may be entered for a locking seat.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::marks::MARK_DEPTH;
use super::super::module::{FROM_Z, GROOVE_AT, KEEL, SLACK, WIRE, WIRES};
use crate::measure::{Param, Unit};

/// Rows of the part.
pub(super) const ROWS: &[Param] = &[
    Param::number(
        "screw_z",
        Unit::Mm,
        (0.0, 1500.0),
        "Where the retention screw's middle is along the handle, from the end cap's face.",
    ),
    Param::number(
        "clocking",
        Unit::Degrees,
        (-360.0, 360.0),
        "Which way round the handle the screw sits: 0 at the switches, counter-clockwise seen from the front.",
    )
    .or(0.0),
    Param::component("screw", "grubs", "The retention screw, which is in the handle.")
        .or_word("m4-cup"),
    Param::choice(
        "seat",
        &["flat", "dimple", "slot"],
        "What the screw's point bears in: a plane square to it, a round blind hole, or a slot.",
    )
    .or_word("dimple"),
    Param::choice(
        "slot",
        &["along", "around"],
        "Which way a slot runs: along the bore, or around the part.",
    )
    .or_word("along"),
    Param::number(
        "travel",
        Unit::Mm,
        (0.2, 60.0),
        "How far a slot along the bore lets the part move in all.",
    )
    .or(4.0),
    Param::number(
        "angle_range",
        Unit::Degrees,
        (1.0, 150.0),
        "How far a slot around the part lets it turn in all.",
    )
    .or(30.0),
    Param::number(
        "depth",
        Unit::Mm,
        (0.3, 8.0),
        "Depth of the seat below the part's outside; left out, 1.5, or what the point's cone needs.",
    )
    .optional(),
    Param::number(
        "flat_length",
        Unit::Mm,
        (2.0, 100.0),
        "Length of a flat along the bore; left out, as long as the screw and its room.",
    )
    .optional(),
    Param::number(
        "clearance",
        Unit::Mm,
        (0.0, 1.5),
        "Room on each side of the screw in its seat; left out, half the printer's sliding fit.",
    )
    .optional(),
    Param::number(
        "gap",
        Unit::Mm,
        (0.0, 2.0),
        "What is left between the screw's point and the seat's floor; 0 when it presses.",
    )
    .or(0.0),
    Param::number("length", Unit::Mm, (4.0, 200.0), "Length of the part along the bore.").or(16.0),
    Param { doc: "Where the part's low end sits, from the end cap; left out, so that the screw is in its middle.", ..FROM_Z.optional() },
    Param::number(
        "core",
        Unit::Mm,
        (0.0, 100.0),
        "Diameter of a round passage along the axis; 0 for none.",
    )
    .or(0.0),
    Param::number(
        "safety",
        Unit::One,
        (1.0, 10.0),
        "Safety against the stress that the material takes.",
    )
    .or(2.0),
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
