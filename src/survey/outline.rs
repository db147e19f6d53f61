//! The clear outline about the axis of a chassis: all that is free over a range
//! of z and on the way there, as a polygon of few corners that lies inside it.
//!
//! Shadows are laid on a fine grid, each over every cell that it touches, and
//! grown by a few cells. The boundary of what is left about the axis is then a
//! staircase that may be moved by as much as was grown without touching any
//! shadow; Douglas and Peucker's method (1973) moves it less than that, and
//! leaves few corners.

use super::chassis::{Chassis, Entry};
use super::clear::{ClearBore, SKIN};
use super::shadow::{Cells, Grid, cover, covered};
use crate::measure::Vec2;
use crate::section::Region;

/// Side of the grid's cells, mm: four steps of the input grid of sections, so that
/// corners lie on it. Wider where a cavity would need more than [`MOST_LINES`].
const CELL: f64 = 0.004;

/// Steps of the input grid of sections in a millimetre.
const STEPS: f64 = 1000.0;

/// Most lines of the grid: 12.5 MB of cells.
const MOST_LINES: f64 = 10_000.0;

/// Cells that shadows grow by; the next is tried where the one before leaves more
/// corners than [`MOST_CORNERS`], as with a noisy scan.
const GROWTHS: [usize; 5] = [2, 4, 8, 16, 32];

/// Share of the growth that the boundary may be moved by.
const MOVED: f64 = 0.95;

/// Most corners of an outline, so that exact sections are made of it at once.
pub(super) const MOST_CORNERS: usize = 200;

/// All that is clear about the axis over a range of z, with its way in.
#[derive(Clone, Debug, PartialEq)]
pub struct ClearOutline {
    /// It, in one piece about the axis: nothing of the chassis lies over it.
    pub region: Region,
    /// What it may lack, mm: whatever a disc of this radius, rolling from the axis,
    /// can take its middle to without meeting the chassis belongs to it.
    pub inset: f64,
    /// Corners of its boundary as simplified.
    pub corners: usize,
}

impl ClearOutline {
    /// Its width along x and its depth along y, mm.
    pub fn size(&self) -> (f64, f64) {
        self.region.bounds().map_or((0.0, 0.0), |(low, high)| (high.x - low.x, high.y - low.y))
    }
}

impl Chassis {
    /// The clear outline from `from` to `to` mm, by the way in of the clear bore
    /// that was found there ([`Chassis::clear_bore`]), within `reach` mm of the
    /// axis. None if the bore has no width, or where no outline of few corners
    /// lies less than a few tenths of a millimetre inside what is clear.
    pub fn clear_outline(
        &self,
        bore: &ClearBore,
        (from, to): (f64, f64),
        reach: f64,
    ) -> Option<ClearOutline> {
        let round = (0.5 * bore.diameter).min(reach);
        let round = (round * STEPS).floor() / STEPS;
        if round <= 0.0 {
            return None;
        }
        let grid = grid(reach);
        let low = if bore.entry == Entry::Window { from } else { self.bounds().0.z - 1.0 };
        let shadows = self.shadows(&grid, bore.entry, (low + SKIN, to - SKIN));
        GROWTHS.iter().find_map(|&growth| {
            let mut blocked = shadows.clone();
            blocked.grow(growth);
            let moved = MOVED * growth as f64 * grid.cell;
            let loops: Vec<Vec<Vec2>> = outlines(&grid, &about_axis(&grid, &blocked)?)
                .iter()
                .map(|corners| simplified(corners, moved))
                .collect();
            let corners = loops.iter().map(Vec::len).sum();
            if corners > MOST_CORNERS {
                return None;
            }
            let disc = |radius: f64| Region::disc(Vec2::zeros(), radius);
            // The reach may lie between two steps of the grid.
            let reach = (reach * STEPS).floor() / STEPS;
            let region = Region::enclosed(&loops).intersection(&disc(reach)).union(&disc(round));
            let inset = (growth + 1) as f64 * grid.cell * std::f64::consts::SQRT_2 + moved;
            Some(ClearOutline { region, inset, corners })
        })
    }

    /// The cells that the chassis is over between two heights; by the window, with
    /// all that is below them.
    fn shadows(&self, grid: &Grid, entry: Entry, (low, high): (f64, f64)) -> Cells {
        let mut cells = Cells::new(grid);
        let top = grid.middle(grid.columns - 1, grid.rows - 1);
        for i in 0..self.soup().triangles().len() {
            let Some(shadow) = covered(&self.soup().corners(i), low, high) else { continue };
            let (least, most) = shadow.bounds();
            let beside = least.x > top.x || most.x < grid.low.x;
            // What lies above the grid is in the way from there.
            let beyond = most.y < grid.low.y || (entry != Entry::Window && least.y > top.y);
            if !beside && !beyond {
                cover(grid, &shadow, &mut cells);
            }
        }
        if entry == Entry::Window {
            cells.fall();
        }
        cells
    }
}

/// The grid within `reach` mm of the axis, with a margin that no outline needs.
fn grid(reach: f64) -> Grid {
    let half = reach + 2.0 * GROWTHS[GROWTHS.len() - 1] as f64 * CELL;
    let steps = |length: f64| (length * STEPS).ceil();
    let cell = steps((2.0 * half / MOST_LINES).max(CELL)) / STEPS;
    let count = (2.0 * half / cell).ceil() as usize;
    let low = -steps(half) / STEPS;
    Grid { low: Vec2::new(low, low), cell, columns: count, rows: count }
}

/// The cells that are free and hang together with that of the axis; none if that
/// is not free.
fn about_axis(grid: &Grid, blocked: &Cells) -> Option<Cells> {
    let rows: Vec<Vec<(usize, usize)>> =
        (0..grid.rows).map(|row| blocked.gaps(row, grid.columns)).collect();
    let axis = (
        Grid::index(0.0, grid.low.x, grid.cell, grid.columns),
        Grid::index(0.0, grid.low.y, grid.cell, grid.rows),
    );
    let first = rows[axis.1].iter().position(|&(a, b)| a <= axis.0 && axis.0 <= b)?;
    let mut seen: Vec<Vec<bool>> = rows.iter().map(|runs| vec![false; runs.len()]).collect();
    let mut free = Cells::new(grid);
    let mut open = vec![(axis.1, first)];
    seen[axis.1][first] = true;
    while let Some((row, k)) = open.pop() {
        let (a, b) = rows[row][k];
        free.set_run(row, a, b);
        for next in [row.wrapping_sub(1), row + 1] {
            let Some(runs) = rows.get(next) else { continue };
            let start = runs.partition_point(|&(_, end)| end < a);
            for (i, _) in runs.iter().enumerate().skip(start).take_while(|(_, run)| run.0 <= b) {
                if !std::mem::replace(&mut seen[next][i], true) {
                    open.push((next, i));
                }
            }
        }
    }
    Some(free)
}

/// The four ways along the grid, each a quarter turn to the left of the one before.
const WAYS: [(isize, isize); 4] = [(1, 0), (0, 1), (-1, 0), (0, -1)];

/// The cells ahead of a crossing of lines, to the left and to the right, for each way.
const AHEAD: [[(isize, isize); 2]; 4] =
    [[(0, 0), (0, -1)], [(-1, 0), (0, 0)], [(-1, -1), (-1, 0)], [(0, -1), (-1, -1)]];

/// The corners of the boundary of a set of cells, loop after loop, the set to the
/// left.
fn outlines(grid: &Grid, set: &Cells) -> Vec<Vec<Vec2>> {
    let has = |column: isize, row: isize| {
        let inside = |v: isize, count: usize| v >= 0 && (v as usize) < count;
        inside(column, grid.columns)
            && inside(row, grid.rows)
            && set.has(column as usize, row as usize)
    };
    let mut seen = Cells::new(grid);
    let mut loops = Vec::new();
    for row in 0..grid.rows {
        // Where a run of the row below ends or none is, the set has a lower edge.
        for (from, to) in runs(set, grid, row) {
            for column in from..=to {
                let lower = !has(column as isize, row as isize - 1);
                if lower && !seen.has(column, row) {
                    loops.push(around(grid, &has, &mut seen, (column, row)));
                }
            }
        }
    }
    loops
}

/// The runs of a row that are set.
fn runs(set: &Cells, grid: &Grid, row: usize) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    let mut from = 0;
    let gaps = set.gaps(row, grid.columns);
    for (a, b) in gaps.into_iter().chain([(grid.columns, grid.columns)]) {
        if a > from {
            out.push((from, a - 1));
        }
        from = b + 1;
    }
    out
}

/// One loop from the lower edge of a cell on; `seen` gets all lower edges.
fn around(
    grid: &Grid,
    has: &impl Fn(isize, isize) -> bool,
    seen: &mut Cells,
    (column, row): (usize, usize),
) -> Vec<Vec2> {
    let start = (column as isize, row as isize);
    let (mut at, mut way) = (start, 0);
    let mut corners = Vec::new();
    loop {
        if way == 0 {
            seen.set(at.0 as usize, at.1 as usize);
        }
        at = (at.0 + WAYS[way].0, at.1 + WAYS[way].1);
        let [left, right] = AHEAD[way].map(|(c, r)| has(at.0 + c, at.1 + r));
        // Cells that meet in a corner only do not hang together.
        let turn = if !left {
            1
        } else if right {
            3
        } else {
            0
        };
        if turn != 0 {
            corners.push(grid.low + Vec2::new(at.0 as f64, at.1 as f64) * grid.cell);
            way = (way + turn) % WAYS.len();
        }
        if at == start && way == 0 {
            return corners;
        }
    }
}

/// A closed polygon with few of its corners: none that is left out lies further
/// than `by` from the side that passes it, and so no side from what it stands for.
fn simplified(corners: &[Vec2], by: f64) -> Vec<Vec2> {
    let first = corners[0];
    let far = |(_, p): &(usize, &Vec2)| (**p - first).norm_squared();
    let opposite = corners.iter().enumerate().max_by(|p, q| far(p).total_cmp(&far(q)));
    let opposite = opposite.map_or(0, |(i, _)| i);
    let at = |i: usize| corners[i % corners.len()];
    let mut out = Vec::new();
    // Stretches whose ends stay; the last is looked at first.
    let mut open = vec![(opposite, corners.len()), (0, opposite)];
    while let Some((a, b)) = open.pop() {
        let off = |i: &usize| distance(at(*i), at(a), at(b));
        let worst = (a + 1..b).max_by(|i, j| off(i).total_cmp(&off(j))).filter(|i| off(i) > by);
        match worst {
            Some(i) => open.extend([(i, b), (a, i)]),
            None => out.push(at(a)),
        }
    }
    out
}

/// Distance of a point from a line between two points, mm.
fn distance(p: Vec2, a: Vec2, b: Vec2) -> f64 {
    let (d, q) = (b - a, p - a);
    let length = d.norm_squared();
    let t = if length > 0.0 { (q.dot(&d) / length).clamp(0.0, 1.0) } else { 0.0 };
    (q - d * t).norm()
}
