//! Reads a TOML table against rows of [`Param`]: what comes out is complete
//! and in range, or there are faults that say where it is not.

use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Vec2;
use super::families::family_named;
use super::fault::{Fault, Faults, What};
use super::hint::{did_you_mean, length_in_text, slip};
use super::library::Library;
use super::param::{Default, Kind, Param, Unit};
use super::shown::number;
use super::source::{Place, Source};
use super::values::{Data, Origin, Value, Values, join};

/// What a new job file has in place of a value that a person must measure.
pub const PLACEHOLDER: &str = "?";

/// Parses a whole text, collecting what is not TOML.
pub(crate) fn parse<'a>(source: &'a Arc<Source>, faults: &mut Faults) -> Spanned<DeTable<'a>> {
    let (table, errors) = DeTable::parse_recoverable(source.text());
    for error in errors {
        let end = source.text().len();
        let place = Place::new(source, error.span().unwrap_or(end..end));
        let mut fault = Fault::new(What::Syntax { reason: error.message().into() }, "").at(place);
        if error.message().starts_with("duplicate key") {
            fault = fault.hint("a key may be given once in a table: keep the one that is right");
        }
        faults.push(fault);
    }
    table
}

/// What a row has before defaults are filled in.
#[derive(Clone, Debug)]
pub(crate) enum Slot {
    /// Nothing is written.
    Empty,
    /// Something is written, but it is faulty; the fault is noted.
    Bad,
    /// An allowed value.
    Good(Value),
}

/// The rows of one table before defaults are filled in.
#[derive(Clone, Debug)]
pub(crate) struct Slots {
    pub(crate) rows: &'static [Param],
    pub(crate) path: String,
    pub(crate) place: Option<Place>,
    pub(crate) slots: Vec<Slot>,
}

/// Reads tables of one text.
pub(crate) struct Reader<'a> {
    pub(crate) source: &'a Arc<Source>,
    pub(crate) library: &'a Library,
    pub(crate) faults: &'a mut Faults,
}

impl Reader<'_> {
    pub(crate) fn place<T>(&self, spanned: &Spanned<T>) -> Place {
        Place::new(self.source, spanned.span())
    }

    /// Reads the keys of `table` that `rows` know. `beside` are keys that the
    /// caller reads itself.
    pub(crate) fn slots(
        &mut self,
        table: &DeTable<'_>,
        place: Place,
        rows: &'static [Param],
        path: &str,
        beside: &[&str],
    ) -> Slots {
        let mut slots = vec![Slot::Empty; rows.len()];
        for (key, value) in table.iter() {
            let name: &str = key.get_ref();
            if beside.contains(&name) {
                continue;
            }
            let Some(index) = rows.iter().position(|row| row.key == name) else {
                let known = rows.iter().map(|row| row.key).chain(beside.iter().copied());
                self.unknown_key(key, path, known);
                continue;
            };
            let row = &rows[index];
            slots[index] = match self.value(row, value, &join(path, row.key)) {
                Some(data) => {
                    Slot::Good(Value { data, origin: Origin::Written(self.place(value)) })
                }
                None => Slot::Bad,
            };
        }
        Slots { rows, path: path.to_owned(), place: Some(place), slots }
    }

    /// Notes a key that is not `known`.
    pub(crate) fn unknown_key<'k>(
        &mut self,
        key: &Spanned<std::borrow::Cow<'_, str>>,
        path: &str,
        known: impl Iterator<Item = &'k str>,
    ) {
        let name: &str = key.get_ref();
        let mut fault = Fault::new(What::UnknownKey { key: name.to_owned() }, path)
            .at(Place::new(self.source, key.span()));
        let known: Vec<&str> = known.collect();
        fault = match did_you_mean(name, known.iter().copied()) {
            Some(hint) => fault.hint(hint),
            None => fault.hint(format!("known here: {}", known.join(", "))),
        };
        self.faults.push(fault);
    }

    /// A complete table, or none and at least one fault.
    pub(crate) fn table(
        &mut self,
        table: &DeTable<'_>,
        place: Place,
        rows: &'static [Param],
        path: &str,
        beside: &[&str],
    ) -> Option<Values> {
        let slots = self.slots(table, place, rows, path, beside);
        self.complete(slots, None)
    }

    /// Fills in defaults and asks for what is missing.
    pub(crate) fn complete(&mut self, slots: Slots, profile: Option<String>) -> Option<Values> {
        let Slots { rows, path, place, slots } = slots;
        let mut values = Vec::with_capacity(rows.len());
        for (row, slot) in rows.iter().zip(slots) {
            match slot {
                Slot::Good(value) => values.push(value),
                Slot::Bad => {}
                Slot::Empty => {
                    let path = join(&path, row.key);
                    if let Some(data) = self.default(row, &path, &place) {
                        values.push(Value { data, origin: Origin::Default });
                    }
                }
            }
        }
        (values.len() == rows.len()).then_some(Values { rows, path, place, profile, values })
    }

    fn default(&mut self, row: &'static Param, path: &str, place: &Option<Place>) -> Option<Data> {
        if row.required() {
            let what = What::Missing { expected: row.kind.describe() };
            self.faults.push(Fault::new(what, path).at(place.clone()).explained(row));
            return None;
        }
        Some(match row.kind {
            Kind::Number { default: Default::Value(value), .. } => Data::Number(value),
            Kind::Integer { default: Default::Value(value), .. } => Data::Integer(value),
            Kind::Flag { default } => Data::Flag(default),
            Kind::Choice { default: Default::Value(value), .. } => Data::Choice(value),
            Kind::Text { default: Default::Value(value), .. } => Data::Text(value.to_owned()),
            Kind::Component { family, default: Default::Value(name) } => {
                let profile = self.library.profile(family, name);
                let profile = profile.expect("a default names a shipped profile");
                Data::Table(profile.at_path(path, place.clone()))
            }
            _ => Data::Absent,
        })
    }

    fn value(
        &mut self,
        row: &'static Param,
        value: &Spanned<DeValue<'_>>,
        path: &str,
    ) -> Option<Data> {
        if value.get_ref().as_str() == Some(PLACEHOLDER) {
            let what = What::NotFilledIn { expected: row.kind.describe() };
            self.faults.push(Fault::new(what, path).at(self.place(value)).explained(row));
            return None;
        }
        match row.kind {
            Kind::Number { unit, min, max, .. } => {
                self.number(row, value, path, (unit, min, max)).map(Data::Number)
            }
            Kind::Integer { min, max, .. } => {
                self.integer(row, value, path, min, max).map(Data::Integer)
            }
            Kind::Flag { .. } => match value.get_ref().as_bool() {
                Some(flag) => Some(Data::Flag(flag)),
                None => self.wrong_type(row, value, path, None),
            },
            Kind::Choice { options, .. } => self.choice(row, value, path, options),
            Kind::Text { max_len, .. } => self.text(row, value, path, max_len),
            Kind::Numbers { unit, min, max, count, .. } => {
                let items = self.items(row, value, path, count)?;
                let mut numbers = Some(Vec::new());
                for (i, item) in items.iter().enumerate() {
                    let path = format!("{path}[{}]", i + 1);
                    let number = self.number(row, item, &path, (unit, min, max));
                    numbers = numbers.zip(number).map(|(mut all, one)| {
                        all.push(one);
                        all
                    });
                }
                numbers.map(Data::Numbers)
            }
            Kind::Points { min, max, count, .. } => {
                let items = self.items(row, value, path, count)?;
                let mut points = Some(Vec::new());
                for (i, item) in items.iter().enumerate() {
                    let point = self.point(row, item, &format!("{path}[{}]", i + 1), min, max);
                    points = points.zip(point).map(|(mut all, one)| {
                        all.push(one);
                        all
                    });
                }
                points.map(Data::Points)
            }
            Kind::Component { family, .. } => {
                self.component(row, family, value, path).map(Data::Table)
            }
            Kind::Table { rows, .. } => {
                let Some(table) = value.get_ref().as_table() else {
                    return self.wrong_type(row, value, path, None);
                };
                self.table(table, self.place(value), rows, path, &[]).map(Data::Table)
            }
            Kind::List { rows, count } => {
                let items = self.items(row, value, path, count)?;
                let mut tables = Vec::new();
                for (i, item) in items.iter().enumerate() {
                    let path = format!("{path}[{}]", i + 1);
                    let Some(table) = item.get_ref().as_table() else {
                        self.wrong_type::<()>(row, item, &path, None);
                        continue;
                    };
                    tables.extend(self.table(table, self.place(item), rows, &path, &[]));
                }
                (tables.len() == items.len()).then_some(Data::List(tables))
            }
        }
    }

    /// Notes a value of the wrong type.
    fn wrong_type<T>(
        &mut self,
        row: &Param,
        value: &Spanned<DeValue<'_>>,
        path: &str,
        hint: Option<String>,
    ) -> Option<T> {
        let place = self.place(value);
        let found = match value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) => "a whole number",
            DeValue::Float(_) => "a number with decimals",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let what = What::WrongType {
            written: place.written().to_owned(),
            found,
            expected: row.kind.describe(),
        };
        let fault = Fault::new(what, path).at(place);
        self.faults.push(match hint {
            Some(hint) => fault.hint(hint),
            None => fault.explained(row),
        });
        None
    }

    fn number(
        &mut self,
        row: &Param,
        value: &Spanned<DeValue<'_>>,
        path: &str,
        (unit, min, max): (Unit, f64, f64),
    ) -> Option<f64> {
        let parsed = match value.get_ref() {
            DeValue::Integer(whole) => {
                i64::from_str_radix(whole.as_str(), whole.radix()).ok().map(|v| v as f64)
            }
            DeValue::Float(float) => float.as_str().parse().ok(),
            DeValue::String(text) => {
                let meant = if unit == Unit::Mm { length_in_text(text) } else { text.parse().ok() };
                let hint = meant.map(|v| format!("write {}, without quotes or unit", number(v)));
                return self.wrong_type(row, value, path, hint);
            }
            DeValue::Array(list) if list.len() == 1 => {
                let hint = "write the number without the brackets".to_owned();
                return self.wrong_type(row, value, path, Some(hint));
            }
            _ => return self.wrong_type(row, value, path, None),
        };
        let place = self.place(value);
        let Some(parsed) = parsed.filter(|v: &f64| v.is_finite()) else {
            let what = What::NotFinite { written: place.written().to_owned() };
            self.faults.push(
                Fault::new(what, path).at(place).hint(format!("write {}", row.kind.describe())),
            );
            return None;
        };
        if parsed >= min && parsed <= max {
            // -0.0 would print as "-0".
            return Some(parsed + 0.0);
        }
        let what = What::OutOfRange { value: parsed, min, max, unit };
        let fault = Fault::new(what, path).at(place);
        self.faults.push(match slip(parsed, min, max, unit) {
            Some(hint) => fault.hint(hint),
            None => fault.explained(row),
        });
        None
    }

    fn integer(
        &mut self,
        row: &Param,
        value: &Spanned<DeValue<'_>>,
        path: &str,
        min: i64,
        max: i64,
    ) -> Option<i64> {
        let whole = match value.get_ref() {
            DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix()).ok(),
            DeValue::Float(float) => {
                let hint = float.as_str().parse().ok().map(|v: f64| v.round());
                let hint = hint.filter(|v| *v >= min as f64 && *v <= max as f64);
                let hint = hint.map(|v| format!("write {}, without a decimal point", number(v)));
                return self.wrong_type(row, value, path, hint);
            }
            _ => return self.wrong_type(row, value, path, None),
        };
        match whole {
            Some(whole) if (min..=max).contains(&whole) => Some(whole),
            _ => {
                let what = What::OutOfRange {
                    value: whole.map_or(f64::MAX, |v| v as f64),
                    min: min as f64,
                    max: max as f64,
                    unit: Unit::One,
                };
                self.faults.push(Fault::new(what, path).at(self.place(value)).explained(row));
                None
            }
        }
    }

    fn choice(
        &mut self,
        row: &Param,
        value: &Spanned<DeValue<'_>>,
        path: &str,
        options: &'static [&'static str],
    ) -> Option<Data> {
        let Some(word) = value.get_ref().as_str() else {
            return self.wrong_type(row, value, path, None);
        };
        if let Some(option) = options.iter().find(|option| **option == word) {
            return Some(Data::Choice(option));
        }
        let what = What::NotAnOption {
            written: word.to_owned(),
            options: options.iter().map(|o| (*o).to_owned()).collect(),
        };
        let fault = Fault::new(what, path).at(self.place(value));
        self.faults.push(match did_you_mean(word, options.iter().copied()) {
            Some(hint) => fault.hint(hint),
            None => fault.explained(row),
        });
        None
    }

    fn text(
        &mut self,
        row: &Param,
        value: &Spanned<DeValue<'_>>,
        path: &str,
        max_len: usize,
    ) -> Option<Data> {
        let Some(text) = value.get_ref().as_str() else {
            let hint = match value.get_ref() {
                DeValue::Datetime(_) | DeValue::Integer(_) | DeValue::Float(_) => {
                    Some("put it in quotes".to_owned())
                }
                _ => None,
            };
            return self.wrong_type(row, value, path, hint);
        };
        let good = !text.trim().is_empty()
            && text.chars().count() <= max_len
            && !text.chars().any(char::is_control);
        if good {
            return Some(Data::Text(text.to_owned()));
        }
        let what = What::TextLength { written: text.to_owned(), max_len };
        self.faults.push(Fault::new(what, path).at(self.place(value)).explained(row));
        None
    }

    /// The items of a list whose length is right.
    fn items<'v, 'i>(
        &mut self,
        row: &Param,
        value: &'v Spanned<DeValue<'i>>,
        path: &str,
        (min, max): (usize, usize),
    ) -> Option<&'v [Spanned<DeValue<'i>>]> {
        let Some(items) = value.get_ref().as_array() else {
            let hint = match value.get_ref() {
                DeValue::Integer(_) | DeValue::Float(_) => {
                    Some(format!("write [{}]", self.place(value).written()))
                }
                _ => None,
            };
            return self.wrong_type(row, value, path, hint);
        };
        if (min..=max).contains(&items.len()) {
            return Some(items);
        }
        let what = What::ListLength { found: items.len(), min, max };
        self.faults.push(Fault::new(what, path).at(self.place(value)).explained(row));
        None
    }

    fn point(
        &mut self,
        row: &Param,
        value: &Spanned<DeValue<'_>>,
        path: &str,
        min: f64,
        max: f64,
    ) -> Option<Vec2> {
        let items = match value.get_ref() {
            DeValue::Array(_) => self.items(row, value, path, (2, 2))?,
            _ => {
                let hint = "write each point as [x, y]".to_owned();
                return self.wrong_type(row, value, path, Some(hint));
            }
        };
        let x = self.number(row, &items[0], &format!("{path}[1]"), (Unit::Mm, min, max));
        let y = self.number(row, &items[1], &format!("{path}[2]"), (Unit::Mm, min, max));
        Some(Vec2::new(x?, y?))
    }

    fn component(
        &mut self,
        row: &'static Param,
        family: &str,
        value: &Spanned<DeValue<'_>>,
        path: &str,
    ) -> Option<Values> {
        let rows = family_named(family).rows;
        match value.get_ref() {
            DeValue::String(name) => {
                let place = self.place(value);
                let profile = self.profile(family, name, place.clone(), path)?;
                Some(profile.at_path(path, Some(place)))
            }
            DeValue::Table(table) => {
                let mut slots = self.slots(table, self.place(value), rows, path, &["profile"]);
                let mut base = None;
                if let Some(named) = table.get("profile") {
                    let place = self.place(named);
                    let Some(name) = named.get_ref().as_str() else {
                        return self.wrong_type(row, named, &join(path, "profile"), None);
                    };
                    let profile = self.profile(family, name, place, &join(path, "profile"))?;
                    for (slot, value) in slots.slots.iter_mut().zip(&profile.values) {
                        if matches!(slot, Slot::Empty) {
                            *slot = Slot::Good(value.clone());
                        }
                    }
                    base = profile.profile.clone();
                }
                let values = self.complete(slots, base)?;
                self.check_together(family, &values).then_some(values)
            }
            _ => self.wrong_type(row, value, path, None),
        }
    }

    /// Notes values that the family does not allow together; true if none.
    pub(crate) fn check_together(&mut self, family: &str, values: &Values) -> bool {
        let conflicts = (family_named(family).check)(values);
        for conflict in &conflicts {
            let what = What::Conflict { reason: conflict.reason.clone() };
            let place = values.place(conflict.key);
            self.faults.push(Fault::new(what, values.path_of(conflict.key)).at(place));
        }
        conflicts.is_empty()
    }

    fn profile(&mut self, family: &str, name: &str, place: Place, path: &str) -> Option<Values> {
        if let Some(profile) = self.library.profile(family, name) {
            return Some(profile.clone());
        }
        let what = What::UnknownName { of: format!("profile of {family}"), name: name.to_owned() };
        let fault = Fault::new(what, path).at(place);
        let hint = did_you_mean(name, self.library.names(family));
        self.faults.push(
            match hint {
                Some(hint) => fault.hint(hint),
                None => fault,
            }
            .hint(format!("`borewright profiles {family}` lists what is known")),
        );
        None
    }
}

impl Values {
    /// A profile's values where a job names it.
    pub(crate) fn at_path(&self, path: &str, place: Option<Place>) -> Values {
        Values { path: path.to_owned(), place, ..self.clone() }
    }
}

/// Reads a whole text as one table of `rows`.
///
/// # Errors
/// All that is wrong with it.
pub fn read_values(
    source: &Arc<Source>,
    rows: &'static [Param],
    library: &Library,
) -> Result<Values, Faults> {
    let mut faults = Faults::default();
    let document = parse(source, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut reader = Reader { source, library, faults: &mut faults };
    let place = Place::new(source, 0..0);
    let values = reader.table(document.get_ref(), place, rows, "", &[]);
    faults.or_value(values)
}
