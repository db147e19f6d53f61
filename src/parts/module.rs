//! What modules of a chassis have in common: a place along the bore, an outside
//! that fits it, a flat on the underside for the keel that joins them, and a
//! groove for wires that pass.

use super::around::bore;
use super::fit::BoreFit;
use super::mating::in_bore;
use super::{Calculation, Computed, Declared, PartContext, Refusal};
use crate::measure::frame::direction;
use crate::measure::{Default, Kind, Param, Unit, Values, Vec2, Vec3};
use crate::section::{Region, snap};
use crate::trade::wire::{Bundle, BundleInput, bundle};

/// Where a module's low end sits, for the tables of parts.
pub(super) const FROM_Z: Param = Param::number(
    "from_z",
    Unit::Mm,
    (0.0, 1500.0),
    "Where the part's low end sits, from the end cap.",
)
.or(0.0);

/// Depth of the keel's flat, for the tables of parts.
pub(super) const KEEL: Param = Param::number(
    "keel",
    Unit::Mm,
    (0.0, 12.0),
    "Depth of the flat along the underside (-y), from the outside, that leaves room for the \
     chassis' keel; 0 for none.",
)
.or(0.0);

/// Number of wires that pass, for the tables of parts.
pub(super) const WIRES: Param = Param {
    key: "wires",
    kind: Kind::Integer { min: 0, max: 16, default: Default::Value(0) },
    doc: "Number of wires that pass in a groove along the outside; 0 for no groove.",
};

/// The wire that passes, for the tables of parts.
pub(super) const WIRE: Param =
    Param::component("wire", "wires", "The wire, all alike.").or_word("awg28");

/// Where the groove lies, for the tables of parts.
pub(super) const GROOVE_AT: Param = Param::number(
    "groove_at",
    Unit::Degrees,
    (-360.0, 360.0),
    "Clocking of the groove for wires: 0 at the switches, counter-clockwise seen from the front.",
)
.or(90.0);

/// Room beside the wires, for the tables of parts.
pub(super) const SLACK: Param = Param::number(
    "slack",
    Unit::Percent,
    (0.0, 100.0),
    "Room in the groove beyond its bundle of wires.",
)
.or(15.0);

/// Step that distances of features are rounded to, mm: a caliper's own. What is
/// not equal then differs by more than the chord of a mesh.
const STEP_PER_MM: f64 = 100.0;

/// A distance rounded to a hundredth of a millimetre.
pub(super) fn level(value: f64) -> f64 {
    (value * STEP_PER_MM).round() / STEP_PER_MM
}

/// Depth of the keel's flat that the row [`KEEL`] asks for, mm, for an outside
/// of `radius` mm.
///
/// # Errors
/// A keel that reaches the bore's axis.
pub(super) fn keel_depth(radius: f64, values: &Values) -> Result<f64, Refusal> {
    let depth = snap(values.number("keel"));
    if depth < radius {
        return Ok(depth);
    }
    let what = format!(
        "a keel {depth:.2} mm deep reaches the bore's axis: the outside's radius is {radius:.2}"
    );
    Err(Refusal::new(what)
        .at(values, "keel")
        .hint(format!("a keel of {:.1} mm is a quarter of that radius", 0.25 * radius)))
}

/// Shallower keels than `depth` mm, to be tried for hints: the deepest first.
pub(super) fn keels_below(depth: f64) -> impl Iterator<Item = f64> {
    let steps = (depth / KEEL_STEP).ceil() as i64;
    (0..steps).rev().map(|i| i as f64 * KEEL_STEP)
}

/// Step of the keels that are tried, mm.
const KEEL_STEP: f64 = 0.5;

/// How far cuts reach beyond the outside, mm.
const BEYOND: f64 = 2.0;

/// A groove along the outside with a round bottom that a bundle of wires lies in.
#[derive(Clone, Debug)]
pub(super) struct Groove {
    /// Middle of its round bottom, mm.
    pub middle: Vec2,
    /// Radius of its bottom, half its width, mm.
    pub radius: f64,
    /// Distance of its bottom from the bore's axis, mm.
    pub floor: f64,
    input: BundleInput,
    bundle: Bundle,
}

/// The outside of a module in the bore.
#[derive(Clone, Debug)]
pub(super) struct Outside {
    /// Its fit, with the radius as drawn.
    pub fit: BoreFit,
    /// Depth of the keel's flat and its y, mm, if there is one.
    pub keel: Option<(f64, f64)>,
    /// The groove for wires, if any pass.
    pub groove: Option<Groove>,
}

impl Outside {
    /// What rows [`KEEL`], [`WIRES`], [`WIRE`], [`GROOVE_AT`], [`SLACK`] and
    /// those of the fit ask for.
    ///
    /// # Errors
    /// A keel or a groove that reaches the bore's axis, or each other.
    pub(super) fn new(context: &PartContext<'_>, values: &Values) -> Result<Outside, Refusal> {
        let fit = BoreFit::new(context, values);
        let radius = fit.radius;
        let depth = keel_depth(radius, values)?;
        let keel = (depth > 0.0).then(|| (depth, snap(depth - radius)));
        let wires = values.integer("wires");
        if wires == 0 {
            return Ok(Outside { fit, keel, groove: None });
        }
        let input = BundleInput {
            wires,
            wire_mm: values.component("wire").number("outer"),
            slack_percent: values.number("slack"),
            flat_depth_mm: None,
        };
        let bundle = bundle(&input).map_err(|e| Refusal::new(e.to_string()).at(values, "wires"))?;
        let half = snap(0.5 * bundle.duct_mm);
        let way = direction(values.number("groove_at"));
        // The bundle lies just within the outside.
        let middle = way * (radius - half);
        let middle = Vec2::new(snap(middle.x), snap(middle.y));
        let floor = middle.norm() - half;
        if floor <= 0.0 {
            let what = format!(
                "the groove for {wires} wires is {:.2} mm deep and reaches the bore's axis: the \
                 outside's radius is {radius:.2}",
                2.0 * half
            );
            return Err(Refusal::new(what).at(values, "wires").hint("take fewer or thinner wires"));
        }
        if let Some((_, y)) = keel
            && middle.y - half < y + context.printer.number("wall_supported")
        {
            let what = format!(
                "the groove for wires runs into the keel's flat: its lowest point is at y {:.2}, \
                 the flat at {y:.2} with a wall of {:.2} over it",
                middle.y - half,
                context.printer.number("wall_supported")
            );
            return Err(Refusal::new(what)
                .at(values, "groove_at")
                .hint("put it nearer to 90 or 270 degrees"));
        }
        Ok(Outside {
            fit,
            keel,
            groove: Some(Groove { middle, radius: half, floor, input, bundle }),
        })
    }

    /// Widens the bore by `more` mm all around; keel and groove stay as deep as they are.
    pub(super) fn widen(&mut self, more: f64) {
        self.fit.radius = snap(self.fit.radius + more);
        self.fit.bore += 2.0 * more;
        if let Some((_, y)) = &mut self.keel {
            *y = snap(*y - more);
        }
        if let Some(groove) = &mut self.groove {
            groove.middle += groove.middle.normalize() * more;
        }
    }

    /// What is cut from any section within the outside: keel and groove.
    pub(super) fn cuts(&self) -> Region {
        let far = self.fit.radius + BEYOND;
        let keel = self.keel.map_or_else(Region::empty, |(_, y)| {
            Region::rectangle(Vec2::new(-far, -far), Vec2::new(far, y))
        });
        match &self.groove {
            None => keel,
            Some(groove) => {
                let way = groove.middle / groove.middle.norm();
                keel.union(&Region::slot(groove.middle, way * (far + groove.radius), groove.radius))
            }
        }
    }

    /// The whole section: the bore's circle less keel and groove.
    pub(super) fn region(&self) -> Region {
        Region::disc(Vec2::zeros(), self.fit.radius).difference(&self.cuts())
    }

    /// Rows of a report that say how the outside came about.
    pub(super) fn computed(&self) -> Vec<Computed> {
        let mut rows = self.fit.computed();
        if let Some((_, y)) = self.keel {
            rows.push(Computed::new("keel_y", "height of the keel's flat", y, Unit::Mm));
        }
        if let Some(groove) = &self.groove {
            let width = 2.0 * groove.radius;
            rows.push(Computed::new("groove_width", "width of the wires' groove", width, Unit::Mm));
            let floor = groove.floor;
            let what = "distance of the groove's bottom from the axis";
            rows.push(Computed::new("groove_floor", what, floor, Unit::Mm));
        }
        rows
    }

    /// The calculation behind the groove.
    pub(super) fn worked(&self) -> Vec<Calculation> {
        Calculation::list(self.groove.iter().map(|g| ("the wires' groove", g.input.worked())))
    }

    /// Bundle and duct of the groove, if there is one.
    pub(super) fn bundle(&self) -> Option<&Bundle> {
        self.groove.as_ref().map(|g| &g.bundle)
    }

    /// What every module states: its outside in the bore, and the bore around
    /// it. `at` is a point of the outside, `high` the module's high end, mm.
    pub(super) fn declared(
        &self,
        context: &PartContext<'_>,
        values: &Values,
        at: Vec3,
        high: f64,
    ) -> Declared {
        let matings = in_bore(context, values, &self.fit, at);
        let mut declared = Declared { matings, ..Declared::default() };
        bore(&mut declared, context, values, &self.fit, high);
        declared
    }
}
