//! Units and vectors that every layer shares.

mod param;

pub use param::{Default, Kind, Param, Unit};

/// A point or direction in the plane of a section, in millimetres.
pub type Vec2 = nalgebra::Vector2<f64>;

/// A point or direction in the handle's frame, in millimetres: z along the
/// bore from the end cap to the front, +y towards the switches.
pub type Vec3 = nalgebra::Vector3<f64>;
