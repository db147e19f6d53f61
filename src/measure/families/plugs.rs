//! Plugs: what stands before a board's socket.

use super::{Family, NOTE, SOURCE};
use crate::measure::param::Param;
use crate::measure::param::Unit;

/// Plugs of cables, as bodies before a socket.
pub(super) const PLUGS: Family = Family {
    name: "plugs",
    summary: "plugs of cables: the body that stands before the socket",
    rows: &[
        Param::number(
            "body_width",
            Unit::Mm,
            (1.0, 60.0),
            "Width of the moulded body, along the board's edge.",
        ),
        Param::number(
            "body_height",
            Unit::Mm,
            (1.0, 40.0),
            "Height of the moulded body, square to the board.",
        ),
        Param::number(
            "length",
            Unit::Mm,
            (0.0, 100.0),
            "How far the body stands out of the socket; of an angled plug, up to its far side.",
        ),
        Param::number(
            "bend_height",
            Unit::Mm,
            (1.0, 80.0),
            "How far an angled plug rises from the middle of the socket, away from the board; left out, the plug is straight.",
        )
        .optional(),
        NOTE,
        SOURCE,
    ],
    check: |_| Vec::new(),
    shipped: include_str!("../../../profiles/plugs.toml"),
};
