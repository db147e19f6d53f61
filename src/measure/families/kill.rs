//! Switches that cut a cell's current.

use super::super::param::{Param, Unit};
use super::super::values::Values;
use super::{Conflict, Family, NOTE, SOURCE, in_order};

pub(super) const KILL_SWITCHES: Family = Family {
    name: "kill_switches",
    summary: "slide and latching push switches that cut the cell's current",
    rows: &[
        Param::choice(
            "action",
            &["slide", "push"],
            "Whether a lever slides along the switch, or a button latches when it is pushed.",
        ),
        Param::number("body_length", Unit::Mm, (3.0, 40.0), "Length of the case, along the slide."),
        Param::number("body_width", Unit::Mm, (2.0, 30.0), "Width of the case."),
        Param::number(
            "body_height",
            Unit::Mm,
            (1.0, 30.0),
            "Height of the case behind the face that the lever stands on.",
        ),
        Param::number(
            "body_tolerance",
            Unit::Mm,
            (0.0, 1.0),
            "Deviation of the case's sizes, either way.",
        )
        .or(0.1),
        Param::number(
            "lever_length",
            Unit::Mm,
            (0.5, 25.0),
            "Length of the lever, along the slide.",
        ),
        Param::number("lever_width", Unit::Mm, (0.5, 25.0), "Width of the lever."),
        Param::number(
            "lever_height",
            Unit::Mm,
            (0.3, 20.0),
            "How far the lever stands out before the case's face, or a button that is out.",
        ),
        Param::number(
            "travel",
            Unit::Mm,
            (0.2, 15.0),
            "How far the lever moves between off and on.",
        ),
        Param::number(
            "terminals",
            Unit::Mm,
            (0.0, 20.0),
            "How far the terminals stand out behind the case.",
        )
        .or(4.0),
        Param::number(
            "ears_length",
            Unit::Mm,
            (4.0, 60.0),
            "Length over both ears, level with the case's face; left out, it has none.",
        )
        .optional(),
        Param::number("ear_thickness", Unit::Mm, (0.1, 4.0), "Thickness of the ears.").or(0.5),
        Param::number(
            "ear_pitch",
            Unit::Mm,
            (4.0, 50.0),
            "Distance between the ears' screw holes; left out, they have none.",
        )
        .optional(),
        Param::number("ear_screw", Unit::Mm, (1.6, 4.0), "Thread of the screws for the ears.")
            .or(2.0),
        Param::number("current", Unit::Ampere, (0.01, 50.0), "Rated current, direct."),
        Param::number("voltage", Unit::Volt, (1.0, 500.0), "Rated voltage, direct."),
        NOTE,
        SOURCE,
    ],
    check: check_switch,
    shipped: include_str!("../../../profiles/kill_switches.toml"),
};

fn check_switch(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "lever_width", "body_width", &mut conflicts);
    in_order(values, "lever_length", "body_length", &mut conflicts);
    in_order(values, "body_length", "ear_pitch", &mut conflicts);
    in_order(values, "ear_pitch", "ears_length", &mut conflicts);
    conflicts
}
