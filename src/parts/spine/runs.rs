//! Runs of wires from module to module: ducts, bends, lengths.

use super::super::{PartContext, Refusal};
use super::level;
use super::modules::{Module, named};
use super::plan::Plan;
use crate::measure::{Values, Vec2, frame::direction, number};
use crate::section::{Region, snap};
use crate::trade::wire::{BundleInput, bundle};

/// Most rows of wires over one another in a duct.
const MOST_ROWS: i64 = 4;
/// How far a notch in a ring reaches beyond the outside, mm.
const BEYOND: f64 = 2.0;

/// A run of wires.
#[derive(Clone, Debug)]
pub(super) struct Run<'a> {
    pub values: &'a Values,
    /// The modules that it joins, the one nearer to the cap first, by number.
    pub ends: (usize, usize),
    /// From the front face of the first to the cap's face of the other, z mm;
    /// none if they touch or overlap.
    pub z: Option<(f64, f64)>,
    /// Its duct in the keel.
    pub duct: Option<Duct>,
    /// Its notch in rings: middle and radius, mm.
    pub notch: Option<(Vec2, f64)>,
    /// Least radius of its bends, mm.
    pub radius: f64,
    /// How far it comes down to its duct, mm.
    pub drop: f64,
    /// Length along z that a bend into the duct needs, and how much longer than
    /// that the wire is, mm.
    pub bend: (f64, f64),
    /// Free length behind the first module and before the other, mm.
    pub room: [f64; 2],
}

/// A duct in the keel's flat.
#[derive(Clone, Debug)]
pub(super) struct Duct {
    /// Its sides, x mm.
    pub x: (f64, f64),
    /// Depth from the flat, mm.
    pub depth: f64,
    /// Rows of wires over one another.
    pub rows: i64,
    /// What was worked out for it.
    pub input: BundleInput,
}

impl Run<'_> {
    /// Its name in reports and messages.
    pub(super) fn name(&self, modules: &[Module<'_>]) -> String {
        format!("{} to {}", modules[self.ends.0].part.name, modules[self.ends.1].part.name)
    }

    /// Length of one wire, mm: along the bore, what both bends add, the loop.
    pub(super) fn length(&self) -> f64 {
        let along = self.z.map_or(0.0, |z| z.1 - z.0);
        along + 2.0 * self.bend.1 + self.values.number("loop")
    }

    /// By how much the bends are short of room, mm; none if all have it.
    pub(super) fn short(&self) -> Option<f64> {
        let room = self.room[0].min(self.room[1]);
        (self.z.is_some() && self.bend.0 > room + SHORT).then_some(self.bend.0 - room)
    }
}

/// Bends that are short of less than this are not told, mm.
const SHORT: f64 = 0.05;

/// Length along z of an S of two equal arcs of radius `r` that leads `drop` to
/// the side, and how much longer its line is: `z = sqrt(4 r d - d2)` up to two
/// radii, a straight piece between two quarters beyond.
pub(super) fn bend(drop: f64, r: f64) -> (f64, f64) {
    let drop = drop.abs();
    let along = if drop < 2.0 * r { (4.0 * r * drop - drop * drop).sqrt() } else { 2.0 * r };
    let angle =
        if drop < 2.0 * r { (1.0 - 0.5 * drop / r).acos() } else { std::f64::consts::FRAC_PI_2 };
    let line = 2.0 * r * angle + (drop - 2.0 * r).max(0.0);
    (along, line - along)
}

/// The runs that the job lists.
///
/// # Errors
/// Names that are not there, ducts that do not fit the keel.
pub(super) fn runs<'a>(
    context: &PartContext<'_>,
    plan: &Plan<'a>,
) -> Result<Vec<Run<'a>>, Refusal> {
    let mut ends = Vec::new();
    for values in plan.values.list("run") {
        let from = named(&plan.modules, values, "from")?;
        let to = named(&plan.modules, values, "to")?;
        if from == to {
            let what = format!(
                "a run from {} to itself joins 1 module; 2 are needed",
                plan.modules[from].part.name
            );
            return Err(Refusal::new(what).at(values, "to").hint("name another module"));
        }
        ends.push((from.min(to), from.max(to)));
    }
    let mut refused = None;
    for rows in 1..=MOST_ROWS {
        match laid(context, plan, &ends, rows) {
            Ok(runs) => return Ok(runs),
            Err(refusal) => refused = refused.or(Some(refusal)),
        }
    }
    Err(refused.expect("there is at least one try"))
}

/// The same with so many rows of wires over one another.
fn laid<'a>(
    context: &PartContext<'_>,
    plan: &Plan<'a>,
    ends: &[(usize, usize)],
    rows: i64,
) -> Result<Vec<Run<'a>>, Refusal> {
    let wall = context.printer.number("wall_supported");
    let mut out = Vec::new();
    for (values, &(a, b)) in plan.values.list("run").iter().zip(ends) {
        let wire = values.component("wire");
        let outer = wire.number("outer") + wire.number("outer_tolerance");
        let wires = values.integer("wires");
        let slack_percent = plan.values.number("slack");
        let input = BundleInput { wires, wire_mm: outer, slack_percent, flat_depth_mm: None };
        let failed = |e: crate::trade::TradeError| Refusal::new(e.to_string()).at(values, "wires");
        let round = bundle(&input).map_err(failed)?;
        let (low, high) = (plan.modules[a].high, plan.modules[b].low);
        let z = (high > low).then_some((low, high));
        let passes = b > a + 1 && z.is_some();
        let keel = values.choice("path") == "keel";
        let mut run = Run {
            values,
            ends: (a, b),
            z,
            duct: None,
            notch: None,
            radius: values.number("bend") * wire.number("outer"),
            drop: 0.0,
            bend: (0.0, 0.0),
            room: [plan.gap_after(a), plan.gap_before(b)].map(|gap| gap.unwrap_or(0.0).max(0.0)),
        };
        if keel && passes {
            let slack = 1.0 + slack_percent / 100.0;
            let deep = rows.min(wires) as f64 * outer;
            let input = BundleInput { flat_depth_mm: Some(deep), ..input };
            let flat = bundle(&input).map_err(failed)?;
            let width = level(flat.flat_width_mm.unwrap_or(round.duct_mm) + HALF_STEP);
            // What stands in notches comes down into the duct by their depth.
            let depth = level(deep * slack + plan.seat + HALF_STEP);
            let left = plan.thickness() - depth;
            if left < wall {
                return Err(too_deep(plan, values, depth, wall));
            }
            let duct = Duct { x: (0.0, width), depth, rows: rows.min(wires), input };
            run.duct = Some(duct);
            let middle = plan.top - 0.5 * depth;
            let leaves = values.maybe_number("leaves_y");
            run.drop = leaves.map_or(plan.top + 0.5 * deep, |y| y) - middle;
        } else if !keel {
            let radius = snap(0.5 * round.duct_mm);
            let middle = direction(values.number("clocking")) * (plan.fit.radius - radius);
            run.notch = Some((Vec2::new(snap(middle.x), snap(middle.y)), radius));
            run.drop = values.maybe_number("leaves_y").map_or(0.0, |y| y - middle.y);
            ring_holds(plan, values, radius, wall)?;
        }
        run.bend = bend(run.drop, run.radius);
        out.push(run);
    }
    place_ducts(plan, &mut out, wall)?;
    Ok(out)
}

/// Places the ducts side by side: about the middle of the keel, or beside the
/// heads of the screws that are there.
fn place_ducts(plan: &Plan<'_>, runs: &mut [Run<'_>], wall: f64) -> Result<(), Refusal> {
    let mut ducts: Vec<(&Values, &mut Duct)> =
        runs.iter_mut().filter_map(|r| Some((r.values, r.duct.as_mut()?))).collect();
    let total: f64 = ducts.iter().map(|(_, d)| d.x.1 + wall).sum::<f64>() - wall;
    let heads = plan.screws.as_ref().map(|(hole, _)| level(0.5 * hole.recess + wall));
    // Where the next duct begins, to the right and to the left.
    let mut next = match heads {
        Some(start) => [start, start],
        None => [level(-0.5 * total), f64::INFINITY],
    };
    for (values, duct) in &mut ducts {
        let width = duct.x.1;
        let side = if next[0] <= next[1] { 0 } else { 1 };
        let x = (next[side], level(next[side] + width));
        next[side] = level(x.1 + wall);
        duct.x = if side == 0 { x } else { (-x.1, -x.0) };
        // Its outer wall goes down to the outside, which rises there.
        let floor = plan.top - duct.depth - wall;
        let reach = ((plan.fit.radius - floor) * (plan.fit.radius + floor)).max(0.0).sqrt();
        let most = (plan.half - wall).min(reach);
        let far = x.1.max(-x.0);
        if far > most {
            let side = most - heads.unwrap_or(-most);
            return Err(too_wide(plan, values, far - most, side));
        }
    }
    Ok(())
}

/// Half the step of features, mm: rounded values are then never less.
const HALF_STEP: f64 = 0.005;

/// A ring must hold a wall inside the notch.
fn ring_holds(plan: &Plan<'_>, values: &Values, radius: f64, wall: f64) -> Result<(), Refusal> {
    let needed = 2.0 * radius + wall;
    if plan.rings.is_empty() || needed <= plan.ring_wall {
        return Ok(());
    }
    let what = format!(
        "a notch {:.2} mm deep for the run needs rings {needed:.2} mm thick; they are {:.2}",
        2.0 * radius,
        plan.ring_wall
    );
    let hint = format!("ring_wall = {} would do", number((needed * 10.0).ceil() / 10.0));
    Err(Refusal::new(what).at(values, "path").hint(hint).hint("path = \"keel\" needs no notch"))
}

fn too_deep(plan: &Plan<'_>, values: &Values, depth: f64, wall: f64) -> Refusal {
    let needed = depth + wall;
    let what = format!(
        "a duct {depth:.2} mm deep and {} mm below it need a keel {needed:.2} mm high; it is {:.2}: \
         short by {:.2}",
        number(wall),
        plan.thickness(),
        needed - plan.thickness()
    );
    let mut refusal = Refusal::new(what).at(values, "wire");
    if plan.seat > 0.0 && needed - plan.seat <= plan.thickness() {
        refusal = refusal.hint("seat = 0 would do: rings and chairs then just stand on the keel");
    }
    refusal.hint(format!(
        "a keel {:.1} mm deeper in spine and modules would do",
        ((needed - plan.thickness()) * 10.0).ceil() / 10.0
    ))
}

fn too_wide(plan: &Plan<'_>, values: &Values, over: f64, room: f64) -> Refusal {
    let what = format!(
        "this run's duct ends {over:.2} mm outside the {:.2} mm that the keel has for ducts{}",
        room.max(0.0),
        if plan.screws.is_some() { " beside its screws" } else { "" }
    );
    Refusal::new(what)
        .at(values, "wires")
        .hint("path = \"outside\" leads a run along the outside, where the modules have grooves")
        .hint("fewer or thinner wires, or a deeper keel, which is wider")
}

impl Plan<'_> {
    /// Free length before module `i`.
    pub(super) fn gap_before(&self, i: usize) -> Option<f64> {
        self.gap_after(i.checked_sub(1)?)
    }

    /// What ducts take of the keel's section at a height.
    pub(super) fn duct_cuts(&self, z: f64) -> Region {
        let mut out = Region::empty();
        for run in &self.runs {
            let (Some(duct), Some((low, high))) = (&run.duct, run.z) else { continue };
            if low < z && z < high {
                let (x, y) = (duct.x, (self.top - duct.depth, self.fit.radius));
                out = out.union(&Region::rectangle(Vec2::new(x.0, y.0), Vec2::new(x.1, y.1)));
            }
        }
        out
    }

    /// What runs along the outside take of a ring.
    pub(super) fn ring_notches(&self) -> Region {
        let far = self.fit.radius + BEYOND;
        let notches = self.runs.iter().filter_map(|run| run.notch);
        notches.fold(Region::empty(), |all, (middle, radius)| {
            let way = middle / middle.norm();
            all.union(&Region::slot(middle, way * (far + radius), radius))
        })
    }
}
