//! Measuring a chassis that somebody else made: its outside along z, the
//! cavities in it, and what fits into them.
//!
//! The chassis is cut into slabs. What its surface covers within a slab is
//! blocked, so that nothing thinner than a step is missed; what is left is
//! material or free, as a cut through the middle of the slab tells. Free space
//! that goes on from slab to slab is a cavity.

mod cavity;
mod chassis;
mod circle;
mod clear;
mod distance;
mod inscribed;
mod outline;
#[cfg(test)]
mod outline_tests;
mod shadow;
#[cfg(test)]
mod tests;

pub use cavity::{CavitySection, Mouth};
pub(crate) use chassis::NearChassis;
pub use chassis::{Chassis, ChassisError, ChassisPlace, Entry, FileAxis};
pub use clear::ClearBore;
pub use inscribed::{ANGLE_STEP, Cylinder, FittingBox};
pub use outline::ClearOutline;

use crate::measure::rounding::up;
use crate::measure::{Vec2, Vec3};
use crate::mesh::{Run, SlicePlan, Soup, slice};
use crate::parallel;
use cavity::{Slab, Tracer};
use inscribed::Room;
use shadow::{Cells, Grid, Slabs, cover, covered};

/// Step along z where none is given, mm. Common practice, no source.
pub const USUAL_STEP: f64 = 1.0;

/// Grid where none is given, mm: finer than a printer's line.
pub const USUAL_GRID: f64 = 0.1;

/// Smallest width of a cavity where none is given, mm: less is a channel for
/// wires. Common practice, no source.
pub const USUAL_LEAST: f64 = 3.0;

/// Most lines of the grid in all slabs together; keeps time and memory bounded.
const MOST_LINES: f64 = 4e5;

/// Most lines of the grid in one slab, for the same reason.
const MOST_ROWS: f64 = 4000.0;

/// How a chassis is surveyed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurveyPlan {
    /// Lowest height, mm; the chassis' own where none is given.
    pub from: Option<f64>,
    /// Highest height, mm; the chassis' own where none is given.
    pub to: Option<f64>,
    /// Step along z, mm.
    pub step: f64,
    /// Side of the grid's cells, mm.
    pub grid: f64,
    /// Smallest width of a cavity that counts, mm.
    pub least: f64,
}

impl std::default::Default for SurveyPlan {
    fn default() -> Self {
        SurveyPlan { from: None, to: None, step: USUAL_STEP, grid: USUAL_GRID, least: USUAL_LEAST }
    }
}

/// The outside over one step.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct OutsideStep {
    /// From this height, mm.
    pub from: f64,
    /// To this height, mm.
    pub to: f64,
    /// Of the circle about the chassis' axis that contains it, mm.
    pub diameter: f64,
}

/// Free space that goes on along z.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Cavity {
    /// From this height, mm, to within a step.
    pub from: f64,
    /// To this height, mm, to within a step.
    pub to: f64,
    /// The largest cylinder along z that fits over its whole length.
    pub cylinder: Option<Cylinder>,
    /// The largest box along z that fits over its whole length.
    #[serde(rename = "box")]
    pub fitting_box: Option<FittingBox>,
    /// Step by step.
    pub sections: Vec<CavitySection>,
}

/// What was measured.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Survey {
    /// From this height, mm.
    pub from: f64,
    /// To this height, mm.
    pub to: f64,
    /// Step along z, mm.
    pub step: f64,
    /// Side of the grid's cells, mm.
    pub grid: f64,
    /// Smallest width of a cavity that counts, mm.
    pub least: f64,
    /// The axis: middle of the smallest circle around all, mm.
    pub axis: [f64; 2],
    /// Diameter of that circle, mm.
    pub diameter: f64,
    /// Whether the boundary was closed; if not, what is material is a guess.
    pub closed: bool,
    /// Whether the mesh was inside out and was turned over first.
    pub turned_over: bool,
    /// The outside, step by step; none where there is nothing.
    pub outside: Vec<OutsideStep>,
    /// Cavities, from low to high.
    pub cavities: Vec<Cavity>,
}

/// Why a chassis cannot be surveyed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SurveyError {
    /// The range holds nothing of the mesh.
    #[error(
        "the range asked for{} holds nothing of the mesh, which is from z = {low:.2} to \
         {high:.2} mm", asked(*from, *to)
    )]
    NoRange {
        /// Lower end asked for, mm.
        from: Option<f64>,
        /// Upper end asked for, mm.
        to: Option<f64>,
        /// Lowest height of the mesh, mm.
        low: f64,
        /// Highest height of the mesh, mm.
        high: f64,
    },
    /// A step or a grid that is no positive number.
    #[error("a {what} of {value} mm is no size to measure with")]
    NoSize {
        /// Step, grid or least width.
        what: &'static str,
        /// mm.
        value: f64,
    },
    /// Too many steps of too fine a grid.
    #[error(
        "{steps} steps on a grid of {grid} mm are too many for a chassis {diameter:.1} mm across"
    )]
    TooFine {
        /// Number of steps.
        steps: usize,
        /// Side of a cell, mm.
        grid: f64,
        /// Diameter, mm.
        diameter: f64,
        /// Steps and grids that would do, mm.
        would_do: Vec<(f64, f64)>,
    },
    /// The boundary crosses itself all over.
    #[error("the surface crosses itself too often to be cut")]
    Tangled,
    /// No cut shows material.
    #[error("no cut shows any material from z = {from:.2} to {to:.2} mm")]
    NoMaterial {
        /// Lower end, mm.
        from: f64,
        /// Upper end, mm.
        to: f64,
    },
}

/// No chassis is as small, mm: one in metres is.
const SMALL: f64 = 1.0;

fn asked(from: Option<f64>, to: Option<f64>) -> String {
    let end = |word: &str, z: Option<f64>| z.map_or(String::new(), |z| format!(" {word} {z}"));
    end("from", from) + &end("to", to)
}

impl SurveyError {
    /// What a person can do about it.
    pub fn hint(&self) -> String {
        match self {
            SurveyError::NoRange { low, high, .. } => {
                format!("choose a range within {low:.2} to {high:.2}, or leave it out")
            }
            SurveyError::NoSize { .. } => "give a size above 0".to_owned(),
            SurveyError::TooFine { would_do, .. } => {
                let each: Vec<String> = would_do
                    .iter()
                    .map(|(step, grid)| format!("a step of {step} mm on a grid of {grid} mm"))
                    .collect();
                format!("{} would do", each.join(", or "))
            }
            SurveyError::Tangled => {
                "`borewright check` says what is wrong with the mesh".to_owned()
            }
            SurveyError::NoMaterial { from, to } if to - from < SMALL => {
                let tall = to - from;
                format!(
                    "a range of {tall:.4} mm is of a mesh in metres or inches: say its `--unit`"
                )
            }
            SurveyError::NoMaterial { .. } => {
                "the mesh must enclose its material: `borewright check` says where it is open"
                    .to_owned()
            }
        }
    }
}

/// Measures a chassis whose axis is z.
///
/// # Errors
/// See [`SurveyError`]. Memory stays within what [`Soup`] and the grid need.
pub fn survey(given: &Soup, plan: &SurveyPlan) -> Result<Survey, SurveyError> {
    for (what, value) in [("step", plan.step), ("grid", plan.grid), ("least width", plan.least)] {
        if !(value.is_finite() && value > 0.0) {
            return Err(SurveyError::NoSize { what, value });
        }
    }
    let (low, high) = given.bounds();
    let (from, to) = (plan.from.unwrap_or(low.z).max(low.z), plan.to.unwrap_or(high.z).min(high.z));
    let no_range = SurveyError::NoRange { from: plan.from, to: plan.to, low: low.z, high: high.z };
    if from.is_nan() || to.is_nan() || to <= from {
        return Err(no_range);
    }
    let turned_over = given.signed_volume() < 0.0;
    let reversed = turned_over.then(|| given.reversed());
    let soup = reversed.as_ref().unwrap_or(given);
    let slabs = Slabs::new(from, to, plan.step);
    let around = circle::around(&points_between(soup, from, to)).ok_or(no_range)?;
    let grid = grid_over(&around, plan.grid, slabs.count).ok_or_else(|| SurveyError::TooFine {
        steps: slabs.count,
        grid: plan.grid,
        diameter: 2.0 * around.radius,
        would_do: coarser(&around, plan, to - from),
    })?;
    let mut covering = vec![Cells::new(&grid); slabs.count];
    let mut reach = vec![0.0f64; slabs.count];
    slabs.shadows(soup, |k, polygon| {
        cover(&grid, polygon, &mut covering[k]);
        for p in polygon.corners() {
            reach[k] = reach[k].max((p - around.centre).norm());
        }
    });
    let traces = traced(soup, &slabs, &grid, &covering, &reach, around.centre, plan.least)?;
    let cavities = parallel::each(traces, |trace| {
        let last = trace.first + trace.sections.len() - 1;
        let (from, to) = (slabs.span(trace.first).0, slabs.span(last).1);
        let narrow = reach[trace.first..=last].iter().copied().fold(f64::INFINITY, f64::min);
        let room = Room {
            soup,
            grid: &grid,
            free: &trace.common,
            inside: slabs.inside(trace.first, last),
            length: to - from,
            envelope: (around.centre, narrow),
        };
        let largest = room.largest();
        Cavity {
            from,
            to,
            cylinder: largest.map(|l| l.0),
            fitting_box: largest.map(|l| l.1),
            sections: trace.sections,
        }
    });
    let step = |k: usize| {
        let (from, to) = slabs.span(k);
        OutsideStep { from, to, diameter: 2.0 * reach[k] }
    };
    Ok(Survey {
        from,
        to,
        step: plan.step,
        grid: plan.grid,
        least: plan.least,
        axis: around.centre.into(),
        diameter: 2.0 * around.radius,
        closed: soup.unpaired_edges() == 0,
        turned_over,
        outside: (0..slabs.count).filter(|&k| reach[k] > 0.0).map(step).collect(),
        cavities,
    })
}

/// Material along lines of the grid in each slab.
struct Cuts {
    /// Slabs that are alike share one.
    runs: Vec<Vec<Run>>,
    /// Which of `runs`, slab by slab.
    of: Vec<usize>,
}

impl Cuts {
    /// Cuts all slabs along `lines` lines of x, from `low` on; none if the surface
    /// crosses itself too often.
    fn new(soup: &Soup, slabs: &Slabs, cell: f64, low: f64, lines: usize) -> Option<Cuts> {
        let plan = SlicePlan {
            bottom: slabs.from,
            layer: slabs.step,
            layers: slabs.count as u32,
            first_line: low + 0.5 * cell,
            spacing: cell,
            lines: lines as u32,
        };
        let mut cuts = Cuts { runs: Vec::new(), of: Vec::with_capacity(slabs.count) };
        let whole = slice(soup, &plan, |_, runs, same| {
            if !same {
                cuts.runs.push(runs.to_vec());
            }
            cuts.of.push(cuts.runs.len() - 1);
        });
        whole.then_some(cuts)
    }

    fn at(&self, slab: usize) -> &[Run] {
        &self.runs[self.of[slab]]
    }

    /// Whether a slab is cut like the one below it.
    fn same(&self, slab: usize) -> bool {
        slab > 0 && self.of[slab] == self.of[slab - 1]
    }
}

/// Slabs whose pieces are held at once: enough for all cores, few enough for memory.
const AT_ONCE: usize = 16;

/// Cuts all slabs and follows free space through them.
fn traced(
    soup: &Soup,
    slabs: &Slabs,
    grid: &Grid,
    covering: &[Cells],
    reach: &[f64],
    centre: Vec2,
    least: f64,
) -> Result<Vec<cavity::Trace>, SurveyError> {
    let along = parallel::each(vec![false, true], |across| {
        if !across {
            return Cuts::new(soup, slabs, grid.cell, grid.low.y, grid.rows);
        }
        // The mirror in the diagonal turns the mesh inside out.
        let mirrored = soup.mapped(|p| Vec3::new(p.y, p.x, p.z)).reversed();
        Cuts::new(&mirrored, slabs, grid.cell, grid.low.x, grid.columns)
    });
    let Ok([Some(along_x), Some(along_y)]) = <[Option<Cuts>; 2]>::try_from(along) else {
        return Err(SurveyError::Tangled);
    };
    if along_x.runs.iter().all(Vec::is_empty) {
        return Err(SurveyError::NoMaterial { from: slabs.from, to: slabs.to });
    }
    let mut tracer = Tracer::default();
    let mut before: Option<Cells> = None;
    for first in (0..slabs.count).step_by(AT_ONCE) {
        let some = first..slabs.count.min(first + AT_ONCE);
        let free = parallel::each(some.clone().collect(), |k| {
            free_cells(grid, &covering[k], along_x.at(k), centre, reach[k])
        });
        let like = |k: usize| {
            let earlier = match k - first {
                0 => before.as_ref(),
                i => Some(&free[i - 1]),
            };
            along_x.same(k)
                && earlier == Some(&free[k - first])
                && (reach[k - 1] - reach[k]).abs() < SAME_REACH
        };
        let height = |k: usize| slabs.from + (k as f64 + 0.5) * slabs.step;
        let pieces = parallel::each(some.clone().collect(), |k| {
            let slab = Slab {
                grid,
                free: &free[k - first],
                z: height(k),
                least,
                envelope: (centre, reach[k]),
                runs: [along_x.at(k), along_y.at(k)],
            };
            (!like(k)).then(|| slab.pieces())
        });
        for (k, pieces) in some.zip(pieces) {
            match pieces {
                Some(pieces) => tracer.slab(k, pieces),
                None => tracer.same(height(k)),
            }
        }
        before = free.into_iter().last();
    }
    Ok(tracer.finish())
}

/// Radii that differ by less, mm, are one (float noise).
const SAME_REACH: f64 = 1e-6;

/// Cells inside the envelope that are neither covered nor material.
fn free_cells(grid: &Grid, covered: &Cells, runs: &[Run], centre: Vec2, radius: f64) -> Cells {
    let mut taken = covered.clone();
    for run in runs {
        let at = |x: f64| Grid::index(x, grid.low.x, grid.cell, grid.columns);
        taken.set_run(run.line as usize, at(run.from), at(run.to));
    }
    let mut free = Cells::new(grid);
    for row in 0..grid.rows {
        // The row's corner that is furthest from the middle.
        let y = grid.middle(0, row).y - centre.y;
        let far = y.abs() + 0.5 * grid.cell;
        let half = (radius * radius - far * far).max(0.0).sqrt();
        let first = ((centre.x - half - grid.low.x) / grid.cell).ceil().max(0.0) as usize;
        let end = ((centre.x + half - grid.low.x) / grid.cell).floor().max(0.0) as usize;
        for column in first..end.min(grid.columns) {
            if !taken.has(column, row) {
                free.set(column, row);
            }
        }
    }
    free
}

/// Rows of the grid over a circle.
fn rows(around: &circle::Circle, cell: f64) -> f64 {
    (2.0 * around.radius / cell).ceil() + 2.0
}

/// The grid over a circle; none if it has too many lines.
fn grid_over(around: &circle::Circle, cell: f64, slabs: usize) -> Option<Grid> {
    let rows = rows(around, cell);
    if rows > MOST_ROWS || rows * slabs as f64 > MOST_LINES {
        return None;
    }
    let low = around.centre - Vec2::repeat(0.5 * rows * cell);
    Some(Grid { low, cell, columns: rows as usize, rows: rows as usize })
}

/// Steps and grids that would do over a length: only one changed where that is
/// enough, else both.
fn coarser(around: &circle::Circle, plan: &SurveyPlan, length: f64) -> Vec<(f64, f64)> {
    let hundredths = |size: f64| up(size).max(0.01);
    // One line to spare for rounding.
    let step_for =
        |grid: f64| hundredths(length / (MOST_LINES / rows(around, grid) - 1.0).max(1.0));
    let grid_for = |rows: f64| hundredths(2.0 * around.radius / (rows - 3.0));
    let alone = (MOST_LINES / (length / plan.step + 1.0)).min(MOST_ROWS);
    let mut out = Vec::new();
    if rows(around, plan.grid) <= MOST_ROWS {
        out.push((step_for(plan.grid), plan.grid));
    }
    if alone >= LEAST_ROWS {
        out.push((plan.step, grid_for(alone)));
    }
    if out.is_empty() {
        let grid = grid_for(MOST_ROWS);
        out.push((step_for(grid), grid));
    }
    out
}

/// Rows below which a grid says too little. Common practice, no source.
const LEAST_ROWS: f64 = 50.0;

/// Corners of what lies between two heights, seen along z.
fn points_between(soup: &Soup, from: f64, to: f64) -> Vec<Vec2> {
    let inside = |p: &Vec3| (from..=to).contains(&p.z);
    let mut points: Vec<Vec2> =
        soup.vertices().iter().filter(|p| inside(p)).map(|p| p.xy()).collect();
    for i in 0..soup.triangles().len() {
        let corners = soup.corners(i);
        if !corners.iter().all(inside)
            && let Some(polygon) = covered(&corners, from, to)
        {
            points.extend_from_slice(polygon.corners());
        }
    }
    points
}
