//! A comb of slots and the peg that is tried in them.

use super::super::around::bar;
use super::super::build::Slab;
use super::super::{Body, Computed, PartContext, Refusal};
use super::{ABOVE, CORNER, TestPiece, Told, body};
use crate::measure::{Axis, Measured, Unit, Values, Vec2, number};
use crate::section::{Region, snap};

pub(super) const COMB: TestPiece = TestPiece {
    name: "comb",
    summary: "a comb of slots, each a tenth of a millimetre wider, and a peg to try in them",
    look: "count slots from the cut-off corner, the tightest first, and try the peg from above, \
           the end first that was up: fit_press is the tightest slot that it goes into with a push, \
           fit_slide the one where it slides without play, fit_loose the first where it drops; write \
           down what the caliper reads across that slot less what it reads across the peg",
    for_bore: false,
    beyond: &[],
    make,
};

/// The peg along x, y and z, mm.
const PEG: [f64; 3] = [6.0, 10.0, 25.0];
/// How much wider than the peg each slot is, mm: around the fits of published
/// guides (`profiles/printers.toml`).
const CLEARANCES: [f64; 8] = [-0.1, 0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6];
/// Slots with a line in the readings: the tightest, the middle and the widest.
const READ: [usize; 3] = [1, 4, 8];
/// Width of the comb's teeth and of its ends, depth of slots and of the back, height
/// of the comb, mm.
const TOOTH: f64 = 3.0;
const END: f64 = 5.0;
const SLOT: f64 = 7.0;
const BACK: f64 = 5.0;
const HEIGHT: f64 = 10.0;

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let (mut slots, mut computed) = (Region::empty(), Vec::new());
    let mut x = END;
    for (i, clearance) in CLEARANCES.into_iter().enumerate() {
        let width = snap(PEG[0] + clearance);
        slots = slots.union(&bar((x, x + width), (BACK, BACK + SLOT + TOOTH)));
        computed.push(slot(i + 1, width, clearance));
        x += width + TOOTH;
    }
    let length = x - TOOTH + END;
    let corner = [Vec2::zeros(), Vec2::new(CORNER, 0.0), Vec2::new(0.0, CORNER)];
    let section = bar((0.0, length), (0.0, BACK + SLOT))
        .difference(&slots)
        .difference(&Region::polygon(&corner));
    let comb = [Slab { bottom: 0.0, top: HEIGHT, section }];
    let section = bar((0.0, PEG[0]), (0.0, PEG[1]));
    let peg = [Slab { bottom: 0.0, top: PEG[2], section }];
    Ok(vec![
        body(context, values, "", &comb, Told { computed, ..Told::default() })?,
        body(context, values, "-peg", &peg, Told { computed: peg_rows(), ..Told::default() })?,
    ])
}

fn slot(count: usize, width: f64, clearance: f64) -> Computed {
    let than = if clearance < 0.0 { "narrower" } else { "wider" };
    let what = format!("slot {count}, {} mm {than} than the peg", number(clearance.abs()));
    let row = Computed::new(format!("slot{count}"), what, width, Unit::Mm);
    if !READ.contains(&count) {
        return row;
    }
    let at = format!("inner jaws in slot {count}, counted from the cut-off corner, {ABOVE}");
    row.read(Measured::Gap, Some(Axis::X), at)
}

fn peg_rows() -> Vec<Computed> {
    let at = |side: &str| format!("over the peg's {side} side, {ABOVE}");
    let row = |key, what, value, axis, side| {
        Computed::new(key, what, value, Unit::Mm).read(Measured::Outside, Some(axis), at(side))
    };
    vec![
        row("peg_x", "narrow side of the peg", PEG[0], Axis::X, "narrow"),
        row("peg_y", "wide side of the peg", PEG[1], Axis::Y, "wide"),
    ]
}
