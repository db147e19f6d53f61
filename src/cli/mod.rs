//! The command line: reads arguments, calls the library, prints.

mod batch;
mod card;
mod check;
mod correct;
mod coupon;
mod drawing;
mod explain;
mod findings;
mod fit_report;
mod guard;
mod inline;
mod layout;
mod make;
mod mesh_file;
mod new;
mod picture;
mod plate;
mod profiles;
mod serve;
mod survey;
mod table;
mod work;
mod worksheet;

use std::ffi::OsString;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::{CommandFactory, Parser, Subcommand};

use crate::job::{Job, MakeError, StagedError, beside};
use crate::measure::{FAMILIES, Faults, Library, Source, What, did_you_mean, render};
use crate::parts::PartKind;

pub use guard::guarded;

/// How a run ended. The numbers are part of the interface; `--help` lists them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done as asked.
    Made,
    /// A fault of the program.
    Internal,
    /// Something that was given is wrong: the job, a profile, an argument, a path.
    BadInput,
    /// All is well-formed, but a part cannot be made so.
    CannotBeMade,
}

impl Exit {
    /// The exit code.
    pub fn code(self) -> u8 {
        match self {
            Exit::Made => 0,
            Exit::Internal => 1,
            Exit::BadInput => 2,
            Exit::CannotBeMade => 3,
        }
    }
}

/// What a run needs from outside, so that tests can give it.
pub struct Environment<'a> {
    /// Kinds of parts that jobs may ask for.
    pub kinds: &'static [PartKind],
    /// Results.
    pub out: &'a mut dyn Write,
    /// Everything else.
    pub err: &'a mut dyn Write,
    /// Whether `err` takes colour.
    pub colour: bool,
    /// A folder of own profiles (`BOREWRIGHT_PROFILES`).
    pub profiles: Option<PathBuf>,
    /// Seconds since 1970 for time stamps (`SOURCE_DATE_EPOCH`).
    pub epoch: Option<String>,
}

const AFTER_HELP: &str = "\
First steps:
  borewright new --part crystal_cradle rod.toml   write a commented job file
  (fill in what your caliper says, in any text editor)
  borewright make rod.toml --out prints           make its parts

Without a terminal:    borewright serve
What to measure:       borewright worksheet crystal_cradle
What keys mean:        borewright explain crystal_cradle
What is known by name: borewright profiles cells
Will a mesh print:     borewright check rod.stl --printer fdm-medium --material petg
What fits a chassis:   borewright survey chassis.stl
The trade's sums:      borewright work leaf-contact
On paper, with sizes:  borewright drawing rod.toml
For the prop's owner:  borewright card rod.toml
What a printer does:   borewright coupon --printer fdm-medium --out pieces
What test prints say:  borewright correct pieces/readings.toml
How the parts sit:     borewright fit-report rod.toml

Exit codes:
  0  made
  1  internal fault of borewright
  2  bad input: the job, a profile, an argument or a path
  3  cannot be made as asked, or a check found errors that are not allowed

Environment:
  BOREWRIGHT_PROFILES  folder of your own profiles, unless --profiles is given
  SOURCE_DATE_EPOCH    time stamp of the files, seconds since 1970
  NO_COLOR             no colour in messages

Li-ion cells can burn when shorted, crushed or heated: follow the cell maker's data sheet.";

/// Measured bore in, exact and printable inserts out.
///
/// borewright reads a job file (caliper readings of a hollow prop handle, its
/// components and the inserts to make) and writes print files for each insert.
#[derive(Debug, Parser)]
#[command(name = "borewright", version, after_help = AFTER_HELP, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Make the parts of a job file
    Make(make::Make),
    /// Check meshes against what a printer holds: walls, gaps, overhangs ...
    Check(check::Check),
    /// Measure a chassis mesh: outside, cavities, what fits into them
    Survey(survey::Survey),
    /// Make many job files, or variants of one, on all cores
    Batch(batch::Batch),
    /// Lay the bodies of job files out on the printer's bed: 3MF, STL, picture
    Plate(plate::Plate),
    /// Propose an order and places along the bore for the modules of a job
    Layout(layout::Layout),
    /// Draw the parts of job files: a PNG, or in the terminal
    Picture(picture::Picture),
    /// Draw the parts with their dimensions, to check prints with a caliper: SVG and PDF
    Drawing(drawing::Drawing),
    /// Write the card that goes with the prop to its owner: SVG and PDF
    Card(card::Card),
    /// Make test pieces for a printer, and a file to write their readings into
    Coupon(coupon::Coupon),
    /// Work out what a printer does to sizes, from readings of test prints
    Correct(correct::Correct),
    /// Open the bench page in a browser: write, see and make jobs there
    Serve(serve::Serve),
    /// Build for the page of `serve`
    #[command(hide = true)]
    BuildForPage(serve::BuildForPage),
    /// After a test print of a job: what was read and how it sat, and what that changes
    FitReport(fit_report::FitReport),
    /// Write a commented job file to start from
    New(new::New),
    /// Print what to measure, with boxes to fill; of a job, what would help most
    Worksheet(worksheet::Worksheet),
    /// List what is known by name: cells, switches, pixels, printers ...
    Profiles(profiles::Profiles),
    /// Say what the keys of a part, of [handle], of [print] or of a profile mean
    Explain(explain::Explain),
    /// Work out one calculation of the trade, step by step
    Work(work::Work),
    /// Print a completion script for a shell
    Completions {
        /// The shell to complete for
        shell: clap_complete::Shell,
    },
}

/// Why a command ended early.
enum Stop {
    /// Faults of a text, shown with their lines.
    Faults(Faults, Exit),
    /// Another reason: what, and hints.
    Other { exit: Exit, what: String, hints: Vec<String> },
    /// Results or messages cannot be written.
    Output(io::Error),
}

impl Stop {
    fn bad_input(what: impl Into<String>, hints: impl IntoIterator<Item = String>) -> Self {
        Self::Other { exit: Exit::BadInput, what: what.into(), hints: hints.into_iter().collect() }
    }
}

impl From<StagedError> for Stop {
    fn from(error: StagedError) -> Self {
        let hint = "--out names a folder to write to, or a file in one";
        Self::bad_input(error.to_string(), [hint.to_owned()])
    }
}

impl From<MakeError> for Stop {
    fn from(MakeError(faults): MakeError) -> Self {
        Self::Faults(faults, Exit::CannotBeMade)
    }
}

impl From<io::Error> for Stop {
    fn from(error: io::Error) -> Self {
        Self::Output(error)
    }
}

/// Runs one command line, program name first.
pub fn run(arguments: impl IntoIterator<Item = OsString>, env: &mut Environment<'_>) -> Exit {
    let (mut out, mut err) = (Heard(&mut *env.out), Heard(&mut *env.err));
    let mut env = Environment {
        kinds: env.kinds,
        out: &mut out,
        err: &mut err,
        colour: env.colour,
        profiles: env.profiles.clone(),
        epoch: env.epoch.clone(),
    };
    match dispatch(arguments, &mut env) {
        Ok(exit) => exit,
        Err(stop) => say(stop, &mut env),
    }
}

/// What is written while somebody reads it. A reader that has gone away (`| head`) wants no
/// more, which neither stops the work nor changes its exit code.
struct Heard<'a>(&'a mut dyn Write);

impl Heard<'_> {
    fn unheard<T>(result: io::Result<T>, done: T) -> io::Result<T> {
        match result {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(done),
            other => other,
        }
    }
}

impl Write for Heard<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        Self::unheard(self.0.write(bytes), bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Self::unheard(self.0.flush(), ())
    }
}

fn dispatch(
    arguments: impl IntoIterator<Item = OsString>,
    env: &mut Environment<'_>,
) -> Result<Exit, Stop> {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version are asked for, so they are results.
            if error.use_stderr() {
                let text = error.render();
                if env.colour {
                    write!(env.err, "{}", text.ansi())?;
                } else {
                    write!(env.err, "{text}")?;
                }
                return Ok(Exit::BadInput);
            }
            write!(env.out, "{}", error.render())?;
            return Ok(Exit::Made);
        }
    };
    match arguments.command {
        Command::Make(command) => {
            let exit = command.run(env)?;
            env.out.flush()?;
            return Ok(exit);
        }
        Command::Batch(command) => {
            let exit = command.run(env)?;
            env.out.flush()?;
            return Ok(exit);
        }
        Command::Check(command) => {
            let exit = command.run(env)?;
            env.out.flush()?;
            return Ok(exit);
        }
        Command::Survey(command) => command.run(env)?,
        Command::Correct(command) => {
            let exit = command.run(env)?;
            env.out.flush()?;
            return Ok(exit);
        }
        Command::Coupon(command) => {
            let exit = command.run(env)?;
            env.out.flush()?;
            return Ok(exit);
        }
        Command::Plate(command) => command.run(env)?,
        Command::Layout(command) => {
            let exit = command.run(env)?;
            env.out.flush()?;
            return Ok(exit);
        }
        Command::FitReport(command) => command.run(env)?,
        Command::Picture(command) => command.run(env)?,
        Command::Serve(command) => command.run(env)?,
        Command::BuildForPage(command) => command.run(env)?,
        Command::Drawing(command) => command.run(env)?,
        Command::Card(command) => command.run(env)?,
        Command::New(command) => command.run(env)?,
        Command::Worksheet(command) => command.run(env)?,
        Command::Profiles(command) => command.run(env)?,
        Command::Explain(command) => command.run(env)?,
        Command::Work(command) => command.run(env)?,
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Arguments::command(), "borewright", &mut script);
            env.out.write_all(&script)?;
        }
    }
    env.out.flush()?;
    Ok(Exit::Made)
}

/// Says why a run stopped.
fn say(stop: Stop, env: &mut Environment<'_>) -> Exit {
    let (exit, text) = match stop {
        Stop::Faults(faults, exit) => (exit, render(&faults, env.colour)),
        Stop::Other { exit, what, hints } => {
            let mut text = format!("error: {what}\n");
            for (i, hint) in hints.iter().enumerate() {
                let gap = if i == 0 { "\n" } else { "" };
                text.push_str(&format!("{gap}hint: {hint}\n"));
            }
            (exit, text)
        }
        Stop::Output(error) => (Exit::BadInput, format!("error: cannot write results: {error}\n")),
    };
    // If the messages cannot be written either, the exit code still tells.
    let _ = env.err.write_all(text.as_bytes());
    exit
}

/// The folder of a file to write, and its name there; none of a path that ends in no name.
fn file_in(path: &Path) -> Option<(&Path, String)> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let name = path.file_name()?.to_string_lossy().into_owned();
    Some((folder.unwrap_or(Path::new(".")), name))
}

/// The same of a path that must name a file.
fn named_file(path: &Path) -> Result<(&Path, String), Stop> {
    file_in(path).ok_or_else(|| {
        let what = format!("{} is no name for a file", path.display());
        Stop::bad_input(what, ["give the path of a file".to_owned()])
    })
}

/// The time stamp of a job's files.
fn stamp(job: &Job, env: &Environment<'_>) -> Result<String, Stop> {
    job.time_stamp(env.epoch.as_deref()).map_err(|error| {
        let hint = "leave it out, or give whole seconds, as `date +%s` prints them";
        Stop::bad_input(error.to_string(), [hint.to_owned()])
    })
}

/// Reads and validates the job that the person named.
fn read_job(path: &Path, profiles: Option<&Path>, env: &Environment<'_>) -> Result<Job, Stop> {
    let library = library(profiles, env)?;
    let source = read_file(path)?;
    let files = beside(path.parent().unwrap_or(Path::new("")));
    Job::read_beside(&source, library, env.kinds, &files)
        .map_err(|faults| Stop::Faults(faults, Exit::BadInput))
}

/// Reads a file that the person named.
fn read_file(path: &Path) -> Result<std::sync::Arc<Source>, Stop> {
    let bytes = read_at_most(path).map_err(|error| {
        let hint = match (path.is_dir(), error.kind()) {
            (true, _) => "name a job file in that folder".to_owned(),
            (_, io::ErrorKind::NotFound) => {
                "there is no such file; `borewright new` writes one to start from".to_owned()
            }
            _ => "give the path of a file that can be read".to_owned(),
        };
        Stop::bad_input(format!("cannot read {}: {error}", path.display()), [hint])
    })?;
    Source::new(path.display().to_string(), bytes)
        .map_err(|error| Stop::bad_input(error.to_string(), ["give a text file".to_owned()]))
}

/// A file's bytes, up to one more than a [`Source`] takes, so that an endless
/// one does no harm.
fn read_at_most(path: &Path) -> io::Result<Vec<u8>> {
    use std::io::Read;
    let mut bytes = Vec::new();
    let limit = crate::measure::MAX_BYTES as u64 + 1;
    std::fs::File::open(path)?.take(limit).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The shipped profiles with those of a folder on top: `FAMILY.toml` for any
/// family. `folder` beats the environment's.
fn library(folder: Option<&Path>, env: &Environment<'_>) -> Result<Library, Stop> {
    let mut library = Library::shipped();
    let Some(folder) = folder.or(env.profiles.as_deref()) else { return Ok(library) };
    let failed = |error: io::Error| {
        let what = format!("cannot read the folder of profiles {}: {error}", folder.display());
        Stop::bad_input(what, ["--profiles and BOREWRIGHT_PROFILES name a folder".to_owned()])
    };
    let mut paths = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            paths.push(path);
        }
    }
    paths.sort();
    let mut all = Faults::default();
    for path in paths {
        let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let Some(family) = FAMILIES.iter().find(|family| family.name == stem) else {
            let names: Vec<&str> = FAMILIES.iter().map(|family| family.name).collect();
            let near = did_you_mean(&stem, names.iter().copied());
            let known = format!("files of profiles are called {}.toml", names.join(".toml, "));
            let what = format!("{} is no family of profiles", path.display());
            return Err(Stop::bad_input(what, near.into_iter().chain([known])));
        };
        let source = read_file(&path)?;
        if let Err(faults) = library.add(family, &source) {
            all.extend(faults);
        }
    }
    all.or_value(Some(library)).map_err(|faults| Stop::Faults(faults, Exit::BadInput))
}

/// A word that is none of the known ones.
fn unknown(of: &str, word: &str, known: &[&str]) -> Stop {
    let what = What::UnknownName { of: of.to_owned(), name: word.to_owned() };
    let near = did_you_mean(word, known.iter().copied());
    let all = format!("known: {}", known.join(", "));
    Stop::bad_input(what.to_string(), near.into_iter().chain([all]))
}
