//! Flanges at both ends through which the plate is screwed down.

use super::super::fixing::{Axes, ScrewHole, Spot};
use super::super::{PartContext, Refusal};
use super::level;
use super::plan::Plan;
use super::section::{Channel, channels};
use crate::measure::number;
use crate::solid::CrossBore;

/// A flange at either end, lower than the plate, with its screw holes.
#[derive(Clone, Debug)]
pub(super) struct Flanges {
    pub hole: ScrewHole,
    /// Length of each along the handle, mm.
    pub length: f64,
    /// Distance of their top from the axis, the way the plate faces, mm.
    pub top: f64,
    /// To the left of the way the plate faces, mm: at the cap's end and at the
    /// front.
    pub offsets: [Vec<f64>; 2],
    /// Heights of the two rows, mm.
    pub z: [f64; 2],
    /// Least distance of a hole's middle from the flange's sides, mm.
    pub edge: f64,
}

/// Step in which places beside each other are tried, mm.
const STEP: f64 = 0.25;

impl Flanges {
    pub(super) fn new(context: &PartContext<'_>, plan: &Plan<'_>) -> Result<Flanges, Refusal> {
        let values = plan.values;
        let series = values.choice("screw_holes");
        let make = |screw| ScrewHole::new(screw, series, context.printer, plan.wall_least);
        let hole = make(values.component("screw"));
        let top = level(plan.back + values.number("grip") + hole.recess_depth);
        let side = plan.half_chord(plan.back.abs().max(top.abs()));
        if top > plan.radius - 1.0 || side < hole.edge {
            let needed = hole.edge;
            let mut refusal = Refusal::new(format!(
                "a flange {:.2} mm high on the back at {:.2} mm is {:.2} mm wide on each side of \
                 its middle; a screw of {} mm needs {needed:.2} mm to the edge",
                top - plan.back,
                plan.back,
                side,
                number(hole.thread)
            ))
            .at(values, "screw");
            let all = context.library.profiles("screws").iter();
            let fitting: Vec<&str> = all
                .filter(|s| {
                    let other = make(s);
                    let top = plan.back + values.number("grip") + other.recess_depth;
                    top <= plan.radius - 1.0
                        && plan.half_chord(plan.back.abs().max(top.abs())) >= other.edge
                })
                .filter_map(|s| s.profile())
                .take(3)
                .collect();
            if !fitting.is_empty() {
                let names = crate::measure::or_list(&fitting);
                refusal = refusal.hint(format!("screw {names} would fit"));
            }
            return Err(refusal.hint("fixing = \"glue\" needs no flanges"));
        }
        let mut flanges = Flanges {
            length: level(2.0 * hole.edge),
            top,
            offsets: [Vec::new(), Vec::new()],
            z: [0.0; 2],
            edge: side - hole.edge,
            hole,
        };
        let count = values.integer("screws");
        for (end, pair) in [(0, count >= 3), (1, count >= 4)] {
            flanges.offsets[end] = flanges.row(plan, pair, end)?;
        }
        Ok(flanges)
    }

    /// Places for one or two screws of a row, clear of edges and wire channels.
    fn row(&self, plan: &Plan<'_>, pair: bool, end: usize) -> Result<Vec<f64>, Refusal> {
        let leaving = ["cap", "front"][end] == plan.wires;
        // At the end where they leave, all wires lie side by side.
        let channels = if leaving { channels_at_end(plan) } else { Vec::new() };
        let clear = |u: f64| {
            channels.iter().all(|c| {
                let off = (c.u.0 - u).max(u - c.u.1);
                off >= 0.5 * self.hole.hole + plan.wall_least
            })
        };
        let apart = self.hole.recess + plan.wall_least;
        let steps = (self.edge / STEP).floor() as i32;
        if !pair {
            let found = (0..=2 * steps).map(|k| {
                let step = f64::from((k + 1) / 2) * STEP;
                if k % 2 == 1 { step } else { -step }
            });
            let found = found.map(|u| if u == 0.0 { 0.0 } else { u }).find(|&u| clear(u));
            return found.map(|u| vec![u]).ok_or_else(|| self.refusal(plan, "one screw"));
        }
        let found = match plan.values.maybe_number("spread") {
            Some(spread) => {
                let half = 0.5 * spread;
                let fits = half <= self.edge && spread >= apart && clear(half) && clear(-half);
                if !fits {
                    let free = (0..=steps)
                        .rev()
                        .map(|k| f64::from(k) * STEP)
                        .find(|&u| 2.0 * u >= apart && clear(u) && clear(-u));
                    let refusal = Refusal::new(format!(
                        "two screws {} mm apart do not fit: they need {apart:.2} to {:.2} mm and \
                         {:.2} mm to a wire channel",
                        number(spread),
                        2.0 * self.edge,
                        plan.wall_least
                    ))
                    .at(plan.values, "spread");
                    return Err(match free {
                        Some(u) => refusal.hint(format!("spread = {} would do", number(2.0 * u))),
                        None => refusal.hint("screws = 2 puts one at each end"),
                    });
                }
                Some(half)
            }
            None => (0..=steps)
                .rev()
                .map(|k| f64::from(k) * STEP)
                .find(|&u| 2.0 * u >= apart && clear(u) && clear(-u)),
        };
        found.map(|u| vec![u, -u]).ok_or_else(|| self.refusal(plan, "two screws side by side"))
    }

    fn refusal(&self, plan: &Plan<'_>, what: &str) -> Refusal {
        let refusal = Refusal::new(format!(
            "no place for {what} in a flange: within {:.2} mm of its middle, {:.2} mm from the \
             wire channels and {:.2} mm from one another",
            self.edge,
            0.5 * self.hole.hole + plan.wall_least,
            self.hole.recess + plan.wall_least
        ))
        .at(plan.values, "screws");
        let refusal = if plan.values.integer("screws") > 2 {
            refusal.hint("screws = 2 puts one at each end")
        } else {
            refusal
        };
        refusal.hint("wires = \"none\" leaves the back without channels")
    }

    /// Sets the rows' heights from the ends of the plate.
    pub(super) fn place(&mut self, low: f64, high: f64) {
        let half = 0.5 * self.length;
        self.z = [level(low + half), level(high - half)];
    }

    /// The holes, drilled towards the back.
    pub(super) fn bores(&self, facing: &Axes) -> Vec<CrossBore> {
        let rows = self.offsets.iter().zip(self.z);
        rows.flat_map(|(offsets, z)| {
            offsets.iter().map(move |&u| {
                // Looking towards the back, left is the other way.
                let spot =
                    Spot { direction: -facing.along, z, offset: -u, start: f64::NEG_INFINITY };
                self.hole.bore(&spot)
            })
        })
        .collect()
    }
}

/// The channels in the flange where the wires leave. The plate's ends are not
/// known yet; there all channels have joined.
fn channels_at_end(plan: &Plan<'_>) -> Vec<Channel> {
    let far = 1e4;
    let plan = Plan { low: -far, high: far, ..plan.clone() };
    channels(&plan)
        .into_iter()
        .filter(|c| if plan.wires == "cap" { c.low == -far } else { c.high == far })
        .collect()
}
