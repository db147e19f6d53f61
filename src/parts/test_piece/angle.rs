//! Two legs along x and y of the bed with a tower where they meet: outsides, gaps,
//! heights and the first layer.

use super::super::around::bar;
use super::super::build::Slab;
use super::super::{Body, Computed, PartContext, Refusal};
use super::{ABOVE, MARK, TestPiece, Told, body, mark_width};
use crate::measure::{Axis, Measured, Unit, Values};
use crate::section::Region;

pub(super) const ANGLE: TestPiece = TestPiece {
    name: "angle",
    summary: "two legs with slots and a tower: lengths along x, y and z, gaps, the first layer",
    look: "the leg with one mark lies along the printer's x, that with two marks along y",
    for_bore: false,
    beyond: &[],
    make,
};

/// Length and width of a leg, and how wide its shoulder is, mm: sizes far apart tell
/// a scale from growth. Common practice, no source.
const LEG: f64 = 60.0;
const WIDTH: f64 = 12.0;
const SHOULDER: f64 = 26.0;
/// Heights of legs, shoulder and tower, mm.
const HEIGHTS: [f64; 3] = [10.0, 20.0, 30.0];
/// Slots: from and to along the leg, mm; wide enough for a caliper's inner jaws.
const SLOTS: [(f64, f64); 2] = [(30.0, 35.0), (42.0, 52.0)];
/// What is left of the leg beside a slot, mm.
const WEB: f64 = 4.0;
/// Length of a mark, mm, and how far it is from the leg's end.
const MARK_LONG: f64 = 4.0;
const MARK_FROM: f64 = 2.0;

/// A leg along one axis as a rectangle between lengths `along` and `across` it.
fn on(axis: Axis, along: (f64, f64), across: (f64, f64)) -> Region {
    if axis == Axis::Y { bar(across, along) } else { bar(along, across) }
}

fn leg(axis: Axis) -> Region {
    let whole = on(axis, (0.0, LEG), (0.0, WIDTH));
    SLOTS.iter().fold(whole, |leg, slot| leg.difference(&on(axis, *slot, (WEB, WIDTH + WEB))))
}

/// One mark on the leg along x, two on that along y.
fn marks(axis: Axis, width: f64) -> Region {
    let places: &[f64] = if axis == Axis::X { &[0.5] } else { &[0.3, 0.7] };
    let along = (LEG - MARK_FROM - MARK_LONG, LEG - MARK_FROM);
    places.iter().fold(Region::empty(), |marks, place| {
        let middle = place * WIDTH;
        marks.union(&on(axis, along, (middle - 0.5 * width, middle + 0.5 * width)))
    })
}

fn both(region: impl Fn(Axis) -> Region) -> Region {
    region(Axis::X).union(&region(Axis::Y))
}

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let width = mark_width(context);
    let legs = both(leg);
    let marked = legs.difference(&both(|axis| marks(axis, width)));
    let shoulder = both(|axis| on(axis, (0.0, SHOULDER), (0.0, WIDTH)));
    let [low, middle, high] = HEIGHTS;
    let slabs = [
        Slab { bottom: 0.0, top: low - MARK, section: legs },
        Slab { bottom: low - MARK, top: low, section: marked },
        Slab { bottom: low, top: middle, section: shoulder },
        Slab { bottom: middle, top: high, section: bar((0.0, WIDTH), (0.0, WIDTH)) },
    ];
    let computed = computed();
    Ok(vec![body(context, values, "", &slabs, Told { computed, ..Told::default() })?])
}

fn computed() -> Vec<Computed> {
    let mut rows = Vec::new();
    let mut row = |key: String, what: String, value: f64, read: Measured, axis, at: String| {
        rows.push(Computed::new(key, what, value, Unit::Mm).read(read, Some(axis), at));
    };
    for (axis, marks) in [(Axis::X, "one mark"), (Axis::Y, "two marks")] {
        let word = axis.word();
        let leg = format!("the leg with {marks}");
        row(
            format!("leg_{word}"),
            format!("length of {leg}"),
            LEG,
            Measured::Outside,
            axis,
            format!("from end to end of {leg}, {ABOVE}"),
        );
        row(
            format!("shoulder_{word}"),
            format!("shoulder over {leg}"),
            SHOULDER,
            Measured::Outside,
            axis,
            format!("the middle step, along {leg}"),
        );
        row(
            format!("tower_{word}"),
            format!("tower, along {leg}"),
            WIDTH,
            Measured::Outside,
            axis,
            format!("the top of the tower, along {leg}"),
        );
        for (name, slot) in ["narrow", "wide"].into_iter().zip(SLOTS) {
            row(
                format!("{name}_slot_{word}"),
                format!("{name} slot of {leg}"),
                slot.1 - slot.0,
                Measured::Gap,
                axis,
                format!("inner jaws in the {name} slot of {leg}, {ABOVE}"),
            );
        }
        row(
            format!("first_layer_{word}"),
            format!("length of {leg} on the bed"),
            LEG,
            Measured::FirstLayer,
            axis,
            format!("from end to end of {leg}, the jaws' tips on the edge that lay on the bed"),
        );
    }
    for (name, height) in [("legs", HEIGHTS[0]), ("shoulder", HEIGHTS[1]), ("tower", HEIGHTS[2])] {
        row(
            format!("height_{name}"),
            format!("height of the {name}"),
            height,
            Measured::Outside,
            Axis::Z,
            format!("upright, from the bed's side to the top of the {name}"),
        );
    }
    rows
}
