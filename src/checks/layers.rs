//! What shows only in layers: material that starts in mid-air, hollows that
//! are shut while the print grows, columns that stand alone.

use super::slender::{Column, Columns};
use super::union::Union;
use crate::measure::Vec3;
use crate::mesh::{Run, SlicePlan, Soup, slice};

/// A piece of a layer with nothing under it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Island {
    /// Middle of its longest run, mm.
    pub at: Vec3,
    /// Lower side of the layer in which it starts, mm.
    pub bottom: f64,
    /// Area in that layer, mm2.
    pub area: f64,
}

/// Empty space that is shut off from the outside: in the layers up to some
/// height for a cup, for good for a trapped volume.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hollow {
    /// A point inside, mm.
    pub at: Vec3,
    /// Lowest and highest layer, mm.
    pub heights: (f64, f64),
    /// Volume, mm3.
    pub volume: f64,
    /// Largest area in one layer, mm2.
    pub area: f64,
}

/// Most islands and hollows that are kept; a mesh with more is noise.
const MOST: usize = 200;

/// Least volume of a hollow that is told, mm3: a drop. Common practice, no
/// source.
const DROP: f64 = 1.0;

/// What the layers of a mesh show, in the orientation given, on a plate at
/// its lowest point.
#[derive(Clone, Debug)]
pub struct Layers {
    /// Heights and lines.
    pub plan: SlicePlan,
    /// Material that starts in mid-air, from below.
    pub islands: Vec<Island>,
    /// Hollows that nothing opens, not even taking the body off the plate.
    pub trapped: Vec<Hollow>,
    /// Hollows that stay shut until a higher layer opens them, or until the body
    /// is taken off: the plate shuts what is open below.
    pub cups: Vec<Hollow>,
    /// Columns that stand alone, the most slender first.
    pub columns: Vec<Column>,
}

/// Empty space so far: one for each set of the union.
#[derive(Clone, Copy)]
struct Space {
    hollow: Hollow,
    shut: bool,
}

struct Builder {
    plan: SlicePlan,
    below: Vec<Run>,
    below_gaps: Vec<Run>,
    below_spaces: Vec<u32>,
    /// Shut spaces of the layer below with their areas in it, mm2.
    below_areas: Vec<(u32, f64)>,
    spaces: Union,
    facts: Vec<Space>,
    islands: Vec<Island>,
    cups: Vec<Hollow>,
    columns: Columns,
    /// Upper side of the last layer so far, mm.
    top: f64,
}

impl Layers {
    /// Slices a mesh; none if its boundary crosses itself all over.
    pub fn new(soup: &Soup, plan: SlicePlan) -> Option<Layers> {
        let mut builder = Builder {
            plan,
            below: Vec::new(),
            below_gaps: Vec::new(),
            below_spaces: Vec::new(),
            below_areas: Vec::new(),
            spaces: Union::default(),
            facts: Vec::new(),
            islands: Vec::new(),
            cups: Vec::new(),
            columns: Columns::default(),
            top: plan.bottom,
        };
        // Number 0 is the outside.
        builder.spaces.push();
        let nowhere = Hollow { at: Vec3::zeros(), heights: (0.0, 0.0), volume: 0.0, area: 0.0 };
        builder.facts.push(Space { hollow: nowhere, shut: false });
        if !slice(soup, &plan, |k, runs, same| builder.layer(k, runs, same)) {
            return None;
        }
        // Over the last layer everything is open.
        for space in std::mem::take(&mut builder.below_spaces) {
            builder.join(space, 0);
        }
        let mut trapped = Vec::new();
        for i in 1..builder.facts.len() as u32 {
            let space = builder.facts[i as usize];
            if builder.spaces.find(i) == i && space.shut && space.hollow.volume >= DROP {
                // What only the plate shuts is open once it is taken off.
                let on_plate = space.hollow.heights.0 < plan.bottom + 0.5 * plan.layer;
                let kept = if on_plate { &mut builder.cups } else { &mut trapped };
                kept.push(space.hollow);
            }
        }
        trapped.truncate(MOST);
        builder.cups.sort_by(|a, b| b.volume.total_cmp(&a.volume));
        builder.cups.truncate(MOST);
        let columns = builder.columns.finish(builder.top);
        Some(Layers { plan, islands: builder.islands, trapped, cups: builder.cups, columns })
    }
}

impl Builder {
    fn layer(&mut self, k: u32, runs: &[Run], same: bool) {
        let top = self.plan.bottom + f64::from(k + 1) * self.plan.layer;
        self.top = top;
        if same {
            for &(space, area) in &self.below_areas {
                let hollow = &mut self.facts[self.spaces.find(space) as usize].hollow;
                hollow.volume += area * self.plan.layer;
                hollow.heights.1 = top;
            }
            return;
        }
        let pieces = pieces(runs);
        if k > 0 {
            self.find_islands(k, runs, &pieces);
        }
        let bottom = self.plan.bottom + f64::from(k) * self.plan.layer;
        self.columns.layer(bottom, &self.plan, runs, &pieces, &self.below);
        self.find_spaces(k, runs);
        self.below.clear();
        self.below.extend_from_slice(runs);
    }

    fn find_islands(&mut self, k: u32, runs: &[Run], pieces: &[u32]) {
        let mut held = vec![false; runs.len()];
        // The next line and a line's width aside still carry a slanted wall.
        let reach = self.plan.spacing;
        for shift in [-1, 0, 1] {
            overlaps(runs, &self.below, shift, reach, |i, _| held[pieces[i] as usize] = true);
        }
        let mut found: Vec<(usize, Island, f64)> = Vec::new();
        let z = self.plan.bottom + f64::from(k) * self.plan.layer;
        for (i, run) in runs.iter().enumerate() {
            let root = pieces[i] as usize;
            if held[root] {
                continue;
            }
            let width = run.to - run.from;
            let area = width * self.plan.spacing;
            let at = Vec3::new(0.5 * (run.from + run.to), self.plan.y(run.line), z);
            match found.binary_search_by(|f| f.0.cmp(&root)) {
                Ok(j) => {
                    let (_, island, widest) = &mut found[j];
                    island.area += area;
                    if width > *widest {
                        *widest = width;
                        island.at = at;
                    }
                }
                Err(j) => found.insert(j, (root, Island { at, bottom: z, area }, width)),
            }
        }
        for (_, island, _) in found {
            if self.islands.len() < MOST {
                self.islands.push(island);
            }
        }
    }

    fn find_spaces(&mut self, k: u32, runs: &[Run]) {
        let gaps = gaps(runs, self.plan.lines);
        let roots = pieces(&gaps);
        let is_outer = |g: &Run| {
            g.from == f64::NEG_INFINITY
                || g.to == f64::INFINITY
                || g.line == 0
                || g.line + 1 == self.plan.lines
        };
        let mut outer = vec![false; gaps.len()];
        for (g, &root) in gaps.iter().zip(&roots) {
            outer[root as usize] |= is_outer(g);
        }
        // One space for each piece of this layer; the outside has its own.
        let mut space_of = vec![0u32; gaps.len()];
        let first_new = self.facts.len();
        let (low, high) = (
            self.plan.bottom + f64::from(k) * self.plan.layer,
            self.plan.bottom + f64::from(k + 1) * self.plan.layer,
        );
        for i in 0..gaps.len() {
            let root = roots[i] as usize;
            if outer[root] {
                continue;
            }
            if root == i {
                space_of[i] = self.spaces.push();
                let at = Vec3::new(
                    0.5 * (gaps[i].from + gaps[i].to),
                    self.plan.y(gaps[i].line),
                    0.5 * (low + high),
                );
                let hollow = Hollow { at, heights: (low, high), volume: 0.0, area: 0.0 };
                self.facts.push(Space { hollow, shut: true });
            } else {
                space_of[i] = space_of[root];
            }
            let hollow = &mut self.facts[space_of[i] as usize].hollow;
            hollow.area += (gaps[i].to - gaps[i].from) * self.plan.spacing;
        }
        self.below_areas.clear();
        for (number, space) in self.facts.iter_mut().enumerate().skip(first_new) {
            space.hollow.volume = space.hollow.area * self.plan.layer;
            self.below_areas.push((number as u32, space.hollow.area));
        }
        let below = std::mem::take(&mut self.below_gaps);
        let below_spaces = std::mem::take(&mut self.below_spaces);
        if k > 0 {
            let mut joins = Vec::new();
            overlaps(&gaps, &below, 0, 0.0, |i, j| joins.push((space_of[i], below_spaces[j])));
            joins.sort_unstable();
            joins.dedup();
            // What lies over open space is open itself and was never a cup.
            for &(a, b) in &joins {
                let b = self.spaces.find(b) as usize;
                if !self.facts[b].shut {
                    self.facts[a as usize].shut = false;
                }
            }
            for (a, b) in joins {
                self.join(a, b);
            }
        }
        self.below_gaps = gaps;
        self.below_spaces = space_of;
    }

    /// Joins two spaces; what joins the outside was a cup until now.
    fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.spaces.find(a), self.spaces.find(b));
        if a == b {
            return;
        }
        let (x, y) = (self.facts[a as usize], self.facts[b as usize]);
        let root = self.spaces.join(a, b);
        let both = match (x.shut, y.shut) {
            (true, true) => {
                let (p, q) = (x.hollow, y.hollow);
                let hollow = Hollow {
                    at: if p.volume >= q.volume { p.at } else { q.at },
                    heights: (p.heights.0.min(q.heights.0), p.heights.1.max(q.heights.1)),
                    volume: p.volume + q.volume,
                    area: p.area.max(q.area),
                };
                Space { hollow, shut: true }
            }
            (false, false) => x,
            (true, false) | (false, true) => {
                let (cup, open) = if x.shut { (x, y) } else { (y, x) };
                if cup.hollow.volume >= DROP {
                    self.cups.push(cup.hollow);
                }
                open
            }
        };
        self.facts[root as usize] = both;
    }
}

/// For each run, the first run of the piece that it belongs to: runs of
/// neighbouring lines that overlap are one piece.
fn pieces(runs: &[Run]) -> Vec<u32> {
    let mut union = Union::default();
    runs.iter().for_each(|_| {
        union.push();
    });
    overlaps(runs, runs, -1, 0.0, |i, j| {
        union.join(i as u32, j as u32);
    });
    (0..runs.len() as u32).map(|i| union.find(i)).collect()
}

/// Visits pairs of runs, one of `a` and one of `b` on the line `shift` further,
/// that overlap if each is `reach` longer at both ends.
pub(super) fn overlaps(
    a: &[Run],
    b: &[Run],
    shift: i64,
    reach: f64,
    mut visit: impl FnMut(usize, usize),
) {
    let mut j = 0;
    for (i, run) in a.iter().enumerate() {
        let line = i64::from(run.line) + shift;
        let before = |other: &Run| {
            i64::from(other.line) < line
                || i64::from(other.line) == line && other.to + reach <= run.from
        };
        while j < b.len() && before(&b[j]) {
            j += 1;
        }
        let mut at = j;
        while at < b.len() && i64::from(b[at].line) == line && b[at].from < run.to + reach {
            visit(i, at);
            at += 1;
        }
    }
}

/// What lies between the runs of every line, to infinity on both sides.
fn gaps(runs: &[Run], lines: u32) -> Vec<Run> {
    let mut out = Vec::with_capacity(runs.len() + lines as usize);
    let mut next = runs.iter().peekable();
    for line in 0..lines {
        let mut from = f64::NEG_INFINITY;
        while let Some(run) = next.next_if(|r| r.line == line) {
            out.push(Run { line, from, to: run.from });
            from = run.to;
        }
        out.push(Run { line, from, to: f64::INFINITY });
    }
    out
}
