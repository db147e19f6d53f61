//! Fills a body that was made for a cavity's clear round bore out to the cavity's
//! own outline.
//!
//! Wherever a section lies on the round outside, it grows outwards, between rays
//! from the axis, to the clear outline less the distance that the round outside
//! keeps from the round bore. What is open at the outside stays open and becomes
//! wider further out; walls become thicker, none thinner. So no kind of part needs
//! code for it.

mod keep_out;
mod spans;

#[cfg(test)]
mod tests;

use std::cell::RefCell;

use super::around::{BORE, drawn};
use super::fit::OUTSIDE;
use super::trim::{pieces, trimmed};
use super::{Body, Cavity, Computed, Message, PartContext, Refusal, Severity};
use crate::measure::{Unit, Vec2};
use crate::section::{Region, Seg, snap};
use crate::solid::{CrossBore, Drawn, RuledSection, Solid, Stack, StackError, StepKeeps, Sweep};
use crate::survey::ClearOutline;
use keep_out::KeepOut;
use spans::{Spans, is_outer, outer};

/// The outline is followed where it lies at least this far outside the round, mm:
/// less is lost in a print, and would end in a feather.
const LEAST_STEP: f64 = 0.05;

/// A body whose sections nearly touch themselves is tried again with so much more
/// room, mm; no multiples of one another.
const NUDGES: [f64; 5] = [0.0, 0.013, 0.029, 0.047, 0.071];

/// What is added is nowhere thinner than so many walls that stand free: it stands far
/// out, and is chamfered on both sides. Common practice, no source.
const WALLS: f64 = 2.0;

/// What the bore is drawn around the outline, mm: any will do.
const AROUND: f64 = 1.0;

/// Heights nearer to each other are one, mm: ten times the least slab.
const SAME_HEIGHT: f64 = 0.01;

/// The same body, filled out to the outline of its cavity, if that is wider than
/// round and the body's outside lies in it. `coat` is the paint on it, mm.
///
/// # Errors
/// An outline that no sound solid follows.
pub(crate) fn fill(
    context: &PartContext<'_>,
    cavity: &Cavity,
    coat: f64,
    mut body: Body,
) -> Result<Body, Refusal> {
    let Some(outline) = &cavity.outline else { return Ok(body) };
    if !body.in_bore() {
        return Ok(body);
    }
    if let Some(bend) = body.declared.bends.iter().find(|bend| bend.outside) {
        let text = format!(
            "it stays round, though {} is wider in places: its outside bends ({})",
            cavity.chassis, bend.what
        );
        body.messages.push(Message { severity: Severity::Note, text, hint: None });
        return Ok(body);
    }
    let Some(Drawn { stack, bores }) = body.solid.drawn() else { return Ok(body) };
    let Some(radius) = outside_of(&body) else { return Ok(body) };
    let gap = 0.5 * context.handle.bore().sure() - radius;
    let mut error = None;
    for nudge in NUDGES {
        let fill = Fill::new(context, outline, radius, gap + nudge);
        let Some(wider) = fill.stack(stack, &keep_outs(&body, bores, radius, nudge)) else {
            return Ok(body);
        };
        match wider.bored(bores) {
            Ok(solid) => {
                tell(&mut body, &solid, outline, fill.lacks);
                widen_bore(&mut body, outline, coat);
                body.solid = solid;
                return Ok(body);
            }
            Err(e) => error = error.or(Some(e)),
        }
    }
    error.map_or(Ok(body), |e| Err(refused(cavity, &e)))
}

/// Where nothing is added to a body.
fn keep_outs(body: &Body, bores: &[CrossBore], radius: f64, spare: f64) -> Vec<KeepOut> {
    let components = body.declared.components.iter();
    let mut out: Vec<KeepOut> =
        components.filter_map(|c| KeepOut::component(c, radius, spare)).collect();
    out.extend(bores.iter().map(|bore| KeepOut::bore(bore, spare)));
    out.extend(KeepOut::bed(body));
    out
}

fn refused(cavity: &Cavity, error: &StackError) -> Refusal {
    let what = format!(
        "it cannot be filled out to the outline of the cavity in {}: {error}",
        cavity.chassis
    );
    Refusal::new(what)
        .at(&cavity.values, "outline")
        .hint("outline = \"round\" keeps it round, as wide as is clear about the bore's axis")
}

/// Radius of the round outside that a body has in its bore, mm; none if it has none
/// of its own, as a cap within a cradle.
fn outside_of(body: &Body) -> Option<f64> {
    body.computed.iter().find(|row| row.key == OUTSIDE).map(|row| 0.5 * row.value)
}

/// What sections are filled out to.
struct Fill {
    /// The outline, less the fit, without grooves narrower than a wall.
    outline: Region,
    /// Radius of the round outside, mm.
    radius: f64,
    /// Where the outline lies outside the round.
    wider: Spans,
    /// Least thickness of what is added, mm.
    wall: f64,
    /// Step of sections that change, mm.
    layer: f64,
    /// What an outline may lack, mm.
    lacks: f64,
    /// What is added where, as found already: most slabs have the same outside.
    known: RefCell<Vec<(Asked, Region)>>,
}

/// What a section has at the outside: arcs of the round, and what is kept free.
type Asked = (Spans, Option<Region>);

impl Fill {
    /// For a round outside of `radius` mm that keeps `gap` mm from its bore.
    fn new(context: &PartContext<'_>, outline: &ClearOutline, radius: f64, gap: f64) -> Fill {
        let wall = WALLS * context.printer.number("wall_free");
        // Sharp corners, where a wall juts in, lie further from it than round ones.
        let less = outline.region.offset_same_structure(-gap);
        let less = less.unwrap_or_else(|_| outline.region.offset(-gap));
        let less = trimmed(&less, wall).unwrap_or(less);
        let beside = round(radius + LEAST_STEP);
        let wider = less.intersection(&beside);
        Fill {
            wider: Spans::on_circle(wider.segs().iter(), radius + LEAST_STEP),
            outline: less,
            radius,
            wall,
            layer: context.printer.number("layer"),
            lacks: outline.inset + LEAST_STEP,
            known: RefCell::default(),
        }
    }

    /// The stack filled out; none if nothing is added.
    fn stack(&self, stack: &Stack, keep_outs: &[KeepOut]) -> Option<Stack> {
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

    /// What is added to a section whose outside lies on some arcs of the round.
    fn added(&self, asked: Asked) -> Region {
        if let Some((_, added)) = self.known.borrow().iter().find(|(known, _)| *known == asked) {
            return added.clone();
        }
        let added = self.found(&asked);
        self.known.borrow_mut().push((asked, added.clone()));
        added
    }

    fn found(&self, (arcs, free): &Asked) -> Region {
        let radius = self.radius;
        let spans = arcs.shared(&self.wider).at_least(self.wall, radius);
        let Some((low, high)) = self.outline.bounds() else { return Region::empty() };
        let sectors = spans.sectors(low.norm().max(high.norm()));
        let outside = self.outline.intersection(&sectors).difference(&round(radius));
        let outside = free.as_ref().map_or(outside.clone(), |free| outside.difference(free));
        if outside.is_empty() {
            return outside;
        }
        // Together with the wall below, so that only what stands out is thin.
        let wall = round(radius).difference(&round(radius - self.wall));
        let wall = wall.intersection(&sectors);
        let whole = outside.union(&wall);
        let whole = trimmed(&whole, self.wall).unwrap_or(whole);
        self.standing(&whole.difference(&round(radius)))
    }

    /// Those pieces of what is added that stand on the round outside.
    fn standing(&self, added: &Region) -> Region {
        let stands = |bit: &Region| {
            let feet = bit.loops().iter().flatten();
            let foot = |s: &Seg| is_outer(&s.reversed(), self.radius);
            feet.filter(|s| foot(s)).map(Seg::length).sum::<f64>() >= self.wall
        };
        let kept = pieces(added).into_iter().filter(stands);
        kept.fold(Region::empty(), |all, bit| all.union(&bit))
    }
}

/// The disc of a radius as it is, not moved to the grid.
fn round(radius: f64) -> Region {
    let (west, east) = (Vec2::new(-radius, 0.0), Vec2::new(radius, 0.0));
    let mut outline = Seg::arc(Vec2::zeros(), radius, west, east, true);
    outline.extend(Seg::arc(Vec2::zeros(), radius, east, west, true));
    Region::from_outlines(&[outline]).unwrap_or_default()
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
            Some(limit) if !added.is_empty() => {
                self.fill.standing(&added.intersection(limit))
            }
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
        let added = self.full();
        if added.is_empty() {
            return added;
        }
        let low = self.outlines(self.slab.0);
        let at_low = !self.walls(&low, true, false).is_empty();
        let full = if at_low { low } else { self.outlines(self.slab.1) };
        let whole = region(&full).union(&added);
        // In one manner all the way: corners that stay sharp where they can.
        let most = self.fill.radius - self.narrowest();
        let sharp = whole.offset_same_structure(-most).and_then(|_| whole.offset_same_structure(-by));
        sharp.unwrap_or_else(|_| whole.offset(-by)).difference(&round(radius))
    }
}

fn region(outlines: &[Vec<Seg>]) -> Region {
    Region::from_outlines(outlines).unwrap_or_else(|_| Region::undefined())
}

/// The bore that a body is in is the outline now, less a coat of paint.
fn widen_bore(body: &mut Body, outline: &ClearOutline, coat: f64) {
    for component in body.declared.components.iter_mut().filter(|c| c.name == BORE) {
        let (low, high) = component.solid.bounds();
        let inside = outline.region.offset(-coat);
        let reach = inside.bounds().map_or(0.0, |(a, b)| a.norm().max(b.norm()));
        let outside = Region::disc(Vec2::zeros(), (0.5 * (high.x - low.x)).max(reach + AROUND));
        if let Ok(solid) = drawn(&[(low.z, high.z, outside.difference(&inside))]) {
            component.solid = solid;
        }
    }
}

/// Rows and a message about what was filled.
fn tell(body: &mut Body, solid: &Solid, outline: &ClearOutline, lacks: f64) {
    // A caliper finds no round outside any more.
    for row in body.computed.iter_mut().filter(|row| row.key == OUTSIDE) {
        (row.reading, row.caliper) = (None, None);
        row.what = "diameter of the round outside that was filled out".into();
    }
    let (low, high) = solid.bounds();
    let (width, depth) = outline.size();
    let added = solid.properties().volume - body.solid.properties().volume;
    let mm = |key: &str, what: &str, value| Computed::new(key, what, value, Unit::Mm);
    body.computed.extend([
        mm("filled_width", "width as filled out, along x", high.x - low.x),
        mm("filled_depth", "depth as filled out, along y", high.y - low.y),
        mm("cavity_width", "width of the clear outline, along x", width),
        mm("cavity_depth", "depth of the clear outline, along y", depth),
        mm("cavity_lacks", "what the outside lacks of that at most, beyond its fit", lacks),
        Computed::new("filled_volume", "volume that was filled out", added, Unit::Mm3),
    ]);
    let text = format!(
        "its outside follows the cavity, {width:.2} mm wide and {depth:.2} mm deep, less its fit, \
         where that is wider than round; walls to the bore are as thick as told, or thicker"
    );
    body.messages.push(Message { severity: Severity::Note, text, hint: None });
}
