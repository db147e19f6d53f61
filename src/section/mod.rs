//! Exact 2D regions of lines and arcs.
