//! Whether the rails hold the board: how much of its long edges they reach.

use super::super::Refusal;
use super::plan::Plan;
use super::shape::cuts;
use super::spec::{Span, Spec};
use crate::measure::Values;

/// Least share of the board's length that each rail must hold. Common practice,
/// no source.
const HELD: f64 = 0.35;
/// How far inside the rail's reach it is looked for, mm.
const INSIDE: f64 = 0.1;

/// Length of the board's edge that each rail holds, mm: at -x and at +x.
pub(super) fn held(spec: &Spec, plan: &Plan) -> [f64; 2] {
    let h = &plan.heights;
    let cut: Vec<_> = cuts(spec, plan);
    [-1.0, 1.0].map(|sign: f64| {
        let edge = sign * (plan.well + INSIDE);
        // The lower and the upper cheek of the groove.
        let gone: Vec<Span> = cut
            .iter()
            .filter(|c| c.low.x.0 <= edge && edge <= c.low.x.1)
            .filter(|c| {
                let below = c.low.y.0 < h.room.0 - INSIDE && c.low.y.1 > h.room.0;
                let above = c.low.y.0 < h.bar - INSIDE && c.low.y.1 > h.bar - INSIDE;
                below || above
            })
            .map(|c| c.z)
            .collect();
        let board_side = usize::from(sign * spec.mirror > 0.0);
        let edges = spec.board.straight[board_side].iter();
        edges
            .map(|&(a, b)| {
                let from = (plan.along.board + a, plan.along.board + b);
                without(from, &gone)
            })
            .sum()
    })
}

/// Length of a stretch less others.
fn without(whole: Span, gone: &[Span]) -> f64 {
    let mut gone: Vec<Span> = gone.to_vec();
    gone.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut at, mut left) = (whole.0, 0.0);
    for (from, to) in gone {
        left += (from.min(whole.1) - at).max(0.0);
        at = at.max(to);
    }
    left + (whole.1 - at).max(0.0)
}

/// Refuses a board that its rails do not hold.
///
/// # Errors
/// Which edge, how much of it is held and how much is needed.
pub(super) fn check(values: &Values, spec: &Spec, plan: &Plan) -> Result<(), Refusal> {
    if !spec.rails() {
        return Ok(());
    }
    let needs = HELD * spec.board.length;
    for (has, side) in held(spec, plan).into_iter().zip(["-x", "+x"]) {
        if has < needs {
            let straight: f64 = spec.board.straight
                [usize::from((side == "+x") == (spec.mirror > 0.0))]
            .iter()
            .map(|s| s.1 - s.0)
            .sum();
            let what = format!(
                "the rail at {side} holds {has:.2} mm of the board's edge, {straight:.2} of which \
                 are straight and not notched; {needs:.2} are needed: short by {:.2}",
                needs - has
            );
            let key = if straight < needs { "outline" } else { "keep_out" };
            return Err(Refusal::new(what)
                .at(values, key)
                .hint("hold = \"posts\" needs no straight edges, but holes")
                .hint("keep-outs and ports at the long edges take their rails away"));
        }
    }
    Ok(())
}
