//! What may be entered for a crystal cradle.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::module::KEEL;
use crate::measure::{Default, Kind, Param, Unit};
use crate::mesh::FileUnit;

/// One measured section of the stone.
const STATION: &[Param] = &[
    Param::number(
        "at",
        Unit::Mm,
        (0.0, 200.0),
        "Where along the stone this section was measured, growing towards the front; only the \
         differences count.",
    ),
    Param::choice(
        "section",
        &["round", "hexagon", "facets", "rectangle", "points"],
        "Shape of the section: `round` is an ellipse, `hexagon` and `facets` lie on a flat facet, \
         `points` are your own corners.",
    )
    .or_word("round"),
    Param::number(
        "width",
        Unit::Mm,
        (0.5, 80.0),
        "Size of the section across (along x) before it is turned; not for `points`.",
    )
    .asked(),
    Param::number(
        "height",
        Unit::Mm,
        (0.5, 80.0),
        "Size of the section upright (along y) before it is turned; not for `points`.",
    )
    .asked(),
    Param {
        key: "facets",
        kind: Kind::Integer { min: 3, max: 24, default: Default::Value(8) },
        doc: "Number of facets of a `facets` section.",
    },
    Param {
        key: "points",
        kind: Kind::Points { min: -60.0, max: 60.0, count: (3, 64), optional: true },
        doc: "Corners of a `points` section; dents between them are filled, as the stone must drop \
              in.",
    },
    Param::number(
        "x",
        Unit::Mm,
        (-40.0, 40.0),
        "How far the section's middle lies beside the bore's axis.",
    )
    .or(0.0),
    Param::number(
        "y",
        Unit::Mm,
        (-40.0, 40.0),
        "How far the section's middle lies above the bore's axis, towards the window.",
    )
    .or(0.0),
    Param::number(
        "turn",
        Unit::Degrees,
        (-180.0, 180.0),
        "How far the section is turned, counter-clockwise seen from the front.",
    )
    .or(0.0),
];

/// A pointed end.
const TIP: &[Param] = &[
    Param::number(
        "length",
        Unit::Mm,
        (0.2, 60.0),
        "How far the point reaches beyond the nearest section.",
    ),
    Param::number(
        "x",
        Unit::Mm,
        (-40.0, 40.0),
        "How far the point lies beside the bore's axis; left out, where that section's middle lies.",
    )
    .optional(),
    Param::number(
        "y",
        Unit::Mm,
        (-40.0, 40.0),
        "How far the point lies above the bore's axis; left out, where that section's middle lies.",
    )
    .optional(),
];

/// A rectangular cavity of a chassis that exists.
const CAVITY: &[Param] = &[
    Param::number("width", Unit::Mm, (4.0, 100.0), "Width of the cavity, across the handle."),
    Param::number("length", Unit::Mm, (4.0, 300.0), "Length of the cavity, along the handle."),
    Param::number(
        "depth",
        Unit::Mm,
        (3.0, 80.0),
        "Depth of the cavity, from its rim to its lowest line.",
    ),
    Param::choice("floor", &["flat", "arc"], "Whether its floor is flat or a trough.")
        .or_word("flat"),
    Param::number("floor_radius", Unit::Mm, (2.0, 200.0), "Radius of a trough.").optional(),
    Param::number(
        "clearance",
        Unit::Mm,
        (0.0, 1.0),
        "Gap to the cavity's walls on each side, and under an arc.",
    )
    .or(0.15),
    Param::number(
        "floor_y",
        Unit::Mm,
        (-60.0, 20.0),
        "How high the floor's lowest line lies above the bore's axis (negative: below); left out, \
         half the depth below the axis.",
    )
    .optional(),
];

/// Rows of the part.
pub(super) const PARAMS: &[Param] = &[
    FIT,
    COAT,
    KEEL,
    Param {
        key: "cavity",
        kind: Kind::Table { rows: CAVITY, optional: true },
        doc: "The cavity of a chassis that the cradle sits in, as measured; left out, it sits in the \
              bore. A stretch of the job's [chassis] stands for a round bore: `borewright explain \
              cavity`.",
    },
    Param::number(
        "from_z",
        Unit::Mm,
        (0.0, 1500.0),
        "Where the low end of the cradle lies along the bore, from the end cap.",
    )
    .or(0.0),
    Param {
        key: "station",
        kind: Kind::List { rows: STATION, count: (0, 24), starts: 2 },
        doc: "The stone, section by section, from the end nearest to the end cap, two or more; \
              between sections it runs straight. A scan takes their place.",
    },
    Param {
        key: "tip_low",
        kind: Kind::Table { rows: TIP, optional: true },
        doc: "The point at the stone's end nearest to the end cap; left out, that end is blunt.",
    },
    Param {
        key: "tip_high",
        kind: Kind::Table { rows: TIP, optional: true },
        doc: "The point at the stone's end nearest to the front; left out, that end is blunt.",
    },
    Param::file(
        "scan",
        &["stl", "obj", "3mf"],
        "A closed mesh of the stone (STL, OBJ or 3MF) in place of all [[part.station]] and points, \
         which are deleted then or stay as \"?\"; its long axis is found and laid along the bore, its centre of \
         mass on the bore's axis.",
    ),
    Param::choice("scan_unit", &FileUnit::WORDS, "Unit of a scan in STL or OBJ, which do not state it.")
        .or_word("mm"),
    Param::number(
        "scan_turn",
        Unit::Degrees,
        (-360.0, 360.0),
        "How far the scanned stone is turned, counter-clockwise seen from the front; at 0 the +y of \
         its file (+z, if the stone lies along y) points to the window. Left out, as it seats \
         deepest.",
    )
    .optional(),
    Param::flag(
        "scan_flip",
        "Whether the scanned stone's thinner end points to the end cap instead of to the front.",
    ),
    Param::number(
        "scan_x",
        Unit::Mm,
        (-40.0, 40.0),
        "How far the scanned stone's centre of mass lies beside the bore's axis.",
    )
    .or(0.0),
    Param::number(
        "scan_y",
        Unit::Mm,
        (-40.0, 40.0),
        "How far the scanned stone's centre of mass lies above the bore's axis.",
    )
    .or(0.0),
    Param::number(
        "clearance",
        Unit::Mm,
        (0.05, 1.5),
        "Gap between stone and seat all round, and at both ends. Common practice 0.1 to 0.3, no \
         source.",
    )
    .or(0.2),
    Param::number(
        "wall",
        Unit::Mm,
        (0.3, 10.0),
        "Least wall under and beside the stone; left out, the least that the printer holds.",
    )
    .optional(),
    Param::flag("proud", "Whether the stone may stand out of the bore, through the handle's window."),
    Param::component("pixel", "pixels", "The pixel that lights the stone from its end."),
    Param::choice("pixel_end", &["low", "high"], "At which end of the stone the pixel sits.")
        .or_word("low"),
    Param::number(
        "pixel_x",
        Unit::Mm,
        (-40.0, 40.0),
        "Where the pixel sits beside the bore's axis; left out, in line with the stone's end.",
    )
    .optional(),
    Param::number(
        "pixel_y",
        Unit::Mm,
        (-40.0, 40.0),
        "Where the pixel sits above the bore's axis; left out, in line with the stone's end.",
    )
    .optional(),
    Param::number(
        "pixel_turn",
        Unit::Degrees,
        (-180.0, 180.0),
        "How far the pixel is turned, counter-clockwise seen from the front.",
    )
    .or(0.0),
    Param::number(
        "pixel_clearance",
        Unit::Mm,
        (0.05, 1.0),
        "Gap around the pixel's package and board, on each side.",
    )
    .or(0.15),
    Param::number(
        "gap",
        Unit::Mm,
        (0.5, 40.0),
        "From the face of the pixel's package to the stone's end.",
    )
    .or(3.0),
    Param::choice("light_shape", &["round", "square"], "Shape of the light bore.").or_word("round"),
    Param::number(
        "light_bore",
        Unit::Mm,
        (0.3, 40.0),
        "Width of the light bore between pixel and stone; left out, four fifths of the package.",
    )
    .optional(),
    Param {
        key: "hide",
        kind: Kind::Flag { default: true },
        doc: "Whether a light bore whose width is left out is made narrower, and a gap that is left \
              out longer, until the pixel does not show through a clear stone.",
    },
    Param::component("wire", "wires", "The wires that reach the pixel; their number is the pixel's.")
        .or_word("awg28"),
    Param::number(
        "back_room",
        Unit::Mm,
        (0.3, 20.0),
        "Room behind the pixel for solder and wires, as deep as the wire exit; left out, what the \
         wires need.",
    )
    .optional(),
    Param::number(
        "wire_groove",
        Unit::Mm,
        (0.0, 10.0),
        "Depth of a groove along the underside for wires that pass the cradle; 0 for none.",
    )
    .or(0.0),
    Param::number("far_wall", Unit::Mm, (0.3, 40.0), "Thickness of the wall at the stone's other end.")
        .or(2.0),
    Param::number(
        "window_angle",
        Unit::Degrees,
        (10.0, 180.0),
        "How far the opening through which the stone shows reaches around the bore's axis, about \
         +y; left out, 120, or what a cap leaves.",
    )
    .optional(),
    Param::number(
        "window_length",
        Unit::Mm,
        (1.0, 200.0),
        "Length of that opening along the stone; left out, as long as it can be.",
    )
    .optional(),
    Param::number(
        "window_shift",
        Unit::Mm,
        (-100.0, 100.0),
        "How far the opening's middle lies from its usual place, towards the front.",
    )
    .or(0.0),
    Param::choice(
        "retention",
        &["glue", "lips", "cap"],
        "What holds the stone: glue in the seat, two lips over its ends, or a cap that is glued on.",
    )
    .or_word("glue"),
    Param::number(
        "overlap",
        Unit::Mm,
        (0.3, 8.0),
        "How far lips, or the cap's frame, reach over each end of the stone.",
    )
    .or(1.0),
    Param::number("cap_thickness", Unit::Mm, (0.3, 6.0), "Thickness of the cap.").or(1.2),
    Param::number("glue_gap", Unit::Mm, (0.02, 0.5), "Gap for glue around the cap.").or(0.1),
    Param::number(
        "stone_index",
        Unit::One,
        (1.01, 4.0),
        "Refractive index of the stone, to tell whether its sides glow; quartz has about 1.54.",
    )
    .optional(),
    Param::number(
        "stone_density",
        Unit::GramPerCm3,
        (0.8, 10.0),
        "Density of the stone, for its weight; quartz has about 2.65, common glass 2.5 (from memory).",
    )
    .or(2.65),
    LEAD_IN,
    FIRST_LAYER,
];
