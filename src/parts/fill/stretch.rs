//! A stack of sections, filled out stretch by stretch.

use std::cell::OnceCell;

use super::keep_out::KeepOut;
use super::spans::{Spans, is_outer, outer};
use super::{Fill, round};
use crate::section::{Region, Seg, snap};
use crate::solid::{RuledSection, Stack, StepKeeps, Sweep};

/// Heights nearer to each other are one, mm: ten times the least slab.
const SAME_HEIGHT: f64 = 0.01;

impl Fill {
    /// The stack filled out; none if nothing is added.
    pub(super) fn stack(&self, stack: &Stack, keep_outs: &[KeepOut]) -> Option<Stack> {
        let mut stretches: Vec<Stretch<'_>> = Vec::new();
        for (bottom, top, shape) in stack.slabs() {
            let levels = levels(bottom, top, keep_outs);
            stretches.extend(levels.windows(2).map(|ends| Stretch {
                fill: self,
                shape,
                slab: (bottom, top),
                ends: [ends[0], ends[1]],
                free: free(keep_outs, ends[0], ends[1]),
                limit: None,
                chamfered: OnceCell::new(),
            }));
        }
        let limits = self.limits(&stretches);
        for (stretch, limit) in stretches.iter_mut().zip(limits) {
            stretch.limit = limit;
        }
        let mut out = Stack::default();
        let mut any = false;
        for slab in stretches.chunk_by(|p, q| p.slab == q.slab) {
            if slab.iter().any(Stretch::adds) {
                any = true;
                for stretch in slab {
                    let section = |z| stretch.section(z);
                    out.swept(&stretch.ends, &self.sweep(), &section);
                }
            } else {
                let (bottom, top) = slab[0].slab;
                out.ruled(bottom, top, slab[0].shape.clone());
            }
        }
        any.then_some(out)
    }

    /// Chamfers that no planes make are made in the printer's own steps.
    fn sweep(&self) -> Sweep {
        Sweep { step: self.layer, keeps: StepKeeps::LessMaterial }
    }

    /// For each stretch that is lower than a wall, what of it goes on above or below
    /// for as much as a wall: the rest would be a shelf too thin to print.
    fn limits(&self, stretches: &[Stretch<'_>]) -> Vec<Option<Region>> {
        let height = |s: &Stretch<'_>| s.ends[1] - s.ends[0];
        let touches = |i: usize| stretches[i].ends[1] >= stretches[i + 1].ends[0] - SAME_HEIGHT;
        let goes_on = |k: usize| {
            let mut on = Region::empty();
            for first in (0..=k).rev() {
                if first < k && !touches(first) {
                    break;
                }
                let mut high = 0.0;
                let mut shared: Option<Region> = None;
                for (i, stretch) in stretches.iter().enumerate().skip(first) {
                    if i > first && !touches(i - 1) {
                        break;
                    }
                    let full = stretch.full();
                    shared = Some(shared.map_or(full.clone(), |s| s.intersection(&full)));
                    high += height(stretch);
                    if i >= k && high >= self.wall {
                        on = on.union(&shared.unwrap_or_default());
                        break;
                    }
                }
                let below: f64 = stretches[first..k].iter().map(height).sum();
                if below >= self.wall {
                    break;
                }
            }
            on
        };
        (0..stretches.len())
            .map(|k| (height(&stretches[k]) < self.wall).then(|| goes_on(k)))
            .collect()
    }
}

/// Heights of a slab at which what is kept free begins or ends, its own included.
fn levels(bottom: f64, top: f64, keep_outs: &[KeepOut]) -> Vec<f64> {
    let ends = keep_outs.iter().flat_map(|k| [k.low, k.high]).map(snap);
    let inside = |z: &f64| bottom + SAME_HEIGHT < *z && *z < top - SAME_HEIGHT;
    let mut within: Vec<f64> = ends.filter(inside).collect();
    within.sort_by(f64::total_cmp);
    within.dedup_by(|b, a| *b - *a < SAME_HEIGHT);
    [bottom].into_iter().chain(within).chain([top]).collect()
}

/// What is kept free anywhere between two heights.
fn free(keep_outs: &[KeepOut], low: f64, high: f64) -> Option<Region> {
    let meets = |k: &&KeepOut| k.low < high - SAME_HEIGHT && low + SAME_HEIGHT < k.high;
    let all = keep_outs.iter().filter(meets).map(|k| k.region.clone());
    all.reduce(|a, b| a.union(&b))
}

/// A stretch of a slab, to be filled.
struct Stretch<'a> {
    fill: &'a Fill,
    shape: &'a RuledSection,
    /// Lower and upper end of the slab, mm.
    slab: (f64, f64),
    /// And of the stretch.
    ends: [f64; 2],
    free: Option<Region>,
    /// What may be added at most, if not all.
    limit: Option<Region>,
    /// What a chamfer takes from, see [`Stretch::whole`].
    chamfered: OnceCell<Option<(Region, bool)>>,
}

impl Stretch<'_> {
    /// Whether anything is added, at its ends or halfway.
    fn adds(&self) -> bool {
        let (low, high) = (self.ends[0], self.ends[1]);
        let heights = [low, 0.5 * (low + high), high];
        let heights = if self.shape.is_prism() { &heights[..1] } else { &heights };
        heights.iter().any(|&z| !self.added(&self.outlines(z)).is_empty())
    }

    fn outlines(&self, z: f64) -> Vec<Vec<Seg>> {
        let (bottom, top) = self.slab;
        self.shape.at((z - bottom) / (top - bottom))
    }

    /// The section filled out.
    fn section(&self, z: f64) -> Region {
        let outlines = self.outlines(z);
        let added = self.added(&outlines);
        let section = region(&outlines);
        if added.is_empty() { section } else { section.union(&added) }
    }

    /// The pieces of outlines of the slab whose walls lie on the round outside at its
    /// lower or at its upper end, as asked.
    fn walls(&self, outlines: &[Vec<Seg>], lower: bool, upper: bool) -> Vec<Seg> {
        let ends = [self.shape.at(0.0), self.shape.at(1.0)];
        let on = |end: usize, i: usize, j: usize| is_outer(&ends[end][i][j], self.fill.radius);
        let mut out = Vec::new();
        for (i, pieces) in outlines.iter().enumerate() {
            let lies = |j: usize| lower && on(0, i, j) || upper && on(1, i, j);
            out.extend(pieces.iter().enumerate().filter(|(j, _)| lies(*j)).map(|(_, s)| *s));
        }
        out
    }

    /// What is added where the outside is the round itself: at its widest.
    fn full(&self) -> Region {
        let (low, high) = (self.outlines(self.slab.0), self.outlines(self.slab.1));
        let of = |walls: &[Seg]| {
            let arcs = Spans::on_circle(walls.iter(), self.fill.radius);
            self.limited(self.fill.added((arcs, self.free.clone())))
        };
        let (below, above) = (self.walls(&low, true, false), self.walls(&high, false, true));
        match (below.is_empty(), above.is_empty()) {
            (true, _) => of(&above),
            (_, true) => of(&below),
            _ if self.shape.is_prism() => of(&below),
            _ => self.fill.standing(&of(&below).intersection(&of(&above))),
        }
    }

    /// Radius of the outside where it is narrower, at one end of the slab, mm.
    fn narrowest(&self) -> f64 {
        let radius = |z: f64| {
            let walls = self.walls(&self.outlines(z), true, true);
            walls.iter().filter_map(outer).fold(0.0, f64::max)
        };
        radius(self.slab.0).min(radius(self.slab.1))
    }

    fn limited(&self, added: Region) -> Region {
        match &self.limit {
            Some(limit) if !added.is_empty() => self.fill.standing(&added.intersection(limit)),
            _ => added,
        }
    }

    fn added(&self, outlines: &[Vec<Seg>]) -> Region {
        let own = self.walls(outlines, true, true);
        let Some(radius) = own.iter().filter_map(outer).max_by(f64::total_cmp) else {
            return Region::empty();
        };
        let by = self.fill.radius - radius;
        if by <= 0.0 {
            let arcs = Spans::on_circle(own.iter(), radius);
            return self.limited(self.fill.added((arcs, self.free.clone())));
        }
        // A chamfer: as much is taken off what was added.
        let Some((whole, sharp)) = self.chamfered.get_or_init(|| self.whole()) else {
            return Region::empty();
        };
        let less = sharp.then(|| whole.offset_same_structure(-by).ok()).flatten();
        less.unwrap_or_else(|| whole.offset(-by)).difference(&round(radius))
    }

    /// The section where the outside is the round itself, filled out, and whether a
    /// chamfer leaves its corners sharp all the way; none if nothing is added.
    fn whole(&self) -> Option<(Region, bool)> {
        let added = self.full();
        if added.is_empty() {
            return None;
        }
        let low = self.outlines(self.slab.0);
        let at_low = !self.walls(&low, true, false).is_empty();
        let full = if at_low { low } else { self.outlines(self.slab.1) };
        let whole = region(&full).union(&added);
        let most = self.fill.radius - self.narrowest();
        let sharp = whole.offset_same_structure(-most).is_ok();
        Some((whole, sharp))
    }
}

fn region(outlines: &[Vec<Seg>]) -> Region {
    Region::from_outlines(outlines).unwrap_or_else(|_| Region::undefined())
}
