//! Tables that describe what a person may enter: one row per value, with unit,
//! range, default and meaning. The job file, the calculators and the help
//! texts are all read against these tables, so that they cannot disagree.

use super::{hint, shown};

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
    /// Newton millimetres (torque).
    NewtonMm,
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
            Unit::NewtonMm => "N mm",
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
    /// The name of a file beside the job, read with it; absent when left out.
    File {
        /// What the file's name may end with, without the point, lower case.
        endings: &'static [&'static str],
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
        /// Tables that a new job starts with, to be filled in.
        starts: usize,
    },
}

/// What a value is when its key is left out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Default<T> {
    /// The key must be written.
    Required,
    /// The value is absent.
    Absent,
    /// The value is absent, but `new` asks for it: most who make the part must
    /// measure it.
    Asked,
    /// This value.
    Value(T),
}

impl Param {
    /// A required number in `[min, max]`.
    pub const fn number(
        key: &'static str,
        unit: Unit,
        (min, max): (f64, f64),
        doc: &'static str,
    ) -> Self {
        Self { key, kind: Kind::Number { unit, min, max, default: Default::Required }, doc }
    }

    /// A required component of a family.
    pub const fn component(key: &'static str, family: &'static str, doc: &'static str) -> Self {
        Self { key, kind: Kind::Component { family, default: Default::Required }, doc }
    }

    /// A required word out of `options`.
    pub const fn choice(
        key: &'static str,
        options: &'static [&'static str],
        doc: &'static str,
    ) -> Self {
        Self { key, kind: Kind::Choice { options, default: Default::Required }, doc }
    }

    /// An optional text, absent when left out.
    pub const fn note(key: &'static str, max_len: usize, doc: &'static str) -> Self {
        Self { key, kind: Kind::Text { max_len, default: Default::Absent }, doc }
    }

    /// A file beside the job, absent when left out.
    pub const fn file(
        key: &'static str,
        endings: &'static [&'static str],
        doc: &'static str,
    ) -> Self {
        Self { key, kind: Kind::File { endings }, doc }
    }

    /// A flag that is false when left out.
    pub const fn flag(key: &'static str, doc: &'static str) -> Self {
        Self { key, kind: Kind::Flag { default: false }, doc }
    }

    /// The same number with a default.
    ///
    /// # Panics
    /// If the row is no number: a mistake in a table, found when compiling.
    pub const fn or(self, value: f64) -> Self {
        match self.kind {
            Kind::Number { unit, min, max, .. } => {
                let kind = Kind::Number { unit, min, max, default: Default::Value(value) };
                Self { kind, ..self }
            }
            _ => panic!("only a number has a number for default"),
        }
    }

    /// The same choice or component with a default.
    ///
    /// # Panics
    /// If the row is neither: a mistake in a table, found when compiling.
    pub const fn or_word(self, word: &'static str) -> Self {
        let default = Default::Value(word);
        let kind = match self.kind {
            Kind::Choice { options, .. } => Kind::Choice { options, default },
            Kind::Component { family, .. } => Kind::Component { family, default },
            _ => panic!("only a choice or a component has a word for default"),
        };
        Self { kind, ..self }
    }

    /// The same number, absent when left out.
    ///
    /// # Panics
    /// If the row is no number: a mistake in a table, found when compiling.
    pub const fn optional(self) -> Self {
        match self.kind {
            Kind::Number { unit, min, max, .. } => {
                let kind = Kind::Number { unit, min, max, default: Default::Absent };
                Self { kind, ..self }
            }
            _ => panic!("only a number is made optional so"),
        }
    }

    /// The same optional number, which a new job asks for.
    ///
    /// # Panics
    /// If the row is no number: a mistake in a table, found when compiling.
    pub const fn asked(self) -> Self {
        match self.kind {
            Kind::Number { unit, min, max, .. } => {
                let kind = Kind::Number { unit, min, max, default: Default::Asked };
                Self { kind, ..self }
            }
            _ => panic!("only a number is asked for so"),
        }
    }

    /// Whether a new job asks for the key: it is required, or most need it.
    pub fn asks(&self) -> bool {
        let asked = match self.kind {
            Kind::Number { default, .. } => default == Default::Asked,
            Kind::List { starts, .. } => starts > 0,
            _ => false,
        };
        asked || self.required()
    }

    /// Whether the key must be written.
    pub fn required(&self) -> bool {
        match self.kind {
            Kind::Number { default, .. } => default == Default::Required,
            Kind::Integer { default, .. } => default == Default::Required,
            Kind::Flag { .. } | Kind::File { .. } => false,
            Kind::Choice { default, .. }
            | Kind::Text { default, .. }
            | Kind::Component { default, .. } => default == Default::Required,
            Kind::Numbers { optional, .. }
            | Kind::Points { optional, .. }
            | Kind::Table { optional, .. } => !optional,
            Kind::List { count, .. } => count.0 > 0,
        }
    }

    /// The value that stands for a key that is left out, as TOML; none where
    /// the key is required or simply absent.
    pub fn default_text(&self) -> Option<String> {
        fn given<T>(default: Default<T>) -> Option<T> {
            match default {
                Default::Value(value) => Some(value),
                Default::Required | Default::Absent | Default::Asked => None,
            }
        }
        match self.kind {
            Kind::Number { default, .. } => given(default).map(shown::number),
            Kind::Integer { default, .. } => given(default).map(|v| v.to_string()),
            Kind::Flag { default } => Some(default.to_string()),
            Kind::Choice { default, .. }
            | Kind::Text { default, .. }
            | Kind::Component { default, .. } => given(default).map(shown::toml_string),
            Kind::Numbers { .. }
            | Kind::Points { .. }
            | Kind::Table { .. }
            | Kind::List { .. }
            | Kind::File { .. } => None,
        }
    }
}

impl Kind {
    /// What may be written, with range and unit: "a number from 0.4 to 5 mm".
    pub fn describe(&self) -> String {
        fn range(min: f64, max: f64, unit: Unit) -> String {
            format!("{} to {}{}", shown::number(min), shown::number(max), shown::unit_after(unit))
        }
        fn count((min, max): (usize, usize), one: &str, many: &str) -> String {
            match (min, max) {
                (1, 1) => format!("1 {one}"),
                (a, b) if a == b => format!("{a} {many}"),
                (0, usize::MAX) => format!("any number of {many}"),
                (a, usize::MAX) => format!("{a} or more {many}"),
                (a, b) => format!("{a} to {b} {many}"),
            }
        }
        match *self {
            Kind::Number { unit, min, max, .. } => {
                format!("a number from {}", range(min, max, unit))
            }
            Kind::Integer { min, max, .. } => format!("a whole number from {min} to {max}"),
            Kind::Flag { .. } => "true or false".into(),
            Kind::Choice { options, .. } => {
                let quoted: Vec<String> = options.iter().map(|o| shown::toml_string(o)).collect();
                hint::or_list(&quoted)
            }
            Kind::Text { max_len, .. } => format!("a text in quotes, at most {max_len} characters"),
            Kind::File { endings } => {
                let endings = endings.iter().map(|e| format!(".{e}")).collect::<Vec<_>>();
                let endings = hint::or_list(&endings);
                format!("the name of a {endings} file in quotes, from the job's folder")
            }
            Kind::Numbers { unit, min, max, count: c, .. } => {
                let numbers = count(c, "number", "numbers");
                format!("a list of {numbers}, each from {}", range(min, max, unit))
            }
            Kind::Points { min, max, count: c, .. } => {
                let points = count(c, "point", "points");
                format!("a list of {points} [x, y], each from {}", range(min, max, Unit::Mm))
            }
            Kind::Component { family, .. } => {
                format!("the name of a profile of {family} in quotes, or a table of its fields")
            }
            Kind::Table { .. } => "a table".into(),
            Kind::List { count: c, .. } => format!("a list of {}", count(c, "table", "tables")),
        }
    }
}

/// Checks a table against the rules that readers rely on; the self-test of
/// every table calls it.
///
/// # Errors
/// The first row that breaks a rule: keys unique, lower case with underscores,
/// docs that end in a full stop, ranges in order, defaults inside.
pub fn check_rows(rows: &[Param]) -> Result<(), String> {
    for (i, row) in rows.iter().enumerate() {
        let key = row.key;
        let fail = |why: &str| Err(format!("{key}: {why}"));
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        if key.is_empty() || !key.chars().all(plain) {
            return fail("a key has only a-z, 0-9 and _");
        }
        if rows[..i].iter().any(|other| other.key == key) {
            return fail("is there twice");
        }
        if row.doc.len() < 10 || !row.doc.ends_with('.') {
            return fail("the doc is no sentence");
        }
        match row.kind {
            Kind::Number { min, max, default, .. } => {
                if !(min.is_finite() && max.is_finite() && min < max) {
                    return fail("the range is not in order");
                }
                if matches!(default, Default::Value(v) if !(min..=max).contains(&v)) {
                    return fail("the default is out of range");
                }
            }
            Kind::Integer { min, max, default } => {
                if min >= max {
                    return fail("the range is not in order");
                }
                if matches!(default, Default::Value(v) if !(min..=max).contains(&v)) {
                    return fail("the default is out of range");
                }
            }
            Kind::Choice { options, default } => {
                if options.len() < 2 {
                    return fail("a choice has two options or more");
                }
                if matches!(default, Default::Value(v) if !options.contains(&v)) {
                    return fail("the default is no option");
                }
            }
            Kind::Text { max_len, default } => {
                if matches!(default, Default::Value(v) if v.chars().count() > max_len) {
                    return fail("the default is too long");
                }
            }
            Kind::Numbers { min, max, count, .. } | Kind::Points { min, max, count, .. } => {
                if !(min.is_finite() && max.is_finite() && min < max) {
                    return fail("the range is not in order");
                }
                if count.0 > count.1 || count.1 == 0 {
                    return fail("the count is not in order");
                }
            }
            Kind::Table { rows, .. } => check_rows(rows).map_err(|e| format!("{key}.{e}"))?,
            Kind::List { rows, count, starts } => {
                if count.0 > count.1 || count.1 == 0 {
                    return fail("the count is not in order");
                }
                if starts < count.0 || starts > count.1 {
                    return fail("a new job starts with too few or too many");
                }
                check_rows(rows).map_err(|e| format!("{key}.{e}"))?;
            }
            Kind::Flag { .. } | Kind::Component { .. } | Kind::File { .. } => {}
        }
    }
    Ok(())
}
