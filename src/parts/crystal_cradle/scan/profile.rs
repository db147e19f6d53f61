//! How far a stone reaches in each direction, level by level.

use crate::measure::Vec2;
use crate::mesh::Soup;

/// Float noise of a height over the distance of two levels.
const NOISE: f64 = 1e-9;

/// Levels of a grown stone lie no further apart than this, mm.
const GROWN_LEVEL: f64 = 0.05;

/// For each direction a chain of straight pieces over evenly spaced levels that
/// the stone never reaches beyond, and touches at the levels up to the roughness
/// within one.
#[derive(Clone, Debug)]
pub(super) struct Profile {
    pub normals: Vec<Vec2>,
    /// Height of the first level, mm from the stone's low end.
    pub start: f64,
    /// Distance of the levels, mm.
    pub step: f64,
    /// For each direction the reach at each level, mm.
    pub reach: Vec<Vec<f64>>,
}

impl Profile {
    /// Of a stone that begins at z = 0; none if some level shows nothing of it.
    pub fn of(stone: &Soup, normals: Vec<Vec2>, level: f64) -> Option<Profile> {
        let length = stone.bounds().1.z;
        let count = (length / level).ceil().max(1.0) as usize;
        let step = length / count as f64;
        let mut reach = vec![vec![f64::NEG_INFINITY; count + 1]; normals.len()];
        let mut meet = |k: usize, p: Vec2| {
            for (row, n) in reach.iter_mut().zip(&normals) {
                row[k] = row[k].max(n.dot(&p));
            }
        };
        for t in stone.triangles() {
            for (a, b) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                // Each edge is there once in each sense.
                if a < b {
                    let (p, q) = (stone.vertices()[a as usize], stone.vertices()[b as usize]);
                    let (p, q) = if p.z <= q.z { (p, q) } else { (q, p) };
                    let first = (p.z / step - NOISE).ceil().max(0.0) as usize;
                    let last = ((q.z / step + NOISE).floor() as usize).min(count);
                    for k in first..=last {
                        let rise = q.z - p.z;
                        let t = if rise > 0.0 { (k as f64 * step - p.z) / rise } else { 0.0 };
                        meet(k, (p + (q - p) * t.clamp(0.0, 1.0)).xy());
                        if rise <= 0.0 {
                            meet(k, q.xy());
                        }
                    }
                }
            }
        }
        if reach.iter().flatten().any(|r| !r.is_finite()) {
            return None;
        }
        // What reaches out between two levels lifts both.
        let bare = reach.clone();
        for p in stone.vertices() {
            let at = (p.z / step).clamp(0.0, count as f64);
            let k = (at as usize).min(count - 1);
            let t = at - k as f64;
            for ((row, own), n) in reach.iter_mut().zip(&bare).zip(&normals) {
                let h = n.dot(&p.xy());
                let out = h - (own[k] * (1.0 - t) + own[k + 1] * t);
                if out > 0.0 {
                    // Evenly, or on an end that is nearly flat as far as it is.
                    let even = (own[k] + out, own[k + 1] + out);
                    let flat = (own[k].max(h), own[k + 1].max(h));
                    let least = if step < out { flat } else { even };
                    row[k] = row[k].max(least.0);
                    row[k + 1] = row[k + 1].max(least.1);
                }
            }
        }
        Some(Profile { normals, start: 0.0, step, reach })
    }

    pub fn levels(&self) -> usize {
        self.reach.first().map_or(0, Vec::len)
    }

    pub fn height(&self, level: usize) -> f64 {
        self.start + self.step * level as f64
    }

    pub fn length(&self) -> f64 {
        self.step * self.levels().saturating_sub(1) as f64
    }

    /// Distance from the low end, width across, and height there, mm.
    pub fn station(&self, at: f64) -> [f64; 3] {
        let size = |n: Vec2| {
            let side = |n: Vec2| {
                let row = self.normals.iter().position(|m| (m - n).norm() < NOISE);
                let k = ((at - self.start) / self.step).round() as usize;
                row.map_or(0.0, |row| self.reach[row][k.min(self.levels() - 1)])
            };
            side(n) + side(-n)
        };
        [at, size(Vec2::x()), size(Vec2::y())]
    }

    /// The same of all that lies within `gap` mm of the stone, from `beyond` mm
    /// before it to as much after it.
    pub fn grown(&self, gap: f64, beyond: f64) -> Profile {
        let span = self.length() + 2.0 * beyond;
        let count = (span / GROWN_LEVEL).ceil().max(1.0) as usize;
        let step = span / count as f64;
        let start = self.start - beyond;
        let reach = self
            .reach
            .iter()
            .map(|row| (0..=count).map(|k| self.ball(row, start + step * k as f64, gap)).collect())
            .collect();
        Profile { normals: self.normals.clone(), start, step, reach }
    }

    /// How far a ball of radius `gap` that rolls along a chain reaches at height
    /// `z`.
    fn ball(&self, row: &[f64], z: f64, gap: f64) -> f64 {
        let last = row.len() - 2;
        let index = |z: f64| (((z - self.start) / self.step).floor().max(0.0) as usize).min(last);
        let mut most = f64::NEG_INFINITY;
        for k in index(z - gap)..=index(z + gap) {
            let (from, to) = (self.height(k), self.height(k + 1));
            let slope = (row[k + 1] - row[k]) / self.step;
            // Where a ball on the straight piece touches the line square to it.
            let best = z + gap * slope / 1f64.hypot(slope);
            let low = from.max(z - gap);
            let high = to.min(z + gap);
            if low <= high {
                let at = best.clamp(low, high);
                let rise = (gap * gap - (at - z) * (at - z)).max(0.0).sqrt();
                most = most.max(row[k] + slope * (at - from) + rise);
            }
        }
        most
    }
}
