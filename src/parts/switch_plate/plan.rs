//! From values to what is to be cut where.

use super::super::fit::BoreFit;
use super::super::fixing::Axes;
use super::super::{PartContext, Refusal};
use super::level;
use super::neighbours;
use super::plunger::{Plunger, Shared};
use super::screws::Flanges;
use crate::measure::{Values, frame, number};
use crate::solid::CrossBore;
use crate::trade::plunger::Basis;

/// Wall around the pockets if none is asked for, mm. Common practice, no source.
const WALL: f64 = 1.2;
/// Plastic under the lowest floor if none is asked for, mm. Common practice, no
/// source.
pub(super) const THICKNESS: f64 = 2.0;
/// Largest angle between the plungers of one plate, degrees: beyond it, floors
/// lean so far that slots miss the flat back. Common practice, no source.
const WIDEST: f64 = 120.0;
/// Legs shorter than this need no room of their own below the floor, mm. Common
/// practice, no source.
pub(super) const SHORT_LEGS: f64 = 0.3;
/// Least height of a ledge above the underside of the switch, mm. Common
/// practice, no source.
pub(super) const LEAST_LEDGE: f64 = 0.4;

/// What is cut, and where. All lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Plan<'a> {
    pub values: &'a Values,
    /// In the order of z.
    pub plungers: Vec<Plunger<'a>>,
    pub radius: f64,
    pub facing: Axes,
    pub facing_angle: f64,
    pub back: f64,
    /// Whether the flat back was found from a thickness, and which.
    pub thickness: Option<f64>,
    pub ledge: f64,
    pub wall: f64,
    /// Least wall of the printer, held on two sides or more.
    pub wall_least: f64,
    /// Whether facets reach across the plate.
    pub across: bool,
    pub low: f64,
    pub high: f64,
    /// Length of the full lands at either end.
    pub ends: [f64; 2],
    pub flanges: Option<Flanges>,
    /// Distance of the lands' top from the axis, the way the plate faces, if
    /// they do not reach to the bore.
    pub land_top: Option<f64>,
    /// Room around plungers.
    pub free: f64,
    /// Whether lanes are cut for plungers that stay in.
    pub lanes: bool,
    /// Which way wires leave, and their channels.
    pub wires: &'static str,
    pub wire: f64,
    pub clearance: f64,
    pub channel_depth: f64,
    /// Cut off the long edges of the back.
    pub edge: f64,
    pub play: f64,
    /// What widths that matter little are larger than asked for.
    pub nudge: f64,
}

impl<'a> Plan<'a> {
    pub(super) fn new(
        context: &PartContext<'_>,
        values: &'a Values,
        fit: &BoreFit,
        nudge: f64,
    ) -> Result<Plan<'a>, Refusal> {
        let printer = context.printer;
        let wall_least = printer.number("wall_supported");
        let wall = wall(values, printer)?;
        let clearance = values.maybe_number("clearance");
        let clearance = clearance.unwrap_or(0.5 * printer.number("fit_slide"));
        let play = values.maybe_number("play").unwrap_or_else(|| play(context, values, fit));
        let wire = values.component("wire").number("outer");
        let free = printer.number("gap_min");
        let shared = Shared {
            clearance,
            post: printer.number("wall_free"),
            wire,
            gap: free,
            play,
            seat_tolerance: values
                .maybe_number("seat_tolerance")
                .unwrap_or(printer.number("accuracy")),
            gap_least: values.number("gap_least"),
            basis: if values.choice("basis") == "rss" { Basis::Rss } else { Basis::Worst },
        };
        let listed = values.list("plunger").iter().enumerate();
        let mut plungers = listed
            .map(|(i, plunger)| Plunger::new(context, plunger, i + 1, &shared))
            .collect::<Result<Vec<_>, _>>()?;
        plungers.sort_by(|p, q| p.z.total_cmp(&q.z));
        let facing_angle = facing(values, &plungers)?;
        let ledge = level(values.number("ledge"));
        ledge_holds(values, &plungers, ledge)?;
        let wires = values.choice("wires");
        let deep = level(wire + 2.0 * clearance);
        let mut plan = Plan {
            values,
            plungers,
            radius: fit.radius,
            facing: Axes::new(frame::direction(facing_angle)),
            facing_angle,
            back: 0.0,
            thickness: None,
            ledge,
            wall,
            wall_least,
            across: values.choice("facet") == "across",
            low: 0.0,
            high: 0.0,
            ends: [0.0; 2],
            flanges: None,
            land_top: None,
            free,
            lanes: values.choice("plungers") == "stay",
            wires,
            wire,
            clearance,
            channel_depth: if wires == "none" { 0.0 } else { deep },
            edge: if values.choice("print_on") == "back" {
                level(values.number("first_layer"))
            } else {
                0.0
            },
            play,
            nudge,
        };
        plan.fits_bore(context, fit)?;
        plan.place_back(context, fit)?;
        plan.clears_keel()?;
        plan.land_top = plan.land_top()?;
        plan.slots_reach_back()?;
        neighbours::check(context, &plan)?;
        if values.choice("fixing") == "screws" {
            plan.flanges = Some(Flanges::new(context, &plan)?);
        }
        plan.place_ends(context)?;
        if let Some(flanges) = &mut plan.flanges {
            flanges.place(plan.low, plan.high);
        }
        Ok(plan)
    }

    /// Where a pocket with its leg rooms begins and ends along the handle.
    pub(super) fn pocket(&self, i: usize) -> (f64, f64) {
        let p = &self.plungers[i];
        let half = p.foot.half().1;
        (level(p.z - half), level(p.z + half))
    }

    /// The same with its end walls, and with room for the plunger.
    pub(super) fn zone(&self, i: usize) -> (f64, f64) {
        let p = &self.plungers[i];
        let half = (p.foot.half().1 + self.wall + self.nudge).max(self.column(i));
        (level(p.z - half), level(p.z + half))
    }

    /// Distance of a ledge's top from the axis.
    pub(super) fn ledge_top(&self, i: usize) -> f64 {
        level(self.plungers[i].seat + self.ledge + self.nudge)
    }

    /// Half the width that is kept free for a plunger.
    pub(super) fn column(&self, i: usize) -> f64 {
        level(0.5 * self.plungers[i].diameter + self.free + self.nudge)
    }

    /// How far below the floor a slot is cut along the plunger for the legs, mm:
    /// as far as they reach, but leaving a wall to the bore.
    pub(super) fn leg_room(&self, p: &Plunger<'_>, u: (f64, f64)) -> f64 {
        if p.legs() < SHORT_LEGS {
            return 0.0;
        }
        let wide = u.0.abs().max(u.1.abs());
        let inside = self.radius - self.wall_least;
        let most = p.seat + ((inside - wide) * (inside + wide)).max(0.0).sqrt();
        level((p.legs() + self.clearance + self.nudge).min(most - self.nudge))
    }

    /// Half the width of the flat back.
    pub(super) fn half_back(&self) -> f64 {
        self.half_chord(self.back)
    }

    /// Half the width of the plate's circle at a distance from the axis.
    pub(super) fn half_chord(&self, v: f64) -> f64 {
        ((self.radius - v) * (self.radius + v)).max(0.0).sqrt()
    }

    /// The screw holes.
    pub(super) fn bores(&self) -> Vec<CrossBore> {
        self.flanges.as_ref().map(|f| f.bores(&self.facing)).unwrap_or_default()
    }
}

fn wall(values: &Values, printer: &Values) -> Result<f64, Refusal> {
    let least = printer.number("wall_supported");
    let Some(wall) = values.maybe_number("wall") else {
        return Ok(level(WALL.max(printer.number("wall_free"))));
    };
    if wall < least {
        return Err(Refusal::new(format!(
            "a wall of {} mm is thinner than the {} mm that the printer holds",
            number(wall),
            number(least)
        ))
        .at(values, "wall")
        .hint(format!("wall = {} would do", number(least))));
    }
    Ok(level(wall))
}

/// How far the plate can sit off the middle of the loosest place that was read.
fn play(context: &PartContext<'_>, values: &Values, fit: &BoreFit) -> f64 {
    let outside = 2.0 * (fit.radius + values.number("coat"));
    (0.5 * (context.handle.bore().at_most() - outside)).max(0.0)
}

/// The middle of the smallest arc that holds all plungers, unless given.
fn facing(values: &Values, plungers: &[Plunger<'_>]) -> Result<f64, Refusal> {
    let mut angles: Vec<f64> = plungers.iter().map(|p| p.clocking.rem_euclid(360.0)).collect();
    angles.sort_by(f64::total_cmp);
    let next =
        |i: usize| angles[(i + 1) % angles.len()] + if i + 1 == angles.len() { 360.0 } else { 0.0 };
    let widest = (0..angles.len())
        .max_by(|&i, &j| (next(i) - angles[i]).total_cmp(&(next(j) - angles[j])))
        .expect("a plate has a plunger");
    let start = next(widest);
    let spread = 360.0 - (start - angles[widest]);
    if spread > WIDEST {
        return Err(Refusal::new(format!(
            "the plungers are {} degrees apart; one plate serves at most {WIDEST}",
            number(spread)
        ))
        .at(values, "plunger")
        .hint("make a plate for each side: a part of its own with the plungers of that side"));
    }
    let Some(given) = values.maybe_number("facing") else {
        return Ok((start + 0.5 * spread).rem_euclid(360.0));
    };
    let off = |p: &Plunger<'_>| {
        let turn = (p.clocking - given).rem_euclid(360.0);
        turn.min(360.0 - turn)
    };
    let far = plungers.iter().max_by(|p, q| off(p).total_cmp(&off(q))).expect("one at least");
    if off(far) > 0.5 * WIDEST {
        return Err(Refusal::new(format!(
            "{} is {} degrees from the way the plate faces; at most {} is possible",
            far.name(),
            number(off(far)),
            0.5 * WIDEST
        ))
        .at(values, "facing")
        .hint(format!(
            "facing = {} is the middle of the plungers",
            number((start + 0.5 * spread).rem_euclid(360.0))
        )));
    }
    Ok(given)
}

/// A ledge must hold the switch's body and end below its top.
fn ledge_holds(values: &Values, plungers: &[Plunger<'_>], ledge: f64) -> Result<(), Refusal> {
    let least = plungers.iter().map(|p| p.pad + LEAST_LEDGE).fold(0.0, f64::max);
    let most = plungers.iter().map(|p| p.pad + p.switch.number("body_height"));
    let most = most.fold(f64::INFINITY, f64::min);
    if (least..=most).contains(&ledge) {
        return Ok(());
    }
    let refusal = if ledge > most {
        Refusal::new(format!(
            "a ledge of {} mm rises above a switch's case, which ends {most:.2} mm above the floor",
            number(ledge)
        ))
    } else {
        Refusal::new(format!(
            "a ledge of {} mm does not hold a switch that stands on a pad: {least:.2} mm are needed",
            number(ledge)
        ))
    };
    let refusal = refusal.at(values, "ledge");
    Err(if least <= most {
        refusal.hint(format!("a ledge from {least:.2} to {most:.2} mm would do"))
    } else {
        refusal.hint("the pads differ too much for one ledge: make two plates")
    })
}

/// Names of the known switches that pass a test, at most three.
pub(super) fn switches<'c>(
    context: &PartContext<'c>,
    passes: impl Fn(&Values) -> bool,
) -> Vec<&'c str> {
    let all = context.library.profiles("switches").iter();
    all.filter(|s| passes(s)).filter_map(Values::profile).take(3).collect()
}
