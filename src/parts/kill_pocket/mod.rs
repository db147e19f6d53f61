//! Kill-switch pocket: a module behind the end cap that holds the switch which
//! cuts the cell's current.
//!
//! Its face looks to the cap. The lever stands in a sink, below the face; the
//! case stands in a pocket behind it, and its terminals in a room that is open
//! to the front. It widens towards the cap, and is printed on its front end.

mod declared;
mod mark;
mod plan;
#[cfg(test)]
mod random;
mod refuse;
mod report;
mod rows;
mod spec;

#[cfg(test)]
mod tests;

use super::build::Ends;
use super::hollow::{Hollow, Standing, layered};
use super::module::Outside;
use super::{Body, PartContext, PartKind, Refusal};
use crate::measure::Values;
use crate::section::snap;
use plan::Plan;
use refuse::Asked;
use report::Made;
use spec::Spec;

/// The kind's row in the table of parts.
pub(super) const KILL_POCKET: PartKind = PartKind {
    name: "kill_pocket",
    summary: "a module behind the end cap with the switch that cuts the cell's current",
    params: rows::ROWS,
    make,
};

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let outside = Outside::new(context, values)?;
    let spec = Spec::new(context, values, outside)?;
    let asked = Asked { context, values, spec: &spec };
    asked.rated()?;
    let plan = Plan::new(&spec).map_err(|misfit| asked.refusal(&misfit))?;
    let standing =
        Standing { from_z: snap(values.number("from_z")), length: plan.length, front_down: true };
    standing.check(context, values, "from_z")?;
    let hollow = Hollow {
        outside: &spec.outside,
        standing,
        cuts: layered(&plan.cuts(), plan.length),
        ends: standing.ends(Ends::new(values)),
    };
    let (solid, chamfers) = hollow.solid("the pocket")?;
    let made = Made { asked: &asked, plan: &plan, standing, chamfers };
    Ok(vec![Body {
        name: context.name.to_owned(),
        solid,
        computed: made.computed(),
        messages: made.messages(),
        worked: spec.outside.worked(),
        declared: made.declared(),
    }])
}
