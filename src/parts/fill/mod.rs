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
use super::build::cavity_sweep;
use super::fit::OUTSIDE;
use super::trim::{pieces, trimmed};
use super::{Body, Cavity, Computed, Message, PartContext, Refusal, Severity};
use crate::measure::{Unit, Vec2};
use crate::section::{Region, Seg, snap};
use crate::solid::{CrossBore, Drawn, RuledSection, Solid, Stack, StackError};
use crate::survey::ClearOutline;
use keep_out::KeepOut;
use spans::{Spans, is_outer, outer};

/// The outline is followed where it lies at least this far outside the round, mm:
/// less is lost in a print, and would end in a feather.
const LEAST_STEP: f64 = 0.05;

/// A body whose sections nearly touch themselves is tried again with so much more
/// room, mm; no multiples of one another.
const NUDGES: [f64; 3] = [0.0, 0.013, 0.037];

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
    /// Least wall, mm.
    wall: f64,
    /// Step of sections that change, mm.
    layer: f64,
    /// What an outline may lack, mm.
    lacks: f64,
    /// What is added where, as found already: most slabs have the same outside.
    known: RefCell<Vec<(Asked, Region)>>,
}

/// What a section has at the outside: arcs, their radius, and what is kept free.
type Asked = (Spans, f64, Option<Region>);

impl Fill {
    /// For a round outside of `radius` mm that keeps `gap` mm from its bore.
    fn new(context: &PartContext<'_>, outline: &ClearOutline, radius: f64, gap: f64) -> Fill {
        let wall = context.printer.number("wall_free");
        let less = outline.region.offset(-gap);
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
        let mut out = Stack::default();
        let mut any = false;
        for (bottom, top, shape) in stack.slabs() {
            let levels = levels(bottom, top, keep_outs);
            let stretches: Vec<Stretch<'_>> = levels
                .windows(2)
                .map(|ends| {
                    let free = free(keep_outs, ends[0], ends[1]);
                    Stretch { fill: self, shape, slab: (bottom, top), ends, free }
                })
                .collect();
            if !stretches.iter().any(Stretch::adds) {
                out.ruled(bottom, top, shape.clone());
                continue;
            }
            any = true;
            for stretch in &stretches {
                out.swept(stretch.ends, &cavity_sweep(self.layer), &|z| stretch.section(z));
            }
        }
        any.then_some(out)
    }

    /// What is added to a section whose outside lies on some arcs of a circle.
    fn added(&self, asked: Asked) -> Region {
        if let Some((_, added)) = self.known.borrow().iter().find(|(known, _)| *known == asked) {
            return added.clone();
        }
        let added = self.found(&asked);
        self.known.borrow_mut().push((asked, added.clone()));
        added
    }

    fn found(&self, (arcs, radius, free): &Asked) -> Region {
        let radius = *radius;
        let spans = arcs.shared(&self.wider).at_least(self.wall, radius);
        let by = self.radius - radius;
        let outline = if by > 0.0 { self.outline.offset(-by) } else { self.outline.clone() };
        let Some((low, high)) = outline.bounds() else { return outline };
        let reach = low.norm().max(high.norm());
        let sectors = spans.sectors(reach);
        let outside = outline.intersection(&sectors).difference(&round(radius));
        let outside = free.as_ref().map_or(outside.clone(), |free| outside.difference(free));
        if outside.is_empty() {
            return outside;
        }
        // Together with the wall below, so that only what stands out is thin.
        let wall = round(radius).difference(&round(radius - 2.0 * self.wall));
        let wall = wall.intersection(&sectors);
        let whole = outside.union(&wall);
        let whole = trimmed(&whole, self.wall).unwrap_or(whole);
        let bits = pieces(&whole.difference(&round(radius)));
        let stands = |bit: &Region| {
            let feet = bit.loops().iter().flatten();
            let foot = |s: &Seg| is_outer(&s.reversed(), radius);
            feet.filter(|s| foot(s)).map(Seg::length).sum::<f64>() >= self.wall
        };
        let kept = bits.into_iter().filter(stands);
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
    let mut out: Vec<f64> = ends
        .filter(|z| bottom + SAME_HEIGHT < *z && *z < top - SAME_HEIGHT)
        .chain([bottom, top])
        .collect();
    out.sort_by(f64::total_cmp);
    out.dedup_by(|b, a| *b - *a < SAME_HEIGHT);
    out
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
    ends: &'a [f64],
    free: Option<Region>,
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
        let section = Region::from_outlines(&outlines).unwrap_or_else(|_| Region::undefined());
        if added.is_empty() { section } else { section.union(&added) }
    }

    fn added(&self, outlines: &[Vec<Seg>]) -> Region {
        let ends = [self.shape.at(0.0), self.shape.at(1.0)];
        // Walls that lie on the round outside at one end at least.
        let on = |i: usize, j: usize| ends.iter().any(|e| is_outer(&e[i][j], self.fill.radius));
        let walls = outlines.iter().enumerate().flat_map(|(i, pieces)| {
            pieces.iter().enumerate().filter(move |(j, _)| on(i, *j)).map(|(_, s)| s)
        });
        let walls: Vec<&Seg> = walls.collect();
        let Some(radius) = walls.iter().filter_map(|s| outer(s)).max_by(f64::total_cmp) else {
            return Region::empty();
        };
        let arcs = Spans::on_circle(walls.into_iter(), radius);
        self.fill.added((arcs, radius, self.free.clone()))
    }
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
