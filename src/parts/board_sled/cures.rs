//! What to change where no height of the board meets every limit: changes of
//! the job that were tried, and work.

use super::plan::Along;
use super::room::{Short, deepest, found, shortfalls};
use super::spec::{Hold, Relief, Spec};

/// Step of the widths that are named, mm, and times a width is halved to it.
const WIDTH_STEP: f64 = 0.1;
const HALVINGS: u32 = 12;
/// Step of the bores that are named, mm, and the steps that are tried.
const BORE_STEP: f64 = 0.5;
const BORES: i32 = 40;
/// Most other limits that are told.
const TOLD: usize = 3;

/// A board that fits.
fn fits(spec: &Spec) -> Option<f64> {
    found(spec, &Along::new(spec)).map(|(board, _)| board)
}

fn altered(spec: &Spec, change: impl FnOnce(&mut Spec)) -> Spec {
    let mut out = spec.clone();
    change(&mut out);
    out
}

/// Changes after which the board fits; if no single one does, what else is short.
pub(super) fn cures(spec: &Spec, worst: &Short, board: f64) -> Vec<String> {
    let mut out = Vec::new();
    if let Some((width, board)) = narrower(spec) {
        out.push(format!("a board {width:.1} mm wide would fit, at height {board:.2}"));
    }
    let bare = altered(spec, |s| s.keep_outs.clear());
    if !spec.keep_outs.is_empty() && fits(&bare).is_some() {
        out.push(lower(spec).map_or_else(
            || "without the keep-outs the board would fit: measure them again".to_owned(),
            |share| format!("keep-outs {:.0} % as high would fit", 100.0 * share),
        ));
    }
    out.extend(fewer(spec));
    if let Some(bore) = wider_bore(spec) {
        out.push(format!("a bore of {bore:.1} mm would have the room"));
    }
    if out.is_empty() {
        out.push(others(spec, worst, board));
    }
    out
}

/// Single things without which the board fits.
fn fewer(spec: &Spec) -> Vec<String> {
    let mut out = Vec::new();
    for port in &spec.ports {
        let open = altered(spec, |s| s.ports.retain(|p| p.index != port.index));
        if fits(&open).is_some() {
            let it = port.index + 1;
            let smaller = if port.plug.is_some() { ", or by a smaller plug" } else { "" };
            out.push(format!("without port {it} it fits: reach it with the board out{smaller}"));
        }
    }
    for hole in &spec.holes {
        let less = altered(spec, |s| s.holes.retain(|h| h.index != hole.index));
        if matches!(spec.hold, Hold::Posts { pilot: Some(_) }) && fits(&less).is_some() {
            out.push(format!("without hole {} it fits: fewer screws, or glue", hole.index + 1));
        }
    }
    let loose = altered(spec, |s| s.relief = Relief::None);
    if !matches!(spec.relief, Relief::None) && fits(&loose).is_some() {
        out.push("strain_relief = \"none\" works: then tie the wires down elsewhere".to_owned());
    }
    out
}

/// The limits that are missed beside the worst.
fn others(spec: &Spec, worst: &Short, board: f64) -> String {
    let shorts = shortfalls(spec, &Along::new(spec), board, deepest(spec));
    let told = worst.told();
    let rest: Vec<String> =
        shorts.iter().map(Short::told).filter(|other| *other != told).take(TOLD).collect();
    if rest.is_empty() {
        return format!(
            "change what it names by {:.2} mm or more: no other change helps",
            worst.by()
        );
    }
    format!("no single change is enough; these are short as well: {}", rest.join("; "))
}

/// The widest board that would fit, and its height.
fn narrower(spec: &Spec) -> Option<(f64, f64)> {
    let try_width = |width: f64| {
        let narrow = altered(spec, |s| s.board.width = width);
        (narrow.well() >= 1.0).then(|| fits(&narrow)).flatten().map(|board| (width, board))
    };
    let tenth = |w: f64| (w / WIDTH_STEP).floor() * WIDTH_STEP;
    let (mut good, mut bad) = (None, spec.board.width);
    let mut least = 0.0;
    for _ in 0..HALVINGS {
        let width = tenth(0.5 * (least + bad));
        match try_width(width) {
            Some(fits) => (good, least) = (Some(fits), width),
            None => bad = width,
        }
    }
    good.filter(|(width, _)| *width > 2.0)
}

/// The narrowest bore in which the board fits as it is, mm.
fn wider_bore(spec: &Spec) -> Option<f64> {
    (1..=BORES).map(|i| BORE_STEP * f64::from(i)).find_map(|more| {
        let wide = altered(spec, |s| s.outside.widen(0.5 * more));
        fits(&wide).map(|_| wide.outside.fit.bore)
    })
}

/// The share of their heights at which the keep-outs would fit.
fn lower(spec: &Spec) -> Option<f64> {
    (1..20).rev().map(|i| 0.05 * f64::from(i)).find(|share| {
        fits(&altered(spec, |s| s.keep_outs.iter_mut().for_each(|k| k.height *= share))).is_some()
    })
}
