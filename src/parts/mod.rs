//! The parts that can be made: one file and one line in [`PART_KINDS`] each.

mod adapter_ring;
mod around;
mod board_sled;
mod build;
mod caliper;
mod cavity;
mod cell_tray;
mod crystal_cradle;
mod declared;
mod display_plug;
mod fill;
mod fit;
pub mod fixing;
mod front_mount;
mod handed;
#[cfg(test)]
mod hinted;
mod hollow;
mod kill_pocket;
mod locking_seat;
mod marks;
mod mating;
mod module;
mod sight;
mod speaker_cup;
mod spine;
mod switch_plate;
mod test_piece;
mod trim;
#[cfg(test)]
mod trying;
mod wedge;
mod wire_cover;

pub(crate) use around::BORE;
pub use caliper::{Caliper, Jaws};
pub(crate) use cavity::follows;
pub use cavity::{CAVITY, Cavity};
pub use declared::{
    Bars, Bend, Component, Declared, FitWords, Heat, Hold, Kept, Mating, Screw, Spread, Term,
    Undrawn, Way,
};
pub(crate) use fill::fill;
pub(crate) use fit::OUTSIDE;
pub use handed::{Handed, Topic};
pub use sight::Sight;

pub use spine::RingRoom;
pub use test_piece::{PIECES, TEST_PIECES, TestPiece};

use std::sync::Arc;

use crate::measure::{Axis, Handle, Library, Measured, Param, Place, Reading, Unit, Values};
use crate::solid::Solid;
use crate::survey::Chassis;
use crate::trade::{TradeError, Worked};

/// Every kind of part that a job may ask for, in the order of lists.
pub const PART_KINDS: &[PartKind] = &[
    crystal_cradle::CRYSTAL_CRADLE,
    switch_plate::SWITCH_PLATE,
    cell_tray::CELL_TRAY,
    speaker_cup::SPEAKER_CUP,
    board_sled::BOARD_SLED,
    kill_pocket::KILL_POCKET,
    locking_seat::LOCKING_SEAT,
    front_mount::FRONT_MOUNT,
    display_plug::DISPLAY_PLUG,
    wire_cover::WIRE_COVER,
    adapter_ring::ADAPTER_RING,
    spine::SPINE,
];

/// A kind of part: how it is called, what may be entered, how it is made.
#[derive(Clone, Copy, Debug)]
pub struct PartKind {
    /// What stands behind `kind` in a job, lower case with underscores.
    pub name: &'static str,
    /// One line for lists.
    pub summary: &'static str,
    /// Rows besides `kind` and `name`, which every part has.
    pub params: &'static [Param],
    /// Makes its bodies from values of `params`.
    pub make: fn(&PartContext<'_>, &Values) -> Result<Vec<Body>, Refusal>,
}

impl PartKind {
    /// Whether its parts join others of the job, and so are made after them.
    pub fn joins(&self) -> bool {
        self.name == spine::SPINE.name
    }

    /// Whether its parts close the front of the bore, so that nothing lies before them.
    pub fn closes_front(&self) -> bool {
        self.name == front_mount::FRONT_MOUNT.name
    }
}

/// A part of the job that is made already.
#[derive(Clone, Debug)]
pub struct Neighbour<'a> {
    /// Its name in the job.
    pub name: &'a str,
    /// Its kind.
    pub kind: &'static PartKind,
    /// Its values.
    pub values: &'a Values,
    /// Its bodies.
    pub bodies: Vec<&'a Body>,
}

/// What a part knows besides its own values.
#[derive(Clone, Copy, Debug)]
pub struct PartContext<'a> {
    /// The part's name in the job; names of bodies start with it.
    pub name: &'a str,
    /// The measured handle, with its bore.
    pub handle: &'a Handle,
    /// A printer: values of the family `printers`.
    pub printer: &'a Values,
    /// A material: values of the family `materials`.
    pub material: &'a Values,
    /// Chord tolerance of meshes, mm; sections thinner than it are refused.
    pub chord: f64,
    /// All known profiles, to say what would fit instead.
    pub library: &'a Library,
    /// The cavity of a foreign chassis that it is made for; `handle` then has the
    /// cavity's bore, if that is narrower.
    pub cavity: Option<&'a Cavity>,
    /// The job's foreign chassis, whether the part is made for a cavity of it or not.
    pub chassis: Option<&'a Arc<Chassis>>,
    /// The parts of the job that it may join, in the job's order; of kinds that
    /// join others only.
    pub made: &'a [Neighbour<'a>],
}

/// One solid of a part, to be printed on its own.
#[derive(Clone, Debug)]
pub struct Body {
    /// Name of its files: the part's name, with `-suffix` for further bodies.
    pub name: String,
    /// The solid, in the handle's frame.
    pub solid: Solid,
    /// What was computed for it.
    pub computed: Vec<Computed>,
    /// What the person should know.
    pub messages: Vec<Message>,
    /// The calculations that decided its sizes, step by step.
    pub worked: Vec<Calculation>,
    /// What it states for the checker.
    pub declared: Declared,
}

impl Body {
    /// Whether it slides in the bore, and not in another part or on the handle:
    /// then the bore is one of its components.
    pub fn in_bore(&self) -> bool {
        self.declared.components.iter().any(|c| c.name == around::BORE)
    }
}

/// A calculation of the trade as the part used it.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Calculation {
    /// What of the part it is about.
    pub about: String,
    /// Inputs, steps and results.
    #[serde(flatten)]
    pub worked: Worked,
}

impl Calculation {
    /// The calculations that worked, out of those tried; what a part could not
    /// do without, it has refused before.
    pub fn list<S: Into<String>>(
        tried: impl IntoIterator<Item = (S, Result<Worked, TradeError>)>,
    ) -> Vec<Calculation> {
        let done = |(about, worked): (S, Result<Worked, TradeError>)| {
            Some(Calculation { about: about.into(), worked: worked.ok()? })
        };
        tried.into_iter().filter_map(done).collect()
    }
}

/// A value that a part computed, for the report.
#[derive(Clone, Debug, PartialEq)]
pub struct Computed {
    /// Key in the report, lower case with underscores.
    pub key: String,
    /// What it is, for people.
    pub what: String,
    /// The value in `unit`.
    pub value: f64,
    /// Its unit.
    pub unit: Unit,
    /// How it is read off a print, if a caliper can.
    pub reading: Option<Reading>,
    /// The line that a caliper reads it along, for drawings.
    pub caliper: Option<Caliper>,
}

impl Computed {
    /// A value with its key, meaning and unit.
    pub fn new(key: impl Into<String>, what: impl Into<String>, value: f64, unit: Unit) -> Self {
        Self { key: key.into(), what: what.into(), value, unit, reading: None, caliper: None }
    }

    /// The same with how a caliper reads it: what, along which axis of the
    /// printer, and where the jaws go.
    pub(crate) fn read(self, what: Measured, axis: Option<Axis>, at: impl Into<String>) -> Self {
        Self { reading: Some(Reading { what, axis, at: at.into() }), ..self }
    }

    /// Rows of which that with `key`, if there is one, is read so; see [`Computed::read`].
    pub(crate) fn read_in(
        mut rows: Vec<Computed>,
        key: &str,
        what: Measured,
        axis: Option<Axis>,
        at: &str,
    ) -> Vec<Computed> {
        for row in rows.iter_mut().filter(|row| row.key == key) {
            row.reading = Some(Reading { what, axis, at: at.to_owned() });
        }
        rows
    }
}

/// How much a message matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Good to know.
    Note,
    /// Look at it before you print.
    Warning,
    /// Can hurt somebody.
    Caution,
}

/// What a person should know about a body.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Message {
    /// How much it matters.
    pub severity: Severity,
    /// What, with values and units.
    pub text: String,
    /// What to do.
    pub hint: Option<String>,
}

impl Message {
    /// What is glued, and what to mind there; and the caution, which is the same for all that
    /// is, so that it is said once of all.
    pub(crate) fn glued(what: &str, mind: &str) -> [Message; 2] {
        let caution = Message {
            severity: Severity::Caution,
            text: "glue and its solvents harm eyes, skin and lungs".into(),
            hint: Some(
                "read the glue's own sheet, air the room, wear gloves, and try it on a scrap of \
                 print first"
                    .into(),
            ),
        };
        let note = Message { severity: Severity::Note, text: what.into(), hint: Some(mind.into()) };
        [note, caution]
    }
}

/// A part that cannot be made as asked.
#[derive(Clone, Debug, thiserror::Error)]
#[error("{what}")]
pub struct Refusal {
    /// Why, with the values: "needs a bore of at least 24.1 mm; yours is 22.0
    /// at its smallest: short by 2.1".
    pub what: String,
    /// Path of the field to point at.
    pub field: Option<String>,
    /// Where that field is written.
    pub place: Option<Place>,
    /// What would work, best first.
    pub hints: Vec<String>,
}

impl Refusal {
    /// A refusal of the part as a whole.
    pub fn new(what: impl Into<String>) -> Self {
        Self { what: what.into(), field: None, place: None, hints: Vec::new() }
    }

    /// The same, pointing at `key` of `values`: the part's own values, one of
    /// its lists' tables, or the handle's.
    pub fn at(mut self, values: &Values, key: &str) -> Self {
        self.field = Some(values.path_of(key));
        self.place = values.place(key);
        self
    }

    /// The same with one more hint.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }
}
