//! The calculators against published values, and against themselves.

mod arithmetic;
mod components;
mod fasteners;
mod files;
mod geometry;
mod physics;
mod registry;
mod steps;
mod support;
mod table;
mod traps;
mod values;
