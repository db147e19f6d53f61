//! Why a pocket cannot be, and what would do.

use super::super::{PartContext, Refusal};
use super::spec::{Asked, LEAST_BEARING, Layout, Misfit, Switch};
use crate::measure::{Values, number};

/// Steps of hints: degrees, and mm.
const TURN: f64 = 15.0;
const STEP: f64 = 0.1;

/// The refusal of a pocket, with hints that were tried.
pub(super) fn refused(
    context: &PartContext<'_>,
    asked: &Asked,
    values: &Values,
    misfit: &Misfit,
) -> Refusal {
    let (what, key) = match misfit {
        Misfit::Wall { left, what } => (
            format!(
                "between the switch's pocket and {what} {left:.2} mm are left; the printer needs \
                 {:.2}: short by {:.2}",
                asked.wall,
                asked.wall - left
            ),
            "switch",
        ),
        Misfit::Bearing { left } => (
            format!(
                "the switch bears on {left:.2} mm at each end; it needs {LEAST_BEARING:.2}: short \
                 by {:.2}",
                LEAST_BEARING - left
            ),
            "reach",
        ),
        Misfit::Short { least } => (
            format!(
                "the switch needs a part at least {least:.2} mm long; length is {:.2}",
                asked.length.unwrap_or_default()
            ),
            "length",
        ),
        Misfit::Long { high } => (
            format!(
                "the part ends at z = {high:.2}; the bore is {:.2} long: {:.2} mm too far",
                asked.handle,
                high - asked.handle
            ),
            "from_z",
        ),
        Misfit::Narrow { hole } => (
            format!(
                "the holes for its screws are {hole:.2} mm wide; this printer holds {:.2}: short by \
                 {:.2}",
                asked.hole_min,
                asked.hole_min - hole
            ),
            "fixing",
        ),
        Misfit::Shallow { room, least } => (
            format!(
                "below the ears {:.2} mm are left for the screws' holes; they need {least:.2}: \
                 short by {:.2}",
                room.max(0.0),
                least - room
            ),
            "recess",
        ),
    };
    let mut refusal = Refusal::new(what).at(values, key);
    refusal.hints = hints(context, asked, misfit);
    if refusal.hints.is_empty() {
        refusal = refusal.hint(format!(
            "take a smaller switch; the outside's diameter is {:.2} mm",
            2.0 * asked.radius()
        ));
    }
    refusal
}

/// Changes of one thing each that make the pocket possible.
fn hints(context: &PartContext<'_>, asked: &Asked, misfit: &Misfit) -> Vec<String> {
    let fits = |a: &Asked| Layout::new(a).is_ok();
    let mut out = Vec::new();
    if let Misfit::Short { least } = misfit {
        let up = (least * 10.0).ceil() / 10.0;
        if fits(&Asked { length: Some(up), ..asked.clone() }) {
            out.push(format!("length = {} works", number(up)));
        }
    }
    if let Misfit::Long { high } = misfit {
        let low = ((asked.low - (high - asked.handle)) * 10.0).floor() / 10.0;
        if low >= 0.0 && fits(&Asked { low, ..asked.clone() }) {
            out.push(format!("from_z = {} works", number(low)));
        }
    }
    let reach = (1..80).map(|k| tenth(asked.reach - STEP * f64::from(k)));
    let reach = reach.take_while(|r| *r >= 0.2);
    out.extend(first("reach", reach, |reach| fits(&Asked { reach, ..asked.clone() })));
    let recess =
        (1..100).flat_map(|k| [1.0, -1.0].map(|s| tenth(asked.recess + s * STEP * f64::from(k))));
    let recess = recess.filter(|r| (0.3..=10.0).contains(r));
    out.extend(first("recess", recess, |recess| fits(&Asked { recess, ..asked.clone() })));
    let turns = (1..=12)
        .flat_map(|k| [1.0, -1.0].map(|s| ((asked.turn / TURN).round() + s * f64::from(k)) * TURN));
    let turns = turns.map(|t| t.rem_euclid(360.0));
    out.extend(first("turn", turns, |turn| fits(&Asked { turn, ..asked.clone() })));
    if asked.pilot.is_some() && fits(&Asked { pilot: None, ..asked.clone() }) {
        out.push("fixing = \"glue\" works".to_owned());
    }
    let other = Asked { side: !asked.side, ..asked.clone() };
    if fits(&other) {
        out.push(format!("face = \"{}\" works", if other.side { "side" } else { "cap" }));
    }
    if out.is_empty() {
        let profiles = context.library.profiles("kill_switches").iter();
        let fitting: Vec<&str> = profiles
            .filter(|p| fits(&Asked { switch: Switch::new(p), pilot: None, ..asked.clone() }))
            .filter_map(Values::profile)
            .collect();
        if !fitting.is_empty() {
            out.push(format!("these switches fit, glued: {}", fitting.join(", ")));
        }
    }
    out
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn first(
    key: &str,
    mut values: impl Iterator<Item = f64>,
    works: impl Fn(f64) -> bool,
) -> Option<String> {
    let found = values.find(|v| works(*v))?;
    Some(format!("{key} = {} works", number(found)))
}
