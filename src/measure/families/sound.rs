//! Speakers.

use super::super::param::{Param, Unit};
use super::super::values::Values;
use super::{Conflict, Family, NOTE, SOURCE, in_order};

pub(super) const SPEAKERS: Family = Family {
    name: "speakers",
    summary: "small speakers, round or oval",
    rows: &[
        Param::number(
            "width",
            Unit::Mm,
            (8.0, 60.0),
            "Diameter of a round frame, or the short side of an oval one.",
        ),
        Param::number(
            "length",
            Unit::Mm,
            (8.0, 90.0),
            "Long side of an oval frame, with round ends; left out, the frame is round.",
        )
        .optional(),
        Param::number(
            "frame_tolerance",
            Unit::Mm,
            (0.0, 1.0),
            "Deviation of the frame's sizes, either way.",
        )
        .or(0.1),
        Param::number(
            "depth",
            Unit::Mm,
            (1.0, 40.0),
            "From the rim's face to the back of the magnet.",
        ),
        Param::number(
            "rim_width",
            Unit::Mm,
            (0.3, 10.0),
            "Width of the flat rim around the cone, which is glued or clamped.",
        ),
        Param::number("rim_thickness", Unit::Mm, (0.2, 8.0), "Thickness of the rim."),
        Param::number(
            "crest",
            Unit::Mm,
            (0.0, 5.0),
            "How far cone and surround stand out before the rim's face.",
        )
        .or(0.0),
        Param::number("magnet_diameter", Unit::Mm, (2.0, 60.0), "Diameter of the magnet."),
        Param::number(
            "magnet_depth",
            Unit::Mm,
            (0.2, 30.0),
            "How far the magnet stands out behind the basket.",
        ),
        Param::number(
            "cone_width",
            Unit::Mm,
            (4.0, 58.0),
            "Diameter of the moving cone with half its surround; of an oval one the short side.",
        ),
        Param::note("impedance", 40, "Nominal impedance, as text."),
        Param::note("power", 40, "Nominal power, as text."),
        NOTE,
        SOURCE,
    ],
    check: check_speaker,
    shipped: include_str!("../../../profiles/speakers.toml"),
};

fn check_speaker(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "width", "length", &mut conflicts);
    in_order(values, "cone_width", "width", &mut conflicts);
    in_order(values, "magnet_diameter", "width", &mut conflicts);
    let (rim, magnet, depth) =
        (values.number("rim_thickness"), values.number("magnet_depth"), values.number("depth"));
    if rim + magnet > depth {
        use super::super::shown::number;
        let reason = format!(
            "rim_thickness = {} and magnet_depth = {} are more than depth = {}",
            number(rim),
            number(magnet),
            number(depth)
        );
        conflicts.push(Conflict { key: "depth", reason });
    }
    conflicts
}
