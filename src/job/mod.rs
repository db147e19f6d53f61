//! From the text of a job file to a [`Job`] that is right, and to made parts.

mod after_print;
mod batch;
mod beside;
mod card;
mod cavity;
mod change;
mod chassis;
mod checked;
mod corrected;
mod coupon;
mod digest;
mod drawing;
mod estimates;
mod files;
mod fingerprint;
mod layout;
#[cfg(test)]
mod made_up_tests;
mod make;
mod output;
mod page;
mod plate;
mod read_parts;
mod readings;
mod report;
mod template;
mod text;
mod time;
pub mod worksheet;

use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::checks::{Allowance, BadAllowance};
use crate::measure::{
    Conflict, Default, Fault, Faults, HANDLE, Handle, Kind, Library, MAX_NAME, Param, Place,
    ReadFile, Reader, Source, Unit, Values, What, no_files, parse,
};
use crate::parts::{CAVITY, Cavity, PartContext, PartKind};
use crate::survey::Chassis;
use crate::trade::fits_iso286;

use cavity::InCavity;
use read_parts::read_parts;

pub use after_print::{
    AFTER_PRINT, Change, History, MadeUpBy, Print, PrintSat, PrintSize, after_print_file,
    after_print_names, changes, read_after_print, with_changes,
};
pub use batch::{
    BadSummary, BadVariants, Bench, Entry, MAX_VARIANTS, Origin, Outcome, Plan, RECORD, Record,
    RecordBody, RecordFile, Step, Summary, Variant, Variants, work,
};
pub use beside::beside;
pub use card::{CARD, CardError, card};
pub use change::{TextChange, TextChangeError, changed, with_part};
pub use chassis::CHASSIS;
pub use checked::{Checked, Warmth, check_made, wall_warmth};
pub use corrected::{MeasuredProfile, PRINTERS_FILE, ProfileError, measured_profile};
pub use coupon::{Coupon, ReadSize, guide, read_sizes, readings_file};
pub(crate) use digest::verdict;
pub use drawing::{BodyDrawing, DrawingError, DrawingWishes, Size, drawings, sizes};
pub use files::{
    CARD_PDF, DRAWINGS, FORMATS, FormatError, JOB_OUTPUTS, JobOutput, NamedBytes, REPORT_JSON,
    WriteOfJob, body_files, files,
};
pub(crate) use fingerprint::digest as digest_of;
pub use fingerprint::fingerprint;
pub use layout::{
    Arrangement, Fixed, Layout, LayoutError, MOST_FREE, Module, Row, RowPiece, Shortfall, Tie,
    Wishes, edited,
};
pub use make::{Kept, Made, MadeBody, MakeError, make, make_again};
pub use output::{Staged, StagedError};
pub use page::page;
pub(crate) use page::{VIEW_SCRIPTS, VIEW_STYLE, placed_findings, scene, view_markup};
pub use plate::{
    MAX_COPIES, OnPlate, Piece, Plate, PlateError, PlateRules, lay_out, plate_files, upright,
};
pub use readings::{READINGS, Readings};
pub use report::report;
pub use template::{TemplateError, template};
pub use text::text;

pub use time::{BadEpoch, epoch_day};

/// The format of job files that is read and written.
pub const FORMAT: i64 = 1;

/// Most parts in one job. Common practice, no source.
pub const MAX_PARTS: usize = 64;

/// Rows of `[[print.allow]]`.
const ALLOW: &[Param] = &[
    Param {
        key: "check",
        kind: Kind::Text { max_len: MAX_NAME, default: Default::Required },
        doc: "The check whose errors may pass, as reports name it: wall, gap, fit ...",
    },
    Param {
        key: "body",
        kind: Kind::Text { max_len: 2 * MAX_NAME, default: Default::Absent },
        doc: "The body that this is for; left out, all bodies of the job.",
    },
    Param {
        key: "reason",
        kind: Kind::Text { max_len: 400, default: Default::Required },
        doc: "Why it may pass; the report prints it.",
    },
];

/// Most allowances in one job. Common practice, no source.
const MAX_ALLOWED: usize = 64;

/// Rows of `[print]`.
pub const PRINT: &[Param] = &[
    Param::component(
        "printer",
        "printers",
        "The printer: least walls, gaps, fits. Measured values beat those of a profile.",
    ),
    Param::component("material", "materials", "The plastic: stiffness, allowed strain, heat."),
    Param::number(
        "chord",
        Unit::Mm,
        (0.001, 0.2),
        "How far a flat facet of the STL may be from the true curve.",
    )
    .or(0.01),
    Param {
        key: "time",
        kind: Kind::Text { max_len: 19, default: Default::Absent },
        doc: "Time stamp for the files, as 2026-03-31T18:00:00; left out, the files say \
              SOURCE_DATE_EPOCH or 1970.",
    },
    Param {
        key: "allow",
        kind: Kind::List { rows: ALLOW, count: (0, MAX_ALLOWED), starts: 0 },
        doc: "Errors of the checks that may pass all the same, each with its reason.",
    },
];

/// Rows that every part has besides those of its kind, for help texts.
pub const PART: &[Param] = &[
    Param {
        key: "kind",
        kind: Kind::Text { max_len: MAX_NAME, default: Default::Required },
        doc: "What kind of part it is; `borewright explain` lists the kinds.",
    },
    Param {
        key: "name",
        kind: Kind::Text { max_len: MAX_NAME, default: Default::Required },
        doc: "Name of the part's files: a-z, 0-9, - and _; each name once in a job.",
    },
    Param {
        key: "cavity",
        kind: Kind::Table { rows: CAVITY, optional: true },
        doc: "The stretch of the job's chassis that the part is made for: what is clear there \
              about the bore's axis, with the way in, stands for the bore.",
    },
];

/// Tables that a job may have besides the handle, the print and the parts.
pub const OPTIONAL_TABLES: &[Param] = &[
    Param {
        key: "chassis",
        kind: Kind::Table { rows: CHASSIS, optional: true },
        doc: "A chassis that somebody else made: every part is held against it.",
    },
    Param {
        key: "card",
        kind: Kind::Table { rows: CARD, optional: true },
        doc: "What the card for the prop's owner says and only its fitter knows.",
    },
];

/// A job that is right: every value allowed, every profile known.
#[derive(Clone, Debug)]
pub struct Job {
    source: Arc<Source>,
    library: Library,
    handle: Handle,
    print: Values,
    chassis: Option<(Values, Arc<Chassis>)>,
    allowed: Vec<Allowance>,
    card: Option<Values>,
    parts: Vec<Part>,
}

/// One part that a job asks for.
#[derive(Clone, Debug)]
pub struct Part {
    kind: &'static PartKind,
    name: String,
    values: Values,
    cavity: Option<InCavity>,
}

impl Part {
    /// The cavity of the job's chassis that it is made for.
    pub fn cavity(&self) -> Option<&Cavity> {
        self.cavity.as_ref().map(|(cavity, _)| cavity)
    }

    /// Its kind.
    pub fn kind(&self) -> &'static PartKind {
        self.kind
    }

    /// Its name: that of its first body's files.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Values of the kind's rows.
    pub fn values(&self) -> &Values {
        &self.values
    }
}

impl Job {
    /// Reads a job against the known kinds of parts and profiles.
    ///
    /// # Errors
    /// All that is wrong, in the order in which it is written.
    pub fn read(
        source: &Arc<Source>,
        library: Library,
        kinds: &'static [PartKind],
    ) -> Result<Self, Faults> {
        Job::read_beside(source, library, kinds, &no_files)
    }

    /// The same for a job that lies in a folder: `files` gives what files it
    /// names, see [`beside`].
    ///
    /// # Errors
    /// All that is wrong, in the order in which it is written.
    pub fn read_beside(
        source: &Arc<Source>,
        library: Library,
        kinds: &'static [PartKind],
        files: &ReadFile<'_>,
    ) -> Result<Self, Faults> {
        let mut faults = Faults::default();
        let document = parse(source, &mut faults);
        if !faults.is_empty() {
            // What follows a mistake in the syntax is read by guesswork.
            return Err(faults);
        }
        let mut reader = Reader { source, library: &library, faults: &mut faults, files };
        let top = document.get_ref();
        for (key, _) in top.iter() {
            const KNOWN: [&str; 6] = ["format", "handle", "print", "chassis", "card", "part"];
            if !KNOWN.contains(&&**key.get_ref()) {
                reader.unknown_key(key, "", KNOWN.into_iter(), None);
            }
        }
        read_format(&mut reader, top.get("format"));
        let handle = section(&mut reader, top, "handle", HANDLE).and_then(|values| {
            let kept = values.clone();
            let made = made_to(&values).and_then(|limits| Handle::new(values, limits));
            made.map_err(|conflict| note(&mut reader, &kept, conflict)).ok()
        });
        let print = section(&mut reader, top, "print", PRINT).filter(|values| {
            match values.maybe_text("time").filter(|text| !time::is_stamp(text)) {
                None => true,
                Some(text) => {
                    let reason = format!("{text} is no time stamp as 2026-03-31T18:00:00");
                    note(&mut reader, values, Conflict { key: "time", reason });
                    false
                }
            }
        });
        let allowed = print.as_ref().map_or_else(Vec::new, |p| read_allowed(&mut reader, p));
        let card = top.get("card").and_then(|_| section(&mut reader, top, "card", CARD));
        let chassis = chassis::read(&mut reader, top);
        let around = (chassis.as_ref().map(|(_, chassis)| &**chassis), handle.as_ref());
        let parts = read_parts(&mut reader, top.get("part"), kinds, around);
        let read = handle.zip(print).map(|(handle, print)| (handle, print, parts));
        let (handle, print, parts) = faults.or_value(read)?;
        Ok(Self { source: source.clone(), library, handle, print, chassis, allowed, card, parts })
    }

    /// The text that the job was read from.
    pub fn source(&self) -> &Arc<Source> {
        &self.source
    }

    /// The profiles that it was read against.
    pub fn library(&self) -> &Library {
        &self.library
    }

    /// The handle.
    pub fn handle(&self) -> &Handle {
        &self.handle
    }

    /// Values of [`PRINT`].
    pub fn print(&self) -> &Values {
        &self.print
    }

    /// The chassis of somebody else that the parts go into, if there is one.
    pub fn chassis(&self) -> Option<&Arc<Chassis>> {
        self.chassis.as_ref().map(|(_, chassis)| chassis)
    }

    /// Values of [`CHASSIS`], if the job has a chassis.
    pub fn chassis_values(&self) -> Option<&Values> {
        self.chassis.as_ref().map(|(values, _)| values)
    }

    /// Errors of the checks that may pass.
    pub fn allowed(&self) -> &[Allowance] {
        &self.allowed
    }

    /// Values of [`CARD`], if the job has that table.
    pub fn card(&self) -> Option<&Values> {
        self.card.as_ref()
    }

    /// The parts, in the order of the file.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// What one of its parts is made with, besides its own values.
    pub fn context<'a>(&'a self, part: &'a Part) -> PartContext<'a> {
        PartContext {
            name: part.name(),
            handle: part.cavity.as_ref().map_or(self.handle(), |(_, handle)| handle),
            printer: self.print.component("printer"),
            material: self.print.component("material"),
            chord: self.chord(),
            library: self.library(),
            cavity: part.cavity(),
            chassis: self.chassis(),
            made: &[],
        }
    }

    /// Chord tolerance of meshes, mm.
    pub fn chord(&self) -> f64 {
        self.print.number("chord")
    }

    /// Time stamp of the files, `YYYY-MM-DDThh:mm:ss`: the job's own, else that
    /// of `epoch`, the text of `SOURCE_DATE_EPOCH`, else that of 1970.
    ///
    /// # Errors
    /// [`BadEpoch`] if `epoch` is needed and is no number of seconds.
    pub fn time_stamp(&self, epoch: Option<&str>) -> Result<String, BadEpoch> {
        match self.print.maybe_text("time") {
            Some(text) => Ok(text.to_owned()),
            None => time::epoch_stamp(epoch),
        }
    }
}

fn note(reader: &mut Reader<'_>, values: &Values, conflict: Conflict) {
    let what = What::Conflict { reason: conflict.reason };
    let fault = Fault::new(what, values.path_of(conflict.key)).at(values.place(conflict.key));
    reader.faults.push(fault);
}

fn read_format(reader: &mut Reader<'_>, value: Option<&Spanned<DeValue<'_>>>) {
    let hint = format!("write `format = {FORMAT}` as the first line");
    let Some(value) = value else {
        let what = What::Missing { expected: "the format of the file".into() };
        let start = Place::new(reader.source, 0..0);
        reader.faults.push(Fault::new(what, "format").at(start).hint(hint));
        return;
    };
    let known = value.get_ref().as_integer().is_some_and(|v| v.as_str() == FORMAT.to_string());
    if !known {
        let place = reader.place(value);
        let reason =
            format!("format {} is not known here", crate::measure::quoted(place.written()));
        let fault = Fault::new(What::Conflict { reason }, "format").at(place).hint(hint);
        reader.faults.push(fault.hint("a higher format needs a newer borewright"));
    }
}

/// A table of the top, which must be there.
fn section(
    reader: &mut Reader<'_>,
    top: &DeTable<'_>,
    key: &'static str,
    rows: &'static [Param],
) -> Option<Values> {
    let missing = |reader: &mut Reader<'_>, place| {
        let required = rows.iter().filter(|row| row.required()).map(|row| row.key);
        let required: Vec<&str> = required.collect();
        let what = What::Missing { expected: format!("a table [{key}]") };
        let hint = format!("[{key}] needs {}", required.join(", "));
        reader.faults.push(Fault::new(what, key).at(place).hint(hint));
    };
    let Some(value) = top.get(key) else {
        let end = reader.source.text().trim_end().len();
        missing(reader, Place::new(reader.source, end..end));
        return None;
    };
    let place = reader.place(value);
    match value.get_ref() {
        DeValue::Table(table) => reader.table(table, place, rows, key, &[]),
        _ => {
            missing(reader, place);
            None
        }
    }
}

/// Limits of the bore's size, mm, if it is made to a tolerance class of ISO 286.
fn made_to(handle: &Values) -> Result<Option<(f64, f64)>, Conflict> {
    let Some(class) = handle.maybe_text("bore_class") else { return Ok(None) };
    let conflict = |reason| Conflict { key: "bore_class", reason };
    let [size] = handle.numbers("bore") else {
        return Err(conflict(format!(
            "bore holds {} readings; with a tolerance class it is the nominal size alone",
            handle.numbers("bore").len()
        )));
    };
    let limits = fits_iso286::limits(*size, class)
        .map_err(|error| conflict(format!("{error}; {}", error.hint())))?;
    if limits.letter.chars().any(char::is_lowercase) {
        let reason = format!("{class} is a class of shafts; that of a bore begins as H7 does");
        return Err(conflict(reason));
    }
    Ok(Some((limits.size_low_mm, limits.size_high_mm)))
}

fn read_allowed(reader: &mut Reader<'_>, print: &Values) -> Vec<Allowance> {
    let mut allowed = Vec::new();
    for values in print.list("allow") {
        let (check, reason) = (values.text("check"), values.text("reason"));
        match Allowance::new(check, values.maybe_text("body"), reason) {
            Ok(allowance) => allowed.push(allowance),
            Err(bad) => {
                let (key, hints) = match &bad {
                    BadAllowance::UnknownCheck { hints, .. } => ("check", hints.clone()),
                    BadAllowance::NoReason { .. } => {
                        ("reason", vec!["write what you saw: \"held on a test print\"".to_owned()])
                    }
                };
                let what = What::Conflict { reason: bad.to_string() };
                let mut fault = Fault::new(what, values.path_of(key)).at(values.place(key));
                fault.hints = hints;
                reader.faults.push(fault);
            }
        }
    }
    allowed
}
