//! Lines of sight: rays against triangles, and what of a light source shows.
//!
//! 1. [`Tree`] finds what a ray meets, watertight at shared edges.
//! 2. [`many`] spreads work over threads; its results do not depend on them.

mod ray;
mod spread;
#[cfg(test)]
mod tests;
mod tree;

pub use ray::{Hit, Ray};
pub use spread::many;
pub use tree::Tree;
