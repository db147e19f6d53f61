//! Locking seat: what the handle's retention screw bears on in the chassis, so
//! that it neither turns nor slides.
//!
//! A plug that fits the bore, with a flat, a blind hole or a slot at the screw.
//! A witness line on both end faces and along the outside shows where the screw
//! comes in. The part is a stack of sections; holes and slots along the bore
//! are cross bores.

mod play;
#[cfg(test)]
mod random;
mod refuse;
mod report;
mod rows;
mod shape;
mod spec;
mod stated;

#[cfg(test)]
mod tests;

use super::{Body, Calculation, PartContext, PartKind, Refusal};
use crate::measure::Values;
use shape::Shape;
use spec::{Asked, Seat};

/// The row of [`super::PART_KINDS`].
pub(super) const LOCKING_SEAT: PartKind = PartKind {
    name: "locking_seat",
    summary: "plug with a flat, hole or slot that the handle's retention screw locks the chassis by",
    params: rows::ROWS,
    make,
};

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let asked = Asked::new(context, values)?;
    if let Some(refusal) = refuse::crowded(&asked, values) {
        return Err(refusal);
    }
    let mut seat = Seat::new(&asked).map_err(|misfit| refuse::refused(&asked, values, misfit))?;
    let shape = match Shape::new(&asked, &seat) {
        // Where two halves of the outside meet in a cone, the hole has none.
        Err(_) if seat.cone.is_some() => {
            seat.cone = None;
            Shape::new(&asked, &seat)?
        }
        other => other?,
    };
    let made = report::Made::new(context, values, &asked, &seat, &shape);
    let mut worked = asked.outside.worked();
    worked.extend(Calculation::list([("the screw in its seat", made.hold_input.worked())]));
    Ok(vec![Body {
        name: context.name.to_owned(),
        computed: made.computed(),
        messages: made.messages(),
        worked,
        declared: made.declared(),
        solid: shape.solid,
    }])
}
