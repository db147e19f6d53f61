//! Crystal cradle: holds a measured stone in the bore, or in a cavity of a
//! chassis, and lights it from one end.

mod body;
mod cap;
#[cfg(test)]
mod chassis_tests;
mod components;
mod held;
mod hints;
mod holder;
mod lips;
mod matings;
mod opening;
mod params;
mod pixel;
mod plan;
#[cfg(test)]
mod random;
mod refuse;
mod report;
mod scan;
mod seat;
mod settle;
mod sight;
mod stone;
#[cfg(test)]
mod tests;
mod veil;

use super::{Body, Computed, Message, PartContext, PartKind, Refusal, Severity, build};
use crate::measure::{Unit, Values};
use plan::{Plan, Retention};
use veil::Veil;

/// The kind of part.
pub(super) const CRYSTAL_CRADLE: PartKind = PartKind {
    name: "crystal_cradle",
    summary: "holds a stone and hides the pixel that lights it",
    params: params::PARAMS,
    make,
};

/// How often measures that nearly coincide are moved apart by a hundredth
/// before the part is refused.
const NUDGES: u32 = 5;

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let veiled = |veil| nudged(context, values, veil);
    let bodies = veiled(Veil::default())?;
    Ok(veil::hidden(context, values, bodies, veiled))
}

fn nudged(context: &PartContext<'_>, values: &Values, veil: Veil) -> Result<Vec<Body>, Refusal> {
    let mut refused = None;
    for nudge in 0..NUDGES {
        let plan = Plan::new(context, values, veil, nudge)?;
        match bodies(context, &plan) {
            Ok(bodies) => return Ok(bodies),
            Err(refusal) => refused = Some(refusal),
        }
    }
    Err(refused.expect("there is at least one try"))
}

fn bodies(context: &PartContext<'_>, plan: &Plan<'_>) -> Result<Vec<Body>, Refusal> {
    let (stack, ends) = plan.stack(context.printer.number("layer"));
    let capping = match &plan.retention {
        Retention::Cap(cap) => Some(build::solid(&plan.cap_stack(cap), &[], "the cap")?),
        _ => None,
    };
    let mut out = vec![Body {
        name: context.name.to_owned(),
        solid: build::solid(&stack, &[], "the cradle")?,
        computed: plan.computed(ends),
        messages: plan.messages(),
        worked: plan.worked(),
        declared: plan
            .declared(context)
            .joined(plan.with_cradle(context, capping.as_ref()))
            .joined(plan.kept()),
    }];
    if let (Retention::Cap(cap), Some(solid)) = (&plan.retention, capping) {
        let (low, high) = cap.own_ends();
        let (from, to) = plan.window_z;
        out.push(Body {
            name: format!("{}-cap", context.name),
            solid,
            computed: vec![
                Computed::new("length", "length of the cap", high - low, Unit::Mm),
                Computed::new("thickness", "thickness of the cap", cap.thickness, Unit::Mm),
                Computed::new("window_angle", "angle of the window", cap.window, Unit::Degrees),
                Computed::new("window_length", "length of the window", to - from, Unit::Mm),
                Computed::new("frame_low", "frame at the low end", from - low, Unit::Mm),
                Computed::new("frame_high", "frame at the high end", high - to, Unit::Mm),
            ],
            messages: vec![Message {
                severity: Severity::Note,
                text: "printed upright on an end, the cap needs no support".into(),
                hint: None,
            }],
            worked: Vec::new(),
            declared: plan.cap_declared(context).joined(plan.with_cap(context)),
        });
    }
    Ok(out)
}
