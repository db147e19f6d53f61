//! After a test print of a job's own parts: what was read and how it sat becomes other
//! values of the job's printer, and is kept beside the job.

mod changes;
mod history;

use std::collections::BTreeSet;
use std::fmt::Write;
use std::path::Path;
use std::sync::Arc;

use super::coupon::{ReadSize, read_sizes};
use super::drawing::{Size, sizes as drawn_sizes};
use super::fingerprint::digest;
use super::{FORMAT, Job, Made, MadeBody, note, read_format, upright};
use crate::correct::Sat;
use crate::measure::{
    Axis, Conflict, Default, Faults, Kind, MAX_NAME, Measured, Param, Place, Reader, Reading,
    Source, Unit, Values, Vec3, no_files, number, or_list, parse, toml_string, wrapped,
};
use crate::parts::{Computed, OUTSIDE};

pub use changes::{Change, MadeUpBy, changes, with_changes};
pub use history::{History, Print, PrintSat, PrintSize};

/// Longest line of the file, characters.
const WIDTH: usize = 88;
/// Most sizes, parts that sat, and readings of one size. Common practice, no source.
const MOST: usize = 200;
const MOST_READINGS: usize = 100;
/// Largest size that is read, mm.
const LARGEST: f64 = 2000.0;
/// A reading further from the size as drawn than this, mm and as a share of it, is a slip
/// of the pen. Common practice, no source.
const SLIP: (f64, f64) = (1.5, 0.05);
/// Decimals of the printer's values: a micrometre.
const DECIMALS: f64 = 1000.0;
const TEXT: &str = "a String takes any text";

const SIZE: &[Param] = &[
    Param {
        key: "body",
        kind: Kind::Text { max_len: 2 * MAX_NAME, default: Default::Required },
        doc: "The body that was read, as its files are named.",
    },
    Param {
        key: "key",
        kind: Kind::Text { max_len: MAX_NAME, default: Default::Required },
        doc: "The size, by its key in report.json.",
    },
    Param {
        key: "readings",
        kind: Kind::Numbers {
            unit: Unit::Mm,
            min: 0.0,
            max: LARGEST,
            count: (1, MOST_READINGS),
            optional: false,
        },
        doc: "What the caliper said, each time at another place.",
    },
];

const SAT: &[Param] = &[
    Param {
        key: "body",
        kind: Kind::Text { max_len: 2 * MAX_NAME, default: Default::Required },
        doc: "The body that was tried in the bore.",
    },
    Param::choice("how", Sat::WORDS, "How it sat, for the fit that its part asks for."),
];

/// Rows of the file of a test print, besides its format.
pub const AFTER_PRINT: &[Param] = &[
    Param::number("caliper", Unit::Mm, (0.0, 0.5), "Limit of error of the caliper, either way.")
        .or(0.02),
    Param {
        key: "size",
        kind: Kind::List { rows: SIZE, count: (0, MOST), starts: 0 },
        doc: "Each size that was read.",
    },
    Param {
        key: "sat",
        kind: Kind::List { rows: SAT, count: (0, MOST), starts: 0 },
        doc: "Each body that was tried.",
    },
];

/// Name of the file with a job's readings, and of that with its history.
pub fn after_print_names(job: &Path) -> [String; 2] {
    let stem = job.file_stem().unwrap_or_default().to_string_lossy();
    [format!("{stem}-measured.toml"), format!("{stem}-history.json")]
}

/// The sizes that can be read of bodies as they were printed: what is round is across x
/// and y of the printer only where the body stands along the bore.
fn standing(made: &[Made]) -> Vec<ReadSize<'_>> {
    let upright = |size: &ReadSize<'_>| size.body.up().cross(&Vec3::z()).norm() < UPRIGHT_EPSILON;
    let sizes = read_sizes(made).into_iter();
    let mut all: Vec<ReadSize<'_>> =
        sizes.filter(|size| size.reading.axis.is_some() || upright(size)).collect();
    for body in made.iter().flat_map(|part| &part.bodies) {
        let known: BTreeSet<&str> = all
            .iter()
            .filter(|s| s.body.body.name == body.body.name)
            .map(|s| s.computed.key.as_str())
            .collect();
        let more: Vec<ReadSize<'_>> = straight(body)
            .into_iter()
            .filter(|s| !known.contains(s.computed.key.as_str()))
            .collect();
        all.extend(more);
    }
    all
}

/// The sizes of a body that its drawing shows and that lie along an axis of the printer:
/// pockets, walls and lengths. What is round is left out, since it lies along two.
fn straight(body: &MadeBody) -> Vec<ReadSize<'_>> {
    let turn = upright(body.up());
    let found = drawn_sizes(body, &body.mesh, Vec3::y()).into_iter();
    let read = |size: Size| {
        let computed = row(body, &size.key)?;
        let along = turn * size.along;
        let axis = Axis::ALL.into_iter().find(|axis| along[*axis as usize].abs() > 1.0 - ALONG)?;
        let (what, jaws) = match size.open {
            true => (Measured::Gap, "inside jaws"),
            false => (Measured::Outside, "jaws"),
        };
        let middle = (size.ends[0] + size.ends[1]) / 2.0;
        let [x, y, z] = [middle.x, middle.y, middle.z].map(|c| number(round(c)));
        let at = format!("{jaws} along {} of the printer, about ({x}, {y}, {z})", axis.word());
        Some(ReadSize { body, computed, reading: Reading { what, axis: Some(axis), at } })
    };
    found.filter(|size| !size.round).filter_map(read).collect()
}

/// How far a direction may be off an axis, as a share of its length: float noise.
const ALONG: f64 = 1e-9;

/// Sine of the angle below which a body stands upright.
const UPRIGHT_EPSILON: f64 = 1e-9;

/// A body that slides in the bore and whose outside can be read, with the word of its
/// part's fit and its clearance as drawn, mm.
fn fit_of(job: &Job, made: &[Made], name: &str) -> Option<(&'static str, f64)> {
    let (part, body) = job.parts().iter().zip(made).find_map(|(part, made)| {
        Some((part, made.bodies.iter().find(|body| body.body.name == name)?))
    })?;
    let outside = row(body, OUTSIDE).is_some_and(|row| row.reading.is_some());
    let clearance = row(body, "fit_clearance")?.value;
    (outside && body.body.in_bore()).then_some((part.values().maybe_choice("fit")?, clearance))
}

fn row<'a>(body: &'a MadeBody, key: &str) -> Option<&'a Computed> {
    body.body.computed.iter().find(|row| row.key == key)
}

/// Bodies of a job that are tried in its bore.
fn tried<'a>(job: &Job, made: &'a [Made]) -> Vec<&'a str> {
    let names = made.iter().flat_map(|part| &part.bodies).map(|b| b.body.name.as_str());
    names.filter(|name| fit_of(job, made, name).is_some()).collect()
}

/// A file to write readings of a test print into.
pub fn after_print_file(job: &Job, made: &[Made]) -> String {
    let mut out = String::new();
    let comment = |out: &mut String, text: &str| out.push_str(&wrapped(text, "# ", "# ", WIDTH));
    comment(
        &mut out,
        "A test print: what the caliper says of it and how it sat. Replace each \"?\"; take out the \
         tables of what you did not read or try. Read before you file or sand anything.",
    );
    writeln!(out, "format = {FORMAT}\ncaliper = 0.02  # its limit of error, either way, mm")
        .expect(TEXT);
    for size in standing(made) {
        let ReadSize { body, computed, reading } = size;
        let nominal = number(round(computed.value));
        out.push('\n');
        let name = &body.body.name;
        comment(&mut out, &format!("{name}, {}, {nominal} mm: {}", computed.what, reading.at));
        let body = toml_string(name);
        writeln!(out, "[[size]]\nbody = {body}\nkey = {}", toml_string(&computed.key)).expect(TEXT);
        writeln!(out, "readings = \"?\"  # one or more, as [{nominal}]").expect(TEXT);
    }
    for name in tried(job, made) {
        out.push('\n');
        let fit = fit_of(job, made, name).map_or("", |(fit, _)| fit);
        comment(&mut out, &format!("how {name} sits in the bore, for a {fit} fit"));
        let words = or_list(Sat::WORDS);
        writeln!(out, "[[sat]]\nbody = {}\nhow = \"?\"  # {words}", toml_string(name)).expect(TEXT);
    }
    out
}

/// Reads a filled-in file against the job and its made parts.
///
/// # Errors
/// All that is wrong, with its lines.
pub fn read_after_print(source: &Arc<Source>, job: &Job, made: &[Made]) -> Result<Print, Faults> {
    let mut faults = Faults::default();
    let document = parse(source, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let library = job.library();
    let mut reader = Reader { source, library, faults: &mut faults, files: &no_files };
    let top = document.get_ref();
    read_format(&mut reader, top.get("format"));
    let values = reader.table(top, Place::new(source, 0..0), AFTER_PRINT, "", &["format"]);
    let read = values.map(|values| {
        let sizes = sizes(&mut reader, &values, made);
        let sat = sat(&mut reader, &values, job, made, &sizes);
        if values.list("size").is_empty() && values.list("sat").is_empty() {
            let reason = "neither a [[size]] nor a [[sat]] is filled in".to_owned();
            note(&mut reader, &values, Conflict { key: "size", reason });
        }
        print(source, job, values.number("caliper"), sizes, sat)
    });
    faults.or_value(read)
}

fn print(
    source: &Source,
    job: &Job,
    caliper: f64,
    sizes: Vec<PrintSize>,
    sat: Vec<PrintSat>,
) -> Print {
    let printer = job.print().component("printer");
    let [printer_name, material] = ["printer", "material"]
        .map(|key| job.print().component(key).profile().unwrap_or("own").to_owned());
    Print {
        digest: digest(source.text().as_bytes()),
        printer: printer_name,
        material,
        growth: printer.number("growth"),
        scales: Axis::ALL.map(|axis| printer.number(&format!("scale_{}", axis.word()))),
        holes_drawn: printer.number("hole_shrink") > 0.0,
        caliper,
        sizes,
        sat,
    }
}

fn sizes(reader: &mut Reader<'_>, values: &Values, made: &[Made]) -> Vec<PrintSize> {
    let known = standing(made);
    let mut sizes = Vec::new();
    for row in values.list("size") {
        let (body, key) = (row.text("body"), row.text("key"));
        let found = known.iter().find(|s| s.body.body.name == body && s.computed.key == key);
        let Some(size) = found else {
            let of_body = known.iter().filter(|s| s.body.body.name == body);
            let keys: Vec<&str> = of_body.map(|s| s.computed.key.as_str()).collect();
            let names = known.iter().map(|s| s.body.body.name.as_str());
            let (at, reason) = if keys.is_empty() {
                let names: Vec<&str> = names.collect::<BTreeSet<_>>().into_iter().collect();
                let reason =
                    format!("no size of a body {body} can be read; of {}", or_list(&names));
                ("body", reason)
            } else {
                ("key", format!("{body} has no size {key} to be read; it has {}", or_list(&keys)))
            };
            note(reader, row, Conflict { key: at, reason });
            continue;
        };
        let (nominal, readings) = (size.computed.value, row.numbers("readings"));
        let room = SLIP.0 + SLIP.1 * nominal;
        if let Some(far) = readings.iter().find(|r| (**r - nominal).abs() > room) {
            let [far, nominal, room] = [*far, round(nominal), round(room)].map(number);
            let reason = format!(
                "{far} mm is more than {room} mm from the {nominal} mm drawn: a slip of the pen?"
            );
            note(reader, row, Conflict { key: "readings", reason });
            continue;
        }
        sizes.push(PrintSize {
            body: body.to_owned(),
            key: key.to_owned(),
            what: size.reading.what.word().to_owned(),
            axis: size.reading.axis.map(|axis| axis.word().to_owned()),
            nominal,
            readings: readings.to_vec(),
        });
    }
    sizes
}

fn sat(
    reader: &mut Reader<'_>,
    values: &Values,
    job: &Job,
    made: &[Made],
    sizes: &[PrintSize],
) -> Vec<PrintSat> {
    let mut all = Vec::new();
    for row in values.list("sat") {
        let name = row.text("body");
        let Some((fit, drawn)) = fit_of(job, made, name) else {
            let known = tried(job, made);
            let reason = format!("{name} is not tried in the bore; {} are", known.join(", "));
            note(reader, row, Conflict { key: "body", reason });
            continue;
        };
        let outside = sizes.iter().find(|s| s.body == name && s.key == OUTSIDE);
        let more = outside.map_or(0.0, |size| mean(&size.readings) - size.nominal);
        all.push(PrintSat {
            body: name.to_owned(),
            how: Sat::of(row.choice("how")).expect("a word of the row"),
            fit: fit.to_owned(),
            clearance: drawn - more,
            drawn,
            read: outside.is_some(),
        });
    }
    all
}

fn mean(readings: &[f64]) -> f64 {
    readings.iter().sum::<f64>() / readings.len() as f64
}

fn round(value: f64) -> f64 {
    (value * DECIMALS).round() / DECIMALS
}
