//! The section and solid engine under random input.

mod bores;
mod random;
mod stacks;
mod tapers;
