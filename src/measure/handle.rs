//! The handle that parts are made for.

use super::bore::Bore;
use super::families::Conflict;
use super::param::{Default, Kind, Param, Unit};
use super::shown::number;
use super::values::Values;

/// Largest ovality as a share of the mean diameter that is taken as one bore;
/// beyond it a reading is more likely wrong, or of another place. Common
/// practice, no source.
const MAX_OVALITY: f64 = 0.03;

/// Rows of `[handle]`.
pub const HANDLE: &[Param] = &[
    Param {
        key: "name",
        kind: Kind::Text { max_len: 80, default: Default::Required },
        doc: "What you call the handle; it is printed on reports.",
    },
    Param {
        key: "bore",
        kind: Kind::Numbers {
            unit: Unit::Mm,
            min: 8.0,
            max: 120.0,
            count: (1, 36),
            optional: false,
        },
        doc: "Caliper readings of the bore's diameter, several turned and at several depths; \
              the smallest decides.",
    },
    Param {
        key: "bore_class",
        kind: Kind::Text { max_len: 8, default: Default::Absent },
        doc: "ISO 286 tolerance class of a bore made to drawing, as H7; bore is then the nominal \
              size alone, and caliper and ovality do not count.",
    },
    Param::number(
        "caliper",
        Unit::Mm,
        (0.0, 0.5),
        "Limit of error of the caliper, either way; inside jaws are worse than outside ones.",
    )
    .or(0.03),
    Param::number(
        "length",
        Unit::Mm,
        (10.0, 1500.0),
        "Length of the bore that an insert can use, from the end cap's face to the front.",
    ),
    Param::number(
        "outside",
        Unit::Mm,
        (9.0, 200.0),
        "Outside diameter of the handle at the switches, for depths measured from outside.",
    )
    .optional(),
    Param::note("note", 400, "Anything to remember about this handle."),
];

/// A measured handle. See [`super::frame`] for its frame.
#[derive(Clone, Debug)]
pub struct Handle {
    bore: Bore,
    values: Values,
}

impl Handle {
    /// A handle from values of [`HANDLE`]; `made_to` holds the limits of its
    /// bore's size (mm) if it has a tolerance class.
    ///
    /// # Errors
    /// Readings that cannot be of one bore, or a bore that is not inside the
    /// handle.
    pub(crate) fn new(values: Values, made_to: Option<(f64, f64)>) -> Result<Self, Conflict> {
        let conflict = |key, reason| Err(Conflict { key, reason });
        let bore = match (values.maybe_text("bore_class"), made_to) {
            (Some(class), Some((low, high))) => Bore::of_class(class, low, high),
            _ => Bore::new(values.numbers("bore"), values.number("caliper")),
        };
        let bore = bore.expect("the table's ranges make a bore");
        if let Some(ovality) = bore.ovality().filter(|o| *o > MAX_OVALITY * bore.mean()) {
            let reason = format!(
                "readings from {} to {} mm differ by {} mm, more than three parts in a hundred: a \
                 typing slip, or not of one bore",
                number(bore.smallest()),
                number(bore.largest()),
                number(ovality)
            );
            return conflict("bore", reason);
        }
        if let Some(outside) = values.maybe_number("outside").filter(|o| *o <= bore.largest()) {
            let (outside, largest) = (number(outside), number(bore.largest()));
            let reason =
                format!("outside {outside} mm is not more than the bore's largest {largest} mm");
            return conflict("outside", reason);
        }
        Ok(Self { bore, values })
    }

    /// The same handle for a part that finds another bore, as in a chassis.
    pub(crate) fn with_bore(&self, bore: Bore) -> Handle {
        Handle { bore, values: self.values.clone() }
    }

    /// What the person calls it.
    pub fn name(&self) -> &str {
        self.values.text("name")
    }

    /// Its bore.
    pub fn bore(&self) -> &Bore {
        &self.bore
    }

    /// Usable length of the bore, mm.
    pub fn length(&self) -> f64 {
        self.values.number("length")
    }

    /// Outside diameter at the switches, mm, if measured.
    pub fn outside(&self) -> Option<f64> {
        self.values.maybe_number("outside")
    }

    /// All values of [`HANDLE`], for reports and places.
    pub fn values(&self) -> &Values {
        &self.values
    }
}
