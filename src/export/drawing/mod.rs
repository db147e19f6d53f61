//! Technical drawings on paper: what an eye sees of a solid, dimensions, the sheet they stand
//! on, and that sheet as SVG and PDF.
//!
//! Lines after ISO 128, dimensions after ISO 129-1, views after ISO 5456-2, scales after ISO
//! 5455, the frame after ISO 5457 and the title block after ISO 7200 (all from memory, and
//! only as far as a fitter's sheet needs them).

mod axes;
mod dimension;
mod eye;
mod font;
mod frame;
mod grid;
mod join;
mod lines;
mod pdf;
mod section;
mod sheet;
mod svg;

#[cfg(test)]
mod tests;

pub use axes::{RoundAxis, round_axes};
pub use dimension::{Dimension, PlacedDimensions, Way, place};
pub use eye::Eye;
pub use font::{text_width, unprintable};
pub(crate) use frame::circle;
pub use frame::{Frame, Paper, Projection, Title};
pub use lines::{LINE_TOLERANCE, ViewLines, line_mesh, view_lines};
pub use pdf::pdf;
pub use sheet::{Anchor, Extent, Item, LineGroup, Pen, Sheet, Text};
pub use svg::svg;
