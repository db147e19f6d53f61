//! Fills a body that was made for a cavity's clear round bore out to the cavity's
//! own outline.
//!
//! Wherever a section lies on the round outside, it grows outwards, between rays
//! from the axis, to the clear outline less the distance that the round outside
//! keeps from the round bore. What is open at the outside stays open and becomes
//! wider further out; walls become thicker, none thinner. So no kind of part needs
//! code for it.

mod gauge;
mod keep_out;
mod spans;
mod stretch;

#[cfg(test)]
mod tests;

use std::cell::RefCell;

use super::around::{BORE, drawn};
use super::fit::OUTSIDE;
use super::trim::{pieces, trimmed};
use super::{Body, Cavity, Computed, Message, PartContext, Severity, Undrawn};
use crate::measure::{Unit, Vec2};
use crate::section::{Region, Seg};
use crate::solid::{CrossBore, Drawn, Solid};
use crate::survey::ClearOutline;
use gauge::widest;
use keep_out::KeepOut;
use spans::{Spans, is_outer};

/// The outline is followed where it lies at least this far outside the round, mm:
/// less is lost in a print, and would end in a feather.
const LEAST_STEP: f64 = 0.05;

/// A body whose sections nearly touch themselves is tried again with so much more
/// room, mm; no multiples of one another.
const NUDGES: [f64; 7] = [0.0, 0.013, 0.029, 0.047, 0.071, 0.097, 0.127];

/// What is added is nowhere thinner than so many walls that stand free: it stands far
/// out, and is chamfered on both sides. Common practice, no source.
const WALLS: f64 = 2.0;

/// What the bore is drawn around the outline, mm: any will do.
const AROUND: f64 = 1.0;

/// The same body, filled out to the outline of its cavity, if that is wider than
/// round and the body's outside lies in it. `coat` is the paint on it, mm. One that stays
/// round although the cavity is wider says why.
pub(crate) fn fill(context: &PartContext<'_>, cavity: &Cavity, coat: f64, mut body: Body) -> Body {
    if !body.in_bore() {
        return body;
    }
    let bore = context.handle.bore().sure();
    let Some(outline) = &cavity.outline else {
        if cavity.rough {
            let why = "its walls are too rough for an outline of few corners";
            body.messages.push(stays_round(cavity, why, None));
        }
        return body;
    };
    if let Some(bend) = body.declared.bends.iter().find(|bend| bend.outside) {
        let why = format!("its outside bends ({})", bend.what);
        body.messages.push(stays_round(cavity, &why, None));
        return body;
    }
    let Some(Drawn { stack, bores }) = body.solid.drawn() else { return body };
    let Some(radius) = outside_of(&body) else { return body };
    let mut error = None;
    for nudge in NUDGES {
        let fill = Fill::new(context, outline, radius, (0.5 * bore - radius, nudge));
        let Some(wider) = fill.stack(stack, &keep_outs(&body, bores, radius, nudge)) else {
            return body;
        };
        match wider.bored(bores) {
            Ok(solid) => {
                tell(&mut body, &solid, outline, fill.lacks);
                widen_bore(&mut body, outline, coat);
                body.solid = solid;
                return body;
            }
            Err(e) => error = error.or(Some(e)),
        }
    }
    if let Some(error) = error {
        let why = format!("its sections cannot be filled out to the outline: {error}");
        let hint = "end the cavity's stretch or the part a millimetre elsewhere, or write outline = \
                    \"round\" if it may stay so";
        body.messages.push(stays_round(cavity, &why, Some(hint)));
    }
    body
}

/// Why a body stays round; with a hint, it should not.
fn stays_round(cavity: &Cavity, why: &str, hint: Option<&str>) -> Message {
    let severity = if hint.is_some() { Severity::Warning } else { Severity::Note };
    let text = format!("it stays round, though {} is wider in places: {why}", cavity.chassis);
    Message { severity, text, hint: hint.map(str::to_owned) }
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
    /// How far what is added ends from where the outside does, mm.
    nudge: f64,
    /// What is added where, as found already: most slabs have the same outside.
    known: RefCell<Vec<(Asked, Region)>>,
}

/// What a section has at the outside: arcs of the round, and what is kept free.
type Asked = (Spans, Option<Region>);

impl Fill {
    /// For a round outside of `radius` mm that keeps `gap` mm from its bore, with some
    /// more room.
    fn new(
        context: &PartContext<'_>,
        outline: &ClearOutline,
        radius: f64,
        (gap, nudge): (f64, f64),
    ) -> Fill {
        let gap = gap + nudge;
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
            lacks: outline.inset + LEAST_STEP + nudge,
            nudge,
            known: RefCell::default(),
        }
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
        let spans =
            arcs.narrowed(self.nudge / radius).shared(&self.wider).at_least(self.wall, radius);
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

/// The bore that a body is in is the outline now, less a coat of paint. Posts that stand
/// free in it are left to the chassis itself. One that cannot be drawn is said, and is
/// beyond everything, for the round one would be in the way of what was filled out.
fn widen_bore(body: &mut Body, outline: &ClearOutline, coat: f64) {
    let inside = outline.region.offset(-coat);
    let reach = inside.bounds().map_or(0.0, |(a, b)| a.norm().max(b.norm()));
    let declared = &mut body.declared;
    for component in declared.components.iter_mut().filter(|c| c.name == BORE) {
        let (low, high) = component.solid.bounds();
        let ring = |inside: &Region| {
            let outside = Region::disc(Vec2::zeros(), (0.5 * (high.x - low.x)).max(reach + AROUND));
            let width = |bit: &Region| bit.bounds().map_or(0.0, |(a, b)| b.x - a.x);
            let bits = pieces(&outside.difference(inside));
            let around = bits.into_iter().max_by(|p, q| width(p).total_cmp(&width(q)));
            drawn(&[(low.z, high.z, around.unwrap_or_default())])
        };
        let solid = ring(&inside).or_else(|reason| {
            declared.undrawn.push(Undrawn { name: BORE.to_owned(), reason });
            ring(&Region::disc(Vec2::zeros(), reach))
        });
        if let Ok(solid) = solid {
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
    // Where no caliper gets at it, it is that of all of the body.
    let over = |key: &str, what: &str, along: Vec2, all: f64| {
        let read = widest(solid, along);
        let caliper = read.map(|(_, caliper)| caliper);
        Computed { caliper, ..mm(key, what, read.map_or(all, |(width, _)| width)) }
    };
    body.computed.extend([
        over("filled_width", "width as filled out, along x", Vec2::x(), high.x - low.x),
        over("filled_depth", "depth as filled out, along y", Vec2::y(), high.y - low.y),
        mm("cavity_width", "width of the clear outline, along x", width),
        mm("cavity_depth", "depth of the clear outline, along y", depth),
        mm(
            "cavity_lacks",
            "what the outside may lack of that where it follows it, beyond its fit",
            lacks,
        ),
        Computed::new("filled_volume", "volume that was filled out", added, Unit::Mm3),
    ]);
    let text = format!(
        "its outside follows the cavity, {width:.2} mm wide and {depth:.2} mm deep, less its fit, \
         where that is wider than round; walls to the bore are as thick as told, or thicker"
    );
    body.messages.push(Message { severity: Severity::Note, text, hint: None });
}
