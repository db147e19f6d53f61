//! What bends in use, against what the material takes: in its layers' plane
//! and across them.

use super::finding::short;
use super::{Check, CheckContext, Finding, Limit, Place, Region, Severity, cut};
use crate::measure::{Unit, Values};

pub(super) const CHECK: Check = Check {
    name: "strain",
    summary: "lips and clips of our own parts that crack or set",
    upright: false,
    run,
};

/// Share of a strain limit that is left when stretched at `across` (the cosine
/// of the angle to the layers' normal), where `weak` of it is left straight
/// across: a quadratic interaction, as of two independent ways to fail. Common
/// practice, no source.
fn left(across: f64, weak: f64) -> f64 {
    let square = across * across;
    1.0 / ((1.0 - square) + square / (weak * weak)).sqrt()
}

/// A limit of the material, percent, at an angle to its layers.
fn limit(material: &Values, key: &'static str, across: f64) -> Option<Limit> {
    let flat = Limit::of(material, key)?;
    let share = left(across, material.number("across_layers"));
    if share > 0.995 {
        return Some(flat);
    }
    let from = format!("{:.0} % of {}, as it is stretched across layers", 100.0 * share, flat.from);
    Some(Limit::own(flat.value * share, from).with_source(flat.source))
}

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let Some(known) = context.known else { return Vec::new() };
    let up = context.up();
    let mut findings = Vec::new();
    for bend in &known.declared.bends {
        let across = bend.along.dot(&up).abs().min(1.0);
        let (Some(again), Some(once)) = (
            limit(context.material, "strain_repeated", across),
            limit(context.material, "strain_once", across),
        ) else {
            continue;
        };
        let strain = 100.0 * bend.strain;
        // A part that is designed to its limit passes.
        let (severity, limit, what) = if strain > once.value * (1.0 + ROUNDING) {
            (Severity::Error, once, "cracks or stays bent at once")
        } else if strain > again.value * (1.0 + ROUNDING) {
            (Severity::Warning, again, "stays bent after some uses")
        } else {
            (Severity::Note, again, "bends back every time")
        };
        let text = format!(
            "{} {what}: stretched by {} %, {} % allowed",
            bend.what,
            short(strain),
            short(limit.value)
        );
        let mut finding = Finding::new(CHECK.name, severity, text)
            .at(Place { point: Some(bend.at.into()), region: Region::Body })
            .measured(strain, Unit::Percent)
            .limit(&limit);
        if severity != Severity::Note {
            finding = finding.hint(format!(
                "{}: less bending, a thinner lip, a material that takes more, or layers along it",
                bend.field
            ));
        }
        findings.push(finding);
    }
    cut(findings)
}

/// Rounding of a strain that was designed to its limit, as a share.
const ROUNDING: f64 = 1e-6;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_the_layers_and_across_them() {
        assert_eq!(left(0.0, 0.4), 1.0);
        assert!((left(1.0, 0.4) - 0.4).abs() < 1e-15);
        let slanted = left(0.5_f64.sqrt(), 0.4);
        assert!(slanted > 0.4 && slanted < 1.0);
    }
}
