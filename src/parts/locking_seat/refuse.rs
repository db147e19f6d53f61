//! Why a seat cannot be, and which values would do.

use super::super::Refusal;
use super::spec::{Asked, Misfit, Seat, cuts_apart};
use crate::measure::{Values, Vec2, number};
use crate::trade::seat::Form;

/// Step of a hint's depth, mm, and how many steps are tried.
const DEPTH_STEP: (f64, u32) = (0.1, 60);
/// Step of a hint's length or diameter, mm, and how many steps are tried.
const LENGTH_STEP: (f64, u32) = (0.5, 160);
/// Longest seat, mm: that of its row.
const LONGEST: f64 = 200.0;
/// Step of a hint's angle, degrees, and how many steps are tried.
const ANGLE_STEP: (f64, u32) = (5.0, 36);

/// The refusal of a seat, with hints that were tried.
pub(super) fn refused(asked: &Asked, values: &Values, misfit: Misfit) -> Refusal {
    let radius = asked.outside.fit.radius;
    let (what, key) = match misfit {
        Misfit::Long { high } => (
            format!(
                "the part ends at z = {high:.2}; the bore is {:.2} long: {:.2} mm too far",
                asked.handle,
                high - asked.handle
            ),
            "length",
        ),
        Misfit::Ends { low, high } => (
            format!(
                "the seat at z = {:.2} with a wall of {:.2} and the marks and chamfers at the ends \
                 needs a part from z = {low:.2} to {high:.2}, {:.2} mm long; length is {:.2}",
                asked.screw_z,
                asked.wall,
                high - low,
                asked.length
            ),
            "length",
        ),
        Misfit::Shallow { least } => (
            format!(
                "a seat {:.2} mm deep is too shallow for this screw: it needs {least:.2} mm, {:.2} \
                 mm more",
                asked.deep(),
                least - asked.deep()
            ),
            "depth",
        ),
        Misfit::Deep { radius } => (
            format!(
                "a seat {:.2} mm deep for a screw of {:.2} mm goes through the part, whose outside \
                 has a radius of {radius:.2} mm",
                asked.deep(),
                asked.grub.thread
            ),
            "depth",
        ),
        Misfit::Wide { half, most } => (
            format!(
                "the slot takes {half:.1} degrees either way of the screw; {most:.1} can be made: \
                 {:.1} too many",
                half - most
            ),
            "angle_range",
        ),
        Misfit::Narrow { least } => (
            format!(
                "the passage along the axis, {:.2} mm, ends behind the hole for the screw: it must \
                 be {least:.2} mm at least, {:.2} more, or none",
                asked.core,
                least - asked.core
            ),
            "core",
        ),
        Misfit::Thin { left, to } => (
            format!(
                "between the seat and {to} {left:.2} mm are left; the printer needs {:.2}: short by \
                 {:.2}",
                asked.wall,
                asked.wall - left
            ),
            if to.contains("groove") { "groove_at" } else { "depth" },
        ),
    };
    let mut refusal = Refusal::new(what).at(values, key);
    refusal.hints = hints(asked);
    if refusal.hints.is_empty() {
        refusal = refusal.hint(format!(
            "turn the screw to another clocking, or take a smaller one: the outside's radius is \
             {radius:.2} mm"
        ));
    }
    refusal
}

/// The refusal of cuts that leave too little between one another, seat or not.
pub(super) fn crowded(asked: &Asked, values: &Values) -> Option<Refusal> {
    let (left, one, other) = cuts_apart(asked)?;
    let what = format!(
        "between {one} and {other} {left:.2} mm are left; the printer needs {:.2}: short by {:.2}",
        asked.wall,
        asked.wall - left
    );
    let key = if one.contains("passage") { "core" } else { "groove_at" };
    let fits = |a: &Asked| cuts_apart(a).is_none();
    let mut refusal = Refusal::new(what).at(values, key);
    refusal.hints.extend(core(asked, fits));
    refusal.hints.extend(groove(asked, fits));
    if refusal.hints.is_empty() {
        refusal = refusal.hint("make the passage narrower, or take fewer or thinner wires");
    }
    Some(refusal)
}

/// Changes of one value each that make the seat possible, the nearest of each.
fn hints(asked: &Asked) -> Vec<String> {
    let fits = |a: &Asked| Seat::new(a).is_ok() && cuts_apart(a).is_none();
    let mut found = Vec::new();
    let either = |steps: (f64, u32)| {
        (1..=steps.1).flat_map(move |k| [steps.0, -steps.0].map(|s| s * f64::from(k)))
    };
    let depth = either(DEPTH_STEP).map(|by| round(asked.deep() + by)).filter(|d| *d >= 0.3);
    found.extend(first("depth", depth, |d| fits(&Asked { depth: Some(d), ..asked.clone() })));
    let lengths = (1..=LENGTH_STEP.1).map(|k| round(asked.length + f64::from(k) * LENGTH_STEP.0));
    let lengths = lengths.take_while(|l| *l <= LONGEST);
    found.extend(first("length", lengths, |l| fits(&Asked { length: l, ..asked.clone() })));
    let lower = (1..=LENGTH_STEP.1).map(|k| round(asked.length - f64::from(k) * LENGTH_STEP.0));
    let lower = lower.take_while(|l| *l >= 4.0);
    found.extend(first("length", lower, |l| fits(&Asked { length: l, ..asked.clone() })));
    if let Some(z) = asked.from_z {
        let places = either(LENGTH_STEP).map(|by| round(z + by)).filter(|z| *z >= 0.0);
        let at = |z| fits(&Asked { from_z: Some(z), ..asked.clone() });
        found.extend(first("from_z", places, at));
    }
    found.extend(core(asked, fits));
    found.extend(groove(asked, fits));
    if asked.form == Form::SlotAround {
        let ranges = (1..30).map(|k| (asked.angle_range - 5.0 * f64::from(k)).floor());
        let ranges = ranges.take_while(|r| *r >= 1.0);
        let turned = |r| fits(&Asked { angle_range: r, ..asked.clone() });
        found.extend(first("angle_range", ranges, turned));
    }
    if asked.form == Form::SlotAlong {
        let shorter = (1..60).map(|k| round(asked.travel - 0.5 * f64::from(k)));
        let shorter = shorter.take_while(|t| *t >= 0.2);
        found.extend(first("travel", shorter, |t| fits(&Asked { travel: t, ..asked.clone() })));
    }
    if asked.form == Form::Flat && asked.flat_length.is_some() {
        let plain = Asked { flat_length: None, ..asked.clone() };
        found.extend(fits(&plain).then(|| "leave flat_length out".to_owned()));
    }
    found
}

/// Another passage, or none.
fn core(asked: &Asked, fits: impl Fn(&Asked) -> bool) -> Option<String> {
    let steps = (1..=LENGTH_STEP.1).map(|k| f64::from(k) * LENGTH_STEP.0);
    let others = steps.flat_map(|by| [asked.core - by, asked.core + by]).map(round);
    let others = others.filter(|c| asked.core > 0.0 && *c >= 0.0).chain([0.0]);
    first("core", others, |core| fits(&Asked { core, ..asked.clone() }))
}

/// The groove for wires on another side, nearest first.
fn groove(asked: &Asked, fits: impl Fn(&Asked) -> bool) -> Option<String> {
    let groove = asked.outside.groove.as_ref()?;
    let from = crate::measure::frame::clocking(groove.middle);
    let angles = (1..=ANGLE_STEP.1).flat_map(|k| {
        [1.0, -1.0].map(|s| ((from / ANGLE_STEP.0).round() + s * f64::from(k)) * ANGLE_STEP.0)
    });
    first("groove_at", angles.map(|a| a.rem_euclid(360.0)), |angle| {
        let way = crate::measure::frame::direction(angle) * groove.middle.norm();
        let mut turned = asked.clone();
        if let Some(groove) = &mut turned.outside.groove {
            groove.middle = Vec2::new(way.x, way.y);
        }
        fits(&turned)
    })
}

fn round(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

fn first(
    key: &str,
    values: impl Iterator<Item = f64>,
    works: impl Fn(f64) -> bool,
) -> Option<String> {
    let found = values.into_iter().find(|v| works(*v))?;
    Some(format!("{key} = {} works", number(found)))
}
