//! The seat's part as slabs and a cross bore.

use super::super::Refusal;
use super::super::build::{self, Ends, Slab, chamfered};
use super::super::marks::line;
use super::spec::{Asked, BEYOND, Seat};
use crate::measure::Vec2;
use crate::section::{Region, snap};
use crate::solid::{BoreEnd, BoreProfile, CrossBore, Mouth, Solid};
use crate::trade::seat::Form;

/// A part that was made.
pub(super) struct Shape {
    pub solid: Solid,
    /// Chamfers made.
    pub made: Ends,
    /// Heights of the witness lines along the outside, mm.
    pub lines: Vec<(f64, f64)>,
}

/// Heights of the witness lines along the outside: from the lines in the end
/// faces to a wall before the seat. None where less than a line's width is left, and
/// on an outside that is filled out.
fn lines(asked: &Asked, seat: &Seat) -> Vec<(f64, f64)> {
    if asked.mark <= 0.0 || asked.filled {
        return Vec::new();
    }
    let reach = seat.half_height + asked.wall;
    let spans = [
        (seat.low + seat.faces.0, asked.screw_z - reach),
        (asked.screw_z + reach, seat.high - seat.faces.1),
    ];
    let spans = spans.map(|(low, high)| (snap(low), snap(high)));
    spans.into_iter().filter(|(low, high)| high - low >= asked.line).collect()
}

impl Shape {
    /// # Errors
    /// Sections that make no solid, with the place.
    pub(super) fn new(asked: &Asked, seat: &Seat) -> Result<Shape, Refusal> {
        let radius = asked.outside.fit.radius;
        let far = radius + BEYOND;
        let core = Region::disc(Vec2::zeros(), 0.5 * asked.core);
        let plain = asked.outside.region().difference(&core);
        let lined = |from: f64| plain.difference(&line(&seat.axes, asked.line, from, far));
        let lines = lines(asked, seat);
        // What is cut between which heights, in rising order.
        let mut cuts: Vec<(f64, f64, Region)> = Vec::new();
        let (low, high) = (snap(seat.low + seat.faces.0), snap(seat.high - seat.faces.1));
        let face = lined(seat.line_from);
        if low > seat.low {
            cuts.push((seat.low, low, face.clone()));
        }
        let side = lined(radius - asked.mark);
        let below = lines.iter().filter(|l| l.1 < asked.screw_z);
        cuts.extend(below.map(|l| (l.0, l.1, side.clone())));
        let whole = matches!(asked.form, Form::Flat | Form::SlotAround);
        if whole {
            let seated = plain.difference(&seat.section(asked));
            let (from, to) = (asked.screw_z - seat.half_height, asked.screw_z + seat.half_height);
            cuts.push((snap(from), snap(to), seated));
        }
        let above = lines.iter().filter(|l| l.0 > asked.screw_z);
        cuts.extend(above.map(|l| (l.0, l.1, side.clone())));
        if high < seat.high {
            cuts.push((high, seat.high, face));
        }
        let slabs = filled(seat.low, seat.high, cuts, &plain);
        let (stack, made) = chamfered(&slabs, asked.ends);
        let bores = if whole { Vec::new() } else { vec![bore(asked, seat)] };
        let solid = build::solid(&stack, &bores, "the seat")?;
        Ok(Shape { solid, made, lines })
    }
}

/// Slabs from `low` to `high` mm: those given, and `plain` between them.
fn filled(low: f64, high: f64, cuts: Vec<(f64, f64, Region)>, plain: &Region) -> Vec<Slab> {
    let mut slabs = Vec::new();
    let mut at = low;
    let mut push = |bottom: f64, top: f64, section: Region| {
        if top > bottom {
            slabs.push(Slab { bottom, top, section });
        }
    };
    for (bottom, top, section) in cuts {
        push(at, bottom, plain.clone());
        push(bottom, top, section);
        at = top;
    }
    push(at, high, plain.clone());
    slabs
}

/// The blind hole or slot that the screw's point stands in.
fn bore(asked: &Asked, seat: &Seat) -> CrossBore {
    let radius = seat.cone.map_or(seat.half_width, |cone| cone.inner);
    let mouth = seat.cone.map_or(Mouth::Plain, |cone| Mouth::Countersink {
        radius: cone.outer,
        angle: 2.0 * cone.half_angle,
        depth: cone.rim(asked.outside.fit.radius - seat.floor),
    });
    let profile = match asked.form {
        Form::SlotAlong => {
            BoreProfile::SlotAlongZ { radius, between: 2.0 * (seat.half_height - radius) }
        }
        _ => BoreProfile::Round { radius },
    };
    CrossBore {
        direction: -seat.axes.along,
        z: asked.screw_z,
        offset: 0.0,
        start: f64::NEG_INFINITY,
        profile,
        mouth,
        end: BoreEnd::Depth(asked.outside.fit.radius - seat.floor),
    }
}
