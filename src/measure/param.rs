//! Tables that describe what a person may enter: one row per value, with unit,
//! range, default and meaning. The job file, the calculators and the help
//! texts are all read against these tables, so that they cannot disagree.

/// Unit of a number as a person enters and reads it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Unit {
    /// Millimetres.
    Mm,
    /// Square millimetres.
    Mm2,
    /// Cubic millimetres.
    Mm3,
    /// Degrees of angle.
    Degrees,
    /// Newtons.
    Newton,
    /// Newtons per millimetre.
    NewtonPerMm,
    /// Megapascals (N/mm2).
    Megapascal,
    /// Percent.
    Percent,
    /// Degrees Celsius.
    Celsius,
    /// Kelvin, for differences of temperature.
    Kelvin,
    /// Reciprocal kelvin times 1e-6 (thermal expansion).
    MicroPerKelvin,
    /// Grams.
    Gram,
    /// Grams per cubic centimetre.
    GramPerCm3,
    /// Micrometres.
    Micrometre,
    /// Nanometres.
    Nanometre,
    /// Amperes.
    Ampere,
    /// Volts.
    Volt,
    /// Millivolts.
    Millivolt,
    /// Milliohms.
    Milliohm,
    /// Milliohms per metre.
    MilliohmPerMetre,
    /// Milliwatts.
    Milliwatt,
    /// Millimetres per second.
    MmPerSecond,
    /// Seconds.
    Second,
    /// Minutes.
    Minute,
    /// Metres.
    Metre,
    /// A plain ratio or count.
    One,
}

impl Unit {
    /// The unit as printed after a number; empty for [`Unit::One`].
    pub fn symbol(self) -> &'static str {
        match self {
            Unit::Mm => "mm",
            Unit::Mm2 => "mm2",
            Unit::Mm3 => "mm3",
            Unit::Degrees => "deg",
            Unit::Newton => "N",
            Unit::NewtonPerMm => "N/mm",
            Unit::Megapascal => "MPa",
            Unit::Percent => "%",
            Unit::Celsius => "degC",
            Unit::Kelvin => "K",
            Unit::MicroPerKelvin => "1e-6/K",
            Unit::Gram => "g",
            Unit::GramPerCm3 => "g/cm3",
            Unit::Micrometre => "um",
            Unit::Nanometre => "nm",
            Unit::Ampere => "A",
            Unit::Volt => "V",
            Unit::Millivolt => "mV",
            Unit::Milliohm => "mOhm",
            Unit::MilliohmPerMetre => "mOhm/m",
            Unit::Milliwatt => "mW",
            Unit::MmPerSecond => "mm/s",
            Unit::Second => "s",
            Unit::Minute => "min",
            Unit::Metre => "m",
            Unit::One => "",
        }
    }
}

/// One row of a table: a key that a person may write, and what it means.
#[derive(Clone, Copy, Debug)]
pub struct Param {
    /// The key, lower case with underscores.
    pub key: &'static str,
    /// What may be written.
    pub kind: Kind,
    /// One sentence for help, report and form.
    pub doc: &'static str,
}

/// What may stand behind a key.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub enum Kind {
    /// A finite number in `[min, max]`.
    Number {
        /// Unit of value, range and default.
        unit: Unit,
        /// Smallest allowed value.
        min: f64,
        /// Largest allowed value.
        max: f64,
        /// Value when the key is left out.
        default: Default<f64>,
    },
    /// A whole number in `[min, max]`.
    Integer {
        /// Smallest allowed value.
        min: i64,
        /// Largest allowed value.
        max: i64,
        /// Value when the key is left out.
        default: Default<i64>,
    },
    /// `true` or `false`.
    Flag {
        /// Value when the key is left out.
        default: bool,
    },
    /// One of a few words.
    Choice {
        /// The words.
        options: &'static [&'static str],
        /// Word when the key is left out.
        default: Default<&'static str>,
    },
    /// Free text of at most `max_len` characters on one line.
    Text {
        /// Longest allowed text.
        max_len: usize,
        /// Text when the key is left out.
        default: Default<&'static str>,
    },
    /// A list of numbers, each in `[min, max]`.
    Numbers {
        /// Unit of each number.
        unit: Unit,
        /// Smallest allowed value.
        min: f64,
        /// Largest allowed value.
        max: f64,
        /// Fewest and most numbers.
        count: (usize, usize),
        /// Whether the key may be left out (the list is then empty).
        optional: bool,
    },
    /// A list of `[x, y]` points in mm, each coordinate in `[min, max]`.
    Points {
        /// Smallest allowed coordinate.
        min: f64,
        /// Largest allowed coordinate.
        max: f64,
        /// Fewest and most points.
        count: (usize, usize),
        /// Whether the key may be left out (the list is then empty).
        optional: bool,
    },
    /// A component: the name of a profile, or a table of its fields, or both
    /// (`{ profile = "name", field = measured }`).
    Component {
        /// Which family of profiles.
        family: &'static str,
        /// Profile when the key is left out.
        default: Default<&'static str>,
    },
    /// A table of further keys.
    Table {
        /// Its rows.
        rows: &'static [Param],
        /// Whether it may be left out (it is then absent, not defaulted).
        optional: bool,
    },
    /// A list of tables.
    List {
        /// The rows of each table.
        rows: &'static [Param],
        /// Fewest and most tables.
        count: (usize, usize),
    },
}

/// What a value is when its key is left out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Default<T> {
    /// The key must be written.
    Required,
    /// The value is absent.
    Absent,
    /// This value.
    Value(T),
}
