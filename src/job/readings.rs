//! Readings of test prints: from a text to sizes that can be fitted.

use std::sync::Arc;

use super::{note, read_format};
use crate::correct::{Compensation, MAX_FIT_ROWS, SizeRow};
use crate::measure::{
    Axis, Conflict, Default, Faults, Kind, Library, MAX_NAME, Measured, Param, Place, Reader,
    Source, Unit, Values, bad_name, no_files, number, parse,
};

/// Most readings of one size. Common practice, no source.
const MOST_READINGS: usize = 100;
/// A reading further from the drawn size than this, mm and as a share of the
/// size, is a slip of the pen. Common practice, no source.
const SLIP: (f64, f64) = (1.5, 0.05);

/// Rows of a size that was read.
const SIZE: &[Param] = &[
    Param::choice(
        "what",
        Measured::WORDS,
        "Outside to outside, across a gap, across an upright round hole, or outside to outside on \
         the layer that lay on the bed.",
    ),
    Param {
        key: "axis",
        kind: Kind::Choice { options: Axis::WORDS, default: Default::Absent },
        doc: "Axis of the printer along which it was read; may be left out for a hole read both ways.",
    },
    Param::number("nominal", Unit::Mm, (0.2, 2000.0), "The size as wanted: that of the STEP."),
    Param {
        key: "readings",
        kind: Kind::Numbers {
            unit: Unit::Mm,
            min: 0.0,
            max: 2000.0,
            count: (1, MOST_READINGS),
            optional: false,
        },
        doc: "What the caliper said, each time at another place; three are good.",
    },
    Param {
        key: "name",
        kind: Kind::Text { max_len: 2 * MAX_NAME, default: Default::Absent },
        doc: "What messages call it; left out, its place in the file.",
    },
    Param::flag("sure", "Whether it was read again, so that it stands although it is far off."),
];

/// Rows of a file of readings, besides its format.
pub const READINGS: &[Param] = &[
    Param::component("printer", "printers", "The printer that made the test pieces."),
    Param::number("caliper", Unit::Mm, (0.0, 0.5), "Limit of error of the caliper, either way.")
        .or(0.02),
    Param::flag(
        "plain",
        "Whether the files that were printed make up for nothing, as those of another program; else \
         what the printer's profile has is taken into account.",
    ),
    Param {
        key: "material",
        kind: Kind::Text { max_len: MAX_NAME, default: Default::Absent },
        doc: "What it was printed with, for the notes of the profile.",
    },
    Param {
        key: "name",
        kind: Kind::Text { max_len: MAX_NAME, default: Default::Absent },
        doc: "Name of the profile that is written; left out, that of the printer with -measured.",
    },
    Param {
        key: "date",
        kind: Kind::Text { max_len: 10, default: Default::Absent },
        doc: "Day of the readings, as 2026-03-31, for the profile's source.",
    },
    Param::number(
        "fit_press",
        Unit::Mm,
        (-0.5, 0.5),
        "Clearance, as the caliper reads it, at which a peg goes in with a push; for the profile.",
    )
    .optional(),
    Param::number(
        "fit_slide",
        Unit::Mm,
        (0.0, 2.0),
        "Clearance, as the caliper reads it, at which a peg slides without play; for the profile.",
    )
    .optional(),
    Param::number(
        "fit_loose",
        Unit::Mm,
        (0.0, 3.0),
        "Clearance, as the caliper reads it, at which a peg always goes in; for the profile.",
    )
    .optional(),
    Param::number(
        "wall_free",
        Unit::Mm,
        (0.1, 5.0),
        "Thinnest free wall that stood whole; for the profile.",
    )
    .optional(),
    Param::number(
        "overhang",
        Unit::Degrees,
        (0.0, 90.0),
        "Steepest overhang from upright whose underside was clean; for the profile.",
    )
    .optional(),
    Param {
        key: "size",
        kind: Kind::List { rows: SIZE, count: (1, MAX_FIT_ROWS), starts: 1 },
        doc: "Each size that was read.",
    },
];

/// Rows of the printer that are seen or tried, not computed.
const SEEN: &[&str] = &["fit_press", "fit_slide", "fit_loose", "wall_free", "overhang"];
/// Rows of a printer of which the first is at most the second.
const IN_ORDER: [(&str, &str); 2] = [("fit_press", "fit_slide"), ("fit_slide", "fit_loose")];

/// A file of readings that is right.
#[derive(Clone, Debug)]
pub struct Readings {
    values: Values,
    sizes: Vec<SizeRow>,
}

impl Readings {
    /// Reads a file of readings.
    ///
    /// # Errors
    /// All that is wrong, in the order in which it is written.
    pub fn read(source: &Arc<Source>, library: &Library) -> Result<Self, Faults> {
        let mut faults = Faults::default();
        let document = parse(source, &mut faults);
        if !faults.is_empty() {
            return Err(faults);
        }
        let mut reader = Reader { source, library, faults: &mut faults, files: &no_files };
        let top = document.get_ref();
        read_format(&mut reader, top.get("format"));
        let place = Place::new(source, 0..0);
        let values = reader.table(top, place, READINGS, "", &["format"]);
        let sizes = values.as_ref().map(|values| sizes(&mut reader, values));
        let read = values.zip(sizes).map(|(values, sizes)| Self { values, sizes });
        faults.or_value(read)
    }

    /// The printer that made the test pieces.
    pub fn printer(&self) -> &Values {
        self.values.component("printer")
    }

    /// What the files that were printed made up for.
    pub fn made_up(&self) -> Option<Compensation> {
        if self.values.flag("plain") { None } else { Compensation::of(self.printer()) }
    }

    /// Limit of error of the caliper, mm.
    pub fn caliper(&self) -> f64 {
        self.values.number("caliper")
    }

    /// What it was printed with, if that is written.
    pub fn material(&self) -> Option<&str> {
        self.values.maybe_text("material")
    }

    /// What was seen and tried on the pieces: rows of the printer, with their values.
    /// A wall that stands free also stands where it is held.
    pub fn seen(&self) -> impl Iterator<Item = (&'static str, f64)> {
        let held = self.printer().number("wall_supported");
        let free = self.values.maybe_number("wall_free").filter(|free| *free < held);
        let seen = SEEN.iter().filter_map(|key| Some((*key, self.values.maybe_number(key)?)));
        seen.chain(free.map(|free| ("wall_supported", free)))
    }

    /// Name of the profile to write.
    pub fn name(&self) -> String {
        let named = self.values.maybe_text("name").map(str::to_owned);
        let base = self.printer().profile().unwrap_or("printer");
        named.unwrap_or_else(|| format!("{base}-measured"))
    }

    /// Day of the readings, if that is written.
    pub fn date(&self) -> Option<&str> {
        self.values.maybe_text("date")
    }

    /// The sizes, in the order of the file.
    pub fn sizes(&self) -> &[SizeRow] {
        &self.sizes
    }

    /// Whether a size was read again and stands.
    pub fn is_sure(&self, size: usize) -> bool {
        self.values.list("size")[size].flag("sure")
    }

    /// Line of the readings of a size.
    pub fn line(&self, size: usize) -> Option<usize> {
        self.values.list("size")[size].place("readings").map(|place| place.line_column().0)
    }
}

fn sizes(reader: &mut Reader<'_>, values: &Values) -> Vec<SizeRow> {
    let mut fail = |values: &Values, key, reason| note(reader, values, Conflict { key, reason });
    if let Some(name) = values.maybe_text("name")
        && let Some(reason) = bad_name(name)
    {
        fail(values, "name", format!("the name {reason}"));
    }
    if let Some(date) = values.maybe_text("date")
        && !super::time::is_stamp(&format!("{date}T00:00:00"))
    {
        fail(values, "date", format!("{} is no day as 2026-03-31", crate::measure::quoted(date)));
    }
    for (low, high) in IN_ORDER {
        // What is not written here stays as the printer has it.
        let own = |key| SEEN.contains(&key).then(|| values.maybe_number(key)).flatten();
        let printer = values.component("printer");
        let [less, more] = [low, high].map(|key| own(key).unwrap_or(printer.number(key)));
        let key = if own(high).is_some() { high } else { low };
        if own(key).is_some() && less > more {
            let [less, more] = [less, more].map(number);
            let reason = format!(
                "{low} {less} mm would be more than {high} {more} mm: write both, as the caliper \
                 reads them"
            );
            fail(values, key, reason);
        }
    }
    let mut sizes = Vec::new();
    for (i, row) in values.list("size").iter().enumerate() {
        let what = Measured::of(row.choice("what")).expect("a word of the row");
        let axis = row.maybe_choice("axis").and_then(Axis::of);
        match (what, axis) {
            (Measured::Outside | Measured::Gap | Measured::FirstLayer, None) => {
                fail(row, "axis", format!("say along which axis the {} was read", what.word()));
            }
            (Measured::Hole, Some(Axis::Z)) => {
                let reason =
                    "holes that lie are not fitted: take out the row, or read an upright one";
                fail(row, "axis", reason.to_owned());
            }
            (Measured::FirstLayer, Some(Axis::Z)) => {
                fail(row, "axis", "the first layer is read along x or y".to_owned());
            }
            _ => {}
        }
        let (nominal, readings) = (row.number("nominal"), row.numbers("readings"));
        let room = SLIP.0 + SLIP.1 * nominal;
        if let Some(far) = readings.iter().find(|r| (**r - nominal).abs() > room) {
            let (far, nominal, room) = (number(*far), number(nominal), number(room));
            let reason = format!(
                "{far} mm is more than {room} mm from the {nominal} mm wanted: a slip of the pen?"
            );
            fail(row, "readings", reason);
        }
        let place = || match axis {
            Some(axis) => format!("size[{}], {} {}", i + 1, what.word(), axis.word()),
            None => format!("size[{}], {}", i + 1, what.word()),
        };
        let name = row.maybe_text("name").map_or_else(place, str::to_owned);
        sizes.push(SizeRow { name, what, axis, nominal, readings: readings.to_vec() });
    }
    sizes
}
