//! Cells, switches, pixels and wires.

use super::super::param::{Default, Kind, Param, Unit};
use super::super::values::Values;
use super::{Conflict, Family, NOTE, SOURCE, in_order};

pub(super) const CELLS: Family = Family {
    name: "cells",
    summary: "round cells, with wrap",
    rows: &[
        Param::number(
            "diameter_min",
            Unit::Mm,
            (6.0, 40.0),
            "Diameter of the thinnest cell, over the wrap.",
        ),
        Param::number(
            "diameter_max",
            Unit::Mm,
            (6.0, 40.0),
            "Diameter of the thickest cell, over the wrap.",
        ),
        Param::number(
            "length_min",
            Unit::Mm,
            (8.0, 130.0),
            "Length of the shortest cell, over both contacts.",
        ),
        Param::number(
            "length_max",
            Unit::Mm,
            (8.0, 130.0),
            "Length of the longest cell, over both contacts.",
        ),
        Param::number(
            "button_height",
            Unit::Mm,
            (0.0, 4.0),
            "Height of a raised positive contact, inside the length; 0 for a flat top.",
        )
        .or(0.0),
        Param::number(
            "button_diameter",
            Unit::Mm,
            (1.0, 30.0),
            "Diameter of a raised positive contact.",
        )
        .optional(),
        Param::flag("protected", "Whether a protection circuit sits in the cell's end."),
        Param::choice(
            "chemistry",
            &["li-ion", "nimh", "alkaline", "lithium-primary"],
            "Chemistry, for cautions.",
        ),
        Param::number("voltage", Unit::Volt, (0.5, 5.0), "Nominal voltage.").optional(),
        Param::number("mass", Unit::Gram, (1.0, 500.0), "Mass of one cell.").optional(),
        Param::note("limits", 400, "Limits of charge, discharge and storage, as text."),
        NOTE,
        SOURCE,
    ],
    check: check_cell,
    shipped: include_str!("../../../profiles/cells.toml"),
};

fn check_cell(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "diameter_min", "diameter_max", &mut conflicts);
    in_order(values, "length_min", "length_max", &mut conflicts);
    in_order(values, "button_diameter", "diameter_max", &mut conflicts);
    conflicts
}

pub(super) const SWITCHES: Family = Family {
    name: "switches",
    summary: "tactile switches",
    rows: &[
        Param::number(
            "body_width",
            Unit::Mm,
            (2.0, 20.0),
            "Width of the case across the legs' direction.",
        ),
        Param::number("body_length", Unit::Mm, (2.0, 20.0), "Length of the case along the handle."),
        Param::number(
            "body_tolerance",
            Unit::Mm,
            (0.0, 1.0),
            "Deviation of case sizes, either way.",
        )
        .or(0.15),
        Param::number(
            "body_height",
            Unit::Mm,
            (0.5, 20.0),
            "Height of the case without the stem, from the underside.",
        ),
        Param::number(
            "overall_height",
            Unit::Mm,
            (0.8, 40.0),
            "Height from the underside to the stem's tip, at rest.",
        ),
        Param::number(
            "height_tolerance",
            Unit::Mm,
            (0.0, 1.0),
            "Deviation of the overall height, either way.",
        )
        .or(0.2),
        Param::number("stem_diameter", Unit::Mm, (0.5, 15.0), "Diameter of the stem."),
        Param::number("stroke", Unit::Mm, (0.05, 5.0), "Travel of the stem until it switches."),
        Param::number(
            "stroke_tolerance",
            Unit::Mm,
            (0.0, 1.0),
            "Deviation of the stroke, either way.",
        )
        .or(0.15),
        Param::number("force", Unit::Newton, (0.1, 30.0), "Force that switches."),
        Param::number(
            "force_tolerance",
            Unit::Newton,
            (0.0, 10.0),
            "Deviation of the force, either way.",
        )
        .or(0.5),
        Param {
            key: "legs",
            kind: Kind::Choice {
                options: &["through", "surface"],
                default: Default::Value("through"),
            },
            doc: "Whether legs point down through a board or lie flat on it.",
        },
        Param::number(
            "leg_span",
            Unit::Mm,
            (1.0, 30.0),
            "Distance over the legs, outside to outside, across the case.",
        ),
        Param::number(
            "leg_pitch",
            Unit::Mm,
            (0.5, 30.0),
            "Distance between neighbouring legs on one side, centre to centre.",
        ),
        Param::number("leg_width", Unit::Mm, (0.1, 5.0), "Width of one leg.").or(0.7),
        Param::number(
            "leg_length",
            Unit::Mm,
            (0.0, 20.0),
            "How far legs reach below the underside.",
        )
        .or(0.0),
        NOTE,
        SOURCE,
    ],
    check: check_switch,
    shipped: include_str!("../../../profiles/switches.toml"),
};

fn check_switch(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "body_height", "overall_height", &mut conflicts);
    in_order(values, "stem_diameter", "body_width", &mut conflicts);
    in_order(values, "stroke_tolerance", "stroke", &mut conflicts);
    conflicts
}

pub(super) const PIXELS: Family = Family {
    name: "pixels",
    summary: "addressable LEDs, bare or on a small board",
    rows: &[
        Param::number("package_width", Unit::Mm, (0.5, 20.0), "Width of the LED's package."),
        Param::number("package_length", Unit::Mm, (0.5, 20.0), "Length of the LED's package."),
        Param::number(
            "package_height",
            Unit::Mm,
            (0.2, 10.0),
            "Height of the LED's package above its board.",
        ),
        Param::number(
            "package_tolerance",
            Unit::Mm,
            (0.0, 1.0),
            "Deviation of package sizes, either way.",
        )
        .or(0.1),
        Param::choice(
            "board",
            &["none", "round", "rectangle"],
            "Shape of the board that carries the LED.",
        ),
        Param::number(
            "board_width",
            Unit::Mm,
            (1.0, 60.0),
            "Diameter of a round board, width of a rectangular one.",
        )
        .optional(),
        Param::number("board_length", Unit::Mm, (1.0, 60.0), "Length of a rectangular board.")
            .optional(),
        Param::number("board_thickness", Unit::Mm, (0.1, 5.0), "Thickness of the board.")
            .optional(),
        Param::number(
            "half_angle",
            Unit::Degrees,
            (5.0, 90.0),
            "Angle from the axis at which the intensity is half of that ahead.",
        )
        .or(60.0),
        Param {
            key: "wires",
            kind: Kind::Integer { min: 2, max: 8, default: Default::Value(3) },
            doc: "Number of wires that reach it.",
        },
        Param::number("current", Unit::Ampere, (0.001, 3.0), "Current at full white.").optional(),
        NOTE,
        SOURCE,
    ],
    check: check_pixel,
    shipped: include_str!("../../../profiles/pixels.toml"),
};

fn check_pixel(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    let needed: &[&'static str] = match values.choice("board") {
        "round" => &["board_width", "board_thickness"],
        "rectangle" => &["board_width", "board_length", "board_thickness"],
        _ => &[],
    };
    for key in needed.iter().filter(|key| !values.has(key)) {
        let reason = format!("a {} board needs {key}", values.choice("board"));
        conflicts.push(Conflict { key: "board", reason });
    }
    in_order(values, "package_width", "board_width", &mut conflicts);
    in_order(values, "package_length", "board_length", &mut conflicts);
    conflicts
}

pub(super) const WIRES: Family = Family {
    name: "wires",
    summary: "stranded copper wires with insulation",
    rows: &[
        Param::number(
            "conductor",
            Unit::Mm,
            (0.05, 5.0),
            "Diameter of the solid conductor of that gauge.",
        ),
        Param::number("outer", Unit::Mm, (0.1, 10.0), "Diameter over the insulation."),
        Param::number(
            "outer_tolerance",
            Unit::Mm,
            (0.0, 1.0),
            "Deviation of the outer diameter, either way.",
        )
        .or(0.1),
        Param::number(
            "resistance",
            Unit::MilliohmPerMetre,
            (0.1, 5000.0),
            "Resistance at 20 degrees Celsius.",
        ),
        Param::number(
            "current",
            Unit::Ampere,
            (0.01, 100.0),
            "Advice for a single wire in free air; less in a bundle.",
        ),
        NOTE,
        SOURCE,
    ],
    check: check_wire,
    shipped: include_str!("../../../profiles/wires.toml"),
};

fn check_wire(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "conductor", "outer", &mut conflicts);
    conflicts
}
