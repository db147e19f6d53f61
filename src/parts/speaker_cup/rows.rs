//! What may be entered for a speaker cup.

use super::super::build::{FIRST_LAYER, LEAD_IN};
use super::super::fit::{COAT, FIT};
use super::super::module::{FROM_Z, GROOVE_AT, KEEL, SLACK, WIRE, WIRES};
use crate::measure::{Param, Unit};

/// Rows of the part.
pub(super) const ROWS: &[Param] = &[
    Param::component(
        "speaker",
        "speakers",
        "The speaker; measured sizes beat those of a profile.",
    ),
    FROM_Z,
    FIT,
    COAT,
    KEEL,
    WIRES,
    WIRE,
    GROOVE_AT,
    SLACK,
    Param::choice(
        "facing",
        &["cap", "front"],
        "Which way the speaker faces: towards the end cap or the front.",
    )
    .or_word("cap"),
    Param::number(
        "speaker_y",
        Unit::Mm,
        (-40.0, 40.0),
        "How far the speaker's middle lies above the bore's axis, towards the switches; left out, \
         on the axis, or in the middle of the room above the keel.",
    )
    .optional(),
    Param::number(
        "clearance",
        Unit::Mm,
        (0.0, 2.0),
        "Room across the seat beyond the largest frame; left out, the printer's sliding fit.",
    )
    .optional(),
    Param::number(
        "grille",
        Unit::Mm,
        (0.4, 10.0),
        "Thickness of the wall with the sound ports.",
    )
    .or(1.6),
    Param::number(
        "front_gap",
        Unit::Mm,
        (0.2, 10.0),
        "Air between the ports' wall and the foremost point of the cone; 1 to 2 is published practice.",
    )
    .or(1.5),
    Param::number(
        "land",
        Unit::Mm,
        (0.4, 10.0),
        "Width of the rim that lies on the shoulder; left out, all of the rim.",
    )
    .optional(),
    Param::number(
        "gasket",
        Unit::Mm,
        (0.0, 3.0),
        "Thickness of a foam gasket below the rim, pressed; 0 where the rim is glued on the shoulder.",
    )
    .or(0.0),
    Param::number(
        "open_share",
        Unit::Percent,
        (1.0, 60.0),
        "Open area of the ports, as a share of the cone's; published advice goes from 12.5 to 20 at least.",
    )
    .or(20.0),
    Param::number(
        "port",
        Unit::Mm,
        (0.5, 10.0),
        "Diameter of one sound port; left out, 2 mm or the nearest that reaches the share.",
    )
    .optional(),
    Param::number(
        "web",
        Unit::Mm,
        (0.3, 10.0),
        "Least wall between ports, and from the ports to the shoulder's edge; left out, the printer's.",
    )
    .optional(),
    Param::choice(
        "retention",
        &["glue", "ring"],
        "How the speaker is held: glued by its rim, or pressed by a ring from behind.",
    )
    .or_word("glue"),
    Param::choice(
        "ring_fit",
        &["press", "glue"],
        "How the ring sits in the cup: by a press fit, or glued with the sliding fit.",
    )
    .or_word("press"),
    Param::number("ring_height", Unit::Mm, (1.0, 15.0), "Height of the ring, along the bore.")
        .or(2.5),
    Param::number(
        "rear",
        Unit::Mm,
        (0.0, 200.0),
        "Room behind the speaker's magnet up to the module's open end.",
    )
    .or(4.0),
    Param::choice(
        "exit",
        &["behind", "face"],
        "Where the speaker's two wires go: out of the open end behind it, or past its rim through a \
         channel to the side that it faces.",
    )
    .or_word("behind"),
    Param::number(
        "exit_at",
        Unit::Degrees,
        (-360.0, 360.0),
        "Clocking of that channel: 0 at the switches, counter-clockwise seen from the front.",
    )
    .or(270.0),
    Param::component("speaker_wire", "wires", "The speaker's own two wires.").or_word("awg28"),
    LEAD_IN,
    FIRST_LAYER,
];
