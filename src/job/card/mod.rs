//! The hand-over card: one page for the owner of a prop, of what the job and its parts know.
//! What they do not say is a line to fill in.

mod assembly;
mod flow;
mod words;

#[cfg(test)]
mod tests;

use super::drawing::{day, profile};
use super::{Job, Made, fingerprint};
use crate::export::drawing::{Extent, Frame, LineGroup, Paper, Sheet, Title};
use crate::measure::{Default, Fault, Faults, Kind, Param, What};
use crate::mesh::MeshError;
use crate::parts::{Handed, Topic};

use assembly::Assembly;
use words::blocks;

/// Rows of `[[card.control]]`.
const CONTROL: &[Param] = &[Param {
    key: "does",
    kind: Kind::Text { max_len: 160, default: Default::Required },
    doc: "What it does when it is pressed, as: short: on and off; long: next colour.",
}];

/// Most controls on one card. Common practice, no source.
const MAX_CONTROLS: usize = 16;

/// Rows of `[card]`.
pub const CARD: &[Param] = &[
    Param::note("owner", 80, "Who the prop is handed to."),
    Param::note("maker", 80, "Who fitted it, and how to reach them."),
    Param {
        key: "control",
        kind: Kind::List { rows: CONTROL, count: (0, MAX_CONTROLS), starts: 0 },
        doc: "What each plunger does, in their order from the end cap.",
    },
    Param::note("light", 240, "What the pixels' colours mean, and how they are changed."),
    Param::note(
        "finish",
        240,
        "Paint and other finish: what it is, what it stands, how to mend it.",
    ),
    Param::note("care", 400, "How to clean, store and look after the prop."),
];

/// Why there is no card.
#[derive(Clone, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum CardError {
    /// A body has no mesh as fine as lines need.
    #[error("{body} cannot be drawn: {source}")]
    Mesh {
        /// The body.
        body: String,
        /// Why.
        source: MeshError,
    },
    /// What `[card]` says does not go with the parts.
    #[error("{0}")]
    Job(Faults),
}

/// From the border to what is on the card, and between the drawing and the texts, mm.
const INSET: f64 = 3.0;

/// How many characters of the fingerprint are printed.
const PRINTED_FINGERPRINT: usize = 16;

/// The card of a job and its made parts: one sheet, and more where its texts need them.
/// `stamp` is the time stamp of the job's files.
///
/// # Errors
/// A body that cannot be drawn; more controls than the parts have plungers.
pub fn card(job: &Job, made: &[Made], stamp: &str, paper: Paper) -> Result<Vec<Sheet>, CardError> {
    controls(job, made)?;
    let frame = Frame { paper };
    let field = frame.field().grown(-INSET);
    let assembly = Assembly::new(job, made)?;
    let (mut drawn, below) = assembly.items(&field);
    let area = Extent { low: nalgebra::Vector2::new(field.low.x, below), high: field.high };
    let mut pages = flow::flow(&blocks(job, made), &[area, field]);
    let count = pages.len();
    let size = paper.size();
    let sheet = |(i, items): (usize, &mut Vec<_>)| {
        let title = Title {
            title: job.handle().name().to_owned(),
            subject: "card for its owner".to_owned(),
            handle: job.handle().name().to_owned(),
            part: match made.len() {
                1 => "1 part".to_owned(),
                count => format!("{count} parts"),
            },
            material: profile(job, "material"),
            printer: profile(job, "printer"),
            tolerance: "see the drawings".to_owned(),
            scale: assembly.scale_words(&field),
            sheet: format!("{} / {count}", i + 1),
            fingerprint: fingerprint(job).chars().take(PRINTED_FINGERPRINT).collect(),
            date: day(stamp),
        };
        let mut all = frame.items(&title, None);
        if i == 0 {
            all.append(&mut drawn);
            all.extend(flow::fields(&words::signed(job), &frame.corner().grown(-INSET)));
        }
        all.append(items);
        Sheet {
            width: size.x,
            height: size.y,
            title: format!("{}: card for its owner", job.handle().name()),
            group: LineGroup::Third,
            items: all,
        }
    };
    Ok(pages.iter_mut().enumerate().map(sheet).collect())
}

/// What the parts say that an owner should know, by topic, then from the end cap on; each once.
fn handed(made: &[Made]) -> Vec<&Handed> {
    let bodies = made.iter().flat_map(|part| &part.bodies);
    let mut all: Vec<&Handed> = Vec::new();
    for said in bodies.flat_map(|body| &body.body.declared.handed) {
        let again = |known: &&Handed| known.topic == said.topic && known.text == said.text;
        if !all.iter().any(again) {
            all.push(said);
        }
    }
    all.sort_by(|a, b| a.topic.cmp(&b.topic).then(a.z.total_cmp(&b.z)));
    all
}

/// A job must not say what more controls do than there are.
fn controls(job: &Job, made: &[Made]) -> Result<(), CardError> {
    let Some(values) = job.card() else { return Ok(()) };
    let there = handed(made).iter().filter(|said| said.topic == Topic::Control).count();
    let said = values.list("control");
    let Some(first) = said.get(there) else { return Ok(()) };
    let reason = format!("{} controls are told of; the parts have plungers: {there}", said.len());
    let mut faults = Faults::default();
    let fault = Fault::new(What::Conflict { reason }, values.path_of("control"));
    faults.push(fault.at(first.own_place()).hint("leave out those beyond, or add their plungers"));
    Err(CardError::Job(faults))
}
