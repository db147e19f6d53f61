//! Pieces of lines into runs: each place is drawn once, and what another line covers is left
//! out.

use std::collections::{BTreeMap, HashMap};

use crate::measure::Vec2;

/// Pieces whose directions differ by less than this may lie on one line, radians.
const SAME_WAY: f64 = 1e-4;

/// Pieces no further apart than this lie on one line, mm: a tenth of what a sheet shows.
const SAME_LINE: f64 = 2e-3;

/// Pieces shorter than this are none, mm.
const LEAST: f64 = 1e-4;

/// Ends this close are one, mm.
const SAME_END: f64 = 1e-3;

/// A straight piece.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stroke {
    from: Vec2,
    to: Vec2,
}

impl Stroke {
    pub(super) fn new(from: Vec2, to: Vec2) -> Stroke {
        Stroke { from, to }
    }

    /// Its unit direction, to the right or straight up.
    fn way(&self) -> Option<Vec2> {
        let way = (self.to - self.from).try_normalize(LEAST)?;
        let turned = way.x < -SAME_WAY || (way.x <= SAME_WAY && way.y < 0.0);
        Some(if turned { -way } else { way })
    }
}

/// A line that pieces lie on: its direction and how far to the left of the origin it is.
#[derive(Clone, Copy)]
struct Carrier {
    way: Vec2,
    side: f64,
}

/// Runs of pieces, without what `over` covers.
pub(super) fn joined(strokes: &[Stroke], over: &[Stroke]) -> Vec<Vec<Vec2>> {
    let mut carriers = Carriers::default();
    let mut own: BTreeMap<usize, Vec<(f64, f64)>> = BTreeMap::new();
    let mut covered: BTreeMap<usize, Vec<(f64, f64)>> = BTreeMap::new();
    for (strokes, spans) in [(over, &mut covered), (strokes, &mut own)] {
        for stroke in strokes {
            if let Some((carrier, span)) = carriers.of(stroke) {
                spans.entry(carrier).or_default().push(span);
            }
        }
    }
    let mut pieces = Vec::new();
    for (carrier, spans) in own {
        let Carrier { way, side } = carriers.all[carrier];
        let left = Vec2::new(-way.y, way.x) * side;
        let gone = united(covered.remove(&carrier).unwrap_or_default());
        for span in united(spans) {
            for (from, to) in less(span, &gone) {
                pieces.push((way * from + left, way * to + left));
            }
        }
    }
    runs(&pieces)
}

#[derive(Default)]
struct Carriers {
    all: Vec<Carrier>,
    cells: HashMap<(i64, i64), Vec<usize>>,
}

impl Carriers {
    /// The number of the line that a piece lies on, and where on it.
    fn of(&mut self, stroke: &Stroke) -> Option<(usize, (f64, f64))> {
        let way = stroke.way()?;
        let middle = 0.5 * (stroke.from + stroke.to);
        let (angle, side) = (way.y.atan2(way.x), way.perp(&middle));
        let cell = ((angle / SAME_WAY).round() as i64, (side / SAME_LINE).round() as i64);
        let near = (-1..=1).flat_map(|i| (-1..=1).map(move |j| (cell.0 + i, cell.1 + j)));
        let fits = |&number: &usize| {
            let carrier = &self.all[number];
            let off = |p: Vec2| (carrier.way.perp(&p) - carrier.side).abs() <= SAME_LINE;
            off(stroke.from) && off(stroke.to)
        };
        let known = near.flat_map(|cell| self.cells.get(&cell).into_iter().flatten().copied());
        let number = match known.filter(fits).min() {
            Some(number) => number,
            None => {
                self.all.push(Carrier { way, side });
                self.cells.entry(cell).or_default().push(self.all.len() - 1);
                self.all.len() - 1
            }
        };
        let along = |p: Vec2| self.all[number].way.dot(&p);
        let (a, b) = (along(stroke.from), along(stroke.to));
        Some((number, (a.min(b), a.max(b))))
    }
}

/// Spans in rising order, those that meet made one.
fn united(mut spans: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut out: Vec<(f64, f64)> = Vec::new();
    for span in spans {
        match out.last_mut() {
            Some(last) if span.0 <= last.1 + LEAST => last.1 = last.1.max(span.1),
            _ => out.push(span),
        }
    }
    out
}

/// What of a span is in none of others, which are in rising order and apart.
fn less(span: (f64, f64), gone: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    let mut from = span.0;
    for &(low, high) in gone.iter().filter(|g| g.1 > span.0 && g.0 < span.1) {
        if low - from > LEAST {
            out.push((from, low));
        }
        from = from.max(high);
    }
    if span.1 - from > LEAST {
        out.push((from, span.1));
    }
    out
}

/// Pieces joined where exactly two of them meet.
fn runs(pieces: &[(Vec2, Vec2)]) -> Vec<Vec<Vec2>> {
    let mut ends = Ends::default();
    let pairs: Vec<(usize, usize)> =
        pieces.iter().map(|(a, b)| (ends.of(*a), ends.of(*b))).collect();
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); ends.points.len()];
    for (piece, &(a, b)) in pairs.iter().enumerate() {
        at[a].push(piece);
        at[b].push(piece);
    }
    let mut used = vec![false; pieces.len()];
    let mut out = Vec::new();
    // Open runs from their ends first, then what closes on itself.
    let starts = (0..pairs.len()).flat_map(|i| [(i, pairs[i].0), (i, pairs[i].1)]);
    let (open, closed): (Vec<_>, Vec<_>) = starts.partition(|&(_, end)| at[end].len() != 2);
    for (mut piece, mut end) in open.into_iter().chain(closed) {
        if used[piece] {
            continue;
        }
        let mut run = vec![ends.points[end]];
        loop {
            used[piece] = true;
            let (a, b) = pairs[piece];
            end = if end == a { b } else { a };
            run.push(ends.points[end]);
            let next = at[end].iter().copied().find(|&next| !used[next]);
            match next.filter(|_| at[end].len() == 2) {
                Some(next) => piece = next,
                None => break,
            }
        }
        out.push(run);
    }
    out
}

/// Ends of pieces, each place once.
#[derive(Default)]
struct Ends {
    points: Vec<Vec2>,
    cells: HashMap<(i64, i64), Vec<usize>>,
}

impl Ends {
    fn of(&mut self, p: Vec2) -> usize {
        let cell = ((p.x / SAME_END).round() as i64, (p.y / SAME_END).round() as i64);
        let near = (-1..=1).flat_map(|i| (-1..=1).map(move |j| (cell.0 + i, cell.1 + j)));
        let known = near.flat_map(|cell| self.cells.get(&cell).into_iter().flatten().copied());
        if let Some(number) = known.filter(|&n| (self.points[n] - p).norm() <= SAME_END).min() {
            return number;
        }
        self.points.push(p);
        self.cells.entry(cell).or_default().push(self.points.len() - 1);
        self.points.len() - 1
    }
}
