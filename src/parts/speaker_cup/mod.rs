//! Speaker cup: a module with a round or oval speaker, its axis along the bore.
//!
//! From the side that the speaker faces: a wall with sound ports, the air gap
//! before the cone, a shoulder that the rim is sealed on, and a seat around the
//! frame that is open behind. It widens that way, and is printed on the wall
//! with the ports.

mod declared;
mod plan;
mod ports;
#[cfg(test)]
mod random;
mod refuse;
mod report;
mod rows;
mod shape;
mod spec;

#[cfg(test)]
mod tests;

use super::build::Ends;
use super::hollow::Standing;
use super::module::Outside;
use super::{Body, Calculation, PartContext, PartKind, Refusal};
use crate::measure::Values;
use plan::Plan;
use refuse::Asked;
use report::Made;
use spec::Spec;

/// The kind's row in the table of parts.
pub(super) const SPEAKER_CUP: PartKind = PartKind {
    name: "speaker_cup",
    summary: "a cup that a speaker is sealed in, with sound ports towards the cap or the front",
    params: rows::ROWS,
    make,
};

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let outside = Outside::new(context, values)?;
    let spec = Spec::new(context, values, outside)?;
    let asked = Asked { context, values, spec: &spec };
    let plan = Plan::new(&spec).map_err(|misfit| asked.refusal(&misfit))?;
    let standing = Standing {
        from_z: crate::section::snap(values.number("from_z")),
        length: plan.length,
        front_down: values.choice("facing") == "front",
    };
    standing.check(context, values, "from_z")?;
    let ends = standing.ends(Ends::new(values));
    let (solid, chamfers) = plan.hollow(&spec, standing, ends).solid("the cup")?;
    let ring = match &plan.ring {
        None => None,
        Some(ring) => Some(plan.ring_solid(ring, standing)?),
    };
    let made = Made { asked: &asked, plan: &plan, standing, chamfers };
    let mut worked = spec.outside.worked();
    worked.extend(Calculation::list([("sound ports", plan.ports.input.worked())]));
    if let Some(channel) = &plan.channel {
        worked.extend(Calculation::list([("the speaker's wires", channel.input.worked())]));
    }
    let mut bodies = vec![Body {
        name: context.name.to_owned(),
        solid,
        computed: made.computed(),
        messages: made.messages(),
        worked,
        declared: made.declared(ring.as_ref().map(|(solid, _)| solid)),
    }];
    if let (Some((solid, chamfer)), Some(ring)) = (ring, &plan.ring) {
        bodies.push(Body {
            name: format!("{}-ring", context.name),
            solid,
            computed: made.ring_computed(ring, chamfer),
            messages: made.ring_messages(),
            worked: Vec::new(),
            declared: made.ring_declared(ring),
        });
    }
    Ok(bodies)
}
