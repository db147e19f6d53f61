//! Lines of sight: rays against triangles, and what of a light source shows.
//!
//! 1. [`Tree`] finds what a ray meets, watertight at shared edges.
//! 2. [`Scene`] follows light: walls that take all of it, a clear stone that
//!    bends and mirrors it, a [`Shell`] around both with a window, a chassis that
//!    stands in between.
//! 3. [`look`] sends rays from a [`Lamp`] and says what share of it shows, and
//!    where its light goes.

mod bend;
#[cfg(test)]
mod chassis_tests;
mod hole;
mod lamp;
mod look;
#[cfg(test)]
mod look_tests;
mod ray;
mod scene;
mod shell;
#[cfg(test)]
mod tests;
mod tree;

pub use hole::Hole;
pub use lamp::Lamp;
pub use look::{Counts, Share, Shown, Sightline, look};
pub use ray::{Hit, Ray};
pub use scene::{End, Passage, Scene};
pub use shell::Shell;
pub use tree::Tree;
