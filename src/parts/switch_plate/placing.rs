//! Whether the plate fits the bore, and where its back, lands and ends are.

use super::super::fit::BoreFit;
use super::super::fixing::{Axes, glue_length};
use super::super::module::keel_depth;
use super::super::{PartContext, Refusal};
use super::plan::{LEAST_LEDGE, Plan, THICKNESS, switches};
use super::plunger::{Footprint, Plunger};
use super::section::slot_exit;
use super::{LARGEST_NUDGE, level};
use crate::measure::{Values, frame, number, or_list};

/// Least width of the flat back, mm: narrower, it neither lies on a bed nor
/// takes glue. Common practice, no source.
const LEAST_FLAT: f64 = 4.0;
/// Longest plate, mm: the range of `length`.
const MOST_LENGTH: f64 = 600.0;

/// What a value in a hint has to spare, mm, for what is rounded after it.
const SPARE: f64 = 0.05;

/// Float noise of sums of levels, mm.
const SLACK: f64 = 1e-6;

impl<'a> Plan<'a> {
    /// Pockets and switches must fit in the bore.
    pub(super) fn fits_bore(
        &self,
        context: &PartContext<'_>,
        fit: &BoreFit,
    ) -> Result<(), Refusal> {
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
            let foot = Footprint::new(
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
            [] if half >= self.radius => refusal.hint(format!(
                "a pocket at most {:.2} mm wide would fit; no switch that is known has one",
                2.0 * (self.radius - self.wall_least)
            )),
            [] if p.seat < -room => refusal.hint(format!(
                "a plunger that ends {:.2} mm further from the axis would do, or a switch that \
                 much lower",
                -room - p.seat
            )),
            [] => refusal.hint(format!(
                "a plunger that ends {:.2} mm nearer to the axis would do, or a higher switch",
                p.seat + self.ledge - room
            )),
            names => refusal.hint(format!("switch {} would fit", or_list(names))),
        }
    }

    /// The plunger with the lowest corner of a pocket's floor, and its distance
    /// from the axis, the way the plate faces.
    fn lowest_corner(&self) -> (&Plunger<'a>, f64) {
        let corner = |p: &Plunger<'a>| {
            let half = p.foot.half().0;
            let v = |u: f64| p.axes.point(u, p.seat).dot(&self.facing.along);
            v(half).min(v(-half))
        };
        let all = self.plungers.iter().map(|p| (p, corner(p)));
        all.min_by(|p, q| p.1.total_cmp(&q.1)).expect("a plate has a plunger")
    }

    /// The same plate facing another way; its back moves along.
    fn facing(&self, angle: f64) -> Self {
        let mut other = self.clone();
        other.facing = Axes::new(frame::direction(angle));
        if let Some(thickness) = self.thickness {
            other.back = other.lowest_corner().1 - thickness - self.channel_depth;
        }
        other
    }

    /// The flat back: as given, or below the lowest corner of a floor.
    pub(super) fn place_back(
        &mut self,
        context: &PartContext<'_>,
        fit: &BoreFit,
    ) -> Result<(), Refusal> {
        let values = self.values;
        let (lowest, floor) = self.lowest_corner();
        let lowest = lowest.clone();
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
        self.back = level(back - self.nudge);
        Ok(())
    }

    /// The plate must end above the keel's flat: then its back is what the
    /// chassis holds, and nothing of it needs to be cut.
    pub(super) fn clears_keel(&self) -> Result<(), Refusal> {
        let depth = keel_depth(self.radius, self.values)?;
        // The circle's lowest point, if it is above the back; else a corner.
        let lowest = if -self.radius * self.facing.along.y >= self.back {
            -self.radius
        } else {
            let half = self.half_back();
            let [left, right] = [half, -half].map(|u| self.facing.point(u, self.back).y);
            left.min(right)
        };
        if depth == 0.0 || lowest >= depth - self.radius - SLACK {
            return Ok(());
        }
        let what = format!(
            "the plate reaches down to y = {lowest:.2} mm, {:.2} mm into a keel {depth:.2} mm deep, \
             whose flat is at y = {:.2}",
            depth - self.radius - lowest,
            depth - self.radius
        );
        let refusal = Refusal::new(what).at(self.values, "keel");
        let most = ((lowest + self.radius) * 100.0).floor() / 100.0;
        Err(refusal.hint(format!("keel = {} would do", number(most.max(0.0)))))
    }

    /// Slots must come out of the flat back, where their wires have room.
    pub(super) fn slots_reach_back(&self) -> Result<(), Refusal> {
        let flat = |plan: &Plan<'_>| plan.half_back() - plan.edge - plan.wall_least;
        let beyond = |plan: &Plan<'_>, p: &Plunger<'_>| {
            let most = flat(plan);
            let exits = p.foot.slots.iter().map(|slot| slot_exit(plan, p, slot.u));
            exits.map(|(a, b)| (-a).max(b) - most).fold(f64::NEG_INFINITY, f64::max)
        };
        let worst = |plan: &Plan<'_>| {
            plan.plungers.iter().map(|p| beyond(plan, p)).fold(f64::NEG_INFINITY, f64::max)
        };
        if worst(self) <= 0.0 {
            return Ok(());
        }
        let by = |p: &&Plunger<'_>, q: &&Plunger<'_>| beyond(self, p).total_cmp(&beyond(self, q));
        let p = self.plungers.iter().max_by(by).expect("a plate has a plunger");
        let mut refusal = Refusal::new(format!(
            "the slots for legs and wires of {} come out {:.2} mm beside the {:.2} mm of flat back \
             that keep a wall to the bore",
            p.name(),
            beyond(self, p),
            2.0 * flat(self).max(0.0)
        ))
        .at(p.values, "clocking");
        let turned = (1..=30).flat_map(|k| [f64::from(k), -f64::from(k)]);
        let facing = turned.map(|t| self.facing_angle + t).find(|&angle| {
            let other = self.facing(angle);
            let leans = |p: &Plunger<'_>| p.axes.along.dot(&other.facing.along) < 0.5;
            !self.plungers.iter().any(leans)
                && other.back.abs() < self.radius
                && worst(&other) <= -SPARE
        });
        if let Some(facing) = facing {
            let facing = number(facing.rem_euclid(360.0));
            refusal = refusal.hint(format!("facing = {facing} brings them onto it"));
        }
        let turn = !p.values.flag("turned");
        let reach = p.foot.half().1;
        if reach < p.foot.half().0 {
            refusal = refusal.hint(format!("turned = {turn} brings its legs nearer to the middle"));
        }
        Err(refusal.hint(format!(
            "a back {:.2} mm wide would take them: a thicker plate, or plungers less far apart",
            2.0 * (self.half_back() + beyond(self, p))
        )))
    }

    /// Lands must be high enough to print and to hold the end walls.
    pub(super) fn land_top(&self) -> Result<Option<f64>, Refusal> {
        let Some(top) = self.values.maybe_number("land_top") else { return Ok(None) };
        let least = self.back + self.channel_depth + THICKNESS.max(self.wall_least);
        if top < least {
            let least = (least * 10.0).ceil() / 10.0;
            return Err(Refusal::new(format!(
                "lands up to {} mm from the axis leave {:.2} mm above the back at {:.2} mm; {:.2} \
                 mm are needed",
                number(top),
                top - self.back,
                self.back,
                least - self.back
            ))
            .at(self.values, "land_top")
            .hint(format!("land_top = {} or more would do", number(least))));
        }
        Ok((top < self.radius - 0.1).then_some(level(top + self.nudge)))
    }

    /// Both ends of the plate: as given, or as far as walls and lands need.
    pub(super) fn place_ends(&mut self, context: &PartContext<'_>) -> Result<(), Refusal> {
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
            let tenth_up = |v: f64| (v * 10.0).ceil() / 10.0;
            // Widths may grow a little yet.
            let from = ((least_low - LARGEST_NUDGE).max(0.0) * 10.0).floor() / 10.0;
            let enough = !given || from + (high - low) >= least_high + LARGEST_NUDGE;
            if least_low < 0.0 {
                refusal = refusal.hint(format!(
                    "its first plunger would have to sit {:.2} mm further from the end cap",
                    -least_low
                ));
            } else if values.has("from_z") && enough {
                refusal = refusal.hint(format!("from_z = {} would do", number(from)));
            } else if values.has("from_z") {
                let needed = number(tenth_up(least_high + LARGEST_NUDGE - from));
                refusal = refusal
                    .hint(format!("from {} mm, a length of {needed} would do", number(from)));
            } else {
                let needed = number(tenth_up(needed + 2.0 * LARGEST_NUDGE));
                refusal = refusal.hint(format!("length = {needed} or more would do"));
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
