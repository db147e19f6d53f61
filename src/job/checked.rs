//! Checks of made bodies.

use super::{Job, Made, MadeBody};
use crate::checks::{
    Allowance, Analysis, CheckContext, Finding, FitRow, Known, WallSummary, check, fit_rows, shown,
    wall_summary,
};
use crate::mesh::{Mesh, Soup};
use crate::parallel::each;
use crate::sight::Shown;

/// What the checks say of a body.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// All findings, those that may pass with their reason.
    pub findings: Vec<Finding>,
    /// Every declared gap in numbers.
    pub fits: Vec<FitRow>,
    /// Its walls in numbers; none of a body too large to measure.
    pub walls: Option<WallSummary>,
    /// How thick its walls are over its surface.
    pub heat: Vec<Warmth>,
    /// What shows of the lamp that it hides, and where its light goes.
    pub sight: Option<Shown>,
}

/// The thickness of the wall below a point of a surface, in single precision,
/// for pictures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warmth {
    /// The point, mm.
    pub at: [f32; 3],
    /// Thickness, mm; infinite beyond what is measured.
    pub thickness: f32,
}

impl Checked {
    /// Whether an error stands in the way that nobody has allowed.
    pub fn blocks(&self) -> bool {
        self.findings.iter().any(Finding::blocks)
    }
}

/// Checks every made body for the job's printer and material, several at a
/// time. `allowed` come before the job's own allowances.
pub fn check_made(job: &Job, made: &mut [Made], allowed: &[Allowance]) {
    let allowed: Vec<Allowance> = allowed.iter().chain(job.allowed()).cloned().collect();
    let bodies: Vec<&mut MadeBody> = made.iter_mut().flat_map(|part| &mut part.bodies).collect();
    each(bodies, |body| body.checked = Some(checked(job, body, &allowed)));
}

/// How thick a mesh's walls are over its surface, up to `cap` mm; nothing of one too
/// large to measure.
pub fn wall_warmth(mesh: &Mesh, cap: f64) -> Vec<Warmth> {
    let analysis = Analysis::new(Soup::from(mesh));
    if analysis.beyond_measure() { Vec::new() } else { warmth(&analysis, cap) }
}

fn warmth(analysis: &Analysis, cap: f64) -> Vec<Warmth> {
    // Those over the surface stand for an area, those of a search for the least do not.
    let over = analysis.walls(cap).samples.iter().filter(|s| s.area > 0.0);
    over.map(|s| Warmth { at: s.at.map(|v| v as f32).into(), thickness: s.value as f32 }).collect()
}

fn checked(job: &Job, made: &MadeBody, allowed: &[Allowance]) -> Checked {
    let printer = job.print().component("printer");
    let material = job.print().component("material");
    let analysis = Analysis::new(Soup::from(&made.mesh));
    let known = Known {
        solid: &made.body.solid,
        face_of: made.mesh.face_of(),
        declared: &made.body.declared,
    };
    let context =
        CheckContext { printer, material, analysis: &analysis, remarks: &[], known: Some(known) };
    let mut findings = check(&context);
    Allowance::apply(allowed, &made.body.name, &mut findings);
    let walls = (!analysis.beyond_measure()).then(|| wall_summary(&analysis, printer));
    let heat = walls.iter().flat_map(|walls| warmth(&analysis, walls.cap)).collect();
    let sight = shown(&context).cloned();
    Checked { findings, fits: fit_rows(&made.body.declared), walls, heat, sight }
}
