//! From values to what is to be cut where.

use super::super::fit::BoreFit;
use super::super::fixing::{Axes, glue_length};
use super::super::{PartContext, Refusal};
use super::level;
use super::neighbours;
use super::plunger::{Plunger, Shared};
use super::screws::Flanges;
use crate::measure::{Values, frame, number, or_list};
use crate::solid::CrossBore;
use crate::trade::plunger::Basis;

/// Wall around the pockets if none is asked for, mm. Common practice, no source.
const WALL: f64 = 1.2;
/// Plastic under the lowest floor if none is asked for, mm. Common practice, no
/// source.
const THICKNESS: f64 = 2.0;
/// Largest angle between the plungers of one plate, degrees: beyond it, floors
/// lean so far that slots miss the flat back. Common practice, no source.
const WIDEST: f64 = 120.0;
/// Least width of the flat back, mm: narrower, it neither lies on a bed nor
/// takes glue. Common practice, no source.
const LEAST_FLAT: f64 = 4.0;
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

    /// Half the width that is kept free for a plunger.
    pub(super) fn column(&self, i: usize) -> f64 {
        level(0.5 * self.plungers[i].diameter + self.free + self.nudge)
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

    /// Pockets and switches must fit in the bore.
    fn fits_bore(&self, context: &PartContext<'_>, fit: &BoreFit) -> Result<(), Refusal> {
        let bore = 0.5 * fit.bore;
        for p in &self.plungers {
            let half = p.foot.half().0 + self.wall_least;
            let top = p.seat + self.ledge;
            let needed = half.hypot(top).max(half.hypot(p.seat));
            if needed > self.radius {
                return Err(self.too_wide(context, fit, p, needed));
            }
            let body = p.foot.pocket.u.1.hypot(p.seat + p.pad + p.switch.number("body_height"));
            let stem = (0.5 * p.switch.number("stem_diameter")).hypot(p.stem_top());
            let (what, reach) = if body > stem { ("case", body) } else { ("stem", stem) };
            if reach > bore {
                let refusal = Refusal::new(format!(
                    "{}: the {what} of its switch would reach {reach:.2} mm from the axis, {:.2} mm \
                     beyond the bore's wall at {bore:.2} mm: the plate could not slide in",
                    p.name(),
                    reach - bore
                ));
                let (low, high) = p.gaps();
                let wider = p.stack.gap.nominal_mm + reach - bore + 0.01;
                let refusal =
                    refusal.at(p.values, if p.values.has("tip") { "tip" } else { "depth" });
                let refusal = if wider >= low && wider <= high {
                    refusal.hint(format!("gap = {wider:.2} would sink the switch far enough"))
                } else {
                    refusal
                };
                return Err(refusal.hint(format!(
                    "a plunger that reaches {:.2} mm further into the bore would do",
                    reach - bore
                )));
            }
        }
        Ok(())
    }

    fn too_wide(
        &self,
        context: &PartContext<'_>,
        fit: &BoreFit,
        p: &Plunger<'_>,
        needed: f64,
    ) -> Refusal {
        let short = fit.too_small(context, needed);
        let what = format!(
            "{}: the pocket for its switch, {:.2} mm wide with its floor {:.2} mm from the axis, \
             leaves no wall of {:.2} mm: it {}",
            p.name(),
            2.0 * p.foot.half().0,
            p.seat,
            self.wall_least,
            short.what
        );
        let mut refusal = Refusal::new(what).at(p.values, "switch");
        let half = p.foot.half().0 + self.wall_least;
        let room = self.half_chord(half);
        let lower = ((room - p.seat) * 10.0).floor() / 10.0;
        if half < self.radius && p.seat > -room && lower >= p.pad + LEAST_LEDGE && lower >= 0.5 {
            refusal = refusal.hint(format!("ledge = {} would leave enough", number(lower)));
        }
        let fits = |switch: &Values, turned: bool| {
            let foot = super::plunger::Footprint::new(
                switch,
                turned,
                self.clearance,
                context.printer.number("wall_free"),
                self.wire,
                self.free,
            );
            let half = foot.half().0 + self.wall_least;
            let seat = p.stem_top() - p.pad - switch.number("overall_height");
            half.hypot(seat + self.ledge).max(half.hypot(seat)) <= self.radius
                && self.ledge <= p.pad + switch.number("body_height")
        };
        let turned = p.values.flag("turned");
        if fits(p.switch, !turned) {
            refusal = refusal.hint(format!("turned = {} would fit", !turned));
        }
        match switches(context, |switch| fits(switch, turned)).as_slice() {
            [] => refusal,
            names => refusal.hint(format!("switch {} would fit", or_list(names))),
        }
    }

    /// The flat back: as given, or below the lowest corner of a floor.
    fn place_back(&mut self, context: &PartContext<'_>, fit: &BoreFit) -> Result<(), Refusal> {
        let values = self.values;
        let corner = |p: &Plunger<'_>| {
            let half = p.foot.half().0;
            let v = |u: f64| p.axes.point(u, p.seat).dot(&self.facing.along);
            v(half).min(v(-half))
        };
        let lowest = self.plungers.iter().min_by(|p, q| corner(p).total_cmp(&corner(q)));
        let lowest = lowest.expect("a plate has a plunger");
        let floor = corner(lowest);
        let least = self.wall_least + self.channel_depth;
        let (back, key) = match (values.maybe_number("back"), values.maybe_number("thickness")) {
            (Some(back), Some(thickness)) => {
                return Err(Refusal::new(format!(
                    "both back = {} and thickness = {} are given; at most one places the back",
                    number(back),
                    number(thickness)
                ))
                .at(values, "thickness")
                .hint("take one of the two out"));
            }
            (Some(back), None) => (level(back), "back"),
            (None, thickness) => {
                let thickness = thickness.unwrap_or(THICKNESS.max(self.wall_least));
                if thickness < self.wall_least {
                    return Err(Refusal::new(format!(
                        "a floor of {} mm is thinner than the {} mm that the printer holds",
                        number(thickness),
                        number(self.wall_least)
                    ))
                    .at(values, "thickness")
                    .hint(format!("thickness = {} would do", number(self.wall_least))));
                }
                self.thickness = Some(thickness);
                (level(floor - thickness - self.channel_depth), "thickness")
            }
        };
        let room = floor - back;
        if room < least - SLACK {
            let channels = match self.channel_depth {
                0.0 => String::new(),
                deep => format!(" and {deep:.2} mm of wire channel"),
            };
            return Err(Refusal::new(format!(
                "the back at {back:.2} mm leaves {room:.2} mm under the lowest corner of {}'s \
                 pocket; {:.2} mm of floor{channels} are needed",
                lowest.name(),
                self.wall_least
            ))
            .at(values, "back")
            .hint(format!(
                "back = {:.2} or less would do",
                ((floor - least) * 10.0).floor() / 10.0
            )));
        }
        let flat = (self.radius * self.radius - 0.25 * LEAST_FLAT * LEAST_FLAT).max(0.0).sqrt();
        if back < -flat || back > flat {
            let short = fit.too_small(context, back.abs().hypot(0.5 * LEAST_FLAT));
            let mut refusal = Refusal::new(format!(
                "the floor of {} comes to lie {floor:.2} mm from the axis at its lowest, and the \
                 flat back at {back:.2} mm would be narrower than {LEAST_FLAT} mm: it {}",
                lowest.name(),
                short.what
            ))
            .at(values, key);
            let deeper = -flat - back;
            let thinner = self.thickness.map_or(0.0, |t| t - deeper);
            if deeper > 0.0 && thinner >= self.wall_least {
                let thinner = (thinner * 10.0).floor() / 10.0;
                if thinner >= self.wall_least {
                    refusal = refusal.hint(format!("thickness = {} would do", number(thinner)));
                }
            }
            let most = lowest.switch.number("overall_height") - deeper;
            let names = switches(context, |s| {
                s.number("overall_height") <= most
                    && s.number("body_width") <= lowest.switch.number("body_width")
            });
            let known = match names.as_slice() {
                [] => "none that is known is".to_owned(),
                names => format!("for instance {}", or_list(names)),
            };
            if deeper > 0.0 && most > 0.0 {
                refusal =
                    refusal.hint(format!("a switch at most {most:.2} mm high would fit: {known}"));
            } else {
                refusal = refusal.hint(format!(
                    "a plunger whose end lies {:.2} mm {} the axis would do",
                    deeper.max(back - flat),
                    if deeper > 0.0 { "further from" } else { "nearer to" }
                ));
            }
            return Err(refusal);
        }
        self.back = back;
        Ok(())
    }

    /// Both ends of the plate: as given, or as far as walls and lands need.
    fn place_ends(&mut self, context: &PartContext<'_>) -> Result<(), Refusal> {
        let values = self.values;
        let zones = (0..self.plungers.len()).map(|i| self.zone(i));
        let (first, last) =
            zones.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), z| (a.min(z.0), b.max(z.1)));
        let flange = self.flanges.as_ref().map_or(0.0, |f| f.length);
        let mut land = level(values.number("ends"));
        if let Some(area) = values.maybe_number("glue_area") {
            land = land.max(self.glue_land(area, last - first)?);
        }
        let (least_low, least_high) = (first - flange, last + flange);
        let (low, high) = match (values.maybe_number("from_z"), values.maybe_number("length")) {
            (None, None) => (least_low - land, least_high + land),
            (Some(low), None) => (low, least_high + land),
            (Some(low), Some(length)) => (low, low + length),
            (None, Some(length)) => {
                let low = 0.5 * (least_low + least_high - length);
                // Near the cap the plate's rest goes to the front.
                let low = if low < 0.0 { low.max(0.0_f64.min(least_low)) } else { low };
                (low, low + length)
            }
        };
        let (low, high) = (level(low), level(high));
        let given = values.has("length");
        if low > least_low + SLACK || high < least_high - SLACK {
            let needed = least_high - least_low;
            let mut refusal = Refusal::new(format!(
                "the plate from z = {low:.2} to {high:.2} mm does not hold its pockets and \
                 {}, which need {least_low:.2} to {least_high:.2} mm",
                if flange > 0.0 { "flanges" } else { "walls" }
            ))
            .at(values, if given && high < least_high { "length" } else { "from_z" });
            if given {
                refusal = refusal.hint(format!(
                    "length = {} or more would do{}",
                    number((needed * 10.0).ceil() / 10.0),
                    if values.has("from_z") { ", with from_z left out" } else { "" }
                ));
            }
            if values.has("from_z") && least_low >= 0.0 {
                let from = (least_low * 10.0).floor() / 10.0;
                refusal = refusal.hint(format!("from_z = {} would do", number(from)));
            }
            return Err(refusal);
        }
        let length = context.handle.length();
        if low < -SLACK || high > length + SLACK {
            let over = (-low).max(high - length);
            let mut refusal = Refusal::new(format!(
                "the plate from z = {low:.2} to {high:.2} mm does not lie in the handle's usable \
                 0 to {} mm: {over:.2} mm too far",
                number(length)
            ))
            .at(values, if given { "length" } else { "ends" });
            let shorter = (((land - over) * 10.0).floor()) / 10.0;
            if !given && !values.has("glue_area") && shorter >= 0.0 {
                refusal = refusal.hint(format!("ends = {} would do", number(shorter)));
            } else {
                refusal = refusal
                    .hint(format!("its pockets alone need {least_low:.2} to {least_high:.2} mm"));
            }
            return Err(refusal);
        }
        (self.low, self.high) = (low, high);
        self.ends = [least_low - low, high - least_high];
        Ok(())
    }

    /// Length of each end land so that a flank has `area` mm2 to glue: what
    /// the facets leave of it is not counted.
    fn glue_land(&self, area: f64, middle: f64) -> Result<f64, Refusal> {
        // From the back's edge to the widest lane or, without one, the top.
        let lane = (0..self.plungers.len()).map(|i| self.column(i)).fold(0.0, f64::max);
        let top = if self.lanes { (lane / self.radius).clamp(0.0, 1.0).asin() } else { 0.0 };
        let from = (self.back / self.radius).clamp(-1.0, 1.0).acos();
        let width = self.radius * (from - top);
        let each = glue_length(0.5 * area, width).map(|l| level(l + 0.01));
        each.filter(|l| 2.0 * l + middle <= MOST_LENGTH).ok_or_else(|| {
            Refusal::new(format!(
                "{} mm2 to glue on each flank need lands longer than {MOST_LENGTH} mm: the flank \
                 is {width:.2} mm wide",
                number(area)
            ))
            .at(self.values, "glue_area")
            .hint(format!(
                "at most {:.0} mm2 is possible",
                ((MOST_LENGTH - middle) * width).max(0.0).floor()
            ))
        })
    }
}

/// Longest plate, mm: the range of `length`.
const MOST_LENGTH: f64 = 600.0;

/// Float noise of sums of levels, mm.
const SLACK: f64 = 1e-6;

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
