//! What gets warm beside the body, against the material's softening.

use super::{Check, CheckContext, Finding, Limit, Place, Region, Severity};
use crate::measure::{Unit, number};

pub(super) const CHECK: Check = Check {
    name: "heat",
    summary: "materials that soften beside what gets warm",
    upright: false,
    run,
};

/// Margin of the plastic's softening over what gets warm, K. Common practice,
/// no source.
pub(crate) const MARGIN: f64 = 10.0;

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let Some(known) = context.known else { return Vec::new() };
    let Some(softens) = Limit::of(context.material, "softens_at") else { return Vec::new() };
    let material = context.material.profile().unwrap_or("the material");
    let close = known.declared.heats.iter().filter(|h| softens.value < h.celsius + MARGIN);
    close
        .map(|heat| {
            let text = format!(
                "{material} softens at about {} degC and {} may reach {} degC: {}",
                number(softens.value),
                heat.what,
                number(heat.celsius),
                heat.risk
            );
            let from = format!(
                "{}, and {} K below what softens: {}",
                heat.source,
                number(MARGIN),
                softens.from
            );
            Finding::new(CHECK.name, Severity::Warning, text)
                .at(Place { point: Some(heat.at.into()), region: Region::Body })
                .measured(softens.value, Unit::Celsius)
                .limit(&Limit::own(heat.celsius + MARGIN, from).with_source(softens.source.clone()))
                .hint(format!(
                    "use a plastic that softens at {} degC or more, and do not leave the prop in a \
                     hot car",
                    number(heat.celsius + MARGIN)
                ))
        })
        .collect()
}
