//! Surfaces that lean out too far to print without support.

use super::finding::{point, short};
use super::surfaces::undersides;
use super::{Check, CheckContext, Finding, Limit, Place, Severity, cut};
use crate::measure::Unit;

pub(super) const CHECK: Check = Check {
    name: "overhang",
    summary: "surfaces that lean out further than prints hold",
    upright: true,
    run,
};

/// Overhangs smaller than this are left to the printer, mm2: a few tracks'
/// widths. Common practice, no source.
const SMALL: f64 = 0.5;

/// Lean from which an underside is called level, degrees.
const LEVEL: f64 = 89.9;

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let Some(limit) = Limit::of(context.printer, "overhang").filter(|l| l.value < 90.0) else {
        return Vec::new();
    };
    let layer = context.printer.number("layer");
    let (mut overhangs, _) = undersides(context.analysis, limit.value, layer);
    overhangs.retain(|o| o.area >= SMALL);
    overhangs.sort_by(|a, b| b.area.total_cmp(&a.area));
    let findings = overhangs.into_iter().map(|overhang| {
        let (least, most) = overhang.lean;
        let lean = match (short(least), short(most)) {
            (_, most) if least >= LEVEL => format!("hang level, {most} deg"),
            (least, most) if least == most => format!("lean {most} deg"),
            (least, most) => format!("lean {least} to {most} deg"),
        };
        let text = format!(
            "{} mm2 {lean} from upright, beyond {} deg, at {}",
            short(overhang.area),
            short(limit.value),
            point(context.analysis.home(overhang.at))
        );
        Finding::new(CHECK.name, Severity::Warning, text)
            .at(Place::triangles(overhang.at, overhang.triangles))
            .measured(most, Unit::Degrees)
            .limit(&limit)
            .hint("chamfer the underside, turn the part, or print it with support")
    });
    cut(findings.collect())
}
