//! At which heights a part and a chassis are cut, and how far the volume made of
//! these cuts may be off.

use crate::measure::{Vec2, Vec3};
use crate::mesh::Soup;
use crate::section::Region;
use crate::solid::Levels;
use crate::survey::NearChassis;

/// How far a volume may be off by its steps, mm3, where so many suffice: what a
/// print's own roughness makes of a square centimetre. Common practice, no source.
const WANTED: f64 = 0.2;

/// Most steps that stretches are cut into; keeps the time bounded.
const MOST_STEPS: f64 = 400.0;

/// Most flats of a chassis at which a step ends; of more, the largest.
const MOST_FLATS: usize = 400;

/// Highest flat triangle, mm, and distance of flats that are one: float noise of
/// coordinates in 32 bits.
const LEVEL: f64 = 1e-4;

/// Least area of a flat, mm2, at which a step ends; less is a leaning surface.
const LEAST_FLAT: f64 = 0.01;

/// Cells along the longer side of the part, of the grid that tells what lies
/// beside it.
const CELLS: usize = 64;

/// Heights between which one cut stands for all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Step {
    pub low: f64,
    pub high: f64,
    /// Number of the stretch between two breaks that it belongs to.
    pub stretch: usize,
    /// Whether the part's section is one in that stretch.
    pub steady: bool,
}

/// A triangle that leans, seen along z.
#[derive(Clone, Copy)]
struct Leaning {
    /// Heights of its corners, rising, mm.
    at: [f64; 3],
    /// What it covers, mm2.
    area: f64,
}

impl Leaning {
    /// What a triangle covers; none of one that stands upright or lies outside a
    /// range.
    fn of([a, b, c]: &[Vec3; 3], range: (f64, f64)) -> Option<Leaning> {
        let (p, q) = (b - a, c - a);
        let area = 0.5 * (p.x * q.y - p.y * q.x).abs();
        let mut at = [a.z, b.z, c.z];
        at.sort_by(f64::total_cmp);
        let inside = area > 0.0 && at[0] <= range.1 && range.0 <= at[2];
        inside.then_some(Leaning { at, area })
    }

    fn is_level(&self) -> bool {
        self.at[2] - self.at[0] <= LEVEL
    }

    /// What it covers with what lies below a height, mm2.
    fn below(&self, z: f64) -> f64 {
        let [low, middle, high] = self.at;
        let part = if z <= low {
            0.0
        } else if z >= high {
            1.0
        } else if z < middle {
            (z - low) * (z - low) / ((middle - low) * (high - low))
        } else {
            1.0 - (high - z) * (high - z) / ((high - middle) * (high - low))
        };
        self.area * part
    }

    /// Calls with each stretch between two heights that it reaches, and what it
    /// covers there.
    fn shares(&self, ends: &[f64], mut take: impl FnMut(usize, f64)) {
        let first = ends.partition_point(|z| *z <= self.at[0]).saturating_sub(1);
        for (k, pair) in ends.windows(2).enumerate().skip(first) {
            if pair[0] >= self.at[2] {
                break;
            }
            take(k, self.below(pair[1]) - self.below(pair[0]));
        }
    }
}

/// All steps from low to high.
#[derive(Clone, Debug)]
pub(super) struct Steps {
    steps: Vec<Step>,
    range: (f64, f64),
    bound: f64,
}

impl Steps {
    /// Steps over a range, mm: so fine that the volume is known to within
    /// [`WANTED`], if not too many are needed. `cover` is all that counts of the
    /// part, seen along z; `sways` says what may change between two heights besides
    /// what leaning triangles cover, mm2.
    pub fn new(
        part: &Levels<'_>,
        mesh: &Soup,
        near: &NearChassis,
        (range, sways): ((f64, f64), &dyn Fn(f64, f64) -> f64),
        cover: &Region,
    ) -> Steps {
        let beside = Beside::new(cover);
        let foreign = near.triangles().iter().filter(|t| !beside.has(t));
        let own = (0..mesh.triangles().len()).map(|i| mesh.corners(i));
        let mut leaning: Vec<Leaning> = own.filter_map(|t| Leaning::of(&t, range)).collect();
        // Flats of the part lie at its heights.
        leaning.retain(|l| !l.is_level());
        leaning.extend(foreign.filter_map(|t| Leaning::of(t, range)));
        // No step reaches over a height of the part: its section may change at once.
        let mut breaks = part.heights();
        breaks.extend([range.0, range.1]);
        breaks.retain(|z| range.0 <= *z && *z <= range.1);
        breaks.sort_by(f64::total_cmp);
        breaks.dedup();
        let apart = |z: &f64| breaks.iter().all(|b| (b - z).abs() > LEVEL);
        let flats: Vec<f64> = flats(&leaning).into_iter().filter(apart).collect();
        breaks.extend(flats.into_iter().filter(|z| range.0 < *z && *z < range.1));
        breaks.sort_by(f64::total_cmp);
        let mut covered = covered(&breaks, &leaning);
        for (area, ends) in covered.iter_mut().zip(breaks.windows(2)) {
            *area += sways(ends[0], ends[1]);
        }
        let weight = |k: usize| (covered[k] * (breaks[k + 1] - breaks[k])).sqrt();
        let all: f64 = (0..covered.len()).map(weight).sum();
        // Half a step's height times what it covers is least in all where steps
        // of a stretch are as many as this weight is large.
        let each = if all > 0.0 { (0.5 * all / WANTED).min(MOST_STEPS / all) } else { 0.0 };
        let mut steps = Vec::new();
        for (k, pair) in breaks.windows(2).enumerate() {
            let count = (weight(k) * each).ceil().max(1.0);
            let steady = part.is_steady(pair[0], pair[1]);
            let at = |i: f64| pair[0] + (pair[1] - pair[0]) * (i / count);
            let step =
                |i: usize| Step { low: at(i as f64), high: at(i as f64 + 1.0), stretch: k, steady };
            steps.extend((0..count as usize).map(step));
        }
        let bound = bound(&steps, &leaning);
        Steps { steps, range, bound }
    }

    /// The steps.
    pub fn all(&self) -> &[Step] {
        &self.steps
    }

    /// Lowest and highest height, mm.
    pub fn range(&self) -> (f64, f64) {
        self.range
    }

    /// How far a volume of all steps, each its height times the area in its
    /// middle, may be off, mm3.
    pub fn bound(&self) -> f64 {
        self.bound
    }
}

/// Heights at which surfaces lie level.
fn flats(leaning: &[Leaning]) -> Vec<f64> {
    let mut level: Vec<&Leaning> = leaning.iter().filter(|l| l.is_level()).collect();
    level.sort_by(|p, q| p.at[0].total_cmp(&q.at[0]));
    let mut flats: Vec<(f64, f64)> = level
        .chunk_by(|p, q| q.at[0] - p.at[0] <= LEVEL)
        .map(|one| (one[0].at[0], one.iter().map(|l| l.area).sum()))
        .filter(|(_, area)| *area >= LEAST_FLAT)
        .collect();
    flats.sort_by(|p, q| q.1.total_cmp(&p.1));
    flats.truncate(MOST_FLATS);
    flats.into_iter().map(|(z, _)| z).collect()
}

/// What is covered between each two heights, mm2.
fn covered(ends: &[f64], leaning: &[Leaning]) -> Vec<f64> {
    let mut covered = vec![0.0; ends.len().saturating_sub(1)];
    for triangle in leaning.iter().filter(|l| !l.is_level()) {
        triangle.shares(ends, |k, area| covered[k] += area);
    }
    covered
}

/// Half of each step's height times what is covered in it: an area that changes by
/// so much anywhere in a step is off from that in the middle for half of the step
/// at most. A flat makes it off from there to the nearer end of its step.
fn bound(steps: &[Step], leaning: &[Leaning]) -> f64 {
    let Some(first) = steps.first() else { return 0.0 };
    let ends: Vec<f64> = [first.low].into_iter().chain(steps.iter().map(|s| s.high)).collect();
    let lean = covered(&ends, leaning);
    let half = |s: &Step| 0.5 * (s.high - s.low);
    let of_steps: f64 = steps.iter().zip(lean).map(|(s, area)| half(s) * area).sum();
    let level = leaning.iter().filter(|l| l.is_level());
    let of_flats = level.map(|l| {
        let (low, high) = (l.at[0], l.at[2]);
        let next = ends.partition_point(|z| *z < high);
        let near = ends[next.saturating_sub(1)..].iter().take(2);
        let away = near.map(|z| (low - z).abs().max((high - z).abs()));
        l.area * away.fold(f64::INFINITY, f64::min)
    });
    of_steps + of_flats.sum::<f64>()
}

/// Cells that lie beside all that counts of a part.
struct Beside {
    low: Vec2,
    cell: f64,
    columns: usize,
    rows: usize,
    beside: Vec<bool>,
}

impl Beside {
    fn new(cover: &Region) -> Beside {
        let (low, high) = cover.bounds().unwrap_or((Vec2::zeros(), Vec2::zeros()));
        let size = high - low;
        let cell = (size.max() / CELLS as f64).max(LEVEL);
        let count = |length: f64| (length / cell).floor() as usize + 1;
        let (columns, rows) = (count(size.x), count(size.y));
        // A cell's corner is nearer to its middle than its side.
        let beside = (0..columns * rows)
            .map(|i| {
                let at = Vec2::new((i % columns) as f64 + 0.5, (i / columns) as f64 + 0.5);
                let middle = low + at * cell;
                !cover.contains(middle) && cover.boundary_distance(middle) > cell
            })
            .collect();
        Beside { low, cell, columns, rows, beside }
    }

    /// Whether a triangle lies beside all that counts.
    fn has(&self, [a, b, c]: &[Vec3; 3]) -> bool {
        let (least, most) = (a.inf(b).inf(c).xy() - self.low, a.sup(b).sup(c).xy() - self.low);
        let index = |v: f64, count: usize| {
            let at = (v / self.cell).floor();
            (at.max(0.0) as usize).min(count)
        };
        let end = |v: f64, count: usize| if v < 0.0 { 0 } else { index(v, count - 1) + 1 };
        let columns = index(least.x, self.columns)..end(most.x, self.columns);
        let rows = index(least.y, self.rows)..end(most.y, self.rows);
        rows.into_iter().all(|r| columns.clone().all(|c| self.beside[r * self.columns + c]))
    }
}
