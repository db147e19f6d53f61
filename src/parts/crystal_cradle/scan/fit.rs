//! Few sections that a stone of many levels fits into.

use super::super::stone::Section;
use super::profile::Profile;
use crate::measure::Vec2;
use crate::section::snap;

/// Most sections: as many as a person may enter.
pub(super) const MOST_SECTIONS: usize = 24;

/// Sections nearer to each other than this, mm, are one.
const LEAST_STEP: f64 = 0.2;

/// Rounds in which sections are widened until all is inside: the first does it
/// but for the corners.
const ROUNDS: usize = 8;

/// Rounds in which only what is not inside, and what hides it, moves out; then
/// all does, which is sure to do.
const LOCAL_ROUNDS: usize = 6;

/// What may be outside, mm: float noise.
const NOISE: f64 = 1e-9;

/// Sections, and by how much they reach beyond the stone at most, mm.
pub(super) struct Fitted {
    pub sections: Vec<Section>,
    pub excess: f64,
}

/// Sections between which the reach runs evenly, and never within the profile.
pub(super) fn fitted(profile: &Profile, tolerance: f64) -> Fitted {
    let nodes = nodes(profile, tolerance);
    let mut reach = vec![vec![f64::NEG_INFINITY; profile.reach.len()]; nodes.len()];
    // First each direction by itself.
    for (d, row) in profile.reach.iter().enumerate() {
        for i in 1..nodes.len() {
            let (low, high) = over(&row[nodes[i - 1]..=nodes[i]], profile.step);
            reach[i - 1][d] = reach[i - 1][d].max(low);
            reach[i][d] = reach[i][d].max(high);
        }
    }
    // A side that others hide reaches less than asked.
    let count = profile.normals.len();
    for round in 0..ROUNDS {
        let corners: Vec<_> = reach.iter().map(|r| outline(&profile.normals, r)).collect();
        let own = supports(&profile.normals, &corners);
        let mut more = vec![vec![0.0f64; count]; nodes.len()];
        for (d, row) in profile.reach.iter().enumerate() {
            for i in 1..nodes.len() {
                let out = (nodes[i - 1]..=nodes[i])
                    .map(|k| row[k] - between(&nodes, i, k, own[i - 1][d], own[i][d]))
                    .fold(0.0, f64::max);
                // Those beside it hide it.
                for near in [d + count - 1, d, d + 1].map(|near| near % count) {
                    more[i - 1][near] = more[i - 1][near].max(out);
                    more[i][near] = more[i][near].max(out);
                }
            }
        }
        if more.iter().flatten().all(|m| *m <= NOISE) {
            break;
        }
        for (r, m) in reach.iter_mut().zip(&more) {
            let all = m.iter().copied().fold(0.0, f64::max);
            for (r, m) in r.iter_mut().zip(m) {
                *r += if round < LOCAL_ROUNDS { *m } else { all } + NOISE;
            }
        }
    }
    let corners: Vec<_> = reach.iter().map(|r| outline(&profile.normals, r)).collect();
    let own = supports(&profile.normals, &corners);
    let mut excess: f64 = 0.0;
    for (d, row) in profile.reach.iter().enumerate() {
        for i in 1..nodes.len() {
            for k in nodes[i - 1]..=nodes[i] {
                let at = between(&nodes, i, k, own[i - 1][d], own[i][d]);
                excess = excess.max(beyond(row, profile.step, k, at, excess));
            }
        }
    }
    let first = profile.height(0);
    let sections = nodes
        .iter()
        .zip(corners)
        .map(|(&k, c)| Section::sided(snap(profile.height(k) - first), c, profile.normals.clone()))
        .collect();
    Fitted { sections, excess }
}

/// Ends of the straight line over all values whose ends lie nearest to what is
/// under the chain of values.
fn over(values: &[f64], step: f64) -> (f64, f64) {
    let last = values.len() - 1;
    // The upper hull, from left to right.
    let mut hull: Vec<usize> = Vec::new();
    for k in 0..=last {
        while let [.., a, b] = hull[..] {
            let rise = |p: usize, q: usize| (values[q] - values[p]) / (q - p) as f64;
            if rise(a, b) > rise(b, k) {
                break;
            }
            hull.pop();
        }
        hull.push(k);
    }
    let mut best = (f64::INFINITY, (values[0], values[last]));
    for pair in hull.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let slope = (values[b] - values[a]) / (b - a) as f64;
        let at = |k: usize| values[a] + slope * (k as f64 - a as f64);
        let ends = (at(0).max(values[0]), at(last).max(values[last]));
        let off = beyond(values, step, 0, ends.0, 0.0).max(beyond(values, step, last, ends.1, 0.0));
        if off < best.0 {
            best = (off, ends);
        }
    }
    best.1
}

/// Distance, mm, of a point `at` over level `k` from what lies under the chain
/// `row`, as far as it is more than `known`.
fn beyond(row: &[f64], step: f64, k: usize, at: f64, known: f64) -> f64 {
    let mut least = at - row[k];
    let mut away = 1;
    while least > known && away as f64 * step < least {
        for j in [k.checked_sub(away), Some(k + away)].into_iter().flatten() {
            if let Some(reach) = row.get(j) {
                least = least.min((away as f64 * step).hypot((at - reach).max(0.0)));
            }
        }
        away += 1;
    }
    least
}

/// The reach at level `k` between the nodes `i - 1` and `i`.
fn between(nodes: &[usize], i: usize, k: usize, low: f64, high: f64) -> f64 {
    let t = (k - nodes[i - 1]) as f64 / (nodes[i] - nodes[i - 1]) as f64;
    low * (1.0 - t) + high * t
}

fn supports(normals: &[Vec2], outlines: &[Vec<Vec2>]) -> Vec<Vec<f64>> {
    let of = |corners: &Vec<Vec2>, n: &Vec2| {
        corners.iter().map(|p| n.dot(p)).fold(f64::NEG_INFINITY, f64::max)
    };
    outlines.iter().map(|c| normals.iter().map(|n| of(c, n)).collect()).collect()
}

/// Levels to put sections at: where the reach is furthest from even, until it is
/// nowhere by more than the tolerance.
fn nodes(profile: &Profile, tolerance: f64) -> Vec<usize> {
    let last = profile.levels() - 1;
    let mut nodes = vec![0, last];
    let apart = (LEAST_STEP / profile.step).ceil().max(1.0) as usize;
    while nodes.len() < MOST_SECTIONS {
        let mut worst = (tolerance, 0);
        for i in 1..nodes.len() {
            let (low, high) = (nodes[i - 1], nodes[i]);
            for row in &profile.reach {
                for k in low + apart..=high.saturating_sub(apart) {
                    let off = (row[k] - between(&nodes, i, k, row[low], row[high])).abs();
                    if off > worst.0 {
                        worst = (off, k);
                    }
                }
            }
        }
        if worst.1 == 0 {
            break;
        }
        let at = nodes.partition_point(|&k| k < worst.1);
        nodes.insert(at, worst.1);
    }
    nodes
}

/// Larger than any stone, mm.
const LARGE: f64 = 500.0;

/// Width that a tip keeps, mm, so that rounding does not lose it: far above the
/// float noise of [`LARGE`], far below what is printed.
const TIP: f64 = 1e-6;

/// Corners of the convex outline inside all `n . p <= reach`, counter-clockwise.
fn outline(normals: &[Vec2], reach: &[f64]) -> Vec<Vec2> {
    let mut outline: Vec<Vec2> = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        .map(|(x, y)| Vec2::new(x, y) * LARGE)
        .to_vec();
    for (n, h) in normals.iter().zip(reach) {
        let mut next = Vec::with_capacity(outline.len() + 1);
        for (j, &p) in outline.iter().enumerate() {
            let q = outline[(j + 1) % outline.len()];
            let (dp, dq) = (n.dot(&p) - h - TIP, n.dot(&q) - h - TIP);
            if dp <= 0.0 {
                next.push(p);
            }
            if (dp <= 0.0) != (dq <= 0.0) {
                next.push(p + (q - p) * (dp / (dp - dq)));
            }
        }
        outline = next;
    }
    outline
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::frame::direction;

    /// The reach of a point off the axis agrees with itself only up to rounding.
    #[test]
    fn a_tip_anywhere_has_an_outline() {
        let mut rng = fastrand::Rng::with_seed(6);
        let normals: Vec<Vec2> = (0..48).map(|k| direction(7.5 * f64::from(k))).collect();
        for _ in 0..500 {
            let tip = Vec2::new(9.0 * rng.f64() - 4.5, 9.0 * rng.f64() - 4.5);
            let reach: Vec<f64> = normals.iter().map(|n| n.dot(&tip)).collect();
            let corners = outline(&normals, &reach);
            assert!(!corners.is_empty(), "{tip}");
            assert!(corners.iter().all(|c| (c - tip).norm() < 1e-4), "{tip}: {corners:?}");
        }
    }
}
