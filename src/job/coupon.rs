//! Test pieces as a job, and the texts that go with them: a file for their
//! readings and a guide that says what to read where.

use std::fmt::Write;

use toml_edit::{DocumentMut, Item, Value};

use super::{FORMAT, Job, Made, MadeBody};
use crate::measure::{Measured, Reading, number, toml_string, unit_after, wrapped};
use crate::parts::{Computed, TestPiece};

/// Longest line of the texts, characters.
const WIDTH: usize = 88;
/// Steps in which the guide shows values, by unit.
const SHOWN_PER_UNIT: f64 = 100.0;
/// Bore and length, mm, of the handle in a job whose pieces are for none; no piece
/// shows them.
const NO_HANDLE: (f64, f64) = (30.0, 100.0);

const FITS: &str = "a String takes any text";

/// What test pieces are asked for.
#[derive(Clone, Debug)]
pub struct Coupon<'a> {
    /// The job whose handle, printer and material they are for.
    pub like: Option<&'a Job>,
    /// Diameter of the bore, mm, if no job gives it.
    pub bore: Option<f64>,
    /// Name of the printer's profile; none: the job's.
    pub printer: Option<&'a str>,
    /// Name of the material's profile; none: the job's.
    pub material: Option<&'a str>,
    /// The pieces.
    pub pieces: Vec<&'static TestPiece>,
}

impl Coupon<'_> {
    /// The text of the job that makes the pieces, to be read against
    /// [`crate::parts::TEST_PIECES`].
    pub fn job_text(&self) -> String {
        let mut text = match self.like {
            Some(job) => self.like_text(job),
            None => self.own_text(),
        };
        let keel = self.like.map_or(0.0, deepest_keel);
        for piece in &self.pieces {
            let name = piece.name;
            write!(
                text,
                "\n[[part]]\nkind = \"test_piece\"\nname = \"{name}\"\npiece = \"{name}\"\n"
            )
            .expect(FITS);
            if piece.for_bore && keel > 0.0 {
                writeln!(text, "keel = {}", number(keel)).expect(FITS);
            }
        }
        text
    }

    fn own_text(&self) -> String {
        let text = |name: Option<&str>| toml_string(name.unwrap_or_default());
        let (bore, length) = (self.bore.unwrap_or(NO_HANDLE.0), NO_HANDLE.1);
        let name = if self.bore.is_some() { "a bore to be tried" } else { "none" };
        format!(
            "format = {FORMAT}\n\n[handle]\nname = \"{name}\"\nbore = [{bore}]\nlength = {length}\n\n\
             [print]\nprinter = {}\nmaterial = {}\n",
            text(self.printer),
            text(self.material)
        )
    }

    /// The job without its parts and allowances, with the printer and the material
    /// that are asked for.
    fn like_text(&self, job: &Job) -> String {
        let parsed = job.source().text().parse::<DocumentMut>();
        let mut document = parsed.expect("a job that was read is TOML");
        let others: Vec<String> = document
            .iter()
            .map(|(key, _)| key.to_owned())
            .filter(|key| !["format", "handle", "print"].contains(&key.as_str()))
            .collect();
        others.iter().for_each(|key| drop(document.remove(key)));
        if let Some(print) = document.get_mut("print").and_then(Item::as_table_like_mut) {
            print.remove("allow");
            for (key, name) in [("printer", self.printer), ("material", self.material)] {
                if let Some(name) = name {
                    print.insert(key, toml_edit::value(name));
                }
            }
        }
        document.to_string()
    }
}

/// The deepest keel that a part of the job leaves room for, mm.
fn deepest_keel(job: &Job) -> f64 {
    let parts = job.parts().iter().map(super::Part::values);
    // Not every kind slides over a keel.
    let with = parts.filter(|values| values.rows().iter().any(|row| row.key == "keel"));
    with.filter_map(|values| values.maybe_number("keel")).fold(0.0, f64::max)
}

/// A size of a made body that a caliper can read.
#[derive(Clone, Debug)]
pub struct ReadSize<'a> {
    /// The body.
    pub body: &'a MadeBody,
    /// The size.
    pub computed: &'a Computed,
    /// How it is read.
    pub reading: Reading,
}

/// All sizes of made parts that a caliper can read, in order.
pub fn read_sizes(made: &[Made]) -> Vec<ReadSize<'_>> {
    let bodies = made.iter().flat_map(|part| &part.bodies);
    let rows = bodies.flat_map(|body| body.body.computed.iter().map(move |row| (body, row)));
    rows.filter_map(|(body, row)| ReadSize::of(body, row)).collect()
}

impl<'a> ReadSize<'a> {
    fn of(body: &'a MadeBody, computed: &'a Computed) -> Option<ReadSize<'a>> {
        let reading = computed.reading.clone()?;
        Some(ReadSize { body, computed, reading })
    }

    /// Its name in readings: that of the body and the key in the report.
    pub fn name(&self) -> String {
        format!("{} {}", self.body.body.name, self.computed.key)
    }
}

/// What pieces show besides their sizes: the row of the printer, on which piece, and
/// what to write.
const SEEN: [(&str, &str, &str); 5] = [
    ("fit_press", "comb", "slot that takes the peg with a push: its reading less the peg's"),
    ("fit_slide", "comb", "slot in which the peg slides without play, less the peg"),
    ("fit_loose", "comb", "first slot in which the peg drops by itself, less the peg"),
    ("wall_free", "ladder", "thinnest wall that stands whole"),
    ("overhang", "fan", "steepest lean whose underside is clean, degrees"),
];

/// The file that readings of the pieces are written into: what `correct` reads, with
/// all but the readings filled in.
pub fn readings_file(job: &Job, made: &[Made]) -> String {
    let mut out = String::new();
    let comment = |out: &mut String, text: &str| out.push_str(&wrapped(text, "# ", "# ", WIDTH));
    comment(
        &mut out,
        "Readings of the test pieces. Print them as they lie on their plate, unturned; let them cool; \
         then replace each \"?\" by what the caliper says, two or three readings each time at another \
         place, as [60.02, 60.05]. Take out a [[size]] that you cannot read. Then: borewright correct \
         readings.toml --out own",
    );
    writeln!(out, "format = {FORMAT}\nprinter = {}", printer_text(job)).expect(FITS);
    if let Some(material) = job.print().component("material").profile() {
        writeln!(out, "material = {}", toml_string(material)).expect(FITS);
    }
    writeln!(out, "caliper = 0.02         # its limit of error, either way, mm").expect(FITS);
    writeln!(out, "# date = \"2026-03-31\"  # day of the readings").expect(FITS);
    let has = |piece: &str| made.iter().any(|part| part.name == piece);
    let seen: Vec<_> = SEEN.iter().filter(|(_, piece, _)| has(piece)).collect();
    if !seen.is_empty() {
        out.push('\n');
        comment(
            &mut out,
            "What you saw and tried goes into the profile as you write it; remove the # where you know.",
        );
        for (key, piece, what) in seen {
            writeln!(out, "# {key} = \"?\"  # {piece}: {what}").expect(FITS);
        }
    }
    for size in read_sizes(made) {
        out.push('\n');
        let ReadSize { body, computed, reading } = &size;
        comment(&mut out, &format!("{}: {}", body.body.name, reading.at));
        writeln!(out, "[[size]]\nname = {}", toml_string(&size.name())).expect(FITS);
        writeln!(out, "what = \"{}\"", reading.what.word()).expect(FITS);
        if let Some(axis) = reading.axis {
            writeln!(out, "axis = \"{}\"", axis.word()).expect(FITS);
        }
        writeln!(out, "nominal = {}\nreadings = \"?\"", number(computed.value)).expect(FITS);
    }
    out
}

/// The job's printer as it stands there, on one line.
fn printer_text(job: &Job) -> String {
    let document = job.source().text().parse::<DocumentMut>().ok();
    let item = document.as_ref().and_then(|d| d.get("print")?.get("printer")).cloned();
    let value = item.and_then(|item| item.into_value().ok());
    let bare = |mut value: Value| {
        value.decor_mut().clear();
        value.to_string()
    };
    value.map(bare).expect("a job that was read has a printer")
}

/// The guide to the pieces: how to print them, where the jaws go, what to look at.
pub fn guide(made: &[Made], pieces: &[&'static TestPiece]) -> String {
    let mut out = String::from("Test pieces\n===========\n\n");
    let say = |out: &mut String, text: &str, indent: &str| {
        out.push_str(&wrapped(text, indent, &format!("{indent}  "), WIDTH));
    };
    for text in [PRINTING, READING] {
        out.push_str(&wrapped(text, "", "", WIDTH));
        out.push('\n');
    }
    for piece in pieces {
        let title = format!("{}: {}", piece.name, piece.summary);
        writeln!(out, "{title}\n{}", "-".repeat(title.chars().count())).expect(FITS);
        out.push_str(&wrapped(&format!("Try it: {}", piece.look), "", "", WIDTH));
        let part = made.iter().filter(|part| part.name == piece.name);
        for body in part.flat_map(|part| &part.bodies) {
            let size = body.bounds.1 - body.bounds.0;
            let name = &body.body.name;
            writeln!(out, "\n{name}, {:.1} x {:.1} x {:.1} mm", size.x, size.y, size.z)
                .expect(FITS);
            for row in &body.body.computed {
                let shown = (row.value * SHOWN_PER_UNIT).round() / SHOWN_PER_UNIT;
                let value = format!("{}{}", number(shown), unit_after(row.unit));
                let text = match &row.reading {
                    Some(read) => format!("{}, {value} ({}): {}", row.what, words(read), read.at),
                    None => format!("{}, {value}", row.what),
                };
                say(&mut out, &text, "  ");
            }
        }
        out.push('\n');
    }
    out.push_str(&wrapped(THEN, "", "", WIDTH));
    out
}

const PRINTING: &str = "Print plate-1.3mf and further plates as they are: do not turn or scale a \
    piece, since x and y are told apart, and print without support, at the settings that you use for \
    inserts. If your slicer makes up for size itself, leave that as it will stay. Let the pieces cool \
    on the bed; wash and cure resin through before you touch it without gloves.";
const READING: &str = "Read with clean jaws and little force, each size two or three times, each time \
    at another place. Do not file or sand anything first, not even the edge that lay on the bed.";
const THEN: &str = "Write the readings into readings.toml, then: borewright correct readings.toml \
    --out own. It names readings that do not go with the others and adds a printer of your own. Print \
    the pieces once more with that printer to see what is left.";

fn words(reading: &Reading) -> String {
    let what = match reading.what {
        Measured::Outside => "outside",
        Measured::Gap => "gap",
        Measured::Hole => "hole",
        Measured::FirstLayer => "first layer",
    };
    reading.axis.map_or_else(|| what.to_owned(), |axis| format!("{what} along {}", axis.word()))
}
