//! A stone from a scan: cleaned, laid along the bore, and seen as the reach of
//! its sections.

mod clean;
mod fit;
mod pose;
mod profile;
mod report;
#[cfg(test)]
mod shapes;
#[cfg(test)]
mod tests;

use super::super::{PartContext, Refusal};
use super::stone::{Section, Stone};
use crate::measure::frame::direction;
use crate::measure::{Values, Vec2, Vec3};
use crate::mesh::Soup;
use crate::section::snap;
use fit::Fitted;
use profile::Profile;

pub(super) use pose::least_width;

/// Number of directions around the stone that its walls may have: a round stone
/// of 10 mm radius then has 0.02 mm of air at the corners.
const DIRECTIONS: usize = 48;

/// Facets nearer to each other than this, degrees, are one.
const FACETS_APART: f64 = 5.0;

/// Share of the stone's sides, by area, that makes a facet a wall of its own.
/// Common practice, no source.
const FACET_SHARE: f64 = 0.02;

/// Most distance of the levels at which a scan is read, mm: as fine as the
/// finest layers of a printer.
const MOST_LEVEL: f64 = 0.1;

/// What the fitted sections may have beyond the scan where they need not, mm,
/// as far as [`fit::MOST_SECTIONS`] allow.
const TOLERANCE: f64 = 0.03;

/// Room that a seat has beyond the clearance from a scan, mm: it gives each of
/// its walls some width, and covers what lies between two levels.
pub(super) const SPARE: f64 = 0.035;

/// Levels and directions by which the points are chosen that can touch a seat.
const SKIN: (usize, usize) = (80, 48);

/// Heights at which the scan is told as stations, as shares of its length.
const STATIONS: [f64; 5] = [0.1, 0.3, 0.5, 0.7, 0.9];

/// A stone as it was scanned, lying along the bore.
#[derive(Clone, Debug)]
pub(super) struct Scan {
    profile: Profile,
    /// Its outermost points, from its low end and from its centre of mass
    /// across, mm.
    pub outer: Vec<Vec3>,
    /// How high its centre of mass lies over its low end, mm.
    pub centre: f64,
    /// What a person wants to know of it.
    pub facts: Facts,
}

/// What was found out about a scan.
#[derive(Clone, Debug)]
pub(super) struct Facts {
    /// Triangles of the stone.
    pub triangles: usize,
    /// Triangles without area, and of other shells, that were left out.
    pub left_out: usize,
    /// Whether the mesh was inside out.
    pub turned_over: bool,
    /// mm3.
    pub volume: f64,
    /// The long axis in the frame of the file, towards the front.
    pub axis: Vec3,
    /// What lies on the bore's axis, in the frame of the file: the stone's
    /// centre of mass, mm.
    pub middle: Vec3,
    /// How far the stone is turned, degrees.
    pub turn: f64,
    /// The turn in which it seats deepest, degrees, and how deep its lowest
    /// place then lies under its axis, mm.
    pub deepest: (f64, f64),
    /// The turn that shows its widest facet, degrees, and that facet's mean
    /// width, mm.
    pub widest: (f64, f64),
    /// Sections across and upright, mm, at distances from the low end.
    pub stations: Vec<[f64; 3]>,
    /// What the fitted sections have beyond the scan at most, mm.
    pub excess: f64,
}

impl Scan {
    /// The stone of the rows `scan...`.
    ///
    /// # Errors
    /// A scan that cannot be read, is open, or is no stone.
    pub fn read(context: &PartContext<'_>, values: &Values) -> Result<Option<Stone>, Refusal> {
        let Some(file) = values.maybe_file("scan") else { return Ok(None) };
        let clean = clean::clean(file, values)?;
        let flip = values.flag("scan_flip");
        let pose = pose::Pose::of(&clean.soup, flip);
        let laid = pose.laid(&clean.soup);
        let rests = pose::rests(&laid);
        let turn = values.maybe_number("scan_turn").unwrap_or(rests.deepest.0);
        let stone = pose::turned(&laid, turn);
        let level = context.printer.number("layer").min(MOST_LEVEL);
        let normals = directions(&stone);
        let profile = Profile::of(&stone, normals, level).ok_or_else(|| {
            Refusal::new("the scan cannot be cut into sections: it has holes that look closed")
                .at(values, "scan")
                .hint("`borewright check` says what is wrong with the mesh")
        })?;
        let Fitted { sections, excess } = fit::fitted(&profile, TOLERANCE);
        let stations = STATIONS.map(|share| profile.station(share * profile.length()));
        let facts = Facts {
            triangles: stone.triangles().len(),
            left_out: clean.left_out,
            turned_over: clean.turned_over,
            volume: stone.signed_volume(),
            axis: pose.axis(),
            middle: pose.middle(),
            turn,
            deepest: rests.deepest,
            widest: rests.widest,
            stations: stations.to_vec(),
            excess,
        };
        let at = Vec2::new(snap(values.number("scan_x")), snap(values.number("scan_y")));
        let pointed = [true; 2];
        let outer = pose::outermost(stone.vertices(), SKIN);
        let scan = Scan { profile, outer, centre: pose.height(&clean.soup), facts };
        Ok(Some(Stone::scanned(sections, pointed, scan).shifted(at)))
    }

    /// Sections of all that is within `gap` mm of the stone, which is `length`
    /// mm long on the grid, less [`SPARE`] at both ends; they begin
    /// `gap - SPARE` mm before the stone does.
    pub fn grown(&self, gap: f64, length: f64) -> Vec<Section> {
        let beyond = (gap - SPARE).max(0.0);
        let mut sections = fit::fitted(&self.profile.grown(gap, beyond), TOLERANCE).sections;
        if let Some(last) = sections.last_mut() {
            // The grid may round the sum otherwise than the length.
            last.at = snap(length + 2.0 * beyond);
        }
        sections
    }
}

/// Unit vectors all around: every few degrees, and those of the stone's facets
/// in place of the nearest.
fn directions(stone: &Soup) -> Vec<Vec2> {
    let step = 360.0 / DIRECTIONS as f64;
    let mut degrees: Vec<f64> = facets(stone);
    let apart = |a: f64, b: f64| ((a - b + 180.0).rem_euclid(360.0) - 180.0).abs();
    // Upright and level sides are always looked at.
    for quarter in [0.0, 90.0, 180.0, 270.0] {
        degrees.retain(|d| apart(*d, quarter) >= FACETS_APART);
        degrees.push(quarter);
    }
    for k in 0..DIRECTIONS {
        let d = step * k as f64;
        if degrees.iter().all(|other| apart(*other, d) >= FACETS_APART) {
            degrees.push(d);
        }
    }
    degrees.sort_by(f64::total_cmp);
    degrees.into_iter().map(direction).collect()
}

/// Clocking angles of the stone's large facets, largest first.
fn facets(stone: &Soup) -> Vec<f64> {
    const BINS: usize = 360;
    let mut bins = [(0.0, Vec2::zeros()); BINS];
    let mut all = 0.0;
    for i in 0..stone.triangles().len() {
        let [a, b, c] = stone.corners(i);
        let normal = (b - a).cross(&(c - a)).xy() / 2.0;
        let area = normal.norm();
        if area > 0.0 {
            let k = crate::measure::frame::clocking(normal).floor() as usize % BINS;
            bins[k].0 += area;
            bins[k].1 += normal;
            all += area;
        }
    }
    let mut found: Vec<(f64, f64)> = Vec::new();
    for k in 0..BINS {
        // A facet lies in three bins at most.
        let near = [bins[(k + BINS - 1) % BINS], bins[k], bins[(k + 1) % BINS]];
        let area: f64 = near.iter().map(|b| b.0).sum();
        let peak = near[1].0 >= near[0].0 && near[1].0 > near[2].0;
        if peak && area >= FACET_SHARE * all {
            let normal: Vec2 = near.iter().map(|b| b.1).sum();
            found.push((area, crate::measure::frame::clocking(normal)));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.total_cmp(&b.1)));
    let mut kept: Vec<f64> = Vec::new();
    for (_, angle) in found {
        let apart = |d: &f64| ((d - angle + 180.0).rem_euclid(360.0) - 180.0).abs();
        if kept.iter().all(|d| apart(d) >= FACETS_APART) {
            kept.push(angle);
        }
    }
    kept
}
