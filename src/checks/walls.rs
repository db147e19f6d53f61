//! Walls that are too thin.

use super::field::{Field, Sample, Side};
use super::finding::{point, short};
use super::union::Union;
use super::walk::{Stand, Walker};
use super::{ALLOWANCE, Analysis, Check, CheckContext, Finding, Limit, Place, Severity, cut};
use crate::measure::{Unit, Values};

pub(super) const CHECK: Check = Check {
    name: "wall",
    summary: "walls, pins and raised marks thinner than they hold",
    upright: false,
    run,
};

/// Most patches that are told; more would be one sheet that is wrong all over, or noise.
const MOST_FOUND: usize = 24;

/// Thickness up to which walls are measured, mm: beyond the limits, so that a
/// heat map shows what is near them.
pub fn wall_cap(printer: &Values) -> f64 {
    let (free, pin) = (printer.number("wall_free"), printer.number("pin_min"));
    (4.0 * free).max(1.5 * pin).max(4.0)
}

/// Wall thickness in numbers, for reports.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct WallSummary {
    /// Least thickness, mm; none if nowhere below the cap.
    pub least: Option<f64>,
    /// Where, mm.
    pub at: Option<[f64; 3]>,
    /// Thickness beyond which walls are not told apart, mm.
    pub cap: f64,
    /// Limit of the shares, mm: the least free-standing wall.
    pub limit: f64,
    /// Share of the surface with less, 0 to 1.
    pub share_below: f64,
    /// Share of the surface by thickness: equal steps from 0 to the cap, and
    /// last all beyond.
    pub histogram: Vec<f64>,
}

/// Bins of the histogram.
const BINS: usize = 20;

/// The numbers for one body.
pub fn wall_summary(analysis: &Analysis, printer: &Values) -> WallSummary {
    let (cap, limit) = (wall_cap(printer), printer.number("wall_free"));
    let field = analysis.walls(cap);
    let least = field.least();
    let bins = field.histogram(BINS);
    let all: f64 = bins.iter().sum();
    WallSummary {
        least: least.map(|s| s.value),
        at: least.map(|s| s.at.into()),
        cap,
        limit,
        share_below: field.share_below(limit),
        histogram: bins.iter().map(|b| if all > 0.0 { b / all } else { 0.0 }).collect(),
    }
}

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let analysis = context.analysis;
    let cap = wall_cap(context.printer);
    let field = analysis.walls(cap);
    if field.given_up {
        let text = "wall thickness is not measured: the facets lie in each other everywhere";
        return vec![Finding::new(CHECK.name, Severity::Warning, text).hint("mend the mesh first")];
    }
    let limit_of = |stand| {
        let key = match stand {
            Stand::Supported => "wall_supported",
            Stand::Free => "wall_free",
            Stand::Pin => "pin_min",
            Stand::Mark => "emboss_width",
        };
        Limit::of(context.printer, key)
    };
    let least = |stand| limit_of(stand).map_or(0.0, |l| l.value);
    let thin = least(Stand::Free).max(least(Stand::Supported)) - ALLOWANCE;
    let walker = Walker::new(analysis, Side::Inside, cap);
    let mut findings = Vec::new();
    for patch in patches(analysis, field, thin) {
        if findings.len() == MOST_FOUND {
            break;
        }
        let sample = patch.thinnest;
        let stand = walker.stand(&sample);
        let Some(limit) = limit_of(stand).filter(|l| sample.value < l.value - ALLOWANCE) else {
            continue;
        };
        let what = match stand {
            Stand::Supported => "wall held on two sides or more",
            Stand::Free => "wall that stands free",
            Stand::Pin => "pin",
            Stand::Mark => "raised mark",
        };
        let share = 100.0 * patch.area / analysis.topology().areas.iter().sum::<f64>();
        let text = format!(
            "{what} of {} mm at {}, below {} mm; {share:.1} % of the surface is part of it",
            short(sample.value),
            point(sample.at),
            short(limit.value)
        );
        findings.push(
            Finding::new(CHECK.name, Severity::Error, text)
                .at(Place::triangles(sample.at, patch.triangles))
                .measured(sample.value, Unit::Mm)
                .limit(&limit)
                .hint(format!(
                    "make it {} mm thicker, or choose a printer that holds less",
                    short(limit.value - sample.value)
                )),
        );
    }
    cut(findings)
}

/// Neighbouring thin triangles, on both sides of their wall.
pub(super) struct Patch {
    pub(super) thinnest: Sample,
    pub(super) triangles: Vec<u32>,
    /// All thin samples.
    pub(super) samples: Vec<Sample>,
    /// Sampled area below the limit, mm2.
    pub(super) area: f64,
}

/// Patches with thickness below `limit`, the thinnest first.
pub(super) fn patches(analysis: &Analysis, field: &Field, limit: f64) -> Vec<Patch> {
    let topology = analysis.topology();
    let count = topology.neighbours.len();
    let mut is_thin = vec![false; count];
    let thin = || field.samples.iter().filter(|s| s.value < limit);
    for s in thin() {
        is_thin[s.triangle as usize] = true;
        is_thin[s.across_triangle as usize] = true;
    }
    // Between samples, triangles whose corners are all near thin places.
    let at = field.at_vertices(analysis.soup());
    for (i, t) in analysis.soup().triangles().iter().enumerate() {
        is_thin[i] |= t.iter().all(|v| at[*v as usize] < limit);
    }
    let mut union = Union::of(count);
    for (i, neighbours) in topology.neighbours.iter().enumerate() {
        for &j in neighbours {
            if is_thin[i] && is_thin.get(j as usize).is_some_and(|t| *t) {
                union.join(i as u32, j);
            }
        }
    }
    for s in thin() {
        union.join(s.triangle, s.across_triangle);
    }
    let mut by_root = std::collections::BTreeMap::new();
    for s in thin() {
        let patch = by_root.entry(union.find(s.triangle)).or_insert_with(|| Patch {
            thinnest: *s,
            triangles: Vec::new(),
            samples: Vec::new(),
            area: 0.0,
        });
        if s.value < patch.thinnest.value {
            patch.thinnest = *s;
        }
        patch.triangles.extend([s.triangle, s.across_triangle]);
        patch.samples.push(*s);
        patch.area += s.area;
    }
    for i in (0..count as u32).filter(|&i| is_thin[i as usize]) {
        if let Some(patch) = by_root.get_mut(&union.find(i)) {
            patch.triangles.push(i);
        }
    }
    let mut patches: Vec<Patch> = by_root.into_values().collect();
    patches.sort_by(|a, b| a.thinnest.value.total_cmp(&b.thinnest.value));
    patches
}
