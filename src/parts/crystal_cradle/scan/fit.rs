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

/// What may be outside, mm: float noise.
const NOISE: f64 = 1e-9;

/// Sides shorter than this, mm, are left out of a section, which makes it
/// larger.
const LEAST_SIDE: f64 = 0.03;

/// Sections, and by how much they reach beyond the stone at most, mm.
pub(super) struct Fitted {
    pub sections: Vec<Section>,
    pub excess: f64,
}

/// Sections between which the reach runs evenly, and never within the profile.
pub(super) fn fitted(profile: &Profile, tolerance: f64) -> Fitted {
    let nodes = nodes(profile, tolerance);
    let mut reach: Vec<Vec<f64>> =
        nodes.iter().map(|&k| profile.reach.iter().map(|row| row[k]).collect()).collect();
    // First each direction by itself.
    let mut lift = vec![vec![0.0f64; profile.reach.len()]; nodes.len()];
    for (d, row) in profile.reach.iter().enumerate() {
        for i in 1..nodes.len() {
            let out = (nodes[i - 1]..=nodes[i])
                .map(|k| row[k] - between(&nodes, i, k, reach[i - 1][d], reach[i][d]))
                .fold(0.0, f64::max);
            lift[i - 1][d] = lift[i - 1][d].max(out);
            lift[i][d] = lift[i][d].max(out);
        }
    }
    for (r, l) in reach.iter_mut().flatten().zip(lift.iter().flatten()) {
        *r += l;
    }
    // A side that others hide reaches less than asked: then all move out.
    let mut corners: Vec<Vec<Vec2>> = Vec::new();
    for _ in 0..ROUNDS {
        corners = reach.iter().map(|r| outline(&profile.normals, r)).collect();
        let own = supports(&profile.normals, &corners);
        let mut more = vec![0.0f64; nodes.len()];
        for (d, row) in profile.reach.iter().enumerate() {
            for i in 1..nodes.len() {
                let out = (nodes[i - 1]..=nodes[i])
                    .map(|k| row[k] - between(&nodes, i, k, own[i - 1][d], own[i][d]))
                    .fold(0.0, f64::max);
                more[i - 1] = more[i - 1].max(out);
                more[i] = more[i].max(out);
            }
        }
        if more.iter().all(|m| *m <= NOISE) {
            break;
        }
        for (r, m) in reach.iter_mut().zip(&more) {
            r.iter_mut().for_each(|r| *r += m + NOISE);
        }
    }
    let own = supports(&profile.normals, &corners);
    let mut excess: f64 = 0.0;
    for (d, row) in profile.reach.iter().enumerate() {
        for i in 1..nodes.len() {
            for k in nodes[i - 1]..=nodes[i] {
                excess = excess.max(between(&nodes, i, k, own[i - 1][d], own[i][d]) - row[k]);
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

/// Corners of the convex outline inside all `n . p <= reach`, counter-clockwise.
/// The normals run counter-clockwise, too.
fn outline(normals: &[Vec2], reach: &[f64]) -> Vec<Vec2> {
    let mut sides: Vec<(Vec2, f64)> = normals.iter().copied().zip(reach.iter().copied()).collect();
    loop {
        let (corners, lengths) = clipped(&sides);
        // The shortest side goes; with few left, all stay.
        let short = lengths
            .iter()
            .enumerate()
            .filter(|(_, l)| **l < LEAST_SIDE)
            .min_by(|a, b| a.1.total_cmp(b.1));
        match short {
            Some((i, _)) if sides.len() > LEAST_SIDES => {
                sides.remove(i);
            }
            _ => return corners,
        }
    }
}

/// Sides that a section keeps, however short.
const LEAST_SIDES: usize = 8;

/// Larger than any stone, mm.
const LARGE: f64 = 500.0;

/// Corners of the outline inside all sides, and the length of each side.
fn clipped(sides: &[(Vec2, f64)]) -> (Vec<Vec2>, Vec<f64>) {
    // Each corner carries the side that starts there.
    let mut outline: Vec<(Vec2, usize)> = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        .map(|(x, y)| (Vec2::new(x, y) * LARGE, usize::MAX))
        .to_vec();
    for (i, (n, h)) in sides.iter().enumerate() {
        let mut next = Vec::with_capacity(outline.len() + 1);
        for (j, &(p, own)) in outline.iter().enumerate() {
            let (q, _) = outline[(j + 1) % outline.len()];
            let (dp, dq) = (n.dot(&p) - h, n.dot(&q) - h);
            if dp <= 0.0 {
                next.push((p, own));
            }
            if (dp <= 0.0) != (dq <= 0.0) {
                let cut = p + (q - p) * (dp / (dp - dq));
                next.push((cut, if dp <= 0.0 { i } else { own }));
            }
        }
        outline = next;
    }
    let mut lengths = vec![0.0; sides.len()];
    for (j, &(p, side)) in outline.iter().enumerate() {
        let q = outline[(j + 1) % outline.len()].0;
        if let Some(length) = lengths.get_mut(side) {
            *length = (q - p).norm();
        }
    }
    (outline.into_iter().map(|(p, _)| p).collect(), lengths)
}
