//! Hollows that hold resin or powder, or suck at the film.

use super::finding::{point, short};
use super::{Check, CheckContext, Finding, Hollow, Limit, Place, Severity, cut};
use crate::measure::Unit;

pub(super) const CHECK: Check = Check {
    name: "hollow",
    summary: "trapped volumes, and cups that suck in a resin bath",
    upright: true,
    run,
};

/// A cup this small peels off the film without harm, mm2 of its mouth: a
/// round of 4 mm. Common practice, no source.
const SMALL_CUP: f64 = 12.5;

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let Some(layers) = context.analysis.layers(context.printer.number("layer")) else {
        return Vec::new();
    };
    let process = context.process();
    let mut findings = Vec::new();
    for hollow in &layers.trapped {
        let (severity, what) = match process {
            "resin" => (Severity::Error, "liquid resin stays inside and can burst it later"),
            "sls" => (Severity::Error, "powder stays inside"),
            _ => (Severity::Note, "it prints, and nobody sees it"),
        };
        let text = format!(
            "a hollow of {} mm3 at {} has no way out: {what}",
            short(hollow.volume),
            point(context.analysis.home(hollow.at))
        );
        findings.push(
            found(hollow, severity, text)
                .measured(hollow.volume, Unit::Mm3)
                .limit(&Limit::own(0.0, "a trapped volume cannot be emptied"))
                .hint("open it with two holes of 2 mm or more, one at each end"),
        );
    }
    if process == "resin" {
        for cup in layers.cups.iter().filter(|c| c.area >= SMALL_CUP) {
            let text = format!(
                "a cup of {} mm3 at {} is shut from {} to {} mm while it grows: it sucks at the \
                 film and holds resin",
                short(cup.volume),
                point(context.analysis.home(cup.at)),
                short(cup.heights.0),
                short(cup.heights.1)
            );
            let limit = Limit::own(SMALL_CUP, "mouth of a cup that peels off; common practice");
            findings.push(
                found(cup, Severity::Warning, text)
                    .measured(cup.area, Unit::Mm2)
                    .limit(&limit)
                    .hint("vent it near its lower end, or raise and tilt the part on supports"),
            );
        }
    }
    cut(findings)
}

fn found(hollow: &Hollow, severity: Severity, text: String) -> Finding {
    let (from, to) = hollow.heights;
    Finding::new(CHECK.name, severity, text).at(Place::heights(hollow.at, from, to))
}
