//! Reading and checking what a calculator is given.
//!
//! [`inputs!`] writes a calculator's input struct and its table of
//! [`Param`]s from one list, so names, units and ranges cannot disagree: the
//! same table reads `key=value` texts and checks a struct built in code.

use std::collections::BTreeMap;

use super::{CALCULATORS, Calculator, TradeError, Worked};
use crate::measure::{Default, Kind, Param, Unit};

/// One value that was read.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Value {
    /// Left out, and the table gives no default.
    Absent,
    /// A number in the unit of its table row.
    Number(f64),
    /// A whole number.
    Integer(i64),
    /// Yes or no.
    Flag(bool),
    /// A word or a short text.
    Text(String),
    /// A list of numbers.
    Numbers(Vec<f64>),
}

/// The values of one run, checked against the calculator's table.
#[derive(Clone, Debug)]
pub struct Inputs {
    params: &'static [Param],
    values: BTreeMap<&'static str, Value>,
}

impl Inputs {
    /// The table these values were read against.
    pub fn params(&self) -> &'static [Param] {
        self.params
    }

    /// The value of `key`, if the table has such a key.
    pub fn get(&self, key: &str) -> Option<&Value> {
        self.values.get(key)
    }
}

/// Reads `pairs` against the calculator's table: unknown and repeated keys are
/// refused, defaults are filled in, ranges are checked, NaN is refused.
///
/// Lists are written with commas: `tolerances_mm=0.1,0.05`.
pub fn read_inputs(
    calculator: &Calculator,
    pairs: &[(String, String)],
) -> Result<Inputs, TradeError> {
    let params = calculator.inputs;
    let mut values = BTreeMap::new();
    for (key, text) in pairs {
        let Some(param) = params.iter().find(|p| p.key == key) else {
            let known = params.iter().map(|p| p.key);
            return Err(TradeError::UnknownInput { input: key.clone(), hint: nearest(key, known) });
        };
        let value = parse(param, text.trim())?;
        check(param, &value)?;
        if values.insert(param.key, value).is_some() {
            let hint = format!("keep one of the two values of {}", param.key);
            return Err(TradeError::Repeated { input: param.key, hint });
        }
    }
    for param in params {
        if !values.contains_key(param.key) {
            values.insert(param.key, preset(param)?);
        }
    }
    Ok(Inputs { params, values })
}

/// A hint that names the word of `known` nearest to `word`, or all of them.
pub(super) fn nearest<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.collect();
    let word = word.to_lowercase();
    let best = known
        .iter()
        .map(|k| (if k.starts_with(&word) { 1 } else { edits(&word, k) }, *k))
        .min()
        .filter(|(distance, k)| !word.is_empty() && 2 * distance <= k.chars().count());
    match best {
        Some((_, k)) => format!("did you mean `{k}`?"),
        None => format!("known names: {}", known.join(", ")),
    }
}

/// Levenshtein distance in characters.
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let keep = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = keep.min(row[j] + 1).min(row[j + 1] + 1);
        }
    }
    row[b.len()]
}

fn unreadable(param: &Param, text: &str, expected: &str) -> TradeError {
    TradeError::Unreadable {
        input: param.key,
        text: text.to_owned(),
        expected: expected.to_owned(),
        hint: format!("{}: {}", param.key, param.doc),
    }
}

fn parse_number(param: &Param, text: &str) -> Result<f64, TradeError> {
    text.trim().parse().map_err(|_| unreadable(param, text, "a plain number"))
}

fn parse(param: &Param, text: &str) -> Result<Value, TradeError> {
    Ok(match param.kind {
        Kind::Number { .. } => Value::Number(parse_number(param, text)?),
        Kind::Integer { .. } => {
            Value::Integer(text.parse().map_err(|_| unreadable(param, text, "a whole number"))?)
        }
        Kind::Flag { .. } => {
            Value::Flag(text.parse().map_err(|_| unreadable(param, text, "true or false"))?)
        }
        Kind::Numbers { .. } => Value::Numbers(
            text.split(',').map(|part| parse_number(param, part)).collect::<Result<_, _>>()?,
        ),
        Kind::Choice { .. } | Kind::Text { .. } => Value::Text(text.to_owned()),
        _ => return Err(unreadable(param, text, "a value that fits on a command line")),
    })
}

fn preset(param: &Param) -> Result<Value, TradeError> {
    fn of<T, V>(default: Default<T>, wrap: impl Fn(T) -> V, absent: V) -> Option<V> {
        match default {
            Default::Required => None,
            Default::Absent | Default::Asked => Some(absent),
            Default::Value(v) => Some(wrap(v)),
        }
    }
    let text = |s: &str| Value::Text(s.to_owned());
    let value = match param.kind {
        Kind::Number { default, .. } => of(default, Value::Number, Value::Absent),
        Kind::Integer { default, .. } => of(default, Value::Integer, Value::Absent),
        Kind::Flag { default } => Some(Value::Flag(default)),
        Kind::Choice { default, .. } => of(default, text, Value::Absent),
        Kind::Text { default, .. } => of(default, text, Value::Absent),
        Kind::Numbers { optional: true, .. } => Some(Value::Numbers(Vec::new())),
        _ => None,
    };
    value.ok_or_else(|| missing(param))
}

fn missing(param: &Param) -> TradeError {
    TradeError::Missing { input: param.key, hint: format!("{}: {}", param.key, param.doc) }
}

fn check_number(
    param: &Param,
    value: f64,
    (min, max): (f64, f64),
    unit: Unit,
) -> Result<(), TradeError> {
    // NaN compares false with everything, so it fails here as it must.
    if value >= min && value <= max {
        return Ok(());
    }
    let hint = format!("{}: {}", param.key, param.doc);
    Err(TradeError::OutOfRange { input: param.key, value, min, max, unit, hint })
}

fn check(param: &Param, value: &Value) -> Result<(), TradeError> {
    match (param.kind, value) {
        (Kind::Number { unit, min, max, .. }, Value::Number(v)) => {
            check_number(param, *v, (min, max), unit)
        }
        (Kind::Integer { min, max, .. }, Value::Integer(v)) => {
            check_number(param, *v as f64, (min as f64, max as f64), Unit::One)
        }
        (Kind::Numbers { unit, min, max, count, optional }, Value::Numbers(list)) => {
            let allowed = (count.0..=count.1).contains(&list.len()) || optional && list.is_empty();
            if !allowed {
                let range = (count.0 as f64, count.1 as f64);
                return Err(TradeError::OutOfRange {
                    input: param.key,
                    value: list.len() as f64,
                    min: range.0,
                    max: range.1,
                    unit: Unit::One,
                    hint: format!("the list {} needs that many numbers", param.key),
                });
            }
            list.iter().try_for_each(|v| check_number(param, *v, (min, max), unit))
        }
        (Kind::Choice { options, .. }, Value::Text(word)) => {
            if options.contains(&word.as_str()) {
                return Ok(());
            }
            Err(TradeError::Unreadable {
                input: param.key,
                text: word.clone(),
                expected: format!("one of {}", options.join(", ")),
                hint: nearest(word, options.iter().copied()),
            })
        }
        (Kind::Text { max_len, .. }, Value::Text(text)) => {
            if text.chars().count() <= max_len && !text.contains('\n') {
                return Ok(());
            }
            Err(unreadable(param, text, &format!("one line of at most {max_len} characters")))
        }
        (_, Value::Absent) => preset(param).map(|_| ()),
        _ => Ok(()),
    }
}

/// A type that can stand as a field of an input struct.
pub(super) trait Field: Sized {
    /// The field as a table value.
    fn value(&self) -> Value;
    /// The field from a table value, `None` if it is of another kind.
    fn from_value(value: &Value) -> Option<Self>;
}

impl Field for f64 {
    fn value(&self) -> Value {
        Value::Number(*self)
    }
    fn from_value(value: &Value) -> Option<f64> {
        if let Value::Number(v) = value { Some(*v) } else { None }
    }
}

impl Field for Option<f64> {
    fn value(&self) -> Value {
        self.map_or(Value::Absent, Value::Number)
    }
    fn from_value(value: &Value) -> Option<Option<f64>> {
        match value {
            Value::Absent => Some(None),
            Value::Number(v) => Some(Some(*v)),
            _ => None,
        }
    }
}

impl Field for i64 {
    fn value(&self) -> Value {
        Value::Integer(*self)
    }
    fn from_value(value: &Value) -> Option<i64> {
        if let Value::Integer(v) = value { Some(*v) } else { None }
    }
}

impl Field for bool {
    fn value(&self) -> Value {
        Value::Flag(*self)
    }
    fn from_value(value: &Value) -> Option<bool> {
        if let Value::Flag(v) = value { Some(*v) } else { None }
    }
}

impl Field for String {
    fn value(&self) -> Value {
        Value::Text(self.clone())
    }
    fn from_value(value: &Value) -> Option<String> {
        if let Value::Text(v) = value { Some(v.clone()) } else { None }
    }
}

impl Field for Vec<f64> {
    fn value(&self) -> Value {
        Value::Numbers(self.clone())
    }
    fn from_value(value: &Value) -> Option<Vec<f64>> {
        if let Value::Numbers(v) = value { Some(v.clone()) } else { None }
    }
}

/// Runs the calculator that has this table on values built in code.
pub(super) fn work(
    table: &'static [Param],
    values: impl IntoIterator<Item = (&'static str, Value)>,
) -> Result<Worked, TradeError> {
    let keys = |params: &'static [Param]| params.iter().map(|p| p.key);
    let calculator = CALCULATORS
        .iter()
        .find(|c| keys(c.inputs).eq(keys(table)))
        .expect("every table of inputs has its calculator; a test says so");
    let inputs = Inputs { params: calculator.inputs, values: values.into_iter().collect() };
    for (key, value) in &inputs.values {
        check(row(table, key), value)?;
    }
    (calculator.run)(&inputs)
}

/// Takes the field `key` out of `inputs`.
pub(super) fn take<F: Field>(
    inputs: &Inputs,
    table: &'static [Param],
    key: &'static str,
) -> Result<F, TradeError> {
    let param = row(table, key);
    inputs.get(key).and_then(F::from_value).ok_or_else(|| missing(param))
}

/// Checks a field of a struct built in code against its row.
pub(super) fn check_field<F: Field>(
    field: &F,
    table: &'static [Param],
    key: &'static str,
) -> Result<(), TradeError> {
    check(row(table, key), &field.value())
}

fn row(table: &'static [Param], key: &'static str) -> &'static Param {
    table.iter().find(|p| p.key == key).expect("the macro writes a row for each field")
}

/// A required number in `[min, max]`.
pub(super) const fn number(unit: Unit, min: f64, max: f64) -> Kind {
    Kind::Number { unit, min, max, default: Default::Required }
}

/// A number in `[min, max]` that is `default` when left out.
pub(super) const fn number_or(unit: Unit, min: f64, max: f64, default: f64) -> Kind {
    Kind::Number { unit, min, max, default: Default::Value(default) }
}

/// A number in `[min, max]` that may be left out.
pub(super) const fn optional(unit: Unit, min: f64, max: f64) -> Kind {
    Kind::Number { unit, min, max, default: Default::Absent }
}

/// A required whole number in `[min, max]`.
pub(super) const fn integer(min: i64, max: i64) -> Kind {
    Kind::Integer { min, max, default: Default::Required }
}

/// A whole number in `[min, max]` that is `default` when left out.
pub(super) const fn integer_or(min: i64, max: i64, default: i64) -> Kind {
    Kind::Integer { min, max, default: Default::Value(default) }
}

/// A required word out of `options`.
pub(super) const fn choice(options: &'static [&'static str]) -> Kind {
    Kind::Choice { options, default: Default::Required }
}

/// A word out of `options` that is `default` when left out.
pub(super) const fn choice_or(options: &'static [&'static str], default: &'static str) -> Kind {
    Kind::Choice { options, default: Default::Value(default) }
}

/// Writes an input struct, its table, its reader and its check from one list.
macro_rules! inputs {
    (
        $(#[$meta:meta])*
        $name:ident, $table:ident {
            $( $(#[doc = $doc:literal])+ $field:ident : $ty:ty = $kind:expr; )+
        }
    ) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq)]
        pub struct $name {
            $( $(#[doc = $doc])+ pub $field: $ty, )+
        }

        #[doc = concat!("Keys, units, ranges and defaults of [`", stringify!($name), "`].")]
        pub const $table: &[$crate::measure::Param] = &[
            $( $crate::measure::Param {
                key: stringify!($field),
                kind: $kind,
                doc: concat!($($doc),+).trim_ascii(),
            }, )+
        ];

        impl $name {
            /// Reads the struct from checked `key=value` inputs.
            pub fn from_inputs(
                inputs: &$crate::trade::Inputs,
            ) -> Result<Self, $crate::trade::TradeError> {
                Ok(Self {
                    $( $field: $crate::trade::inputs::take(inputs, $table, stringify!($field))?, )+
                })
            }

            /// The calculation as a worked example, by the calculator that reads
            /// these inputs: what the typed function found, with its steps.
            ///
            /// # Errors
            /// Those of the typed function.
            pub fn worked(&self) -> Result<$crate::trade::Worked, $crate::trade::TradeError> {
                let values = [
                    $( (stringify!($field), $crate::trade::inputs::Field::value(&self.$field)), )+
                ];
                $crate::trade::inputs::work($table, values)
            }

            /// Refuses NaN, infinity and every value outside its row's range.
            pub fn check(&self) -> Result<(), $crate::trade::TradeError> {
                $( $crate::trade::inputs::check_field(&self.$field, $table, stringify!($field))?; )+
                Ok(())
            }
        }
    };
}

/// Writes an enum whose variants are the words of a choice.
macro_rules! choices {
    (
        $(#[$meta:meta])*
        $name:ident { $( $(#[$doc:meta])+ $variant:ident = $word:literal, )+ }
    ) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum $name {
            $( $(#[$doc])+ $variant, )+
        }

        impl $name {
            /// The words a person may write, in order.
            pub const WORDS: &'static [&'static str] = &[$($word),+];
            /// All variants, in the order of [`Self::WORDS`].
            pub const ALL: &'static [$name] = &[$($name::$variant),+];

            /// The word of this variant.
            pub fn word(self) -> &'static str {
                match self { $( $name::$variant => $word, )+ }
            }
        }

        impl $crate::trade::inputs::Field for $name {
            fn value(&self) -> $crate::trade::inputs::Value {
                $crate::trade::inputs::Value::Text(self.word().to_owned())
            }
            fn from_value(value: &$crate::trade::inputs::Value) -> Option<Self> {
                match value {
                    $crate::trade::inputs::Value::Text(text) => {
                        Self::ALL.iter().copied().find(|v| v.word() == text)
                    }
                    _ => None,
                }
            }
        }
    };
}

pub(super) use {choices, inputs};
