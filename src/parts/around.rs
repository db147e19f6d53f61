//! Components that every kind of part has: the bore around it.

use super::fit::BoreFit;
use super::fixing::Axes;
use super::{Component, Declared, PartContext, Undrawn, Way};
use crate::measure::{Values, Vec2, Vec3};
use crate::section::Region;
use crate::solid::{Placing, Solid, Stack};

/// Wall of a handle whose outside is not given, mm: any will do, since only its
/// inside meets the part.
const TUBE_WALL: f64 = 2.0;

/// Name of the bore as a component.
pub(crate) const BORE: &str = "bore";

/// How far beyond its way out a component is free, mm.
pub(super) const CLEAR: f64 = 1.0;

/// Slabs thinner than this, mm, are left out of components: ten times the
/// least slab of a stack.
const LEAST_SLAB: f64 = 0.01;

impl Declared {
    /// Takes in a component whose solid may have failed.
    pub(super) fn add(
        &mut self,
        name: impl Into<String>,
        solid: Result<Solid, String>,
        finish: impl FnOnce(String, Solid) -> Component,
    ) {
        let name = name.into();
        match solid {
            Ok(solid) => self.components.push(finish(name, solid)),
            Err(reason) => self.undrawn.push(Undrawn { name, reason }),
        }
    }
}

/// The solid of slabs (low, high, section) in rising order; those that are too
/// thin or empty are left out.
pub(super) fn drawn(slabs: &[(f64, f64, Region)]) -> Result<Solid, String> {
    let mut stack = Stack::default();
    for (low, high, section) in slabs {
        if high - low >= LEAST_SLAB && !section.is_empty() {
            stack.prism(*low, *high, section);
        }
    }
    stack.solid().map_err(|e| e.to_string())
}

/// A solid whose heights count along `axes` from the bore's axis, `u` mm to the
/// left of it and at height `z`: its x points to the left, its y to the front.
pub(super) fn standing(
    axes: &Axes,
    (u, z): (f64, f64),
    solid: Result<Solid, String>,
) -> Result<Solid, String> {
    let beside = axes.left * u;
    let placing = Placing {
        origin: Vec3::new(beside.x, beside.y, z),
        x: Vec3::new(axes.left.x, axes.left.y, 0.0),
        y: Vec3::z(),
    };
    solid?.placed(&placing).ok_or_else(|| "it could not be turned".to_owned())
}

/// The rectangle between two corners.
pub(super) fn bar(x: (f64, f64), y: (f64, f64)) -> Region {
    Region::rectangle(Vec2::new(x.0, y.0), Vec2::new(x.1, y.1))
}

/// The handle's tube around a part that ends at `high` mm: at its smallest,
/// less the part's coat of paint. The part slides in from the end cap's end.
pub(super) fn bore(
    declared: &mut Declared,
    context: &PartContext<'_>,
    values: &Values,
    fit: &BoreFit,
    high: f64,
) {
    let inner = 0.5 * fit.bore - values.number("coat");
    let outer = context.handle.outside().map_or(0.0, |d| 0.5 * d).max(inner + TUBE_WALL);
    let ring = Region::disc(Vec2::zeros(), outer).difference(&Region::disc(Vec2::zeros(), inner));
    let solid = drawn(&[(0.0, context.handle.length(), ring)]);
    declared.add(BORE, solid, |name, solid| Component {
        name,
        what: match context.cavity {
            Some(cavity) => format!("the clear bore of {}", cavity.chassis),
            None => "the handle's bore, smallest".into(),
        },
        solid,
        // Seen from the part, the tube comes down over it.
        way: Some(Way::Along { up: false, travel: high + CLEAR }),
        press: (fit.radius - inner).max(0.0),
        field: context.handle.values().path_of("bore"),
    });
}
