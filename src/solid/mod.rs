//! Exact solids: closed, oriented B-reps of planes, cylinders and cones.

mod bore;
mod brep;
mod bspline;
mod climb;
mod column;
mod curve;
mod levels;
mod moving;
mod properties;
mod ruled;
mod stack;
mod surface;
mod swept;
mod through;
mod truck;
mod turned;
mod unify;
mod wall;

pub use bore::{BoreEnd, BoreError, BoreProfile, CrossBore, Mouth};
pub(crate) use brep::Drawn;
pub use brep::{Brep, BrepError, Edge, EdgeId, EdgeUse, Face, FaceId, Shell, Solid, VertexId};
pub(crate) use bspline::{CubicSpline, SPLINE_TOLERANCE};
pub use curve::{Curve, Trace};
pub use levels::{Levels, LevelsError};
pub(crate) use moving::Moving;
pub use properties::{FaceCounts, MassProperties};
pub use ruled::{RuleError, RuledSection};
pub use stack::{Stack, StackError, StackTolerance};

pub use surface::Surface;
pub use swept::{StepKeeps, Sweep};
pub use truck::TruckError;
pub use turned::Placing;
