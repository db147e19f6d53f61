//! How a scanned stone lies: its long axis, and how it is best turned.

use crate::measure::frame::direction;
use crate::measure::{Mat3, Vec2, Vec3};
use crate::mesh::Soup;

use super::super::stone::{hull_of, twice_area};

/// First step of the search for the axis, degrees, and the last.
const TILT_STEPS: (f64, f64) = (4.0, 0.005);

/// How far the search may leave the axis of inertia, degrees.
const MOST_TILT: f64 = 15.0;

/// A shadow must be smaller by this share to be a better one.
const BETTER: f64 = 1e-7;

/// Share of what facets along the axis would widen the shadow by, from which the
/// shadow is believed. Common practice, no source.
const FACETED: f64 = 0.25;

/// Levels and directions by which the outermost corners are chosen to see how
/// wide a stone is.
const CHOICE: (usize, usize) = (40, 48);

/// A stone counts as the same at both ends if its skewness is less.
const SKEW: f64 = 0.02;

/// Leaning in the file beyond which its +y says nothing of the turn: cosine.
const ALONG_Y: f64 = 0.9;

/// A facet leans less than this from the way up, degrees. Common practice, no
/// source.
const FACET_LEAN: f64 = 8.0;

/// Rests whose lowest places differ by less, mm, seat as deep: what a caliper
/// tells apart.
const AS_DEEP: f64 = 0.05;

/// Where the stone's axis and its middle lie in the file.
pub(super) struct Pose {
    turn: Mat3,
    middle: Vec3,
}

impl Pose {
    /// From the inertia of the solid, refined to the direction in which its
    /// shadow is smallest: that of the facets of a prism.
    pub fn of(stone: &Soup, flip: bool) -> Pose {
        let (middle, axis) = inertia(stone);
        let axis = refined(stone, middle, axis);
        let axis = if skew(stone, middle, axis) { -axis } else { axis };
        let axis = if flip { -axis } else { axis };
        let up = if axis.y.abs() < ALONG_Y { Vec3::y() } else { Vec3::z() };
        let y = (up - axis * up.dot(&axis)).normalize();
        let turn = Mat3::from_rows(&[y.cross(&axis).transpose(), y.transpose(), axis.transpose()]);
        Pose { turn, middle }
    }

    /// The long axis in the file, towards the front.
    pub fn axis(&self) -> Vec3 {
        self.turn.row(2).transpose()
    }

    /// The centre of mass in the file, mm.
    pub fn middle(&self) -> Vec3 {
        self.middle
    }

    /// How high the centre of mass lies over the low end of the stone laid down, mm.
    pub fn height(&self, stone: &Soup) -> f64 {
        let axis = self.axis();
        let along = stone.vertices().iter().map(|p| (self.middle - p).dot(&axis));
        along.fold(0.0, f64::max)
    }

    /// The stone with its axis along z from z = 0 and its middle over x = y = 0.
    pub fn laid(&self, stone: &Soup) -> Soup {
        let laid = stone.mapped(|p| self.turn * (p - self.middle));
        let low = laid.bounds().0.z;
        laid.mapped(|p| p - Vec3::z() * low)
    }
}

/// The stone turned about z, counter-clockwise seen from the front, degrees.
pub(super) fn turned(stone: &Soup, degrees: f64) -> Soup {
    let up = direction(degrees);
    stone.mapped(|p| Vec3::new(up.y * p.x + up.x * p.y, up.y * p.y - up.x * p.x, p.z))
}

/// Centre of mass, and the direction about which the inertia is least.
fn inertia(stone: &Soup) -> (Vec3, Vec3) {
    let (low, high) = stone.bounds();
    let origin = (low + high) / 2.0;
    let (mut volume, mut first, mut second) = (0.0, Vec3::zeros(), Mat3::zeros());
    for i in 0..stone.triangles().len() {
        let [a, b, c] = stone.corners(i).map(|p| p - origin);
        let six = a.dot(&b.cross(&c));
        let sum = a + b + c;
        volume += six / 6.0;
        first += sum * (six / 24.0);
        // Of a tetrahedron with a corner at the origin: the integral of p p^T.
        let parts = a * a.transpose() + b * b.transpose() + c * c.transpose();
        second += (parts + sum * sum.transpose()) * (six / 120.0);
    }
    let middle = first / volume;
    let spread = second / volume - middle * middle.transpose();
    let eigen = spread.symmetric_eigen();
    let longest = eigen.eigenvalues.imax();
    (origin + middle, eigen.eigenvectors.column(longest).into_owned().normalize())
}

/// The axis near `axis` along which the shadow is smallest.
fn refined(stone: &Soup, middle: Vec3, axis: Vec3) -> Vec3 {
    let (x, y) = across(axis);
    let points: Vec<Vec3> = stone
        .vertices()
        .iter()
        .map(|p| p - middle)
        .map(|p| Vec3::new(p.dot(&x), p.dot(&y), p.dot(&axis)))
        .collect();
    let outer = outermost(&points, CHOICE);
    // Seen along (a, b, 1), a shear shows the shadow but for its scale.
    let shadow = |tilt: Vec2| {
        let flat: Vec<Vec2> = outer.iter().map(|p| p.xy() - tilt * p.z).collect();
        twice_area(&hull_of(flat)) / (1.0 + tilt.norm_squared()).sqrt()
    };
    let straight = shadow(Vec2::zeros());
    let best = least_tilt(shadow);
    // Facets along the axis widen the shadow by length times width times the
    // tilt; where there are none, the inertia knows better.
    let (low, high) =
        outer.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.z), h.max(p.z)));
    let by_facets = best.0.norm() * (high - low) * best.1.sqrt();
    if straight - best.1 < FACETED * by_facets {
        return axis;
    }
    (axis + x * best.0.x + y * best.0.y).normalize()
}

/// The tilt, as a tangent, at which `value` is least near none, and the value.
fn least_tilt(value: impl Fn(Vec2) -> f64) -> (Vec2, f64) {
    let mut best = (Vec2::zeros(), value(Vec2::zeros()));
    let mut step = TILT_STEPS.0.to_radians().tan();
    while step > TILT_STEPS.1.to_radians() {
        let tries = (0..8).map(|k| best.0 + direction(45.0 * f64::from(k)) * step);
        let allowed = tries.filter(|t| t.norm() <= MOST_TILT.to_radians().tan());
        let found = allowed.map(|t| (t, value(t))).min_by(|a, b| a.1.total_cmp(&b.1));
        match found {
            Some(found) if found.1 < best.1 * (1.0 - BETTER) => best = found,
            _ => step /= 2.0,
        }
    }
    best
}

/// Two directions that make a right-handed frame with a third.
fn across(axis: Vec3) -> (Vec3, Vec3) {
    let x = if axis.x.abs() < 0.6 { Vec3::x() } else { Vec3::y() };
    let x = (x - axis * x.dot(&axis)).normalize();
    (x, axis.cross(&x))
}

/// The corners that reach furthest in some direction at some level, of so many of
/// both.
pub(super) fn outermost(points: &[Vec3], (levels, directions): (usize, usize)) -> Vec<Vec3> {
    let (low, high) = points
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.z), h.max(p.z)));
    let ways: Vec<Vec2> =
        (0..directions).map(|k| direction(360.0 * k as f64 / directions as f64)).collect();
    let mut best = vec![(f64::NEG_INFINITY, usize::MAX); levels * directions];
    for (i, p) in points.iter().enumerate() {
        let level = ((p.z - low) / (high - low) * levels as f64).clamp(0.0, levels as f64 - 1.0);
        let row = &mut best[level as usize * directions..][..directions];
        for (slot, way) in row.iter_mut().zip(&ways) {
            let reach = way.dot(&p.xy());
            if reach > slot.0 {
                *slot = (reach, i);
            }
        }
    }
    let mut chosen: Vec<usize> =
        best.into_iter().map(|b| b.1).filter(|&i| i != usize::MAX).collect();
    chosen.sort_unstable();
    chosen.dedup();
    chosen.into_iter().map(|i| points[i]).collect()
}

/// Whether the stone's heavier end lies along the axis, so that its other end
/// should point to the front; one that is the same at both ends keeps the
/// direction in which the file's coordinates grow.
fn skew(stone: &Soup, middle: Vec3, axis: Vec3) -> bool {
    let (mut square, mut cube, mut all) = (0.0, 0.0, 0.0);
    for i in 0..stone.triangles().len() {
        let [a, b, c] = stone.corners(i).map(|p| p - middle);
        let six = a.dot(&b.cross(&c));
        let at = (a + b + c).dot(&axis) / 4.0;
        all += six;
        square += six * at * at;
        cube += six * at * at * at;
    }
    let spread = (square / all).max(0.0).sqrt();
    let skewness = cube / all / (spread * spread * spread);
    if skewness.abs() > SKEW { skewness < 0.0 } else { axis[axis.iamax()] < 0.0 }
}

/// How a stone could lie.
pub(super) struct Rests {
    /// Turn, degrees, and the depth of its lowest place under the axis, mm.
    pub deepest: (f64, f64),
    /// Turn, degrees, and the mean width of the facet that then shows, mm.
    pub widest: (f64, f64),
}

/// The turns in which a laid stone seats deepest and shows most.
pub(super) fn rests(stone: &Soup) -> Rests {
    const TURNS: usize = 360;
    let flat: Vec<Vec2> = stone.vertices().iter().map(|p| p.xy()).collect();
    let shadow = hull_of(flat);
    let depth = |turn: f64| {
        // What then points down.
        let down = direction(180.0 - turn);
        shadow.iter().map(|p| p.dot(&down)).fold(f64::NEG_INFINITY, f64::max)
    };
    let (low, high) = stone.bounds();
    let mut facing = [0.0; TURNS];
    for i in 0..stone.triangles().len() {
        let [a, b, c] = stone.corners(i);
        let normal = (b - a).cross(&(c - a)) / 2.0;
        let level = normal.xy().norm();
        if level > normal.z.abs() {
            let at = crate::measure::frame::clocking(normal.xy()).round() as usize % TURNS;
            facing[at] += level;
        }
    }
    let lean = FACET_LEAN as usize;
    // What comes to the top: all of it, and so that what leans counts less.
    let shown = |turn: usize| {
        let at = (TURNS - turn) % TURNS;
        (0..=2 * lean).fold((0.0, 0.0), |(all, upright), k| {
            let share = 1.0 - k.abs_diff(lean) as f64 / (lean + 1) as f64;
            let area = facing[(at + TURNS + k - lean) % TURNS];
            (all + area, upright + area * share)
        })
    };
    let depths: Vec<f64> = (0..TURNS).map(|k| depth(k as f64)).collect();
    let least = depths.iter().copied().fold(f64::INFINITY, f64::min);
    let first_most = |turns: &mut dyn Iterator<Item = usize>| {
        let mut best = (0, f64::NEG_INFINITY);
        for k in turns {
            let upright = shown(k).1;
            if upright > best.1 * (1.0 + BETTER) {
                best = (k, upright);
            }
        }
        best.0
    };
    let deep = first_most(&mut (0..TURNS).filter(|&k| depths[k] <= least + AS_DEEP));
    let wide = first_most(&mut (0..TURNS));
    let deepest = finer(deep as f64, depth);
    Rests {
        deepest: (signed(deepest), depth(deepest)),
        widest: (signed(wide as f64), shown(wide).0 / (high.z - low.z)),
    }
}

/// The tenth of a degree around `turn` at which `value` is least.
fn finer(turn: f64, value: impl Fn(f64) -> f64) -> f64 {
    let tries = (-10..=10).map(|k| turn + 0.1 * f64::from(k));
    tries.min_by(|a, b| value(*a).total_cmp(&value(*b))).unwrap_or(turn)
}

/// An angle from -180 to 180 degrees, to a tenth.
fn signed(turn: f64) -> f64 {
    let turn = (turn + 180.0).rem_euclid(360.0) - 180.0;
    (turn * 10.0).round() / 10.0
}

/// Least distance of two parallel planes with all points between, mm: the least
/// of many directions, made less by small turns.
pub(in super::super) fn least_width(points: &[Vec3]) -> f64 {
    /// Directions over half a sphere: about 6 degrees apart.
    const TRIED: u32 = 500;
    /// Of which so many are followed.
    const FOLLOWED: usize = 4;
    let outer = outermost(points, CHOICE);
    let width = |way: Vec3| {
        let (low, high) = outer
            .iter()
            .map(|p| p.dot(&way))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), d| (l.min(d), h.max(d)));
        high - low
    };
    // Equal areas along a spiral, as on a sunflower.
    let golden = std::f64::consts::PI * (3.0 - 5f64.sqrt());
    let mut tried: Vec<(f64, Vec3)> = (0..TRIED)
        .map(|k| {
            let z = (f64::from(k) + 0.5) / f64::from(TRIED);
            let flat = (1.0 - z * z).sqrt();
            let (sin, cos) = (golden * f64::from(k)).sin_cos();
            let way = Vec3::new(flat * cos, flat * sin, z);
            (width(way), way)
        })
        .collect();
    tried.sort_by(|a, b| a.0.total_cmp(&b.0));
    let followed = tried.iter().take(FOLLOWED).map(|&(_, way)| {
        let (x, y) = across(way);
        least_tilt(|t| width((way + x * t.x + y * t.y).normalize())).1
    });
    followed.fold(f64::INFINITY, f64::min)
}
