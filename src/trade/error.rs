//! The one error of the calculators.

use super::worked::num;
use crate::measure::Unit;

/// Why a calculator refused. Every variant that concerns a value names the
/// input, the value and the allowed range; [`TradeError::hint`] says what to
/// do next and is no part of the message.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TradeError {
    /// A number outside its range, or not a finite number at all.
    #[error("{input} = {} is outside {}", with_unit(*.value, *.unit), range(*.min, *.max, *.unit))]
    OutOfRange {
        /// Key of the input.
        input: &'static str,
        /// The value given.
        value: f64,
        /// Smallest allowed value.
        min: f64,
        /// Largest allowed value.
        max: f64,
        /// Unit of value and range.
        unit: Unit,
        /// Next action.
        hint: String,
    },
    /// A text that does not say what the input needs.
    #[error("{input} = `{text}` is not {expected}")]
    Unreadable {
        /// Key of the input.
        input: &'static str,
        /// The text given.
        text: String,
        /// What is allowed, as words.
        expected: String,
        /// Next action.
        hint: String,
    },
    /// A required input was left out.
    #[error("{input} is missing")]
    Missing {
        /// Key of the input.
        input: &'static str,
        /// Next action.
        hint: String,
    },
    /// The same input was given twice.
    #[error("{input} is given twice")]
    Repeated {
        /// Key of the input.
        input: &'static str,
        /// Next action.
        hint: String,
    },
    /// No input has this name.
    #[error("there is no input `{input}`")]
    UnknownInput {
        /// The key given.
        input: String,
        /// Next action, with the nearest known key.
        hint: String,
    },
    /// No calculator has this name.
    #[error("there is no calculator `{name}`")]
    UnknownCalculator {
        /// The name given.
        name: String,
        /// Next action, with the nearest known name.
        hint: String,
    },
    /// Each input is in its range, but together they allow no answer.
    #[error("{reason}: {input} = {}, allowed {}", with_unit(*.value, *.unit), range(*.min, *.max, *.unit))]
    Refused {
        /// Key of the input that binds.
        input: &'static str,
        /// Its value.
        value: f64,
        /// Smallest value that would do, given the other inputs.
        min: f64,
        /// Largest value that would do, given the other inputs.
        max: f64,
        /// Unit of value and range.
        unit: Unit,
        /// What is impossible.
        reason: String,
        /// Next action.
        hint: String,
    },
}

impl TradeError {
    /// What to do next.
    pub fn hint(&self) -> &str {
        match self {
            TradeError::OutOfRange { hint, .. }
            | TradeError::Unreadable { hint, .. }
            | TradeError::Missing { hint, .. }
            | TradeError::Repeated { hint, .. }
            | TradeError::UnknownInput { hint, .. }
            | TradeError::UnknownCalculator { hint, .. }
            | TradeError::Refused { hint, .. } => hint,
        }
    }
}

/// `value` with its unit behind it.
pub(super) fn with_unit(value: f64, unit: Unit) -> String {
    match unit.symbol() {
        "" => num(value),
        symbol => format!("{} {symbol}", num(value)),
    }
}

/// A range in words; open ends are infinite.
fn range(min: f64, max: f64, unit: Unit) -> String {
    match (min.is_finite(), max.is_finite()) {
        (true, true) => format!("{} to {}", num(min), with_unit(max, unit)),
        (true, false) => format!("{} or more", with_unit(min, unit)),
        (false, true) => format!("{} or less", with_unit(max, unit)),
        (false, false) => "any number".to_owned(),
    }
}
