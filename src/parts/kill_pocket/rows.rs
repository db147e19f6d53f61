//! What may be entered for a kill-switch pocket.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::module::{FROM_Z, GROOVE_AT, KEEL, SLACK, WIRE, WIRES};
use crate::measure::{Param, Unit};

/// Rows of the part.
pub(super) const ROWS: &[Param] = &[
    Param::component(
        "switch",
        "kill_switches",
        "The switch; measured sizes beat those of a profile.",
    ),
    Param::number(
        "current",
        Unit::Ampere,
        (0.01, 50.0),
        "Largest current that the switch has to carry and cut.",
    ),
    Param::number(
        "voltage",
        Unit::Volt,
        (1.0, 60.0),
        "Voltage of the full cell, or of the cells in series.",
    )
    .or(4.2),
    FROM_Z,
    FIT,
    COAT,
    KEEL,
    WIRES,
    WIRE,
    GROOVE_AT,
    SLACK,
    Param::number(
        "switch_y",
        Unit::Mm,
        (-40.0, 40.0),
        "How far the switch's middle lies above the bore's axis, towards the plungers; left out, on \
         the axis, or as far above as the keel needs.",
    )
    .optional(),
    Param::number(
        "on_at",
        Unit::Degrees,
        (-360.0, 360.0),
        "Clocking towards which the lever is on: 0 at the plungers, counter-clockwise seen from the \
         front; of a push switch, where its mark stands.",
    )
    .or(270.0),
    Param::number(
        "recess",
        Unit::Mm,
        (0.0, 10.0),
        "How far the lever's top lies below the face, at least, so that the cap cannot move it.",
    )
    .or(0.5),
    Param::number(
        "finger",
        Unit::Mm,
        (0.3, 15.0),
        "Room around lever, case and ears in the sink, for a fingertip or a stick.",
    )
    .or(1.0),
    Param::number(
        "clearance",
        Unit::Mm,
        (0.0, 2.0),
        "Room across the pocket beyond the largest case; left out, the printer's sliding fit.",
    )
    .optional(),
    Param::choice(
        "retention",
        &["screws", "glue"],
        "How the switch is held: by screws through its ears, if these have holes, or glued in.",
    )
    .or_word("screws"),
    Param::number(
        "ledge",
        Unit::Mm,
        (0.3, 6.0),
        "Width of the ledge behind a case without ears, which takes the push and the glue.",
    )
    .or(1.0),
    Param::number(
        "rear",
        Unit::Mm,
        (0.0, 100.0),
        "Room behind the terminals for the wires' bend, up to the module's open front end.",
    )
    .or(4.0),
    Param::number(
        "mark",
        Unit::Mm,
        (2.0, 15.0),
        "Height of the marks I (on) and O (off); left out, 4 or what the face has room for.",
    )
    .optional(),
    Param::number(
        "mark_depth",
        Unit::Mm,
        (0.0, 1.5),
        "How deep the marks are sunk into the face; 0 for no marks.",
    )
    .or(0.4),
    LEAD_IN,
    FIRST_LAYER,
];
