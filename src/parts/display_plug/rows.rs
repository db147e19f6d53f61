//! What may be entered for a display plug.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use crate::measure::{Default, Kind, Param, Unit};

/// Rows of the part.
pub(super) const ROWS: &[Param] = &[
    Param::number(
        "socket_diameter",
        Unit::Mm,
        (5.0, 100.0),
        "Least inside diameter of the socket that takes the front tube.",
    ),
    Param::number(
        "socket_depth",
        Unit::Mm,
        (3.0, 100.0),
        "Depth of the socket, from the handle's front face to the shoulder.",
    ),
    Param::number(
        "socket_tolerance",
        Unit::Mm,
        (0.0, 1.0),
        "How far readings of the socket may be off, either way.",
    )
    .or(0.03),
    Param::number(
        "shoulder_z",
        Unit::Mm,
        (10.0, 1500.0),
        "Where the socket's shoulder is, from the end cap's face; left out, the handle's length.",
    )
    .optional(),
    FIT,
    COAT,
    Param::number(
        "end_gap",
        Unit::Mm,
        (0.1, 20.0),
        "Gap between the stem's end and the shoulder, or the contacts there.",
    )
    .or(3.0),
    Param::choice(
        "seat",
        &["flat", "cone"],
        "How the flange sits on the handle's front: flat on its face, or with a cone on the socket's edge, which prints without support under a dome or a cone.",
    )
    .or_word("flat"),
    Param::number(
        "flange_diameter",
        Unit::Mm,
        (6.0, 150.0),
        "Diameter of the flange; left out, the handle's outside.",
    )
    .optional(),
    Param::number("flange", Unit::Mm, (0.8, 30.0), "Thickness of the flange's rim.").or(3.0),
    Param::choice("head", &["flat", "dome", "cone"], "Form of the visible head.").or_word("flat"),
    Param::number(
        "head_diameter",
        Unit::Mm,
        (4.0, 150.0),
        "Diameter of the head; left out, the flange's.",
    )
    .optional(),
    Param::number(
        "head_length",
        Unit::Mm,
        (2.0, 200.0),
        "Length of the head above the flange, dome or cone included.",
    )
    .or(20.0),
    Param::number(
        "crown",
        Unit::Mm,
        (0.5, 150.0),
        "Height of the dome or cone; left out, half the head's length, at most half its diameter.",
    )
    .optional(),
    Param::number(
        "dome_error",
        Unit::Mm,
        (0.01, 0.5),
        "How far the tapers that a dome is made of may lie inside it.",
    )
    .or(0.05),
    Param {
        key: "retention",
        kind: Kind::Component { family: "screws", default: Default::Absent },
        doc: "The grub screw that holds the plug, by its thread; a groove is cut for its tip.",
    },
    Param::number(
        "retention_z",
        Unit::Mm,
        (0.0, 100.0),
        "How far the retention screw's middle is before the shoulder, towards the front.",
    )
    .or(10.0),
    Param::number(
        "retention_depth",
        Unit::Mm,
        (0.3, 6.0),
        "Depth of the groove for the screw's tip, whose sides slope by 45 degrees.",
    )
    .or(1.0),
    Param::number(
        "retention_play",
        Unit::Mm,
        (0.0, 5.0),
        "How much wider than the thread the groove's bottom is.",
    )
    .or(0.5),
    Param::number(
        "light_bore",
        Unit::Mm,
        (0.0, 100.0),
        "Diameter of the bore up the middle that light comes through, 0 for none; left out, half the stem's with windows, none without.",
    )
    .optional(),
    Param {
        key: "windows",
        kind: Kind::Integer { min: 0, max: 24, default: Default::Value(0) },
        doc: "Number of windows around the head that light leaves by; 0 for none.",
    },
    Param::choice("window", &["slot", "round"], "Form of a window: a slot along the head, or a round hole.")
        .or_word("slot"),
    Param::number("window_width", Unit::Mm, (0.5, 60.0), "Width of a slot, diameter of a round hole.")
        .or(3.0),
    Param::number("window_height", Unit::Mm, (0.5, 150.0), "Height of a slot along the head.").or(5.0),
    Param::number(
        "window_z",
        Unit::Mm,
        (0.0, 150.0),
        "Where windows begin, above the flange; left out, a wall above the grip or the flange.",
    )
    .optional(),
    Param::number(
        "window_at",
        Unit::Degrees,
        (-360.0, 360.0),
        "Clocking of the first window: 0 at the switches, counter-clockwise seen from the front.",
    )
    .or(0.0),
    Param::choice(
        "grip",
        &["none", "groove", "slot"],
        "How fingers pull it out: a groove around the head, or a slot across a flat head for a coin.",
    )
    .or_word("groove"),
    Param::number("grip_z", Unit::Mm, (0.0, 150.0), "Where the groove begins, above the low end of the head's straight wall.").or(2.0),
    Param::number("grip_width", Unit::Mm, (1.0, 40.0), "Width of the groove, or of the slot.").or(4.0),
    Param::number("grip_depth", Unit::Mm, (0.3, 20.0), "Depth of the groove, or of the slot.").or(1.2),
    LEAD_IN,
    FIRST_LAYER,
];
