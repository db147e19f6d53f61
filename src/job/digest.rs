//! What matters most of a job's results, in short: for the reports.

use super::{Job, Made};
use crate::checks::{Finding, Severity as Grade, Tally};
use crate::correct::{Compensation, LARGEST_DRAWN_HOLE};
use crate::measure::{Axis, number};
use crate::parts::Severity;
use crate::sight::{Share, Shown};

/// The word for a message of a part.
pub(super) fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Warning => "warning",
        Severity::Caution => "caution",
    }
}

/// The verdict on all bodies, with the printer, the material and the counts.
pub(crate) fn verdict(job: &Job, made: &[Made]) -> String {
    let bodies = || made.iter().flat_map(|part| &part.bodies);
    let checked = || bodies().filter_map(|b| b.checked.as_ref());
    let tally = Tally::of(checked().flat_map(|c| &c.findings));
    let name = |key| job.print().component(key).profile().unwrap_or("your own");
    let word = match (checked().count() == bodies().count(), tally.errors) {
        (false, _) => "Not checked",
        (true, 0) => "Can be printed",
        (true, _) => "Will not print as drawn",
    };
    format!("{word}: printer {}, material {}; {tally}", name("printer"), name("material"))
}

/// One thing to look at first.
pub(super) struct Item<'a> {
    /// `caution`, `error wall` and so on.
    pub kind: String,
    pub text: String,
    /// The bodies that it is said of.
    pub bodies: Vec<&'a str>,
}

/// What stands in the way, then cautions, then the rest that asks for a look;
/// each once, however many bodies or places it is said of.
pub(super) fn look_first(made: &[Made]) -> Vec<Item<'_>> {
    let bodies = || made.iter().flat_map(|part| &part.bodies);
    let findings = |blocking: bool| {
        bodies().flat_map(move |body| {
            let all = groups(body.checked.iter().flat_map(|c| &c.findings));
            all.filter(move |g| g[0].severity > Grade::Note && g[0].blocks() == blocking).map(
                |group| {
                    let mut text = all_as_one(&group);
                    if let Some(reason) = &group[0].allowed {
                        text.push_str(&format!(" (allowed: {reason})"));
                    }
                    (kind_of(group[0]), text, body.body.name.as_str())
                },
            )
        })
    };
    let messages = bodies().flat_map(|body| {
        let messages = body.body.messages.iter().filter(|m| m.severity > Severity::Note);
        messages.map(|m| (word(m.severity).to_owned(), m.text.clone(), body.body.name.as_str()))
    });
    let mut items: Vec<Item<'_>> = Vec::new();
    for (kind, text, body) in findings(true).chain(messages).chain(findings(false)) {
        match items.iter_mut().find(|item| item.kind == kind && item.text == text) {
            Some(item) if item.bodies.contains(&body) => {}
            Some(item) => item.bodies.push(body),
            None => items.push(Item { kind, text, bodies: vec![body] }),
        }
    }
    items
}

/// What the numbers of [`light_rows`] take for granted.
pub(super) const LIGHT_MODEL: &str = "walls taken as black, the stone as clear and polished";

/// What shows of a lamp, and where its light goes.
pub(super) fn light_rows(shown: &Shown) -> [(&'static str, Share); 9] {
    [
        ("of the pixel's surface, seen past the stone", shown.past_stone),
        ("of the pixel's surface, seen through the stone", shown.through_stone),
        ("of its light, to the stone", shown.to_stone),
        ("of its light, to the stone's end", shown.to_end),
        ("of its light, out of the window past the stone", shown.light_past),
        ("of its light, out straight through the stone", shown.light_through),
        ("of its light, out after the stone mirrored it", shown.light_mirrored),
        ("of its light, into the handle beyond the window", shown.light_beyond),
        ("of its light, not followed to its end", shown.light_dropped),
    ]
}

/// What the print files make up for, in words.
pub(super) fn made_up_for(made_up: &Compensation) -> String {
    let mut parts = Vec::new();
    if made_up.growth != 0.0 {
        let way = if made_up.growth < 0.0 { "out" } else { "in" };
        let holes = match made_up.holes_drawn {
            true => format!(
                " but those of round upright holes of up to {} mm, which are drawn larger as it is",
                number(LARGEST_DRAWN_HOLE)
            ),
            false => String::new(),
        };
        let growth = number(made_up.growth.abs());
        parts.push(format!("their upright walls are drawn {way} by {growth} mm{holes}"));
    }
    let scales = made_up.scales.map(|s| (s != 1.0).then(|| number(s)));
    let axes = scales.iter().zip(Axis::WORDS);
    let axes: Vec<String> =
        axes.filter_map(|(s, axis)| Some(format!("{} along {axis}", s.as_ref()?))).collect();
    if !axes.is_empty() {
        parts.push(format!("lengths are divided by {} of the printer", axes.join(", ")));
    }
    let turned = match made_up.scales.x != made_up.scales.y {
        true => {
            " Turned about the upright, the STL and the body's own 3MF would fit the printer's x \
                 and y no more: `plate` makes up for it as the bodies lie."
        }
        false => "",
    };
    format!(
        "STL and 3MF make up for the printer: {}. STEP, checks and all sizes here are as wanted.\
         {turned}",
        parts.join("; ")
    )
}

/// Findings that differ in nothing but the place, together, in their order.
pub(super) fn groups<'a>(
    findings: impl IntoIterator<Item = &'a Finding>,
) -> impl Iterator<Item = Vec<&'a Finding>> {
    let mut groups: Vec<Vec<&'a Finding>> = Vec::new();
    let about = |f: &'a Finding| (f.severity, f.check, &f.limit_from, &f.hint, &f.allowed);
    for f in findings {
        match groups.iter_mut().find(|group| about(group[0]) == about(f)) {
            Some(group) => group.push(f),
            None => groups.push(vec![f]),
        }
    }
    groups.into_iter()
}

/// The text of the first of a group, and how many more there are.
pub(super) fn all_as_one(group: &[&Finding]) -> String {
    let first = group[0];
    let more = match group.len() - 1 {
        0 => String::new(),
        n => format!(" (and {n} more like this)"),
    };
    format!("{}{more}", first.text)
}

/// "error wall".
pub(super) fn kind_of(finding: &Finding) -> String {
    format!("{} {}", finding.severity.word(), finding.check)
}
