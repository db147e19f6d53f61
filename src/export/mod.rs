//! Bytes for other programs: STL, STEP, JSON, PNG. No I/O.

mod picture;
mod step;
mod stl;

pub use picture::{PictureBody, View, arrange, picture};
pub use step::{StepHeader, StepProduct, step};
pub use stl::{StlError, stl};
