//! A bar with upright round holes.

use super::super::around::bar;
use super::super::build::Slab;
use super::super::{Body, Computed, PartContext, Refusal};
use super::{TestPiece, Told, body};
use crate::measure::{Measured, Unit, Values, Vec2, number};
use crate::section::Region;

pub(super) const BORES: TestPiece = TestPiece {
    name: "bores",
    summary: "upright round holes from 2 to 12 mm",
    look: "drill shanks: the largest that goes through each narrow hole by hand is its size",
    for_bore: false,
    beyond: &["hole"],
    make,
};

/// Diameters, mm: from the narrowest that is drawn for a screw to the widest that
/// `hole_shrink` is applied to. Common practice, no source.
const DIAMETERS: [f64; 8] = [2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0];
/// Narrowest that the inner jaws of a caliper go into, mm. Common practice, no source.
const JAWS: f64 = 5.0;
/// Wall around a hole and height of the bar, mm.
const WALL: f64 = 4.0;
const HEIGHT: f64 = 6.0;

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let width = DIAMETERS[DIAMETERS.len() - 1] + 2.0 * WALL;
    let (mut holes, mut x) = (Region::empty(), WALL);
    for diameter in DIAMETERS {
        let radius = 0.5 * diameter;
        holes = holes.union(&Region::disc(Vec2::new(x + radius, 0.5 * width), radius));
        x += diameter + WALL;
    }
    let section = bar((0.0, x), (0.0, width)).difference(&holes);
    let computed = DIAMETERS.into_iter().enumerate().map(row).collect();
    let slabs = [Slab { bottom: 0.0, top: HEIGHT, section }];
    Ok(vec![body(context, values, "", &slabs, Told { computed, ..Told::default() })?])
}

fn row((i, diameter): (usize, f64)) -> Computed {
    let name = number(diameter);
    let at = if diameter < JAWS {
        format!("the hole of {name} mm: the thickest drill shank that goes through, read itself")
    } else {
        format!("inner jaws in the hole of {name} mm, from the top, turned: the widest places")
    };
    Computed::new(format!("bore_{name}"), format!("hole {}", i + 1), diameter, Unit::Mm).read(
        Measured::Hole,
        None,
        at,
    )
}
