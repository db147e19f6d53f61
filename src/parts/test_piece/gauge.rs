//! Rings as thick slices of a part's outside, at five fits, to try in the bore.

use super::super::build::Slab;
use super::super::fixing::Axes;
use super::super::marks::line;
use super::super::module::keel_depth;
use super::super::{Body, Computed, PartContext, Refusal};
use super::{ABOVE, MARK, TestPiece, Told, body, mark_width};
use crate::measure::frame::direction;
use crate::measure::{Axis, Measured, Unit, Values, Vec2};
use crate::section::{Region, snap};

pub(super) const GAUGE: TestPiece = TestPiece {
    name: "gauge",
    summary: "rings for this handle's bore at five fits, told apart by notches",
    look: "wipe the bore; try the ring with five notches first, then four, and so on, each by hand \
           through the whole bore: the ring that just goes in with a push is fit_press, the one that \
           slides without play fit_slide, the one that always goes fit_loose; the clearance of each \
           is in the table of pieces. Never force one in: the bore may be narrower further in",
    for_bore: true,
    beyond: &[],
    make,
};

/// How many rings.
const RINGS: u32 = 5;
/// Height of a ring, mm.
const HEIGHT: f64 = 4.0;
/// Wall of a ring where the printer's least is thinner, mm: stiff enough not to give.
/// Common practice, no source.
const WALL: f64 = 3.2;
/// Clocking of the middle of the notches, degrees: between x and y, where nobody reads.
const NOTCHES_AT: f64 = -45.0;
/// Largest angle over all notches, degrees, so that x and y stay free.
const SPAN: f64 = 70.0;
/// What the walls between notches have beyond the printer's least, mm: chords of their corners.
const SPARE: f64 = 0.1;
/// How far notches reach beyond the outside, mm.
const BEYOND: f64 = 1.0;
/// Ring that has lines in the readings.
const READ: u32 = 3;

/// Lengths of all rings, mm.
struct Gauge {
    bore: f64,
    wall: f64,
    /// Clearances on the diameter of the first ring and of the last.
    fits: (f64, f64),
    notch: f64,
    /// From one notch to the next at the hole: what is left between them is a wall.
    pitch: f64,
    keel: f64,
}

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let printer = context.printer;
    let (notch, between) = (mark_width(context), printer.number("wall_supported") + SPARE);
    let gauge = Gauge {
        bore: context.handle.bore().sure(),
        wall: printer.number("wall_supported").max(WALL),
        fits: (printer.number("fit_press"), printer.number("fit_loose")),
        notch,
        pitch: notch + notch.max(between),
        keel: snap(values.number("keel")),
    };
    keel_depth(gauge.radius(RINGS), values)?;
    let turn = gauge.turn();
    if f64::from(RINGS - 1) * turn > SPAN {
        let radius = f64::from(RINGS - 1) * gauge.pitch / SPAN.to_radians();
        let needed = 2.0 * (radius + gauge.wall) + gauge.fits.1;
        let what = format!(
            "rings with {RINGS} notches need a bore of {needed:.1} mm; yours is {:.2}",
            gauge.bore
        );
        return Err(Refusal::new(what)
            .at(context.handle.values(), "bore")
            .hint("leave this piece out: name the others with --piece"));
    }
    (1..=RINGS).map(|ring| gauge.ring(context, values, ring, turn)).collect()
}

impl Gauge {
    fn clearance(&self, ring: u32) -> f64 {
        let share = f64::from(ring - 1) / f64::from(RINGS - 1);
        self.fits.0 + share * (self.fits.1 - self.fits.0)
    }

    fn radius(&self, ring: u32) -> f64 {
        snap(0.5 * (self.bore - self.clearance(ring)))
    }

    /// Angle from notch to notch, degrees.
    fn turn(&self) -> f64 {
        (self.pitch / (self.radius(RINGS) - self.wall).max(self.notch)).to_degrees()
    }

    fn ring(
        &self,
        context: &PartContext<'_>,
        values: &Values,
        ring: u32,
        turn: f64,
    ) -> Result<Body, Refusal> {
        let outer = self.radius(ring);
        let inner = snap(outer - self.wall);
        // As in the parts, the keel's flat is cut from the outside; the wall goes along.
        let flat = |radius: f64| {
            let y = self.keel - radius;
            let far = outer + BEYOND;
            let disc = Region::disc(Vec2::zeros(), radius);
            if self.keel == 0.0 {
                return disc;
            }
            disc.difference(&Region::rectangle(Vec2::new(-far, -far), Vec2::new(far, snap(y))))
        };
        let plain = flat(outer).difference(&flat(inner));
        let first = NOTCHES_AT - 0.5 * f64::from(ring - 1) * turn;
        let notched = (0..ring).fold(plain.clone(), |section, k| {
            let axes = Axes::new(direction(first + f64::from(k) * turn));
            section.difference(&line(&axes, self.notch, 0.5 * inner, outer + BEYOND))
        });
        let slabs = [
            Slab { bottom: 0.0, top: HEIGHT - MARK, section: plain },
            Slab { bottom: HEIGHT - MARK, top: HEIGHT, section: notched },
        ];
        let computed = self.computed(ring);
        body(context, values, &format!("-{ring}"), &slabs, Told { computed, ..Told::default() })
    }

    fn computed(&self, ring: u32) -> Vec<Computed> {
        let outside = 2.0 * self.radius(ring);
        let mut rows = vec![Computed::new(
            "clearance",
            "clearance on the diameter in the smallest sure bore",
            self.bore - outside,
            Unit::Mm,
        )];
        for axis in [Axis::X, Axis::Y] {
            // The keel's flat lies across y.
            let value = if axis == Axis::Y { outside - self.keel } else { outside };
            let word = axis.word();
            let what = format!("outside along {word}");
            let row = Computed::new(format!("outside_{word}"), what, value, Unit::Mm);
            let way = if axis == Axis::X { "left to right" } else { "top to bottom" };
            let at = format!(
                "over the ring with {ring} notches, {way} with the notches at the upper right, {ABOVE}"
            );
            rows.push(if ring == READ { row.read(Measured::Outside, Some(axis), at) } else { row });
        }
        rows
    }
}
