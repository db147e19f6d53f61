//! Pins that break.

use std::collections::BTreeMap;

use super::field::{Sample, Side};
use super::finding::{point, short};
use super::walk::{Stand, Walker};
use super::walls::wall_cap;
use super::{ALLOWANCE, Check, CheckContext, Finding, Limit, Place, Severity, cut};
use crate::measure::{Unit, Vec3};

pub(super) const CHECK: Check =
    Check { name: "pin", summary: "pins that stand free and break easily", upright: false, run };

/// Thin places that are looked at.
const MOST: usize = 250;

struct Pin {
    sample: Sample,
    middle: Vec3,
    length: f64,
}

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let analysis = context.analysis;
    let cap = wall_cap(context.printer);
    let field = analysis.walls(cap);
    let Some(pin_min) = Limit::of(context.printer, "pin_min") else { return Vec::new() };
    if field.given_up {
        return Vec::new();
    }
    let walker = Walker::new(analysis, Side::Inside, cap);
    // The thinnest place in each cell.
    let cell = 0.5 * cap;
    let mut cells: BTreeMap<[i64; 3], &Sample> = BTreeMap::new();
    for sample in field.samples.iter().filter(|s| s.value.is_finite()) {
        let middle = (sample.at + sample.across) * (0.5 / cell);
        let key = [middle.x, middle.y, middle.z].map(|c| c.floor() as i64);
        let slot = cells.entry(key).or_insert(sample);
        if sample.value < slot.value {
            *slot = sample;
        }
    }
    let mut thin: Vec<&Sample> = cells.into_values().collect();
    thin.sort_by(|a, b| a.value.total_cmp(&b.value));
    let mut pins: Vec<Pin> = Vec::new();
    for sample in thin.into_iter().take(MOST) {
        if !walker.is_pin(sample) {
            continue;
        }
        let middle = (sample.at + sample.across) * 0.5;
        let length = walker.length(sample);
        if pins.iter().any(|p| (p.middle - middle).norm() < p.length.max(length)) {
            continue;
        }
        // A cube is no pin.
        if length >= 2.0 * sample.value {
            pins.push(Pin { sample: *sample, middle, length });
        }
    }
    let walls = context.printer.number("wall_free") - ALLOWANCE;
    let mut findings = Vec::new();
    for pin in &pins {
        let Sample { value, at, triangle, across_triangle, .. } = pin.sample;
        // The wall check tells of thinner ones.
        if (walls..pin_min.value - ALLOWANCE).contains(&value)
            && walker.stand(&pin.sample) == Stand::Pin
        {
            let text = format!(
                "a pin of {} mm at {}, below {} mm, breaks easily",
                short(value),
                point(pin.middle),
                short(pin_min.value)
            );
            findings.push(
                Finding::new(CHECK.name, Severity::Warning, text)
                    .at(Place::triangles(at, vec![triangle, across_triangle]))
                    .measured(value, Unit::Mm)
                    .limit(&pin_min)
                    .hint("make it thicker, or set in a metal pin"),
            );
        }
    }
    cut(findings)
}
