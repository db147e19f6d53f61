//! What may be entered for a front mount.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::fixing::SCREW;
use super::super::module::{GROOVE_AT, KEEL, SLACK, WIRE, WIRES};
use crate::measure::{Default, Kind, Param, Unit};

/// Rows of the part.
pub(super) const ROWS: &[Param] = &[
    Param::component(
        "contacts",
        "front_contacts",
        "The board with the spring pins; measured sizes beat those of a profile.",
    ),
    Param::number(
        "shoulder_z",
        Unit::Mm,
        (10.0, 1500.0),
        "Where the shoulder is that the front tube's end stands on, from the end cap's face; left \
         out, the handle's length.",
    )
    .optional(),
    Param::number(
        "shoulder_tolerance",
        Unit::Mm,
        (0.0, 2.0),
        "How far that reading may be off, either way.",
    )
    .or(0.1),
    Param::number(
        "tube_recess",
        Unit::Mm,
        (-10.0, 30.0),
        "How far the front tube's contacts lie inside its end; negative where they stand out of it.",
    )
    .or(0.0),
    Param::number(
        "tube_recess_tolerance",
        Unit::Mm,
        (0.0, 2.0),
        "How far that may be off, either way.",
    )
    .or(0.1),
    Param::number(
        "place_tolerance",
        Unit::Mm,
        (0.0, 2.0),
        "How far the mount may sit off along the bore when it is fixed, either way.",
    )
    .or(0.2),
    Param::number(
        "compression",
        Unit::Mm,
        (0.0, 20.0),
        "How far the pins are pressed in while the tube is home; left out, the middle of what they allow.",
    )
    .optional(),
    Param::number(
        "clocking",
        Unit::Degrees,
        (-360.0, 360.0),
        "Where the board's notch points: 0 at the switches, counter-clockwise seen from the front.",
    )
    .or(0.0),
    Param::number(
        "clearance",
        Unit::Mm,
        (0.0, 1.0),
        "Room on each side of the largest board in its seat, and beside the key; left out, half the printer's sliding fit.",
    )
    .optional(),
    Param::number(
        "ledge",
        Unit::Mm,
        (0.4, 15.0),
        "Least width of the ring that the board's edge lies on.",
    )
    .or(1.2),
    Param::number(
        "rim",
        Unit::Mm,
        (0.0, 10.0),
        "How far the seat's wall stands out before the board's face.",
    )
    .or(0.0),
    Param::number(
        "solder_room",
        Unit::Mm,
        (0.0, 40.0),
        "Room behind the board for solder joints and bent wires; left out, the joints' height and two wires.",
    )
    .optional(),
    Param::number(
        "land",
        Unit::Mm,
        (0.8, 60.0),
        "Length of the full land behind that room; it guides the mount and takes glue.",
    )
    .or(6.0),
    Param::component("lead", "wires", "The wires of the board, one for each contact.")
        .or_word("awg24"),
    Param::choice(
        "fixing",
        &["glue", "screws"],
        "How the board is held: glued on its ledge, or screwed into it where the board has holes.",
    )
    .or_word("glue"),
    SCREW,
    FIT,
    COAT,
    KEEL,
    WIRES,
    WIRE,
    GROOVE_AT,
    SLACK,
    Param::number(
        "socket_diameter",
        Unit::Mm,
        (5.0, 100.0),
        "Least inside diameter of the socket that takes the front tube, to check the tube's fit.",
    )
    .optional(),
    Param::number(
        "tube_diameter",
        Unit::Mm,
        (5.0, 100.0),
        "Largest outside diameter of the front tube, to check its fit.",
    )
    .optional(),
    Param::number(
        "tube_tolerance",
        Unit::Mm,
        (0.0, 1.0),
        "How far readings of tube and socket may be off, either way.",
    )
    .or(0.03),
    Param::number(
        "tube_play",
        Unit::Mm,
        (0.01, 2.0),
        "Largest play of the tube in its socket, on the diameter, before it rattles.",
    )
    .or(0.3),
    Param {
        key: "retention",
        kind: Kind::Component { family: "screws", default: Default::Absent },
        doc: "The grub screw that holds the front tube, by its thread; its head does not count.",
    },
    Param::number(
        "retention_z",
        Unit::Mm,
        (0.0, 100.0),
        "How far the retention screw's middle is before the shoulder, towards the front.",
    )
    .or(10.0),
    Param::number(
        "retention_length",
        Unit::Mm,
        (1.0, 40.0),
        "Length of the retention screw.",
    )
    .or(5.0),
    Param::number(
        "socket_wall",
        Unit::Mm,
        (0.5, 30.0),
        "Wall of the socket where the retention screw sits; left out, from outside and socket_diameter.",
    )
    .optional(),
    LEAD_IN,
    FIRST_LAYER,
];
