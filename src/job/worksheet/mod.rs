//! What to measure for the parts of a job, as a sheet to be filled in beside the handle.
//! It comes from the tables of what may be entered: there is nothing of any kind in it.

mod accuracy;
mod blanks;
mod help;
mod html;
mod method;
mod sketch;
#[cfg(test)]
mod tests;
mod text;

pub use accuracy::{Accuracy, AccuracyRow};
pub use help::Help;
pub use html::html;
pub use method::Method;
pub(crate) use sketch::sketches;
pub use text::text;

use crate::measure::{FAMILIES, HANDLE, Kind, Param, Unit, Values, number};
use crate::parts::PartKind;

use super::{Job, Made, PRINT};

/// Boxes for readings where a list of them is wanted.
const LIST_READINGS: usize = 6;

/// Readings of one size that is measured. Common practice, no source.
const READINGS: usize = 3;

/// Whether a box must be filled.
#[derive(Clone, Debug, PartialEq)]
pub enum Need {
    /// The job cannot be read without it.
    Must,
    /// Most who make the part measure it.
    Should,
    /// Only where it applies.
    May,
    /// This holds unless something else is written.
    Given(String),
}

/// One value to write down.
#[derive(Clone, Debug, PartialEq)]
pub struct Slot {
    /// Path of the job's field, as in messages: `part[1].plunger[2].travel`.
    pub key: String,
    /// What it is.
    pub doc: &'static str,
    /// What may be written.
    pub expects: String,
    /// Its unit, if it has one.
    pub unit: &'static str,
    /// How it is measured.
    pub method: Method,
    /// How often it is read before it is written down.
    pub readings: usize,
    /// Whether all readings are the value, as a list.
    pub all: bool,
    /// Whether it must be filled.
    pub need: Need,
}

/// The slots of one table of the job.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Path of the table: `part[1].plunger[2]`.
    pub path: String,
    /// What it is, in a sentence.
    pub doc: String,
    /// The slots.
    pub slots: Vec<Slot>,
}

/// A sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// What it is for.
    pub title: String,
    /// What there is to say first.
    pub intro: Vec<String>,
    /// What to measure.
    pub groups: Vec<Group>,
    /// What would make the fits surer, the best first; of jobs that are complete.
    pub helps: Vec<Help>,
    /// What the caliper's error does to a sliding fit.
    pub accuracy: Option<Accuracy>,
    /// What can hurt while measuring.
    pub cautions: Vec<&'static str>,
}

/// The sheet for a new handle and one part of each kind; `printer` holds values of the
/// family `printers`.
pub fn for_kinds(kinds: &[&PartKind], printer: &Values) -> Sheet {
    let mut groups = Vec::new();
    collect(HANDLE, "handle", "The handle.", &mut groups);
    let named = PRINT.iter().filter(|row| row.required()).filter_map(|row| slot(row, "print"));
    let doc = "The printer and its plastic, by their profiles.".to_owned();
    push(Group { path: "print".to_owned(), doc, slots: named.collect() }, &mut groups);
    for (i, kind) in kinds.iter().enumerate() {
        let path = format!("part[{}]", i + 1);
        let doc = format!("kind = \"{}\": {}.", kind.name, kind.summary.trim_end_matches('.'));
        collect(kind.params, &path, &doc, &mut groups);
    }
    let names: Vec<&str> = kinds.iter().map(|kind| kind.name).collect();
    let flags: Vec<String> = names.iter().map(|name| format!("--part {name}")).collect();
    let intro = vec![
        "Each box has the key of the job file that it belongs to. Those with * must be filled; of \
         what may be left out, leave it empty where it does not apply."
            .to_owned(),
        format!("The job file for it: borewright new {} my-handle.toml", flags.join(" ")),
    ];
    let title = format!("What to measure: {}", names.join(", "));
    Sheet {
        title,
        intro,
        cautions: cautions(&groups),
        groups,
        helps: Vec::new(),
        accuracy: Accuracy::of(printer, None),
    }
}

/// The sheet of what a job text still lacks; none if nothing is missing or asked for by
/// a placeholder.
pub fn for_blanks(text: &str, kinds: &[PartKind]) -> Option<Sheet> {
    let groups = blanks::groups(text, kinds);
    let title = "What this job still lacks".to_owned();
    (!groups.is_empty()).then(|| Sheet {
        title,
        intro: vec![
            "Each box has the key of the job file that it belongs to. Those with * must be filled."
                .to_owned(),
        ],
        cautions: cautions(&groups),
        groups,
        helps: Vec::new(),
        accuracy: None,
    })
}

/// The sheet of a job that is complete: what would make its fits surer, and sizes that
/// profiles give and nobody has measured.
pub fn for_job(job: &Job, made: &[Made]) -> Sheet {
    let mut groups = Vec::new();
    let parts = job.parts().iter().map(|part| part.values());
    for values in parts {
        taken(values, &mut groups);
    }
    let helps = help::helps(made);
    let first = match helps.first() {
        Some(best) if best.field.starts_with("print.") => format!(
            "Print a test piece first: how far printed sizes scatter matters most here. \
             `borewright correct` works {} out from caliper readings of it.",
            best.field
        ),
        Some(best) => format!("Measure first: {} ({}).", best.field, best.term),
        None => "No measurement would make its fits surer by a tenth of a hundredth.".to_owned(),
    };
    let caliper = job.handle().values().number("caliper");
    Sheet {
        title: format!("{}: what to measure next", job.handle().name()),
        intro: vec![
            first,
            "Sizes below are from profiles, not measured: yours may differ.".to_owned(),
        ],
        cautions: cautions(&groups),
        groups,
        helps,
        accuracy: Accuracy::of(job.print().component("printer"), Some(caliper)),
    }
}

/// The slots of a table and of those below it. Of a part, what may be left out is worked
/// out then: only what is asked for is measured.
fn collect(rows: &'static [Param], path: &str, doc: &str, out: &mut Vec<Group>) {
    let wanted = |slot: &Slot| slot.need != Need::May || path == "handle";
    let slots = rows.iter().filter_map(|row| slot(row, path)).filter(wanted).collect();
    push(Group { path: path.to_owned(), doc: doc.to_owned(), slots }, out);
    for row in rows {
        let path = format!("{path}.{}", row.key);
        match row.kind {
            Kind::Table { rows, .. } => collect(rows, &path, &only_if(row), out),
            Kind::List { rows, count: (_, most), .. } if rows.iter().any(Param::asks) => {
                let copies = if most > 1 { 2 } else { 1 };
                for i in 1..=copies {
                    let more =
                        if i == copies && most > copies { " More of them follow so." } else { "" };
                    collect(rows, &format!("{path}[{i}]"), &format!("{}{more}", only_if(row)), out);
                }
            }
            Kind::Component { family, .. } if row.required() => {
                let found = FAMILIES.iter().find(|known| known.name == family);
                let rows = found.map_or(&[] as &[Param], |family| family.rows);
                let sizes = rows.iter().filter(|row| is_size(row));
                let slots =
                    sizes.filter_map(|row| slot(row, &path)).map(|s| Slot { need: Need::May, ..s });
                let doc = format!("Only where yours differs from its profile. {}", row.doc);
                push(Group { path: path.clone(), doc, slots: slots.collect() }, out);
            }
            _ => {}
        }
    }
}

fn push(group: Group, out: &mut Vec<Group>) {
    if !group.slots.is_empty() {
        out.push(group);
    }
}

fn only_if(row: &Param) -> String {
    if row.asks() { row.doc.to_owned() } else { format!("If there is one: {}", row.doc) }
}

/// Whether it is a length that a caliper reads.
fn is_size(row: &Param) -> bool {
    matches!(row.kind, Kind::Number { unit: Unit::Mm, .. } | Kind::Numbers { unit: Unit::Mm, .. })
}

/// The slot of a row; none for what is a matter of choice and has a default.
fn slot(row: &Param, path: &str) -> Option<Slot> {
    let sure = row.key == "caliper" || row.key.ends_with("tolerance");
    let need = match (row.required(), row.asks(), row.default_text()) {
        (true, ..) => Need::Must,
        (_, true, _) => Need::Should,
        (.., Some(default)) if sure => Need::Given(default),
        (.., Some(_)) => return None,
        _ => Need::May,
    };
    let (unit, readings, all) = match row.kind {
        Kind::Number { unit, .. } if sure => (unit, 1, false),
        Kind::Number { unit, .. } => (unit, if need == Need::May { 1 } else { READINGS }, false),
        Kind::Numbers { unit, count: (least, most), .. } => {
            (unit, LIST_READINGS.clamp(least, most.max(least)), true)
        }
        Kind::Points { .. } => (Unit::Mm, LIST_READINGS, true),
        Kind::Integer { .. } | Kind::Choice { .. } | Kind::Component { .. } => {
            (Unit::One, 1, false)
        }
        Kind::Text { .. } if row.required() => (Unit::One, 1, false),
        _ => return None,
    };
    // A word that may be left out is a matter of choice.
    let is_word =
        matches!(row.kind, Kind::Choice { .. } | Kind::Component { .. } | Kind::Integer { .. });
    if is_word && need == Need::May {
        return None;
    }
    Some(Slot {
        key: format!("{path}.{}", row.key),
        doc: row.doc,
        expects: row.kind.describe(),
        unit: unit.symbol(),
        method: if sure { Method::Judge } else { Method::of(row) },
        readings,
        all,
        need,
    })
}

/// Sizes of a part's components that are as a profile says.
fn taken(values: &Values, out: &mut Vec<Group>) {
    let written: Vec<&str> = values.written().collect();
    for row in values.rows() {
        match row.kind {
            // What stands there by default may not be used at all.
            Kind::Component { .. } if row.required() || written.contains(&row.key) => {
                if let Some(component) = values.maybe_component(row.key) {
                    from_profile(component, row.doc, out);
                }
            }
            Kind::Table { .. } => {
                if let Some(table) = values.maybe_table(row.key) {
                    taken(table, out);
                }
            }
            Kind::List { .. } => values.list(row.key).iter().for_each(|item| taken(item, out)),
            _ => {}
        }
    }
}

fn from_profile(component: &Values, doc: &str, out: &mut Vec<Group>) {
    let Some(profile) = component.profile() else { return };
    let written: Vec<&str> = component.written().collect();
    let rows = component.rows().iter().filter(|row| is_size(row) && !written.contains(&row.key));
    let slots = rows.filter_map(|row| {
        let value = component.maybe_number(row.key)?;
        let slot = slot(row, component.path()).unwrap_or(Slot {
            key: component.path_of(row.key),
            doc: row.doc,
            expects: row.kind.describe(),
            unit: Unit::Mm.symbol(),
            method: Method::of(row),
            readings: 1,
            all: false,
            need: Need::May,
        });
        Some(Slot { need: Need::Given(number(value)), readings: 1, ..slot })
    });
    let doc = format!("Profile {profile}. {doc}");
    push(Group { path: component.path().to_owned(), doc, slots: slots.collect() }, out);
}

/// What can hurt while things of a family are measured.
const CAUTIONS: &[(&str, &str)] = &[
    (
        "cell",
        "Li-ion cells: metal jaws across both poles, or from the can to the positive pole, short the \
         cell, which can burn. Measure with plastic jaws, or with tape over one end and one jaw at a \
         time; never press the wrap with an edge. The maker's data sheet has the largest size.",
    ),
    ("pixel", "Measure lamps with the power off: bright ones dazzle from near."),
];

fn cautions(groups: &[Group]) -> Vec<&'static str> {
    let is_named = |word: &str| {
        let named = |key: &str| key.rsplit('.').any(|part| part == word);
        groups.iter().any(|g| named(&g.path) || g.slots.iter().any(|s| named(&s.key)))
    };
    CAUTIONS.iter().filter(|(word, _)| is_named(word)).map(|(_, text)| *text).collect()
}
