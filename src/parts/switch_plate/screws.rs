//! Flanges at both ends through which the plate is screwed down.

use super::super::fixing::{Axes, ScrewHole, Spot};
use super::super::{PartContext, Refusal};
use super::level;
use super::plan::Plan;
use super::section::{Channel, channels};
use crate::measure::{number, or_list};
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
    /// Largest distance of a hole's middle from the flange's, mm.
    pub edge: f64,
    /// Plastic that a head clamps, mm: as asked for, or what keeps it above the
    /// wire channels.
    pub grip: f64,
    /// Where all wires pass the flange side by side, to the left of the way the
    /// plate faces, mm; none if each channel just runs on.
    pub gathered: Option<(f64, f64)>,
}

/// Places of a row's screws, and where wires are gathered for them.
type Row = (Vec<f64>, Option<(f64, f64)>);

/// Least distance of a recess from an edge beside it, mm.
const BESIDE: f64 = 0.1;

/// Step in which places beside each other are tried, mm.
const STEP: f64 = 0.25;

impl Flanges {
    pub(super) fn new(context: &PartContext<'_>, plan: &Plan<'_>) -> Result<Flanges, Refusal> {
        let values = plan.values;
        let series = values.choice("screw_holes");
        let attempt = |screw| {
            let hole = ScrewHole::new(screw, series, context.printer, plan.wall_least);
            Flanges::with(plan, hole)
        };
        attempt(values.component("screw")).map_err(|refusal| {
            let all = context.library.profiles("screws").iter();
            let fitting: Vec<&str> = all
                .filter(|screw| attempt(screw).is_ok())
                .filter_map(|screw| screw.profile())
                .take(3)
                .collect();
            let refusal = match fitting.as_slice() {
                [] => refusal,
                names => refusal.hint(format!("screw {} would fit", or_list(names))),
            };
            refusal.hint("fixing = \"glue\" needs no flanges")
        })
    }

    fn with(plan: &Plan<'_>, hole: ScrewHole) -> Result<Flanges, Refusal> {
        let values = plan.values;
        // Heads bear above the wire channels, so that these may pass beside a hole.
        let below =
            if plan.channel_depth > 0.0 { plan.channel_depth + plan.wall_least } else { 0.0 };
        let grip = values.number("grip").max(below);
        let top = level(plan.back + grip + hole.recess_depth + plan.nudge);
        let side = plan.half_chord(plan.back.abs().max(top.abs()));
        if top > plan.radius - 1.0 || side < hole.edge {
            return Err(Refusal::new(format!(
                "a flange {:.2} mm high on the back at {:.2} mm is {side:.2} mm wide on each side \
                 of its middle; a screw of {} mm needs {:.2} mm to the edge",
                top - plan.back,
                plan.back,
                number(hole.thread),
                hole.edge
            ))
            .at(values, "screw"));
        }
        // The chamfered end must stay clear of the recess.
        let chamfer = values.number("lead_in").max(values.number("first_layer")) + plan.nudge;
        let half = hole.edge.max(0.5 * hole.recess + chamfer + BESIDE);
        let mut flanges = Flanges {
            length: level(2.0 * half),
            top,
            offsets: [Vec::new(), Vec::new()],
            z: [0.0; 2],
            edge: side - hole.edge,
            grip: top - plan.back - hole.recess_depth,
            hole,
            gathered: None,
        };
        let count = values.integer("screws");
        for (end, pair) in [(0, count >= 3), (1, count >= 4)] {
            let (offsets, gathered) = flanges.row(plan, pair, end)?;
            flanges.offsets[end] = offsets;
            flanges.gathered = flanges.gathered.or(gathered);
        }
        Ok(flanges)
    }

    /// Distance of a screw's middle from a wire channel: a wall beside the hole,
    /// and no edge in the cone of a countersunk head, however far above it.
    fn beside_channel(&self, plan: &Plan<'_>) -> f64 {
        let hole = 0.5 * self.hole.hole + plan.wall_least;
        match self.hole.cone {
            None => hole,
            Some(_) => hole.max(0.5 * self.hole.recess + BESIDE),
        }
    }

    /// Places for one or two screws of a row, clear of edges and wire channels,
    /// and where wires are gathered if they must be.
    fn row(&self, plan: &Plan<'_>, pair: bool, end: usize) -> Result<Row, Refusal> {
        let asked = if pair { plan.values.maybe_number("spread") } else { None };
        self.find_row(plan, pair, asked, end).ok_or_else(|| {
            let what = match asked {
                _ if !pair => "one screw".to_owned(),
                Some(spread) => format!("two screws {} mm apart", number(spread)),
                None => "two screws side by side".to_owned(),
            };
            let key = if asked.is_some() { "spread" } else { "screws" };
            let mut refusal = Refusal::new(format!(
                "no place for {what} in a flange: within {:.2} mm of its middle, {:.2} mm from the \
                 wires and {:.2} mm from one another",
                self.edge,
                self.beside_channel(plan),
                self.apart(plan.wall_least)
            ))
            .at(plan.values, key);
            if let Some((at, _)) = asked.and_then(|_| self.find_row(plan, true, None, end)) {
                refusal = refusal.hint(format!("spread = {} would do", number(2.0 * at[0])));
            }
            let single = |end| self.find_row(plan, false, None, end).is_some();
            if pair && single(0) && single(1) {
                refusal = refusal.hint("screws = 2 puts one at each end");
            }
            let bare = Plan { wires: "none", ..plan.clone() };
            if plan.wires != "none" && self.find_row(&bare, pair, asked, end).is_some() {
                refusal = refusal.hint("wires = \"none\" leaves the back without channels");
            }
            refusal
        })
    }

    fn find_row(
        &self,
        plan: &Plan<'_>,
        pair: bool,
        spread: Option<f64>,
        end: usize,
    ) -> Option<Row> {
        let mut ways: Vec<Option<(f64, f64)>> = vec![None];
        let mut running = Vec::new();
        if ["cap", "front"][end] == plan.wires {
            running = channels_at_end(plan).iter().map(|c| c.u).collect();
            ways.extend(self.gatherings(plan, pair).into_iter().map(Some));
        }
        let beside = self.beside_channel(plan);
        let clear = |way: Option<(f64, f64)>, u: f64| {
            let off = |c: &(f64, f64)| (c.0 - u).max(u - c.1) >= beside;
            way.as_ref().map_or_else(|| running.iter().all(off), off)
        };
        ways.iter().find_map(|&way| {
            let at = if pair {
                self.pair(plan, spread, |u| clear(way, u) && clear(way, -u)).map(|u| vec![u, -u])
            } else {
                self.single(|u| clear(way, u)).map(|u| vec![u])
            };
            at.map(|at| (at, way))
        })
    }

    /// The place nearest to the middle.
    fn single(&self, clear: impl Fn(f64) -> bool) -> Option<f64> {
        let steps = (self.edge / STEP).floor() as i32;
        let mut places = (0..=steps).flat_map(|k| {
            let u = f64::from(k) * STEP;
            if k == 0 { vec![u] } else { vec![u, -u] }
        });
        places.find(|&u| clear(u))
    }

    /// Half the distance of two screws: as asked for, or as far as possible.
    fn pair(
        &self,
        plan: &Plan<'_>,
        spread: Option<f64>,
        clear: impl Fn(f64) -> bool,
    ) -> Option<f64> {
        let apart = self.apart(plan.wall_least);
        if let Some(spread) = spread {
            let half = 0.5 * spread;
            return (half <= self.edge && spread >= apart && clear(half)).then_some(half);
        }
        let steps = (self.edge / STEP).floor() as i32;
        let mut places = (0..=steps).rev().map(|k| f64::from(k) * STEP);
        places.find(|&u| 2.0 * u >= apart && clear(u))
    }

    /// Least distance of two screws side by side.
    fn apart(&self, wall: f64) -> f64 {
        self.hole.recess + wall
    }

    /// Where all wires could pass a flange side by side: in the middle between
    /// two screws, or beside one screw.
    fn gatherings(&self, plan: &Plan<'_>, pair: bool) -> Vec<(f64, f64)> {
        let wires = 2.0 * plan.plungers.len() as f64;
        let width = level(wires * plan.wire + 2.0 * plan.clearance + 2.0 * plan.nudge);
        let most = plan.half_back() - plan.edge - plan.wall_least - width;
        if pair {
            return if most + 0.5 * width > 0.0 {
                vec![(level(-0.5 * width), level(0.5 * width))]
            } else {
                Vec::new()
            };
        }
        let steps = (most / STEP).floor().max(-1.0) as i32;
        let beside = self.beside_channel(plan);
        let first = (beside / STEP).ceil() as i32;
        (-steps..=first.min(steps))
            .rev()
            .map(|k| f64::from(k) * STEP)
            .map(|u| (level(u), level(u + width)))
            .filter(|u| u.0 >= -most)
            .collect()
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
            offsets.iter().flat_map(move |&u| {
                // Looking towards the back, left is the other way.
                let spot =
                    Spot { direction: -facing.along, z, offset: -u, start: f64::NEG_INFINITY };
                self.hole.bores(&spot)
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
