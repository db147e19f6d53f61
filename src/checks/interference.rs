//! What belongs in the body has room where it sits, and gets there.

use super::finding::{direction, point, short};
use super::overlap::{CONTACT, Overlap, Unclear, on_the_way, seated};
use super::{Check, CheckContext, Finding, Limit, Place, Severity, cut};
use crate::measure::Unit;
use crate::parts::{Component, Way};
use crate::solid::Levels;

pub(super) const CHECK: Check = Check {
    name: "interference",
    summary: "cell, stone, switch and other components that overlap the body where they sit",
    upright: false,
    run: run_seated,
};

pub(super) const INSERTION: Check = Check {
    name: "insertion",
    summary: "components that do not get to their place on the way that they are put in",
    upright: false,
    run: run_inserted,
};

fn run_seated(context: &CheckContext<'_>) -> Vec<Finding> {
    let Some(known) = context.known else { return Vec::new() };
    let declared = known.declared;
    let mut findings: Vec<Finding> =
        declared.undrawn.iter().map(|u| unseen(CHECK.name, &u.name, &u.reason)).collect();
    findings.extend(each(CHECK.name, context, |body, solid, component| {
        let overlap = seated(body, solid, component.press)?;
        Ok(overlap.map(|o| {
            let text = format!(
                "{} overlaps the body by {} mm at {}, between z = {} and {} mm: {} mm3 in all",
                component.what,
                short(o.depth),
                point(o.at),
                short(o.heights.0),
                short(o.heights.1),
                short(o.volume)
            );
            let finding = found(CHECK.name, text, &o, CONTACT + component.press)
                .hint(format!("change {}: it needs more room", component.field));
            if component.field.ends_with(".from_z") {
                return finding.hint("`borewright layout` proposes places along the bore for all");
            }
            finding
        }))
    }));
    cut(findings)
}

fn run_inserted(context: &CheckContext<'_>) -> Vec<Finding> {
    cut(each(INSERTION.name, context, |body, solid, component| {
        let Some(way) = component.way else { return Ok(None) };
        let overlap = on_the_way(body, solid, way)?;
        Ok(overlap.map(|o| {
            let gives = match way {
                Way::Across { aside, .. } if aside > 0.0 => {
                    format!(" although {} mm give way on either side", short(aside))
                }
                _ => String::new(),
            };
            let text = format!(
                "{} does not get in along {}: the body is {} mm deep in its way at {}, between z = {} \
                 and {} mm{gives}",
                component.what,
                direction(way.direction()),
                short(o.depth),
                point(o.at),
                short(o.heights.0),
                short(o.heights.1)
            );
            found(INSERTION.name, text, &o, CONTACT)
                .hint(format!("change {}, or put it in another way", component.field))
        }))
    }))
}

/// Runs a question over all components; one that cannot be answered is said.
fn each(
    check: &'static str,
    context: &CheckContext<'_>,
    ask: impl Fn(&Levels<'_>, &Levels<'_>, &Component) -> Result<Option<Finding>, Unclear>,
) -> Vec<Finding> {
    let Some(known) = context.known else { return Vec::new() };
    let components = &known.declared.components;
    if components.is_empty() {
        return Vec::new();
    }
    let body = match Levels::new(known.solid) {
        Ok(body) => body,
        Err(error) => return vec![unseen(check, "the body", &error.to_string())],
    };
    let answer = |component: &Component| match Levels::new(&component.solid) {
        Err(error) => Some(unseen(check, &component.name, &error.to_string())),
        Ok(solid) => ask(&body, &solid, component).unwrap_or_else(|Unclear(z)| {
            let reason = format!("its section at z = {} mm is not defined", short(z));
            Some(unseen(check, &component.name, &reason))
        }),
    };
    components.iter().filter_map(answer).collect()
}

fn found(check: &'static str, text: String, overlap: &Overlap, limit: f64) -> Finding {
    let limit = Limit::own(limit, "what counts as contact, and what is pressed on purpose");
    Finding::new(check, Severity::Error, text)
        .at(Place::heights(overlap.at, overlap.heights.0, overlap.heights.1))
        .measured(overlap.depth, Unit::Mm)
        .limit(&limit)
}

fn unseen(check: &'static str, name: &str, reason: &str) -> Finding {
    Finding::new(check, Severity::Warning, format!("{name} was not looked at: {reason}"))
        .hint("look yourself whether it has room")
}
