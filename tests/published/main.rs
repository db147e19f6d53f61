//! The calculators against published values, and against themselves.

mod arithmetic;
mod physics;
mod registry;
mod steps;
mod support;
mod traps;
mod values;
