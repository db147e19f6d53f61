//! Surfaces that face down, and what they rest on.

use std::collections::BTreeSet;
use std::f64::consts::PI;

use super::Analysis;
use super::topology::{NONE, Topology};
use crate::measure::{Vec2, Vec3};

/// Slack of an overhang's angle, degrees: facets of a cylinder at the limit.
const SLACK: f64 = 0.5;

/// From this lean on a ceiling counts as level, degrees from upright.
const LEVEL: f64 = 85.0;

/// Directions in which a bridge is tried, over half a turn.
const DIRECTIONS: u32 = 36;

/// Lines along which the span of a bridge is measured.
const LINES: u32 = 64;

/// Share of a ceiling that must rest on both ends to be a bridge: what prints
/// although a corner hangs free. Common practice, no source.
const HELD: f64 = 0.95;

/// Share of a ceiling's rim that may run on into a slope that hangs over.
const RUNS_ON: f64 = 0.1;

/// A surface that leans out too far.
#[derive(Clone, Debug, PartialEq)]
pub struct Overhang {
    /// Its triangles.
    pub triangles: Vec<u32>,
    /// Area, mm2.
    pub area: f64,
    /// Least and greatest lean from upright, degrees.
    pub lean: (f64, f64),
    /// A point of it where it leans most, mm.
    pub at: Vec3,
}

/// A level ceiling that is held at both ends of every line across it.
#[derive(Clone, Debug, PartialEq)]
pub struct Bridge {
    /// Its triangles.
    pub triangles: Vec<u32>,
    /// Longest line across, in the best direction, mm.
    pub span: f64,
    /// That direction in the layer, unit.
    pub along: Vec2,
    /// Middle of the longest line, mm.
    pub at: Vec3,
}

/// Lean of a triangle from upright in degrees: 0 for a wall, 90 for a
/// ceiling, negative for what faces up.
fn lean(topology: &Topology, triangle: u32) -> f64 {
    (-topology.normals[triangle as usize].z).clamp(-1.0, 1.0).asin().to_degrees()
}

/// Overhangs steeper than `limit` degrees and bridges, in the orientation
/// given, on a plate at the lowest point; what lies in the first layer rests
/// on the plate.
pub fn undersides(analysis: &Analysis, limit: f64, layer: f64) -> (Vec<Overhang>, Vec<Bridge>) {
    let topology = analysis.topology();
    let plate = analysis.bounds().0.z + layer;
    let count = topology.normals.len();
    let leans: Vec<f64> = (0..count as u32)
        .map(|i| {
            let top = analysis.soup().corners(i as usize).map(|p| p.z);
            let rests = top.iter().all(|z| *z <= plate);
            if rests { f64::NEG_INFINITY } else { lean(topology, i) }
        })
        .collect();
    let hangs = |i: u32| leans[i as usize] > limit + SLACK;
    let is_level = |i: u32| leans[i as usize] >= LEVEL && hangs(i);
    let mut bridges = Vec::new();
    let mut bridged = vec![false; count];
    for patch in topology.groups(is_level) {
        if let Some(bridge) = bridge(analysis, &patch, &hangs) {
            patch.iter().for_each(|&i| bridged[i as usize] = true);
            bridges.push(bridge);
        }
    }
    let groups = topology.groups(|i| hangs(i) && !bridged[i as usize]);
    let overhangs = groups.into_iter().filter_map(|triangles| {
        let lean = |i: &u32| leans[*i as usize];
        let steepest = triangles.iter().copied().max_by(|a, b| lean(a).total_cmp(&lean(b)))?;
        let least = triangles.iter().map(lean).fold(f64::INFINITY, f64::min);
        Some(Overhang {
            area: triangles.iter().map(|&i| topology.areas[i as usize]).sum(),
            lean: (least, leans[steepest as usize]),
            at: analysis.centre(steepest),
            triangles,
        })
    });
    (overhangs.collect(), bridges)
}

/// A piece of a ceiling's rim, and whether it rests on something below.
struct Rim {
    a: Vec3,
    b: Vec3,
    held: bool,
}

fn bridge(analysis: &Analysis, patch: &[u32], hangs: &dyn Fn(u32) -> bool) -> Option<Bridge> {
    let (soup, topology) = (analysis.soup(), analysis.topology());
    let members: BTreeSet<u32> = patch.iter().copied().collect();
    let mut rim = Vec::new();
    let (mut length, mut runs_on) = (0.0, 0.0);
    for &i in patch {
        let t = soup.triangles()[i as usize];
        for k in 0..3 {
            let j = topology.neighbours[i as usize][k];
            if j != NONE && members.contains(&j) {
                continue;
            }
            let [a, b] = [t[k], t[(k + 1) % 3]].map(|v| soup.vertices()[v as usize]);
            length += (b - a).norm();
            let far =
                soup.triangles().get(j as usize).and_then(|u| u.iter().find(|v| !t.contains(v)));
            let held = far.is_some_and(|v| soup.vertices()[*v as usize].z < 0.5 * (a.z + b.z));
            if j != NONE && hangs(j) {
                runs_on += (b - a).norm();
            }
            rim.push(Rim { a, b, held });
        }
    }
    if runs_on > RUNS_ON * length || !rim.iter().any(|r| r.held) {
        return None;
    }
    let mut angles: Vec<f64> =
        (0..DIRECTIONS).map(|k| PI * f64::from(k) / f64::from(DIRECTIONS)).collect();
    // Square to its longest edges a bridge is shortest.
    let mut longest: Vec<&Rim> = rim.iter().filter(|r| r.held).collect();
    longest.sort_by(|p, q| (q.b - q.a).norm().total_cmp(&(p.b - p.a).norm()));
    angles.extend(longest.iter().take(8).map(|r| (r.a.x - r.b.x).atan2(r.b.y - r.a.y)));
    let spans = angles.iter().filter_map(|angle| span(&rim, *angle));
    let (span, along, at) = spans.min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(Bridge { triangles: patch.to_vec(), span, along, at })
}

/// The longest line across the rim in a direction, if all but a corner is held
/// at both ends: its length, the direction, its middle.
fn span(rim: &[Rim], angle: f64) -> Option<(f64, Vec2, Vec3)> {
    let (sin, cos) = angle.sin_cos();
    let u = |p: &Vec3| p.x * cos + p.y * sin;
    let v = |p: &Vec3| p.y * cos - p.x * sin;
    let low = rim.iter().map(|r| v(&r.a)).fold(f64::INFINITY, f64::min);
    let high = rim.iter().map(|r| v(&r.a)).fold(f64::NEG_INFINITY, f64::max);
    let pitch = (high - low) / f64::from(LINES);
    if pitch.is_nan() || pitch <= 0.0 {
        return None;
    }
    let mut crossings: Vec<(u32, f64, f64, bool)> = Vec::new();
    for r in rim {
        let (va, vb) = (v(&r.a), v(&r.b));
        let first = ((va.min(vb) - low) / pitch - 0.5).ceil().max(0.0) as u32;
        let end = ((va.max(vb) - low) / pitch - 0.5).ceil().max(0.0) as u32;
        for line in first..end.min(LINES) {
            let t = (low + (f64::from(line) + 0.5) * pitch - va) / (vb - va);
            let p = r.a + (r.b - r.a) * t;
            crossings.push((line, u(&p), p.z, r.held));
        }
    }
    crossings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let (mut held, mut all) = (0.0, 0.0);
    let mut longest: Option<(f64, f64, f64, u32)> = None;
    for pair in crossings.chunk_by(|a, b| a.0 == b.0).flat_map(|line| line.chunks_exact(2)) {
        let length = pair[1].1 - pair[0].1;
        all += length;
        if pair[0].3 && pair[1].3 {
            held += length;
        }
        if longest.is_none_or(|l| length > l.0) {
            longest = Some((length, 0.5 * (pair[0].1 + pair[1].1), pair[0].2, pair[0].0));
        }
    }
    let (length, middle, z, line) = longest?;
    if held < HELD * all {
        return None;
    }
    let across = low + (f64::from(line) + 0.5) * pitch;
    let at = Vec3::new(middle * cos - across * sin, middle * sin + across * cos, z);
    Some((length, Vec2::new(cos, sin), at))
}
