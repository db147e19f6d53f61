//! Outlines on a grid of cells: what a body covers of the plate, seen from
//! above.

use crate::measure::Vec2;

/// Bits in a word of a row.
const WORD: usize = u64::BITS as usize;

/// Covered cells of a rectangle, row by row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Mask {
    pub width: usize,
    pub height: usize,
    words: usize,
    bits: Vec<u64>,
}

/// Neighbouring covered cells of one row: from the first up to and with the last.
pub(super) type Run = (usize, usize);

impl Mask {
    /// Nothing covered.
    pub(super) fn empty(width: usize, height: usize) -> Mask {
        let words = width.div_ceil(WORD);
        Mask { width, height, words, bits: vec![0; words * height] }
    }

    /// What triangles cover, each given by its corners (mm, none negative): every
    /// square cell of side `cell` mm that a triangle touches. So a point between
    /// covered cells is outside the body for sure.
    pub(super) fn shadow(
        triangles: impl Iterator<Item = [Vec2; 3]>,
        size: Vec2,
        cell: f64,
    ) -> Mask {
        let cells = |length: f64| (length / cell).floor() as usize + 1;
        let mut mask = Mask::empty(cells(size.x), cells(size.y));
        for corners in triangles {
            let ys = corners.map(|p| p.y);
            let low = ys.iter().copied().fold(f64::INFINITY, f64::min);
            let high = ys.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let rows = |y: f64| ((y / cell).max(0.0) as usize).min(mask.height - 1);
            for row in rows(low)..=rows(high) {
                let band = (row as f64 * cell, (row + 1) as f64 * cell);
                if let Some((left, right)) = extent(&corners, band) {
                    let column = |x: f64| ((x / cell).max(0.0) as usize).min(mask.width - 1);
                    mask.cover(row, (column(left), column(right)));
                }
            }
        }
        mask
    }

    fn row(&self, row: usize) -> &[u64] {
        &self.bits[row * self.words..(row + 1) * self.words]
    }

    /// Covers a run of cells of a row.
    pub(super) fn cover(&mut self, row: usize, (from, to): Run) {
        let base = row * self.words;
        for word in from / WORD..=to / WORD {
            let low = from.max(word * WORD) - word * WORD;
            let high = to.min(word * WORD + WORD - 1) - word * WORD;
            self.bits[base + word] |= (u64::MAX >> (WORD - 1 - (high - low))) << low;
        }
    }

    /// Covered runs of a row, from left to right.
    pub(super) fn runs(&self, row: usize) -> Vec<Run> {
        let mut runs: Vec<Run> = Vec::new();
        for (word, bits) in self.row(row).iter().enumerate() {
            let mut rest = *bits;
            while rest != 0 {
                let from = rest.trailing_zeros() as usize;
                let length = (rest >> from).trailing_ones() as usize;
                let (first, last) = (word * WORD + from, word * WORD + from + length - 1);
                match runs.last_mut() {
                    Some(run) if run.1 + 1 == first => run.1 = last,
                    _ => runs.push((first, last)),
                }
                if from + length == WORD {
                    break;
                }
                rest &= u64::MAX << (from + length);
            }
        }
        runs
    }

    /// The cells that no other body may cover if it is to keep `gap` mm away
    /// from what may lie anywhere in the covered ones. The result begins
    /// `.1` cells further left and down.
    pub(super) fn widened(&self, gap: f64, cell: f64) -> (Mask, usize) {
        // Two cells n apart hold points n - 1 cells apart.
        let reach = |across: usize| (across.max(1) - 1) as f64 * cell;
        let mut most = 0;
        while reach(most + 1) < gap {
            most += 1;
        }
        let mut wide = Mask::empty(self.width + 2 * most, self.height + 2 * most);
        for row in 0..self.height {
            let runs = self.runs(row);
            for up in 0..=2 * most {
                let across = up.abs_diff(most);
                let left = gap * gap - reach(across).powi(2);
                if left <= 0.0 {
                    continue;
                }
                let mut wing = 0;
                while wing < most && reach(wing + 1).powi(2) < left {
                    wing += 1;
                }
                for (from, to) in &runs {
                    wide.cover(row + up, (from + most - wing, to + most + wing));
                }
            }
        }
        (wide, most)
    }

    /// The mask of cells `times` as large that hold covered ones, if this one
    /// begins `before` cells left of and below a corner of the larger grid; and
    /// by how many larger cells the result does.
    pub(super) fn coarser(&self, times: usize, before: usize) -> (Mask, usize) {
        let ahead = before.div_ceil(times);
        let shift = ahead * times - before;
        let large = |fine: usize| (fine + shift) / times;
        let mut mask = Mask::empty(large(self.width - 1) + 1, large(self.height - 1) + 1);
        for row in 0..self.height {
            for (from, to) in self.runs(row) {
                mask.cover(large(row), (large(from), large(to)));
            }
        }
        (mask, ahead)
    }

    /// Covers what `other` covers when its corner lies at a cell, which may be
    /// negative; what sticks out is cut.
    pub(super) fn stamp(&mut self, other: &Mask, (x, y): (i64, i64)) {
        for row in 0..other.height {
            let at = y + row as i64;
            if at < 0 || at >= self.height as i64 {
                continue;
            }
            for (from, to) in other.runs(row) {
                let (from, to) = (x + from as i64, x + to as i64);
                if to >= 0 && from < self.width as i64 {
                    let cut = (from.max(0) as usize, (to as usize).min(self.width - 1));
                    self.cover(at as usize, cut);
                }
            }
        }
    }

    /// Leftmost place up to `most` in the given row of cells where a body of
    /// these runs a row covers nothing that is covered here. The body must lie
    /// within this mask everywhere up to `most`.
    pub(super) fn room(&self, body: &[Vec<Run>], y: usize, most: usize) -> Option<usize> {
        let mut taken = vec![0u64; self.words];
        let mut smeared = vec![0u64; self.words];
        for (row, runs) in body.iter().enumerate() {
            let covered = self.row(y + row);
            if covered.iter().all(|word| *word == 0) {
                continue;
            }
            for (from, to) in runs {
                smear(covered, &mut smeared, to - from + 1);
                shift_down(&smeared, *from, |word, bits| taken[word] |= bits);
            }
        }
        (0..=most).find(|x| taken[x / WORD] >> (x % WORD) & 1 == 0)
    }
}

/// Area that triangles cover together, mm2, by the middle rule over lines
/// `step` mm apart from y = 0 up to `depth`.
pub(super) fn covered_area(triangles: &[[Vec2; 3]], depth: f64, step: f64) -> f64 {
    let lines = (depth / step).ceil().max(1.0) as usize;
    let step = depth / lines as f64;
    let mut spans: Vec<Vec<(f64, f64)>> = vec![Vec::new(); lines];
    for corners in triangles {
        let ys = corners.map(|p| p.y);
        let low = ys.iter().copied().fold(f64::INFINITY, f64::min);
        let high = ys.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let first = (low / step - 0.5).ceil().max(0.0) as usize;
        let mut line = first;
        while line < lines && (line as f64 + 0.5) * step <= high {
            let y = (line as f64 + 0.5) * step;
            spans[line].extend(extent(corners, (y, y)));
            line += 1;
        }
    }
    let length = |spans: &mut Vec<(f64, f64)>| {
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut sum, mut reached) = (0.0, f64::NEG_INFINITY);
        for (left, right) in spans.iter() {
            sum += (right - left.max(reached)).max(0.0);
            reached = reached.max(*right);
        }
        sum
    };
    spans.iter_mut().map(length).sum::<f64>() * step
}

/// Least and greatest x of a triangle within a band of y, if it reaches there.
fn extent(corners: &[Vec2; 3], (low, high): (f64, f64)) -> Option<(f64, f64)> {
    let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut take = |x: f64| {
        left = left.min(x);
        right = right.max(x);
    };
    for k in 0..3 {
        let (a, b) = (corners[k], corners[(k + 1) % 3]);
        if (low..=high).contains(&a.y) {
            take(a.x);
        }
        for y in [low, high] {
            if (a.y - y) * (b.y - y) < 0.0 {
                take(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
            }
        }
    }
    (left <= right).then_some((left, right))
}

/// Bit x of the result: whether any of `length` bits from x on is set.
fn smear(row: &[u64], out: &mut [u64], length: usize) {
    out.copy_from_slice(row);
    let mut have = 1;
    while have < length {
        let step = have.min(length - have);
        let before: Vec<u64> = out.to_vec();
        shift_down(&before, step, |word, bits| out[word] |= bits);
        have += step;
    }
}

/// The row shifted towards its low end by `by` bits, word by word.
fn shift_down(row: &[u64], by: usize, mut give: impl FnMut(usize, u64)) {
    let (words, bits) = (by / WORD, by % WORD);
    for word in 0..row.len().saturating_sub(words) {
        let mut value = row[word + words] >> bits;
        if bits > 0
            && let Some(next) = row.get(word + words + 1)
        {
            value |= next << (WORD - bits);
        }
        give(word, value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn covered(mask: &Mask) -> usize {
        mask.bits.iter().map(|word| word.count_ones() as usize).sum()
    }

    fn at(mask: &Mask, x: usize, y: usize) -> bool {
        mask.row(y)[x / WORD] >> (x % WORD) & 1 == 1
    }

    fn random(seed: u64, width: usize, height: usize, share: f64) -> Mask {
        let mut rng = fastrand::Rng::with_seed(seed);
        let mut mask = Mask::empty(width, height);
        for y in 0..height {
            for x in 0..width {
                if rng.f64() < share {
                    mask.cover(y, (x, x));
                }
            }
        }
        mask
    }

    #[test]
    fn runs_cross_words_and_count() {
        let mut mask = Mask::empty(200, 2);
        mask.cover(1, (60, 140));
        mask.cover(1, (142, 199));
        assert_eq!(mask.runs(0), []);
        assert_eq!(mask.runs(1), [(60, 140), (142, 199)]);
        assert_eq!(covered(&mask), 81 + 58);
    }

    #[test]
    fn a_shadow_covers_every_cell_that_a_triangle_touches() {
        let corners = [Vec2::new(0.2, 0.1), Vec2::new(9.7, 2.3), Vec2::new(3.3, 7.9)];
        let size = Vec2::new(9.7, 7.9);
        let mask = Mask::shadow([corners].into_iter(), size, 0.5);
        let mut rng = fastrand::Rng::with_seed(1);
        let mut inside = 0;
        for _ in 0..20_000 {
            let (mut u, mut v) = (rng.f64(), rng.f64());
            if u + v > 1.0 {
                (u, v) = (1.0 - u, 1.0 - v);
            }
            let p = corners[0] + (corners[1] - corners[0]) * u + (corners[2] - corners[0]) * v;
            assert!(at(&mask, (p.x / 0.5) as usize, (p.y / 0.5) as usize), "{p:?}");
            inside += 1;
        }
        assert_eq!(inside, 20_000);
        // And none that is a cell away from it: area and half a cell around.
        let area = 0.5 * (corners[1] - corners[0]).perp(&(corners[2] - corners[0]));
        let flipped = [corners[1], corners[0], corners[2]];
        let measured = covered_area(&[corners, flipped, corners], 7.9, 0.05);
        assert!((measured - area).abs() < 0.01, "{measured} of {area}");
        assert!((covered(&mask) as f64) * 0.25 < area + 1.0 * 24.0, "{}", covered(&mask));
    }

    #[test]
    fn widened_cells_keep_the_gap_and_no_more_than_needed() {
        let mut mask = Mask::empty(3, 2);
        mask.cover(0, (1, 1));
        for gap in [0.0, 0.5, 1.0, 3.0] {
            let (wide, shift) = mask.widened(gap, 0.5);
            for y in 0..wide.height {
                for x in 0..wide.width {
                    let dx = (x as i64 - (1 + shift as i64)).abs();
                    let dy = (y as i64 - shift as i64).abs();
                    let near = |n: i64| (n - 1).max(0) as f64 * 0.5;
                    let closest = near(dx).hypot(near(dy));
                    assert_eq!(at(&wide, x, y), closest < gap, "gap {gap} at {dx}, {dy}");
                }
            }
        }
    }

    #[test]
    fn coarser_cells_hold_exactly_the_covered_ones() {
        for seed in 0..50 {
            let fine = random(seed, 5 + seed as usize * 3, 9, 0.1);
            let (times, before) = (1 + seed as usize % 4, seed as usize % 7);
            let (coarse, ahead) = fine.coarser(times, before);
            for y in 0..coarse.height {
                for x in 0..coarse.width {
                    let mut held =
                        (0..fine.height).flat_map(|j| (0..fine.width).map(move |i| (i, j)));
                    let wanted = held.any(|(i, j)| {
                        // In cells of the larger grid, from its corner.
                        let of = |n: usize, k: usize| {
                            (n as i64 - before as i64).div_euclid(times as i64) + ahead as i64
                                == k as i64
                        };
                        at(&fine, i, j) && of(i, x) && of(j, y)
                    });
                    assert_eq!(at(&coarse, x, y), wanted, "seed {seed} at {x}, {y}");
                }
            }
            assert!(covered(&coarse) > 0 || covered(&fine) == 0);
        }
    }

    #[test]
    fn room_is_found_as_by_trying_each_cell() {
        for seed in 0..200 {
            let mut rng = fastrand::Rng::with_seed(seed);
            let bed = random(seed, 70 + rng.usize(0..90), 12, 0.02 + 0.2 * rng.f64());
            let body = random(seed + 999, 1 + rng.usize(0..70), 1 + rng.usize(0..4), 0.5);
            let runs: Vec<Vec<Run>> = (0..body.height).map(|y| body.runs(y)).collect();
            for y in 0..bed.height {
                let clear = |x: usize| {
                    (0..body.height).all(|j| {
                        (0..body.width).all(|i| !at(&body, i, j) || !at(&bed, x + i, y + j))
                    })
                };
                let fits = y + body.height <= bed.height && body.width <= bed.width;
                if fits {
                    let most = rng.usize(0..=bed.width - body.width);
                    let wanted = (0..=most).find(|x| clear(*x));
                    assert_eq!(bed.room(&runs, y, most), wanted, "seed {seed} row {y}");
                }
            }
        }
    }

    #[test]
    fn what_sticks_out_is_cut() {
        let mut bed = Mask::empty(4, 3);
        let mut body = Mask::empty(3, 3);
        for y in 0..3 {
            body.cover(y, (0, 2));
        }
        bed.stamp(&body, (-1, -2));
        bed.stamp(&body, (3, 2));
        bed.stamp(&body, (9, 0));
        assert_eq!((bed.runs(0), bed.runs(1), bed.runs(2)), (vec![(0, 1)], vec![], vec![(3, 3)]));
    }
}
