//! Columns in the layers: pieces of a layer that are narrow both ways, one
//! over the other, that touch nothing else on their way up.

use super::layers::overlaps;
use crate::measure::Vec3;
use crate::mesh::{Run, SlicePlan};

/// What is wider than this in its narrowest direction, mm, is too stiff to
/// sway. Common practice, no source.
const THIN: f64 = 5.0;

/// What is more than this times as wide one way as the other is a wall, not a
/// column: as pins are told from walls.
const WALL: f64 = 3.5;

/// Columns below this times their width are not kept, nor more than so many.
const LEAST_RATIO: f64 = 4.0;
const MOST: usize = 200;

/// Material that stands alone between two heights.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// Its middle, mm.
    pub at: Vec3,
    /// Where it leaves what holds it, and where it ends or is tied, mm.
    pub heights: (f64, f64),
    /// Its width in its narrowest direction, the mean over its height, mm.
    pub width: f64,
}

impl Column {
    /// Height over width.
    pub fn ratio(&self) -> f64 {
        (self.heights.1 - self.heights.0) / self.width
    }
}

/// Collects columns, layer by layer.
#[derive(Default)]
pub(super) struct Columns {
    growing: Vec<Growing>,
    /// For each run of the layer below, the column that it belongs to.
    below: Vec<Option<usize>>,
    done: Vec<Column>,
}

#[derive(Clone, Copy)]
struct Growing {
    foot: Vec3,
    top: Vec3,
    /// Width of the topmost piece, mm.
    width: f64,
    /// Width times height below that, mm2.
    side: f64,
    /// Height from which the topmost piece counts, mm.
    since: f64,
}

impl Growing {
    fn up_to(mut self, z: f64) -> Growing {
        self.side += self.width * (z - self.since);
        self.since = z;
        self
    }
}

impl Columns {
    /// A layer from height `z` on that is not like the one below. `pieces` has
    /// for each run the first run of its piece.
    pub(super) fn layer(
        &mut self,
        z: f64,
        plan: &SlicePlan,
        runs: &[Run],
        pieces: &[u32],
        below: &[Run],
    ) {
        // What lies below each piece: the columns, and whether all are.
        let mut stands = vec![(true, None::<usize>); runs.len()];
        overlaps(runs, below, 0, plan.spacing, |i, j| {
            let (only, column) = &mut stands[pieces[i] as usize];
            match self.below[j] {
                None => *only = false,
                Some(c) => {
                    let lower = |d: usize| self.growing[d].foot.z <= self.growing[c].foot.z;
                    *column = Some(column.filter(|d| lower(*d)).unwrap_or(c));
                }
            }
        });
        let mut kept = vec![false; self.growing.len()];
        let mut next: Vec<Growing> = Vec::new();
        let mut of_piece = vec![None; runs.len()];
        for (root, spread) in spreads(plan, runs, pieces) {
            let Some((width, middle)) = spread.column(z) else { continue };
            let (only, below) = stands[root];
            let old = below.filter(|&c| only && !std::mem::replace(&mut kept[c], true));
            let grown = old
                .map_or(Growing { foot: middle, top: middle, width, side: 0.0, since: z }, |c| {
                    Growing { top: middle, width, ..self.growing[c].up_to(z) }
                });
            of_piece[root] = Some(next.len());
            next.push(grown);
        }
        for (column, kept) in std::mem::replace(&mut self.growing, next).into_iter().zip(kept) {
            if !kept {
                self.end(column, z);
            }
        }
        self.below = pieces.iter().map(|root| of_piece[*root as usize]).collect();
    }

    fn end(&mut self, column: Growing, z: f64) {
        let (from, side) = (column.foot.z, column.up_to(z).side);
        let width = side / (z - from);
        let middle = (column.foot + column.top) * 0.5;
        let at = Vec3::new(middle.x, middle.y, 0.5 * (from + z));
        let column = Column { at, heights: (from, z), width };
        if column.ratio() >= LEAST_RATIO && self.done.len() < MOST {
            self.done.push(column);
        }
    }

    /// All columns, those at the top of the print at `z` included; the most
    /// slender first.
    pub(super) fn finish(mut self, z: f64) -> Vec<Column> {
        for column in std::mem::take(&mut self.growing) {
            self.end(column, z);
        }
        self.done.sort_by(|a, b| b.ratio().total_cmp(&a.ratio()));
        self.done
    }
}

/// How far a piece reaches along x, y and both diagonals: least and most.
#[derive(Clone, Copy)]
struct Spread([(f64, f64); 4]);

impl Spread {
    const NONE: Spread = Spread([(f64::INFINITY, f64::NEG_INFINITY); 4]);

    fn add(&mut self, x: f64, y: f64) {
        let half = std::f64::consts::FRAC_1_SQRT_2;
        for (reach, v) in self.0.iter_mut().zip([x, y, (x + y) * half, (x - y) * half]) {
            *reach = (reach.0.min(v), reach.1.max(v));
        }
    }

    /// Its width and middle, if it is narrow both ways.
    fn column(&self, z: f64) -> Option<(f64, Vec3)> {
        let widths = self.0.map(|(low, high)| high - low);
        let least = widths.into_iter().fold(f64::INFINITY, f64::min);
        let most = widths.into_iter().fold(0.0, f64::max);
        let middle = |k: usize| 0.5 * (self.0[k].0 + self.0[k].1);
        (least <= THIN && most <= WALL * least).then(|| (least, Vec3::new(middle(0), middle(1), z)))
    }
}

/// Each piece by its first run, in the order of runs.
fn spreads(plan: &SlicePlan, runs: &[Run], pieces: &[u32]) -> Vec<(usize, Spread)> {
    let mut out: Vec<(usize, Spread)> = Vec::new();
    let mut of_root = vec![None; runs.len()];
    for (run, &root) in runs.iter().zip(pieces) {
        let i = *of_root[root as usize].get_or_insert_with(|| {
            out.push((root as usize, Spread::NONE));
            out.len() - 1
        });
        let y = plan.y(run.line);
        for (x, y) in
            [run.from, run.to].iter().flat_map(|x| [-0.5, 0.5].map(|h| (*x, y + h * plan.spacing)))
        {
            out[i].1.add(x, y);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_is_narrow_both_ways_and_stands_in_its_middle() {
        let over = |width: f64, depth: f64| {
            let mut spread = Spread::NONE;
            for (x, y) in [(0.0, 0.0), (width, 0.0), (0.0, depth), (width, depth)] {
                spread.add(10.0 + x, y - 20.0);
            }
            spread.column(7.0)
        };
        assert_eq!(over(2.0, 3.0), Some((2.0, Vec3::new(11.0, -18.5, 7.0))));
        assert_eq!(over(2.0, 3.0 * WALL), None, "a wall");
        assert_eq!(over(THIN + 0.1, THIN + 0.1), None, "too stiff");
        let square = over(THIN, THIN).expect("it just sways");
        assert_eq!(square.0, THIN);
    }
}
