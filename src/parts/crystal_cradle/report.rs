//! What a fitter wants to know of a cradle: numbers and messages.

use super::super::build::Ends;
use super::super::caliper::{Caliper, at};
use super::super::{Calculation, Computed, Message, Severity};
use super::cap::Cap;
use super::holder::Outside;
use super::plan::{Plan, Retention};
use super::refuse::beside;
use super::scan::least_width;
use super::settle::Rest;
use crate::measure::frame::{clocking, direction};
use crate::measure::{Unit, Vec2, Vec3};
use crate::trade::glow::{GlowInput, glow};
use crate::trade::hold::area_needed;
use crate::trade::light::{BoreInput, light_bore};

/// Pixels that take this much get a word about heat, A: half a watt and more. Common practice,
/// no source.
const STRONG: f64 = 0.1;

/// Lit face of a package as a share of its smaller side: 3.5 mm of a 5 mm
/// package. Common practice, no source.
const LIT_SHARE: f64 = 0.7;
/// Overcut that is worth a word, mm.
const MUCH_OVERCUT: f64 = 0.05;

/// From an edge to where a caliper reads, mm.
const INSIDE: f64 = 1.0;

/// A wall with its place.
#[derive(Clone, Copy, Debug)]
struct Wall {
    thickness: f64,
    z: f64,
    at: Vec2,
}

impl Plan<'_> {
    /// Least walls under the stone and beside it.
    fn least_walls(&self) -> (Option<Wall>, Option<Wall>) {
        let outside = self.holder.outside;
        let (mut under, mut beside): (Option<Wall>, Option<Wall>) = (None, None);
        for &z in &self.seat.nodes {
            for at in self.seat.corners(z) {
                let wall = Wall { thickness: outside.margin(at), z, at };
                let below = match outside {
                    Outside::Bore { .. } => at.x.abs() <= -at.y,
                    Outside::Block { half, .. } => wall.thickness <= half - at.x.abs(),
                };
                let slot = if below { &mut under } else { &mut beside };
                if slot.is_none_or(|s| wall.thickness < s.thickness) {
                    *slot = Some(wall);
                }
            }
        }
        (under, beside)
    }

    /// Height, mm, at which the walls beside the stone end at a node.
    fn rim_height(&self, node: usize) -> f64 {
        let z = self.seat.nodes[node];
        let shows = (self.window_z.0..=self.window_z.1).contains(&z)
            && !matches!(self.retention, Retention::Cap(_));
        let opening = if shows { Some(&self.window) } else { self.trimmed.as_ref() };
        opening.map_or(self.holder.outside.top(), |o| o.rims[node])
    }

    /// Least width of the rims beside the opening, mm.
    fn rim(&self) -> f64 {
        let buried = match &self.retention {
            Retention::Cap(cap) => {
                let outside = &self.holder.outside;
                outside.top() - Cap::ledge(outside, cap.thickness, cap.gap)
            }
            _ => 0.0,
        };
        let mut least = f64::INFINITY;
        for (i, &z) in self.seat.nodes.iter().enumerate() {
            let height = self.rim_height(i);
            let (left, right) = self.seat.feet(z);
            for x in [left.x, right.x] {
                least = least.min(match self.holder.outside {
                    Outside::Bore { radius, .. } => radius - buried - x.hypot(height),
                    Outside::Block { half, .. } => half - x.abs(),
                });
            }
        }
        least
    }

    /// Area of the seat that lies a clearance away from the stone, mm2: its
    /// floor, and the upright walls as far as the stone is upright.
    pub fn land_area(&self) -> f64 {
        let mut area = 0.0;
        let nodes = &self.seat.nodes;
        // A scanned stone's seat has the sections of the stone with its gap.
        let grown = self.stone.grown(self.keep.clearance);
        let sections = &grown.as_ref().unwrap_or(&self.stone).sections;
        // The first and the last stretch are end clearance.
        for (i, pair) in nodes.windows(2).enumerate().skip(1).take(nodes.len().saturating_sub(3)) {
            let (low, high) = (self.seat.corners(pair[0]), self.seat.corners(pair[1]));
            let step = pair[1] - pair[0];
            for (p, q) in low.windows(2).zip(high.windows(2)) {
                let widths = (p[1] - p[0]).norm() + (q[1] - q[0]).norm();
                // The wall leans as far as its foot moves square to it.
                let along = (p[1] - p[0]).normalize();
                let moved = q[0] - p[0];
                let lean = along.x * moved.y - along.y * moved.x;
                area += widths / 2.0 * step.hypot(lean);
            }
            for (side, foot) in [(-1.0, 0), (1.0, low.len() - 1)] {
                let upright = |at: usize, foot: Vec2| {
                    let top = sections[at].side_top(side).min(self.rim_height(at + 1));
                    (top - foot.y).max(0.0)
                };
                area += (upright(i - 1, low[foot]) + upright(i, high[foot])) / 2.0 * step;
            }
        }
        area
    }

    /// Distance from the package's face to the mouth of the light bore at the
    /// seat, mm.
    fn to_mouth(&self) -> f64 {
        self.pixel.to_web + self.pixel.web_thickness
    }

    fn lit(&self) -> f64 {
        let p = self.pixel.values;
        LIT_SHARE * p.number("package_width").min(p.number("package_length"))
    }

    /// Steepest straight line from the lit face through the light bore:
    /// rise over run.
    fn steepest(&self) -> f64 {
        (self.pixel.bore / 2.0 + self.lit() / 2.0) / self.to_mouth()
    }

    /// Width of the stone's end, mm: mean over all directions, which for a
    /// convex section is its girth over pi (Cauchy).
    fn end_width(&self) -> f64 {
        let at = if self.pixel_low { 0.0 } else { self.stone.length() };
        self.mean_width(at)
    }

    fn mean_width(&self, at: f64) -> f64 {
        let reach = |k: i32| self.stone.support(at, direction(5.0 * f64::from(k)));
        2.0 * (0..72).map(reach).sum::<f64>() / 72.0
    }

    /// From the package's face to the stone, mm.
    fn gap(&self) -> f64 {
        self.to_mouth() + self.keep.clearance
    }

    fn light_input(&self) -> BoreInput {
        BoreInput {
            source_mm: self.lit(),
            bore_mm: self.pixel.bore,
            bore_distance_mm: self.to_mouth(),
            stone_mm: self.end_width().max(0.1),
            stone_distance_mm: self.gap(),
        }
    }

    fn glow_input(&self) -> Option<GlowInput> {
        let index = self.values.maybe_number("stone_index")?;
        let far = if self.pixel_low { self.stone.length() } else { 0.0 };
        let narrowing = (self.end_width() - self.mean_width(far)) / 2.0 / self.stone.length();
        let taper_deg = narrowing.atan().to_degrees().clamp(0.0, 80.0);
        let half_angle_deg = self.steepest().atan().to_degrees().min(90.0);
        Some(GlowInput { half_angle_deg, index, gap_index: 1.0, taper_deg })
    }

    /// The calculations behind the cradle.
    pub fn worked(&self) -> Vec<Calculation> {
        let glow = self.glow_input().map(|input| ("light in the stone", input.worked()));
        let light = ("light through the bore to the stone", self.light_input().worked());
        Calculation::list([light].into_iter().chain(glow))
    }

    fn light(&self, out: &mut Vec<Computed>) {
        let gap = self.gap();
        let input = self.light_input();
        let mut row = |key: &str, what: &str, value, unit| {
            out.push(Computed::new(key, what, value, unit));
        };
        row("light_bore", "light bore as drawn", self.pixel.bore, Unit::Mm);
        row("gap", "from the package's face to the stone", gap, Unit::Mm);
        let Ok(light) = light_bore(&input) else { return };
        let half = light.half_angle_deg.to_radians();
        let sphere = std::f64::consts::TAU * (1.0 - half.cos());
        row("half_angle", "half-angle of the light bore", light.half_angle_deg, Unit::Degrees);
        row("solid_angle", "solid angle of the light bore, sr", sphere, Unit::One);
        row(
            "light_mouth",
            "pixel's light through the light bore",
            light.mouth_percent,
            Unit::Percent,
        );
        row(
            "light_stone",
            "pixel's light straight to the stone, at most",
            light.direct_percent,
            Unit::Percent,
        );
        let steepest = self.steepest().atan().to_degrees();
        row(
            "seen_within",
            "angle to the bore within which the pixel is in sight",
            steepest,
            Unit::Degrees,
        );
        let Some(input) = self.glow_input() else { return };
        let Ok(glow) = glow(&input) else { return };
        row("side_incidence", "steepest ray on the stone's side", glow.side_deg, Unit::Degrees);
        row("critical_angle", "critical angle of the stone", glow.critical_deg, Unit::Degrees);
    }

    /// All rows of the report.
    pub fn computed(&self, ends: Ends) -> Vec<Computed> {
        let mut out = self.holder.computed();
        let mut row = |key: &str, what: &str, value, unit| {
            out.push(Computed::new(key, what, value, unit));
        };
        let (low, high) = self.seat.ends();
        row("length", "length of the cradle", self.ends.1 - self.ends.0, Unit::Mm);
        row("seat_length", "length of the seat", high - low, Unit::Mm);
        row("stone_from", "stone's low end along the bore", self.stone_low, Unit::Mm);
        let stone_to = self.stone_low + self.stone.length();
        row("stone_to", "stone's high end along the bore", stone_to, Unit::Mm);
        row("moved_apart", "what near measures were moved apart by", self.nudge, Unit::Mm);
        row("seat_clearance", "gap between stone and seat", self.keep.clearance, Unit::Mm);
        row("overcut", "what a corner of the seat has beyond the gap", self.seat.overcut, Unit::Mm);
        for (end, length) in ["low", "high"].into_iter().zip(self.seat.blunt) {
            if length > 0.0 {
                let what = format!("blunt {end} end of the seat, wider than gap and point");
                row(&format!("blunt_{end}"), &what, length, Unit::Mm);
            }
        }
        let lowest = self.seat.nodes.iter().flat_map(|&z| self.seat.corners(z)).map(|p| p.y);
        let lowest = lowest.fold(f64::INFINITY, f64::min);
        row("seat_floor", "height of the seat's lowest place", lowest, Unit::Mm);
        let depth = self.holder.outside.top() - lowest;
        row("seat_depth", "from the top to that place", depth, Unit::Mm);
        let (under, beside) = self.least_walls();
        for (wall, key, what) in [
            (under, "wall_under", "least wall under the stone"),
            (beside, "wall_beside", "least wall beside the stone"),
        ] {
            let Some(wall) = wall else { continue };
            row(key, what, wall.thickness, Unit::Mm);
            row(&format!("{key}_z"), "where along the bore", wall.z, Unit::Mm);
            row(
                &format!("{key}_clock"),
                "at which clocking angle",
                clocking(wall.at),
                Unit::Degrees,
            );
        }
        row("rim", "least rim beside the opening", self.rim(), Unit::Mm);
        let (window, from, to) = (self.window.degrees, self.window_z.0, self.window_z.1);
        let window = if let Retention::Cap(cap) = &self.retention { cap.window } else { window };
        row("window_angle", "angle of the window", window, Unit::Degrees);
        row("window_from", "window's low end along the bore", from, Unit::Mm);
        row("window_to", "window's high end along the bore", to, Unit::Mm);
        match &self.retention {
            Retention::Glue => row("land_area", "seat for glue", self.land_area(), Unit::Mm2),
            Retention::Lips(lips, _) => {
                row("lip_near", "lip at the pixel's end", lips.near, Unit::Mm);
                row("lip_far", "lip at the other end", lips.far, Unit::Mm);
                row("slide", "way that the stone slides home", lips.slide, Unit::Mm);
                row("lift", "room above the stone under that lip", lips.lift, Unit::Mm);
                row("tip", "how far the stone tips on its way in", lips.tip, Unit::Degrees);
            }
            Retention::Cap(cap) => {
                let area = cap.land_area((low, high), self.end_chord());
                row("land_area", "ledges for the cap's glue", area, Unit::Mm2);
                row("land_width", "width of the ledges beside the seat", cap.lands.0, Unit::Mm);
            }
        }
        row("pixel_x", "pixel beside the bore's axis", self.pixel.at.x, Unit::Mm);
        row("pixel_y", "pixel above the bore's axis", self.pixel.at.y, Unit::Mm);
        row(
            "pixel_wall",
            "least wall around the pixel's pocket",
            self.pixel.least_wall(&self.holder),
            Unit::Mm,
        );
        row("web", "wall between pixel and stone", self.pixel.web_thickness, Unit::Mm);
        row("wire_exit", "width of the wire exit", self.pixel.exit, Unit::Mm);
        row("wire_exit_depth", "its depth from the end face", self.pixel.back, Unit::Mm);
        row("chamfer_low", "chamfer made at the low end", ends.low, Unit::Mm);
        row("chamfer_high", "chamfer made at the high end", ends.high, Unit::Mm);
        self.light(&mut out);
        if let Some(scan) = &self.stone.scan {
            out.extend(scan.facts.computed());
        }
        let mut row = |key: &str, what: &str, value: f64, unit| {
            out.push(Computed::new(key, what, value, unit));
        };
        if let Some(grams) = self.weight() {
            row("stone_weight", "weight of the stone", grams, Unit::Gram);
            row("glue_needed", "glue that holds it in a fall", area_needed(grams), Unit::Mm2);
        }
        let width = least_width(&self.stone.skin());
        row("least_width", "least width of the stone, any way it is held", width, Unit::Mm);
        let what = "that less the window's narrower way: below 0 it can get out";
        row("window_margin", what, self.window_margin(), Unit::Mm);
        out.extend(self.rest().iter().flat_map(Rest::computed));
        Computed::gauged(out, self.gauges())
    }

    /// Where a caliper reads the cradle.
    fn gauges(&self) -> [(&'static str, Caliper); 3] {
        let (p, (low, high)) = (&self.pixel, self.seat.ends());
        // A depth from the outer face of the pixel's end.
        let z = |depth: f64| match self.pixel_low {
            true => self.ends.0 + depth,
            false => self.ends.1 - depth,
        };
        let bore = at(p.at, z(p.web + 0.5 * p.web_thickness));
        let bore = Caliper::between(bore, Vec3::x());
        let exit = Vec2::new(p.at.x, self.holder.outside.bottom() + INSIDE);
        // Above the light bore, so that the jaws meet both end walls.
        let seat = p.at + Vec2::y() * (0.5 * p.bore + INSIDE);
        [
            ("seat_length", Caliper::between(at(seat, 0.5 * (low + high)), Vec3::z())),
            ("light_bore", if p.round { bore.round() } else { bore }),
            ("wire_exit", Caliper::between(at(exit, z(0.5 * p.back)), Vec3::x())),
        ]
    }

    /// Width of the opening between the cap's side ledges, mm.
    pub fn end_chord(&self) -> f64 {
        let feet = self.seat.nodes.iter().map(|&z| self.seat.feet(z));
        feet.map(|(left, right)| right.x - left.x).fold(0.0, f64::max)
    }

    /// What the person should know.
    pub fn messages(&self) -> Vec<Message> {
        let mut out = Vec::new();
        let mut say = |severity, text: String, hint: Option<String>| {
            out.push(Message { severity, text, hint });
        };
        self.retention_note(&mut say);
        if let Some(scan) = &self.stone.scan {
            for m in scan.facts.messages() {
                say(m.severity, m.text, m.hint);
            }
        }
        if let Some(asked) = self.window_widened {
            say(
                Severity::Note,
                format!(
                    "the window is {:.1} degrees wide, not {asked:.1}: the stone's way in and \
                     rims of {:.2} mm need as much",
                    self.window.degrees, self.walls.1
                ),
                Some("retention = \"cap\" makes a narrower window".into()),
            );
        }
        if self.window_lengthened > 0.0 {
            let text = format!(
                "the window is {:.2} mm longer than asked: a rib thinner than {:.2} mm would be \
                 left at its end",
                self.window_lengthened, self.walls.1
            );
            say(Severity::Note, text, None);
        }
        if self.seat.overcut > MUCH_OVERCUT {
            let text = format!(
                "corners of the seat lie up to {:.2} mm further from the stone than the clearance, \
                 where facets of its sections nearly agree",
                self.seat.overcut
            );
            let hint = "turns that differ by a degree or less may be one: measure again, or give \
                        both sections the same turn";
            say(Severity::Note, text, Some(hint.into()));
        }
        self.light_notes(&mut say);
        if !matches!(self.retention, Retention::Lips(..)) {
            let besides = "fast glue also fogs clear stones and plastic: take a clear, slow one";
            out.extend(Message::glued("the stone is glued", besides));
        }
        let amperes = self.pixel.values.maybe_number("current").unwrap_or(0.0);
        if amperes >= STRONG {
            out.push(Message {
                severity: Severity::Caution,
                text: format!(
                    "the pixel takes up to {amperes} A: in a closed seat it heats the plastic around \
                     it, and looking into it from near can dazzle"
                ),
                hint: Some(
                    "give it the heat sink that its data sheet asks for, or limit it, and feel the \
                     part after ten minutes of full white"
                        .into(),
                ),
            });
        }
        out
    }

    fn retention_note(&self, say: &mut impl FnMut(Severity, String, Option<String>)) {
        match &self.retention {
            Retention::Glue => {}
            Retention::Lips(lips, _) => say(
                Severity::Note,
                format!(
                    "to put the stone in: tip it by about {:.0} degrees and put the end away from \
                     the pixel under the deep lip, lower the other end, then slide the stone \
                     {:.2} mm towards the pixel, under the second lip; this was worked out from \
                     the side, so try it with the stone before you finish the part",
                    lips.tip, lips.slide
                ),
                Some(if lips.lift > 0.0 {
                    format!(
                        "a block of foam behind the stone, {:.2} mm thick, and one under the deep \
                         lip, {:.2} mm thick, keep it home",
                        lips.slide, lips.lift
                    )
                } else {
                    format!(
                        "a block of foam {:.2} mm thick behind the stone keeps it home",
                        lips.slide
                    )
                }),
            ),
            Retention::Cap(cap) => {
                let (low, high) = self.window_z;
                say(
                    Severity::Note,
                    format!(
                        "the cap's window is {:.2} mm long and the stone {:.2}: the frame holds \
                         it at both ends. Glue the cap with the stone in place; it leaves {:.2} \
                         mm for the glue",
                        high - low,
                        self.stone.length(),
                        cap.gap
                    ),
                    None,
                );
            }
        }
    }

    fn light_notes(&self, say: &mut impl FnMut(Severity, String, Option<String>)) {
        let spill = self.pixel.bore_corners().into_iter();
        let spill = spill.map(|p| beside(p, &self.stone, !self.pixel_low)).fold(0.0, f64::max);
        if spill > 0.01 {
            say(
                Severity::Warning,
                format!(
                    "the light bore reaches {spill:.2} mm past the stone's end: light escapes \
                     beside the stone"
                ),
                Some(format!(
                    "light_bore = {:.2} stays within it",
                    (self.pixel.bore - 2.0 * spill).max(0.3)
                )),
            );
        }
    }
}
