//! A worked example: what was given, each step with its numbers, the results.

use std::fmt;

use serde::{Serialize, Serializer};

use super::error::with_unit;
use super::inputs::{Inputs, Value};
use crate::measure::{Kind, Unit};

/// A calculation as a person would write it on paper.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Worked {
    /// The inputs, in the order of the table.
    pub given: Vec<Given>,
    /// The steps, in the order of the calculation.
    pub steps: Vec<Step>,
    /// What was asked for.
    pub results: Vec<Quantity>,
    /// Where formulas and constants come from.
    pub source: &'static str,
    /// Verdicts, limits of validity and cautions.
    pub notes: Vec<String>,
}

/// One input as it was understood.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Given {
    /// Key of the input.
    pub key: &'static str,
    /// Its value with unit, as text.
    pub text: String,
    /// What it means.
    pub what: &'static str,
}

/// One line of arithmetic.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// What is found.
    pub what: &'static str,
    /// The formula in symbols.
    pub formula: String,
    /// Its right-hand side with the values put in, six significant digits.
    pub numbers: String,
    /// The value, as the calculator uses it.
    pub value: f64,
    /// Unit of the value.
    #[serde(serialize_with = "symbol")]
    pub unit: Unit,
}

/// One result.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Quantity {
    /// Name of the field in the calculator's typed output.
    pub key: &'static str,
    /// What it is.
    pub what: &'static str,
    /// The value.
    pub value: f64,
    /// Unit of the value.
    #[serde(serialize_with = "symbol")]
    pub unit: Unit,
}

impl Step {
    /// The value with its unit, as text.
    pub fn text(&self) -> String {
        with_unit(self.value, self.unit)
    }
}

impl Quantity {
    /// The value with its unit, as text.
    pub fn text(&self) -> String {
        with_unit(self.value, self.unit)
    }
}

fn symbol<S: Serializer>(unit: &Unit, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(unit.symbol())
}

impl Worked {
    pub(super) fn new(inputs: &Inputs, source: &'static str) -> Worked {
        let mut given = Vec::new();
        for param in inputs.params() {
            let unit = match param.kind {
                Kind::Number { unit, .. } | Kind::Numbers { unit, .. } => unit,
                _ => Unit::One,
            };
            let text = match inputs.get(param.key) {
                None | Some(Value::Absent) => continue,
                Some(Value::Number(v)) => with_unit(*v, unit),
                Some(Value::Integer(v)) => v.to_string(),
                Some(Value::Flag(v)) => v.to_string(),
                Some(Value::Text(v)) => v.clone(),
                Some(Value::Numbers(list)) if list.is_empty() => continue,
                Some(Value::Numbers(list)) => {
                    let list: Vec<String> = list.iter().map(|v| num(*v)).collect();
                    format!("{} {}", list.join(", "), unit.symbol()).trim_end().to_owned()
                }
            };
            given.push(Given { key: param.key, text, what: param.doc });
        }
        Worked { given, steps: Vec::new(), results: Vec::new(), source, notes: Vec::new() }
    }

    /// Adds a step. In `template`, `{x}` stands for the bound value `x` and
    /// `{x deg}` for an angle in degrees; a table look-up binds nothing.
    pub(super) fn step(
        &mut self,
        what: &'static str,
        template: &str,
        bound: &[(&str, f64)],
        value: f64,
        unit: Unit,
    ) {
        let mut formula = template.to_owned();
        let mut numbers = match template.split_once(" = ") {
            Some((_, right)) if !bound.is_empty() => right.to_owned(),
            _ => String::new(),
        };
        for &(name, v) in bound {
            let text = if v < 0.0 { format!("({})", num(v)) } else { num(v) };
            let (plain, angle) = (format!("{{{name}}}"), format!("{{{name} deg}}"));
            formula = formula.replace(&plain, name).replace(&angle, name);
            numbers = numbers.replace(&plain, &text).replace(&angle, &format!("{text} deg"));
        }
        self.steps.push(Step { what, formula, numbers, value, unit });
    }

    pub(super) fn result(&mut self, key: &'static str, what: &'static str, value: f64, unit: Unit) {
        self.results.push(Quantity { key, what, value, unit });
    }

    pub(super) fn note(&mut self, text: impl Into<String>) {
        self.notes.push(text.into());
    }

    /// The result called `key`.
    pub fn value(&self, key: &str) -> Option<f64> {
        self.results.iter().find(|q| q.key == key).map(|q| q.value)
    }
}

impl fmt::Display for Worked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "Given")?;
        for g in &self.given {
            writeln!(f, "  {} = {}", g.key, g.text)?;
        }
        if !self.steps.is_empty() {
            writeln!(f, "\nSteps")?;
        }
        for (i, s) in self.steps.iter().enumerate() {
            writeln!(f, "  {}. {}", i + 1, s.what)?;
            writeln!(f, "     {}", s.formula)?;
            let lead = if s.numbers.is_empty() { String::new() } else { s.numbers.clone() + " " };
            writeln!(f, "     {lead}= {}", s.text())?;
        }
        writeln!(f, "\nResults")?;
        for q in &self.results {
            writeln!(f, "  {} = {}  ({})", q.key, q.text(), q.what)?;
        }
        if !self.notes.is_empty() {
            writeln!(f, "\nNotes")?;
        }
        for note in &self.notes {
            writeln!(f, "  - {note}")?;
        }
        write!(f, "\nSource: {}", self.source)
    }
}

/// Significant digits of a printed number.
const DIGITS: i32 = 6;

/// `value` with six significant digits and no trailing zeros.
pub fn num(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if !value.is_finite() {
        return value.to_string();
    }
    let magnitude = value.abs().log10().floor() as i32;
    if !(-5..9).contains(&magnitude) {
        let text = format!("{value:.*e}", (DIGITS - 1) as usize);
        return match text.split_once('e') {
            Some((mantissa, power)) => format!("{}e{power}", trimmed(mantissa)),
            None => text,
        };
    }
    let decimals = (DIGITS - 1 - magnitude).max(0) as usize;
    trimmed(&format!("{value:.decimals$}")).to_owned()
}

fn trimmed(text: &str) -> &str {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text }
}
