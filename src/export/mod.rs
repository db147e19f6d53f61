//! Bytes for other programs: STL, STEP, JSON, PNG. No I/O.

mod step;
mod stl;

pub use step::{StepHeader, StepProduct, step};
pub use stl::{StlError, stl};
