//! What a printer does to sizes: fitted from readings of test prints.
//!
//! [`fit`] works out how far sizes come out off, from sizes that were read
//! ([`SizeRow`]), with how sure that is and which rows do not go with the others.
//! [`Compensation`] makes up for it in print files.

mod after;
mod compensate;
mod distribution;
mod fitted;
mod least_squares;
mod model;
mod slide;
#[cfg(test)]
mod tests;

pub use after::{AfterPrint, Clearance, Growth, Sat, next_clearance};
pub use compensate::{CompensateError, Compensation, LARGEST_DRAWN_HOLE};
pub use fitted::{Correction, FitError, Fitted, Judged, MAX_FIT_ROWS, Slip, fit};
pub use model::{COUNT, Effect, SizeRow};
