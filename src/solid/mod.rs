//! Exact solids: closed, oriented B-reps of planes, cylinders and cones.

mod brep;
mod bspline;
mod curve;
mod properties;
mod surface;
mod truck;

pub use brep::{Brep, BrepError, Edge, EdgeId, EdgeUse, Face, FaceId, Shell, Solid, VertexId};
pub(crate) use bspline::{CubicSpline, SPLINE_TOLERANCE};
pub use curve::{Curve, Trace};
pub use properties::{FaceCounts, MassProperties};
pub use surface::Surface;
pub use truck::TruckError;
