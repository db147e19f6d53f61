//! What may be entered for a cell tray.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::module::KEEL;
use crate::measure::{Default, Kind, Param, Unit};

/// Rows of a cell tray.
pub(super) const ROWS: &[Param] = &[
    Param::component(
        "cell",
        "cells",
        "The cell: a profile, or your own measurements of the thickest and the longest one.",
    ),
    Param::choice(
        "positive",
        &["front", "back"],
        "Which end of the handle the cell's positive contact points to.",
    )
    .or_word("front"),
    Param::number(
        "from_z",
        Unit::Mm,
        (0.0, 1500.0),
        "Where the tray's low end sits, from the end cap.",
    )
    .or(0.0),
    FIT,
    COAT,
    KEEL,
    LEAD_IN,
    FIRST_LAYER,
    Param::number("clearance", Unit::Mm, (0.0, 1.0), "Gap around the thickest cell, on each side.")
        .or(0.15),
    Param::number(
        "cell_y",
        Unit::Mm,
        (-20.0, 20.0),
        "How far the cell's axis lies above the bore's, towards +y; left out, as little as the \
         wires below it need.",
    )
    .optional(),
    Param::number(
        "base",
        Unit::Mm,
        (0.4, 30.0),
        "Thickness below the cell, down to a flat underside; left out, the tray is solid down to \
         the bore, with a small flat to lie on if it is printed lying.",
    )
    .optional(),
    Param::choice(
        "layers",
        &["lying", "upright"],
        "How it is printed: lying on its underside, so that bending the lips pulls at the layers, \
         or upright on an end, where lips are stronger but need support below.",
    )
    .or_word("lying"),
    Param::number(
        "wrap",
        Unit::Degrees,
        (4.0, 40.0),
        "How far each lip reaches past the cell's middle; left out, it is chosen.",
    )
    .optional(),
    Param::number(
        "lip_thickness",
        Unit::Mm,
        (0.3, 5.0),
        "Thickness of the lips; left out, it is chosen.",
    )
    .optional(),
    Param::number(
        "lip_length",
        Unit::Mm,
        (4.0, 130.0),
        "Length of lip along each side, both pieces together; the rest is cut out for fingers. \
         Left out, it is chosen.",
    )
    .optional(),
    Param::number(
        "root",
        Unit::Degrees,
        (20.0, 75.0),
        "How far below the cell's middle the lips grow out of the base; left out, as low as the \
         wires allow.",
    )
    .optional(),
    Param::number(
        "finger",
        Unit::Mm,
        (8.0, 60.0),
        "Least length of the finger cut-out between the lips.",
    )
    .or(18.0),
    Param::number(
        "push_max",
        Unit::Newton,
        (1.0, 200.0),
        "Hardest push that snaps the thickest cell in.",
    )
    .or(40.0),
    Param::number(
        "pull_max",
        Unit::Newton,
        (1.0, 200.0),
        "Hardest pull that takes the thickest cell out.",
    )
    .or(40.0),
    Param::number(
        "hold_min",
        Unit::Newton,
        (0.1, 100.0),
        "Least pull that must still hold the thinnest cell; 1 N is twice the weight of an 18650.",
    )
    .or(1.0),
    Param::number("end_wall", Unit::Mm, (1.0, 10.0), "Thickness of the two outer end walls.")
        .or(2.0),
    Param {
        key: "spring",
        kind: Kind::Component { family: "springs", default: Default::Absent },
        doc: "The leaf spring at the negative end; left out, one that suits the cell is taken \
              from the profiles.",
    },
    Param::number(
        "plate_width",
        Unit::Mm,
        (2.0, 40.0),
        "Width of the plate that carries the spring, held in a slot; left out, 3 mm more than the \
         leaf.",
    )
    .optional(),
    Param::number(
        "contact_force",
        Unit::Newton,
        (0.1, 20.0),
        "Least force of the spring, with the shortest cell; less flickers when shaken.",
    )
    .or(1.0),
    Param::number(
        "tab_width",
        Unit::Mm,
        (3.0, 40.0),
        "Width of the flat tab at the positive end; left out, what the contact needs.",
    )
    .optional(),
    Param::number("tab_thickness", Unit::Mm, (0.1, 1.5), "Thickness of that tab.").or(0.3),
    Param::number(
        "tail",
        Unit::Mm,
        (0.0, 8.0),
        "Width of the slit through which the tail of each contact leaves at the end; 0 for none.",
    )
    .or(2.5),
    Param::number(
        "vent_gap",
        Unit::Mm,
        (0.0, 10.0),
        "Free space before the rim of the cell's positive end, where it vents; less than 2 is \
         not advised.",
    )
    .or(2.0),
    Param {
        key: "wires",
        kind: Kind::Integer { min: 0, max: 12, default: Default::Value(2) },
        doc: "Number of wires that pass below the cell.",
    },
    Param::component("wire", "wires", "The wire, all alike.").or_word("awg26"),
    Param::choice(
        "duct",
        &["open", "closed"],
        "Whether wires lie in grooves that are open towards the bore, or are drawn through holes.",
    )
    .or_word("open"),
    Param::number(
        "slack",
        Unit::Percent,
        (0.0, 100.0),
        "Room in a duct beyond its bundle of wires.",
    )
    .or(15.0),
    Param::number(
        "current",
        Unit::Ampere,
        (0.01, 30.0),
        "Current drawn from the cell at full light, for the loss in the wires.",
    )
    .or(1.0),
    Param::number(
        "run",
        Unit::Mm,
        (10.0, 3000.0),
        "Length of the wires, one way; left out, the tray's own length.",
    )
    .optional(),
    Param::number(
        "mark_depth",
        Unit::Mm,
        (0.0, 0.8),
        "Depth of the marks + and - in the trough's floor and the end faces; 0 for none.",
    )
    .or(0.4),
    Param::choice(
        "cover",
        &["none", "closed", "fingers", "mouth"],
        "A cover that snaps over the tray: closed, or open at the finger cut-outs, or open over \
         the whole mouth so that the cell comes out with the cover on.",
    )
    .or_word("none"),
    Param::number(
        "cover_wall",
        Unit::Mm,
        (0.3, 4.0),
        "Thickness of the cover; left out, the printer's least free wall.",
    )
    .optional(),
];
