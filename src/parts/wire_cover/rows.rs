//! What may be entered for a wire cover.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::module::FROM_Z;
use crate::measure::{Default, Kind, Param, Unit};

/// Rows of one land.
const LAND: &[Param] = &[
    Param::number("clocking", Unit::Degrees, (-360.0, 360.0), "Clocking of the land's middle."),
    Param::number("width", Unit::Mm, (1.0, 60.0), "Width of the flat across the cover.").or(6.0),
];

/// Rows of the part.
pub(super) const ROWS: &[Param] = &[
    Param::number(
        "from_angle",
        Unit::Degrees,
        (-360.0, 360.0),
        "Clocking of the cover's first edge: 0 at the switches, counter-clockwise seen from the front.",
    )
    .or(-60.0),
    Param::number(
        "to_angle",
        Unit::Degrees,
        (-360.0, 720.0),
        "Clocking of its other edge, counter-clockwise from the first.",
    )
    .or(60.0),
    Param::number("length", Unit::Mm, (4.0, 1000.0), "Length of all pieces together, with their joints."),
    FROM_Z,
    Param {
        key: "pieces",
        kind: Kind::Integer { min: 1, max: 12, default: Default::Value(1) },
        doc: "Number of pieces of equal length that the cover is made in.",
    },
    Param::number("joint", Unit::Mm, (0.0, 5.0), "Gap between two pieces.").or(0.2),
    Param::number(
        "wall",
        Unit::Mm,
        (0.3, 6.0),
        "Wall of the shell; left out, 1.6 or what the printer needs.",
    )
    .optional(),
    Param::choice(
        "hold",
        &["clips", "glue"],
        "Held by two legs whose hooks grip a rail of the module below, or glued on.",
    )
    .or_word("clips"),
    Param::number(
        "rail_width",
        Unit::Mm,
        (2.0, 100.0),
        "Width of the rail that the hooks grip, across its outside; needed for clips.",
    )
    .optional()
    .asked(),
    Param::number(
        "rail_depth",
        Unit::Mm,
        (1.0, 60.0),
        "Depth from the rail's top edge to its underside that the hooks grip; needed for clips.",
    )
    .optional()
    .asked(),
    Param::number(
        "rail_top",
        Unit::Mm,
        (0.0, 100.0),
        "Distance of the rail's top from the bore's axis; left out, just under the shell.",
    )
    .optional(),
    Param::number(
        "leg",
        Unit::Mm,
        (0.4, 5.0),
        "Thickness of a leg; left out, what the printer needs of a free wall.",
    )
    .optional(),
    Param::number(
        "hook",
        Unit::Mm,
        (0.1, 3.0),
        "How far a hook reaches under the rail; left out, what the material takes again and again, at most 0.8.",
    )
    .optional(),
    Param::number(
        "exit_angle",
        Unit::Degrees,
        (20.0, 80.0),
        "Angle of a hook's upper face to the way off: steeper holds more.",
    )
    .or(50.0),
    Param {
        key: "land",
        kind: Kind::List { rows: LAND, count: (0, 12), starts: 0 },
        doc: "Flats along the outside that decoration is glued on.",
    },
    FIT,
    COAT,
    FIRST_LAYER,
    LEAD_IN,
];
