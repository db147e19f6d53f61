//! What would make a stone fit that does not: each hint was tried.

use super::super::{PartContext, Refusal};
use super::holder::{Holder, Need, Outside};
use super::plan::needs;
use super::seat::{Keep, Seat};
use super::stone::Stone;
use crate::measure::rounding::down;
use crate::measure::{Values, Vec2};
use crate::section::snap;

/// Rounds of the search for the smallest circle around the seat; each shrinks
/// the error about as 1 / rounds (Badoiu and Clarkson 2003).
const ROUNDS: usize = 400;

/// The refusal of a stone whose seat leaves walls that are too thin.
pub(super) fn stone_too_large(
    context: &PartContext<'_>,
    values: &Values,
    holder: &Holder<'_>,
    stone: &Stone,
    keep: Keep,
    walls: (f64, f64),
    buried: f64,
) -> Refusal {
    let lips = values.choice("retention") == "lips";
    let wanted = |stone: &Stone, keep: Keep, walls: (f64, f64)| -> Vec<Need> {
        let seat = if lips {
            Seat::straight(stone, keep, 0.0, stone.length())
        } else {
            Seat::along(stone, keep, 0.0)
        };
        needs(&seat, holder, walls, buried)
    };
    let fits = |stone: &Stone, keep: Keep, walls: (f64, f64)| {
        holder.short(&wanted(stone, keep, walls)).is_none()
    };
    let all = wanted(stone, keep, walls);
    let short = holder.short(&all).unwrap_or(0.0);
    let what = "the stone with its seat's walls";
    let mut refusal = holder.too_small(context, values, &all, what);
    let smaller = Keep { clearance: down(keep.clearance - short), ..keep };
    if smaller.clearance >= 0.05 && fits(stone, smaller, walls) {
        refusal = refusal.hint(format!("clearance = {:.2} would fit", smaller.clearance));
    }
    let printed = (context.printer.number("wall_supported"), context.printer.number("wall_free"));
    if values.has("wall") {
        let wall = down(walls.0 - short);
        let thinner = (wall, printed.1.max(wall));
        if wall >= printed.0 && fits(stone, keep, thinner) {
            refusal = refusal.hint(format!("wall = {wall:.2} would fit"));
        }
    } else {
        let others = context.library.profiles("printers").iter().filter(|p| {
            let walls = (p.number("wall_supported"), p.number("wall_free"));
            let all = wanted(stone, keep, walls);
            on_printer(context, values, holder, p).short(&all).is_none()
        });
        let names: Vec<String> =
            others.filter_map(|p| p.profile()).map(|n| format!("\"{n}\"")).collect();
        if !names.is_empty() {
            refusal = refusal.hint(format!("it would fit as printed by {}", names.join(", ")));
        }
    }
    let shift = shift(holder, &all);
    let moved = stone.shifted(shift);
    if shift.norm() >= 0.05 && fits(&moved, keep, walls) {
        refusal = refusal.hint(format!(
            "it would fit if the whole stone lay {:.2} mm along x and {:.2} mm along y from there",
            shift.x, shift.y
        ));
    }
    refusal
}

/// The same holder for a part of another printer, whose fit differs.
fn on_printer<'a>(
    context: &PartContext<'_>,
    values: &Values,
    holder: &Holder<'a>,
    printer: &Values,
) -> Holder<'a> {
    let mut other = *holder;
    if holder.fit.is_some() {
        let context = PartContext { printer, ..*context };
        let fit = super::super::fit::BoreFit::new(&context, values);
        let depth = values.number("keel");
        let keel = (depth > 0.0).then(|| snap(depth - fit.radius));
        other.outside = Outside::Bore { radius: fit.radius, keel };
    }
    other
}

/// The move of all points, mm, that lets them fit best: to the middle of the
/// smallest circle around them, or to the middle of the block and up.
fn shift(holder: &Holder<'_>, all: &[Need]) -> Vec2 {
    let mut middle = Vec2::zeros();
    match holder.outside {
        Outside::Bore { .. } => {
            for k in 1..=ROUNDS {
                let far = |n: &&Need| (n.at - middle).norm() + n.wall;
                if let Some(n) = all.iter().max_by(|a, b| far(a).total_cmp(&far(b))) {
                    middle += (n.at - middle) / (k as f64 + 1.0);
                }
            }
        }
        Outside::Block { bottom, .. } => {
            let low = all.iter().map(|n| n.at.x - n.wall).fold(f64::INFINITY, f64::min);
            let high = all.iter().map(|n| n.at.x + n.wall).fold(f64::NEG_INFINITY, f64::max);
            let floor = all.iter().map(|n| n.at.y - n.wall).fold(f64::INFINITY, f64::min);
            middle = Vec2::new((low + high) / 2.0, (floor - bottom - 0.01).min(0.0));
        }
    }
    // To a tenth, as a person would measure it.
    Vec2::new(snap((-middle.x * 10.0).round() / 10.0), snap((-middle.y * 10.0).round() / 10.0))
}
