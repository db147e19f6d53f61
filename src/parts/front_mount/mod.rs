//! Front mount: seats a board with spring pins behind the front tube, at the
//! depth that presses the pins as they need it.
//!
//! A round seat in the front end of a module takes the board; a rib in its
//! notch keeps it from turning. Behind it lie a recess for solder joints and a
//! full land with a hole for the wires. Openings only widen towards the front,
//! so that the mount prints on its land without support.

#[cfg(test)]
mod random;
mod report;
mod rows;
mod shape;
mod socket;
mod spec;

#[cfg(test)]
mod tests;

use super::build::{Ends, chamfered, solid};
use super::{Body, PartContext, PartKind, Refusal};
use crate::measure::Values;
use report::Made;
use socket::Socket;
use spec::Spec;

/// The kind's row in the table of parts.
pub(super) const FRONT_MOUNT: PartKind = PartKind {
    name: "front_mount",
    summary: "seat for a board with spring pins behind the front tube, with its depth and its socket checked",
    params: rows::ROWS,
    make,
};

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let spec = Spec::new(context, values)?;
    let socket = Socket::new(context, values, &spec)?;
    let (stack, chamfers) = chamfered(&spec.slabs(), Ends::new(values));
    let solid = solid(&stack, &[], "the mount")?;
    let made = Made { context, values, spec: &spec, socket: &socket, chamfers };
    Ok(vec![Body {
        name: context.name.to_owned(),
        solid,
        computed: made.computed(),
        messages: made.messages(),
        worked: made.worked(),
        declared: made.declared(),
    }])
}
