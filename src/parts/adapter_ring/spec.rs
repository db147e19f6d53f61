//! The sizes of an adapter ring, and why it may not be.

use super::super::build::Ends;
use super::super::fixing::Axes;
use super::super::marks::{apart, face_depth, line};
use super::super::module::Outside;
use super::super::wedge::wedge;
use super::super::{PartContext, Refusal};
use crate::measure::frame::direction;
use crate::measure::rounding::{NOISE, down, up};
use crate::measure::{Values, Vec2, number};
use crate::section::{Region, snap};
use crate::trade::split_ring::{SplitRingInput, split_ring};

/// How far cuts reach beyond the outside, mm.
pub(super) const BEYOND: f64 = 2.0;
/// Angle of a gap that nothing else decides, degrees, and the step to which
/// others are rounded up. Common practice, no source.
const GAP: (f64, f64) = (12.0, 1.0);
/// How much wider than the bore a flange is, mm, if the handle's outside is not
/// given. Common practice, no source.
const FLANGE_WIDER: f64 = 4.0;
/// Steps in which places for the notches are tried, degrees.
const PLACE: f64 = 5.0;

/// A hole through the wall. Lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Hole {
    pub axes: Axes,
    pub clocking: f64,
    pub z: f64,
    pub radius: f64,
    pub between: f64,
}

/// A split ring's gap.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gap {
    /// Clocking of its middle and its angle, degrees.
    pub at: f64,
    pub angle: f64,
    /// How much the diameter is squeezed, mm.
    pub squeeze: f64,
}

/// Sizes of the ring and its shims. Lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Ring {
    /// With the radius as it lies free.
    pub outside: Outside,
    /// Radius of the hole, free.
    pub inner: f64,
    pub inner_clearance: f64,
    pub wall: f64,
    pub low: f64,
    pub high: f64,
    pub gap: Option<Gap>,
    pub holes: Vec<Hole>,
    /// Thickness and radius of the flange.
    pub flange: Option<(f64, f64)>,
    pub shims: u32,
    pub step: f64,
    pub ends: Ends,
    /// Width and depth of the notches, and clockings of the first ones.
    pub notch: (f64, f64),
    pub notches: Vec<f64>,
}

impl Ring {
    /// # Errors
    /// Walls that are too thin, cuts that meet, a gap that closes.
    pub(super) fn new(context: &PartContext<'_>, values: &Values) -> Result<Ring, Refusal> {
        let printer = context.printer;
        let mut outside = Outside::new(context, values)?;
        let split = values.choice("form") == "split";
        let squeeze = if split { snap(values.number("spring")) } else { 0.0 };
        let inner_clearance = printer.number(&format!("fit_{}", values.choice("inner_fit")));
        let fit = snap(0.5 * (values.number("inner") + inner_clearance));
        let free = snap(0.5 * squeeze);
        let wall = outside.fit.radius - fit;
        let least = printer.number(if split { "wall_free" } else { "wall_supported" });
        if wall < least - NOISE {
            return Err(too_thin(context, values, wall, least));
        }
        outside.fit.radius += free;
        let low = snap(values.number("from_z"));
        let high = snap(low + values.number("length"));
        let length = context.handle.length();
        if high > length {
            let what = format!(
                "the ring ends at z = {high:.2}; the bore is {length:.2} long: {:.2} mm too far",
                high - length
            );
            let refusal = Refusal::new(what).at(values, "from_z");
            let room = length - values.number("length");
            return Err(if room >= 0.0 {
                refusal.hint(format!("from_z = {} works", number(room)))
            } else {
                refusal.hint(format!(
                    "a ring of {} mm fits from the cap on, with from_z = 0",
                    number(length)
                ))
            });
        }
        let mark = values.number("mark_depth");
        let ends = Ends::new(values);
        let mut ring = Ring {
            inner: fit + free,
            inner_clearance,
            wall,
            low,
            high,
            gap: None,
            holes: Vec::new(),
            flange: None,
            shims: u32::try_from(values.integer("shim_count")).unwrap_or(0),
            step: snap(values.number("shim_step")),
            ends,
            notch: (
                printer.number("engrave_width").max(printer.number("gap_min")),
                face_depth(mark, ends.high),
            ),
            notches: Vec::new(),
            outside,
        };
        ring.cuts_of_outside(values, least)?;
        if split {
            ring.gap = Some(ring.gap_asked(context, values, squeeze)?);
            ring.gap_beside(values, least)?;
        }
        ring.flange = ring.flange_asked(context, values)?;
        ring.holes = ring.holes_asked(context, values, least)?;
        ring.notches = ring.notches_asked(context, values, least)?;
        Ok(ring)
    }

    /// Keel and groove must leave a wall to the hole, and to one another.
    fn cuts_of_outside(&self, values: &Values, least: f64) -> Result<(), Refusal> {
        let hole = Region::disc(Vec2::zeros(), self.inner);
        let alone = [
            ("keel", "the keel's flat", Outside { groove: None, ..self.outside.clone() }),
            ("wires", "the wires' groove", Outside { keel: None, ..self.outside.clone() }),
        ];
        for (key, name, outside) in alone {
            let left = apart(&outside.cuts(), &hole);
            if left < least - NOISE {
                let what = format!(
                    "{name} leaves {left:.2} mm of the ring's wall of {:.2}; the printer needs \
                     {least:.2}: short by {:.2}",
                    self.wall,
                    least - left
                );
                return Err(Refusal::new(what).at(values, key).hint(match key {
                    "wires" => {
                        "wires = 0 and form = \"split\" let the wires pass in the gap".into()
                    }
                    _ => {
                        // Below the ring's outside in the bore.
                        let most = outside.keel.map_or(0.0, |(depth, y)| depth - y - self.inner);
                        format!("keel = {} works", number(down(most - least).max(0.0)))
                    }
                }));
            }
        }
        Ok(())
    }

    /// How much the gap closes, degrees at the inside, with the least gap left: at the
    /// thickest of the shims.
    fn gap_needed(&self, context: &PartContext<'_>, squeeze: f64) -> f64 {
        let input = self.squeeze_input(context, squeeze, self.shims);
        let closes = split_ring(&input).map_or(f64::INFINITY, |ring| ring.closes_mm);
        ((closes + context.printer.number("gap_min")) / self.inner).to_degrees()
    }

    /// What the calculator is asked of this ring or one of its shims, which are squeezed by as
    /// much more as they are thicker.
    pub(super) fn squeeze_input(
        &self,
        context: &PartContext<'_>,
        squeeze: f64,
        shim: u32,
    ) -> SplitRingInput {
        let outer = self.outer(shim);
        SplitRingInput {
            free_mm: 2.0 * outer,
            ring_wall_mm: outer - self.inner,
            ring_length_mm: self.high - self.low,
            squeeze_mm: squeeze + 2.0 * (outer - self.outer(0)),
            modulus_mpa: context.material.number("modulus"),
        }
    }

    fn gap_asked(
        &self,
        context: &PartContext<'_>,
        values: &Values,
        squeeze: f64,
    ) -> Result<Gap, Refusal> {
        let needed = self.gap_needed(context, squeeze);
        let least = (needed / GAP.1).ceil() * GAP.1;
        let angle = values.maybe_number("gap_angle").unwrap_or(GAP.0.max(least));
        if angle < needed || needed >= MOST_GAP {
            let what = format!(
                "a gap of {angle:.1} degrees closes when the ring is squeezed by {squeeze:.2} mm: it \
                 needs {needed:.1}, {:.1} more",
                needed - angle
            );
            let refusal = Refusal::new(what).at(values, "gap_angle");
            return Err(if least < MOST_GAP {
                refusal.hint(format!("gap_angle = {} works", number(least)))
            } else {
                let less = (1..=(squeeze / PLACE_SPRING) as u32)
                    .map(|k| snap(squeeze - f64::from(k) * PLACE_SPRING))
                    .find(|&s| self.gap_needed(context, s) + GAP.1 < MOST_GAP);
                match less {
                    Some(spring) => refusal.hint(format!("spring = {} works", number(spring))),
                    None => {
                        refusal.hint("form = \"closed\" has no gap, or take fewer, thinner shims")
                    }
                }
            });
        }
        Ok(Gap { at: values.number("gap_at"), angle, squeeze })
    }

    fn gap_beside(&self, values: &Values, least: f64) -> Result<(), Refusal> {
        let left = apart(&self.gap_region(self.outside.fit.radius), &self.within());
        if left >= least {
            return Ok(());
        }
        let what = format!(
            "between the gap and the groove or keel {left:.2} mm are left; the printer needs \
             {least:.2}: short by {:.2}",
            least - left
        );
        let mut refusal = Refusal::new(what).at(values, "gap_at");
        let at = self.gap.map_or(0.0, |g| g.at);
        let found = around(at).find(|&at| {
            let gap = self.gap.map(|gap| Gap { at, ..gap });
            let moved = Ring { gap, ..self.clone() };
            apart(&moved.gap_region(self.outside.fit.radius), &self.within()) >= least
        });
        refusal.hints.extend(found.map(|at| format!("gap_at = {} works", number(at))));
        Err(if refusal.hints.is_empty() {
            refusal.hint("take a narrower gap_angle")
        } else {
            refusal
        })
    }

    /// Groove and keel within the ring.
    fn within(&self) -> Region {
        self.outside.cuts().intersection(&self.whole())
    }

    fn whole(&self) -> Region {
        let radius = self.outside.fit.radius;
        let hole = Region::disc(Vec2::zeros(), self.inner);
        Region::disc(Vec2::zeros(), radius).difference(&hole)
    }

    /// The gap, out to beyond a radius; nothing for a closed ring.
    pub(super) fn gap_region(&self, radius: f64) -> Region {
        self.gap.map_or_else(Region::empty, |gap| {
            wedge(gap.at - 0.5 * gap.angle, gap.at + 0.5 * gap.angle, radius + BEYOND)
        })
    }

    fn flange_asked(
        &self,
        context: &PartContext<'_>,
        values: &Values,
    ) -> Result<Option<(f64, f64)>, Refusal> {
        let thick = snap(values.number("flange"));
        if thick <= 0.0 {
            return Ok(None);
        }
        if self.low > 0.0 {
            let what = format!(
                "a flange bears on the bore's end at z = 0, but the ring begins at z = {:.2}",
                self.low
            );
            return Err(Refusal::new(what).at(values, "flange").hint("from_z = 0 works"));
        }
        let least = context.printer.number("wall_free");
        if thick < least {
            let what = format!(
                "a flange {thick:.2} mm thick is thinner than the printer's {least:.2}: short by {:.2}",
                least - thick
            );
            let hint = format!("flange = {} works", number(least));
            return Err(Refusal::new(what).at(values, "flange").hint(hint));
        }
        let bore = context.handle.bore().largest();
        let usual = context.handle.outside().unwrap_or(bore + FLANGE_WIDER);
        let diameter = values.maybe_number("flange_diameter").unwrap_or(usual);
        let needed = (bore + 2.0 * least).max(2.0 * self.outer(self.shims) + 2.0 * least);
        if diameter < needed {
            let what = format!(
                "a flange of {diameter:.2} mm does not bear on the bore's end: it needs {needed:.2} \
                 mm, {:.2} more",
                needed - diameter
            );
            let hint = format!("flange_diameter = {} works", number(up(needed)));
            return Err(Refusal::new(what).at(values, "flange_diameter").hint(hint));
        }
        Ok(Some((thick, snap(0.5 * diameter))))
    }

    /// Outside radius of the ring, or of one of its shims, counted from 1, mm.
    pub(super) fn outer(&self, shim: u32) -> f64 {
        snap(self.outside.fit.radius + f64::from(shim) * self.step)
    }

    fn holes_asked(
        &self,
        context: &PartContext<'_>,
        values: &Values,
        least: f64,
    ) -> Result<Vec<Hole>, Refusal> {
        let shrink = context.printer.number("hole_shrink");
        let mut holes: Vec<Hole> = Vec::new();
        for row in values.list("hole") {
            let radius = snap(0.5 * (row.number("diameter") + shrink));
            let clocking = row.number("clocking");
            let axes = Axes::new(direction(clocking));
            let between = snap(row.number("slot"));
            let hole = Hole { axes, clocking, z: snap(row.number("z")), radius, between };
            if radius + least > self.inner {
                let what = format!(
                    "a hole of {:.2} mm is too wide for a ring with a hole of {:.2} mm: {:.2} mm at \
                     most",
                    2.0 * radius,
                    2.0 * self.inner,
                    2.0 * (self.inner - least)
                );
                let most = down(2.0 * (self.inner - least) - shrink);
                let hint = format!("diameter = {} works", number(most));
                return Err(Refusal::new(what).at(row, "diameter").hint(hint));
            }
            let reach = radius + 0.5 * hole.between;
            let notch = if self.shims > 0 { self.notch.1 } else { 0.0 };
            let from = self.low + self.ends.low + least + reach;
            let to = self.high - self.ends.high.max(notch) - least - reach;
            if hole.z < from || hole.z > to {
                let what = format!(
                    "the hole at z = {:.2} with a wall of {least:.2} needs a ring from z = {:.2} to \
                     {:.2}; it lies from {:.2} to {:.2}",
                    hole.z,
                    hole.z - (from - self.low),
                    hole.z + (self.high - to),
                    self.low,
                    self.high
                );
                let refusal = Refusal::new(what).at(row, "z");
                return Err(if from <= to {
                    refusal.hint(format!(
                        "z from {} to {} works",
                        number(up(from)),
                        number(down(to))
                    ))
                } else {
                    let length = up(self.high - self.low + from - to);
                    refusal.hint(format!(
                        "length = {} works with the hole in its middle",
                        number(length)
                    ))
                });
            }
            self.hole_beside(&hole, &holes, row, least)?;
            holes.push(hole);
        }
        Ok(holes)
    }

    fn hole_beside(
        &self,
        hole: &Hole,
        others: &[Hole],
        row: &Values,
        least: f64,
    ) -> Result<(), Refusal> {
        let radius = self.outer(self.shims);
        let cuts = self.within().union(&self.gap_region(radius).intersection(&self.whole()));
        let left = |clocking: f64| {
            let axes = Axes::new(direction(clocking));
            let strip = line(&axes, 2.0 * hole.radius, 0.0, radius + BEYOND);
            let near = others.iter().map(|o| {
                let along = (hole.z - o.z).abs() - 0.5 * (hole.between + o.between);
                let turn = (clocking - o.clocking).rem_euclid(360.0);
                let turn = turn.min(360.0 - turn).to_radians().min(1.0);
                // At the inside, where they are nearest.
                along.max(0.0).hypot(self.inner * turn) - hole.radius - o.radius
            });
            near.fold(apart(&strip, &cuts), f64::min).max(0.0)
        };
        let found = left(hole.clocking);
        if found >= least {
            return Ok(());
        }
        let what = format!(
            "beside the hole at z = {:.2} {found:.2} mm are left; the printer needs {least:.2}: short \
             by {:.2}",
            hole.z,
            least - found
        );
        let refusal = Refusal::new(what).at(row, "clocking");
        Err(match around(hole.clocking).find(|&c| left(c) >= least) {
            Some(clocking) => refusal.hint(format!("clocking = {} works", number(clocking))),
            None => refusal.hint("leave out the gap, the groove or another hole"),
        })
    }

    /// Clockings of as many notches as the last shim has, where nothing else is cut.
    fn notches_asked(
        &self,
        context: &PartContext<'_>,
        values: &Values,
        least: f64,
    ) -> Result<Vec<f64>, Refusal> {
        if self.shims == 0 || self.notch.1 <= 0.0 {
            return Ok(Vec::new());
        }
        let radius = self.outer(self.shims);
        let mut cuts = self.within().union(&self.gap_region(radius).intersection(&self.whole()));
        for hole in &self.holes {
            let above = line(&hole.axes, 2.0 * hole.radius, 0.5 * self.inner, radius + BEYOND);
            cuts = cuts.union(&above.intersection(&self.whole()));
        }
        // What stands between two of them is a pin.
        let between = context.printer.number("pin_min").max(least);
        let apart_by = self.notch.0 + 2.0 * self.ends.high + between;
        let turn = (apart_by / self.inner).to_degrees();
        let places = |first: f64| (0..self.shims).map(move |k| first + f64::from(k) * turn);
        let free = |clocking: f64| {
            let axes = Axes::new(direction(clocking));
            let wide = self.notch.0 + 2.0 * self.ends.high;
            apart(&line(&axes, wide, 0.5 * self.inner, radius + BEYOND), &cuts) >= least
        };
        let found = around(0.0).find(|&first| places(first).all(free));
        let round = |a: f64| (a * 100.0).round() / 100.0;
        found.map(|first| places(first).map(round).collect()).ok_or_else(|| {
            let what =
                format!("there is no room for {} notches that tell the shims apart", self.shims);
            Refusal::new(what)
                .at(values, "shim_count")
                .hint("mark_depth = 0 leaves the notches out; write on the rings")
        })
    }
}

/// Step in which a smaller squeeze is looked for, mm.
const PLACE_SPRING: f64 = 0.1;
/// Least chassis that a ring is made for, mm: that of its row.
const LEAST_INNER: f64 = 5.0;
/// Largest gap that is made, degrees.
const MOST_GAP: f64 = 120.0;

/// Clockings in steps, nearest first.
fn around(at: f64) -> impl Iterator<Item = f64> {
    let steps = (180.0 / PLACE) as u32;
    (0..=steps)
        .flat_map(move |k| [1.0, -1.0].map(|s| (at + s * f64::from(k) * PLACE).rem_euclid(360.0)))
}

fn too_thin(context: &PartContext<'_>, values: &Values, wall: f64, least: f64) -> Refusal {
    let bore = context.handle.bore();
    let short = least - wall;
    let inner = values.number("inner");
    let what = format!(
        "a chassis of {inner:.2} mm in a bore of {:.2} mm leaves a wall of {wall:.2} mm; the printer \
         needs {least:.2}: short by {short:.2}",
        bore.smallest()
    );
    let mut refusal = Refusal::new(what).at(values, "inner");
    let fits = down(inner - 2.0 * short);
    if fits >= LEAST_INNER {
        refusal = refusal.hint(format!("inner = {} works", number(fits)));
    }
    let room = 0.5 * (bore.smallest() - inner);
    if room > 0.0 {
        refusal = refusal.hint(format!(
            "no ring: glue strips of tape or film on the chassis, {room:.2} mm thick less half the fit"
        ));
    } else {
        refusal = refusal.hint(format!(
            "the chassis is {:.2} mm larger than the bore: a ring cannot help",
            -2.0 * room
        ));
    }
    refusal.hint(format!("a bore of {} mm works", number(up(bore.smallest() + 2.0 * short))))
}
