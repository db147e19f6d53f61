//! Cutting a mesh at many heights into runs of material along lines.
//!
//! Each layer is cut at its middle height and scanned along x at lines of
//! equal spacing in y, as a printer's own slicer sees it up to that spacing.
//! Material is where boundaries wind positively, so overlapping shells add up.

use super::read::Soup;
use crate::measure::{Vec2, Vec3};

/// Most lines in all layers together; past it, lines lie further apart and
/// layers are skipped. Keeps the time of large parts at small layers bounded.
const MAX_LINES: f64 = 2e5;

/// Most crossings of boundary and lines, with most cuts of triangles: at all,
/// and for each triangle. Parts stay below a tenth of it; past it slicing is
/// given up.
const MAX_CROSSINGS: (usize, usize) = (5_000_000, 100);

/// Most layers that are cut.
const MAX_LAYERS: f64 = 10_000.0;

/// At which heights and lines a mesh is cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlicePlan {
    /// Height of the lower side of the first layer, mm.
    pub bottom: f64,
    /// Height of a layer, mm: at least what was asked for.
    pub layer: f64,
    /// Number of layers.
    pub layers: u32,
    /// y of the first line, mm.
    pub first_line: f64,
    /// Distance of the lines, mm.
    pub spacing: f64,
    /// Number of lines.
    pub lines: u32,
}

impl SlicePlan {
    /// For a mesh within `bounds`, at layers and lines of about the given
    /// distances, mm; none if there is nothing to cut or it is beyond measure.
    pub fn new(bounds: (Vec3, Vec3), layer: f64, spacing: f64) -> Option<SlicePlan> {
        let (low, high) = bounds;
        let size = high - low;
        if !(size.iter().all(|s| s.is_finite()) && size.z > 0.0 && layer > 0.0 && spacing > 0.0) {
            return None;
        }
        let layer = layer.max(size.z / MAX_LAYERS);
        let layers = (size.z / layer).ceil().max(1.0);
        let most = (MAX_LINES / layers).max(1.0);
        let lines = (size.y / spacing).ceil().clamp(1.0, most);
        let spacing = (size.y / lines).max(f64::MIN_POSITIVE);
        Some(SlicePlan {
            bottom: low.z,
            layer,
            layers: layers as u32,
            first_line: low.y + 0.5 * spacing,
            spacing,
            lines: lines as u32,
        })
    }

    /// Height at which layer `k` is cut, mm.
    pub fn height(&self, k: u32) -> f64 {
        self.bottom + (f64::from(k) + 0.5) * self.layer
    }

    /// y of a line, mm.
    pub fn y(&self, line: u32) -> f64 {
        self.first_line + f64::from(line) * self.spacing
    }
}

/// Material along one line of one layer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    /// The line.
    pub line: u32,
    /// x where material begins, mm.
    pub from: f64,
    /// x where it ends, mm.
    pub to: f64,
}

/// The boundary at height `z` as directed pieces with the material to the
/// left. A corner at just that height counts as below it, so that pieces meet.
pub fn cut_at(soup: &Soup, z: f64) -> Vec<[Vec2; 2]> {
    (0..soup.triangles().len()).filter_map(|i| piece(&soup.corners(i), z)).collect()
}

/// What one triangle gives of [`cut_at`].
pub(crate) fn piece(corners: &[Vec3; 3], z: f64) -> Option<[Vec2; 2]> {
    let above = corners.map(|p| p.z > z);
    let lone = match above {
        [true, false, false] | [false, true, true] => 0,
        [false, true, false] | [true, false, true] => 1,
        [false, false, true] | [true, true, false] => 2,
        _ => return None,
    };
    let p = corners[lone];
    let meet = |q: Vec3| {
        // From below to above for both triangles at an edge: the same
        // rounding, so that their pieces meet.
        let (low, high) = if above[lone] { (q, p) } else { (p, q) };
        let t = (z - low.z) / (high.z - low.z);
        Vec2::new(low.x + (high.x - low.x) * t, low.y + (high.y - low.y) * t)
    };
    let (a, b) = (meet(corners[(lone + 1) % 3]), meet(corners[(lone + 2) % 3]));
    Some(if above[lone] { [a, b] } else { [b, a] })
}

/// Cuts the mesh and hands over the runs of each layer, sorted by line and x,
/// from the lowest layer to the highest; the flag says that they are those of
/// the layer below, since only upright walls lie between. False if it was
/// given up because the boundary crosses itself too often.
pub fn slice(soup: &Soup, plan: &SlicePlan, mut visit: impl FnMut(u32, &[Run], bool)) -> bool {
    let spans: Vec<(f64, f64)> = (0..soup.triangles().len())
        .map(|i| {
            let [a, b, c] = soup.corners(i);
            (a.z.min(b.z).min(c.z), a.z.max(b.z).max(c.z))
        })
        .collect();
    let mut order: Vec<u32> = (0..spans.len() as u32).collect();
    order.sort_unstable_by(|&a, &b| {
        spans[a as usize].0.total_cmp(&spans[b as usize].0).then(a.cmp(&b))
    });
    let mut coming = order.into_iter().peekable();
    let mut active: Vec<u32> = Vec::new();
    let mut crossings: Vec<(u32, f64, i32)> = Vec::new();
    let mut runs: Vec<Run> = Vec::new();
    let most = MAX_CROSSINGS.0.max(MAX_CROSSINGS.1.saturating_mul(spans.len()));
    let mut spent = 0;
    for k in 0..plan.layers {
        let z = plan.height(k);
        let before = active.len();
        active.retain(|&i| spans[i as usize].1 > z);
        let mut same = k > 0 && active.len() == before;
        while let Some(&i) = coming.peek().filter(|&&i| spans[i as usize].0 <= z) {
            coming.next();
            if spans[i as usize].1 > z {
                active.push(i);
                same = false;
            }
        }
        if same && active.iter().all(|&i| is_upright(&soup.corners(i as usize))) {
            visit(k, &runs, true);
            continue;
        }
        crossings.clear();
        for &i in &active {
            if let Some([a, b]) = piece(&soup.corners(i as usize), z) {
                cross_lines(plan, a, b, &mut crossings);
            }
        }
        spent += active.len() + crossings.len();
        if spent > most {
            return false;
        }
        crossings
            .sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(b.2.cmp(&a.2)));
        runs.clear();
        let (mut winding, mut from) = (0, 0.0);
        let mut line = u32::MAX;
        for &(at, x, step) in &crossings {
            if at != line {
                (line, winding) = (at, 0);
            }
            let before = winding;
            winding += step;
            if before <= 0 && winding > 0 {
                from = x;
            } else if before > 0 && winding <= 0 && x > from {
                match runs.last_mut() {
                    Some(last) if last.line == line && last.to >= from => last.to = x,
                    _ => runs.push(Run { line, from, to: x }),
                }
            }
        }
        visit(k, &runs, false);
    }
    true
}

/// Whether a triangle stands upright, up to rounding.
fn is_upright([a, b, c]: &[Vec3; 3]) -> bool {
    let normal = (b - a).cross(&(c - a));
    normal.z.abs() <= UPRIGHT * (normal.x.abs() + normal.y.abs())
}

/// Lean of upright walls: float noise of coordinates in 32 bits.
const UPRIGHT: f64 = 1e-7;

/// Where a piece crosses the lines: line, x, and +1 where material begins on
/// the way along x.
fn cross_lines(plan: &SlicePlan, a: Vec2, b: Vec2, out: &mut Vec<(u32, f64, i32)>) {
    let (low, high) = (a.y.min(b.y), a.y.max(b.y));
    // A line at just the height of an end belongs to the upper piece.
    let first = ((low - plan.first_line) / plan.spacing).ceil().max(0.0);
    let end = ((high - plan.first_line) / plan.spacing).ceil().min(f64::from(plan.lines));
    if first >= end {
        return;
    }
    let slope = (b.x - a.x) / (b.y - a.y);
    let step = if b.y < a.y { 1 } else { -1 };
    for line in first as u32..end as u32 {
        out.push((line, a.x + (plan.y(line) - a.y) * slope, step));
    }
}
