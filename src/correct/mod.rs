//! What a printer does to sizes: fitted from readings of test prints.
//!
//! [`fit`] works out how far sizes come out off, from sizes that were read
//! ([`SizeRow`]), with how sure that is and which rows do not go with the others.

mod distribution;
mod fitted;
mod least_squares;
mod model;
#[cfg(test)]
mod tests;

pub use fitted::{Correction, FitError, Fitted, Judged, MAX_FIT_ROWS, Slip, fit};
pub use model::{Axis, COUNT, Effect, Measured, SizeRow};
