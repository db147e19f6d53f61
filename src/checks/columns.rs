//! Columns that sway while they are printed.

use super::finding::{point, short};
use super::{Check, CheckContext, Finding, Limit, Place, Severity, cut};
use crate::measure::Unit;

pub(super) const CHECK: Check = Check {
    name: "column",
    summary: "tall thin columns that stand alone and sway while they are printed",
    upright: true,
    run,
};

/// Height over width past which an upright column sways under the nozzle.
/// Common practice, no source.
const SLENDER: f64 = 8.0;

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    // A bed of powder holds what stands in it.
    if context.process() == "sls" {
        return Vec::new();
    }
    let Some(layers) = context.analysis.layers(context.printer.number("layer")) else {
        return Vec::new();
    };
    let slender = Limit::own(SLENDER, "height over width of an upright column; common practice");
    let tall = layers.columns.iter().filter(|c| c.ratio() > SLENDER);
    let findings = tall.map(|column| {
        let text = format!(
            "a column {} mm wide stands alone for {} mm at {}: it sways while it is printed",
            short(column.width),
            short(column.heights.1 - column.heights.0),
            point(context.analysis.home(column.at))
        );
        Finding::new(CHECK.name, Severity::Warning, text)
            .at(Place::heights(column.at, column.heights.0, column.heights.1))
            .measured(column.ratio(), Unit::One)
            .limit(&slender)
            .hint("lay it down, make it thicker, or tie it to its neighbour")
    });
    cut(findings.collect())
}
