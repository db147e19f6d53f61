//! What the surface of a mesh covers between two heights, on a grid.
//!
//! A cell that no piece of the surface touches between two heights is material
//! or free from the one to the other: nothing thinner than a step is missed.

use crate::measure::{Vec2, Vec3};
use crate::mesh::Soup;

/// Square cells in the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Grid {
    /// Lower left corner, mm.
    pub low: Vec2,
    /// Side of a cell, mm.
    pub cell: f64,
    /// Cells along x.
    pub columns: usize,
    /// Cells along y.
    pub rows: usize,
}

impl Grid {
    /// Middle of a cell, mm.
    pub fn middle(&self, column: usize, row: usize) -> Vec2 {
        self.low + Vec2::new(column as f64 + 0.5, row as f64 + 0.5) * self.cell
    }

    /// The cell of a coordinate along x or y, at the edge if outside.
    pub fn index(value: f64, low: f64, cell: f64, count: usize) -> usize {
        ((value - low) / cell).floor().clamp(0.0, (count - 1) as f64) as usize
    }
}

/// Bits in a word.
const WORD: usize = 64;

/// One bit a cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cells {
    words: Vec<u64>,
    a_row: usize,
}

impl Cells {
    pub fn new(grid: &Grid) -> Cells {
        let a_row = grid.columns.div_ceil(WORD);
        Cells { words: vec![0; a_row * grid.rows], a_row }
    }

    pub fn has(&self, column: usize, row: usize) -> bool {
        self.words[row * self.a_row + column / WORD] >> (column % WORD) & 1 == 1
    }

    pub fn set(&mut self, column: usize, row: usize) {
        self.words[row * self.a_row + column / WORD] |= 1 << (column % WORD);
    }

    /// Sets the cells from one column to another, both included.
    pub fn set_run(&mut self, row: usize, from: usize, to: usize) {
        let start = row * self.a_row;
        for word in from / WORD..=to / WORD {
            let mut mask = u64::MAX;
            if word == from / WORD {
                mask &= u64::MAX << (from % WORD);
            }
            if word == to / WORD {
                mask &= u64::MAX >> (WORD - 1 - to % WORD);
            }
            self.words[start + word] |= mask;
        }
    }

    pub fn count(&self) -> u32 {
        self.words.iter().map(|w| w.count_ones()).sum()
    }

    /// Number of cells that both have.
    pub fn shared(&self, other: &Cells) -> u32 {
        self.words.iter().zip(&other.words).map(|(a, b)| (a & b).count_ones()).sum()
    }

    /// Sets all that lies below what is set, towards lower rows.
    pub fn fall(&mut self) {
        for at in (self.a_row..self.words.len()).rev() {
            self.words[at - self.a_row] |= self.words[at];
        }
    }

    /// Sets all cells within `by` columns and rows of what is set.
    pub fn grow(&mut self, by: usize) {
        let mut grown = 0;
        while grown < by {
            // What was grown already bridges a step of that width.
            let step = (by - grown).min(2 * grown + 1).min(WORD - 1);
            self.grow_along(step);
            self.grow_across(step);
            grown += step;
        }
    }

    /// Sets what lies `step` columns beside what is set; less than a word.
    fn grow_along(&mut self, step: usize) {
        for row in self.words.chunks_mut(self.a_row) {
            let (mut before, mut k) = (0, 0);
            while k < row.len() {
                let own = row[k];
                let after = row.get(k + 1).copied().unwrap_or(0);
                let from_left = own << step | before >> (WORD - step);
                let from_right = own >> step | after << (WORD - step);
                row[k] = own | from_left | from_right;
                (before, k) = (own, k + 1);
            }
        }
    }

    /// Sets what lies `step` rows beside what is set.
    fn grow_across(&mut self, step: usize) {
        let (shift, given) = (step * self.a_row, self.words.clone());
        for (word, below) in self.words.iter_mut().skip(shift).zip(&given) {
            *word |= below;
        }
        for (word, above) in self.words.iter_mut().zip(given.iter().skip(shift)) {
            *word |= above;
        }
    }

    /// The runs of a row that are not set: first and last column.
    pub fn gaps(&self, row: usize, columns: usize) -> Vec<(usize, usize)> {
        let words = &self.words[row * self.a_row..(row + 1) * self.a_row];
        let next = |from: usize, wanted: u64| {
            let mut at = from;
            while at < columns {
                let word = (words[at / WORD] ^ wanted) >> (at % WORD);
                if word != 0 {
                    return (at + word.trailing_zeros() as usize).min(columns);
                }
                at = (at / WORD + 1) * WORD;
            }
            columns
        };
        let (mut out, mut from) = (Vec::new(), next(0, u64::MAX));
        while from < columns {
            let end = next(from, 0);
            out.push((from, end - 1));
            from = next(end, u64::MAX);
        }
        out
    }

    /// Keeps what the other has, too.
    pub fn keep(&mut self, other: &Cells) {
        self.words.iter_mut().zip(&other.words).for_each(|(a, b)| *a &= b);
    }
}

/// A convex polygon of few corners.
#[derive(Clone, Copy, Debug)]
pub(super) struct Polygon {
    corners: [Vec2; Polygon::MOST],
    count: usize,
}

impl Polygon {
    /// A triangle cut by four lines has seven corners at most.
    const MOST: usize = 8;

    pub fn corners(&self) -> &[Vec2] {
        &self.corners[..self.count]
    }

    /// Its sides; those of a lone corner have no length.
    pub fn sides(&self) -> impl Iterator<Item = (Vec2, Vec2)> + '_ {
        let corners = self.corners();
        corners.iter().copied().zip(corners.iter().copied().cycle().skip(1))
    }

    pub fn bounds(&self) -> (Vec2, Vec2) {
        let first = self.corners[0];
        self.corners().iter().fold((first, first), |(lo, hi), p| (lo.inf(p), hi.sup(p)))
    }

    /// Distance of a point, mm; 0 inside.
    pub fn distance(&self, p: Vec2) -> f64 {
        (self.nearest(p) - p).norm()
    }

    /// Its point that is nearest to a point.
    pub fn nearest(&self, p: Vec2) -> Vec2 {
        let (mut least, mut nearest) = (f64::INFINITY, p);
        let (mut left, mut right) = (false, false);
        for (a, b) in self.sides() {
            let (d, q) = (b - a, p - a);
            let length = d.norm_squared();
            let t = if length > 0.0 { (q.dot(&d) / length).clamp(0.0, 1.0) } else { 0.0 };
            let off = (q - d * t).norm_squared();
            if off < least {
                (least, nearest) = (off, a + d * t);
            }
            let side = d.x * q.y - d.y * q.x;
            left |= side > 0.0;
            right |= side < 0.0;
        }
        // Seen from inside, all sides lie on one hand.
        let inside = left != right && self.count > 2 && self.has_area();
        if inside { p } else { nearest }
    }

    fn has_area(&self) -> bool {
        let twice: f64 = self.sides().map(|(a, b)| a.x * b.y - a.y * b.x).sum();
        let (low, high) = self.bounds();
        twice.abs() > FLAT * (high - low).norm_squared()
    }

    /// What lies where `key` is from `low` to `high`; none if nothing does.
    fn between(&self, key: impl Fn(&Vec2) -> f64, low: f64, high: f64) -> Option<Polygon> {
        let mut corners = self.corners;
        let count = cut(&mut corners, self.count, |p| key(p) - low);
        let count = cut(&mut corners, count, |p| high - key(p));
        (count > 0).then_some(Polygon { corners, count })
    }

    /// What lies in a strip of v, in a frame (u, v).
    pub fn in_strip(&self, low: f64, high: f64) -> Option<Polygon> {
        self.between(|p| p.y, low, high)
    }

    /// The same with every corner moved by `f`.
    pub fn mapped(&self, f: impl Fn(Vec2) -> Vec2) -> Polygon {
        Polygon { corners: self.corners.map(f), count: self.count }
    }
}

/// Area over the square of its size below which a polygon is a line: an upright
/// wall, up to float noise.
const FLAT: f64 = 1e-9;

/// Cuts away the corners where `side` is negative, in place; their new number.
fn cut<P: Copy + Cut, const N: usize>(
    corners: &mut [P; N],
    count: usize,
    side: impl Fn(&P) -> f64,
) -> usize {
    let given = *corners;
    let mut out = 0;
    for i in 0..count {
        let (p, q) = (given[i], given[(i + 1) % count]);
        let (a, b) = (side(&p), side(&q));
        if a >= 0.0 && out < N {
            corners[out] = p;
            out += 1;
        }
        if (a < 0.0) != (b < 0.0) && out < N {
            corners[out] = p.between(&q, a / (a - b));
            out += 1;
        }
    }
    out
}

/// A corner that can be cut in between.
trait Cut {
    fn between(&self, other: &Self, t: f64) -> Self;
}

impl Cut for Vec2 {
    fn between(&self, other: &Self, t: f64) -> Self {
        self + (other - self) * t
    }
}

impl Cut for Vec3 {
    fn between(&self, other: &Self, t: f64) -> Self {
        self + (other - self) * t
    }
}

/// What a triangle covers, seen along z, between two heights.
pub(super) fn covered(triangle: &[Vec3; 3], low: f64, high: f64) -> Option<Polygon> {
    let [a, b, c] = *triangle;
    let (bottom, top) = (a.z.min(b.z).min(c.z), a.z.max(b.z).max(c.z));
    if bottom > high || top < low {
        return None;
    }
    let mut corners = [a; Polygon::MOST];
    corners[1] = b;
    corners[2] = c;
    let mut count = 3;
    if bottom < low || top > high {
        count = cut(&mut corners, count, |p| p.z - low);
        count = cut(&mut corners, count, |p| high - p.z);
    }
    (count > 0).then(|| Polygon { corners: corners.map(|p| p.xy()), count })
}

/// Heights that cut a range into slabs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Slabs {
    pub from: f64,
    pub to: f64,
    pub step: f64,
    pub count: usize,
}

/// The ends of a slab that are not looked at, mm: a floor at just that height
/// belongs to neither side. Float noise of coordinates in 32 bits.
const SKIN: f64 = 1e-4;

impl Slabs {
    /// Slabs of `step` mm; the last is from half to one and a half of it.
    pub fn new(from: f64, to: f64, step: f64) -> Slabs {
        let whole = ((to - from) / step).floor();
        let rest = to - from - whole * step;
        let count = if rest > 0.5 * step { whole + 1.0 } else { whole };
        Slabs { from, to, step, count: count.max(1.0) as usize }
    }

    /// Where a slab begins and ends, mm.
    pub fn span(&self, k: usize) -> (f64, f64) {
        let low = self.from + k as f64 * self.step;
        let high = if k + 1 == self.count { self.to } else { low + self.step };
        (low, high)
    }

    /// The inside of the slabs from one to another, mm.
    pub fn inside(&self, first: usize, last: usize) -> (f64, f64) {
        (self.span(first).0 + SKIN, self.span(last).1 - SKIN)
    }

    /// The slabs that a triangle touches.
    fn touched(&self, bottom: f64, top: f64) -> std::ops::Range<usize> {
        if bottom > self.to || top < self.from {
            return 0..0;
        }
        let last = (self.count - 1) as f64;
        let index = |z: f64| ((z - self.from) / self.step).floor().clamp(0.0, last) as usize;
        index(bottom - SKIN)..index(top + SKIN) + 1
    }

    /// Visits what each triangle covers within each slab.
    pub fn shadows(&self, soup: &Soup, mut visit: impl FnMut(usize, &Polygon)) {
        for i in 0..soup.triangles().len() {
            let corners = soup.corners(i);
            let [a, b, c] = corners;
            let (bottom, top) = (a.z.min(b.z).min(c.z), a.z.max(b.z).max(c.z));
            for k in self.touched(bottom, top) {
                let (low, high) = self.inside(k, k);
                if let Some(polygon) = covered(&corners, low, high) {
                    visit(k, &polygon);
                }
            }
        }
    }
}

/// Sets every cell that a polygon touches.
pub(super) fn cover(grid: &Grid, polygon: &Polygon, cells: &mut Cells) {
    let (low, high) = polygon.bounds();
    let row = |y: f64| Grid::index(y, grid.low.y, grid.cell, grid.rows);
    let column = |x: f64| Grid::index(x, grid.low.x, grid.cell, grid.columns);
    let (first, last) = (row(low.y), row(high.y));
    if first == last {
        cells.set_run(first, column(low.x), column(high.x));
        return;
    }
    for r in first..=last {
        let bottom = grid.low.y + r as f64 * grid.cell;
        let top = bottom + grid.cell;
        let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
        for (a, b) in polygon.sides() {
            let (a, b) = if a.y <= b.y { (a, b) } else { (b, a) };
            if b.y < bottom || a.y > top {
                continue;
            }
            let at = |y: f64| {
                let t = if b.y > a.y { ((y - a.y) / (b.y - a.y)).clamp(0.0, 1.0) } else { 0.0 };
                a.x + (b.x - a.x) * t
            };
            let ends = if a.y == b.y { [a.x, b.x] } else { [at(bottom), at(top)] };
            from = from.min(ends[0]).min(ends[1]);
            to = to.max(ends[0]).max(ends[1]);
        }
        if from <= to {
            cells.set_run(r, column(from), column(to));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid() -> Grid {
        Grid { low: Vec2::zeros(), cell: 1.0, columns: 130, rows: 10 }
    }

    #[test]
    fn runs_cross_words() {
        let mut cells = Cells::new(&grid());
        cells.set_run(2, 60, 129);
        assert_eq!(cells.count(), 70);
        assert!(!cells.has(59, 2) && cells.has(60, 2) && cells.has(129, 2));
    }

    #[test]
    fn what_is_set_grows_and_falls() {
        let mut cells = Cells::new(&grid());
        cells.set(63, 5);
        let mut grown = cells.clone();
        grown.grow(3);
        assert_eq!(grown.count(), 49);
        assert!(grown.has(60, 2) && grown.has(66, 8) && !grown.has(67, 5));
        assert_eq!(grown.gaps(5, 130), [(0, 59), (67, 129)]);
        assert_eq!(grown.gaps(9, 130), [(0, 129)]);
        cells.fall();
        assert_eq!((cells.count(), cells.has(63, 0)), (6, true));
        cells.set_run(2, 0, 129);
        assert!(cells.gaps(2, 130).is_empty());
    }

    #[test]
    fn a_triangle_covers_what_it_touches() {
        let corners =
            [Vec3::new(0.5, 0.5, 0.0), Vec3::new(4.5, 0.5, 0.0), Vec3::new(0.5, 4.5, 8.0)];
        let whole = covered(&corners, -1.0, 9.0).expect("between");
        let mut cells = Cells::new(&grid());
        cover(&grid(), &whole, &mut cells);
        let rows: Vec<u32> =
            (0..5).map(|r| (0..130).filter(|&c| cells.has(c, r)).count() as u32).collect();
        assert_eq!(rows, [5, 5, 4, 3, 2]);
        // Its upper half, above z = 4.
        let half = covered(&corners, 4.0, 9.0).expect("between");
        assert_eq!(half.bounds(), (Vec2::new(0.5, 2.5), Vec2::new(2.5, 4.5)));
        assert!((half.distance(Vec2::new(0.5, 0.5)) - 2.0).abs() < 1e-12);
        assert_eq!(half.distance(Vec2::new(1.0, 3.0)), 0.0);
        assert!(covered(&corners, 8.5, 9.0).is_none());
    }

    #[test]
    fn a_floor_between_two_slabs_is_in_neither() {
        let slabs = Slabs::new(0.0, 10.3, 1.0);
        assert_eq!((slabs.count, slabs.span(9)), (10, (9.0, 10.3)));
        let floor = [Vec3::new(0.0, 0.0, 3.0), Vec3::new(1.0, 0.0, 3.0), Vec3::new(0.0, 1.0, 3.0)];
        let (low, high) = slabs.inside(3, 3);
        assert!(covered(&floor, low, high).is_none());
        assert_eq!(Slabs::new(0.0, 0.2, 1.0).count, 1);
        assert_eq!(Slabs::new(0.0, 10.6, 1.0).count, 11);
    }
}
