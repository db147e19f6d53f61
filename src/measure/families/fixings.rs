//! Screws, heat-set inserts and leaf springs.

use super::super::param::{Param, Unit};
use super::super::values::Values;
use super::{Conflict, Family, NOTE, SOURCE, in_order};

pub(super) const SCREWS: Family = Family {
    name: "screws",
    summary: "metric machine screws by size and head",
    rows: &[
        Param::number("thread", Unit::Mm, (1.0, 8.0), "Outside diameter of the thread."),
        Param::number("pitch", Unit::Mm, (0.2, 1.5), "Pitch of the thread."),
        Param::number("clearance_fine", Unit::Mm, (1.0, 12.0), "Clearance hole, fine series."),
        Param::number("clearance_medium", Unit::Mm, (1.0, 12.0), "Clearance hole, medium series."),
        Param::number("clearance_coarse", Unit::Mm, (1.0, 12.0), "Clearance hole, coarse series."),
        Param::number("tap_hole", Unit::Mm, (0.5, 8.0), "Hole that a thread is cut into."),
        Param::choice("head", &["socket", "countersunk", "pan"], "Form of the head."),
        Param::number("head_diameter", Unit::Mm, (1.5, 20.0), "Largest diameter of the head."),
        Param::number("head_height", Unit::Mm, (0.5, 10.0), "Largest height of the head."),
        Param::number(
            "head_angle",
            Unit::Degrees,
            (60.0, 120.0),
            "Full angle of a countersunk head.",
        )
        .or(90.0),
        Param::number(
            "nut_flats",
            Unit::Mm,
            (2.0, 20.0),
            "Largest width of the nut across its flats.",
        ),
        Param::number("nut_height", Unit::Mm, (0.5, 10.0), "Largest height of the nut."),
        NOTE,
        SOURCE,
    ],
    check: check_screw,
    shipped: include_str!("../../../profiles/screws.toml"),
};

fn check_screw(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "tap_hole", "thread", &mut conflicts);
    in_order(values, "thread", "clearance_fine", &mut conflicts);
    in_order(values, "clearance_fine", "clearance_medium", &mut conflicts);
    in_order(values, "clearance_medium", "clearance_coarse", &mut conflicts);
    in_order(values, "thread", "head_diameter", &mut conflicts);
    conflicts
}

pub(super) const INSERTS: Family = Family {
    name: "inserts",
    summary: "heat-set threaded inserts",
    rows: &[
        Param::number("thread", Unit::Mm, (1.0, 8.0), "Outside diameter of the screw's thread."),
        Param::number("outer", Unit::Mm, (2.0, 15.0), "Largest outside diameter of the insert."),
        Param::number("length", Unit::Mm, (1.0, 20.0), "Length of the insert."),
        Param::number("hole", Unit::Mm, (1.5, 15.0), "Hole that it is set into."),
        Param::number(
            "hole_extra_depth",
            Unit::Mm,
            (0.0, 5.0),
            "How much deeper than the insert the hole is.",
        )
        .or(0.5),
        Param::number("boss", Unit::Mm, (3.0, 30.0), "Outside diameter of the boss around it."),
        NOTE,
        SOURCE,
    ],
    check: check_insert,
    shipped: include_str!("../../../profiles/inserts.toml"),
};

fn check_insert(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "thread", "outer", &mut conflicts);
    in_order(values, "outer", "boss", &mut conflicts);
    in_order(values, "hole", "boss", &mut conflicts);
    conflicts
}

pub(super) const GRUBS: Family = Family {
    name: "grubs",
    summary: "grub screws by size and point",
    rows: &[
        Param::number("thread", Unit::Mm, (2.0, 8.0), "Outside diameter of the thread."),
        Param::number("pitch", Unit::Mm, (0.2, 1.5), "Pitch of the thread."),
        Param::choice("point", &["flat", "cone", "cup", "dog"], "Form of the point."),
        Param::number("tip", Unit::Mm, (0.1, 7.0), "Largest diameter of the point's end."),
        Param::number(
            "tip_length",
            Unit::Mm,
            (0.1, 8.0),
            "Length from the point's end to the full thread; of a dog point the shortest.",
        ),
        NOTE,
        SOURCE,
    ],
    check: check_grub,
    shipped: include_str!("../../../profiles/grubs.toml"),
};

fn check_grub(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "tip", "thread", &mut conflicts);
    conflicts
}

pub(super) const SPRINGS: Family = Family {
    name: "springs",
    summary: "leaf springs that press on a cell",
    rows: &[
        Param::number("thickness", Unit::Mm, (0.05, 2.0), "Thickness of the leaf."),
        Param::number("width", Unit::Mm, (1.0, 25.0), "Width of the leaf."),
        Param::number(
            "beam_length",
            Unit::Mm,
            (2.0, 40.0),
            "Free length of the leaf, from the clamped edge to the contact.",
        ),
        Param::number(
            "free_height",
            Unit::Mm,
            (0.5, 20.0),
            "How far the contact stands off the wall with no cell in.",
        ),
        Param::number(
            "solid_height",
            Unit::Mm,
            (0.1, 10.0),
            "How far the contact stands off when pressed flat.",
        ),
        Param::number(
            "modulus",
            Unit::Megapascal,
            (1_000.0, 250_000.0),
            "Modulus of elasticity of the leaf.",
        ),
        Param::number(
            "stress_max",
            Unit::Megapascal,
            (50.0, 2_000.0),
            "Bending stress that the leaf returns from.",
        ),
        NOTE,
        SOURCE,
    ],
    check: check_spring,
    shipped: include_str!("../../../profiles/springs.toml"),
};

fn check_spring(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "thickness", "solid_height", &mut conflicts);
    in_order(values, "solid_height", "free_height", &mut conflicts);
    conflicts
}
