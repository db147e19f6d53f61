//! The few thresholds of the section layer, in one place.

/// Float-noise thresholds of the section layer, all in mm and all far below
/// the grid that input is snapped to.
#[derive(Clone, Copy, Debug)]
pub struct SectionEpsilon {
    /// Points closer than this are one vertex. Computed points carry about
    /// 1e-14 mm of noise; the shallowest line-circle crossing that is not called
    /// tangent amplifies that to 1e-9.
    pub vertex: f64,
    /// A point closer than this to a curve lies on it; curves whose closest
    /// approach is within it are tangent.
    pub on_curve: f64,
    /// Two curve pieces between the same vertices are one piece when their
    /// midpoints are closer than this.
    pub same_edge: f64,
    /// Input positions and radii are rounded to this grid: a tenth of the last
    /// digit of a caliper, and far above float noise.
    pub grid: f64,
}

/// The thresholds in force.
pub const EPS: SectionEpsilon =
    SectionEpsilon { vertex: 1e-8, on_curve: 1e-8, same_edge: 1e-7, grid: 1e-3 };

/// `value` rounded to the input grid ([`SectionEpsilon::grid`]), mm.
pub fn snap(value: f64) -> f64 {
    // Dividing by an integer gives the double nearest to the decimal number.
    let steps = (1.0 / EPS.grid).round();
    (value * steps).round() / steps
}
