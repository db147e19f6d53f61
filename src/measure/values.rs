//! Values that a table allows: typed, complete, and aware of where each comes
//! from.

use std::sync::Arc;

use super::Vec2;
use super::file::GivenFile;
use super::library::COMPILED_IN;
use super::param::Param;
use super::source::Place;

/// Where a value comes from.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub enum Origin {
    /// Written by the person, there.
    Written(Place),
    /// From the profile of that name, written there.
    Profile(String, Place),
    /// The table's default (or absent).
    Default,
}

impl Origin {
    /// In a few words: "job", "default", "profile 18650", or "profile 18650 of
    /// cells.toml" for a field that a person's own profiles give.
    pub fn describe(&self) -> String {
        match self {
            Origin::Written(_) => "job".into(),
            Origin::Default => "default".into(),
            Origin::Profile(name, place) => {
                let file = place.source().name();
                if file.ends_with(COMPILED_IN) {
                    return format!("profile {name}");
                }
                // The folder would make reports differ between machines.
                let file = file.rsplit(['/', '\\']).next().unwrap_or(file);
                format!("profile {name} of {file}")
            }
        }
    }
}

/// What stands behind a key.
#[derive(Clone, Debug)]
pub(crate) enum Data {
    Absent,
    Number(f64),
    Integer(i64),
    Flag(bool),
    Choice(&'static str),
    Text(String),
    Numbers(Vec<f64>),
    Points(Vec<Vec2>),
    File(Arc<GivenFile>),
    Table(Values),
    List(Vec<Values>),
}

#[derive(Clone, Debug)]
pub(crate) struct Value {
    pub(crate) data: Data,
    pub(crate) origin: Origin,
}

/// The values of one table, one for each row, all allowed by it.
///
/// An accessor panics if the table has no such key or the key is of another
/// kind: that is a mistake in the program, never in what a person wrote.
#[derive(Clone, Debug)]
pub struct Values {
    pub(crate) rows: &'static [Param],
    pub(crate) path: String,
    pub(crate) place: Option<Place>,
    pub(crate) profile: Option<String>,
    /// One for each row, in the order of the rows.
    pub(crate) values: Vec<Value>,
}

impl Values {
    fn value(&self, key: &str) -> &Value {
        let index = self.rows.iter().position(|row| row.key == key);
        &self.values[index.unwrap_or_else(|| panic!("{key} is not in the table of {}", self.path))]
    }

    #[track_caller]
    fn wrong(&self, key: &str, wanted: &str) -> ! {
        panic!("{key} in the table of {} is no {wanted} that is always there", self.path)
    }

    /// The number behind `key`, in the unit of its row.
    pub fn number(&self, key: &str) -> f64 {
        self.maybe_number(key).unwrap_or_else(|| self.wrong(key, "number"))
    }

    /// The number behind `key`, if it has one.
    pub fn maybe_number(&self, key: &str) -> Option<f64> {
        match self.value(key).data {
            Data::Number(value) => Some(value),
            Data::Absent => None,
            _ => self.wrong(key, "number"),
        }
    }

    /// The whole number behind `key`.
    pub fn integer(&self, key: &str) -> i64 {
        self.maybe_integer(key).unwrap_or_else(|| self.wrong(key, "integer"))
    }

    /// The whole number behind `key`, if it has one.
    pub fn maybe_integer(&self, key: &str) -> Option<i64> {
        match self.value(key).data {
            Data::Integer(value) => Some(value),
            Data::Absent => None,
            _ => self.wrong(key, "integer"),
        }
    }

    /// The flag behind `key`.
    pub fn flag(&self, key: &str) -> bool {
        match self.value(key).data {
            Data::Flag(value) => value,
            _ => self.wrong(key, "flag"),
        }
    }

    /// The word behind `key`: one of the options of its row.
    pub fn choice(&self, key: &str) -> &'static str {
        self.maybe_choice(key).unwrap_or_else(|| self.wrong(key, "choice"))
    }

    /// The word behind `key`, if it has one.
    pub fn maybe_choice(&self, key: &str) -> Option<&'static str> {
        match self.value(key).data {
            Data::Choice(value) => Some(value),
            Data::Absent => None,
            _ => self.wrong(key, "choice"),
        }
    }

    /// The text behind `key`.
    pub fn text(&self, key: &str) -> &str {
        self.maybe_text(key).unwrap_or_else(|| self.wrong(key, "text"))
    }

    /// The text behind `key`, if it has one.
    pub fn maybe_text(&self, key: &str) -> Option<&str> {
        match &self.value(key).data {
            Data::Text(value) => Some(value),
            Data::Absent => None,
            _ => self.wrong(key, "text"),
        }
    }

    /// The numbers behind `key`; empty if an optional list is left out.
    pub fn numbers(&self, key: &str) -> &[f64] {
        match &self.value(key).data {
            Data::Numbers(value) => value,
            Data::Absent => &[],
            _ => self.wrong(key, "list of numbers"),
        }
    }

    /// The points behind `key`, in mm; empty if an optional list is left out.
    pub fn points(&self, key: &str) -> &[Vec2] {
        match &self.value(key).data {
            Data::Points(value) => value,
            Data::Absent => &[],
            _ => self.wrong(key, "list of points"),
        }
    }

    /// The file behind `key`, if one is named.
    pub fn maybe_file(&self, key: &str) -> Option<&GivenFile> {
        match &self.value(key).data {
            Data::File(value) => Some(value),
            Data::Absent => None,
            _ => self.wrong(key, "file"),
        }
    }

    /// All files that these values name, in the order of the rows.
    pub fn files(&self) -> Vec<&GivenFile> {
        fn of(value: &Value) -> Vec<&GivenFile> {
            match &value.data {
                Data::File(file) => vec![file],
                Data::Table(table) => table.files(),
                Data::List(tables) => tables.iter().flat_map(Values::files).collect(),
                _ => Vec::new(),
            }
        }
        self.values.iter().flat_map(of).collect()
    }

    /// The table behind `key`.
    pub fn table(&self, key: &str) -> &Values {
        self.maybe_table(key).unwrap_or_else(|| self.wrong(key, "table"))
    }

    /// The table behind `key`, if it has one.
    pub fn maybe_table(&self, key: &str) -> Option<&Values> {
        match &self.value(key).data {
            Data::Table(value) => Some(value),
            Data::Absent => None,
            _ => self.wrong(key, "table"),
        }
    }

    /// The fields of the component behind `key`: profile, overrides and
    /// defaults together.
    pub fn component(&self, key: &str) -> &Values {
        self.table(key)
    }

    /// The fields of the component behind `key`, if it has one.
    pub fn maybe_component(&self, key: &str) -> Option<&Values> {
        self.maybe_table(key)
    }

    /// The tables of the list behind `key`.
    pub fn list(&self, key: &str) -> &[Values] {
        match &self.value(key).data {
            Data::List(value) => value,
            Data::Absent => &[],
            _ => self.wrong(key, "list"),
        }
    }

    /// The rows that these values are of.
    pub fn rows(&self) -> &'static [Param] {
        self.rows
    }

    /// Path of this table, list items counted from 1: `part[2].plunger[1]`.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Path of one of its keys: `part[2].plunger[1].travel`.
    pub fn path_of(&self, key: &str) -> String {
        join(&self.path, key)
    }

    /// For a component: name of the profile that it starts from.
    pub fn profile(&self) -> Option<&str> {
        self.profile.as_deref()
    }

    /// Where the value behind `key` comes from.
    pub fn origin(&self, key: &str) -> &Origin {
        &self.value(key).origin
    }

    /// Where to point for `key`: at its value if the person wrote it, else at
    /// this table, or at the name of the profile that it is from.
    pub fn place(&self, key: &str) -> Option<Place> {
        match self.origin(key) {
            Origin::Written(place) => Some(place.clone()),
            Origin::Profile(..) | Origin::Default => self.place.clone(),
        }
    }

    /// Where this table is written; for a component by name, that name.
    pub fn own_place(&self) -> Option<Place> {
        self.place.clone()
    }

    /// Keys that the person wrote, in the order of the rows: what of a
    /// component was measured and not taken from a profile.
    pub fn written(&self) -> impl Iterator<Item = &'static str> {
        let rows = self.rows.iter().zip(&self.values);
        rows.filter(|(_, value)| matches!(value.origin, Origin::Written(_))).map(|(row, _)| row.key)
    }

    /// Whether `key` has a value: written, from a profile or by default.
    pub fn has(&self, key: &str) -> bool {
        !matches!(self.value(key).data, Data::Absent)
    }

    /// The value behind `key` as a person would write it, without a unit; none
    /// if absent, and for tables.
    pub fn shown(&self, key: &str) -> Option<String> {
        use super::shown::number;
        match &self.value(key).data {
            Data::Number(value) => Some(number(*value)),
            Data::Integer(value) => Some(value.to_string()),
            Data::Flag(value) => Some(value.to_string()),
            Data::Choice(value) => Some((*value).to_owned()),
            Data::Text(value) => Some(value.clone()),
            Data::Numbers(values) => {
                let values: Vec<String> = values.iter().copied().map(number).collect();
                Some(format!("[{}]", values.join(", ")))
            }
            Data::Points(points) => {
                let point = |p: &Vec2| format!("[{}, {}]", number(p.x), number(p.y));
                let points: Vec<String> = points.iter().map(point).collect();
                Some(format!("[{}]", points.join(", ")))
            }
            Data::File(file) => Some(file.name().to_owned()),
            Data::Absent | Data::Table(_) | Data::List(_) => None,
        }
    }
}

/// `path.key`, or `key` at the top.
pub(crate) fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}
