//! Spine: joins the modules of a job into one chassis along the bore.
//!
//! The modules have a flat along their underside; the keel, a bar that fills
//! the bore below these flats, runs under all of them. Rings that fill the bore
//! bear against end faces of modules, chairs carry modules whose underside lies
//! higher; both stand in notches of the keel and are bodies of their own, so
//! that each body prints on a flat side without support. Runs of wires lie in
//! ducts in the keel's flat, which the modules close.

mod joints;
mod matings;
mod modules;
mod plan;
#[cfg(test)]
mod random;
mod report;
mod rows;
mod runs;
mod screws;
mod shape;
#[cfg(test)]
mod tests;
mod totals;

use super::{Body, PartContext, PartKind, Refusal};
use crate::measure::Values;
use crate::section::snap;
use crate::solid::Solid;
use plan::Plan;
pub use plan::RingRoom;
use totals::Masses;

/// The row of [`super::PART_KINDS`].
pub(super) const SPINE: PartKind = PartKind {
    name: "spine",
    summary: "keel, rings and chairs that join the modules of a job into one chassis",
    params: rows::ROWS,
    make,
};

/// Least height of the keel in a notch, mm. Common practice, no source.
const LEAST_BAR: f64 = 1.2;

/// Step that features are rounded to, mm: a caliper's own. What is not equal
/// then differs by more than any tolerance of a stack.
const STEP_PER_MM: f64 = 100.0;

fn level(value: f64) -> f64 {
    snap((value * STEP_PER_MM).round() / STEP_PER_MM)
}

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let plan = Plan::new(context, values)?;
    let pieces = plan.pieces()?;
    let rings = plan.rings.iter().map(|ring| plan.ring(ring)).collect::<Result<Vec<_>, _>>()?;
    let chairs = plan.chairs.iter().map(|c| plan.chair(c)).collect::<Result<Vec<_>, _>>()?;
    let standing: Vec<&Solid> = rings.iter().chain(&chairs).map(|(solid, _)| solid).collect();
    let own: Vec<&Solid> = pieces.iter().map(|p| &p.solid).chain(standing).collect();
    let masses = Masses::new(context, &plan, &own);
    let name = context.name;
    let mut bodies = Vec::new();
    for (i, piece) in pieces.iter().enumerate() {
        let before = i.checked_sub(1).map(|i| &pieces[i].solid);
        let mut declared = plan.of_piece(context, piece, before);
        let here = |z: (f64, f64)| z.0 < piece.z.1 && z.1 > piece.z.0;
        for (kind, row, listed, solids) in [
            ("ring", "ring_length", &plan.rings, &rings),
            ("chair", "chair", &plan.chairs, &chairs),
        ] {
            for (n, (standing, (solid, _))) in listed.iter().zip(solids).enumerate() {
                if here(standing.z) {
                    plan.set_down(&mut declared, format!("{kind}_{}", n + 1), solid, row);
                }
            }
        }
        let mut computed = report::of_piece(&plan, piece);
        let first = i == 0;
        if first {
            computed.extend(report::of_all(context, &plan, &masses));
        }
        bodies.push(Body {
            name: if first { name.to_owned() } else { format!("{name}-{}", i + 1) },
            solid: piece.solid.clone(),
            computed,
            messages: if first { report::messages(&plan, &masses) } else { Vec::new() },
            worked: if first { report::worked(&plan) } else { Vec::new() },
            declared,
        });
    }
    for (kind, listed, solids) in [("ring", &plan.rings, rings), ("chair", &plan.chairs, chairs)] {
        for (n, (standing, (solid, made))) in listed.iter().zip(solids).enumerate() {
            bodies.push(Body {
                name: format!("{name}-{kind}-{}", n + 1),
                solid,
                computed: report::of_standing(&plan, standing, made),
                messages: Vec::new(),
                worked: Vec::new(),
                declared: plan.of_standing(context, standing),
            });
        }
    }
    Ok(bodies)
}
