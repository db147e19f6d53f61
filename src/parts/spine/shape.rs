//! The solids of a planned spine.

use super::super::Refusal;
use super::super::around::bar;
use super::super::build::{self, Ends, Slab, chamfered};
use super::plan::{Plan, Standing};
use crate::measure::Vec2;
use crate::section::{Region, snap};
use crate::solid::Solid;

/// How far cuts reach beyond the outside, mm.
const BEYOND: f64 = 5.0;

/// Least radius of a ring's hole, mm: less passes no wire. Common practice, no
/// source.
const LEAST_HOLE: f64 = 1.0;

/// Heights nearer than this are one, mm.
const SAME: f64 = 1e-6;

/// A piece of the keel, and the chamfer made at its high end.
pub(super) struct Piece {
    pub z: (f64, f64),
    pub solid: Solid,
    pub chamfer: f64,
}

impl Plan<'_> {
    /// The keel's section, without notches and ducts.
    fn keel(&self) -> Region {
        let (half, top, edge) = (self.half, self.top, self.edge);
        let far = self.fit.radius + BEYOND;
        let mut section = Region::disc(Vec2::zeros(), self.fit.radius)
            .intersection(&bar((-half, half), (-far, top)));
        if edge > 0.0 {
            let corner = |side: f64| {
                let mut p = [
                    (half - edge, top),
                    (half, top - edge),
                    (half + BEYOND, top - edge),
                    (half + BEYOND, top + BEYOND),
                    (half - edge, top + BEYOND),
                ]
                .map(|(x, y)| Vec2::new(side * x, y));
                if side < 0.0 {
                    p.reverse();
                }
                Region::polygon(&p)
            };
            section = section.difference(&corner(1.0)).difference(&corner(-1.0));
        }
        section
    }

    /// What is cut of the keel at a height for notches and ducts.
    fn cuts(&self, z: f64) -> Region {
        let far = self.fit.radius + BEYOND;
        let mut out = self.duct_cuts(z);
        if self.notches.iter().any(|n| n.0 < z && z < n.1) {
            out = out.union(&bar((-far, far), (snap(self.top - self.seat), far)));
        }
        out
    }

    /// Heights at which the keel changes.
    fn levels(&self) -> Vec<f64> {
        let mut out = vec![self.ends.0, self.ends.1];
        out.extend(self.notches.iter().flat_map(|n| [n.0, n.1]));
        let ducts = self.runs.iter().filter(|r| r.duct.is_some()).filter_map(|r| r.z);
        out.extend(ducts.flat_map(|z| [z.0, z.1]));
        let j = &self.joints;
        for &z in &j.at {
            out.extend([z, z + j.gap, z + j.long - j.gap, z + j.long]);
            out.extend([z + 2.0 * j.long, z + 2.0 * j.long + j.gap]);
        }
        out
    }

    /// The pieces of the keel from the cap to the front.
    ///
    /// # Errors
    /// Sections that make no solid, with the place.
    pub(super) fn pieces(&self) -> Result<Vec<Piece>, Refusal> {
        let joints = &self.joints;
        let mut starts = vec![self.ends.0];
        starts.extend(&joints.at);
        let mut ends = joints.at.clone();
        ends.push(self.ends.1);
        let keel = self.keel();
        let whole: Vec<(f64, f64)> = starts.into_iter().zip(ends).collect();
        let last = whole.len() - 1;
        let lead_in = snap(self.values.number("lead_in"));
        let made = whole.iter().enumerate().map(|(i, &(start, end))| {
            // A piece begins behind the gap, and its key reaches past its end.
            let low = if i == 0 { start } else { snap(start + joints.gap) };
            let high = if i == last { end } else { snap(end + 2.0 * joints.long) };
            let mut heights: Vec<f64> = self.levels().into_iter().map(snap).collect();
            heights.retain(|z| (low..=high).contains(z));
            heights.sort_by(f64::total_cmp);
            heights.dedup_by(|a, b| (*a - *b).abs() < SAME);
            let mut slabs: Vec<Slab> = Vec::new();
            for pair in heights.windows(2) {
                let z = 0.5 * (pair[0] + pair[1]);
                let mut section = keel.difference(&self.cuts(z));
                if i < last && z > end {
                    section = section.intersection(&self.key(z - end, 0.0));
                }
                if i > 0 && z < start + 2.0 * joints.long + joints.gap {
                    section = section.difference(&self.key(z - start, joints.gap));
                }
                match slabs.last_mut() {
                    Some(slab) if slab.section == section => slab.top = pair[1],
                    _ => slabs.push(Slab { bottom: pair[0], top: pair[1], section }),
                }
            }
            // Lying on its flat, the keel has no first layer at its ends.
            let ends = Ends { low: 0.0, high: if i == last { lead_in } else { 0.0 } };
            let (stack, made) = chamfered(&slabs, ends);
            let solid = build::solid(&stack, &self.bores((low, high)), "the keel")?;
            Ok(Piece { z: (low, high), solid, chamfer: made.high })
        });
        made.collect()
    }

    /// The section of a joint's key, or with a gap that of its slot, at a
    /// distance from where the faces meet.
    fn key(&self, at: f64, gap: f64) -> Region {
        let far = self.fit.radius + BEYOND;
        let joints = &self.joints;
        let half = if at < joints.long - gap { joints.neck } else { joints.head };
        let half = snap(half + gap);
        bar((-half, half), (-far, far))
    }

    /// A ring, and the chamfers made.
    ///
    /// # Errors
    /// A section that makes no solid, with the place.
    pub(super) fn ring(&self, ring: &Standing) -> Result<(Solid, Ends), Refusal> {
        let (radius, wall, foot) = (self.fit.radius, self.ring_wall, self.foot());
        let far = radius + BEYOND;
        let above = |y: f64| bar((-far, far), (y, far));
        let outer = Region::disc(Vec2::zeros(), radius).intersection(&above(foot));
        // A ring as thick as the bore is a whole disc.
        let hole = snap(radius - wall);
        let inner = match hole > LEAST_HOLE {
            true => Region::disc(Vec2::zeros(), hole).intersection(&above(snap(foot + wall))),
            false => Region::empty(),
        };
        let section = outer.difference(&inner).difference(&self.ring_notches());
        self.standing(ring, section, "the ring")
    }

    /// A chair, and the chamfers made.
    ///
    /// # Errors
    /// A section that makes no solid, with the place.
    pub(super) fn chair(&self, chair: &Standing) -> Result<(Solid, Ends), Refusal> {
        let top = chair.top.unwrap_or(self.top);
        let half = self.chair_half;
        let section = Region::disc(Vec2::zeros(), self.fit.radius)
            .intersection(&bar((-half, half), (self.foot(), top)));
        self.standing(chair, section, "the chair")
    }

    fn standing(
        &self,
        standing: &Standing,
        section: Region,
        what: &str,
    ) -> Result<(Solid, Ends), Refusal> {
        let slab = Slab { bottom: standing.z.0, top: standing.z.1, section };
        let (stack, made) = chamfered(&[slab], Ends::new(self.values));
        Ok((build::solid(&stack, &[], what)?, made))
    }
}
