//! What may be entered for a board sled.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::fixing::SCREW;
use super::super::module::{FROM_Z, GROOVE_AT, KEEL, SLACK, WIRE, WIRES};
use crate::measure::{Default, Kind, Param, Unit};

/// Largest size of a board either way, mm; it goes into a handle.
pub(super) const LARGEST: f64 = 400.0;

const X: Param = Param::number(
    "x",
    Unit::Mm,
    (-60.0, 60.0),
    "Its middle across the board: from the board's middle line to the right, as you look at the \
     component side with the front away from you.",
);
const Z: Param = Param::number(
    "z",
    Unit::Mm,
    (-50.0, LARGEST + 50.0),
    "Its middle along the board, from the edge at the cap.",
);
const ACROSS: Param = Param::number("width", Unit::Mm, (0.2, 120.0), "Its size across the board.");
const ALONG: Param = Param::number("length", Unit::Mm, (0.2, LARGEST), "Its size along the board.");
const SIDE: Param = Param::choice(
    "side",
    &["top", "bottom"],
    "On which side of the board it is: top is the component side.",
)
.or_word("top");

/// Rows of a notch.
const NOTCH: &[Param] = &[X, Z, ACROSS, ALONG];

/// Rows of a hole.
const HOLE: &[Param] =
    &[X, Z, Param::number("diameter", Unit::Mm, (0.5, 12.0), "Its diameter, measured.")];

/// Rows of a keep-out.
const KEEP_OUT: &[Param] = &[
    X,
    Z,
    ACROSS,
    ALONG,
    Param::number("height", Unit::Mm, (0.1, 60.0), "How far it stands off the board, at most."),
    SIDE,
];

/// Rows of a port.
const PORT: &[Param] = &[
    Param::choice(
        "edge",
        &["cap", "front", "left", "right"],
        "The edge of the board where the plug or card goes in; left and right as you look at the \
         component side with the front away from you.",
    ),
    Param::number(
        "offset",
        Unit::Mm,
        (-60.0, LARGEST),
        "Middle of the socket along that edge: from the board's middle line to the right, or from \
         the edge at the cap.",
    ),
    Param::number("width", Unit::Mm, (0.5, 60.0), "Width of the socket or card, along the edge."),
    Param::number("height", Unit::Mm, (0.3, 30.0), "Height of the socket, on the board."),
    SIDE,
    Param {
        key: "plug",
        kind: Kind::Component { family: "plugs", default: Default::Absent },
        doc: "The plug that goes in; left out, only the socket's own opening is kept free.",
    },
];

/// Rows of the part.
pub(super) const PARAMS: &[Param] = &[
    Param::choice(
        "outline",
        &["rectangle", "notched", "polygon", "dxf"],
        "The board's outline: width and length, the same less notches, corners, or a drawing.",
    )
    .or_word("rectangle"),
    Param::number("width", Unit::Mm, (2.0, 120.0), "Width of the board, measured.").optional().asked(),
    Param::number("length", Unit::Mm, (2.0, LARGEST), "Length of the board, measured.").optional().asked(),
    Param {
        key: "notch",
        kind: Kind::List { rows: NOTCH, count: (0, 16), starts: 0 },
        doc: "Rectangles that are missing at corners or edges of a notched board.",
    },
    Param {
        key: "corners",
        kind: Kind::Points { min: -LARGEST, max: LARGEST, count: (3, 64), optional: true },
        doc: "Corners [x, z] of a polygon in order, from any zero: to the right and towards the front.",
    },
    Param::file(
        "dxf",
        &["dxf"],
        "A drawing with the outline as one closed line: ASCII DXF of R12 or later, with lines, arcs or polylines.",
    ),
    Param::note("dxf_layer", 80, "The layer of the drawing that has the outline; left out, all."),
    Param {
        key: "dxf_unit",
        kind: Kind::Choice { options: &["mm", "inch"], default: Default::Absent },
        doc: "The unit of a drawing that does not say it itself.",
    },
    Param::number("thickness", Unit::Mm, (0.3, 6.0), "Thickness of the bare board.").or(1.6),
    Param::number(
        "thickness_tolerance",
        Unit::Mm,
        (0.0, 1.0),
        "How far the thickness may be off, either way; boards are made to a tenth of it.",
    )
    .or(0.16),
    Param::number(
        "board_tolerance",
        Unit::Mm,
        (0.0, 1.0),
        "How far width and length may be off, either way.",
    )
    .or(0.1),
    Param::number(
        "height",
        Unit::Mm,
        (-60.0, 60.0),
        "Height (y) of the side of the board that lies below; left out, as low as everything fits.",
    )
    .optional(),
    Param::choice(
        "face",
        &["up", "down"],
        "Whether the component side looks up (+y, to the switches) or down.",
    )
    .or_word("up"),
    Param::number(
        "under",
        Unit::Mm,
        (0.2, 30.0),
        "Free depth below the whole board, for solder joints; left out, 2 or what there is room for.",
    )
    .optional(),
    Param::choice(
        "hold",
        &["rails", "posts"],
        "How the board is held: its long edges slide in rails, or it lies on sills below its holes.",
    )
    .or_word("rails"),
    Param::number(
        "rail",
        Unit::Mm,
        (0.8, 6.0),
        "How far the rails reach over the board's long edges.",
    )
    .or(1.5),
    Param::choice(
        "lock",
        &["gate", "none"],
        "What locks a board in rails at the cap's end: a gate that drops in across its edge, or nothing, if you glue it.",
    )
    .or_word("gate"),
    Param::number(
        "gate",
        Unit::Mm,
        (1.6, 8.0),
        "Thickness of the gate; left out, 2.8 or the printer's least pin.",
    )
    .optional(),
    Param {
        key: "hole",
        kind: Kind::List { rows: HOLE, count: (0, 12), starts: 0 },
        doc: "Holes of the board that screws go through; each gets a sill below it.",
    },
    Param::choice(
        "fixing",
        &["screws", "glue"],
        "How a board on sills is fixed: a screw through each hole, or glue.",
    )
    .or_word("screws"),
    SCREW.or_word("m2.5-pan"),
    Param {
        key: "keep_out",
        kind: Kind::List { rows: KEEP_OUT, count: (0, 24), starts: 0 },
        doc: "What stands off the board: rectangles with their heights.",
    },
    Param {
        key: "port",
        kind: Kind::List { rows: PORT, count: (0, 8), starts: 0 },
        doc: "Sockets at the board's edges that must be reached while the chassis is out.",
    },
    Param::choice(
        "strain_relief",
        &["none", "tie", "comb"],
        "What holds the wires at the cap's end: a tongue for a cable tie, or slots in the gate.",
    )
    .or_word("none"),
    Param {
        key: "leads",
        kind: Kind::Integer { min: 1, max: 12, default: Default::Value(2) },
        doc: "Number of wires that the strain relief holds.",
    },
    Param::component("lead", "wires", "The wire that it holds, all alike.").or_word("awg26"),
    Param::number("tie_width", Unit::Mm, (1.5, 6.0), "Width of the cable tie.").or(2.5),
    Param::number("tie_thickness", Unit::Mm, (0.6, 2.5), "Thickness of the cable tie.").or(1.1),
    Param::number(
        "clearance",
        Unit::Mm,
        (0.0, 1.0),
        "Room on each side of the largest board; left out, half the printer's sliding fit.",
    )
    .optional(),
    Param::number(
        "wall",
        Unit::Mm,
        (0.3, 6.0),
        "Least wall around the board's room; left out, 1.2 or what the printer needs.",
    )
    .optional(),
    Param::number(
        "stop",
        Unit::Mm,
        (1.0, 20.0),
        "Thickness of the wall at the front that the board stops at.",
    )
    .or(2.0),
    FROM_Z,
    KEEL,
    WIRES,
    WIRE,
    GROOVE_AT,
    SLACK,
    FIT,
    COAT,
    LEAD_IN,
    FIRST_LAYER,
];
