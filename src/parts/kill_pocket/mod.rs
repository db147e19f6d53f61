//! Kill-switch pocket: holds the switch that cuts the cell off, so that neither
//! the bore's wall nor a knock moves it, with marks for on and off.
//!
//! A plug that fits the bore. The switch points to the end cap, behind a plate
//! with an opening for its lever, or sideways below a flat.

#[cfg(test)]
mod random;
mod refuse;
mod report;
mod rows;
mod spec;
mod stated;

#[cfg(test)]
mod tests;

use super::build::{self, Slab, chamfered};
use super::fixing::{PilotHole, Spot};
use super::hollow::layered;
use super::{Body, Calculation, PartContext, PartKind, Refusal};
use crate::measure::Values;
use crate::solid::CrossBore;
use spec::{Asked, Layout};

/// The row of [`super::PART_KINDS`].
pub(super) const KILL_POCKET: PartKind = PartKind {
    name: "kill_pocket",
    summary: "pocket that holds the kill switch below the part's end or side, marked on and off",
    params: rows::ROWS,
    make,
};

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let asked = Asked::new(context, values)?;
    let layout =
        Layout::new(&asked).map_err(|misfit| refuse::refused(context, &asked, values, &misfit))?;
    let (stack, ends) = chamfered(&slabs(&asked, &layout), asked.ends);
    let solid = build::solid(&stack, &bores(&asked, &layout), "the pocket")?;
    let made = report::Made { context, values, asked: &asked, layout: &layout, ends };
    Ok(vec![Body {
        name: context.name.to_owned(),
        solid,
        computed: made.computed(),
        messages: made.messages(),
        worked: asked
            .outside
            .worked()
            .into_iter()
            .chain(made.worked())
            .collect::<Vec<Calculation>>(),
        declared: made.declared(),
    }])
}

/// The part between the heights at which something begins or ends.
fn slabs(asked: &Asked, layout: &Layout) -> Vec<Slab> {
    let plain = asked.outside.region();
    let cuts =
        layout.cuts.iter().map(|c| Slab { bottom: c.from, top: c.to, section: c.region.clone() });
    let cuts: Vec<Slab> = cuts.collect();
    let mut slabs = layered(&cuts, (asked.low, layout.high));
    slabs.iter_mut().for_each(|slab| slab.section = plain.difference(&slab.section));
    slabs
}

/// The holes for the screws of a sideways switch.
fn bores(asked: &Asked, layout: &Layout) -> Vec<CrossBore> {
    let (Some(hole), Some((span, _)), true) = (&asked.pilot, asked.switch.holes, asked.side) else {
        return Vec::new();
    };
    let spot = |side: f64| Spot {
        direction: -layout.axes.along,
        z: layout.middle + side * 0.5 * span,
        offset: 0.0,
        start: f64::NEG_INFINITY,
    };
    let hole = PilotHole { depth: layout.pilot, ..*hole };
    [-1.0, 1.0].map(|side| hole.plain(&spot(side))).into()
}
