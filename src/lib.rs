//! From caliper readings to exact, printable inserts for hollow prop handles.
//!
//! The pipeline, each layer importing only from those before it:
//!
//! 1. `measure`, `trade`: units, readings, fits, profiles; the trade's arithmetic.
//! 2. [`section`]: exact 2D regions of lines and arcs.
//! 3. [`solid`]: a stack of sections, with tapers and cross bores, as a closed B-rep.
//! 4. [`mesh`], [`export`]: watertight triangles; STL and STEP bytes.
//! 5. `parts`: bodies from validated values, with what they state for the checker.
//! 6. [`checks`], `job`: a validated job file becomes checked bodies; `serve` and `cli` are the doors.

pub mod checks;
pub mod cli;
pub mod correct;
pub mod export;
pub mod job;
pub mod measure;
pub mod mesh;
pub mod parallel;
pub mod parts;
pub mod section;
pub mod serve;
pub mod sight;
pub mod solid;
pub mod survey;
pub mod trade;

#[cfg(test)]
#[path = "parts/random_rows.rs"]
mod random_rows;
