//! Everything decided about a cradle before any geometry is made.

use super::super::{PartContext, Refusal};
use super::cap::Cap;
use super::holder::{Holder, NOISE, Need, Outside};
use super::lips::Lips;
use super::opening::{Opening, RIM, least_rim};
use super::pixel::Pixel;
use super::seat::{Keep, Room, Seat};
use super::settle::{Rest, settled};
use super::stone::{LOOK_IN, Stone};
use super::veil::Veil;
use super::{hints, refuse};
use crate::measure::rounding::{down, up};
use crate::measure::{Values, Vec2, Vec3};
use crate::section::snap;

/// Opening angle where none is asked for, degrees. Common practice, no source.
pub(super) const USUAL_WINDOW: f64 = 120.0;
/// Angles of window and seat that differ by less, degrees, are made one: the
/// step between them would be no more than print marks.
const SAME_SLOPE: f64 = 0.5;
/// Width of a pointed end of the seat, over the printer's narrowest sunk mark,
/// which it is, being shallow. At the foot of its walls the floor rises and
/// leaves less: for slopes up to 40 degrees, which count as across for the gap
/// check, 1 / 1.153 = 2 cos 40 / (1 + cos 40) of it.
const FOOT: f64 = 1.16;
/// How much a measure is moved when two nearly coincide, mm or degrees.
const NUDGE: f64 = 0.013;

/// What holds the stone.
#[derive(Clone, Debug)]
pub(super) enum Retention {
    /// Glue in the seat.
    Glue,
    /// Lips over both ends, with the closed outlines under the lip at the
    /// seat's low and high end.
    Lips(Lips, [Vec<Vec2>; 2]),
    /// A cap of its own.
    Cap(Cap),
}

/// A cradle as it will be made.
#[derive(Clone, Debug)]
pub(super) struct Plan<'a> {
    pub values: &'a Values,
    pub stone: Stone,
    pub holder: Holder<'a>,
    pub keep: Keep,
    /// Where the stone's low end lies when it is home, z mm.
    pub stone_low: f64,
    pub seat: Seat,
    pub pixel: Pixel<'a>,
    /// Whether the pixel is at the low end.
    pub pixel_low: bool,
    /// Low and high end of the cradle, z mm.
    pub ends: (f64, f64),
    /// The opening outside the window; none where upright walls just end at
    /// the top.
    pub trimmed: Option<Opening>,
    /// The window and its ends, z mm.
    pub window: Opening,
    pub window_z: (f64, f64),
    /// Window angle asked for that the stone's way in exceeds, degrees.
    pub window_widened: Option<f64>,
    /// Length by which the window was lengthened so that no thin rib remains,
    /// mm.
    pub window_lengthened: f64,
    pub retention: Retention,
    /// Least walls asked for, mm: under and beside the stone, at a free edge.
    pub walls: (f64, f64),
    /// By how much measures that nearly coincide were moved apart, mm.
    pub nudge: f64,
}

impl<'a> Plan<'a> {
    /// The plan for the rows of the part, and for what `veil` has chosen. `nudge` counts how often measures
    /// that nearly coincide are moved apart.
    ///
    /// # Errors
    /// What does not fit, in numbers.
    pub fn new(
        context: &PartContext<'_>,
        values: &'a Values,
        veil: Veil,
        nudge: u32,
    ) -> Result<Plan<'a>, Refusal> {
        let nudge = NUDGE * f64::from(nudge);
        let printer = context.printer;
        let stone = Stone::read(context, values)?;
        let holder = Holder::read(context, values)?;
        let walls = refuse::walls(context, values)?;
        let keep = Keep {
            clearance: snap(values.number("clearance")) + snap(0.25 * nudge),
            width: printer.number("gap_min").max(FOOT * printer.number("engrave_width")) + nudge,
        };
        let pixel = Pixel::read(context, values, veil, &holder, &stone, keep.clearance, nudge)?;
        let pixel_low = values.choice("pixel_end") == "low";
        let far_wall = snap(values.number("far_wall"));
        refuse::far_wall(values, far_wall, walls.0)?;
        let lips = refuse::lips(values, &stone, &holder, keep, pixel_low, walls.1)?;
        let seat_length =
            lips.map_or(stone.length() + 2.0 * keep.clearance, |lips: Lips| lips.seat);
        let low = snap(values.number("from_z"));
        let (low_wall, high_wall) = if pixel_low {
            (pixel.web + pixel.web_thickness, far_wall)
        } else {
            (far_wall, pixel.web + pixel.web_thickness)
        };
        let seat_low = snap(low + low_wall);
        let seat_high = snap(seat_low + seat_length);
        let ends = (low, snap(seat_high + high_wall));
        let total = ends.1 - ends.0;
        if total > holder.room {
            return Err(refuse::too_long(context, values, &holder, total, stone.length()));
        }
        let stone_low = if pixel_low {
            snap(seat_low + keep.clearance)
        } else {
            snap(seat_high - keep.clearance - stone.length())
        };
        let seat = match lips {
            Some(_) => Seat::straight(&stone, keep, seat_low, seat_high),
            None => blunted(Seat::along(&stone, keep, stone_low), &stone, keep, &pixel, pixel_low),
        };
        let cap = values.choice("retention") == "cap";
        let buried = match holder.outside {
            Outside::Bore { .. } if cap => {
                snap(values.number("cap_thickness")) + snap(values.number("glue_gap"))
            }
            _ => 0.0,
        };
        let needs = needs(&seat, &holder, walls, buried);
        if holder.short(&needs).is_some() {
            return Err(hints::stone_too_large(
                context, values, &holder, &stone, keep, walls, buried,
            ));
        }
        let rim = highest_rim(&seat, nudge);
        refuse::low_rim(values, &holder, rim, cap)?;
        if let Some(top) = pixel.groove_corners(holder.outside.bottom() + pixel.groove).first() {
            refuse::groove(values, &pixel, &seat, top.y, walls.0)?;
        }
        let widest = seat
            .nodes
            .iter()
            .map(|&z| seat.feet(z))
            .fold(0.0, |w: f64, (l, r)| w.max(-l.x).max(r.x));
        let trimmed = match holder.outside {
            Outside::Bore { radius, .. } => {
                let reach = widest + RIM + nudge;
                let ratio = (reach / (radius - buried - walls.1)).clamp(0.0, 1.0);
                let degrees = 2.0 * ratio.asin().to_degrees();
                Some(Opening::over(&seat, degrees.clamp(10.0, 180.0), nudge))
            }
            Outside::Block { .. } => None,
        };
        let retention = match lips {
            Some(lips) => {
                let closed = closed(&stone, &seat, keep, &lips, pixel_low);
                refuse::thin_lips(context, &holder, &closed, walls.1, values)?;
                Retention::Lips(lips, closed)
            }
            None if cap => {
                let keys = if pixel_low {
                    [("gap", pixel.web_thickness), ("far_wall", far_wall)]
                } else {
                    [("far_wall", far_wall), ("gap", pixel.web_thickness)]
                };
                let seat_ends = (seat_low, seat_high);
                refuse::high_rim(values, &holder, trimmed.as_ref(), buried)?;
                let cap =
                    Cap::read(context, values, &holder, trimmed.as_ref(), seat_ends, keys, widest)?;
                refuse::high_stone(values, &holder, &stone, keep, &cap)?;
                Retention::Cap(cap)
            }
            None => Retention::Glue,
        };
        if !matches!(retention, Retention::Cap(_)) && !values.flag("proud") {
            refuse::proud(context, values, &holder, &stone)?;
        }
        let bore_top = match &retention {
            Retention::Cap(cap) => Cap::ledge(&holder.outside, cap.thickness, cap.gap),
            _ => holder.outside.top(),
        };
        refuse::light_bore(values, &holder, &pixel, &stone, bore_top, walls.0, !pixel_low)?;
        let usual = values.maybe_number("window_angle").unwrap_or(USUAL_WINDOW);
        let least = trimmed.as_ref().map_or(0.0, |o| o.degrees);
        // Two slopes that nearly agree are one.
        let degrees = if usual < least + SAME_SLOPE { least } else { usual };
        let window = Opening::over(&seat, degrees, nudge);
        let written = values.has("window_angle") && !cap;
        let mut plan = Plan {
            values,
            window_z: (seat_low, seat_high),
            window_widened: (written && usual < least).then_some(usual),
            window_lengthened: 0.0,
            stone,
            holder,
            keep,
            stone_low,
            seat,
            pixel,
            pixel_low,
            ends,
            trimmed,
            window,
            retention,
            walls,
            nudge,
        };
        plan.place_window()?;
        Ok(plan)
    }

    /// Where the stone comes to rest with the window up; none where it could not be
    /// worked out.
    pub fn rest(&self) -> Option<Rest> {
        let up = Vec3::z() * self.stone_low;
        let points = self.stone.skin().into_iter().map(|p| p + up).collect();
        settled(&|p, visit| self.seat.walls(p, visit), points, self.stone.bulk()?.1 + up)
    }

    /// Where the window may lie, z mm.
    pub fn window_room(&self) -> (f64, f64) {
        let (low, high) = self.seat.ends();
        match &self.retention {
            Retention::Glue => (low, high),
            Retention::Lips(lips, _) => {
                let (at_low, at_high) = lip_lengths(lips, self.pixel_low);
                (snap(low + at_low), snap(high - at_high))
            }
            Retention::Cap(_) => {
                let overlap = self.values.number("overlap");
                let high = self.stone_low + self.stone.length();
                (snap(self.stone_low + overlap), snap(high - overlap))
            }
        }
    }

    fn place_window(&mut self) -> Result<(), Refusal> {
        let (low, high) = self.window_room();
        let values = self.values;
        let what = match self.retention {
            Retention::Glue => "the seat",
            Retention::Lips(..) => "the room between the lips",
            Retention::Cap(_) => "the stone less the cap's overlap on both ends",
        };
        let least = self.walls.1;
        if high - low < least {
            return Err(Refusal::new(format!(
                "{what} is {:.2} mm long, which leaves no window of at least {least:.2} mm",
                (high - low).max(0.0)
            ))
            .at(values, "overlap")
            .hint("a smaller overlap, or glue, leaves a window"));
        }
        let length = values.maybe_number("window_length").unwrap_or(high - low);
        if length > high - low + NOISE {
            return Err(Refusal::new(format!(
                "a window of {length:.2} mm is longer than {what}, {:.2} mm: too long by {:.2}",
                high - low,
                up(length - high + low)
            ))
            .at(values, "window_length")
            .hint(format!("window_length = {:.2}, or left out, would do", down(high - low))));
        }
        let middle = (low + high) / 2.0 + values.number("window_shift");
        let (start, end) = (snap(middle - length / 2.0), snap(middle + length / 2.0));
        if start < low - NOISE || end > high + NOISE {
            let out = (low - start).max(end - high);
            let free = (high - low - length) / 2.0;
            return Err(Refusal::new(format!(
                "a window from z = {start:.2} to {end:.2} mm reaches {:.2} mm past {what}, which \
                 is from {low:.2} to {high:.2}",
                up(out)
            ))
            .at(values, "window_shift")
            .hint(format!(
                "a window_shift from {:.2} to {:.2} would do",
                -down(free),
                down(free)
            )));
        }
        // A rib thinner than a wall at an end of the window would break off.
        let mut window = (start, end);
        if start - low < least {
            window.0 = low;
        }
        if high - end < least {
            window.1 = high;
        }
        self.window_lengthened = (window.1 - window.0) - (end - start);
        self.window_z = window;
        Ok(())
    }
}

/// The seat with pointed ends that leave room for what they run into, the light bore
/// with a rim around it, and are wide enough on the other end to print open.
fn blunted(seat: Seat, stone: &Stone, keep: Keep, pixel: &Pixel<'_>, pixel_low: bool) -> Seat {
    let mut seat = seat;
    for high in [false, true].into_iter().filter(|high| stone.pointed[usize::from(*high)]) {
        let (middle, radius) = if high != pixel_low {
            (pixel.at, pixel.bore / 2.0 + RIM)
        } else {
            (stone.end_middle(high), keep.width)
        };
        seat = seat.blunted(Room { high, middle, radius }, LOOK_IN + keep.clearance);
    }
    seat
}

/// Lengths of the lips at the low and the high end, mm.
pub(super) fn lip_lengths(lips: &Lips, pixel_low: bool) -> (f64, f64) {
    if pixel_low { (lips.near, lips.far) } else { (lips.far, lips.near) }
}

/// Points of the seat with the walls that they want; rims as low as they may
/// be. `buried` is what a cap takes from the outside, mm.
pub(super) fn needs(seat: &Seat, holder: &Holder<'_>, walls: (f64, f64), buried: f64) -> Vec<Need> {
    let mut needs = Vec::new();
    for &z in &seat.nodes {
        needs.extend(seat.corners(z).into_iter().map(|at| Need { at, wall: walls.0 }));
        let (left, right) = seat.feet(z);
        let (height, rim) = match holder.outside {
            Outside::Bore { .. } => (least_rim(seat, z, 0.0), RIM),
            Outside::Block { .. } => (left.y.max(right.y), 0.0),
        };
        for x in [left.x - rim, right.x + rim] {
            needs.push(Need { at: Vec2::new(x, height), wall: walls.1 + buried });
        }
    }
    needs
}

/// Highest place of the rims that the stone needs, mm.
fn highest_rim(seat: &Seat, nudge: f64) -> f64 {
    seat.nodes.iter().map(|&z| least_rim(seat, z, nudge)).fold(0.0, f64::max)
}

fn closed(stone: &Stone, seat: &Seat, keep: Keep, lips: &Lips, pixel_low: bool) -> [Vec<Vec2>; 2] {
    let (low, high) = lip_lengths(lips, pixel_low);
    let length = stone.length();
    let (low_lift, high_lift) = if pixel_low { (0.0, lips.lift) } else { (lips.lift, 0.0) };
    [
        seat.closed(stone, keep, (0.0, low.min(length)), low_lift),
        seat.closed(stone, keep, ((length - high).max(0.0), length), high_lift),
    ]
}
