//! Free walls, each thicker than the one before.

use super::super::around::bar;
use super::super::build::Slab;
use super::super::{Body, Computed, PartContext, Refusal};
use super::{CORNER, TestPiece, Told, body};
use crate::measure::{Axis, Measured, Unit, Values, Vec2, number};
use crate::section::Region;

pub(super) const LADDER: TestPiece = TestPiece {
    name: "ladder",
    summary: "free walls from 0.3 to 2 mm",
    look: "count walls from the cut-off corner: 0.3, 0.4, 0.5, 0.6, 0.8, 1, 1.2, 1.6 and 2 mm; the \
           thinnest that stands whole and straight and does not break when you press it with a \
           finger is wall_free",
    for_bore: false,
    beyond: &["wall", "column", "pin"],
    make,
};

/// Thicknesses, mm: around the least walls of published guides
/// (`profiles/printers.toml`).
const THICK: [f64; 9] = [0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.6, 2.0];
/// Gap between two walls and at the ends, length and height of a wall, thickness of
/// the base, mm.
const GAP: f64 = 4.0;
const LONG: f64 = 15.0;
const HIGH: f64 = 10.0;
const BASE: f64 = 3.0;

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let (mut walls, mut x) = (Region::empty(), GAP);
    for thick in THICK {
        walls = walls.union(&bar((x, x + thick), (GAP, GAP + LONG)));
        x += thick + GAP;
    }
    let corner = [Vec2::zeros(), Vec2::new(CORNER, 0.0), Vec2::new(0.0, CORNER)];
    let base = bar((0.0, x), (0.0, LONG + 2.0 * GAP)).difference(&Region::polygon(&corner));
    let slabs = [
        Slab { bottom: 0.0, top: BASE, section: base },
        Slab { bottom: BASE, top: BASE + HIGH, section: walls },
    ];
    let computed = THICK.into_iter().enumerate().map(row).collect();
    Ok(vec![body(context, values, "", &slabs, Told { computed, ..Told::default() })?])
}

fn row((i, thick): (usize, f64)) -> Computed {
    let what = format!("wall of {} mm", number(thick));
    let row = Computed::new(format!("wall{}", i + 1), what, thick, Unit::Mm);
    if i + 1 < THICK.len() {
        return row;
    }
    row.read(Measured::Outside, Some(Axis::X), "over the thickest wall, gently, half way up")
}
