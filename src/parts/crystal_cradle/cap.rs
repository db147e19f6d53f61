//! A separate cap that closes the cradle over the stone: a frame around the
//! window, glued into a recess.

use super::super::{PartContext, Refusal};
use super::holder::{FAR, Holder, Outside};
use super::opening::{Opening, sector};
use crate::measure::frame::direction;
use crate::measure::rounding::{down, up};
use crate::measure::{Values, Vec2};
use crate::section::{Arc, Region, Seg, snap};

/// Width of the ledges that the cap is glued to, at most, mm. Common practice,
/// no source.
const LAND: f64 = 2.0;
/// Least width of such a ledge, mm. Common practice, no source.
const LEAST_LAND: f64 = 0.8;
/// A cap that reaches further around than this, degrees, does not drop in
/// from +y with its glue.
const WIDEST: f64 = 172.0;

/// The cap and its recess.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cap {
    /// Thickness, mm.
    pub thickness: f64,
    /// Gap for glue, mm.
    pub gap: f64,
    /// Angle of the recess in the bore, degrees; 180 for a block.
    pub degrees: f64,
    /// Angle of the window in the cap, degrees.
    pub window: f64,
    /// Ends of the recess along z, mm.
    pub ends: (f64, f64),
    /// Width of the ledges at the sides and of those at the low and high ends,
    /// mm.
    pub lands: (f64, [f64; 2]),
}

impl Cap {
    /// Height or radius of the ledge that the cap lies on, less the glue, mm.
    pub fn ledge(outside: &Outside, thickness: f64, gap: f64) -> f64 {
        snap(outside.top() - thickness - gap)
    }

    /// The cap of the part's rows over a seat with the given ends and walls
    /// at its low and high end.
    ///
    /// # Errors
    /// No room for ledges or frame, in numbers.
    pub fn read(
        context: &PartContext<'_>,
        values: &Values,
        holder: &Holder<'_>,
        opening: Option<&Opening>,
        seat: (f64, f64),
        walls: [(&'static str, f64); 2],
        widest: f64,
    ) -> Result<Cap, Refusal> {
        let printer = context.printer;
        let thickness = snap(values.number("cap_thickness"));
        let free = printer.number("wall_free");
        if thickness < free {
            return Err(Refusal::new(format!(
                "a cap {thickness:.2} mm thick is thinner than the {free:.2} mm that the printer \
                 needs: short by {:.2}",
                free - thickness
            ))
            .at(values, "cap_thickness")
            .hint(format!("cap_thickness = {free:.2} would do")));
        }
        let gap = snap(values.number("glue_gap"));
        let supported = printer.number("wall_supported");
        let mut lands = [0.0; 2];
        for (land, (key, wall)) in lands.iter_mut().zip(walls) {
            *land = snap((wall - supported).min(LAND));
            if *land < LEAST_LAND {
                let more = up(LEAST_LAND - *land);
                return Err(Refusal::new(format!(
                    "the cap lies on {:.2} mm of the wall at the stone's end, which is {wall:.2} \
                     mm thick; at least {LEAST_LAND} mm is needed: short by {more:.2}",
                    land.max(0.0)
                ))
                .at(values, key)
                .hint(format!("{key} = {:.2} would do", values.number(key) + more)));
            }
        }
        let ends = (snap(seat.0 - lands[0]), snap(seat.1 + lands[1]));
        let asked = values.maybe_number("window_angle");
        let ledge = Cap::ledge(&holder.outside, thickness, gap);
        // The widest window, and by how much a stouter frame, twice as wide as
        // the printer needs, makes it narrower.
        let (degrees, side, most, stout) = match holder.outside {
            Outside::Bore { .. } => {
                let inner = opening.map_or(0.0, |o| o.degrees);
                let most = WIDEST - inner;
                let land = (most.to_radians() / 2.0 * ledge).min(LAND);
                if land < LEAST_LAND {
                    let more = up(LEAST_LAND - land);
                    return Err(Refusal::new(format!(
                        "the seat opens {inner:.1} degrees of the cradle, which leaves the cap \
                         ledges of {:.2} mm on its sides; at least {LEAST_LAND} mm is needed: \
                         short by {more:.2}",
                        land.max(0.0)
                    ))
                    .at(values, "retention")
                    .hint("retention = \"glue\" or \"lips\" needs no ledges"));
                }
                let degrees = inner + 2.0 * (land / ledge).to_degrees();
                let frame = 2.0 * (free / (ledge + gap)).to_degrees();
                (degrees, land, degrees - 2.0 * (gap / ledge).to_degrees() - frame, frame)
            }
            Outside::Block { half, top, .. } => {
                let land = half - widest;
                if land < LEAST_LAND {
                    let more = up(LEAST_LAND - land);
                    return Err(Refusal::new(format!(
                        "the cap has ledges of {land:.2} mm beside the seat; at least \
                         {LEAST_LAND} mm is needed: short by {more:.2}"
                    ))
                    .at(values, "retention")
                    .hint("retention = \"glue\" or \"lips\" needs no ledges"));
                }
                // The window is widest at the top.
                let beside = |frame: f64| 2.0 * (half - frame).max(0.1).atan2(top).to_degrees();
                (180.0, land, beside(free), beside(free) - beside(2.0 * free))
            }
        };
        if let Some(angle) = asked.filter(|a| *a > most) {
            return Err(Refusal::new(format!(
                "a window of {angle:.1} degrees leaves no frame of {free:.2} mm beside it in the \
                 cap: at most {:.1} degrees do",
                down(most)
            ))
            .at(values, "window_angle")
            .hint(format!("window_angle = {:.1}, or left out, would do", (most - 0.05).floor())));
        }
        let usual = (most - stout).max(most / 2.0).min(super::plan::USUAL_WINDOW);
        let window = asked.unwrap_or(usual);
        Ok(Cap { thickness, gap, degrees, window, ends, lands: (side, lands) })
    }

    /// What the recess cuts away in section, counter-clockwise.
    pub fn recess(&self, outside: &Outside) -> Vec<Seg> {
        let ledge = Cap::ledge(outside, self.thickness, self.gap);
        match outside {
            Outside::Bore { .. } => {
                let right = direction(-self.degrees / 2.0);
                let (inner, outer) = (right * ledge, right * FAR);
                let mirrored = |p: Vec2| Vec2::new(-p.x, p.y);
                let top = Vec2::new(outer.x, FAR + 1.0);
                let arc = Some(Arc { centre: Vec2::zeros(), radius: ledge, ccw: false });
                vec![
                    Seg::line(inner, outer),
                    Seg::line(outer, top),
                    Seg::line(top, mirrored(top)),
                    Seg::line(mirrored(top), mirrored(outer)),
                    Seg::line(mirrored(outer), mirrored(inner)),
                    Seg { a: mirrored(inner), b: inner, arc },
                ]
            }
            Outside::Block { .. } => {
                Region::rectangle(Vec2::new(-FAR, ledge), Vec2::new(FAR, FAR)).segs()
            }
        }
    }

    /// The cap's own section, counter-clockwise.
    pub fn outline(&self, outside: &Outside) -> Vec<Seg> {
        let inside = snap(outside.top() - self.thickness);
        match *outside {
            Outside::Bore { radius, .. } => {
                let half = self.degrees / 2.0 - (self.gap / inside).to_degrees();
                let (right, left) = (direction(-half), direction(half));
                let arc = |radius: f64, ccw: bool| Some(Arc { centre: Vec2::zeros(), radius, ccw });
                vec![
                    Seg { a: right * radius, b: left * radius, arc: arc(radius, true) },
                    Seg::line(left * radius, left * inside),
                    Seg { a: left * inside, b: right * inside, arc: arc(inside, false) },
                    Seg::line(right * inside, right * radius),
                ]
            }
            Outside::Block { half, top, .. } => {
                Region::rectangle(Vec2::new(-half, inside), Vec2::new(half, top)).segs()
            }
        }
    }

    /// What the window cuts away, counter-clockwise.
    pub fn window_cut(&self) -> Vec<Seg> {
        sector(self.window, 0.0, false)
    }

    /// Ends of the cap itself along z, mm.
    pub fn own_ends(&self) -> (f64, f64) {
        (snap(self.ends.0 + self.gap), snap(self.ends.1 - self.gap))
    }

    /// Area of the ledges, mm2, for the length of a seat.
    pub fn land_area(&self, seat: (f64, f64), between: f64) -> f64 {
        let sides = 2.0 * self.lands.0 * (seat.1 - seat.0);
        sides + (self.lands.1[0] + self.lands.1[1]) * (between + 2.0 * self.lands.0)
    }
}
