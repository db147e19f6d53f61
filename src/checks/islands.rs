//! Material that starts in mid-air.

use super::finding::{point, short};
use super::{Check, CheckContext, Finding, Limit, Place, Severity, cut};
use crate::measure::Unit;

pub(super) const CHECK: Check = Check {
    name: "island",
    summary: "material that starts in mid-air, layer by layer",
    upright: true,
    run,
};

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    // Powder holds what is in it.
    if context.process() == "sls" {
        return Vec::new();
    }
    let layer = context.printer.number("layer");
    let Some(layers) = context.analysis.layers(layer) else {
        let text = "layers are not looked at: the surface crosses itself everywhere";
        return vec![Finding::new(CHECK.name, Severity::Warning, text).hint("mend the mesh first")];
    };
    let none =
        Limit::own(0.0, format!("nothing prints on air; cut at {} mm", short(layers.plan.layer)));
    let finding = |island: &super::Island| {
        let text = format!(
            "{} mm2 of material start in mid-air at {}",
            short(island.area),
            point(context.analysis.home(island.at))
        );
        Finding::new(CHECK.name, Severity::Error, text)
            .at(Place::heights(island.at, island.bottom, island.bottom + layers.plan.layer))
            .measured(island.area, Unit::Mm2)
            .limit(&none)
            .hint("turn the part, or let the slicer put a support under it")
    };
    cut(layers.islands.iter().map(finding).collect())
}
