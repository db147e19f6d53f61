//! Board sled: carries a circuit board in the bore, in rails along its long
//! edges with a gate at the cap's end, or on sills below its holes.
//!
//! The board lies in a plane along z. The sled is the bore's outside less
//! boxes: a well over a flat floor, grooves for the board's edges, room for
//! what stands off it and for the plugs at its edges. It prints upright on its
//! front end: whatever begins higher up begins with a slope.

mod board;
mod components;
mod cures;
mod dxf;
mod gate;
mod matings;
mod plan;
mod rails;
mod report;
mod room;
mod rows;
mod shape;
mod spec;

#[cfg(test)]
mod random;
#[cfg(test)]
mod tests;

use super::build::Ends;
use super::{Body, PartContext, PartKind, Refusal};
use crate::measure::Values;
use gate::Gate;
use spec::Spec;

/// The row of [`super::PART_KINDS`].
pub(super) const BOARD_SLED: PartKind = PartKind {
    name: "board_sled",
    summary: "carries a circuit board in rails or on sills, with room for parts and plugs",
    params: rows::PARAMS,
    make,
};

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let spec = Spec::new(context, values)?;
    let plan = room::plan(context, values, &spec)?;
    rails::check(values, &spec, &plan)?;
    let gate = Gate::new(&spec, &plan, context.printer.number("pin_min"))
        .map_err(|(refusal, key)| refusal.at(values, key))?;
    // The front lies on the bed and leads into the bore.
    let ends = Ends::new(values);
    let sled = shape::sled(&spec, &plan, ends.low.max(ends.high))?;
    let facts = report::Facts {
        context,
        values,
        spec: &spec,
        plan: &plan,
        gate: gate.as_ref(),
        chamfer: sled.chamfer,
        chamfer_asked: ends.low.max(ends.high),
        stepped: &sled.stepped,
    };
    let locking = gate.as_ref().map(Gate::solid).transpose()?;
    let mut bodies = vec![Body {
        name: context.name.to_owned(),
        computed: facts.computed(),
        messages: facts.messages(),
        worked: facts.worked(),
        declared: facts.declared().joined(facts.with_sled(locking.as_ref())),
        solid: sled.solid,
    }];
    if let (Some(gate), Some(solid)) = (&gate, locking) {
        bodies.push(Body {
            name: format!("{}-gate", context.name),
            solid,
            computed: facts.gate_computed(gate),
            messages: Vec::new(),
            worked: Vec::new(),
            declared: facts.gate_declared(gate),
        });
    }
    Ok(bodies)
}
