//! Display plug: closes the socket while no front tube is fitted.
//!
//! A turned part: a stem in the socket with a groove for the retention screws,
//! a flange on the handle's front, a head that shows. A bore up the middle and
//! windows around the head let light out. Its outline is straight pieces: a
//! dome is a stack of tapers within a stated error.

mod profile;
#[cfg(test)]
mod random;
mod report;
mod rows;
mod spec;
mod windows;

#[cfg(test)]
mod tests;

use super::build::solid;
use super::{Body, PartContext, PartKind, Refusal};
use crate::measure::Values;
use report::Made;
use spec::Spec;

/// The kind's row in the table of parts.
pub(super) const DISPLAY_PLUG: PartKind = PartKind {
    name: "display_plug",
    summary: "plug with a flat, domed or conical head for the socket without its front tube",
    params: rows::ROWS,
    make,
};

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let spec = Spec::new(context, values)?;
    let solid = solid(&spec.stack()?, &spec.window_bores(), "the plug")?;
    let made = Made { context, values, spec: &spec };
    Ok(vec![Body {
        name: context.name.to_owned(),
        solid,
        computed: made.computed(),
        messages: made.messages(),
        worked: made.worked(),
        declared: made.declared(),
    }])
}
