//! How much two sections have in common, measured without an outline of it.
//!
//! A sweep in x: between two neighbouring corners or crossings all pieces keep
//! their order, so that what lies in both is a row of trapezoids. The pieces
//! need not join, nor come in an order: thousands from a cut through a foreign
//! mesh are as good as those of a region. Material is where pieces wind
//! positively, so overlapping shells add up.

use super::Seg;
use crate::measure::Vec2;
use crate::measure::frame::clocking;

/// How far a chord that stands for an arc lies off it at most, mm: a fiftieth of
/// the usual chord of a mesh.
const OFF_ARC: f64 = 2e-4;

/// Stretches narrower than this, mm, hold nothing: float noise of corners.
const NARROW: f64 = 1e-11;

/// Crossings by less than this, mm, are none: pieces that lie on each other up to
/// float noise.
const CROSSES: f64 = 1e-10;

/// A straight piece over a stretch of x.
#[derive(Clone, Copy, Debug)]
struct Line {
    x: [f64; 2],
    y: [f64; 2],
    /// +1 if the material lies above it, -1 if below.
    step: i32,
}

impl Line {
    fn y_at(&self, x: f64) -> f64 {
        if x <= self.x[0] {
            self.y[0]
        } else if x >= self.x[1] {
            self.y[1]
        } else {
            self.y[0] + (self.y[1] - self.y[0]) * ((x - self.x[0]) / (self.x[1] - self.x[0]))
        }
    }
}

/// A section as straight pieces, ready to be compared.
#[derive(Clone, Debug, Default)]
pub(crate) struct Pieces {
    /// By their low end.
    lines: Vec<Line>,
    bounds: Option<(Vec2, Vec2)>,
    /// Between which corners chords stand for an arc, and the area between, mm2.
    off: Vec<(Vec2, Vec2, f64)>,
}

impl Pieces {
    /// Directed pieces with the material to the left; arcs as chords.
    pub fn of(segs: impl IntoIterator<Item = Seg>) -> Pieces {
        let mut out = Pieces::default();
        for seg in segs {
            let Some(arc) = seg.arc else {
                out.push(seg.a, seg.b);
                continue;
            };
            let step = 2.0 * (1.0 - (OFF_ARC / arc.radius).min(1.0)).acos();
            let count = (seg.sweep() / step).ceil().max(1.0);
            let mut from = seg.a;
            for k in 1..=count as usize {
                let to = if k as f64 == count { seg.b } else { seg.at(k as f64 / count) };
                out.push(from, to);
                from = to;
            }
            let (low, high) = seg.bounds();
            let turn = seg.sweep() / count;
            let sliver = 0.5 * arc.radius * arc.radius * (turn - turn.sin());
            out.off.push((low, high, count * sliver));
        }
        out.sorted()
    }

    /// The same from pairs of ends.
    pub fn between(ends: impl IntoIterator<Item = [Vec2; 2]>) -> Pieces {
        let mut out = Pieces::default();
        ends.into_iter().for_each(|[a, b]| out.push(a, b));
        out.sorted()
    }

    /// Area that chords between two corners may have taken away or added, mm2.
    pub fn off_between(&self, (low, high): (Vec2, Vec2)) -> f64 {
        let meets =
            |(l, h, _): &&(Vec2, Vec2, f64)| (0..2).all(|k| l[k] <= high[k] && low[k] <= h[k]);
        self.off.iter().filter(meets).map(|(_, _, area)| area).sum()
    }

    /// The same of all of them, mm2.
    pub fn off(&self) -> f64 {
        self.off.iter().map(|(_, _, area)| area).sum()
    }

    fn push(&mut self, a: Vec2, b: Vec2) {
        let (low, high) = self.bounds.unwrap_or((a, a));
        self.bounds = Some((low.inf(&a).inf(&b), high.sup(&a).sup(&b)));
        if a.x < b.x {
            self.lines.push(Line { x: [a.x, b.x], y: [a.y, b.y], step: 1 });
        } else if b.x < a.x {
            self.lines.push(Line { x: [b.x, a.x], y: [b.y, a.y], step: -1 });
        }
    }

    fn sorted(mut self) -> Pieces {
        self.lines.sort_by(|p, q| p.x[0].total_cmp(&q.x[0]));
        self
    }
}

/// What of the first section counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Reach {
    /// The section where it is.
    Own,
    /// All that it passes on its way from far up +y to where it is.
    FromAbove,
}

/// What is asked of two sections.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Asked {
    /// What of the first counts.
    pub reach: Reach,
    /// Whether clockings are wanted, which take half the time.
    pub around: bool,
}

/// Gap, degrees, below which what goes around is said to go all around.
const ALL_AROUND: usize = 10;

/// Which clockings something has, to the degree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Clockings([bool; 360]);

impl Default for Clockings {
    fn default() -> Clockings {
        Clockings([false; 360])
    }
}

impl Clockings {
    fn all() -> Clockings {
        Clockings([true; 360])
    }

    /// Marks all from one to another, the shorter way round.
    fn span(&mut self, from: f64, to: f64) {
        let (from, to) =
            if (to - from).rem_euclid(360.0) <= 180.0 { (from, to) } else { (to, from) };
        let sweep = (to - from).rem_euclid(360.0);
        let first = from.floor() as usize;
        let count = (from.fract() + sweep).floor() as usize;
        (first..=first + count).for_each(|k| self.0[k % 360] = true);
    }

    /// Takes in those of another.
    pub fn join(&mut self, other: &Clockings) {
        self.0.iter_mut().zip(other.0).for_each(|(own, more)| *own |= more);
    }

    /// The shortest arc that holds all: from, to, counter-clockwise, degrees;
    /// none if they go all around, but for less than [`ALL_AROUND`].
    pub fn arc(&self) -> Option<(f64, f64)> {
        // The longest run of clockings that are not there.
        let mut longest = (0, 0);
        for start in (0..360).filter(|&k| !self.0[k] && self.0[(k + 359) % 360]) {
            let length = (0..360).take_while(|i| !self.0[(start + i) % 360]).count();
            if length > longest.1 {
                longest = (start, length);
            }
        }
        let (start, length) = longest;
        (length >= ALL_AROUND).then_some(((start + length) as f64 % 360.0, start as f64))
    }
}

/// What two sections have in common.
#[derive(Clone, Debug, Default)]
pub(crate) struct Common {
    /// Area, mm2.
    pub area: f64,
    /// Area times its middle.
    pub moment: Vec2,
    /// Lower left and upper right corner, mm; none if there is nothing.
    pub bounds: Option<(Vec2, Vec2)>,
    /// Where it is seen from the bore's axis, if that was asked.
    pub around: Option<Clockings>,
}

impl Common {
    /// A trapezoid from `x.0` to `x.1`, whose lower and upper side go from
    /// their first to their second height.
    fn take(&mut self, x: (f64, f64), lower: [f64; 2], upper: [f64; 2]) {
        let middle = 0.5 * (upper[0] + upper[1] - lower[0] - lower[1]);
        let area = middle * (x.1 - x.0);
        if area <= 0.0 {
            return;
        }
        self.area += area;
        let corners = [
            Vec2::new(x.0, lower[0]),
            Vec2::new(x.1, lower[1]),
            Vec2::new(x.0, upper[0]),
            Vec2::new(x.1, upper[1]),
        ];
        let centre = 0.25 * (corners[0] + corners[1] + corners[2] + corners[3]);
        self.moment += area * centre;
        let (low, high) = self.bounds.unwrap_or((centre, centre));
        self.bounds =
            Some(corners.iter().fold((low, high), |(low, high), c| (low.inf(c), high.sup(c))));
        if let Some(around) = &mut self.around {
            around.mark(&corners, centre);
        }
    }
}

impl Clockings {
    /// Takes in a trapezoid: its lower corners, then its upper.
    fn mark(&mut self, corners: &[Vec2; 4], centre: Vec2) {
        let (from, to) = (corners[0].x, corners[1].x);
        let on_axis = from <= 0.0
            && 0.0 <= to
            && corners[0].y.min(corners[1].y) <= 0.0
            && 0.0 <= corners[2].y.max(corners[3].y);
        if on_axis {
            *self = Clockings::all();
            return;
        }
        let middle = clocking(centre);
        corners.iter().for_each(|c| self.span(middle, clocking(*c)));
    }
}

/// Sections that are swept together.
const LAYERS: usize = 3;

/// A piece in a stretch, with its heights at both ends.
#[derive(Clone, Copy)]
struct Here {
    y: [f64; 2],
    layer: usize,
    step: i32,
}

/// What `second` has in common with `first`, as far as `asked` says, outside `less`.
/// Of `second`, pieces above all of the others may be missing.
pub(crate) fn common(first: &Pieces, second: &Pieces, less: &Pieces, asked: Asked) -> Common {
    let Asked { reach, around } = asked;
    let mut out = Common { around: around.then(Clockings::default), ..Common::default() };
    let (Some(a), Some(b)) = (first.bounds, second.bounds) else { return out };
    let (low, high) = (a.0.x.max(b.0.x), a.1.x.min(b.1.x));
    if low >= high || (reach == Reach::Own && b.0.y >= a.1.y) {
        return out;
    }
    let layers = [&first.lines, &second.lines, &less.lines];
    let mut stops: Vec<f64> = layers
        .iter()
        .flat_map(|lines| lines.iter().flat_map(|l| l.x))
        .filter(|x| low <= *x && *x <= high)
        .collect();
    stops.extend([low, high]);
    stops.sort_by(f64::total_cmp);
    stops.dedup_by(|b, a| *b - *a <= NARROW);
    let mut next = [0; LAYERS];
    let mut active: [Vec<Line>; LAYERS] = Default::default();
    let mut here: Vec<Here> = Vec::new();
    for pair in stops.windows(2) {
        let middle = 0.5 * (pair[0] + pair[1]);
        for k in 0..LAYERS {
            active[k].retain(|l| l.x[1] > middle);
            while let Some(line) = layers[k].get(next[k]).filter(|l| l.x[0] < middle) {
                next[k] += 1;
                if line.x[1] > middle {
                    active[k].push(*line);
                }
            }
        }
        if active[0].is_empty() || active[1].is_empty() {
            continue;
        }
        here.clear();
        for (layer, lines) in active.iter().enumerate() {
            here.extend(lines.iter().map(|l| Here {
                y: [l.y_at(pair[0]), l.y_at(pair[1])],
                layer,
                step: l.step,
            }));
        }
        stretch((pair[0], pair[1]), &mut here, reach, &mut out);
    }
    out
}

/// Adds up what lies between two stops, in pieces between which nothing crosses.
fn stretch(x: (f64, f64), here: &mut [Here], reach: Reach, out: &mut Common) {
    sort(here);
    if in_order(here) {
        row(x, here, reach, out);
        return;
    }
    let mut shares = vec![0.0, 1.0];
    for (i, p) in here.iter().enumerate() {
        for q in &here[i + 1..] {
            let (d0, d1) = (p.y[0] - q.y[0], p.y[1] - q.y[1]);
            if d0 * d1 < 0.0 && d0.abs().min(d1.abs()) > CROSSES {
                shares.push(d0 / (d0 - d1));
            }
        }
    }
    shares.sort_by(f64::total_cmp);
    for share in shares.windows(2) {
        let at = |t: f64| x.0 + (x.1 - x.0) * t;
        let cut = |h: &Here| {
            let y = |t: f64| h.y[0] + (h.y[1] - h.y[0]) * t;
            Here { y: [y(share[0]), y(share[1])], ..*h }
        };
        let mut part: Vec<Here> = here.iter().map(cut).collect();
        sort(&mut part);
        row((at(share[0]), at(share[1])), &part, reach, out);
    }
}

/// From low to high, by the middle of the stretch.
fn sort(here: &mut [Here]) {
    here.sort_unstable_by(|p, q| {
        (p.y[0] + p.y[1])
            .total_cmp(&(q.y[0] + q.y[1]))
            .then(p.layer.cmp(&q.layer))
            .then(q.step.cmp(&p.step))
    });
}

fn in_order(here: &[Here]) -> bool {
    here.windows(2).all(|w| (0..2).all(|k| w[0].y[k] <= w[1].y[k] + CROSSES))
}

fn row(x: (f64, f64), here: &[Here], reach: Reach, out: &mut Common) {
    let mut wound = [0; LAYERS];
    let mut passed = false;
    for pair in here.windows(2) {
        wound[pair[0].layer] += pair[0].step;
        passed |= wound[0] > 0;
        let counts = if reach == Reach::Own { wound[0] > 0 } else { passed };
        if counts && wound[1] > 0 && wound[2] <= 0 {
            out.take(x, pair[0].y, pair[1].y);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::section::Region;

    fn pieces(region: &Region) -> Pieces {
        Pieces::of(region.segs())
    }

    fn random(rng: &mut fastrand::Rng) -> Region {
        let mut out = Region::empty();
        for _ in 0..1 + rng.usize(0..4) {
            let mut at = || Vec2::new(20.0 * rng.f64() - 10.0, 20.0 * rng.f64() - 10.0);
            let (p, q, r) = (at(), at(), at());
            let shape = match rng.u8(0..3) {
                0 => Region::disc(p, 0.5 + 6.0 * rng.f64()),
                1 => Region::rectangle(p, q),
                _ => Region::polygon(&[p, q, r]),
            };
            out = if rng.u8(0..4) == 0 { out.difference(&shape) } else { out.union(&shape) };
        }
        out
    }

    /// Area that the chords of a section may have changed at all.
    fn off(pieces: &Pieces) -> f64 {
        pieces.bounds.map_or(0.0, |all| pieces.off_between(all))
    }

    fn both(first: &Pieces, second: &Pieces, reach: Reach) -> Common {
        common(first, second, &Pieces::default(), Asked { reach, around: true })
    }

    #[test]
    fn area_and_box_are_those_of_the_boolean() {
        let mut rng = fastrand::Rng::with_seed(11);
        let mut met = 0;
        for case in 0..400 {
            let (a, b) = (random(&mut rng), random(&mut rng));
            let wanted = a.intersection(&b);
            let (p, q) = (pieces(&a), pieces(&b));
            let found = both(&p, &q, Reach::Own);
            let by = off(&p) + off(&q) + 1e-9;
            let wrong = (found.area - wanted.area()).abs();
            assert!(wrong <= by, "case {case}: {} {}", found.area, wanted.area());
            let Some((low, high)) = wanted.bounds() else { continue };
            met += 1;
            let (l, h) = found.bounds.expect("something in common");
            assert!((l - low).norm() < 0.05 && (h - high).norm() < 0.05, "case {case}");
            let centre = found.moment / found.area;
            let less = random(&mut rng);
            let rest = wanted.difference(&less).area();
            let found = common(&p, &q, &pieces(&less), Asked { reach: Reach::Own, around: false });
            assert!((found.area - rest).abs() <= 0.1, "case {case}: {} {rest}", found.area);
            assert!((0..2).all(|k| low[k] - 1e-3 <= centre[k] && centre[k] <= high[k] + 1e-3));
        }
        assert!(met > 200, "{met}");
    }

    #[test]
    fn what_chords_take_away_is_known() {
        for radius in [0.5, 3.0, 20.0] {
            let disc = Region::disc(Vec2::new(1.0, -2.0), radius);
            let chords = pieces(&disc);
            let lost = disc.area() - both(&chords, &chords, Reach::Own).area;
            assert!(lost > 0.0 && (off(&chords) - lost).abs() < 1e-9, "{radius}: {lost}");
            // Arcs that a box does not meet took nothing away in it.
            let beside = |x: f64, y: f64| {
                let low = Vec2::new(1.0 + x, y - 2.0);
                chords.off_between((low, low + Vec2::new(radius, radius)))
            };
            assert!((beside(-0.5 * radius, 0.5 * radius) - 0.5 * lost).abs() < 1e-9);
            assert_eq!(beside(1.5 * radius, 0.0) + beside(0.0, -2.5 * radius), 0.0);
        }
    }

    #[test]
    fn what_comes_from_above_passes_all_above_it() {
        let mut rng = fastrand::Rng::with_seed(12);
        for case in 0..200 {
            let (a, b) = (random(&mut rng), random(&mut rng));
            let wanted = a.swept(Vec2::new(0.0, 60.0)).intersection(&b).area();
            let (p, q) = (pieces(&a), pieces(&b));
            let found = both(&p, &q, Reach::FromAbove).area;
            // Beside the widest point of a chord, the way up is as narrow as it.
            let by = 40.0 * OFF_ARC * 16.0 + off(&p) + off(&q) + 1e-9;
            assert!((found - wanted).abs() <= by, "case {case}: {found} {wanted}");
        }
    }

    #[test]
    fn shells_that_overlap_count_once_and_faces_on_each_other_nothing() {
        let square = |x: f64| Region::rectangle(Vec2::new(x, 0.0), Vec2::new(x + 4.0, 4.0)).segs();
        let two = Pieces::of(square(0.0).into_iter().chain(square(1.0)));
        let one = Pieces::of(square(0.0));
        assert!((both(&two, &one, Reach::Own).area - 16.0).abs() < 1e-9);
        assert!((both(&one, &two, Reach::Own).area - 16.0).abs() < 1e-9);
        assert_eq!(both(&one, &Pieces::of(square(4.0)), Reach::Own).area, 0.0);
    }

    #[test]
    fn clockings_are_the_shortest_arc_around_all() {
        let around = |low: (f64, f64), high: (f64, f64)| {
            let block = Region::rectangle(Vec2::new(low.0, low.1), Vec2::new(high.0, high.1));
            let all = Region::rectangle(Vec2::new(-30.0, -30.0), Vec2::new(30.0, 30.0));
            both(&pieces(&block), &pieces(&all), Reach::Own).around.and_then(|a| a.arc())
        };
        // Towards the switches, from 26.6 degrees on one side to the other.
        assert_eq!(around((-5.0, 10.0), (5.0, 20.0)), Some((333.0, 27.0)));
        assert_eq!(around((-20.0, -2.0), (-10.0, 2.0)), Some((78.0, 102.0)));
        assert_eq!(around((-1.0, -1.0), (1.0, 1.0)), None);
    }
}
