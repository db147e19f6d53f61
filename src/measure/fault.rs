//! What is wrong with a text that a person wrote, as data and as words.

use std::fmt;

use serde::Serialize;
use serde::ser::{SerializeStruct, Serializer};

use super::shown::{number, quoted, unit_after};
use super::source::{Place, UnreadableText};
use super::{Param, Unit};

/// Most faults that are kept of one text; a wrong file would give thousands.
/// Common practice, no source.
pub const MAX_FAULTS: usize = 100;

/// What is wrong, with the values that say so.
#[derive(Clone, Debug, PartialEq, thiserror::Error, Serialize)]
#[serde(tag = "code", rename_all = "snake_case")]
#[non_exhaustive]
pub enum What {
    /// Not a text, or not to be read.
    #[error("{reason}")]
    Unreadable {
        /// Why.
        reason: String,
    },
    /// Not TOML.
    #[error("not valid TOML: {reason}")]
    Syntax {
        /// What the TOML reader says.
        reason: String,
    },
    /// A key that no table knows.
    #[error("unknown key {}", quoted(key))]
    UnknownKey {
        /// The key as written.
        key: String,
    },
    /// A required key is not there.
    #[error("missing: {expected}")]
    Missing {
        /// What the key takes.
        expected: String,
    },
    /// The placeholder of a new job file is still there.
    #[error("not filled in yet: {expected}")]
    NotFilledIn {
        /// What the key takes.
        expected: String,
    },
    /// A value of the wrong type.
    #[error("{} is {found}, but {expected} is needed", quoted(written))]
    WrongType {
        /// The value as written.
        written: String,
        /// What it is.
        found: &'static str,
        /// What the key takes.
        expected: String,
    },
    /// A number that is not finite.
    #[error("{} is not a finite number", quoted(written))]
    NotFinite {
        /// The value as written.
        written: String,
    },
    /// A number outside its range.
    #[error("{}{} is outside the allowed {} to {}{}", number(*value), unit_after(*unit),
        number(*min), number(*max), unit_after(*unit))]
    OutOfRange {
        /// The value, in `unit`.
        value: f64,
        /// Smallest allowed value.
        min: f64,
        /// Largest allowed value.
        max: f64,
        /// Unit of all three.
        #[serde(serialize_with = "unit_symbol")]
        unit: Unit,
    },
    /// A list that is too short or too long.
    #[error("{found} given, but {} needed", count_text(*min, *max))]
    ListLength {
        /// How many there are.
        found: usize,
        /// Fewest.
        min: usize,
        /// Most.
        max: usize,
    },
    /// A text that is too long, empty, or more than one line.
    #[error("{} is no text of 1 to {max_len} characters on one line", quoted(written))]
    TextLength {
        /// The value as written.
        written: String,
        /// Most characters.
        max_len: usize,
    },
    /// A word that is not among the options.
    #[error("{} is none of {}", quoted(written), options.join(", "))]
    NotAnOption {
        /// The value as written.
        written: String,
        /// The words.
        options: Vec<String>,
    },
    /// A name that is not known: of a profile, a part kind, a family.
    #[error("unknown {of} {}", quoted(name))]
    UnknownName {
        /// What the name is of, for instance "part kind".
        of: String,
        /// The name as written.
        name: String,
    },
    /// A name that cannot be used for files, or is used twice.
    #[error("name {} {reason}", quoted(name))]
    BadName {
        /// The name as written.
        name: String,
        /// Why.
        reason: String,
    },
    /// Values that are each allowed but not together.
    #[error("{reason}")]
    Conflict {
        /// Why, with the values.
        reason: String,
    },
    /// The part cannot be made as asked.
    #[error("{reason}")]
    Refused {
        /// Why, with the values.
        reason: String,
    },
}

fn unit_symbol<S: Serializer>(unit: &Unit, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(unit.symbol())
}

fn count_text(min: usize, max: usize) -> String {
    match (min, max) {
        (1, 1) => "1 is".into(),
        (a, b) if a == b => format!("{a} are"),
        (a, usize::MAX) => format!("at least {a} are"),
        (a, b) => format!("{a} to {b} are"),
    }
}

/// One thing that is wrong: what, where, and what to do about it.
#[derive(Clone, Debug)]
pub struct Fault {
    /// What is wrong.
    pub what: What,
    /// Path of the field, list items counted from 1:
    /// `part[2].plunger[1].travel`. Empty for the whole text.
    pub field: String,
    /// Where it is written; none if the text cannot be shown.
    pub place: Option<Place>,
    /// What to change, each a whole sentence or a value to write.
    pub hints: Vec<String>,
}

impl Fault {
    /// A fault of `field`, without a place or hints yet.
    pub fn new(what: What, field: impl Into<String>) -> Self {
        Self { what, field: field.into(), place: None, hints: Vec::new() }
    }

    /// The same, written at `place`.
    pub fn at(mut self, place: impl Into<Option<Place>>) -> Self {
        self.place = place.into();
        self
    }

    /// The same with one more hint.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }

    /// The same, with what the table says of the key as a hint.
    pub(crate) fn explained(self, param: &Param) -> Self {
        self.hint(format!("{}: {}", param.key, param.doc))
    }
}

impl From<UnreadableText> for Fault {
    fn from(error: UnreadableText) -> Self {
        Fault::new(What::Unreadable { reason: error.to_string() }, "")
            .hint("a job file is a short TOML text, saved as UTF-8")
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.field.is_empty() {
            write!(f, "{}: ", self.field)?;
        }
        write!(f, "{}", self.what)
    }
}

/// Flat, for a page or a script: `code` and the values of [`What`], then
/// `text`, `field`, `file`, `line`, `column`, `hints`.
impl Serialize for Fault {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut out = serializer.serialize_struct("Fault", 7)?;
        out.serialize_field("what", &self.what)?;
        out.serialize_field("text", &self.to_string())?;
        out.serialize_field("field", &self.field)?;
        let position = self.place.as_ref().map(Place::line_column);
        out.serialize_field("file", &self.place.as_ref().map(|p| p.source().name()))?;
        out.serialize_field("line", &position.map(|p| p.0))?;
        out.serialize_field("column", &position.map(|p| p.1))?;
        out.serialize_field("hints", &self.hints)?;
        out.end()
    }
}

/// All that is wrong with a text, in the order in which it is written.
#[derive(Clone, Debug, Default, Serialize)]
#[serde(transparent)]
pub struct Faults(Vec<Fault>);

impl Faults {
    /// Adds one, up to [`MAX_FAULTS`].
    pub fn push(&mut self, fault: Fault) {
        if self.0.len() < MAX_FAULTS {
            self.0.push(fault);
        }
    }

    /// Adds all of another list.
    pub fn extend(&mut self, others: Faults) {
        others.0.into_iter().for_each(|fault| self.push(fault));
    }

    /// Whether nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The faults.
    pub fn iter(&self) -> std::slice::Iter<'_, Fault> {
        self.0.iter()
    }

    /// `value`, or the faults if there are any, sorted by place.
    ///
    /// # Errors
    /// The faults.
    ///
    /// # Panics
    /// If there is neither a value nor a fault, which no reader lets happen.
    pub fn or_value<T>(mut self, value: Option<T>) -> Result<T, Faults> {
        match value {
            Some(value) if self.0.is_empty() => Ok(value),
            value => {
                assert!(value.is_some() || !self.0.is_empty(), "a value is lost without a fault");
                self.0.sort_by_key(|fault| {
                    fault.place.as_ref().map(|p| (p.source().name().to_owned(), p.span().start))
                });
                Err(self)
            }
        }
    }
}

impl From<Fault> for Faults {
    fn from(fault: Fault) -> Self {
        Self(vec![fault])
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.0.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}
