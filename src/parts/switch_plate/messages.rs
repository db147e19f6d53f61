//! What a person should know about a plate before printing and fitting it.

use std::f64::consts::PI;

use super::super::{Message, PartContext, Severity};
use super::plunger::{Plunger, case};
use super::report::{Facts, legs_out, legs_trim};
use super::walls::{GUIDED, LEAST_ARC};
use crate::measure::number;

/// A pressed switch may take this much more than its own stroke, mm, before a
/// word is said: tact switches bottom out softly. Common practice, no source.
const SPARE_STROKE: f64 = 0.3;

/// Legs this near to the flat back end level with it, mm: half of what texts
/// round to.
const FLUSH: f64 = 0.05;

/// All messages, those of the plungers first.
pub(super) fn messages(context: &PartContext<'_>, facts: &Facts<'_>) -> Vec<Message> {
    let plan = facts.plan;
    let mut out = Vec::new();
    let mut say = |severity, text: String, hint: Option<String>| {
        out.push(Message { severity, text, hint });
    };
    for (p, walls) in plan.plungers.iter().zip(facts.walls) {
        press_messages(p, &mut say);
        let thin = walls.sides.iter().copied().fold(f64::INFINITY, f64::min);
        let free = context.printer.number("wall_free");
        if thin < free {
            say(
                Severity::Note,
                format!(
                    "{}: a pocket wall is {thin:.2} mm thick; it is held at both ends, free-standing \
                     ones need {}",
                    p.name(),
                    number(free)
                ),
                None,
            );
        }
        let trim = legs_trim(facts, p);
        if trim > 0.0 {
            say(
                Severity::Warning,
                format!("{}: its legs would meet the bore's wall", p.name()),
                Some(format!("trim them by {trim:.1} mm before the switch goes in")),
            );
        }
        let out = legs_out(facts, p);
        if out.is_finite() && out > FLUSH {
            say(
                Severity::Note,
                format!("{}: its legs stand {out:.1} mm out of the flat back", p.name()),
                Some("trim them after soldering, or leave that much room behind the plate".into()),
            );
        } else if out.is_finite() {
            say(
                Severity::Note,
                if out > -FLUSH {
                    format!("{}: its legs end level with the flat back", p.name())
                } else {
                    format!(
                        "{}: its legs end in the slots, {:.1} mm before the flat back",
                        p.name(),
                        -out
                    )
                },
                Some("solder the wires first and thread them through the slots".into()),
            );
        }
    }
    passage_messages(facts, &mut say);
    guide_messages(facts, &mut say);
    fixing_messages(facts, &mut say);
    print_messages(facts, &mut say);
    let ends =
        [("front", facts.asked.high, facts.made.high), ("low", facts.asked.low, facts.made.low)];
    for (end, asked, made) in ends {
        if made < asked - 1e-6 {
            say(
                Severity::Note,
                format!(
                    "the chamfer at the {end} end is {made:.2} instead of {asked:.2} mm: its section has details as small"
                ),
                None,
            );
        }
    }
    out
}

/// What the person should know before printing.
fn print_messages(facts: &Facts<'_>, say: &mut Say<'_>) {
    let plan = facts.plan;
    if facts.bits {
        say(
            Severity::Note,
            "small bits that would have stood loose between two lanes are left out".into(),
            None,
        );
    }
    if facts.feathers {
        say(
            Severity::Note,
            format!(
                "wedges and fins that the cuts would have left thinner than {} mm, the printer's \
                 least, are cut off",
                number(facts.plan.wall_least)
            ),
            None,
        );
    }
    let bore = PI * 0.25 * facts.fit.bore * facts.fit.bore;
    let free = bore - facts.fullest;
    if free < TIGHT * bore {
        say(
            Severity::Warning,
            format!(
                "only {free:.0} mm2 of the bore's {bore:.0} are free where the plate is fullest: \
                 little room for wires to the front"
            ),
            Some(format!(
                "land_top = {:.1} lets wires pass above the lands; less thickness helps too",
                plan.back + 0.5 * (plan.radius - plan.back)
            )),
        );
    }
}

/// A plate that leaves less of the bore than this is in the way of wires.
/// Common practice, no source.
const TIGHT: f64 = 0.2;

type Say<'a> = dyn FnMut(Severity, String, Option<String>) + 'a;

/// What presses the switch beyond its own stroke.
fn press_messages(p: &Plunger<'_>, say: &mut Say<'_>) {
    let over = p.stack.deepest_press_mm - p.chain.stroke_mm;
    if over <= SPARE_STROKE {
        return;
    }
    let spare = p.spread().left_mm;
    say(
        Severity::Warning,
        format!(
            "{}: its travel can go on {over:.2} mm after the switch has closed; then switch and \
             plate take the whole force of the finger",
            p.name()
        ),
        Some(if spare > SPARE_STROKE {
            format!(
                "press it gently; a ring {spare:.2} mm thick that stops the plunger earlier takes \
                 that much of it, and the switch still closes ({})",
                case(p.chain.basis)
            )
        } else {
            "press it gently, or put a soft pad on the plunger".into()
        }),
    );
}

fn passage_messages(facts: &Facts<'_>, say: &mut Say<'_>) {
    let plan = facts.plan;
    let drawn: Vec<String> = plan
        .plungers
        .iter()
        .zip(&facts.passage.drawn)
        .filter(|(_, d)| **d > 0.0)
        .map(|(p, d)| format!("{} by {d:.2} mm", p.name()))
        .collect();
    let out = plan.values.choice("plungers") == "out";
    let text = match (drawn.is_empty(), out) {
        (true, _) => "slides in from the end cap, front end first, with the plungers at rest; do \
                      not press them on the way"
            .to_owned(),
        (false, false) => format!(
            "slides in from the end cap, front end first, once these are drawn out or taken out: \
             {}",
            drawn.join(", ")
        ),
        (false, true) => format!(
            "slides in from the end cap with the plungers out; drawing out is enough for {}",
            drawn.join(", ")
        ),
    };
    say(Severity::Note, text, None);
}

fn guide_messages(facts: &Facts<'_>, say: &mut Say<'_>) {
    let (plan, guides) = (facts.plan, facts.guides);
    let length = plan.high - plan.low;
    if guides.span < GUIDED * length {
        say(
            Severity::Warning,
            format!(
                "only {:.1} of {length:.1} mm lie between the first and the last arc of {LEAST_ARC} \
                 mm on both sides: the plate can tilt in its bore",
                guides.span
            ),
            Some("longer `ends`, or facet = \"trough\", leave more to guide it".into()),
        );
    }
    let force: f64 = plan
        .plungers
        .iter()
        .map(|p| p.switch.number("force") + p.switch.number("force_tolerance"))
        .sum();
    if plan.back > -0.2 * plan.radius {
        say(
            Severity::Note,
            format!(
                "the bore does not hold the plate from behind, its back lies {:.1} mm from the axis: \
                 what is below and the fixing take the press of the switches, {force:.1} N together, \
                 and the finger's",
                plan.back
            ),
            None,
        );
    }
}

fn fixing_messages(facts: &Facts<'_>, say: &mut Say<'_>) {
    let (plan, guides) = (facts.plan, facts.guides);
    match &plan.flanges {
        None => {
            let what = format!(
                "glued on its flanks ({:.0} and {:.0} mm2) or its back ({:.0} mm2)",
                guides.area[0], guides.area[1], guides.back
            );
            let besides = "try everything without glue before, and keep it off the switches and \
                           away from cells";
            for said in Message::glued(&what, besides) {
                say(said.severity, said.text, said.hint);
            }
        }
        Some(flanges) => {
            let places: Vec<String> = flanges
                .offsets
                .iter()
                .zip(flanges.z)
                .flat_map(|(us, z)| us.iter().map(move |u| format!("z {z:.2} beside {u:.2}")))
                .collect();
            say(
                Severity::Note,
                format!(
                    "screwed down with {} screws of {} mm at {} (mm, left of the middle seen from the \
                     front); heads clamp {} mm",
                    places.len(),
                    number(flanges.hole.thread),
                    places.join(", "),
                    number(flanges.grip)
                ),
                Some(format!(
                    "tap or pilot holes below need {:.1} mm to an edge as well",
                    flanges.hole.edge
                )),
            );
        }
    }
}
