//! What may be entered for an adapter ring.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::marks::MARK_DEPTH;
use super::super::module::{FROM_Z, GROOVE_AT, KEEL, SLACK, WIRE, WIRES};
use crate::measure::{Default, Kind, Param, Unit};

/// Rows of one hole through the ring.
const HOLE: &[Param] = &[
    Param::number(
        "z",
        Unit::Mm,
        (0.0, 1500.0),
        "Where the hole's middle is along the handle, from the end cap's face.",
    ),
    Param::number(
        "clocking",
        Unit::Degrees,
        (-360.0, 360.0),
        "Which way round the handle it is: 0 at the switches, counter-clockwise seen from the front.",
    )
    .or(0.0),
    Param::number(
        "diameter",
        Unit::Mm,
        (1.0, 20.0),
        "Diameter of the hole, with room for what passes: a retention screw or a plunger.",
    )
    .or(4.5),
    Param::number(
        "slot",
        Unit::Mm,
        (0.0, 60.0),
        "How much longer than wide it is along the bore; 0 for a round hole.",
    )
    .or(0.0),
];

/// Rows of the part.
pub(super) const ROWS: &[Param] = &[
    Param::number(
        "inner",
        Unit::Mm,
        (5.0, 110.0),
        "Outside diameter of the small chassis that the ring holds, largest reading.",
    ),
    Param::choice(
        "inner_fit",
        &["press", "slide", "loose"],
        "How the chassis sits in the ring; the clearance on the diameter is the printer's.",
    )
    .or_word("slide"),
    Param::choice(
        "form",
        &["closed", "split"],
        "A closed ring, or a split one that springs against the bore.",
    )
    .or_word("closed"),
    Param::number(
        "gap_angle",
        Unit::Degrees,
        (2.0, 120.0),
        "Angle of a split ring's gap; left out, 12 or what its squeeze needs.",
    )
    .optional(),
    Param::number("gap_at", Unit::Degrees, (-360.0, 360.0), "Clocking of the gap's middle.")
        .or(180.0),
    Param::number(
        "spring",
        Unit::Mm,
        (0.0, 3.0),
        "How much larger than its fit a split ring's diameter is while it lies free.",
    )
    .or(0.5),
    Param::number("length", Unit::Mm, (3.0, 300.0), "Length of the ring in the bore.").or(12.0),
    FROM_Z,
    Param {
        key: "hole",
        kind: Kind::List { rows: HOLE, count: (0, 6), starts: 0 },
        doc: "Holes through the wall, so that retention screws and plungers still reach.",
    },
    Param::number(
        "flange",
        Unit::Mm,
        (0.0, 10.0),
        "Thickness of a flange that bears on the bore's end at the cap; 0 for none.",
    )
    .or(0.0),
    Param::number(
        "flange_diameter",
        Unit::Mm,
        (8.0, 200.0),
        "Outside diameter of the flange; left out, the handle's, or 4 more than the bore.",
    )
    .optional(),
    Param {
        key: "shim_count",
        kind: Kind::Integer { min: 0, max: 6, default: Default::Value(0) },
        doc: "Number of further rings with thicker walls, to try which fits best.",
    },
    Param::number(
        "shim_step",
        Unit::Mm,
        (0.02, 1.0),
        "How much thicker than the one before each of them is all round: half of what its diameter grows.",
    )
    .or(0.1),
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
