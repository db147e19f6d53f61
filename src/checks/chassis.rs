//! A part has room in the chassis of somebody else, and gets there.

use super::against::{Meeting, Question, meeting};
use super::finding::short;
use super::overlap::{CONTACT, Unclear};
use super::{Check, CheckContext, Finding, Limit, Place, Severity};
use crate::measure::Unit;
use crate::solid::Levels;
use crate::survey::{Chassis, Entry};

pub(super) const CHECK: Check = Check {
    name: "chassis",
    summary: "material of the chassis where the part sits",
    upright: false,
    run: run_seated,
};

pub(super) const ENTRY: Check = Check {
    name: "chassis_way",
    summary: "material of the chassis in the part's way in, along z or through its window",
    upright: false,
    run: run_entry,
};

fn run_seated(context: &CheckContext<'_>) -> Vec<Finding> {
    ask(CHECK.name, context, |part, chassis| {
        let found = found(context, part, chassis, Question::Seated)?;
        let told = |meeting: Meeting| {
            let (low, high) = part.ends();
            let text = format!(
                "{} mm3 (to within {}) of the chassis {} lie in the part, up to {} mm deep, {}",
                volume(meeting.volume),
                volume(meeting.bound),
                chassis.name(),
                short(meeting.depth),
                place(&meeting)
            );
            finding(CHECK.name, Severity::Error, text, &meeting).hint(cure(&meeting, (low, high)))
        };
        Ok(found.map(told).into_iter().collect())
    })
}

fn run_entry(context: &CheckContext<'_>) -> Vec<Finding> {
    ask(ENTRY.name, context, |part, chassis| {
        let along = || found(context, part, chassis, Question::FromCap);
        let across = || found(context, part, chassis, Question::FromAbove);
        let one = |way: &str, found: Option<Meeting>, hint: &str| {
            let told = |meeting: Meeting| {
                let text = format!("{} {}", no_way(chassis, way), passed(&meeting));
                finding(ENTRY.name, Severity::Error, text, &meeting).hint(hint)
            };
            found.map(told).into_iter().collect()
        };
        Ok(match chassis.entry() {
            Entry::Cap => one(CAP, along()?, "open the chassis there, or make the part narrower"),
            Entry::Window => {
                one(WINDOW, across()?, "move the part under the window, or make the part narrower")
            }
            Entry::Either => match (along()?, across()?) {
                (None, _) => Vec::new(),
                (Some(along), None) => {
                    let text = format!(
                        "it gets into the chassis {} {WINDOW} only; {CAP} {}",
                        chassis.name(),
                        passed(&along)
                    );
                    vec![finding(ENTRY.name, Severity::Note, text, &along)]
                }
                (Some(along), Some(across)) => {
                    let text = format!(
                        "{} {}; and {WINDOW} {}",
                        no_way(chassis, CAP),
                        passed(&along),
                        passed(&across)
                    );
                    let least = if along.volume <= across.volume { &along } else { &across };
                    let hint = "open the chassis there, move the part under a window, or make the \
                                part narrower";
                    vec![finding(ENTRY.name, Severity::Error, text, least).hint(hint)]
                }
            },
        })
    })
}

const CAP: &str = "along z from the end cap";
const WINDOW: &str = "from +y";

fn no_way(chassis: &Chassis, way: &str) -> String {
    format!("it does not get into the chassis {}: {way}", chassis.name())
}

fn passed(meeting: &Meeting) -> String {
    format!(
        "{} mm3 are in its way, up to {} mm deep, {}",
        volume(meeting.volume),
        short(meeting.depth),
        place(meeting)
    )
}

/// Runs a question about the part and its chassis, if it has one; one that
/// cannot be answered is said.
fn ask(
    check: &'static str,
    context: &CheckContext<'_>,
    answer: impl Fn(&Levels<'_>, &Chassis) -> Result<Vec<Finding>, Unclear>,
) -> Vec<Finding> {
    let Some(known) = context.known else { return Vec::new() };
    let Some(chassis) = &known.declared.chassis else { return Vec::new() };
    let unseen = |reason: String| {
        let text = format!("it was not held against the chassis {}: {reason}", chassis.name());
        vec![
            Finding::new(check, Severity::Warning, text)
                .hint("look yourself whether it has room, and gets in"),
        ]
    };
    match Levels::new(known.solid) {
        Err(error) => unseen(error.to_string()),
        Ok(part) => answer(&part, chassis).unwrap_or_else(|Unclear(z)| {
            unseen(format!("its section at z = {} mm is not defined", short(z)))
        }),
    }
}

fn found(
    context: &CheckContext<'_>,
    part: &Levels<'_>,
    chassis: &Chassis,
    question: Question,
) -> Result<Option<Meeting>, Unclear> {
    meeting(part, context.analysis.soup(), chassis, question)
}

fn finding(check: &'static str, severity: Severity, text: String, meeting: &Meeting) -> Finding {
    let limit = Limit::own(CONTACT, "what counts as contact");
    Finding::new(check, severity, text)
        .at(Place::heights(meeting.at, meeting.low.z, meeting.high.z))
        .measured(meeting.depth, Unit::Mm)
        .limit(&limit)
}

/// Box and clocking in words.
fn place(meeting: &Meeting) -> String {
    let (low, high) = (meeting.low, meeting.high);
    let side = |axis: &str, from: f64, to: f64| {
        format!("{axis} = {} to {}", hundredth(from), hundredth(to))
    };
    let clocking = match meeting.clocking {
        Some((from, to)) => format!("clocking {from} to {to}"),
        None => "all around".to_owned(),
    };
    format!(
        "at {}, {}, {} mm ({clocking})",
        side("z", low.z, high.z),
        side("x", low.x, high.x),
        side("y", low.y, high.y)
    )
}

/// What to change, from where the overlap is in the part.
fn cure(meeting: &Meeting, (low, high): (f64, f64)) -> String {
    let (from, to) = (meeting.low.z, meeting.high.z);
    let take = format!("take {} mm off it there", up(meeting.depth));
    // Only one end of the part reaches in: it need not be narrower, only elsewhere.
    let (below, above) = (from - low, high - to);
    if below > CONTACT && above <= CONTACT {
        format!(
            "{take}, or let it end at z = {} mm: move it {} mm towards the end cap, or make it \
             shorter",
            hundredth(from),
            up(high - from)
        )
    } else if above > CONTACT && below <= CONTACT {
        format!(
            "{take}, or let it begin at z = {} mm: move it {} mm towards the front, or make it \
             shorter",
            hundredth(to),
            up(to - low)
        )
    } else {
        format!("{take}, turn it, or cut the chassis; `borewright survey` lists its cavities")
    }
}

/// A volume to a tenth of a mm3, and no less than that.
fn volume(value: f64) -> String {
    crate::measure::number((value * 10.0).round().max(1.0) / 10.0)
}

fn hundredth(value: f64) -> String {
    crate::measure::number((value * 100.0).round() / 100.0 + 0.0)
}

/// A length or volume rounded up to a hundredth.
fn up(value: f64) -> String {
    crate::measure::number(crate::measure::rounding::up(value))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_and_volumes_are_rounded_as_they_are_meant() {
        assert_eq!(["0.1", "12.3", "0.1"], [0.01, 12.34, 0.1].map(volume).each_ref().map(|s| &**s));
        assert_eq!((hundredth(12.344), hundredth(-0.001)), ("12.34".to_owned(), "0".to_owned()));
        assert_eq!((up(0.121), up(3.0)), ("0.13".to_owned(), "3".to_owned()));
    }
}
