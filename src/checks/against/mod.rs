//! What of a foreign chassis lies in a part of ours, and in its way in.
//!
//! Both are cut at the same heights: the part exactly ([`Levels`]), the chassis
//! triangle by triangle. The area that the sections have in common is exact up to
//! the chords that stand for arcs ([`crate::section::common`]). Between two
//! neighbouring heights of the part and levels of the chassis, at which its flats
//! lie, that area changes only by what leaning surfaces cover seen along z; a
//! step's volume is its height times the area in its middle, so half its height
//! times what leaning triangles cover bounds the error ([`Meeting::bound`]).
//!
//! A way from +y is bounded below by the part's lowest line in each column of x. Where
//! a leaning face ends that line jumps, so what is passed changes by more than any
//! face covers. Within half a step it lies between what passes above all that the part
//! covers there and above what it covers all the while; what the chassis has between
//! the two is added to the bound.

mod steps;
#[cfg(test)]
mod tests;

use std::cell::RefCell;
use std::rc::Rc;

use super::overlap::{CONTACT, Unclear};
use crate::measure::{Vec2, Vec3};
use crate::mesh::Soup;
use crate::section::{Asked, Clockings, Common, Pieces, Reach, Region, common};
use crate::solid::Levels;
use crate::survey::{Chassis, NearChassis};
use steps::{Step, Steps};

/// Areas up to this, mm2, are float noise of faces that lie on each other.
const NOTHING: f64 = 1e-7;

/// Halvings by which the end of an overlap between two steps is found.
const END_HALVINGS: usize = 16;

/// Times that the heights are cut by a third, between which an overlap reaches
/// furthest to a side.
const SIDE_CUTS: usize = 12;

/// Steps at which clockings are looked at, besides the first of each run.
const AROUND: usize = 60;

/// How much wider a section must be than the widest in which its depth was asked,
/// to be asked anew.
const WIDER: f64 = 1.1;

/// Halvings by which the depth of an overlap is found.
const DEPTH_HALVINGS: usize = 14;

/// What is asked of a part and a chassis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    /// What lies in the part where it sits.
    Seated,
    /// What lies in its way along z from the end cap's end.
    FromCap,
    /// What lies in its way from +y.
    FromAbove,
}

/// Where a chassis lies in a part or in its way.
#[derive(Clone, Debug, PartialEq)]
pub struct Meeting {
    /// Volume, mm3.
    pub volume: f64,
    /// How far the volume may be off, mm3.
    pub bound: f64,
    /// Lower corner, mm.
    pub low: Vec3,
    /// Upper corner, mm.
    pub high: Vec3,
    /// The clockings from which to which it lies, counter-clockwise, degrees;
    /// none if it goes all around.
    pub clocking: Option<(f64, f64)>,
    /// How far it reaches in, square to z, below the boundary of what the part
    /// covers or passes, in about the widest of its sections; no more than its
    /// height, mm.
    pub depth: f64,
    /// The middle of its widest section, mm.
    pub at: Vec3,
}

/// Finds what of `chassis` lies in the part or in its way. `mesh` is the part's,
/// in the handle's frame. Overlaps not deeper than [`CONTACT`] in section, or no
/// higher, are contact.
///
/// # Errors
/// [`Unclear`] where a section of the part is not defined.
pub fn meeting(
    part: &Levels<'_>,
    mesh: &Soup,
    chassis: &Chassis,
    question: Question,
) -> Result<Option<Meeting>, Unclear> {
    let (bottom, top) = part.ends();
    let (low, high) = mesh.bounds();
    let from = if question == Question::FromCap { chassis.bounds().0.z } else { bottom };
    let range = (from.max(chassis.bounds().0.z), top.min(chassis.bounds().1.z));
    let upper = if question == Question::FromAbove { f64::INFINITY } else { high.y };
    let near = chassis.near(Vec3::new(low.x, low.y, range.0), Vec3::new(high.x, upper, range.1));
    if range.1 <= range.0 || near.triangles().is_empty() {
        return Ok(None);
    }
    let sections = Sections::new(part, question);
    let top = chassis.bounds().1.y;
    let cover = sections.all(top - low.y);
    let full = Region::rectangle(low.xy(), Vec2::new(high.x, top.max(high.y)));
    let full = Pieces::of(full.segs());
    let sways = |from: f64, to: f64| {
        let middle = part.section(0.5 * (from + to));
        sections.sway((from, to), &middle, &full)
    };
    let steps = Steps::new(part, mesh, &near, (range, &sways), &cover);
    Search { sections, near: &near, cached: None, runs: Vec::new(), swayed: 0.0 }.run(&steps)
}

/// What the part covers or passes, height by height.
struct Sections<'p, 's> {
    part: &'p Levels<'s>,
    question: Question,
    heights: Vec<f64>,
    /// For each height, all that the part covers above it; for a way along z.
    above: Vec<Region>,
}

impl<'p, 's> Sections<'p, 's> {
    fn new(part: &'p Levels<'s>, question: Question) -> Sections<'p, 's> {
        let heights = part.heights();
        let mut above = Vec::new();
        if question == Question::FromCap {
            let mut all = Region::empty();
            above.push(all.clone());
            for pair in heights.windows(2).rev() {
                all = part.bound(pair[0], pair[1]).union(&all);
                above.push(all.clone());
            }
            above.reverse();
        }
        Sections { part, question, heights, above }
    }

    /// All that is covered or passed at any height; a way from +y begins `far` mm
    /// above it.
    fn all(&self, far: f64) -> Region {
        let (bottom, top) = self.part.ends();
        match self.question {
            Question::Seated => self.part.shadow(bottom, top),
            Question::FromCap => self.above.first().cloned().unwrap_or_default(),
            Question::FromAbove => {
                self.part.shadow(bottom, top).swept(Vec2::new(0.0, far.max(0.0)))
            }
        }
    }

    /// How far the area of `chassis` in a way from +y may be off, mm2, between two
    /// heights because the lowest lines of the part change there: what lies above all
    /// that is covered between them, and not above what is covered all the while.
    /// `section` is the part's at one of these heights.
    fn sway(&self, (low, high): (f64, f64), section: &Region, chassis: &Pieces) -> f64 {
        if self.question != Question::FromAbove || self.part.is_steady(low, high) {
            return 0.0;
        }
        let passed = |region: &Region| {
            let (pieces, none) = (Pieces::of(region.segs()), Pieces::default());
            let asked = Asked { reach: Reach::FromAbove, around: false };
            (common(&pieces, chassis, &none, asked).area, pieces.off())
        };
        let always = section.difference(&self.part.leaning(low, high));
        let ((most, off), (least, less)) = (passed(&self.part.bound(low, high)), passed(&always));
        (most - least).max(0.0) + off + less
    }

    /// What counts at a height, ready to be compared.
    fn cut(&self, z: f64) -> Result<Cut, Unclear> {
        let region = self.at(z);
        let own = match self.question {
            Question::Seated => Region::empty(),
            Question::FromCap | Question::FromAbove => self.part.section(z),
        };
        if region.is_undefined() || own.is_undefined() {
            return Err(Unclear(z));
        }
        let (pieces, own) = (Pieces::of(region.segs()), Pieces::of(own.segs()));
        Ok(Cut { region, pieces, own, eased: RefCell::new(None) })
    }

    /// What counts at a height.
    fn at(&self, z: f64) -> Region {
        if self.question != Question::FromCap {
            return self.part.section(z);
        }
        let next = self.heights.partition_point(|h| *h <= z);
        match next.checked_sub(1) {
            None => self.above[0].clone(),
            Some(here) if next == self.heights.len() => self.above[here].clone(),
            Some(here) if self.part.is_steady(self.heights[here], self.heights[next]) => {
                self.above[here].clone()
            }
            Some(_) => self.part.bound(z, self.heights[next]).union(&self.above[next]),
        }
    }
}

/// What of the part is compared at a height.
struct Cut {
    region: Region,
    pieces: Pieces,
    /// What the overlap where it sits is left out of: nothing when that is asked.
    own: Pieces,
    /// A depth, and the region's pieces so deep below its boundary.
    eased: RefCell<Option<(f64, Rc<Pieces>)>>,
}

impl Cut {
    fn eased(&self, by: f64) -> Rc<Pieces> {
        match &*self.eased.borrow() {
            Some((known, pieces)) if *known == by => return pieces.clone(),
            _ => {}
        }
        let pieces = Rc::new(Pieces::of(self.region.offset(-by).segs()));
        *self.eased.borrow_mut() = Some((by, pieces.clone()));
        pieces
    }
}

/// Steps one after the other with something in them.
struct Run {
    /// The nearest heights below and above at which nothing was found.
    free: (f64, f64),
    /// The lowest and highest height at which something was.
    met: (f64, f64),
    volume: f64,
    off: f64,
    bounds: (Vec2, Vec2),
    /// For each side of `bounds`, the step in whose middle it was reached.
    reached: [(f64, f64); 4],
    around: Clockings,
    depth: f64,
    /// The widest section in which its depth was asked, mm2.
    asked: f64,
    widest: (f64, Vec3),
}

struct Search<'p, 's, 'n> {
    sections: Sections<'p, 's>,
    near: &'n NearChassis,
    /// The cut of a stretch in which it does not change.
    cached: Option<(usize, Rc<Cut>)>,
    runs: Vec<Run>,
    /// What the part's lowest lines may change of the volume between the middles of
    /// steps, mm3.
    swayed: f64,
}

impl Search<'_, '_, '_> {
    fn run(mut self, steps: &Steps) -> Result<Option<Meeting>, Unclear> {
        let mut rising = self.near.rising();
        let mut free = steps.range().0;
        let stride = steps.all().len().div_ceil(AROUND);
        for (number, step) in steps.all().iter().enumerate() {
            let z = 0.5 * (step.low + step.high);
            let chassis = Pieces::between(rising.at(z));
            let cut = self.cut(z, step)?;
            for (low, high) in [(step.low, z), (z, step.high)] {
                let sway = self.sections.sway((low, high), &cut.region, &chassis);
                self.swayed += (high - low) * sway;
            }
            let going = self.runs.last().is_some_and(|run| run.free.1 > z);
            let around = !going || number % stride == 0;
            let found = self.common_around(&cut.pieces, &chassis, &cut.own, around);
            match found.bounds.filter(|_| found.area > NOTHING) {
                Some(bounds) => {
                    if self.runs.last().is_none_or(|run| run.free.1 < z) {
                        self.runs.push(Run {
                            free: (free, f64::INFINITY),
                            met: (z, z),
                            volume: 0.0,
                            off: 0.0,
                            bounds,
                            reached: [(step.low, step.high); 4],
                            around: Clockings::default(),
                            depth: CONTACT,
                            asked: 0.0,
                            widest: (0.0, Vec3::zeros()),
                        });
                    }
                    self.take(step, &cut, &chassis, (&found, bounds));
                }
                None => {
                    free = z;
                    if let Some(run) = self.runs.last_mut() {
                        run.free.1 = run.free.1.min(z);
                    }
                }
            }
        }
        if let Some(run) = self.runs.last_mut() {
            run.free.1 = run.free.1.min(steps.range().1);
        }
        self.summed(steps)
    }

    fn summed(self, steps: &Steps) -> Result<Option<Meeting>, Unclear> {
        let mut out: Option<Meeting> = None;
        let mut around = Clockings::default();
        let mut widest = 0.0;
        for run in &self.runs {
            let (low, high) = self.corners(run)?;
            let depth = run.depth.min(high.z - low.z);
            if depth <= CONTACT {
                continue;
            }
            around.join(&run.around);
            let all = out.get_or_insert_with(|| Meeting {
                volume: 0.0,
                bound: steps.bound() + self.swayed,
                low,
                high,
                clocking: None,
                depth: 0.0,
                at: run.widest.1,
            });
            all.volume += run.volume;
            all.bound += run.off;
            all.low = all.low.inf(&low);
            all.high = all.high.sup(&high);
            all.depth = all.depth.max(depth);
            if run.widest.0 > widest {
                (widest, all.at) = run.widest;
            }
        }
        Ok(out.map(|meeting| Meeting { clocking: around.arc(), ..meeting }))
    }

    fn common(&self, part: &Pieces, chassis: &Pieces, own: &Pieces) -> Common {
        self.common_around(part, chassis, own, false)
    }

    fn common_around(&self, part: &Pieces, other: &Pieces, own: &Pieces, around: bool) -> Common {
        let way = self.sections.question == Question::FromAbove;
        let reach = if way { Reach::FromAbove } else { Reach::Own };
        common(part, other, own, Asked { reach, around })
    }

    /// The part at a height of a step, made once for a stretch in which it stays.
    fn cut(&mut self, z: f64, step: &Step) -> Result<Rc<Cut>, Unclear> {
        if let Some((stretch, cut)) = &self.cached
            && *stretch == step.stretch
        {
            return Ok(cut.clone());
        }
        let cut = Rc::new(self.sections.cut(z)?);
        if step.steady {
            self.cached = Some((step.stretch, cut.clone()));
        }
        Ok(cut)
    }

    fn take(
        &mut self,
        step: &Step,
        cut: &Cut,
        chassis: &Pieces,
        (found, bounds): (&Common, (Vec2, Vec2)),
    ) {
        let known = self.runs.last().map_or((CONTACT, 0.0), |run| (run.depth, run.asked));
        // Offsets are dear: once it is more than contact, only wider sections are asked.
        let asks = known.0 <= CONTACT || found.area > WIDER * known.1;
        let depth = if asks { self.deeper(cut, chassis, known.0) } else { known.0 };
        let Some(run) = self.runs.last_mut() else { return };
        if asks {
            run.asked = run.asked.max(found.area);
        }
        let (height, z) = (step.high - step.low, 0.5 * (step.low + step.high));
        run.met.1 = z;
        run.volume += found.area * height;
        run.off += (cut.pieces.off_between(bounds) + cut.own.off_between(bounds)) * height;
        for (side, reached) in run.reached.iter_mut().enumerate() {
            if outwards(bounds, side) > outwards(run.bounds, side) {
                *reached = (step.low, step.high);
            }
        }
        run.bounds = joined(run.bounds, bounds);
        found.around.iter().for_each(|around| run.around.join(around));
        run.depth = depth;
        if found.area > run.widest.0 {
            let middle = found.moment / found.area;
            run.widest = (found.area, Vec3::new(middle.x, middle.y, z));
        }
    }

    /// How deep the chassis reaches below the boundary of what counts, mm; at
    /// least what is `known`.
    fn deeper(&self, cut: &Cut, chassis: &Pieces, known: f64) -> f64 {
        let reaches = |by: f64| self.common(&cut.eased(by), chassis, &cut.own).area > NOTHING;
        if !reaches(known) {
            return known;
        }
        let size = cut.region.bounds().map_or(0.0, |(low, high)| (high - low).min());
        let (mut deep, mut beyond) = (known, known.max(0.5 * size));
        for _ in 0..DEPTH_HALVINGS {
            let middle = 0.5 * (deep + beyond);
            if reaches(middle) {
                deep = middle;
            } else {
                beyond = middle;
            }
        }
        beyond
    }

    /// The corners of what lies in a run: its ends, and what reaches furthest to
    /// each side, are sought between the heights that were looked at.
    fn corners(&self, run: &Run) -> Result<(Vec3, Vec3), Unclear> {
        let mut bounds = run.bounds;
        let mut end = |mut free: f64, mut met: f64| {
            let near = self.near.within(free.min(met), free.max(met));
            for _ in 0..END_HALVINGS {
                let z = 0.5 * (free + met);
                match self.bounds(&near, z)? {
                    Some(found) => {
                        met = z;
                        bounds = joined(bounds, found);
                    }
                    None => free = z,
                }
            }
            Ok(met)
        };
        let (low, high) = (end(run.free.0, run.met.0)?, end(run.free.1, run.met.1)?);
        for (side, &(from, to)) in run.reached.iter().enumerate() {
            // What reaches furthest may lie in the half of a neighbouring step.
            let (mut from, mut to) = (1.5 * from - 0.5 * to, 1.5 * to - 0.5 * from);
            let near = self.near.within(from, to);
            let reach = |z: f64| {
                let found = self.bounds(&near, z)?;
                Ok((found.map_or(f64::NEG_INFINITY, |b| outwards(b, side)), found))
            };
            for _ in 0..SIDE_CUTS {
                let (a, b) = (from + (to - from) / 3.0, to - (to - from) / 3.0);
                let (first, second) = (reach(a)?, reach(b)?);
                bounds = [first.1, second.1].into_iter().flatten().fold(bounds, joined);
                if first.0 < second.0 { from = a } else { to = b }
            }
        }
        let corner = |p: Vec2, z: f64| Vec3::new(p.x, p.y, z);
        Ok((corner(bounds.0, low), corner(bounds.1, high)))
    }

    /// The corners of what lies in the part or its way at one height.
    fn bounds(&self, near: &NearChassis, z: f64) -> Result<Option<(Vec2, Vec2)>, Unclear> {
        let cut = self.sections.cut(z)?;
        let found = self.common(&cut.pieces, &Pieces::between(near.at(z)), &cut.own);
        Ok(found.bounds.filter(|_| found.area > NOTHING))
    }
}

fn joined(a: (Vec2, Vec2), b: (Vec2, Vec2)) -> (Vec2, Vec2) {
    (a.0.inf(&b.0), a.1.sup(&b.1))
}

/// How far bounds reach to one of four sides: -x, -y, +x, +y.
fn outwards((low, high): (Vec2, Vec2), side: usize) -> f64 {
    [-low.x, -low.y, high.x, high.y][side]
}
