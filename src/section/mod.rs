//! Exact 2D regions of lines and arcs.
//!
//! A [`Region`] is a set of closed loops with the material to the left.
//! [`Region::union`] and its sisters overlay two regions in one arrangement
//! and keep the carrier circles of all arcs, so that nothing is approximated.
//! Primitives snap what they are given to a grid ([`snap`]): near-coincidences
//! between features become coincidences before any computation starts.

mod arrange;
mod boolean;
mod common;
mod offset;

mod primitives;
mod region;
mod seg;
mod shelves;
mod swept;
mod tolerance;
mod vertex;

pub(crate) use arrange::{Arrangement, arrange};
pub(crate) use boolean::{nest, trace_loops};
pub(crate) use common::{Asked, Clockings, Common, Pieces, Reach, common};

pub use offset::OffsetError;
pub use region::{Region, RegionError};
pub use seg::{Arc, Seg};
pub use tolerance::{EPS, SectionEpsilon, snap};
pub(crate) use vertex::VertexTable;
