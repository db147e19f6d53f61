//! How a size is measured, by what its row says of it.

use crate::measure::{Kind, Param, Unit};

/// A way to measure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// The caliper's inside jaws, in a hole.
    Inside,
    /// The caliper's outside jaws, around a thing.
    Outside,
    /// The caliper's depth rod.
    Depth,
    /// From the end cap's face along the bore.
    Along,
    /// An angle about the bore, seen from the front.
    Angle,
    /// From a data sheet, or with another instrument.
    Sheet,
    /// A word, a name or a count.
    Word,
    /// How far a reading may be off: the spread of the readings, or the caliper's own sheet.
    Judge,
}

/// Words of keys for holes, depths and places.
const INSIDE: &[&str] = &["bore", "inner", "hole", "inside", "socket", "cavity"];
const DEPTH: &[&str] = &["depth", "recess", "tip", "reach", "rise", "shoulder", "travel", "stroke"];
const ALONG: &[&str] = &["z", "at", "from", "place", "position"];

impl Method {
    /// How the value of a row is measured.
    pub(crate) fn of(row: &Param) -> Method {
        let has = |words: &[&str]| row.key.split('_').any(|part| words.contains(&part));
        match row.kind {
            Kind::Number { unit: Unit::Degrees, .. } => Method::Angle,
            Kind::Number { unit: Unit::Mm, .. } | Kind::Numbers { unit: Unit::Mm, .. } => {
                match () {
                    () if row.doc.contains("end cap") => Method::Along,
                    () if has(INSIDE) => Method::Inside,
                    () if has(DEPTH) || row.doc.starts_with("How far") => Method::Depth,
                    () if has(ALONG) => Method::Along,
                    () => Method::Outside,
                }
            }
            Kind::Points { .. } => Method::Outside,
            Kind::Number { .. } | Kind::Numbers { .. } => Method::Sheet,
            _ => Method::Word,
        }
    }

    /// In a few words.
    pub fn words(self) -> &'static str {
        match self {
            Method::Inside => "inside jaws",
            Method::Outside => "outside jaws",
            Method::Depth => "depth rod",
            Method::Along => "from the end cap's face",
            Method::Angle => "angle, seen from the front",
            Method::Sheet => "data sheet",
            Method::Word => "word or name",
            Method::Judge => "how far off it may be",
        }
    }

    /// How it is done.
    pub fn advice(self) -> &'static str {
        match self {
            Method::Inside => {
                "Inside jaws along the axis, not tilted: rock them, and the largest reading is the \
                 diameter. Turn by a third between readings, and go deeper."
            }
            Method::Outside => {
                "Outside jaws flat on the faces, with no more force than holds them: rock them, and \
                 the smallest reading is the size there. Of several places, write the largest if \
                 the thing must go in."
            }
            Method::Depth => {
                "The caliper's end flat on the rim, the rod straight down to the floor; the rod's \
                 corner must not stand on a fillet."
            }
            Method::Along => {
                "From the face of the end cap's seat, along the bore; mark the place on tape and \
                 measure to the mark, or to both edges and take the middle."
            }
            Method::Angle => {
                "Look from the front with the switches up: 0 is up, left is positive. Arc along the \
                 tube / its radius x 57.3 gives degrees."
            }
            Method::Sheet => "From the maker's data sheet; else leave it to the profile.",
            Method::Word => "A word of those that are allowed, or the name of a profile.",
            Method::Judge => {
                "Half the spread of your readings, or the caliper's limit of error; the larger one."
            }
        }
    }
}
