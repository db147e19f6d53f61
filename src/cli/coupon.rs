//! `borewright coupon`: test pieces for a printer, and the file for their readings.

use std::collections::BTreeSet;
use std::path::PathBuf;

use super::make::{say_findings, say_messages, table};
use super::table::{write_columns, write_hanging};
use super::{Environment, Exit, Stop, library, read_job, stamp, unknown};
use crate::checks::{Allowance, Tally};
use crate::job::{
    Coupon as Asked, FormatError, Job, Made, NamedBytes, Piece, PlateError, PlateRules, Staged,
    check_made, files as job_files, guide, lay_out, make, plate_files, read_sizes, readings_file,
};
use crate::measure::{Library, Source, Vec2};
use crate::parts::{PIECES, TEST_PIECES, TestPiece};

/// Material where none is named: that of most printers that stand in a workshop.
const MATERIAL: &str = "petg";
/// The file for readings, and the guide.
const READINGS: &str = "readings.toml";
const GUIDE: &str = "coupon.txt";
/// Why errors of a piece that goes to the limit may pass.
const MEANT: &str = "a test piece that goes to the limit of the printer";
/// Longest line of a message, characters.
const WIDTH: usize = 100;

#[derive(Debug, clap::Args)]
pub(super) struct Coupon {
    /// The printer that the pieces are for; the job's unless given
    #[arg(long, value_name = "PROFILE", required_unless_present = "job")]
    printer: Option<String>,
    /// The material; the job's unless given, petg without a job
    #[arg(long, value_name = "PROFILE")]
    material: Option<String>,
    /// A job whose handle the gauge rings are for
    #[arg(long, value_name = "JOB", conflicts_with = "bore")]
    job: Option<PathBuf>,
    /// Diameter of the bore that the gauge rings are for, if there is no job
    #[arg(long, value_name = "MM")]
    bore: Option<f64>,
    /// Only these pieces: angle, bores, comb, gauge, ladder, fan, lip; all unless given
    #[arg(long = "piece", value_name = "PIECE")]
    pieces: Vec<String>,
    /// Folder for the files, made if it is not there
    #[arg(long, value_name = "DIR", default_value = ".")]
    out: PathBuf,
    /// Folder of your own profiles: DIR/printers.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
}

impl Coupon {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<Exit, Stop> {
        let library = library(self.profiles.as_deref(), env)?;
        self.known(&library)?;
        let like = self.job.as_deref().map(|job| read_job(job, self.profiles.as_deref(), env));
        let like = like.transpose()?;
        let pieces = self.pieces(like.is_some())?;
        let asked = Asked {
            like: like.as_ref(),
            bore: self.bore,
            printer: self.printer.as_deref(),
            material: self.material.as_deref().or(like.is_none().then_some(MATERIAL)),
            pieces,
        };
        let source = Source::new("test pieces", asked.job_text())
            .map_err(|error| Stop::bad_input(error.to_string(), []))?;
        let job = Job::read(&source, library, TEST_PIECES)
            .map_err(|faults| Stop::Faults(faults, Exit::BadInput))?;
        let stamp = stamp(&job, env)?;
        self.keep_readings()?;
        let mut made = make(&job)?;
        let allowed = meant(&asked.pieces, &made);
        check_made(&job, &mut made, &allowed);
        let files = files(&job, &made, &asked.pieces, &stamp)?;
        let mut staged = Staged::new(&self.out)?;
        for (name, bytes) in &files {
            staged.write(name, bytes)?;
        }
        staged.commit()?;
        self.say(&job, &made, env)
    }

    /// Names that no profile has are refused here, since no file of the person's
    /// has a line to point at.
    fn known(&self, library: &Library) -> Result<(), Stop> {
        for (of, family, name) in
            [("printer", "printers", &self.printer), ("material", "materials", &self.material)]
        {
            if let Some(name) = name
                && library.profile(family, name).is_none()
            {
                let known: Vec<&str> = library.names(family).collect();
                return Err(unknown(of, name, &known));
            }
        }
        Ok(())
    }

    fn pieces(&self, has_job: bool) -> Result<Vec<&'static TestPiece>, Stop> {
        let has_bore = has_job || self.bore.is_some();
        let names: Vec<&str> = PIECES.iter().map(|piece| piece.name).collect();
        for name in &self.pieces {
            let piece = PIECES.iter().find(|piece| piece.name == name);
            let piece = piece.ok_or_else(|| unknown("test piece", name, &names))?;
            if piece.for_bore && !has_bore {
                let what = format!("the piece {name} is made for a bore, and none is given");
                let hint = "give --job JOB, or --bore with its diameter in mm";
                return Err(Stop::bad_input(what, [hint.to_owned()]));
            }
        }
        let wanted = |piece: &&TestPiece| match self.pieces.as_slice() {
            [] => has_bore || !piece.for_bore,
            named => named.iter().any(|name| name == piece.name),
        };
        Ok(PIECES.iter().filter(wanted).collect())
    }

    /// Readings that may be filled in are never overwritten.
    fn keep_readings(&self) -> Result<(), Stop> {
        let path = self.out.join(READINGS);
        if !path.exists() {
            return Ok(());
        }
        let what = format!("{} is there already and may hold readings", path.display());
        let hints = ["give another --out, or move that file away".to_owned()];
        Err(Stop::bad_input(what, hints))
    }

    fn say(&self, job: &Job, made: &[Made], env: &mut Environment<'_>) -> Result<Exit, Stop> {
        write_columns(env.out, &table(made))?;
        let bodies = || made.iter().flat_map(|part| &part.bodies);
        let mut told = BTreeSet::new();
        for body in bodies() {
            say_findings(body, &mut told, env.out)?;
        }
        say_messages(bodies(), env)?;
        let findings = bodies().filter_map(|b| b.checked.as_ref()).flat_map(|c| &c.findings);
        let tally = Tally::of(findings);
        let printer = job.print().component("printer").profile().unwrap_or("this printer");
        let out = |name| self.out.join(name).display().to_string();
        writeln!(env.out, "\n{} sizes to read, on {printer}: {tally}", read_sizes(made).len())?;
        let text = format!(
            "print {} and further plates unturned; {} says where the caliper goes; write what it says \
             into {}",
            out("plate-1.3mf"),
            out(GUIDE),
            out(READINGS)
        );
        write_hanging(env.out, &text, WIDTH)?;
        Ok(if tally.errors > 0 { Exit::CannotBeMade } else { Exit::Made })
    }
}

/// Allowances for pieces that are meant to fail in part.
fn meant(pieces: &[&TestPiece], made: &[Made]) -> Vec<Allowance> {
    let mut allowed = Vec::new();
    for part in made {
        let beyond = pieces.iter().find(|p| p.name == part.name).map_or(&[][..], |p| p.beyond);
        for (check, body) in beyond.iter().flat_map(|c| part.bodies.iter().map(move |b| (c, b))) {
            allowed.extend(Allowance::new(check, Some(&body.body.name), MEANT));
        }
    }
    allowed
}

fn files(
    job: &Job,
    made: &[Made],
    pieces: &[&'static TestPiece],
    stamp: &str,
) -> Result<Vec<NamedBytes>, Stop> {
    let mut files = job_files(job, made, stamp).map_err(|error| unwritten(&error))?;
    files.extend(plates(job, made)?);
    files.push((READINGS.to_owned(), readings_file(job, made).into_bytes()));
    files.push((GUIDE.to_owned(), guide(made, pieces).into_bytes()));
    Ok(files)
}

/// All pieces on plates, none turned: x and y must stay what they are.
fn plates(job: &Job, made: &[Made]) -> Result<Vec<NamedBytes>, Stop> {
    let printer = job.print().component("printer");
    let bed = Vec2::new(printer.number("bed_x"), printer.number("bed_y"));
    let rules = PlateRules { turns: 1, ..PlateRules::new(bed, printer.number("bed_z")) };
    let bodies = made.iter().flat_map(|part| &part.bodies);
    let pieces: Vec<Piece<'_>> = bodies
        .map(|body| Piece {
            name: &body.body.name,
            mesh: body.to_print().0,
            up: body.up(),
            stretch: body.stretch(),
            copies: 1,
        })
        .collect();
    let mut files = Vec::new();
    for (i, plate) in lay_out(&pieces, &rules).map_err(|e| off_the_bed(&e))?.iter().enumerate() {
        let name = format!("plate-{}", i + 1);
        let title = format!("{name}: test pieces, {}", printer.profile().unwrap_or("own printer"));
        let application = concat!("borewright ", env!("CARGO_PKG_VERSION")).to_owned();
        let metadata = vec![("Title", title), ("Application", application)];
        files.extend(
            plate_files(&pieces, plate, rules.bed, &name, metadata).map_err(|e| unwritten(&e))?,
        );
    }
    Ok(files)
}

fn unwritten(error: &FormatError) -> Stop {
    let hints = vec!["leave that piece out: name the others with --piece".to_owned()];
    Stop::Other { exit: Exit::CannotBeMade, what: error.to_string(), hints }
}

fn off_the_bed(error: &PlateError) -> Stop {
    let hints = vec!["leave that piece out: name the others with --piece".to_owned()];
    Stop::Other { exit: Exit::CannotBeMade, what: error.to_string(), hints }
}
