//! How the plate slides in past the plungers.

use super::super::build::Slab;
use super::plan::Plan;
use super::plunger::Plunger;
use super::walls::crossings;

/// Points across a plunger at which the way past it is measured.
const ACROSS: u32 = 24;

/// How far each plunger must be drawn out, from rest, while the plate slides in
/// from the end cap, mm; in the order of the plan's plungers, zero where it may
/// stay.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Passage {
    pub drawn: Vec<f64>,
}

impl Passage {
    pub(super) fn new(plan: &Plan<'_>, slabs: &[Slab]) -> Passage {
        let drawn = (0..plan.plungers.len())
            .map(|i| {
                let p = &plan.plungers[i];
                let highest = plate(plan, slabs, i).max(switches(plan, i));
                // At the place where it belongs, the gap at rest is there.
                (highest - p.tip).max(0.0)
            })
            .collect();
        Passage { drawn }
    }
}

fn across(p: &Plunger<'_>) -> impl Iterator<Item = f64> {
    let half = 0.5 * p.diameter;
    (0..=ACROSS).map(move |k| half * (f64::from(2 * k) / f64::from(ACROSS) - 1.0))
}

/// How far the plate reaches towards a plunger in the sections that pass it.
fn plate(plan: &Plan<'_>, slabs: &[Slab], i: usize) -> f64 {
    let p = &plan.plungers[i];
    let passing = slabs.iter().filter(|s| s.top > p.z);
    let mut highest = f64::NEG_INFINITY;
    for slab in passing {
        for u in across(p) {
            let far = 2.0 * plan.radius;
            let from = p.axes.point(u, far);
            let pieces = slab.section.loops().iter().flatten();
            let first = pieces
                .flat_map(|s| crossings(s, from, -p.axes.along))
                .fold(f64::INFINITY, f64::min);
            highest = highest.max(far - first);
        }
    }
    highest
}

/// How far the switches that pass a plunger reach towards it.
fn switches(plan: &Plan<'_>, i: usize) -> f64 {
    let p = &plan.plungers[i];
    let half = 0.5 * p.diameter;
    let mut highest = f64::NEG_INFINITY;
    for q in &plan.plungers[i + 1..] {
        let body = (q.foot.pocket.u.1, q.seat + q.pad + q.switch.number("body_height"));
        let stem = (0.5 * q.switch.number("stem_diameter"), q.stem_top());
        for (wide, top) in [body, stem] {
            for k in 0..=ACROSS {
                let u = wide * (f64::from(2 * k) / f64::from(ACROSS) - 1.0);
                let (off, up) = p.axes.local(q.axes.point(u, top));
                if off.abs() <= half && up > 0.0 {
                    highest = highest.max(up);
                }
            }
        }
    }
    highest
}
