//! Ceilings that span too far.

use super::finding::{point, short};
use super::surfaces::undersides;
use super::{ALLOWANCE, Check, CheckContext, Finding, Limit, Place, Severity, cut};
use crate::measure::Unit;

pub(super) const CHECK: Check = Check {
    name: "bridge",
    summary: "level ceilings that span further than prints hold",
    upright: true,
    run,
};

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let limit = Limit::of(context.printer, "bridge");
    let lean = context.printer.number("overhang");
    let Some(limit) = limit.filter(|_| lean < 90.0) else { return Vec::new() };
    let layer = context.printer.number("layer");
    let (_, mut bridges) = undersides(context.analysis, lean, layer);
    bridges.retain(|b| b.span > limit.value + ALLOWANCE);
    bridges.sort_by(|a, b| b.span.total_cmp(&a.span));
    let findings = bridges.into_iter().map(|bridge| {
        let text = format!(
            "a ceiling at {} spans {} mm, more than {} mm",
            point(context.analysis.home(bridge.at)),
            short(bridge.span),
            short(limit.value)
        );
        Finding::new(CHECK.name, Severity::Warning, text)
            .at(Place::triangles(bridge.at, bridge.triangles))
            .measured(bridge.span, Unit::Mm)
            .limit(&limit)
            .hint("set a rib under it, arch it, or print it with support")
    });
    cut(findings.collect())
}
