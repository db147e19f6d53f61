//! Tessellation, mesh checks and slicing.
