//! What may be entered for a switch plate.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::fixing::{GRIP, SCREW, SERIES};
use super::super::module::KEEL;
use crate::measure::{Default, Kind, Param, Unit};

/// Rows of one plunger.
pub(super) const PLUNGER: &[Param] = &[
    Param::number(
        "z",
        Unit::Mm,
        (0.0, 1500.0),
        "Where the plunger's middle is along the handle, from the end cap's face.",
    ),
    Param::number(
        "clocking",
        Unit::Degrees,
        (-180.0, 360.0),
        "Which way round the handle the plunger sits: 0 at +y, counter-clockwise seen from the front.",
    )
    .or(0.0),
    Param::number(
        "tip",
        Unit::Mm,
        (0.5, 100.0),
        "Distance of the plunger's inner end from the bore's axis, not pressed; give this or depth.",
    )
    .asked(),
    Param::number(
        "depth",
        Unit::Mm,
        (0.0, 100.0),
        "How far the plunger's inner end lies below the handle's outside, not pressed; give this or tip.",
    )
    .optional(),
    Param::number(
        "tip_tolerance",
        Unit::Mm,
        (0.0, 2.0),
        "How far the inner end may be off, either way.",
    )
    .or(0.1),
    Param::number(
        "diameter",
        Unit::Mm,
        (0.5, 30.0),
        "Diameter of the plunger where it stands in the bore; everything in its way is cut free.",
    )
    .or(5.0),
    Param::number(
        "travel",
        Unit::Mm,
        (0.1, 20.0),
        "How far the plunger can be pressed in from rest to its own stop.",
    ),
    Param::number(
        "travel_tolerance",
        Unit::Mm,
        (0.0, 2.0),
        "How far the travel may be off, either way.",
    )
    .or(0.1),
    Param::component(
        "switch",
        "switches",
        "The switch below this plunger; measured sizes beat those of a profile.",
    ),
    Param::flag(
        "turned",
        "Whether the switch is turned a quarter, so that its legs point along the handle.",
    ),
    Param::number(
        "gap",
        Unit::Mm,
        (0.0, 10.0),
        "Gap between plunger and stem at rest; left out, the one in the middle of what works.",
    )
    .optional(),
    Param::number(
        "pad",
        Unit::Mm,
        (0.0, 5.0),
        "Thickness of a board, tape or shim between the pocket's floor and the switch.",
    )
    .or(0.0),
    Param::number(
        "pad_tolerance",
        Unit::Mm,
        (0.0, 1.0),
        "How far that thickness may be off, either way.",
    )
    .or(0.1),
];

/// Rows of the part.
pub(super) const PARAMS: &[Param] = &[
    Param {
        key: "plunger",
        kind: Kind::List { rows: PLUNGER, count: (1, 8), starts: 1 },
        doc: "The plungers of the handle, each with the switch below it.",
    },
    FIT,
    COAT,
    KEEL,
    Param::number(
        "facing",
        Unit::Degrees,
        (-180.0, 360.0),
        "Clocking angle that the plate's flat back looks away from; left out, the middle of the plungers.",
    )
    .optional(),
    Param::number(
        "thickness",
        Unit::Mm,
        (0.4, 40.0),
        "Plastic between the lowest pocket floor and the flat back; 2 if neither this nor back is given.",
    )
    .optional(),
    Param::number(
        "back",
        Unit::Mm,
        (-60.0, 60.0),
        "Distance of the flat back from the bore's axis, towards the switches; negative is beyond the axis.",
    )
    .optional(),
    Param::number(
        "ledge",
        Unit::Mm,
        (0.5, 8.0),
        "Height of the pocket walls that hold a switch, above the pocket's floor.",
    )
    .or(1.5),
    Param::choice(
        "facet",
        &["across", "trough"],
        "What is cut away above a pocket: all of the plate's width, or a trough as wide as pocket and walls.",
    )
    .or_word("across"),
    Param::number(
        "wall",
        Unit::Mm,
        (0.3, 5.0),
        "Wall around the pockets; left out, 1.2 or what the printer needs.",
    )
    .optional(),
    Param::number(
        "clearance",
        Unit::Mm,
        (0.0, 1.0),
        "Room on each side of the thickest switch in its pocket; left out, half the printer's sliding fit.",
    )
    .optional(),
    Param::number(
        "ends",
        Unit::Mm,
        (0.0, 60.0),
        "Length of the full land beyond the last pocket wall at either end; it guides the plate and takes glue.",
    )
    .or(4.0),
    Param::number(
        "land_top",
        Unit::Mm,
        (-60.0, 60.0),
        "How far the lands at the ends reach from the bore's axis, towards the switches; left out, to the bore. Lower, other wires pass above them.",
    )
    .optional(),
    Param::number(
        "from_z",
        Unit::Mm,
        (0.0, 1500.0),
        "Where the plate's low end sits; left out, where the lowest pocket needs it.",
    )
    .optional(),
    Param::number(
        "length",
        Unit::Mm,
        (3.0, 600.0),
        "Length of the plate; left out, as long as the pockets need.",
    )
    .optional(),
    Param::choice(
        "plungers",
        &["stay", "out"],
        "Whether the plungers stay in while the plate slides in, at rest (lanes are cut for them), or are out.",
    )
    .or_word("stay"),
    Param::choice(
        "wires",
        &["cap", "front", "none"],
        "To which end the wires leave, in channels along the flat back; with none there are no channels.",
    )
    .or_word("cap"),
    Param::component("wire", "wires", "The wires to the switches, for slots and channels.")
        .or_word("awg28"),
    Param::choice(
        "fixing",
        &["glue", "screws"],
        "How the plate is held: glued on its flanks and back, or screwed down by a flange at each end.",
    )
    .or_word("glue"),
    Param::number(
        "glue_area",
        Unit::Mm2,
        (1.0, 20_000.0),
        "Least area to glue on each flank; the lands at the ends grow until they have it.",
    )
    .optional(),
    SCREW,
    SERIES,
    Param {
        key: "screws",
        kind: Kind::Integer { min: 2, max: 4, default: Default::Value(2) },
        doc: "Number of screws: 2, one at each end; 3, two at the cap's end; 4, two at each end.",
    },
    Param::number(
        "spread",
        Unit::Mm,
        (1.0, 100.0),
        "Distance between two screws side by side; left out, as far apart as the edges allow.",
    )
    .optional(),
    GRIP,
    Param::choice(
        "basis",
        &["worst", "rss"],
        "Which sum of tolerances must leave the button working: all at once, or root of the sum of squares.",
    )
    .or_word("worst"),
    Param::number(
        "gap_least",
        Unit::Mm,
        (0.0, 2.0),
        "Smallest gap at rest after all tolerances, so that no switch is held down.",
    )
    .or(0.05),
    Param::number(
        "play",
        Unit::Mm,
        (0.0, 3.0),
        "How far the plate may sit off the bore's middle, either way; left out, from readings and fit.",
    )
    .optional(),
    Param::number(
        "seat_tolerance",
        Unit::Mm,
        (0.0, 2.0),
        "How far a printed floor may be off, either way; left out, the printer's accuracy.",
    )
    .optional(),
    Param::choice(
        "print_on",
        &["back", "end"],
        "What lies on the print bed: the flat back, or the end towards the cap.",
    )
    .or_word("back"),
    LEAD_IN,
    FIRST_LAYER,
];
