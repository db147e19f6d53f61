//! Searches the order and the places of pieces in a row, exactly.
//!
//! Between two fixed pieces (or ends of the row) lie free pieces in some order.
//! For a given order the cost is linear in their places but for the balance,
//! which is one absolute value: so in a best arrangement each free piece
//! touches, through others, one end of its stretch, but for at most one block
//! of touching pieces that stands where the balance is met. All orders and all
//! such arrangements are looked at; a stretch that overflows ends a branch.

/// A piece in the row. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its length.
    pub length: f64,
    /// Where its low end is, if it may not move.
    pub fixed: Option<f64>,
    /// Its mass, g, and how far its centre lies from its low end.
    pub mass: (f64, f64),
}

/// A bundle of wires between two pieces, by number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tie {
    /// One piece.
    pub from: usize,
    /// The other.
    pub to: usize,
    /// How many wires.
    pub wires: i64,
}

/// What is to be arranged, and what counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The pieces.
    pub pieces: Vec<Piece>,
    /// Wires between them.
    pub ties: Vec<Tie>,
    /// Low and high end of the room.
    pub room: (f64, f64),
    /// Least free length between two pieces.
    pub gap: f64,
    /// A piece that must be the last one, if any.
    pub last: Option<usize>,
    /// Where the centre of mass is wanted, and the cost of each mm off it.
    pub balance: (f64, f64),
}

/// Places for all pieces.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrangement {
    /// The low end of each piece.
    pub at: Vec<f64>,
    /// Its cost, mm of wire.
    pub cost: f64,
}

/// Nothing fits: the stretch that is shortest of room in the least bad sharing.
#[derive(Clone, Debug, PartialEq)]
pub struct Shortfall {
    /// The free length between the neighbours of the stretch, gaps taken off.
    pub free: f64,
    /// What its pieces and the gaps between them need.
    pub needed: f64,
    /// Its pieces by number.
    pub pieces: Vec<usize>,
    /// The fixed pieces before and behind it; none for an end of the row.
    pub between: (Option<usize>, Option<usize>),
}

/// Most free pieces that are put in order.
pub const MOST_FREE: usize = 8;

/// Sums of lengths carry less noise than this, mm.
const EXACT: f64 = 1e-9;

/// A free length between two fixed pieces or ends.
#[derive(Clone, Debug)]
struct Stretch {
    low: f64,
    high: f64,
    between: (Option<usize>, Option<usize>),
}

impl Row {
    /// Cost of places: mm of wire, and the weighted distance of the centre of
    /// mass from where it is wanted.
    pub fn cost(&self, at: &[f64]) -> f64 {
        let wire: f64 = self.ties.iter().map(|t| t.wires as f64 * self.apart(at, t)).sum();
        wire + self.balance.1 * (self.centre(at) - self.balance.0).abs()
    }

    /// Free length between the pieces of a tie.
    pub fn apart(&self, at: &[f64], tie: &Tie) -> f64 {
        let (a, b) = (tie.from, tie.to);
        let ends = |i: usize| (at[i], at[i] + self.pieces[i].length);
        let ((a_low, a_high), (b_low, b_high)) = (ends(a), ends(b));
        (b_low - a_high).max(a_low - b_high).max(0.0)
    }

    /// Centre of mass along the row.
    pub fn centre(&self, at: &[f64]) -> f64 {
        let total: f64 = self.pieces.iter().map(|p| p.mass.0).sum();
        if total <= 0.0 {
            return self.balance.0;
        }
        let moments = self.pieces.iter().zip(at).map(|(p, z)| p.mass.0 * (z + p.mass.1));
        moments.sum::<f64>() / total
    }

    fn free(&self) -> Vec<usize> {
        (0..self.pieces.len()).filter(|&i| self.pieces[i].fixed.is_none()).collect()
    }

    /// The stretches between fixed pieces, in order; gaps are taken off.
    fn stretches(&self) -> Vec<Stretch> {
        let mut fixed: Vec<usize> =
            (0..self.pieces.len()).filter(|&i| self.pieces[i].fixed.is_some()).collect();
        let low = |i: usize| self.pieces[i].fixed.unwrap_or(0.0);
        fixed.sort_by(|&i, &j| low(i).total_cmp(&low(j)).then(i.cmp(&j)));
        let mut out = Vec::new();
        let (mut start, mut before) = (self.room.0, None);
        for i in fixed {
            let between = (before, Some(i));
            out.push(Stretch { low: start, high: low(i) - self.gap, between });
            start = low(i) + self.pieces[i].length + self.gap;
            before = Some(i);
        }
        out.push(Stretch { low: start, high: self.room.1, between: (before, None) });
        out
    }

    /// The best arrangement.
    ///
    /// # Errors
    /// The [`Shortfall`] of the sharing that lacks least, if nothing fits.
    pub fn arrange(&self) -> Result<Arrangement, Shortfall> {
        let stretches = self.stretches();
        let mut search = Search { row: self, stretches, best: None, least: None };
        let mut shares = vec![Vec::new(); search.stretches.len()];
        search.share(0, self.free(), &mut shares);
        match (search.best, search.least) {
            (Some(best), _) => Ok(best),
            (None, Some((_, shortfall))) => Err(shortfall),
            (None, None) => Err(Shortfall {
                free: 0.0,
                needed: 0.0,
                pieces: Vec::new(),
                between: (None, self.last),
            }),
        }
    }

    /// Length of pieces in a row with their gaps.
    fn length(&self, pieces: &[usize]) -> f64 {
        let gaps = pieces.len().saturating_sub(1) as f64 * self.gap;
        pieces.iter().map(|&i| self.pieces[i].length).sum::<f64>() + gaps
    }
}

struct Search<'a> {
    row: &'a Row,
    stretches: Vec<Stretch>,
    best: Option<Arrangement>,
    /// Of sharings that do not fit, the one that lacks least.
    least: Option<(f64, Shortfall)>,
}

impl Search<'_> {
    /// Gives each stretch from number `k` on some of the pieces left.
    fn share(&mut self, k: usize, left: Vec<usize>, shares: &mut Vec<Vec<usize>>) {
        if k + 1 == self.stretches.len() {
            shares[k] = left;
            self.shared(shares);
            shares[k].clear();
            return;
        }
        for mask in 0..1usize << left.len() {
            let chosen = |n: usize| mask >> n & 1 == 1;
            let pick = |wanted: bool| -> Vec<usize> {
                let all = left.iter().enumerate();
                all.filter(|(n, _)| chosen(*n) == wanted).map(|(_, &i)| i).collect()
            };
            shares[k] = pick(true);
            self.share(k + 1, pick(false), shares);
            shares[k].clear();
        }
    }

    /// Looks at all orders of one sharing, if it fits.
    fn shared(&mut self, shares: &[Vec<usize>]) {
        if let Some(last) = self.row.last.filter(|&i| self.row.pieces[i].fixed.is_none())
            && !shares.last().is_some_and(|s| s.contains(&last))
        {
            return;
        }
        let lacks = |(s, pieces): (&Stretch, &Vec<usize>)| {
            let needed = self.row.length(pieces);
            // Nothing needs no room, even where fixed pieces are close.
            if pieces.is_empty() { 0.0 } else { (needed - (s.high - s.low)).max(0.0) }
        };
        let lack: Vec<f64> = self.stretches.iter().zip(shares).map(lacks).collect();
        let total: f64 = lack.iter().sum();
        if total <= EXACT {
            let mut order = shares.to_vec();
            self.orders(0, 0, &mut order);
            return;
        }
        if self.least.as_ref().is_none_or(|(least, _)| total < *least) {
            let worst = (0..lack.len()).max_by(|&i, &j| lack[i].total_cmp(&lack[j])).unwrap_or(0);
            let s = &self.stretches[worst];
            let shortfall = Shortfall {
                free: (s.high - s.low).max(0.0),
                needed: self.row.length(&shares[worst]),
                pieces: shares[worst].clone(),
                between: s.between,
            };
            self.least = Some((total, shortfall));
        }
    }

    /// All orders of the stretches from number `k` on, from place `n` there.
    fn orders(&mut self, k: usize, n: usize, order: &mut Vec<Vec<usize>>) {
        if k == order.len() {
            if self.row.last.is_none_or(|i| self.ends_with(i, order)) {
                self.packings(order);
            }
            return;
        }
        if n >= order[k].len() {
            self.orders(k + 1, 0, order);
            return;
        }
        for i in n..order[k].len() {
            order[k].swap(n, i);
            self.orders(k, n + 1, order);
            order[k].swap(n, i);
        }
    }

    fn ends_with(&self, piece: usize, order: &[Vec<usize>]) -> bool {
        let tail = order.last().and_then(|o| o.last());
        tail == Some(&piece) || (tail.is_none() && self.row.pieces[piece].fixed.is_some())
    }

    /// All packings of one order: each stretch is split into what lies at its
    /// low and at its high end; then one block of touching pieces floats.
    fn packings(&mut self, order: &[Vec<usize>]) {
        let count: usize = order.iter().map(|o| o.len() + 1).product();
        for code in 0..count {
            let mut rest = code;
            let mut splits = Vec::with_capacity(order.len());
            for pieces in order {
                splits.push(rest % (pieces.len() + 1));
                rest /= pieces.len() + 1;
            }
            let at = self.packed(order, &splits);
            for (k, pieces) in order.iter().enumerate() {
                for (from, to) in blocks(splits[k], pieces.len()) {
                    self.floated(order, &splits, (k, from, to), &at);
                }
            }
            self.judge(at);
        }
    }

    fn packed(&self, order: &[Vec<usize>], splits: &[usize]) -> Vec<f64> {
        let mut at: Vec<f64> = self.row.pieces.iter().map(|p| p.fixed.unwrap_or(0.0)).collect();
        for ((stretch, pieces), &split) in self.stretches.iter().zip(order).zip(splits) {
            let mut z = stretch.low;
            for &i in &pieces[..split] {
                at[i] = z;
                z += self.row.pieces[i].length + self.row.gap;
            }
            let mut z = stretch.high;
            for &i in pieces[split..].iter().rev() {
                z -= self.row.pieces[i].length;
                at[i] = z;
                z -= self.row.gap;
            }
        }
        at
    }

    /// The same with the block `from..to` of stretch `k`, which touches
    /// neither end, where it meets the balance as nearly as it can.
    fn floated(
        &mut self,
        order: &[Vec<usize>],
        splits: &[usize],
        (k, from, to): (usize, usize, usize),
        at: &[f64],
    ) {
        let row = self.row;
        let block = &order[k][from..to];
        let total: f64 = row.pieces.iter().map(|p| p.mass.0).sum();
        let own: f64 = block.iter().map(|&i| row.pieces[i].mass.0).sum();
        if own <= 0.0 {
            return;
        }
        // The whole block touches the low side of its room first.
        let mut splits = splits.to_vec();
        splits[k] = to;
        let mut moved = self.packed(order, &splits);
        for &i in &order[k][to..] {
            moved[i] = at[i];
        }
        let above = match order[k].get(to) {
            Some(&next) => moved[next] - row.gap,
            None => self.stretches[k].high,
        };
        let last = block[block.len() - 1];
        let most = above - moved[last] - row.pieces[last].length;
        let by = (row.balance.0 - row.centre(&moved)) * total / own;
        let by = by.clamp(0.0, most.max(0.0));
        for &i in block {
            moved[i] += by;
        }
        self.judge(moved);
    }

    fn judge(&mut self, at: Vec<f64>) {
        let cost = self.row.cost(&at);
        // Of equals the first is kept, so that the outcome does not change.
        if self.best.as_ref().is_none_or(|best| cost < best.cost - EXACT) {
            self.best = Some(Arrangement { at, cost });
        }
    }
}

/// Blocks of touching pieces that can float about a split of `count` pieces:
/// the end of what lies low, or the start of what lies high, or both.
fn blocks(split: usize, count: usize) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    for to in split + 1..=count {
        out.push((split, to));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use fastrand::Rng;

    fn random(rng: &mut Rng) -> Row {
        let count = 1 + rng.usize(0..4);
        let mut next = rng.i64(0..6) as f64;
        let pieces: Vec<Piece> = (0..count)
            .map(|_| {
                let length = rng.i64(1..=5) as f64;
                let fixed = (rng.u8(0..3) == 0).then(|| {
                    let at = next + rng.i64(0..4) as f64;
                    next = at + length + 1.0;
                    at
                });
                let mass = rng.i64(0..=4) as f64;
                Piece { length, fixed, mass: (mass, length * 0.5) }
            })
            .collect();
        let tie = |rng: &mut Rng| Tie {
            from: rng.usize(0..count),
            to: rng.usize(0..count),
            wires: rng.i64(1..=3),
        };
        let ties = (0..rng.usize(0..4)).map(|_| tie(rng)).collect();
        let length = 12.0 + rng.i64(0..10) as f64;
        Row {
            pieces,
            ties,
            room: (0.0, length),
            gap: rng.i64(0..=1) as f64,
            last: None,
            balance: (0.5 * length, rng.i64(0..=4) as f64),
        }
    }

    /// The least cost on a grid of `step` mm, by trying all places.
    fn brute(row: &Row, step: f64, i: usize, at: &mut Vec<f64>, best: &mut Option<f64>) {
        if i == row.pieces.len() {
            let cost = row.cost(at);
            if best.is_none_or(|b| cost < b) {
                *best = Some(cost);
            }
            return;
        }
        let (piece, room) = (&row.pieces[i], row.room);
        let places = match piece.fixed {
            Some(z) => vec![z],
            None => {
                let count = ((room.1 - room.0 - piece.length) / step + EXACT).floor();
                (0..=count.max(-1.0) as i64).map(|n| room.0 + n as f64 * step).collect()
            }
        };
        for z in places {
            let both_fixed = |j: usize| piece.fixed.is_some() && row.pieces[j].fixed.is_some();
            let clear = |j: usize| {
                let (low, high) = (at[j], at[j] + row.pieces[j].length);
                z + piece.length + row.gap <= low + EXACT || high + row.gap <= z + EXACT
            };
            if (0..i).all(|j| both_fixed(j) || clear(j)) {
                at.push(z);
                brute(row, step, i + 1, at, best);
                at.pop();
            }
        }
    }

    #[test]
    fn no_place_on_a_grid_is_better_and_what_is_found_fits() {
        let mut rng = Rng::with_seed(12);
        let (mut found, mut none) = (0, 0);
        for case in 0..400 {
            let row = random(&mut rng);
            let mut best = None;
            brute(&row, 1.0, 0, &mut Vec::new(), &mut best);
            let Ok(arrangement) = row.arrange() else {
                assert_eq!(best, None, "case {case}: {row:?}");
                none += 1;
                continue;
            };
            found += 1;
            let at = &arrangement.at;
            assert!((row.cost(at) - arrangement.cost).abs() < 1e-9, "case {case}");
            let best = best.unwrap_or_else(|| panic!("case {case}: nothing fits {row:?}"));
            assert!(arrangement.cost <= best + 1e-9, "case {case}: {row:?} {at:?} {best}");
            for i in 0..at.len() {
                let free = row.pieces[i].fixed.is_none();
                let (low, high) = (at[i], at[i] + row.pieces[i].length);
                let inside = low >= row.room.0 - 1e-9 && high <= row.room.1 + 1e-9;
                assert!(!free || inside, "case {case}");
                for j in 0..i {
                    let other = (at[j], at[j] + row.pieces[j].length);
                    let clear = high + row.gap <= other.0 + 1e-9 || other.1 + row.gap <= low + 1e-9;
                    assert!(
                        clear || !free && row.pieces[j].fixed.is_some(),
                        "case {case}: {row:?} {at:?}"
                    );
                }
            }
        }
        assert!(found > 200 && none > 20, "{found} found, {none} without room");
    }

    #[test]
    fn the_balance_is_met_where_nothing_hinders() {
        let piece = |mass: f64| Piece { length: 10.0, fixed: None, mass: (mass, 5.0) };
        let row = Row {
            pieces: vec![piece(1.0), piece(3.0)],
            ties: vec![Tie { from: 0, to: 1, wires: 2 }],
            room: (0.0, 100.0),
            gap: 4.0,
            last: Some(1),
            balance: (60.0, 1.0),
        };
        let found = row.arrange().expect("there is room");
        // Side by side, 4 apart, and the centre where it is wanted.
        assert!((found.cost - 8.0).abs() < 1e-9, "{found:?}");
        assert!((found.at[1] - found.at[0] - 14.0).abs() < 1e-9);
        assert!((row.centre(&found.at) - 60.0).abs() < 1e-9);
    }

    #[test]
    fn what_does_not_fit_says_by_how_much() {
        let piece = |length, fixed| Piece { length, fixed, mass: (1.0, 0.5 * length) };
        let row = Row {
            pieces: vec![piece(30.0, Some(50.0)), piece(60.0, None), piece(20.0, None)],
            ties: Vec::new(),
            room: (0.0, 100.0),
            gap: 2.0,
            last: None,
            balance: (50.0, 1.0),
        };
        let short = row.arrange().expect_err("60 mm are nowhere free");
        assert_eq!((short.free, short.needed, short.pieces), (48.0, 60.0, vec![1]));
        assert_eq!(short.between, (None, Some(0)));
    }
}
