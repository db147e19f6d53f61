//! The sizes of a body that a drawing shows: those that its part has placed, its outside
//! where it is round, and how large it is over all.

use crate::job::MadeBody;
use crate::measure::{Measured, Unit, Vec3};
use crate::mesh::{Mesh, closest_on_triangle};
use crate::parts::{Computed, Span};

/// Sizes that differ by less than this between the same places are one, mm.
const SAME: f64 = 1e-6;

/// How far a place that is felt for may be from the mesh, mm: its chord and float noise.
const TOUCHES: f64 = 0.011;

/// Levels at which a round outside is felt for, as shares of the body's length: the middle
/// first, where ends have no chamfers.
const LEVELS: [f64; 7] = [0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92];

/// A size between two places of a body.
#[derive(Clone, Debug, PartialEq)]
pub struct Size {
    /// Its key: that of the report's row, or `over_all_length`, `over_all_width`,
    /// `over_all_height`.
    pub key: String,
    /// What it is, for people.
    pub what: String,
    /// The unit direction that it is measured along.
    pub along: Vec3,
    /// The two places, mm.
    pub span: Span,
    /// Lower and upper deviation of a print, mm, where a fit counts on it.
    pub tolerance: Option<(f64, f64)>,
}

impl Size {
    /// The size of the solid, mm.
    pub fn value(&self) -> f64 {
        (self.span.to - self.span.from).dot(&self.along).abs()
    }

    fn new(key: &str, what: &str, along: Vec3, span: Span) -> Size {
        Size { key: key.to_owned(), what: what.to_owned(), along, span, tolerance: None }
    }

    /// Whether another is the same size between the same levels.
    fn repeats(&self, other: &Size) -> bool {
        let level = |size: &Size| {
            let (a, b) = (size.span.from.dot(&self.along), size.span.to.dot(&self.along));
            (a.min(b), a.max(b))
        };
        let (own, others) = (level(self), level(other));
        self.along.cross(&other.along).norm() < SAME
            && (own.0 - others.0).abs() < SAME
            && (own.1 - others.1).abs() < SAME
    }
}

/// The sizes of a body, each once; `up` is the direction of its views that is up, square to
/// the bore's axis.
pub fn sizes(made: &MadeBody, up: Vec3) -> Vec<Size> {
    let aside = Vec3::z().cross(&up);
    let mut all: Vec<Size> = Vec::new();
    let mut add = |size: Size| {
        if !all.iter().any(|known| known.repeats(&size)) {
            all.push(size);
        }
    };
    for row in made.body.computed.iter().filter(|row| row.unit == Unit::Mm) {
        if let Some(span) = row.span.or_else(|| felt(row, made, [aside, up])) {
            let along = (span.to - span.from).normalize();
            let tolerance = tolerance(made, row.value);
            add(Size { tolerance, ..Size::new(&row.key, &row.what, along, span) });
        }
    }
    let whole = [
        ("over_all_length", "length over all, along the bore", Vec3::z()),
        ("over_all_height", "height over all", up),
        ("over_all_width", "width over all", aside),
    ];
    for (key, what, along) in whole {
        let solid = &made.body.solid;
        let span = Span {
            from: solid.furthest(-along),
            to: solid.furthest(along),
            round: false,
            open: false,
        };
        add(Size::new(key, what, along, span));
    }
    all
}

/// Where a round outside is on the body, across one of two ways.
fn felt(row: &Computed, made: &MadeBody, ways: [Vec3; 2]) -> Option<Span> {
    let reading = row.reading.as_ref()?;
    if reading.what != Measured::Outside || reading.axis.is_some() {
        return None;
    }
    let (low, high) = (made.bounds.0.z, made.bounds.1.z);
    let tries = ways.into_iter().flat_map(|way| LEVELS.map(|share| (way, share)));
    tries
        .map(|(way, share)| {
            let middle = Vec3::z() * (low + (high - low) * share);
            let half = way * (0.5 * row.value);
            Span { from: middle - half, to: middle + half, round: true, open: false }
        })
        .find(|span| touches(&made.mesh, span.from) && touches(&made.mesh, span.to))
}

/// Whether a place is on the surface.
fn touches(mesh: &Mesh, p: Vec3) -> bool {
    (0..mesh.triangles().len()).any(|i| {
        let corners = mesh.corners(i);
        let low = corners[0].inf(&corners[1]).inf(&corners[2]);
        let high = corners[0].sup(&corners[1]).sup(&corners[2]);
        let away = (low - p).sup(&(p - high)).max();
        away <= TOUCHES && (closest_on_triangle(&p, &corners) - p).norm() <= TOUCHES
    })
}

/// How far a print may be from a size by what its fits count on: the reach of the term that
/// stands for that printed size in a chain.
fn tolerance(made: &MadeBody, value: f64) -> Option<(f64, f64)> {
    let terms = made.body.declared.matings.iter().flat_map(|mating| &mating.terms);
    let term = terms
        .filter(|term| term.what.ends_with("printed"))
        .find(|term| (term.value.abs() - value).abs() < SAME)?;
    // A size that closes the gap has its deviations the other way round there.
    let (low, high) = term.reach;
    Some(if term.value < 0.0 { (-high, -low) } else { (low, high) })
}
