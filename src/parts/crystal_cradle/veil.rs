//! A light bore through which the pixel does not show.

use super::super::{Body, Message, PartContext, Refusal, Severity, Sight};
use crate::measure::{Origin, Values};
use crate::mesh::{ChordTolerance, Soup, tessellate};
use crate::section::snap;
use crate::sight::{Counts, Shown};

/// Gaps that are tried where a narrower bore alone does not hide the pixel, as
/// multiples of the usual one. Common practice, no source.
const LONGER: [f64; 3] = [1.5, 2.0, 3.0];

/// What the part itself has chosen, mm; none where it keeps to its rows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Veil {
    /// Width of the light bore as entered.
    pub bore: Option<f64>,
    /// From the face of the pixel's package to the stone's end.
    pub gap: Option<f64>,
}

impl Veil {
    /// The gap for the rows of a part, mm.
    pub fn gap(&self, values: &Values) -> f64 {
        self.gap.unwrap_or_else(|| values.number("gap"))
    }

    /// The width of the light bore for those rows, mm; none if it is the usual
    /// one.
    pub fn bore(&self, values: &Values) -> Option<f64> {
        values.maybe_number("light_bore").or(self.bore)
    }
}

/// The cradle's `bodies` as `make` makes them for a veil that hides the pixel,
/// if it shows and if there is one; what was changed is said.
pub(super) fn hidden(
    context: &PartContext<'_>,
    values: &Values,
    bodies: Vec<Body>,
    make: impl Fn(Veil) -> Result<Vec<Body>, Refusal>,
) -> Vec<Body> {
    if !values.flag("hide") || values.has("light_bore") {
        return bodies;
    }
    let Some(before) = shown(context, &bodies) else { return bodies };
    if before.lines.is_empty() {
        return hidden_by_chassis(context, bodies, &before);
    }
    // What shows beside the bore no other bore hides.
    let sight = bodies[0].declared.sight.as_ref();
    if sight.is_none_or(|s| s.hole.stops_all(&before.lines).is_none()) {
        return bodies;
    }
    if let Some(hidden) = narrower(context, &bodies, &before, None, &make) {
        return told(hidden, &before, values);
    }
    let usual = values.number("gap");
    let free = matches!(values.origin("gap"), Origin::Default);
    for gap in LONGER.iter().filter(|_| free).map(|times| snap(times * usual)) {
        let Ok(longer) = make(Veil { gap: Some(gap), bore: None }) else { break };
        let Some(shown) = shown(context, &longer) else { break };
        if let Some(hidden) = narrower(context, &longer, &shown, Some(gap), &make) {
            return told(hidden, &before, values);
        }
    }
    bodies
}

/// What was found, with what shows then.
struct Hidden {
    bodies: Vec<Body>,
    veil: Veil,
    after: Shown,
}

/// The same bodies with a bore that hides the pixel; `gap` is what they have.
fn narrower(
    context: &PartContext<'_>,
    bodies: &[Body],
    before: &Shown,
    gap: Option<f64>,
    make: &impl Fn(Veil) -> Result<Vec<Body>, Refusal>,
) -> Option<Hidden> {
    let bore = match before.lines.is_empty() {
        true => None,
        false => Some(bodies[0].declared.sight.as_ref()?.hiding(&before.lines)?),
    };
    let veil = Veil { bore, gap };
    let bodies = make(veil).ok()?;
    let after = shown(context, &bodies)?;
    after.lines.is_empty().then_some(Hidden { bodies, veil, after })
}

fn shown(context: &PartContext<'_>, bodies: &[Body]) -> Option<Shown> {
    seen(context, &bodies[0], bodies[0].declared.sight.as_ref()?)
}

fn seen(context: &PartContext<'_>, body: &Body, sight: &Sight) -> Option<Shown> {
    let tolerance = ChordTolerance { chord: context.chord, ..ChordTolerance::default() };
    let mesh = tessellate(&body.solid, &tolerance).ok()?;
    sight.see(&Soup::from(&mesh), Counts::default())
}

/// The same bodies; where nothing of the pixel shows because of the chassis alone, it
/// is said, with what that costs in light.
fn hidden_by_chassis(context: &PartContext<'_>, mut bodies: Vec<Body>, with: &Shown) -> Vec<Body> {
    let told = |sight: &Sight| {
        let name = sight.chassis.as_ref()?.name();
        let without = seen(context, &bodies[0], &Sight { chassis: None, ..sight.clone() })?;
        let shows = without.past_stone.percent.max(without.through_stone.percent);
        let text = format!(
            "the chassis {name} hides the pixel: without it {shows:.2} % of its surface would show. \
             {:.1} % of its light reaches the stone, without the chassis {:.1} %",
            with.to_stone.percent, without.to_stone.percent
        );
        (!without.lines.is_empty()).then_some(text)
    };
    if let Some(text) = bodies[0].declared.sight.as_ref().and_then(told) {
        let hint = "for another chassis, make the cradle anew";
        bodies[0].messages.push(Message {
            severity: Severity::Note,
            text,
            hint: Some(hint.into()),
        });
    }
    bodies
}

fn told(hidden: Hidden, before: &Shown, values: &Values) -> Vec<Body> {
    let Hidden { mut bodies, veil, after } = hidden;
    let bore = veil.bore.map(|bore| format!("the light bore is {bore:.2} mm wide"));
    let gap =
        veil.gap.map(|gap| format!("the gap is {gap:.2} mm and not {:.2}", values.number("gap")));
    let changed: Vec<String> = bore.into_iter().chain(gap).collect();
    let seen = before.past_stone.percent.max(before.through_stone.percent);
    let text = format!(
        "{}, so that the pixel does not show: with the usual light bore {seen:.2} % of its surface \
         would. {:.1} % of its light reaches the stone, with the usual one {:.1} %",
        changed.join(" and "),
        after.to_stone.percent,
        before.to_stone.percent
    );
    let hint = "hide = false, or a light_bore of your own, keeps it wider: for a frosted stone";
    bodies[0].messages.push(Message { severity: Severity::Note, text, hint: Some(hint.into()) });
    bodies
}
