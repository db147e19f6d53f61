//! Switch plate: holds a switch below each plunger of a handle.
//!
//! Outer arcs slide in the bore, the back is flat. Each switch stands in a
//! pocket whose floor is square to its plunger, at the distance from the axis
//! that leaves the gap the tolerances need. The plate is a stack of sections
//! along z; everything that is cut changes only at a few heights.

mod components;
mod matings;
mod messages;
mod neighbours;
mod passage;
mod placing;
mod plan;
mod plunger;
#[cfg(test)]
mod random;
mod report;
mod rows;
mod screws;
mod section;
mod walls;

use super::build::{self, Ends, chamfered};
use super::fit::BoreFit;
use super::module::level;
use super::{Body, Calculation, Declared, PartContext, PartKind, Refusal};
use crate::measure::Values;
use crate::section::snap;
use plan::Plan;
use section::{slabs, without_feathers, without_loose_bits};

/// The row of [`super::PART_KINDS`].
pub(super) const SWITCH_PLATE: PartKind = PartKind {
    name: "switch_plate",
    summary: "plate that holds a switch below each plunger, at the height that its travel needs",
    params: rows::PARAMS,
    make,
};

/// How often a plate is tried with slightly larger widths before it is given
/// up: cuts that lean against each other can meet nearly, but not quite, in a
/// point, which no print shows and no solid takes.
const TRIES: u32 = 6;

/// How much larger widths are at each try, mm; no multiple of the step.
const NUDGE: f64 = 0.037;

/// The largest of them, mm.
const LARGEST_NUDGE: f64 = (TRIES - 1) as f64 * NUDGE;

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let fit = BoreFit::new(context, values);
    let mut first = None;
    for tried in 0..=TRIES {
        // First as asked, then without loose bits, then with larger widths.
        let nudge = f64::from(tried.saturating_sub(1)) * NUDGE;
        let plan = match Plan::new(context, values, &fit, nudge) {
            Ok(plan) => plan,
            Err(refusal) => return Err(first.unwrap_or(refusal)),
        };
        match make_planned(context, values, &fit, &plan, tried > 0) {
            Ok(body) => return Ok(vec![body]),
            Err(Failure::Plan(refusal)) => return Err(refusal),
            Err(Failure::Solid(refusal)) => first = first.or(Some(refusal)),
        }
    }
    Err(first.expect("a try that did not return has failed"))
}

/// Why one try failed.
enum Failure {
    /// The plate does not hold as asked.
    Plan(Refusal),
    /// Its sections do not make a solid.
    Solid(Refusal),
}

fn make_planned(
    context: &PartContext<'_>,
    values: &Values,
    fit: &BoreFit,
    plan: &Plan<'_>,
    again: bool,
) -> Result<Body, Failure> {
    let mut slabs = slabs(plan);
    let trimmed = without_feathers(plan, &slabs);
    let feathers = trimmed.is_some();
    slabs = trimmed.unwrap_or(slabs);
    let whole = if again { without_loose_bits(&slabs) } else { None };
    let bits = whole.is_some();
    slabs = whole.unwrap_or(slabs);
    let walls = walls::measure(plan, &slabs);
    walls::check(context, plan, &walls).map_err(Failure::Plan)?;
    let guides = walls::guides(plan, &slabs);
    guides.check(plan).map_err(Failure::Plan)?;
    let asked = match values.choice("print_on") {
        "end" => Ends::new(values),
        // Lying on its back, the plate has no first layer at its ends.
        _ => Ends { low: 0.0, high: snap(values.number("lead_in")) },
    };
    let nudged = |size: f64| if size > 0.0 { snap(size + 0.5 * plan.nudge) } else { 0.0 };
    let ends = Ends { low: nudged(asked.low), high: nudged(asked.high) };
    let (stack, made) = chamfered(&slabs, ends);
    let solid = build::solid(&stack, &plan.bores(), "the plate").map_err(Failure::Solid)?;
    let passage = passage::Passage::new(plan, &slabs);
    let facts = report::Facts {
        plan,
        fit,
        walls: &walls,
        guides: &guides,
        passage: &passage,
        bits,
        feathers,
        fullest: slabs.iter().map(|s| s.section.area()).fold(0.0, f64::max),
        asked,
        made,
    };
    let computed = report::computed(&facts);
    let messages = messages::messages(context, &facts);
    let worked = Calculation::list(
        plan.plungers.iter().map(|p| (format!("plunger {}", p.number), p.chain.worked())),
    );
    Ok(Body {
        name: context.name.to_owned(),
        solid,
        computed,
        messages,
        worked,
        declared: Declared {
            handed: plan.plungers.iter().map(plunger::Plunger::handed).collect(),
            ..matings::declared(context, &facts).joined(plan.components(context, fit))
        },
    })
}

#[cfg(test)]
mod tests;
