//! Tessellation: closed triangle meshes from exact solids. Meshes that others
//! made, as they are; trees over them, and cuts through them.

mod bvh;
mod coarsen;
mod flat;
mod grid;
mod outline;
mod read;
mod refill;
mod samples;
mod shells;
mod slice;
#[cfg(test)]
mod stack_tests;
mod strips;
mod tessellate;
#[cfg(test)]
mod test_solids;
#[cfg(test)]
mod tests;
mod triangle;
mod triangles;

pub use bvh::{Bvh, Contact, Touch};
pub use read::{
    FileUnit, MAX_COORDINATE, MAX_FILE_BYTES, MAX_TRIANGLES, MeshFormat, ReadBody, ReadError,
    ReadMesh, Remark, Soup, Welder, admit, read_mesh,
};
pub(crate) use refill::refilled;
pub(crate) use slice::piece;
pub use slice::{Run, SlicePlan, cut_at, slice};
pub use tessellate::{ChordTolerance, MeshError, tessellate};
pub use triangle::closest_on_triangle;
pub(crate) use triangles::edges;
pub use triangles::{Mesh, MeshDefect};
