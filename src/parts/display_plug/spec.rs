//! What a display plug is to be: entered values, checked against the socket and
//! the printer.

use super::super::declared::FitWords;
use super::super::{PartContext, Refusal};
use super::profile::{Dome, Profile};
use super::windows::{Slot, Windows};
use crate::measure::Values;
use crate::measure::rounding::{NOISE, down, up};
use crate::section::snap;

/// Least stem, flange beyond the socket, and straight wall beside a groove, mm:
/// what a hand can set and see. Common practice, no source.
const LEAST_STEM: f64 = 3.0;
/// Least gap at its end, mm: that of its row.
const LEAST_GAP: f64 = 0.1;
const LEAST_SEAT: f64 = 0.5;
const BESIDE_GROOVE: f64 = 0.5;
/// Flange beyond a socket whose handle's outside is not known, mm.
const FLANGE_BEYOND: f64 = 2.0;
/// Layers that close a bore at least: fewer let light and holes through.
/// Common practice, no source.
const ROOF_LAYERS: f64 = 5.0;
/// Share of a height or radius that a chamfer may take.
const CHAMFER_SHARE: f64 = 1.0 / 3.0;
/// Smallest chamfer worth making, mm.
const LEAST_CHAMFER: f64 = 0.1;

/// A groove: its low end, width at the outside and depth, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Groove {
    pub low: f64,
    pub width: f64,
    pub depth: f64,
}

/// The bore up the middle: radius, where it begins to narrow, its end, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct LightBore {
    pub radius: f64,
    pub straight: f64,
    pub end: f64,
    pub tip: f64,
}

/// The plug: heights in the handle's frame and radii, mm.
#[derive(Clone, Debug)]
pub(super) struct Spec {
    /// Smallest sure diameter of the socket, and the clearance in it.
    pub socket: f64,
    pub clearance: f64,
    pub shoulder: f64,
    pub low: f64,
    pub front: f64,
    /// Where the stem's straight wall ends.
    pub stem_end: f64,
    pub flange_top: f64,
    /// Where the head's straight wall begins and ends.
    pub head_low: f64,
    pub head_high: f64,
    pub top: f64,
    pub stem: f64,
    pub flange: f64,
    pub head: f64,
    /// Chamfers of the stem's end and of a flat head.
    pub chamfers: (f64, f64),
    pub retention: Option<Groove>,
    pub grip: Option<Groove>,
    pub bore: Option<LightBore>,
    pub dome: Option<Dome>,
    pub windows: Option<Windows>,
    pub slot: Option<Slot>,
    /// Whether the flange sits with a cone on the socket's edge.
    pub cone: bool,
    /// Whether it prints with its head on the bed.
    pub head_down: bool,
    pub outer: Profile,
    pub inner: Profile,
}

impl Spec {
    /// The plug that `values` ask for.
    ///
    /// # Errors
    /// [`Refusal`] where its measures do not go together.
    pub(super) fn new(context: &PartContext<'_>, values: &Values) -> Result<Spec, Refusal> {
        let printer = context.printer;
        let words = FitWords::of(printer, values);
        let clearance = words.words[words.chosen].1;
        let socket = values.number("socket_diameter") - values.number("socket_tolerance");
        let stem = snap(0.5 * (socket - clearance) - values.number("coat"));
        let length = context.handle.length();
        let shoulder = snap(values.maybe_number("shoulder_z").unwrap_or(length));
        let low = snap(shoulder + values.number("end_gap"));
        let front = snap(shoulder + values.number("socket_depth"));
        if front - low < LEAST_STEM - NOISE {
            let what = format!(
                "the stem would be {:.2} mm long; it needs {LEAST_STEM:.2}: short by {:.2}",
                front - low,
                LEAST_STEM - (front - low)
            );
            let refusal = Refusal::new(what).at(values, "end_gap");
            let gap = values.number("socket_depth") - LEAST_STEM;
            return Err(if gap >= LEAST_GAP {
                refusal.hint(format!("give end_gap {:.2} or less", down(gap)))
            } else {
                refusal.hint(format!(
                    "a socket {:.2} mm deep or deeper takes this stem",
                    LEAST_STEM + LEAST_GAP
                ))
            });
        }
        let flange = flange(context, values, socket)?;
        // Its cone meets the socket's edge in the plane of the handle's front.
        let cone = values.choice("seat") == "cone";
        let stem_end = if cone { snap(front - (0.5 * socket - stem).max(0.0)) } else { front };
        let rim_low = if cone { snap(stem_end + flange - stem) } else { front };
        let flange_top = snap(rim_low + values.number("flange"));
        let head = snap(0.5 * values.maybe_number("head_diameter").unwrap_or(2.0 * flange));
        let head_low = snap(flange_top + (head - flange).abs());
        let total = values.number("head_length");
        let head_down = values.choice("head") == "flat";
        let crown = if head_down {
            0.0
        } else {
            values.maybe_number("crown").unwrap_or((0.5 * total).min(head))
        };
        let head_high = snap(flange_top + total - crown);
        if head_high - head_low < LEAST_SEAT - NOISE {
            let short = LEAST_SEAT - (head_high - head_low);
            let what = format!(
                "the head is {total:.2} mm long; its crown of {crown:.2} and the slope from the \
                 flange of {:.2} leave no straight wall: short by {short:.2}",
                head_low - flange_top
            );
            return Err(Refusal::new(what)
                .at(values, "head_length")
                .hint(format!("give head_length {:.2} or more", up(total + 2.0 * short))));
        }
        let first = snap(values.number("first_layer"));
        let lead = snap(values.number("lead_in"));
        let fair = |size: f64, room: f64| {
            let size = snap(size.min(CHAMFER_SHARE * room));
            if size < LEAST_CHAMFER { 0.0 } else { size }
        };
        let low_size = if head_down { lead } else { lead.max(first) };
        let high_size = if head_down { first } else { 0.0 };
        let mut spec = Spec {
            socket,
            clearance,
            shoulder,
            low,
            front,
            stem_end,
            flange_top,
            head_low,
            head_high,
            top: snap(flange_top + total),
            stem,
            flange,
            head,
            chamfers: (
                fair(low_size, (stem_end - low).min(stem)),
                fair(high_size, (head_high - head_low).min(head)),
            ),
            retention: None,
            grip: None,
            bore: None,
            dome: None,
            windows: None,
            slot: None,
            cone,
            head_down,
            outer: Profile::default(),
            inner: Profile::default(),
        };
        if values.choice("head") == "dome" {
            let dome = Dome::new(head, crown, values.number("dome_error"));
            let highest = dome.corners.last().map_or(crown, |corner| corner.0);
            spec.top = snap(head_high + highest);
            spec.dome = Some(dome);
        }
        spec.retention = spec.retention_groove(values)?;
        spec.grip = spec.grip_groove(values)?;
        spec.slot = Slot::new(context, values, &spec)?;
        spec.bore = spec.light_bore(context, values)?;
        spec.windows = Windows::new(context, values, &spec)?;
        spec.outer = spec.outline(printer.number("wall_free"));
        spec.inner = spec.inside();
        Ok(spec)
    }

    fn retention_groove(&self, values: &Values) -> Result<Option<Groove>, Refusal> {
        let Some(screw) = values.maybe_component("retention") else { return Ok(None) };
        let depth = snap(values.number("retention_depth"));
        let width = snap(screw.number("thread") + values.number("retention_play") + 2.0 * depth);
        let at = values.number("retention_z");
        let low = snap(self.shoulder + at - 0.5 * width);
        let room = (self.low + self.chamfers.0 + BESIDE_GROOVE, self.stem_end - BESIDE_GROOVE);
        if low < room.0 - NOISE || low + width > room.1 + NOISE {
            let what = format!(
                "the groove for the retention screw, {width:.2} mm wide, runs from z {low:.2} to \
                 {:.2}; the stem leaves {:.2} to {:.2}: off by {:.2}",
                low + width,
                room.0,
                room.1,
                (room.0 - low).max(low + width - room.1)
            );
            let refusal = Refusal::new(what).at(values, "retention_z");
            let (from, to) =
                (room.0 + 0.5 * width - self.shoulder, room.1 - 0.5 * width - self.shoulder);
            return Err(if from <= to {
                refusal.hint(format!("retention_z from {:.2} to {:.2} fits", up(from), down(to)))
            } else {
                refusal.hint("take a shallower groove, or a thinner screw")
            });
        }
        self.deep_enough(values, "retention_depth", depth, self.stem)?;
        Ok(Some(Groove { low, width, depth }))
    }

    /// Whether a groove leaves half of a radius, mm.
    fn deep_enough(
        &self,
        values: &Values,
        key: &str,
        depth: f64,
        radius: f64,
    ) -> Result<(), Refusal> {
        if depth <= 0.5 * radius + NOISE {
            return Ok(());
        }
        let what = format!(
            "a groove {depth:.2} mm deep leaves less than half of a radius of {radius:.2}: too deep \
             by {:.2}",
            depth - 0.5 * radius
        );
        Err(Refusal::new(what)
            .at(values, key)
            .hint(format!("give {key} {:.2} or less", down(0.5 * radius))))
    }

    fn grip_groove(&self, values: &Values) -> Result<Option<Groove>, Refusal> {
        if values.choice("grip") != "groove" {
            return Ok(None);
        }
        let depth = snap(values.number("grip_depth"));
        let width = snap(values.number("grip_width"));
        if width < 2.0 * depth + BESIDE_GROOVE - NOISE {
            let what = format!(
                "a groove {width:.2} mm wide with sides of 45 degrees cannot be {depth:.2} deep: it \
                 needs a width of {:.2}",
                2.0 * depth + BESIDE_GROOVE
            );
            return Err(Refusal::new(what)
                .at(values, "grip_width")
                .hint(format!("give grip_width {:.2} or more", up(2.0 * depth + BESIDE_GROOVE))));
        }
        self.deep_enough(values, "grip_depth", depth, self.head)?;
        let low = snap(self.head_low + values.number("grip_z"));
        let room = self.head_high - self.chamfers.1 - BESIDE_GROOVE;
        if low + width > room + NOISE {
            let off = low + width - room;
            let what = format!(
                "the groove for fingers runs to {:.2} mm above where the head's straight wall begins; \
                 there is room to {:.2}: too high by {off:.2}",
                low + width - self.head_low,
                room - self.head_low
            );
            let refusal = Refusal::new(what).at(values, "grip_z");
            let most = values.number("grip_z") - off;
            let refusal = if most >= 0.0 {
                refusal.hint(format!("give grip_z {:.2} or less", down(most)))
            } else {
                let longer = values.number("head_length") + 2.0 * off;
                refusal.hint(format!("give head_length {:.2} or more", up(longer)))
            };
            return Err(refusal.hint("give grip = \"none\""));
        }
        Ok(Some(Groove { low, width, depth }))
    }

    fn light_bore(
        &self,
        context: &PartContext<'_>,
        values: &Values,
    ) -> Result<Option<LightBore>, Refusal> {
        let printer = context.printer;
        let usual = if values.integer("windows") > 0 { self.stem } else { 0.0 };
        let radius = snap(0.5 * values.maybe_number("light_bore").unwrap_or(usual));
        if radius == 0.0 {
            return Ok(None);
        }
        let wall = printer.number("wall_supported");
        let less = |radius: f64, groove: Option<Groove>| radius - groove.map_or(0.0, |g| g.depth);
        let (stem, head) = (less(self.stem, self.retention), less(self.head, self.grip));
        let (least, most) = (0.5 * printer.number("hole_min"), stem.min(head) - wall);
        if radius < least - NOISE || radius > most + NOISE {
            let what = format!(
                "a light bore of {:.2} mm cannot be made: this printer and a wall of {wall:.2} allow \
                 {:.2} to {:.2}: off by {:.2}",
                2.0 * radius,
                2.0 * least,
                2.0 * most,
                2.0 * (least - radius).max(radius - most)
            );
            let refusal = Refusal::new(what).at(values, "light_bore");
            let (from, to) = (up(2.0 * least), down(2.0 * most));
            return Err(if from <= to {
                refusal.hint(format!("give light_bore {:.2}", (2.0 * radius).clamp(from, to)))
            } else {
                refusal.hint("a stem this thin carries no light bore: leave light_bore out, with windows = 0")
            });
        }
        // With the head on the bed its end is a floor, else a roof that closes
        // by 45 degrees to what the printer bridges.
        let bridge = printer.maybe_number("bridge").filter(|_| !self.head_down);
        let tip = bridge.map_or(radius, |b| snap(0.5 * b)).min(radius);
        let taper = radius - tip;
        let slot = self.slot.map_or(0.0, |slot| slot.depth);
        let roof = wall.max(ROOF_LAYERS * printer.number("layer"));
        let highest = self.top - roof - slot;
        let mut straight = self.head_high.min(highest - taper);
        // Under a crown the tip must keep a wall beside it.
        let beside = self.crown_radius(straight + taper) - tip;
        if straight + taper > self.head_high && beside < wall * std::f64::consts::SQRT_2 {
            straight = self.head_high.min(highest) - taper;
        }
        let straight = snap(straight);
        if straight <= self.head_low {
            let what = format!(
                "the light bore would end {:.2} mm below the head's straight wall",
                self.head_low - straight
            );
            return Err(Refusal::new(what)
                .at(values, "light_bore")
                .hint("take a narrower bore, or a longer head"));
        }
        Ok(Some(LightBore { radius, straight, end: snap(straight + taper), tip }))
    }

    /// Radius of a dome or cone at a height, mm, seen as a straight cone: a
    /// dome lies outside of it.
    fn crown_radius(&self, z: f64) -> f64 {
        let crown = self.top - self.head_high;
        if crown <= 0.0 { self.head } else { self.head * (self.top - z) / crown }
    }

    /// The outline from the stem's end up.
    fn outline(&self, blunt: f64) -> Profile {
        let mut outer = Profile::default();
        let (c, d) = self.chamfers;
        outer.to(self.low, self.stem - c).to(self.low + c, self.stem);
        if let Some(g) = self.retention {
            outer.groove(g.low, g.width, g.depth, self.stem);
        }
        let slope = if self.cone { self.flange - self.stem } else { 0.0 };
        let rim = self.stem_end + slope;
        outer.to(self.stem_end, self.stem).to(rim, self.flange).to(self.flange_top, self.flange);
        outer.to(self.head_low, self.head);
        if let Some(g) = self.grip {
            outer.groove(g.low, g.width, g.depth, self.head);
        }
        match &self.dome {
            Some(dome) => {
                for (z, radius) in &dome.corners {
                    outer.to(self.head_high + z, *radius);
                }
            }
            None if self.head_down => {
                outer.to(self.top - d, self.head).to(self.top, self.head - d);
            }
            None => {
                outer.to(self.head_high, self.head).to(self.top, blunt.min(0.5 * self.head));
            }
        }
        outer
    }

    /// The bore's outline.
    fn inside(&self) -> Profile {
        let mut inner = Profile::default();
        if let Some(bore) = self.bore {
            inner.to(self.low, bore.radius).to(bore.straight, bore.radius).to(bore.end, bore.tip);
        }
        inner
    }
}

/// Radius of the flange, mm.
fn flange(context: &PartContext<'_>, values: &Values, socket: f64) -> Result<f64, Refusal> {
    let usual = context.handle.outside().unwrap_or(socket + 2.0 * FLANGE_BEYOND);
    let radius = snap(0.5 * values.maybe_number("flange_diameter").unwrap_or(usual));
    let needed = 0.5 * socket + LEAST_SEAT;
    if radius >= needed - NOISE {
        return Ok(radius);
    }
    let what = format!(
        "a flange of {:.2} mm does not lie on the rim of a socket of {socket:.2}: it needs {:.2}, \
         short by {:.2}",
        2.0 * radius,
        2.0 * needed,
        2.0 * (needed - radius)
    );
    Err(Refusal::new(what)
        .at(values, "flange_diameter")
        .hint(format!("give flange_diameter {:.2} or more", up(2.0 * needed))))
}
