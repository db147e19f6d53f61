//! Free space in a chassis: pieces of each slab, and how they go on in the next.

use super::distance::Distances;
use super::shadow::{Cells, Grid};
use crate::measure::Vec2;
use crate::measure::frame::clocking;
use crate::mesh::Run;

/// Two pieces in neighbouring slabs are one cavity if they share at least this
/// part of the larger one: what is narrower is another cavity. Common practice,
/// no source.
const SAME_CAVITY: f64 = 0.5;

/// Cells further apart than this, cells, do not touch: two diagonals.
const APART: f64 = 2.83;

/// Where a cavity opens to the outside.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Mouth {
    /// Its middle: 0 is +y, 90 is -x, degrees.
    pub clocking: f64,
    /// Straight across it, mm.
    pub width: f64,
}

/// A cavity at one height.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct CavitySection {
    /// Height at which it was cut, mm.
    pub z: f64,
    /// Longest straight way along x, mm.
    pub width: f64,
    /// Longest straight way along y, mm.
    pub depth: f64,
    /// Area that stays free within the step, mm2: of whole cells.
    pub area: f64,
    /// Its openings; none if it is enclosed.
    pub mouths: Vec<Mouth>,
}

/// A piece of free space in one slab.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub cells: Cells,
    pub section: CavitySection,
}

/// Space that goes on from slab to slab.
#[derive(Clone, Debug)]
pub(super) struct Trace {
    /// First slab.
    pub first: usize,
    pub sections: Vec<CavitySection>,
    /// What is free in all of its slabs.
    pub common: Cells,
    last: Cells,
}

/// What lies in one slab.
pub(super) struct Slab<'a> {
    pub grid: &'a Grid,
    /// Cells that are neither touched nor material, inside the envelope.
    pub free: &'a Cells,
    pub z: f64,
    /// Smallest width that counts, mm.
    pub least: f64,
    /// Around the chassis: middle and radius, mm.
    pub envelope: (Vec2, f64),
    /// Material along lines of x, and along lines of y, mm.
    pub runs: [&'a [Run]; 2],
}

/// No piece.
const NONE: u16 = u16::MAX;

impl Slab<'_> {
    /// The pieces in which a disc of the least width has room.
    pub fn pieces(&self) -> Vec<Piece> {
        let (labels, count) = self.labels();
        let mut pieces: Vec<Piece> = (0..count)
            .map(|_| Piece {
                cells: Cells::new(self.grid),
                section: CavitySection {
                    z: self.z,
                    width: 0.0,
                    depth: 0.0,
                    area: 0.0,
                    mouths: Vec::new(),
                },
            })
            .collect();
        let mut edges: Vec<Vec<Vec2>> = vec![Vec::new(); count];
        let (centre, _) = self.envelope;
        for row in 0..self.grid.rows {
            for column in 0..self.grid.columns {
                let label = labels[row * self.grid.columns + column];
                if label == NONE {
                    continue;
                }
                pieces[usize::from(label)].cells.set(column, row);
                if self.is_at_edge(column, row) {
                    edges[usize::from(label)].push(self.grid.middle(column, row) - centre);
                }
            }
        }
        self.measure(&labels, &mut pieces);
        for (piece, edges) in pieces.iter_mut().zip(edges) {
            let cells = f64::from(piece.cells.count());
            piece.section.area = cells * self.grid.cell * self.grid.cell;
            piece.section.mouths = self.mouths(edges);
        }
        pieces
    }

    /// The piece of each cell, and their number. Pieces grow from where the
    /// disc has room, so far that they fill their corners.
    fn labels(&self) -> (Vec<u16>, usize) {
        let Grid { columns, rows, cell, .. } = *self.grid;
        let distances = Distances::new(self.grid, self.free);
        let least = 0.5 * self.least / cell;
        let mut labels = vec![NONE; columns * rows];
        let mut count = 0u16;
        let mut stack = Vec::new();
        for start in 0..labels.len() {
            let roomy = |i: usize| distances.at(i % columns, i / columns) >= least;
            if labels[start] != NONE || !roomy(start) || count == NONE {
                continue;
            }
            labels[start] = count;
            stack.push(start);
            while let Some(i) = stack.pop() {
                for j in neighbours(i, columns, rows).into_iter().flatten() {
                    if labels[j] == NONE && roomy(j) {
                        labels[j] = count;
                        stack.push(j);
                    }
                }
            }
            count += 1;
        }
        let mut edge: Vec<usize> = (0..labels.len()).filter(|&i| labels[i] != NONE).collect();
        // Into a square corner it is the radius along x and along y.
        for _ in 0..(2.0 * least).ceil() as usize {
            let mut next = Vec::new();
            for i in edge {
                for j in neighbours(i, columns, rows).into_iter().flatten() {
                    if labels[j] == NONE && self.free.has(j % columns, j / columns) {
                        labels[j] = labels[i];
                        next.push(j);
                    }
                }
            }
            edge = next;
        }
        (labels, usize::from(count))
    }

    /// Whether the next cell outwards lies outside the envelope.
    fn is_at_edge(&self, column: usize, row: usize) -> bool {
        let off = (self.grid.middle(column, row) - self.envelope.0).norm();
        off + APART * self.grid.cell > self.envelope.1
    }

    /// Longest straight ways, exact along their lines.
    fn measure(&self, labels: &[u16], pieces: &mut [Piece]) {
        let Grid { low, cell, columns, rows } = *self.grid;
        let (centre, radius) = self.envelope;
        for across in [false, true] {
            // Along y, the parts of x and y are exchanged.
            let pick = |p: Vec2| if across { Vec2::new(p.y, p.x) } else { p };
            let (start, middle) = (pick(low), pick(centre));
            let lines = if across { columns } else { rows };
            let long = if across { rows } else { columns };
            let mut runs = self.runs[usize::from(across)].iter().peekable();
            for line in 0..lines {
                let at = start.y + (line as f64 + 0.5) * cell;
                let half = (radius * radius - (at - middle.y) * (at - middle.y)).max(0.0).sqrt();
                let (from, to) = (middle.x - half, middle.x + half);
                let mut free = from;
                let mut gap = |a: f64, b: f64| {
                    let (a, b) = (a.max(from), b.min(to));
                    if b <= a {
                        return;
                    }
                    let cells =
                        Grid::index(a, start.x, cell, long)..=Grid::index(b, start.x, cell, long);
                    let label = cells
                        .map(|i| if across { i * columns + line } else { line * columns + i })
                        .map(|i| labels[i])
                        .find(|&l| l != NONE);
                    if let Some(piece) = label.and_then(|l| pieces.get_mut(usize::from(l))) {
                        let section = &mut piece.section;
                        let longest = if across { &mut section.depth } else { &mut section.width };
                        *longest = longest.max(b - a);
                    }
                };
                while let Some(run) = runs.next_if(|r| r.line as usize == line) {
                    gap(free, run.from);
                    free = run.to;
                }
                gap(free, to);
            }
        }
    }

    /// Openings from the middles of cells at the edge, about the envelope's own.
    fn mouths(&self, edge: Vec<Vec2>) -> Vec<Mouth> {
        let mut cells: Vec<(f64, Vec2)> = edge.into_iter().map(|p| (clocking(p), p)).collect();
        cells.sort_by(|a, b| a.0.total_cmp(&b.0));
        let Some(&first) = cells.first() else { return Vec::new() };
        let radius = self.envelope.1;
        let apart = (APART * self.grid.cell / radius).to_degrees();
        let mut spans: Vec<[(f64, Vec2); 2]> = vec![[first, first]];
        for &cell in &cells[1..] {
            match spans.last_mut() {
                Some(span) if cell.0 - span[1].0 <= apart => span[1] = cell,
                _ => spans.push([cell, cell]),
            }
        }
        // Past a whole turn it goes on from the start.
        if let [head, .., tail] = &mut spans[..]
            && head[0].0 + 360.0 - tail[1].0 <= apart
        {
            head[0] = (tail[0].0 - 360.0, tail[0].1);
            spans.pop();
        }
        // Its outermost cells lie anywhere in the edge, so that what is between their own
        // middles is its width, and not a chord of the envelope.
        let mouth = |[(from, first), (to, last)]: [(f64, Vec2); 2]| {
            let across = if to - from < 180.0 { (last - first).norm() } else { 2.0 * radius };
            let middle = (0.5 * (from + to)).rem_euclid(360.0);
            Mouth { clocking: middle, width: across + self.grid.cell }
        };
        spans.into_iter().map(mouth).filter(|m| m.width >= self.least).collect()
    }
}

fn neighbours(i: usize, columns: usize, rows: usize) -> [Option<usize>; 4] {
    let (column, row) = (i % columns, i / columns);
    [
        (column > 0).then(|| i - 1),
        (column + 1 < columns).then(|| i + 1),
        (row > 0).then(|| i - columns),
        (row + 1 < rows).then(|| i + columns),
    ]
}

/// Cavities that go on, and those that have ended.
#[derive(Default)]
pub(super) struct Tracer {
    going: Vec<Trace>,
    ended: Vec<Trace>,
}

impl Tracer {
    /// Goes on into the next slab.
    pub fn slab(&mut self, number: usize, pieces: Vec<Piece>) {
        let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
        for (i, trace) in self.going.iter().enumerate() {
            for (j, piece) in pieces.iter().enumerate() {
                let larger = trace.last.count().max(piece.cells.count());
                let share = f64::from(trace.last.shared(&piece.cells)) / f64::from(larger.max(1));
                if share >= SAME_CAVITY {
                    pairs.push((share, i, j));
                }
            }
        }
        pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
        let mut next: Vec<Option<usize>> = vec![None; pieces.len()];
        let mut goes_on = vec![false; self.going.len()];
        for (_, i, j) in pairs {
            if !goes_on[i] && next[j].is_none() {
                (goes_on[i], next[j]) = (true, Some(i));
            }
        }
        let mut before: Vec<Option<Trace>> =
            std::mem::take(&mut self.going).into_iter().map(Some).collect();
        for (piece, from) in pieces.iter().zip(next) {
            let old = from.and_then(|i| before[i].take());
            let mut trace = old.unwrap_or_else(|| Trace {
                first: number,
                sections: Vec::new(),
                common: piece.cells.clone(),
                last: piece.cells.clone(),
            });
            trace.common.keep(&piece.cells);
            trace.last.clone_from(&piece.cells);
            trace.sections.push(piece.section.clone());
            self.going.push(trace);
        }
        self.ended.extend(before.into_iter().flatten());
    }

    /// The next slab is like the last.
    pub fn same(&mut self, z: f64) {
        for trace in &mut self.going {
            let mut section = trace.sections[trace.sections.len() - 1].clone();
            section.z = z;
            trace.sections.push(section);
        }
    }

    /// All cavities, from low to high.
    pub fn finish(mut self) -> Vec<Trace> {
        self.ended.append(&mut self.going);
        self.ended
            .sort_by(|a, b| a.first.cmp(&b.first).then(b.common.count().cmp(&a.common.count())));
        self.ended
    }
}
