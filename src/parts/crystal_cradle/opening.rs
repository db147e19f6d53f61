//! The opening about +y through which the stone drops in and shows.

use super::holder::{FAR, Outside};
use super::seat::Seat;
use crate::measure::Vec2;
use crate::measure::frame::direction;
use crate::section::Seg;

/// The seat's walls reach this far past the stone's widest place, mm. Common
/// practice, no source.
const PAST: f64 = 0.3;
/// Width of the flat rim between an upright wall and the opening's slope, mm:
/// with it, the order of the faces never changes along the stone.
pub(super) const RIM: f64 = 0.3;
/// Where less than this of a slope would be left, mm, the flat rim runs
/// through to the outside.
const LEAST_SLOPE: f64 = 0.5;

/// A sector about +y with its apex on the bore's axis, cut off by a rim that
/// rises and falls with the stone's widest place.
#[derive(Clone, Debug)]
pub(super) struct Opening {
    /// Its angle, degrees, at most 180.
    pub degrees: f64,
    /// Height of the rim at each node of the seat, mm.
    pub rims: Vec<f64>,
}

/// Direction of the right edge of a sector of `degrees`.
fn edge(degrees: f64) -> Vec2 {
    direction(-degrees / 2.0)
}

/// The sector of `degrees` above height `rim`, counter-clockwise; `through`
/// for all that lies above it.
pub(super) fn sector(degrees: f64, rim: f64, through: bool) -> Vec<Seg> {
    let edge = edge(degrees);
    let far = edge * FAR;
    let top = FAR + 1.0;
    let mut corners = Vec::new();
    if through || far.y <= rim {
        corners.extend([Vec2::new(-FAR, rim), Vec2::new(FAR, rim)]);
        corners.extend([Vec2::new(FAR, top), Vec2::new(-FAR, top)]);
    } else {
        if rim > 0.0 {
            let half = rim * edge.x / edge.y;
            corners.extend([Vec2::new(-half, rim), Vec2::new(half, rim)]);
        } else {
            corners.push(Vec2::zeros());
        }
        corners.extend([far, Vec2::new(far.x, top), Vec2::new(-far.x, top)]);
        corners.push(Vec2::new(-far.x, far.y));
    }
    let next = corners.iter().cycle().skip(1);
    corners.iter().zip(next).map(|(a, b)| Seg::line(*a, *b)).collect()
}

/// Height that the walls beside the stone reach at least at `z`, mm: a little
/// past its widest place and past the bore's axis, where the outside's two
/// halves meet.
pub(super) fn least_rim(seat: &Seat, z: f64, nudge: f64) -> f64 {
    let (left, right) = seat.feet(z);
    left.y.max(right.y).max(0.0) + PAST + nudge
}

impl Opening {
    /// The opening of `degrees` over a seat.
    pub fn over(seat: &Seat, degrees: f64, nudge: f64) -> Opening {
        let edge = edge(degrees);
        let rim = |z: &f64| {
            let (left, right) = seat.feet(*z);
            let reach = right.x.max(-left.x) + RIM + nudge;
            least_rim(seat, *z, nudge).max(reach * edge.y / edge.x)
        };
        Opening { degrees, rims: seat.nodes.iter().map(rim).collect() }
    }

    /// What it cuts at `z` in the stretch of the seat that holds `at`. Nothing
    /// where it would be above the top.
    pub fn cut(&self, seat: &Seat, outside: &Outside, z: f64, at: f64) -> Option<Vec<Seg>> {
        let stretch = seat.stretch(at);
        let (low, high) = (self.rims[stretch], self.rims[stretch + 1]);
        let (from, to) = (seat.nodes[stretch], seat.nodes[stretch + 1]);
        let t = ((z - from) / (to - from)).clamp(0.0, 1.0);
        let rim = low * (1.0 - t) + high * t;
        if matches!(*outside, Outside::Block { top, .. } if low.max(high) > top - LEAST_SLOPE) {
            return None;
        }
        Some(sector(self.degrees, rim, low.max(high) >= self.highest(outside)))
    }

    /// Height, mm, up to which a rim still leaves a slope.
    pub fn highest(&self, outside: &Outside) -> f64 {
        let edge = edge(self.degrees);
        match *outside {
            Outside::Bore { radius, .. } => radius * edge.y - LEAST_SLOPE,
            Outside::Block { half, .. } => (half - LEAST_SLOPE) * edge.y / edge.x,
        }
    }
}
