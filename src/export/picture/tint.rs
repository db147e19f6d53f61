//! Colours by what was measured at points of a surface: every place takes the colour of
//! the nearest point.

use crate::measure::Vec3;

/// Colours of points, found by place.
#[derive(Clone, Debug)]
pub struct Tint {
    low: Vec3,
    cell: f64,
    counts: [usize; 3],
    /// Where each cell's points begin in `points`, and their end.
    starts: Vec<u32>,
    points: Vec<(Vec3, [u8; 3])>,
}

/// Most cells: memory stays small however far apart the points are.
const MOST_CELLS: f64 = 2e6;

impl Tint {
    /// The points with their colours, sRGB, about `spacing` mm apart; none without points.
    pub fn new(points: Vec<(Vec3, [u8; 3])>, spacing: f64) -> Option<Tint> {
        let first = points.first()?.0;
        let (low, high) = points.iter().fold((first, first), |(l, h), (p, _)| (l.inf(p), h.sup(p)));
        let size = high - low;
        let volume = size.iter().map(|s| s + spacing).product::<f64>();
        let cell = spacing.max((volume / MOST_CELLS).cbrt()).max(f64::EPSILON);
        let counts = [0, 1, 2].map(|k| (size[k] / cell) as usize + 1);
        let mut tint = Tint { low, cell, counts, starts: Vec::new(), points };
        let total = counts.iter().product::<usize>();
        let mut starts = vec![0u32; total + 1];
        let cells: Vec<usize> =
            tint.points.iter().map(|(p, _)| tint.number(tint.cell_of(p))).collect();
        cells.iter().for_each(|c| starts[c + 1] += 1);
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut order: Vec<usize> = (0..cells.len()).collect();
        order.sort_by_key(|&i| cells[i]);
        tint.points = order.into_iter().map(|i| tint.points[i]).collect();
        tint.starts = starts;
        Some(tint)
    }

    fn cell_of(&self, p: &Vec3) -> [usize; 3] {
        [0, 1, 2]
            .map(|k| (((p[k] - self.low[k]) / self.cell).max(0.0) as usize).min(self.counts[k] - 1))
    }

    fn number(&self, [x, y, z]: [usize; 3]) -> usize {
        (z * self.counts[1] + y) * self.counts[0] + x
    }

    /// The colour of the point next to `p`, if one lies within two cells' widths.
    pub fn at(&self, p: &Vec3) -> Option<[u8; 3]> {
        (1..=2).find_map(|ring| self.nearest(p, ring))
    }

    fn nearest(&self, p: &Vec3, ring: usize) -> Option<[u8; 3]> {
        let middle = self.cell_of(p);
        let range =
            |k: usize| middle[k].saturating_sub(ring)..=(middle[k] + ring).min(self.counts[k] - 1);
        let mut best: Option<(f64, [u8; 3])> = None;
        for z in range(2) {
            for y in range(1) {
                let row =
                    self.number([*range(0).start(), y, z])..=self.number([*range(0).end(), y, z]);
                let (from, to) = (self.starts[*row.start()], self.starts[row.end() + 1]);
                for (q, colour) in &self.points[from as usize..to as usize] {
                    let far = (p - q).norm_squared();
                    if best.is_none_or(|(least, _)| far < least) {
                        best = Some((far, *colour));
                    }
                }
            }
        }
        best.filter(|(far, _)| *far <= (2.0 * self.cell).powi(2)).map(|(_, colour)| colour)
    }
}

/// Colours of wall thickness: red to the limit, then through green to slate.
const RAMP: [[f64; 3]; 4] =
    [[163.0, 38.0, 28.0], [237.0, 184.0, 77.0], [77.0, 148.0, 143.0], [92.0, 102.0, 133.0]];

/// What thickness means in a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// The printer's least free wall, mm: where the colour turns.
    pub limit: f64,
    /// Thickness beyond which walls are not told apart, mm.
    pub cap: f64,
}

impl Scale {
    /// The colour of a thickness, mm, sRGB.
    pub fn colour(&self, thickness: f64) -> [u8; 3] {
        let half = 0.5 * (self.limit + self.cap);
        let (from, to, share) = match thickness {
            t if t < self.limit => (0, 1, t / self.limit),
            t if t < half => (1, 2, (t - self.limit) / (half - self.limit)),
            t => (2, 3, ((t - half) / (self.cap - half)).min(1.0)),
        };
        [0, 1, 2].map(|k| (RAMP[from][k] + (RAMP[to][k] - RAMP[from][k]) * share).round() as u8)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_takes_the_nearest_point() {
        let mut random = fastrand::Rng::with_seed(7);
        let mut place = || Vec3::new(20.0 * random.f64(), 9.0 * random.f64(), 3.0 * random.f64());
        let points: Vec<(Vec3, [u8; 3])> =
            (0..4000).map(|i| (place(), [i as u8, (i >> 8) as u8, 0])).collect();
        let tint = Tint::new(points.clone(), 0.8).expect("points");
        let mut found = 0;
        for _ in 0..500 {
            let p = place();
            let near = points.iter().min_by(|a, b| (a.0 - p).norm().total_cmp(&(b.0 - p).norm()));
            let near = near.expect("points");
            // A nearer one may lie in a cell that is not looked at only beyond a cell's width.
            if (near.0 - p).norm() <= 0.8 {
                assert_eq!(tint.at(&p), Some(near.1));
                found += 1;
            }
        }
        assert!(found > 400, "{found}");
        assert_eq!(tint.at(&Vec3::new(500.0, 0.0, 0.0)), None);
        assert!(Tint::new(Vec::new(), 1.0).is_none());
    }

    #[test]
    fn colours_turn_at_the_limit() {
        let scale = Scale { limit: 1.0, cap: 4.0 };
        assert_eq!(scale.colour(0.0), [163, 38, 28]);
        assert_eq!(scale.colour(1.0), [237, 184, 77]);
        assert_eq!(scale.colour(2.5), [77, 148, 143]);
        assert_eq!(scale.colour(f64::INFINITY), [92, 102, 133]);
    }
}
