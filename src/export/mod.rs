//! Bytes for other programs: STL, STEP, 3MF, PNG, SVG, PDF. No I/O.

pub mod drawing;
mod picture;
mod step;
mod stl;
mod threemf;

pub use picture::{
    BODY_COLOURS, CREASE_COS, Cut, Label, PictureBody, Pixels, Scale, Tint, View, arrange, picture,
    picture_labelled,
};
pub use step::{StepHeader, StepProduct, step};
pub use stl::{StlError, stl};
pub use threemf::{Package, PackageError, PackageItem, PackageMesh, threemf};
