//! Wire cover: a shell that follows the bore over ducts and tray, and trim.
//!
//! A stretch of the bore's circle, in pieces of equal length, clipped on a rail
//! of the module below or glued on, with flats for decoration. Its section is
//! the same all along, so that it prints standing on its end, and its legs bend
//! in the plane of the layers.

mod clips;
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
use spec::Cover;

/// The row of [`super::PART_KINDS`].
pub(super) const WIRE_COVER: PartKind = PartKind {
    name: "wire_cover",
    summary: "curved shell over wires and ducts, clipped or glued on in pieces, with flats for trim",
    params: rows::ROWS,
    make,
};

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let cover = Cover::new(context, values)?;
    (0..cover.pieces.len()).map(|piece| body(context, values, &cover, piece)).collect()
}

fn body(
    context: &PartContext<'_>,
    values: &Values,
    cover: &Cover,
    piece: usize,
) -> Result<Body, Refusal> {
    let shape = shape::Shape::new(cover, piece)?;
    let made = Made { context, values, cover, piece, chamfers: shape.made };
    let clips = cover.clips.as_ref().map(|clips| ("a leg of the clips", clips.input.worked()));
    let suffix = if cover.pieces.len() > 1 { format!("-{}", piece + 1) } else { String::new() };
    Ok(Body {
        name: format!("{}{suffix}", context.name),
        computed: made.computed(),
        messages: made.messages(),
        worked: Calculation::list(clips),
        declared: made.declared(),
        solid: shape.solid,
    })
}
