//! Tessellation: closed triangle meshes from exact solids.

mod flat;
mod grid;
mod outline;
mod samples;
#[cfg(test)]
mod stack_tests;
mod strips;
mod tessellate;
#[cfg(test)]
mod test_solids;
#[cfg(test)]
mod tests;
mod triangles;

pub use tessellate::{ChordTolerance, MeshError, tessellate};
pub use triangles::{Mesh, MeshDefect};
