//! Test pieces: small prints that tell what a printer does to sizes.
//!
//! They stand as they are printed, with x and y as those of the bed, and are no
//! parts of a handle: their one kind is kept apart from [`super::PART_KINDS`], in
//! [`TEST_PIECES`]. Holes are as wide as they are called, whatever the printer's
//! `hole_shrink`: it is what they measure.

mod angle;
mod bores;
mod comb;
mod fan;
mod gauge;
mod ladder;
mod lip;
#[cfg(test)]
mod tests;

use super::build::{self, Slab};
use super::module::KEEL;
use super::{Body, Calculation, Computed, Declared, Message, PartContext, PartKind, Refusal};
use crate::measure::{Default, Kind, Param, Values, Vec3};
use crate::solid::Stack;

/// The kinds that jobs of test pieces are read against: one.
pub const TEST_PIECES: &[PartKind] = &[PartKind {
    name: "test_piece",
    summary: "a small print that tells what a printer does to sizes",
    params: ROWS,
    make,
}];

/// A kind of test piece.
#[derive(Clone, Copy, Debug)]
pub struct TestPiece {
    /// Its word.
    pub name: &'static str,
    /// One line for lists.
    pub summary: &'static str,
    /// What to try with it or look at, besides what the caliper reads.
    pub look: &'static str,
    /// Whether it is made for a handle's bore.
    pub for_bore: bool,
    /// Checks whose errors it is meant to have, since it goes to the limit.
    pub beyond: &'static [&'static str],
    make: fn(&PartContext<'_>, &Values) -> Result<Vec<Body>, Refusal>,
}

/// Every test piece, in the order of lists.
pub const PIECES: &[TestPiece] =
    &[angle::ANGLE, bores::BORES, comb::COMB, gauge::GAUGE, ladder::LADDER, fan::FAN, lip::LIP];

/// Their words, in the order of [`PIECES`].
const WORDS: &[&str] = &["angle", "bores", "comb", "gauge", "ladder", "fan", "lip"];

const ROWS: &[Param] = &[
    Param {
        key: "piece",
        kind: Kind::Choice { options: WORDS, default: Default::Required },
        doc: "Which test piece it is.",
    },
    KEEL,
];

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let word = values.choice("piece");
    let piece = PIECES.iter().find(|piece| piece.name == word);
    (piece.expect("a choice is one of its words").make)(context, values)
}

/// Depth of marks, mm. Common practice, no source.
const MARK: f64 = 0.6;
/// Side of the corner that is cut off where counting begins, mm.
const CORNER: f64 = 3.0;
/// Where the jaws go so that the first layer's bulge is not read.
const ABOVE: &str = "above the lowest 2 mm";

/// Width of a sunk mark that shows, mm.
fn mark_width(context: &PartContext<'_>) -> f64 {
    let printer = context.printer;
    printer.number("engrave_width").max(printer.number("gap_min"))
}

/// What is said of a body besides its slabs.
#[derive(Default)]
struct Told {
    computed: Vec<Computed>,
    messages: Vec<Message>,
    worked: Vec<Calculation>,
    /// Up while it is printed, if not +z.
    up: Option<Vec3>,
}

/// How far above the one before a piece lies in the frame, mm: more than any is high,
/// so that none is in the room of another.
const APART: f64 = 50.0;

/// A body of straight slabs, in the order of z from 0; `suffix` is added to the part's
/// name.
fn body(
    context: &PartContext<'_>,
    values: &Values,
    suffix: &str,
    slabs: &[Slab],
    told: Told,
) -> Result<Body, Refusal> {
    let before = WORDS.iter().take_while(|word| **word != values.choice("piece")).count();
    let low = before as f64 * APART;
    let mut stack = Stack::default();
    for slab in slabs {
        stack.prism(low + slab.bottom, low + slab.top, &slab.section);
    }
    let name = format!("{}{suffix}", context.name);
    let solid = build::solid(&stack, &[], &name)?;
    let Told { computed, messages, worked, up } = told;
    let declared = Declared { up, ..Declared::default() };
    Ok(Body { name, solid, computed, messages, worked, declared })
}
