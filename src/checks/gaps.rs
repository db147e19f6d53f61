//! Gaps and slots that would close.

use super::field::{Sample, Side};
use super::finding::{point, short};
use super::walk::{MARK_HEIGHT, Walker};
use super::walls::patches;
use super::{ALLOWANCE, Check, CheckContext, Finding, Limit, Place, Severity, cut};
use crate::measure::Unit;

pub(super) const CHECK: Check = Check {
    name: "gap",
    summary: "gaps, slots and sunk marks so narrow that they close",
    upright: false,
    run,
};

/// Most patches that are told; more would be one sheet that is wrong all over, or noise.
const MOST_FOUND: usize = 24;

/// Places of a patch at which its depth is looked at.
const LOOKS: usize = 12;

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let analysis = context.analysis;
    let (gap, mark) =
        (Limit::of(context.printer, "gap_min"), Limit::of(context.printer, "engrave_width"));
    let (Some(gap), Some(mark)) = (gap, mark) else { return Vec::new() };
    let widest = gap.value.max(mark.value);
    let cap = (2.5 * widest).max(1.5);
    let field = analysis.gaps(cap);
    if field.given_up {
        let text = "gaps are not measured: the facets lie in each other everywhere";
        return vec![Finding::new(CHECK.name, Severity::Warning, text).hint("mend the mesh first")];
    }
    let walker = Walker::new(analysis, Side::Outside, cap);
    let mut findings = Vec::new();
    for patch in patches(analysis, field, widest - ALLOWANCE) {
        if findings.len() == MOST_FOUND {
            break;
        }
        let sample = patch.thinnest;
        // A mark is shallow wherever it is looked at; a slot may be, at one end.
        let step = patch.samples.len().div_ceil(LOOKS).max(1);
        let shallow = |s: &Sample| walker.depth(s).is_some_and(|d| d <= MARK_HEIGHT);
        let is_mark = shallow(&sample) && patch.samples.iter().step_by(step).all(shallow);
        let (what, limit) = if is_mark { ("sunk mark", &mark) } else { ("gap", &gap) };
        if sample.value >= limit.value - ALLOWANCE {
            continue;
        }
        let text = format!(
            "{what} of {} mm at {}, below {} mm: it closes",
            short(sample.value),
            point(sample.at),
            short(limit.value)
        );
        findings.push(
            Finding::new(CHECK.name, Severity::Error, text)
                .at(Place::triangles(sample.at, patch.triangles))
                .measured(sample.value, Unit::Mm)
                .limit(limit)
                .hint(format!(
                    "make it {} mm wider, or close it in the drawing",
                    short(limit.value - sample.value)
                )),
        );
    }
    cut(findings)
}
