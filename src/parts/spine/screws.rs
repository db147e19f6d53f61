//! Screws from below that hold modules on the keel.

use super::super::fixing::{ScrewHole, Spot};
use super::super::{PartContext, Refusal};
use super::level;
use super::plan::Plan;
use crate::measure::{Values, Vec2, or_list};
use crate::solid::CrossBore;

/// Plastic that a hole keeps to a notch, mm. Common practice, no source.
const BESIDE: f64 = 1.0;

/// The hole and where screws go, z mm; none if all is glued.
///
/// # Errors
/// A keel that is too low for the heads, or too narrow.
pub(super) fn screws(
    context: &PartContext<'_>,
    plan: &Plan<'_>,
) -> Result<Option<(ScrewHole, Vec<f64>)>, Refusal> {
    let values = plan.values;
    if values.choice("fixing") != "screws" {
        return Ok(None);
    }
    let wall = context.printer.number("wall_supported");
    let series = values.choice("screw_holes");
    let hole = |screw: &Values| ScrewHole::new(screw, series, context.printer, wall);
    let grip = values.number("grip");
    let fits = |hole: &ScrewHole| {
        hole.recess_depth + grip <= plan.thickness() && 0.5 * hole.recess + wall <= plan.half
    };
    let chosen = hole(values.component("screw"));
    if !fits(&chosen) {
        let needed = chosen.recess_depth + grip;
        let what = format!(
            "a head sunk {:.2} mm that clamps {grip:.2} mm needs a keel {needed:.2} mm high; it is \
             {:.2}: short by {:.2}",
            chosen.recess_depth,
            plan.thickness(),
            (needed - plan.thickness()).max(0.0)
        );
        let all = context.library.profiles("screws").iter();
        let others: Vec<&str> =
            all.filter(|s| fits(&hole(s))).filter_map(Values::profile).take(3).collect();
        let mut refusal = Refusal::new(what).at(values, "screw");
        if !others.is_empty() {
            refusal = refusal.hint(format!("screw {} would fit", or_list(&others)));
        }
        let thinner = ((plan.thickness() - chosen.recess_depth) * 10.0).floor() / 10.0;
        if thinner >= GRIP_LEAST {
            refusal = refusal.hint(format!("grip = {thinner:.1} would do"));
        }
        return Err(refusal.hint("fixing = \"glue\" needs no screws"));
    }
    let inset = level(chosen.edge + BESIDE);
    let room = 0.5 * chosen.recess + BESIDE;
    let free = |z: f64| plan.notches.iter().all(|n| z + room <= n.0 || z - room >= n.1);
    let mut places = Vec::new();
    for (i, module) in plan.modules.iter().enumerate() {
        if plan.chairs.iter().any(|c| c.module == i) {
            continue;
        }
        let (low, high) = (level(module.low + inset), level(module.high - inset));
        let two = high - low >= 2.0 * room;
        let middle = level(0.5 * (module.low + module.high));
        let wanted = if two { vec![low, high] } else { vec![middle] };
        places.extend(wanted.into_iter().filter(|&z| free(z)));
    }
    places.sort_by(f64::total_cmp);
    // Modules that overlap must not give two holes that do.
    places.dedup_by(|b, a| *b - *a < 2.0 * room);
    Ok(Some((chosen, places)))
}

/// Least grip, mm: the range of its row.
const GRIP_LEAST: f64 = 0.6;

impl Plan<'_> {
    /// The screw holes between two heights.
    pub(super) fn bores(&self, (low, high): (f64, f64)) -> Vec<CrossBore> {
        let Some((hole, places)) = &self.screws else { return Vec::new() };
        let here = places.iter().filter(|z| (low..high).contains(*z));
        here.flat_map(|&z| {
            let spot =
                Spot { direction: Vec2::new(0.0, 1.0), z, offset: 0.0, start: f64::NEG_INFINITY };
            hole.bores(&spot)
        })
        .collect()
    }
}
