//! Reads single values against one row: numbers, words, texts, points.

use toml::Spanned;
use toml::de::DeValue;

use super::Vec2;
use super::fault::{Fault, What};
use super::hint::{did_you_mean, length_in_text, slip};
use super::param::{Kind, Param, Unit};
use super::read::Reader;
use super::shown::number;
use super::values::Data;

impl Reader<'_> {
    /// Notes a value of the wrong type.
    pub(super) fn wrong_type<T>(
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

    pub(super) fn number(
        &mut self,
        row: &Param,
        value: &Spanned<DeValue<'_>>,
        path: &str,
        (unit, min, max): (Unit, f64, f64),
    ) -> Option<f64> {
        let parsed = match value.get_ref() {
            DeValue::Integer(whole) => {
                let small = i64::from_str_radix(whole.as_str(), whole.radix()).ok();
                small.map(|v| v as f64).or_else(|| whole.as_str().parse().ok())
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

    pub(super) fn integer(
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

    pub(super) fn choice(
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

    pub(super) fn text(
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
    pub(super) fn items<'v, 'i>(
        &mut self,
        row: &Param,
        value: &'v Spanned<DeValue<'i>>,
        path: &str,
        (min, max): (usize, usize),
    ) -> Option<&'v [Spanned<DeValue<'i>>]> {
        let Some(items) = value.get_ref().as_array() else {
            let hint = match value.get_ref() {
                DeValue::Table(_) if matches!(row.kind, Kind::List { .. }) => {
                    Some(format!("start each {} in two brackets, [[...]]", row.key))
                }
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

    pub(super) fn point(
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
}
