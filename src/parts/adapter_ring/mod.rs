//! Adapter ring: sleeves a small chassis into a larger bore.
//!
//! A closed ring, or a split one that is drawn larger than the bore and springs
//! against it; holes let retention screws and plungers through, a flange stops
//! it at the cap's end, and shims are the same ring with thicker walls, told
//! apart by notches in their front ends.

#[cfg(test)]
mod random;
mod report;
mod rows;
mod shape;
mod spec;
mod stated;

#[cfg(test)]
mod tests;

use super::{Body, Calculation, PartContext, PartKind, Refusal};
use crate::measure::Values;
use report::Made;
use shape::Shape;
use spec::Ring;

/// The row of [`super::PART_KINDS`].
pub(super) const ADAPTER_RING: PartKind = PartKind {
    name: "adapter_ring",
    summary: "ring that sleeves a small chassis into a larger bore, closed or split, with shims",
    params: rows::ROWS,
    make,
};

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let ring = Ring::new(context, values)?;
    (0..=ring.shims).map(|shim| body(context, values, &ring, shim)).collect()
}

/// The ring, or one of its shims, counted from 1.
fn body(
    context: &PartContext<'_>,
    values: &Values,
    ring: &Ring,
    shim: u32,
) -> Result<Body, Refusal> {
    let shape = Shape::new(ring, shim)?;
    let made = Made { context, values, ring, shim, chamfers: shape.made };
    let mut worked = ring.outside.worked();
    let squeezed = ring.gap.map(|gap| ring.squeeze_input(context, gap.squeeze, shim).worked());
    worked.extend(Calculation::list(squeezed.map(|w| ("the split ring in the bore", w))));
    let suffix = if shim > 0 { format!("-shim{shim}") } else { String::new() };
    Ok(Body {
        name: format!("{}{suffix}", context.name),
        computed: made.computed(),
        messages: made.messages(),
        worked,
        declared: made.declared(),
        solid: shape.solid,
    })
}
