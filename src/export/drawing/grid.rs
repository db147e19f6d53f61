//! A square grid over things in the plane, to find those near a place.

use crate::measure::Vec2;

/// Cells along the longer side.
const CELLS: f64 = 96.0;

/// Numbers of things by the cells that their boxes reach into.
#[derive(Clone, Debug)]
pub(super) struct Grid {
    low: Vec2,
    cell: f64,
    columns: usize,
    rows: usize,
    cells: Vec<Vec<u32>>,
}

impl Grid {
    /// A grid over boxes, each with its lower and upper corner, mm.
    pub(super) fn new(boxes: &[(Vec2, Vec2)]) -> Grid {
        let first = boxes.first().copied().unwrap_or((Vec2::zeros(), Vec2::zeros()));
        let (low, high) =
            boxes.iter().fold(first, |(low, high), b| (low.inf(&b.0), high.sup(&b.1)));
        let size = high - low;
        let cell = (size.max() / CELLS).max(f64::MIN_POSITIVE);
        let count = |length: f64| (length / cell) as usize + 1;
        let (columns, rows) = (count(size.x), count(size.y));
        let mut grid = Grid { low, cell, columns, rows, cells: vec![Vec::new(); columns * rows] };
        for (number, (low, high)) in boxes.iter().enumerate() {
            for at in grid.reach(*low, *high) {
                grid.cells[at].push(number as u32);
            }
        }
        grid
    }

    /// The cells that a box reaches into; those at the border also hold what is beyond it.
    fn reach(&self, low: Vec2, high: Vec2) -> Vec<usize> {
        let index = |p: f64, from: f64, count: usize| {
            (((p - from) / self.cell).max(0.0) as usize).min(count - 1)
        };
        let (left, right) =
            (index(low.x, self.low.x, self.columns), index(high.x, self.low.x, self.columns));
        let (bottom, top) =
            (index(low.y, self.low.y, self.rows), index(high.y, self.low.y, self.rows));
        let columns = self.columns;
        (bottom..=top).flat_map(|row| (left..=right).map(move |c| row * columns + c)).collect()
    }

    /// The numbers of what may lie in a box, each once, in rising order.
    pub(super) fn near(&self, low: Vec2, high: Vec2) -> Vec<u32> {
        let cells = self.reach(low, high);
        let mut found: Vec<u32> =
            cells.iter().flat_map(|&at| self.cells[at].iter().copied()).collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// The numbers of what may lie at a point.
    pub(super) fn at(&self, p: Vec2) -> &[u32] {
        self.reach(p, p).first().map_or(&[], |&at| &self.cells[at])
    }
}
