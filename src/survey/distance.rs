//! Distance of every cell to the nearest one that is not free: exact, in time
//! that grows with the number of cells only.
//!
//! P. F. Felzenszwalb, D. P. Huttenlocher, Distance transforms of sampled
//! functions, Theory of Computing 8 (2012); from memory.

use super::shadow::{Cells, Grid};

/// Distances between middles of cells, in cells.
#[derive(Clone, Debug)]
pub(super) struct Distances {
    columns: usize,
    squared: Vec<f32>,
}

/// Beyond the square of any distance on a grid, in cells.
const FAR: f64 = 1e9;

impl Distances {
    /// To the nearest cell that is not in `free`; what is outside the grid does
    /// not count.
    pub fn new(grid: &Grid, free: &Cells) -> Distances {
        let (columns, rows) = (grid.columns, grid.rows);
        let mut squared = vec![0.0f32; columns * rows];
        // Along columns: the nearest above or below.
        let mut down = vec![FAR.sqrt(); columns];
        for row in 0..rows {
            for column in 0..columns {
                let here = if free.has(column, row) { down[column] + 1.0 } else { 0.0 };
                down[column] = here.min(FAR.sqrt());
                squared[row * columns + column] = down[column] as f32;
            }
        }
        down.fill(FAR.sqrt());
        for row in (0..rows).rev() {
            for column in 0..columns {
                let at = &mut squared[row * columns + column];
                down[column] = (down[column] + 1.0).min(f64::from(*at));
                *at = (down[column] * down[column]) as f32;
            }
        }
        let mut envelope = Envelope::new(columns);
        for line in squared.chunks_mut(columns) {
            // Nothing beyond a cell that is not free is nearer than it.
            let mut end = 0;
            while let Some(first) = line[end..].iter().position(|&d| d > 0.0) {
                let first = end + first;
                end = line[first..].iter().position(|&d| d == 0.0).map_or(columns, |n| first + n);
                envelope.along(&mut line[first.saturating_sub(1)..columns.min(end + 1)]);
            }
        }
        Distances { columns, squared }
    }

    /// From the middle of a cell, in cells; 0 for one that is not free.
    pub fn at(&self, column: usize, row: usize) -> f64 {
        f64::from(self.squared[row * self.columns + column]).sqrt()
    }

    /// The cell that is furthest from all that is not free, and how far.
    pub fn deepest(&self) -> (usize, usize, f64) {
        let mut best = (0, 0.0f32);
        for (i, &d) in self.squared.iter().enumerate() {
            if d > best.1 {
                best = (i, d);
            }
        }
        (best.0 % self.columns, best.0 / self.columns, f64::from(best.1).sqrt())
    }
}

/// The lower envelope of parabolas along one line.
struct Envelope {
    value: Vec<f64>,
    vertex: Vec<usize>,
    start: Vec<f64>,
}

impl Envelope {
    fn new(count: usize) -> Envelope {
        Envelope { value: vec![0.0; count], vertex: vec![0; count], start: vec![0.0; count + 1] }
    }

    fn along(&mut self, line: &mut [f32]) {
        for (v, l) in self.value.iter_mut().zip(line.iter()) {
            *v = f64::from(*l);
        }
        let f = &self.value[..line.len()];
        let mut k = 0;
        self.vertex[0] = 0;
        self.start[0] = f64::NEG_INFINITY;
        self.start[1] = f64::INFINITY;
        for q in 1..f.len() {
            let meet = |p: usize| {
                let (a, b) = (q as f64, p as f64);
                ((f[q] + a * a) - (f[p] + b * b)) / (2.0 * (a - b))
            };
            let mut s = meet(self.vertex[k]);
            while k > 0 && s <= self.start[k] {
                k -= 1;
                s = meet(self.vertex[k]);
            }
            if s > self.start[k] {
                k += 1;
            }
            self.vertex[k] = q;
            self.start[k] = s;
            self.start[k + 1] = f64::INFINITY;
        }
        k = 0;
        for (q, out) in line.iter_mut().enumerate() {
            while self.start[k + 1] < q as f64 {
                k += 1;
            }
            let p = self.vertex[k];
            let d = q as f64 - p as f64;
            *out = (d * d + f[p]) as f32;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Vec2;

    #[test]
    fn distances_are_those_of_every_pair() {
        let grid = Grid { low: Vec2::zeros(), cell: 1.0, columns: 37, rows: 23 };
        let mut rng = fastrand::Rng::with_seed(7);
        for share in [0.001, 0.02, 0.3, 0.9] {
            let mut free = Cells::new(&grid);
            let mut blocked = Vec::new();
            for row in 0..grid.rows {
                for column in 0..grid.columns {
                    if rng.f64() < share || (row, column) == (5, 9) {
                        blocked.push((column as f64, row as f64));
                    } else {
                        free.set(column, row);
                    }
                }
            }
            let found = Distances::new(&grid, &free);
            for row in 0..grid.rows {
                for column in 0..grid.columns {
                    let to = |&(x, y): &(f64, f64)| (x - column as f64).hypot(y - row as f64);
                    let least = blocked.iter().map(to).fold(f64::INFINITY, f64::min);
                    assert!((found.at(column, row) - least).abs() < 1e-3);
                }
            }
        }
    }
}
