//! Will it print, and of our own parts, will it fit and last: findings about a
//! mesh, ours or another's, for a printer and a material.
//!
//! One file and one line in [`CHECKS`] each. A check reads the limits from the
//! profiles and the shape from the [`Analysis`], and gives [`Finding`]s; it
//! never fails.

mod against;
mod allowance;
mod analysis;
mod bridges;
mod chassis;
mod columns;
mod field;
mod finding;
mod first_layer;
mod fit;
mod gains;
mod gaps;
mod heat;
mod holes;
mod hollows;
mod interference;
mod islands;
mod layers;
mod machine;
mod orientation;
mod overhang;
mod overlap;
mod pins;
mod retention;
mod screws;
mod shows;
mod slender;
mod sound;
mod strain;
mod surfaces;
mod topology;
mod union;
mod walk;
mod walls;

pub use against::{Meeting, Question, meeting};
pub use allowance::{Allowance, BadAllowance};
pub use analysis::Analysis;
pub use field::{ACROSS, Field, Probe, Sample, Side, inscribed};
pub use finding::{Finding, Limit, Place, Region, Severity, Tally, direction};
pub use fit::{BINDS, FitRow, RATTLES, fit_rows};
pub use gains::{Gain, gains};
pub(crate) use heat::MARGIN as HEAT_MARGIN;
pub use layers::{Hollow, Island, Layers};
pub use orientation::best_up;
pub use overlap::{CONTACT, Overlap, Unclear, on_the_way, seated};
pub use shows::shown;
pub use slender::Column;
pub use topology::Topology;
pub use walk::{MARK_HEIGHT, Stand, Walker};
pub use walls::{WallSummary, wall_cap, wall_summary};

use crate::measure::{Values, Vec3};
use crate::mesh::Remark;
use crate::parts::Declared;
use crate::solid::{FaceId, Solid};

/// A check: how it is called, what it looks for, how it runs.
#[derive(Clone, Copy, Debug)]
pub struct Check {
    /// As after `--allow`, lower case with underscores.
    pub name: &'static str,
    /// One line for lists.
    pub summary: &'static str,
    /// Whether it depends on which way is up while it is printed: it is then
    /// given the mesh as it stands on the plate.
    pub upright: bool,
    /// Runs it.
    pub run: fn(&CheckContext<'_>) -> Vec<Finding>,
}

/// All checks, in the order of reports.
pub const CHECKS: &[Check] = &[
    sound::CHECK,
    machine::CHECK,
    walls::CHECK,
    gaps::CHECK,
    holes::CHECK,
    pins::CHECK,
    columns::CHECK,
    overhang::CHECK,
    bridges::CHECK,
    islands::CHECK,
    first_layer::CHECK,
    hollows::CHECK,
    orientation::CHECK,
    fit::CHECK,
    interference::CHECK,
    interference::INSERTION,
    chassis::CHECK,
    chassis::ENTRY,
    strain::CHECK,
    heat::CHECK,
    screws::CHECK,
    retention::CHECK,
    shows::CHECK,
];

/// What is known of a body that we made, besides its mesh.
#[derive(Clone, Copy, Debug)]
pub struct Known<'a> {
    /// The exact solid.
    pub solid: &'a Solid,
    /// For each triangle of the mesh, the face that it lies on.
    pub face_of: &'a [FaceId],
    /// What the part states of it.
    pub declared: &'a Declared,
}

/// What a check may look at.
#[derive(Clone, Copy)]
pub struct CheckContext<'a> {
    /// A printer: values of the family `printers`.
    pub printer: &'a Values,
    /// A material: values of the family `materials`.
    pub material: &'a Values,
    /// The mesh: a foreign one with z upwards, one of ours in the handle's
    /// frame; checks that are `upright` get it as it stands on the plate.
    pub analysis: &'a Analysis,
    /// What did not agree when it was read.
    pub remarks: &'a [Remark],
    /// For a body that we made.
    pub known: Option<Known<'a>>,
}

impl CheckContext<'_> {
    /// How the printer works: `fdm`, `resin` or `sls`.
    pub fn process(&self) -> &'static str {
        self.printer.choice("process")
    }

    /// Which way is up while it is printed, in the frame of the file: as the
    /// part states, else +z.
    pub fn up(&self) -> Vec3 {
        self.known.and_then(|known| known.declared.up).unwrap_or(Vec3::z())
    }
}

/// How far a measured length may fall short of its limit, mm: the default chord
/// tolerance of a mesh and a tenth for rounding. A wall drawn just as thick as
/// the limit passes.
const ALLOWANCE: f64 = 0.011;

/// Most findings of one check; the last says how many more there are.
const MOST_FINDINGS: usize = 8;

/// Runs all checks. The order of findings is that of [`CHECKS`], within a
/// check the worst first. Places are in the frame of the file; heights count
/// upwards on the plate.
pub fn check(context: &CheckContext<'_>) -> Vec<Finding> {
    let large = context.analysis.beyond_measure();
    let mut findings = Vec::new();
    let up = context.up();
    let turned = (up != Vec3::z() && !large).then(|| context.analysis.turned(up));
    for check in CHECKS {
        // Beyond a few metres only these two say anything.
        if large && check.name != sound::CHECK.name && check.name != machine::CHECK.name {
            continue;
        }
        match turned.as_ref().filter(|_| check.upright) {
            None => findings.extend((check.run)(context)),
            Some(analysis) => {
                let found = (check.run)(&CheckContext { analysis, ..*context });
                findings.extend(found.into_iter().map(|f| f.moved(|p| analysis.home(p))));
            }
        }
    }
    findings
}

/// Keeps the first [`MOST_FINDINGS`] and says how many were left out.
fn cut(mut findings: Vec<Finding>) -> Vec<Finding> {
    findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    if findings.len() > MOST_FINDINGS {
        let more = findings.len() - MOST_FINDINGS;
        findings.truncate(MOST_FINDINGS);
        if let Some(last) = findings.last_mut() {
            last.text.push_str(&format!(" (and {more} more like this)"));
        }
    }
    findings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_plain_and_unique() {
        for (i, check) in CHECKS.iter().enumerate() {
            assert!(check.name.chars().all(|c| c.is_ascii_lowercase() || c == '_'));
            assert!(CHECKS[..i].iter().all(|other| other.name != check.name), "{}", check.name);
            assert!(check.summary.len() > 10);
        }
    }
}
