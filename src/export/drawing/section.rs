//! What a plane parallel to the picture cuts.

use crate::measure::{Vec2, Vec3};

/// Direction in which points are counted in or out: along no edge that a part is likely to
/// have.
const COUNT: Vec2 = Vec2::new(0.842_701, 0.538_372);

/// Whether a point is taken away by a cut.
fn is_off(p: &Vec3, cut: f64) -> bool {
    p.z > cut
}

/// The point of a segment on the plane of the cut.
fn crossing(a: &Vec3, b: &Vec3, cut: f64) -> Vec3 {
    a + (b - a) * ((cut - a.z) / (b.z - a.z))
}

/// What is left of a segment.
pub(super) fn below(a: Vec3, b: Vec3, cut: Option<f64>) -> Option<(Vec3, Vec3)> {
    let Some(cut) = cut else { return Some((a, b)) };
    match (is_off(&a, cut), is_off(&b, cut)) {
        (false, false) => Some((a, b)),
        (true, true) => None,
        (true, false) => Some((crossing(&a, &b, cut), b)),
        (false, true) => Some((a, crossing(&a, &b, cut))),
    }
}

/// What is left of a triangle, as triangles.
pub(super) fn remains(triangle: [Vec3; 3], cut: Option<f64>) -> Vec<[Vec3; 3]> {
    let Some(cut) = cut else { return vec![triangle] };
    let mut corners: Vec<Vec3> = Vec::with_capacity(4);
    for (i, a) in triangle.iter().enumerate() {
        let b = &triangle[(i + 1) % 3];
        if !is_off(a, cut) {
            corners.push(*a);
        }
        if is_off(a, cut) != is_off(b, cut) {
            corners.push(crossing(a, b, cut));
        }
    }
    let fan = 1..corners.len().saturating_sub(1);
    fan.map(|i| [corners[0], corners[i], corners[i + 1]]).collect()
}

/// Where a triangle meets the plane.
pub(super) fn cut_triangle(triangle: [Vec3; 3], cut: f64) -> Option<[Vec2; 2]> {
    let mut ends = Vec::with_capacity(2);
    for (i, a) in triangle.iter().enumerate() {
        let b = &triangle[(i + 1) % 3];
        if is_off(a, cut) != is_off(b, cut) {
            ends.push(crossing(a, b, cut).xy());
        }
    }
    match ends.as_slice() {
        [a, b] if a != b => Some([*a, *b]),
        _ => None,
    }
}

/// Whether closed outlines, given as segments in any order, have a point inside.
pub(super) fn encloses(outline: &[[Vec2; 2]], p: Vec2) -> bool {
    let crossed = outline.iter().filter(|[a, b]| {
        let (u, v) = (COUNT.perp(&(a - p)), COUNT.perp(&(b - p)));
        (u < 0.0) != (v < 0.0) && COUNT.dot(&(a + (b - a) * (u / (u - v)) - p)) > 0.0
    });
    crossed.count() % 2 == 1
}

/// Hatching of closed outlines: lines at 45 degrees, `spacing` apart, inside them.
pub(super) fn hatch(outline: &[[Vec2; 2]], spacing: f64) -> Vec<[Vec2; 2]> {
    let along = Vec2::new(1.0, 1.0).normalize();
    let across = Vec2::new(-along.y, along.x);
    let height = |p: &Vec2| across.dot(p);
    let Some(range) = range_of(outline.iter().flatten().map(height)) else { return Vec::new() };
    let mut lines = Vec::new();
    let count = ((range.1 - range.0) / spacing) as usize;
    for number in 0..=count {
        let level = range.0 + (number as f64 + 0.5) * spacing;
        let mut crossings: Vec<f64> = outline
            .iter()
            .filter(|[a, b]| (height(a) < level) != (height(b) < level))
            .map(|[a, b]| {
                let share = (level - height(a)) / (height(b) - height(a));
                along.dot(&(a + (b - a) * share))
            })
            .collect();
        crossings.sort_by(f64::total_cmp);
        let at = |x: f64| along * x + across * level;
        lines.extend(crossings.chunks_exact(2).map(|pair| [at(pair[0]), at(pair[1])]));
    }
    lines
}

fn range_of(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.map(|v| (v, v)).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}
