//! What a person measures and enters: units, tables, readings, profiles.
//!
//! [`Param`] rows say what may be written; a TOML text read against them gives
//! [`Values`] that are complete and in range, or [`Faults`] that point at
//! lines. [`Library`] holds the profiles of components.

mod bore;
mod families;
mod fault;
mod file;
pub mod frame;
mod handle;
mod hint;
mod library;
mod param;
mod printed;
mod read;
mod render;
pub(crate) mod rounding;
mod scalar;
mod shown;
mod source;
mod values;

pub use bore::Bore;
pub use families::{Conflict, FAMILIES, Family};
pub use fault::{Fault, Faults, MAX_FAULTS, What};
pub use file::{GivenFile, MAX_FILE};
pub use handle::{HANDLE, Handle};
pub use hint::{did_you_mean, length_in_text, or_list};
pub use library::{Library, MAX_NAME};
pub use param::{Default, Kind, Param, Unit, check_rows};
pub use printed::{Axis, Measured, Reading};
pub use read::{PLACEHOLDER, ReadFile, read_values};
pub use render::render;
pub use shown::{columns, number, quoted, toml_string, unit_after, wrapped};
pub use source::{MAX_BYTES, Place, Source, UnreadableText};
pub use values::{Origin, Values};

pub(crate) use library::bad_name;
pub(crate) use read::{Reader, no_files, parse};

/// A point or direction in the plane of a section, in millimetres.
pub type Vec2 = nalgebra::Vector2<f64>;

/// A point or direction in the handle's frame (see [`frame`]), in millimetres.
pub type Vec3 = nalgebra::Vector3<f64>;

/// A turn between frames.
pub type Mat3 = nalgebra::Matrix3<f64>;
