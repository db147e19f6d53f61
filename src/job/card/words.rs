//! What the card says.

use super::handed;
use crate::checks::HEAT_MARGIN;
use crate::job::drawing::profile;
use crate::job::{Job, Made};
use crate::measure::number;
use crate::parts::Topic;

/// A heading and what stands below it.
pub(super) struct Block {
    pub(super) heading: String,
    pub(super) lines: Vec<Line>,
}

/// A paragraph.
pub(super) struct Line {
    pub(super) text: String,
    /// Whether room to write follows.
    pub(super) to_fill: bool,
}

impl Line {
    fn said(text: impl Into<String>) -> Line {
        Line { text: text.into(), to_fill: false }
    }

    fn to_fill(text: impl Into<String>) -> Line {
        Line { text: text.into(), to_fill: true }
    }

    /// What the job says, after what it is about; or that with room to write.
    fn either(about: &str, said: Option<&str>) -> Line {
        match said {
            Some(said) => Line::said(format!("{about}: {said}")),
            None => Line::to_fill(format!("{about}:")),
        }
    }
}

/// What the job's `[card]` says under a key.
fn told<'a>(job: &'a Job, key: &str) -> Option<&'a str> {
    job.card().and_then(|values| values.maybe_text(key)).filter(|text| !text.trim().is_empty())
}

/// All blocks, in their order.
pub(super) fn blocks(job: &Job, made: &[Made]) -> Vec<Block> {
    let mut out = vec![fitted(job, made)];
    let all = handed(made);
    let mut cautions = None;
    for topic in [
        Topic::Cell,
        Topic::KillSwitch,
        Topic::Control,
        Topic::Screw,
        Topic::Light,
        Topic::Sound,
        Topic::Caution,
    ] {
        let said = all.iter().filter(|said| said.topic == topic);
        let mut lines: Vec<Line> = match topic {
            Topic::Control => {
                let does = job.card().map_or(&[][..], |values| values.list("control"));
                let each = said.enumerate().map(|(i, said)| {
                    let does = does.get(i).map(|values| values.text("does"));
                    Line::either(&capital(&said.text), does)
                });
                each.collect()
            }
            _ => said.map(|said| Line::said(sentence(&said.text))).collect(),
        };
        if lines.is_empty() {
            continue;
        }
        if topic == Topic::Light {
            lines.push(Line::either("Colours", told(job, "light")));
        }
        let block = Block { heading: topic.words().to_owned(), lines };
        match topic {
            Topic::Caution => cautions = Some(block),
            _ => out.push(block),
        }
    }
    let softens = job.print().component("material").number("softens_at");
    out.push(Block {
        heading: "Materials and finish".to_owned(),
        lines: vec![
            Line::said(format!(
                "The inserts are printed in {}, which softens at about {softens} degrees C: keep \
                 them below {}, so never in a hot car.",
                profile(job, "material"),
                number(softens - HEAT_MARGIN)
            )),
            Line::either("Paint and finish", told(job, "finish")),
        ],
    });
    out.push(Block {
        heading: "Care".to_owned(),
        lines: vec![Line::either("To clean, store and look after it", told(job, "care"))],
    });
    out.extend(cautions);
    out
}

/// What was fitted where, with the numbers of the drawing.
fn fitted(job: &Job, made: &[Made]) -> Block {
    let mut lines: Vec<Line> = made
        .iter()
        .enumerate()
        .map(|(i, part)| {
            let (low, high) = super::assembly::reach(part);
            let kind = part.kind.name.replace('_', " ");
            let name = match part.name.replace('-', " ") == kind {
                true => kind,
                false => format!("{}, {kind}", part.name),
            };
            Line::said(format!("{}  {name}: {low:.0} to {high:.0} mm", i + 1))
        })
        .collect();
    let bore = job.handle().bore();
    lines.push(Line::said(format!(
        "Bore {:.2} mm, usable over {} mm.",
        bore.smallest(),
        number(job.handle().length())
    )));
    Block { heading: "What lies where, from the end cap".to_owned(), lines }
}

/// Who hands over what to whom.
pub(super) fn signed(job: &Job) -> Vec<(&'static str, Option<&str>)> {
    vec![
        ("handed to", told(job, "owner")),
        ("fitted by", told(job, "maker")),
        ("tried with a cell on", None),
    ]
}

/// A text as a sentence.
fn sentence(text: &str) -> String {
    format!("{}.", capital(text))
}

/// A text that begins with a capital.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => format!("{}{}", first.to_uppercase(), letters.as_str()),
        None => String::new(),
    }
}
