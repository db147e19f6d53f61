//! Round holes: those of our own solids by their faces, of foreign meshes by
//! fitting.

use nalgebra::{Matrix3, Vector3};

use super::finding::{point, short};
use super::topology::NONE;
use super::{
    ALLOWANCE, Analysis, Check, CheckContext, Finding, Known, Limit, Place, Severity, cut,
};
use crate::measure::{Unit, Vec3};
use crate::solid::Surface;

pub(super) const CHECK: Check = Check {
    name: "hole",
    summary: "round holes that close or come out too small",
    upright: false,
    run,
};

/// A round hole.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Hole {
    pub(super) diameter: f64,
    /// A point of the axis, in the middle of the hole, mm.
    pub(super) at: Vec3,
    /// Unit direction of the axis.
    pub(super) axis: Vec3,
    pub(super) triangles: Vec<u32>,
}

/// Least share of the turn that walls must cover to make a hole and not a
/// rounded corner or a trough: three quarters.
const COVER: f64 = 0.75 * std::f64::consts::TAU;

/// Largest turn between facets of one wall, cosine of 32 degrees: a hole of
/// twelve facets.
const SMOOTH: f64 = 0.848;

/// Least turn that is one, cosine of 0.2 degrees: flat walls are not fitted.
const CURVED: f64 = 0.999_994;

/// Largest cosine between a fitted axis and a wall's normal.
const ASLANT: f64 = 0.02;

/// Scatter of corners about the fitted circle: mm, and share of the radius.
const SCATTER: (f64, f64) = (0.02, 0.01);

/// Facets of a fitted hole at least.
const LEAST_FACETS: usize = 8;

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let Some(limit) = Limit::of(context.printer, "hole_min") else { return Vec::new() };
    let holes = match &context.known {
        Some(known) => of_faces(context.analysis, known),
        None => fitted(context.analysis),
    };
    let shrink = context.printer.number("hole_shrink");
    let narrow = holes.into_iter().filter(|h| h.diameter < limit.value - ALLOWANCE);
    let findings = narrow.map(|hole| {
        let text = format!(
            "a hole of {} mm at {}, below {} mm: it closes, or comes out {} mm smaller and not \
             round",
            short(hole.diameter),
            point(hole.at),
            short(limit.value),
            short(shrink)
        );
        Finding::new(CHECK.name, Severity::Error, text)
            .at(Place::triangles(hole.at, hole.triangles))
            .measured(hole.diameter, Unit::Mm)
            .limit(&limit)
            .hint("draw it larger, or drill it after printing")
    });
    cut(findings.collect())
}

/// Cylinders that material lies around, by axis and radius.
fn of_faces(analysis: &Analysis, known: &Known<'_>) -> Vec<Hole> {
    let topology = analysis.topology();
    let mut of_face: Vec<Vec<u32>> = vec![Vec::new(); known.solid.faces().len()];
    for (i, &f) in known.face_of.iter().enumerate() {
        if let Some(list) = of_face.get_mut(f as usize) {
            list.push(i as u32);
        }
    }
    let mut holes: Vec<(Hole, f64)> = Vec::new();
    for (face, triangles) in known.solid.faces().iter().zip(of_face) {
        let Surface::Cylinder { origin, axis, radius, .. } = face.surface else { continue };
        if !face.flipped || triangles.is_empty() {
            continue;
        }
        // The part of the turn that a face covers is its area over radius
        // and length; both from the mesh, which is within a chord.
        let area: f64 = triangles.iter().map(|&i| topology.areas[i as usize]).sum();
        let along = triangles.iter().flat_map(|&i| analysis.soup().corners(i as usize));
        let along = along.map(|p| (p - origin).dot(&axis));
        let (low, high) =
            along.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let cover = area / (radius * (high - low)).max(f64::MIN_POSITIVE);
        let at = origin + axis * (0.5 * (low + high));
        let same = holes.iter_mut().find(|(hole, _)| {
            let d = at - hole.at;
            let aside = (d - hole.axis * d.dot(&hole.axis)).norm();
            (hole.diameter - 2.0 * radius).abs() < ALLOWANCE
                && hole.axis.cross(&axis).norm() < ASLANT
                && aside < ALLOWANCE
                && d.dot(&hole.axis).abs() < 0.5 * (high - low)
        });
        match same {
            Some((hole, covered)) => {
                hole.triangles.extend(triangles);
                *covered += cover;
            }
            None => holes.push((Hole { diameter: 2.0 * radius, at, axis, triangles }, cover)),
        }
    }
    holes.into_iter().filter(|(_, cover)| *cover >= COVER).map(|(hole, _)| hole).collect()
}

/// Smooth curved patches that fit a cylinder from inside.
pub(super) fn fitted(analysis: &Analysis) -> Vec<Hole> {
    let topology = analysis.topology();
    let turn = |i: u32, j: u32| topology.normals[i as usize].dot(&topology.normals[j as usize]);
    let curved = |i: u32| {
        let around = topology.neighbours[i as usize];
        around.iter().any(|&j| j != NONE && (SMOOTH..CURVED).contains(&turn(i, j)))
    };
    let groups = topology.groups_where(curved, |i, j| turn(i, j) >= SMOOTH);
    groups.iter().filter(|g| g.len() >= LEAST_FACETS).filter_map(|g| fit(analysis, g)).collect()
}

fn fit(analysis: &Analysis, group: &[u32]) -> Option<Hole> {
    let (soup, topology) = (analysis.soup(), analysis.topology());
    // Normals of a cylinder lie in a plane: the axis is the direction in which
    // they vary least.
    let mut spread = Matrix3::zeros();
    for &i in group {
        let n = topology.normals[i as usize];
        spread += n * n.transpose() * topology.areas[i as usize];
    }
    let eigen = spread.symmetric_eigen();
    let axis: Vec3 = eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned();
    if group.iter().any(|&i| topology.normals[i as usize].dot(&axis).abs() > ASLANT) {
        return None;
    }
    let x = axis.cross(&super::field::least_axis(axis)).normalize();
    let y = axis.cross(&x);
    let corners: Vec<Vec3> = group.iter().flat_map(|&i| soup.corners(i as usize)).collect();
    let base = corners[0];
    // Circle by linear least squares (I. Kasa, IEEE Transactions on
    // Instrumentation and Measurement 25 (1976) 8-14): u^2 + v^2 = 2au + 2bv + c.
    let (mut left, mut right) = (Matrix3::zeros(), Vector3::zeros());
    for p in &corners {
        let d = p - base;
        let row = Vector3::new(2.0 * d.dot(&x), 2.0 * d.dot(&y), 1.0);
        let square = d.dot(&x).powi(2) + d.dot(&y).powi(2);
        left += row * row.transpose();
        right += row * square;
    }
    let solution = left.lu().solve(&right)?;
    let (a, b) = (solution.x, solution.y);
    let radius = (solution.z + a * a + b * b).sqrt();
    if radius.is_nan() || radius <= 0.0 {
        return None;
    }
    let scatter = SCATTER.0.max(SCATTER.1 * radius);
    let off = |p: &Vec3| {
        let d = p - base;
        ((d.dot(&x) - a).hypot(d.dot(&y) - b) - radius).abs()
    };
    if corners.iter().any(|p| off(p) > scatter) {
        return None;
    }
    let centre = base + x * a + y * b;
    let inwards = group.iter().all(|&i| {
        let d = centre - analysis.centre(i);
        (d - axis * d.dot(&axis)).dot(&topology.normals[i as usize]) > 0.0
    });
    if !inwards || covered(group, analysis, &x, &y) < COVER {
        return None;
    }
    let along: Vec<f64> = corners.iter().map(|p| (p - centre).dot(&axis)).collect();
    let low = along.iter().copied().fold(f64::INFINITY, f64::min);
    let high = along.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let at = centre + axis * (0.5 * (low + high));
    Some(Hole { diameter: 2.0 * radius, at, axis, triangles: group.to_vec() })
}

/// The turn less the widest gap between normals, and one facet more.
fn covered(group: &[u32], analysis: &Analysis, x: &Vec3, y: &Vec3) -> f64 {
    use std::f64::consts::TAU;
    let normals = &analysis.topology().normals;
    let mut angles: Vec<f64> = group
        .iter()
        .map(|&i| normals[i as usize].dot(y).atan2(normals[i as usize].dot(x)))
        .collect();
    angles.sort_by(f64::total_cmp);
    let widest = angles.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
    let around = match (angles.first(), angles.last()) {
        (Some(first), Some(last)) => first + TAU - last,
        _ => TAU,
    };
    TAU - widest.max(around)
}
