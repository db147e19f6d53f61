//! Switches that cut the cell off.

use super::super::param::{Param, Unit};
use super::super::values::Values;
use super::{Conflict, Family, NOTE, SOURCE, in_order};

pub(super) const KILL_SWITCHES: Family = Family {
    name: "kill_switches",
    summary: "slide and latching switches that cut the cell off",
    rows: &[
        Param::number(
            "body_width",
            Unit::Mm,
            (1.0, 20.0),
            "Width of the body, square to the lever's travel.",
        ),
        Param::number(
            "body_length",
            Unit::Mm,
            (2.0, 30.0),
            "Length of the body, along the lever's travel.",
        ),
        Param::number(
            "body_height",
            Unit::Mm,
            (1.0, 20.0),
            "Height of the body from its face to its back, without terminals.",
        ),
        Param::number(
            "lever_width",
            Unit::Mm,
            (0.5, 15.0),
            "Width of the lever or button, square to its travel.",
        ),
        Param::number(
            "lever_length",
            Unit::Mm,
            (0.5, 15.0),
            "Length of the lever or button, along its travel.",
        ),
        Param::number(
            "lever_height",
            Unit::Mm,
            (0.2, 12.0),
            "How far the lever or button stands off the face, at its highest.",
        ),
        Param::number(
            "travel",
            Unit::Mm,
            (0.0, 10.0),
            "How far the lever slides from one end to the other; 0 for a button.",
        )
        .or(0.0),
        Param::number(
            "ear_length",
            Unit::Mm,
            (3.0, 40.0),
            "Length over the ears of the face plate; left out, it has none.",
        )
        .optional(),
        Param::number("ear_thickness", Unit::Mm, (0.2, 3.0), "Thickness of the ears.").or(0.6),
        Param::number(
            "ear_span",
            Unit::Mm,
            (3.0, 36.0),
            "Distance between the screw holes in the ears; left out, they have none.",
        )
        .optional(),
        Param::number(
            "ear_thread",
            Unit::Mm,
            (1.6, 3.0),
            "Thread that passes the holes in the ears.",
        )
        .or(2.0),
        Param::number(
            "terminals",
            Unit::Mm,
            (0.0, 15.0),
            "Length of the terminals behind the body.",
        )
        .or(3.5),
        Param::number("current", Unit::Ampere, (0.01, 50.0), "Rated current."),
        Param::number("voltage", Unit::Volt, (1.0, 400.0), "Rated voltage."),
        NOTE,
        SOURCE,
    ],
    check,
    shipped: include_str!("../../../profiles/kill_switches.toml"),
};

fn check(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "lever_width", "body_width", &mut conflicts);
    in_order(values, "lever_length", "body_length", &mut conflicts);
    in_order(values, "body_length", "ear_length", &mut conflicts);
    in_order(values, "ear_span", "ear_length", &mut conflicts);
    in_order(values, "ear_thickness", "body_height", &mut conflicts);
    conflicts
}
