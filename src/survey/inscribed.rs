//! The largest disc and the largest rectangle in the space that stays free over
//! a range of heights.
//!
//! Both are sought on the grid, where nothing that fits is missed by more than
//! a few cells, and then grown against the triangles themselves.

use super::distance::Distances;
use super::shadow::{Cells, Grid, Polygon, covered};
use crate::measure::{Vec2, Vec3};
use crate::mesh::Soup;

/// How far growing looks beyond what the grid gave, cells.
const REACH: f64 = 6.0;

/// Half the diagonal of a cell, in cells.
const HALF_DIAGONAL: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// How near a disc comes to the largest one around its place, mm.
const DISC_TOLERANCE: f64 = 0.001;

/// Sides are rounded down to so many a mm.
const ROUNDED: f64 = 1000.0;

/// Step of the angles at which boxes are tried, degrees.
pub const ANGLE_STEP: u32 = 5;

/// Angles of which the box is grown: those that gave the largest on the grid.
const GROWN: usize = 4;

/// A cylinder along z.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Cylinder {
    /// Where its axis is, mm.
    pub x: f64,
    /// mm.
    pub y: f64,
    /// It fits, mm.
    pub diameter: f64,
    /// No larger one fits, mm.
    pub at_most: f64,
    /// Along z, mm.
    pub length: f64,
}

/// A box whose edges run along z and across.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct FittingBox {
    /// Where its middle is, mm.
    pub x: f64,
    /// mm.
    pub y: f64,
    /// Along the turned x, mm.
    pub width: f64,
    /// Along the turned y, mm.
    pub depth: f64,
    /// How far it is turned about z, counter-clockwise seen from the front,
    /// degrees.
    pub turn: f64,
    /// Along z, mm.
    pub length: f64,
}

/// What stays free over a range of heights.
pub(super) struct Room<'a> {
    pub soup: &'a Soup,
    pub grid: &'a Grid,
    /// Cells that nothing touches over the whole range.
    pub free: &'a Cells,
    /// The inside of the range, mm.
    pub inside: (f64, f64),
    pub length: f64,
    /// What contains the chassis over the whole range: middle and radius, mm.
    pub envelope: (Vec2, f64),
}

impl Room<'_> {
    /// The surface within the range and near to a place, seen along z.
    fn shadows(&self, low: Vec2, high: Vec2) -> Vec<Polygon> {
        let near = |t: &[Vec3; 3]| {
            let lo = t[0].inf(&t[1]).inf(&t[2]);
            let hi = t[0].sup(&t[1]).sup(&t[2]);
            (0..2).all(|k| lo[k] <= high[k] && low[k] <= hi[k])
        };
        let all = (0..self.soup.triangles().len()).map(|i| self.soup.corners(i));
        all.filter(near).filter_map(|t| covered(&t, self.inside.0, self.inside.1)).collect()
    }

    /// The largest cylinder and the largest box; none if no cell is free.
    pub fn largest(&self) -> Option<(Cylinder, FittingBox)> {
        let distances = Distances::new(self.grid, self.free);
        let (column, row, deepest) = distances.deepest();
        if deepest <= 0.0 {
            return None;
        }
        let cylinder = self.disc(self.grid.middle(column, row), deepest);
        let rectangle = self.rectangle(&distances)?;
        Some((cylinder, rectangle))
    }

    fn disc(&self, middle: Vec2, deepest: f64) -> Cylinder {
        let cell = self.grid.cell;
        // A cell that is not free is touched somewhere.
        let sure = (deepest - HALF_DIAGONAL).max(0.0) * cell;
        let reach = sure + REACH * cell;
        let low = middle - Vec2::repeat(reach);
        let high = middle + Vec2::repeat(reach);
        let mut near = self.shadows(low, high);
        near.retain(|p| p.distance(middle) <= reach);
        let (centre, radius) = self.envelope;
        let free = |p: Vec2, shadows: &[Polygon]| {
            let inside = radius - (p - centre).norm();
            shadows.iter().map(|s| s.distance(p)).fold(inside, f64::min)
        };
        let first = free(middle, &near);
        let mut best = (middle, first);
        // Squares in which a larger disc may have its middle, with the shadows
        // that it could touch.
        let half = 2.0 * cell;
        let mut squares = vec![(middle, half, near)];
        while let Some((at, half, shadows)) = squares.pop() {
            let here = free(at, &shadows);
            if here > best.1 {
                best = (at, here);
            }
            let diagonal = half * std::f64::consts::SQRT_2;
            if here + diagonal <= best.1 + DISC_TOLERANCE {
                continue;
            }
            let most = here + 2.0 * diagonal;
            let kept: Vec<Polygon> =
                shadows.into_iter().filter(|s| s.distance(at) <= most).collect();
            let quarter = half / 2.0;
            let mut parts: Vec<(Vec2, f64)> = [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)]
                .map(|(x, y)| at + Vec2::new(x, y) * quarter)
                .map(|p| (p, free(p, &kept)))
                .to_vec();
            // The most promising is taken first, so it is put last.
            parts.sort_by(|a, b| a.1.total_cmp(&b.1));
            squares.extend(parts.into_iter().map(|(p, _)| (p, quarter, kept.clone())));
        }
        let diameter = (2.0 * best.1.max(sure) * ROUNDED).floor() / ROUNDED;
        // From any point to the middle of its cell, and from that of a blocked
        // one to where it is touched.
        let at_most = 2.0 * (deepest + 2.0 * HALF_DIAGONAL) * cell;
        let place = if best.1 >= sure { best.0 } else { middle };
        Cylinder {
            x: place.x,
            y: place.y,
            diameter,
            at_most: at_most.max(diameter),
            length: self.length,
        }
    }

    fn rectangle(&self, distances: &Distances) -> Option<FittingBox> {
        let mut found: Vec<(f64, Turned, Frame)> = Vec::new();
        for k in 0..90 / ANGLE_STEP {
            let frame = Frame::new(f64::from(k * ANGLE_STEP));
            if let Some(rect) = self.on_grid(distances, &frame) {
                let lost = if k == 0 { 0.0 } else { 3.0 * self.grid.cell };
                let size = rect.high - rect.low + Vec2::repeat(lost);
                found.push((size.x * size.y, rect, frame));
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0));
        found.truncate(GROWN);
        let grown = found.into_iter().map(|(_, rect, frame)| (self.grown(rect, &frame), frame));
        let mut best: Option<(f64, FittingBox)> = None;
        for (rect, frame) in grown {
            let size = (rect.high - rect.low).map(|s| (s * ROUNDED).floor() / ROUNDED);
            let area = size.x * size.y;
            if best.is_none_or(|(most, _)| area > most + AREA_NOISE) {
                let middle = frame.back((rect.low + rect.high) / 2.0);
                best = Some((
                    area,
                    FittingBox {
                        x: middle.x,
                        y: middle.y,
                        width: size.x,
                        depth: size.y,
                        turn: frame.degrees,
                        length: self.length,
                    },
                ));
            }
        }
        best.map(|(_, fitting)| fitting)
    }

    /// The largest rectangle of free cells in a turned frame.
    fn on_grid(&self, distances: &Distances, frame: &Frame) -> Option<Turned> {
        let grid = self.grid;
        let size = Vec2::new(grid.columns as f64, grid.rows as f64) * grid.cell;
        let corners = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)]
            .map(|(x, y)| frame.to(grid.low + size.component_mul(&Vec2::new(x, y))));
        let low = corners.iter().fold(corners[0], |a, b| a.inf(b));
        let high = corners.iter().fold(corners[0], |a, b| a.sup(b));
        let count = (high - low).map(|s| (s / grid.cell).ceil() as usize);
        // A cell of the turned grid is free if nothing that touches the circle
        // around it is blocked.
        let least = if frame.degrees == 0.0 { 1.0 } else { 3.0 * HALF_DIAGONAL };
        let free = |u: usize, v: usize| {
            let p = frame.back(low + Vec2::new(u as f64 + 0.5, v as f64 + 0.5) * grid.cell);
            let at = (p - grid.low) / grid.cell;
            let on = (0.0..grid.columns as f64).contains(&at.x)
                && (0.0..grid.rows as f64).contains(&at.y);
            on && distances.at(at.x as usize, at.y as usize) >= least
        };
        let best = largest_rectangle(count.x, count.y, free)?;
        let corner = |u: usize, v: usize| low + Vec2::new(u as f64, v as f64) * grid.cell;
        Some(Turned { low: corner(best[0], best[1]), high: corner(best[2], best[3]) })
    }

    /// The rectangle with each side moved out to what it meets.
    fn grown(&self, mut rect: Turned, frame: &Frame) -> Turned {
        let reach = REACH * self.grid.cell;
        let around = Vec2::repeat(reach);
        let (low, high) = (rect.low - around, rect.high + around);
        let corners =
            [low, Vec2::new(high.x, low.y), high, Vec2::new(low.x, high.y)].map(|p| frame.back(p));
        let near = self.shadows(
            corners.iter().fold(corners[0], |a, b| a.inf(b)),
            corners.iter().fold(corners[0], |a, b| a.sup(b)),
        );
        let shadows: Vec<Polygon> = near.iter().map(|s| s.mapped(|p| frame.to(p))).collect();
        let centre = frame.to(self.envelope.0);
        // Each side in turn is the upper one along u of a mirrored frame.
        for side in [0, 1, 2, 3] {
            let turn = |p: Vec2| match side {
                0 => p,
                1 => Vec2::new(p.y, p.x),
                2 => Vec2::new(-p.x, p.y),
                _ => Vec2::new(-p.y, p.x),
            };
            let (a, b) = (turn(rect.low), turn(rect.high));
            let (low, high) = (a.inf(&b), a.sup(&b));
            let strip = (low.y + EDGE, high.y - EDGE);
            let middle = 0.5 * (low.x + high.x);
            let about = turn(centre);
            let tall = (low.y - about.y).abs().max((high.y - about.y).abs());
            let round = (self.envelope.1 * self.envelope.1 - tall * tall).max(0.0).sqrt();
            let mut limit = (high.x + reach).min(about.x + round);
            for shadow in shadows.iter().map(|s| s.mapped(turn)) {
                let Some(inside) = shadow.in_strip(strip.0, strip.1) else { continue };
                let (from, to) = inside.bounds();
                if to.x > middle {
                    limit = limit.min(from.x);
                }
            }
            let moved = limit.max(high.x);
            match side {
                0 => rect.high.x = moved,
                1 => rect.high.y = moved,
                2 => rect.low.x = -moved,
                _ => rect.low.y = -moved,
            }
        }
        rect
    }
}

/// How far from its ends a side is not looked at, mm: what it touches with its
/// corner is beside it. Float noise of coordinates in 32 bits.
const EDGE: f64 = 1e-4;

/// Boxes whose areas differ by less, mm2, are as good: the first is taken.
const AREA_NOISE: f64 = 1e-6;

/// A turned frame in the plane.
struct Frame {
    degrees: f64,
    along: Vec2,
}

impl Frame {
    fn new(degrees: f64) -> Frame {
        let (sin, cos) = degrees.to_radians().sin_cos();
        Frame { degrees, along: Vec2::new(cos, sin) }
    }

    fn to(&self, p: Vec2) -> Vec2 {
        let a = self.along;
        Vec2::new(a.x * p.x + a.y * p.y, a.x * p.y - a.y * p.x)
    }

    fn back(&self, p: Vec2) -> Vec2 {
        let a = self.along;
        Vec2::new(a.x * p.x - a.y * p.y, a.y * p.x + a.x * p.y)
    }
}

/// A rectangle in a turned frame, mm.
#[derive(Clone, Copy, Debug)]
struct Turned {
    low: Vec2,
    high: Vec2,
}

/// The largest rectangle of free cells: first column and row, and those after
/// the last.
fn largest_rectangle(
    columns: usize,
    rows: usize,
    free: impl Fn(usize, usize) -> bool,
) -> Option<[usize; 4]> {
    let mut tall = vec![0usize; columns + 1];
    let mut best: Option<(usize, [usize; 4])> = None;
    let mut rising: Vec<(usize, usize)> = Vec::new();
    for row in 0..rows {
        for (column, t) in tall.iter_mut().take(columns).enumerate() {
            *t = if free(column, row) { *t + 1 } else { 0 };
        }
        rising.clear();
        for (column, &t) in tall.iter().enumerate() {
            let mut start = column;
            while let Some(&(from, height)) = rising.last().filter(|(_, h)| *h > t) {
                rising.pop();
                start = from;
                let area = height * (column - from);
                if best.is_none_or(|(most, _)| area > most) {
                    best = Some((area, [from, row + 1 - height, column, row + 1]));
                }
            }
            if t > 0 && rising.last().is_none_or(|(_, h)| *h < t) {
                rising.push((start, t));
            }
        }
    }
    best.map(|(_, found)| found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_rectangle_is_that_of_all() {
        let mut rng = fastrand::Rng::with_seed(5);
        for _ in 0..60 {
            let (columns, rows) = (rng.usize(1..9), rng.usize(1..9));
            let cells: Vec<bool> = (0..columns * rows).map(|_| rng.f64() < 0.75).collect();
            let free = |c: usize, r: usize| cells[r * columns + c];
            let mut most = 0;
            for a in 0..columns {
                for b in a + 1..=columns {
                    for c in 0..rows {
                        for d in c + 1..=rows {
                            if (a..b).all(|x| (c..d).all(|y| free(x, y))) {
                                most = most.max((b - a) * (d - c));
                            }
                        }
                    }
                }
            }
            let found = largest_rectangle(columns, rows, free);
            let area = found.map_or(0, |[a, c, b, d]| (b - a) * (d - c));
            assert_eq!(area, most);
            if let Some([a, c, b, d]) = found {
                assert!((a..b).all(|x| (c..d).all(|y| free(x, y))));
            }
        }
    }
}
