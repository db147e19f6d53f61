//! Joints of a keel that is longer than the printer's bed.

use super::super::{PartContext, Refusal};
use super::level;
use super::plan::Plan;
use crate::measure::number;

/// Distance from the edge of the bed, mm, as for plates. Common practice, no
/// source.
const BED_MARGIN: f64 = 5.0;
/// Half the width of a key's neck and head that are tried, over that of the
/// keel. Common practice, no source.
const NECKS: [f64; 6] = [0.2, 0.25, 0.3, 0.15, 0.35, 0.4];
const HEADS: [f64; 6] = [0.45, 0.5, 0.55, 0.6, 0.65, 0.4];
/// Least step from neck to head that holds, mm. Common practice, no source.
const HOLDS: f64 = 1.0;
/// Length of neck and head each, over half the keel's width. Common practice,
/// no source.
const LONG: f64 = 0.4;
/// Step in which a joint is moved, mm.
const STEP: f64 = 0.5;
/// Keel that a joint keeps to notches and screws, mm. Common practice, no
/// source.
const BESIDE: f64 = 1.5;
/// Most pieces that are tried.
const MOST: i64 = 8;

/// A key with a head, as of a puzzle's piece, on the high end of each piece but
/// the last; the next piece has the slot for it.
#[derive(Clone, Debug, Default)]
pub(super) struct Joints {
    /// Where the faces of the pieces meet, z mm.
    pub at: Vec<f64>,
    /// Half widths of neck and head, mm.
    pub neck: f64,
    pub head: f64,
    /// Length of the neck and of the head each, mm.
    pub long: f64,
    /// Gap all around the key, mm.
    pub gap: f64,
}

impl Joints {
    /// Length that a joint takes.
    fn length(&self) -> f64 {
        2.0 * self.long + self.gap
    }
}

/// The joints that bed or job ask for.
///
/// # Errors
/// A keel too narrow for a key, or full of notches.
pub(super) fn joints(context: &PartContext<'_>, plan: &Plan<'_>) -> Result<Joints, Refusal> {
    let values = plan.values;
    let printer = context.printer;
    let bed = printer.number("bed_x").max(printer.number("bed_y")) - 2.0 * BED_MARGIN;
    let total = plan.ends.1 - plan.ends.0;
    let asked = values.maybe_integer("pieces");
    let least = match asked {
        Some(pieces) => pieces,
        None if values.choice("split") == "never" => 1,
        None => (total / bed).ceil().max(1.0) as i64,
    };
    if least == 1 {
        return Ok(Joints::default());
    }
    let gap = level(0.5 * printer.number("fit_slide"));
    let wall = printer.number("wall_free");
    let Some((neck, head)) = key(plan, gap, wall) else {
        let what = format!(
            "a keel {:.2} mm wide with {} ducts takes no keyed joint whose neck and cheeks are as \
             thick as the {} mm that the printer holds",
            2.0 * plan.half,
            plan.runs.iter().filter(|run| run.duct.is_some()).count(),
            number(wall)
        );
        return Err(Refusal::new(what)
            .at(values, "split")
            .hint("split = \"never\" makes one piece"));
    };
    let long = level(LONG * plan.half);
    let mut joints = Joints { at: Vec::new(), neck, head, long, gap };
    let most = if asked.is_some() { least } else { MOST };
    for pieces in least..=most {
        if let Some(at) = places(plan, &joints, pieces, bed, asked.is_some()) {
            joints.at = at;
            return Ok(joints);
        }
    }
    let what = format!(
        "a keel {total:.2} mm long needs joints of {:.2} mm for a bed of {bed:.2} mm, and finds no \
         place for them between {} notches for rings and chairs",
        joints.length(),
        plan.notches.len()
    );
    Err(Refusal::new(what)
        .at(values, if asked.is_some() { "pieces" } else { "split" })
        .hint("rings = \"none\" leaves more room, or split = \"never\" makes one piece"))
}

/// Half widths of a key's neck and head: walls are left in it, beside it, and
/// between its sides and those of ducts.
fn key(plan: &Plan<'_>, gap: f64, wall: f64) -> Option<(f64, f64)> {
    let sides = plan.runs.iter().filter_map(|run| run.duct.as_ref()).flat_map(|d| [d.x.0, d.x.1]);
    let sides: Vec<f64> = sides.map(f64::abs).collect();
    let clear =
        |half: f64| sides.iter().all(|side| *side <= half - wall || *side >= half + gap + wall);
    let necks = NECKS.iter().map(|share| level(share * plan.half));
    let mut pairs = necks.flat_map(|n| HEADS.iter().map(move |h| (n, level(h * plan.half))));
    pairs.find(|&(neck, head)| {
        let holds = neck >= 0.5 * wall && head >= neck + HOLDS + gap;
        holds && head + gap + wall <= plan.half && clear(neck) && clear(head)
    })
}

/// Places for the joints of so many pieces, near even lengths.
fn places(
    plan: &Plan<'_>,
    joints: &Joints,
    pieces: i64,
    bed: f64,
    any_length: bool,
) -> Option<Vec<f64>> {
    let (low, high) = plan.ends;
    let length = joints.length();
    let screws = plan.screws.as_ref();
    let free = |z: f64| {
        let (from, to) = (z - BESIDE, z + length + BESIDE);
        from > low
            && to < high
            && plan.notches.iter().all(|n| to <= n.0 || from >= n.1)
            && screws.is_none_or(|(hole, at)| {
                let room = 0.5 * hole.recess;
                at.iter().all(|s| to <= s - room || from >= s + room)
            })
    };
    let mut out = Vec::new();
    let mut start = low;
    for k in 1..pieces {
        let ideal = low + (high - low) * k as f64 / pieces as f64;
        let steps = ((high - low) / pieces as f64 / STEP) as i64;
        let tries = (0..=steps).flat_map(|i| [i as f64 * STEP, -(i as f64) * STEP]);
        let fits = |z: f64| free(z) && z > start + 2.0 * length;
        let short = |z: f64| any_length || z + length - start <= bed;
        let z = tries.map(|by| level(ideal + by)).find(|&z| fits(z) && short(z))?;
        out.push(z);
        start = z;
    }
    (any_length || high - start <= bed).then_some(out)
}
