//! Contact boards at the front of a handle, behind its front tube.

use super::super::param::{Default, Kind, Param, Unit};
use super::super::values::Values;
use super::{Conflict, Family, NOTE, SOURCE, in_order};

pub(super) const FRONT_CONTACTS: Family = Family {
    name: "front_contacts",
    summary: "round boards with spring pins that feed a front tube",
    rows: &[
        Param::number("diameter", Unit::Mm, (5.0, 60.0), "Diameter of the board."),
        Param::number(
            "diameter_tolerance",
            Unit::Mm,
            (0.0, 1.0),
            "Deviation of the diameter, either way.",
        )
        .or(0.15),
        Param::number("thickness", Unit::Mm, (0.4, 15.0), "Thickness of the board."),
        Param::number(
            "thickness_tolerance",
            Unit::Mm,
            (0.0, 1.0),
            "Deviation of the thickness, either way.",
        )
        .or(0.15),
        Param::number(
            "pin_height",
            Unit::Mm,
            (0.2, 25.0),
            "How far the spring pins stand before the board's face, not pressed.",
        ),
        Param::number(
            "pin_tolerance",
            Unit::Mm,
            (0.0, 1.0),
            "Deviation of that height, either way.",
        )
        .or(0.1),
        Param::number(
            "compression_min",
            Unit::Mm,
            (0.0, 20.0),
            "How far a pin must be pressed in to make a sure contact.",
        ),
        Param::number(
            "compression_max",
            Unit::Mm,
            (0.0, 20.0),
            "How far a pin may be pressed in before it bottoms out.",
        ),
        Param::number(
            "contact_circle",
            Unit::Mm,
            (0.5, 58.0),
            "Diameter of the circle that all pins lie in.",
        ),
        Param::number(
            "joint_circle",
            Unit::Mm,
            (0.5, 58.0),
            "Diameter of the circle that all solder joints at the back lie in.",
        ),
        Param::number(
            "joint_height",
            Unit::Mm,
            (0.0, 15.0),
            "How far solder joints stand out of the board's back.",
        )
        .or(2.0),
        Param {
            key: "contacts",
            kind: Kind::Integer { min: 1, max: 16, default: Default::Required },
            doc: "Number of contacts, each with its wire.",
        },
        Param::number(
            "notch_width",
            Unit::Mm,
            (0.0, 20.0),
            "Width of the notch in the board's edge; 0 for none.",
        )
        .or(0.0),
        Param::number(
            "notch_depth",
            Unit::Mm,
            (0.0, 20.0),
            "Depth of the notch from the board's edge; 0 for none.",
        )
        .or(0.0),
        Param {
            key: "screw_count",
            kind: Kind::Integer { min: 0, max: 6, default: Default::Value(0) },
            doc: "Number of screw holes, evenly spaced on a circle; 0 for none.",
        },
        Param::number(
            "screw_circle",
            Unit::Mm,
            (3.0, 58.0),
            "Diameter of the circle through the middles of the screw holes.",
        )
        .optional(),
        Param::number(
            "screw_turn",
            Unit::Degrees,
            (-360.0, 360.0),
            "Angle from the notch to the first screw hole, counter-clockwise seen from the front.",
        )
        .or(90.0),
        NOTE,
        SOURCE,
    ],
    check: check_board,
    shipped: include_str!("../../../profiles/front_contacts.toml"),
};

fn check_board(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "compression_min", "compression_max", &mut conflicts);
    in_order(values, "compression_max", "pin_height", &mut conflicts);
    in_order(values, "contact_circle", "diameter", &mut conflicts);
    in_order(values, "joint_circle", "diameter", &mut conflicts);
    in_order(values, "notch_width", "diameter", &mut conflicts);
    in_order(values, "notch_depth", "diameter", &mut conflicts);
    in_order(values, "screw_circle", "diameter", &mut conflicts);
    if (values.number("notch_width") > 0.0) != (values.number("notch_depth") > 0.0) {
        let reason = "a notch needs both notch_width and notch_depth".to_owned();
        conflicts.push(Conflict { key: "notch_width", reason });
    }
    if values.integer("screw_count") > 0 && !values.has("screw_circle") {
        let reason = format!("{} screw holes need screw_circle", values.integer("screw_count"));
        conflicts.push(Conflict { key: "screw_count", reason });
    }
    conflicts
}
