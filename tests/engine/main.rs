//! The section and solid engine under random input.

mod random;
mod stacks;
