//! `borewright fit-report`: what a test print of a job's parts says, and what it changes.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::table::{write_columns, write_hanging};
use super::{Environment, Exit, Stop, library, named_file, read_file, read_job, stamp};
use crate::job::{
    Change, FormatError, History, Job, Made, MadeUpBy, NamedBytes, Staged, after_print_file,
    after_print_names, beside, body_files, changes, make, read_after_print, with_changes,
};
use crate::measure::{Source, number};

/// Longest line of a message, characters.
const WIDTH: usize = 100;

#[derive(Debug, clap::Args)]
pub(super) struct FitReport {
    /// The job whose parts were printed
    job: PathBuf,
    /// The file with what was read and tried; JOB-measured.toml beside the job unless given,
    /// and written if it is not there
    measured: Option<PathBuf>,
    /// Change the job's printer, keep the readings beside the job, and write what changes of
    /// the bodies' files to this folder; without it, it is only said
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Folder of your own profiles: DIR/printers.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
}

/// The job's folder and the names of the files there.
struct Places {
    folder: PathBuf,
    job: String,
    measured: PathBuf,
    history: String,
}

impl FitReport {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let job = read_job(&self.job, self.profiles.as_deref(), env)?;
        let made = made(&job)?;
        let places = self.places()?;
        if !places.measured.exists() {
            return self.begin(&places, &job, &made, env);
        }
        let source = read_file(&places.measured)?;
        let print = read_after_print(&source, &job, &made)
            .map_err(|faults| Stop::Faults(faults, Exit::BadInput))?;
        let mut history = places.read_history()?;
        if history.has(&source) {
            let what = format!(
                "{} is in {} already: it counts once",
                places.measured.display(),
                places.history
            );
            let hint = "after the next print, write what that says into it";
            return Err(Stop::bad_input(what, [hint.to_owned()]));
        }
        for sat in &print.sat {
            let drawn = if sat.read { "as its outside was read" } else { "as drawn" };
            let text = format!(
                "{} {}: {} fit, {:.2} mm clearance {drawn}",
                sat.body,
                sat.how.word(),
                sat.fit,
                sat.clearance
            );
            write_hanging(env.out, &text, WIDTH)?;
        }
        history.prints.push(print);
        let mut asked = changes(&job, &history, MadeUpBy::PrintFiles);
        let mut anew = self.remade(&job, &asked, env);
        if let Err(Stop::Faults(faults, Exit::CannotBeMade)) = &anew
            && asked.iter().any(|change| change.key == "growth")
        {
            let why = faults.iter().next().map_or_else(String::new, |fault| fault.to_string());
            let text =
                format!("note: print files cannot make up for all growth here, so fits do ({why})");
            write_hanging(env.err, &text, WIDTH)?;
            asked = changes(&job, &history, MadeUpBy::Fits);
            anew = self.remade(&job, &asked, env);
        }
        if asked.is_empty() {
            writeln!(env.out, "nothing changes: the printer's values go with what was read")?;
        } else {
            say_changes(&asked, env)?;
        }
        if matches!(anew, Err(Stop::Faults(..))) {
            let text = "with these values the job cannot be made; nothing is written: change first \
                        what is said here";
            write_hanging(env.err, text, WIDTH)?;
        }
        let (text, anew) = anew?;
        let files = changed(&made, &anew, &stamp(&job, env)?)?;
        say_bodies(&made, &files, env)?;
        match &self.out {
            Some(out) => places.write(out, &text, &history, files, env),
            None => {
                writeln!(env.err, "\nhint: --out DIR does so, and keeps the readings")?;
                Ok(())
            }
        }
    }

    fn places(&self) -> Result<Places, Stop> {
        let [measured, history] = after_print_names(&self.job);
        let (folder, job) = named_file(&self.job)?;
        let measured = self.measured.clone().unwrap_or_else(|| folder.join(measured));
        Ok(Places { folder: folder.to_owned(), job, measured, history })
    }

    /// Writes the file to fill in.
    fn begin(
        &self,
        places: &Places,
        job: &Job,
        made: &[Made],
        env: &mut Environment<'_>,
    ) -> Result<(), Stop> {
        let (folder, name) = named_file(&places.measured)?;
        let mut staged = Staged::new(folder)?;
        staged
            .write(&name, after_print_file(job, made).as_bytes())
            .and_then(|()| staged.commit())?;
        writeln!(env.out, "written: {}", places.measured.display())?;
        let text = "print the parts, write what the caliper says and how they sit into it, and run this \
                    again";
        write_hanging(env.out, text, WIDTH)?;
        Ok(())
    }

    /// The job's text with other values of its printer, and its parts made anew.
    fn remade(
        &self,
        job: &Job,
        changes: &[Change],
        env: &Environment<'_>,
    ) -> Result<(String, Vec<Made>), Stop> {
        let text = with_changes(job.source().text(), changes)
            .map_err(|error| Stop::bad_input(error, ["look at [print] of the job".to_owned()]))?;
        let made = made(&self.read_anew(job, &text, env)?)?;
        Ok((text, made))
    }

    fn read_anew(&self, job: &Job, text: &str, env: &Environment<'_>) -> Result<Job, Stop> {
        let source: Arc<Source> = Source::new(job.source().name(), text)
            .map_err(|error| Stop::bad_input(error.to_string(), []))?;
        let files = beside(self.job.parent().unwrap_or(Path::new("")));
        let library = library(self.profiles.as_deref(), env)?;
        Job::read_beside(&source, library, env.kinds, &files)
            .map_err(|faults| Stop::Faults(faults, Exit::BadInput))
    }
}

impl Places {
    fn read_history(&self) -> Result<History, Stop> {
        let path = self.folder.join(&self.history);
        if !path.exists() {
            return Ok(History::default());
        }
        let source = read_file(&path)?;
        History::read(source.text()).map_err(|error| {
            let what = format!("{} is no history of test prints: {error}", path.display());
            Stop::bad_input(what, ["move it away to begin anew".to_owned()])
        })
    }

    /// The bodies' files, then the job with its history, each all together.
    fn write(
        &self,
        out: &Path,
        text: &str,
        history: &History,
        files: BTreeMap<String, Vec<NamedBytes>>,
        env: &mut Environment<'_>,
    ) -> Result<(), Stop> {
        let mut own = Staged::new(&self.folder)?;
        own.write(&self.job, text.as_bytes())?;
        own.write(&self.history, history.text().as_bytes())?;
        let mut staged = Staged::new(out)?;
        for (name, bytes) in files.values().flatten() {
            staged.write(name, bytes)?;
        }
        staged.commit()?;
        own.commit()?;
        let history = self.folder.join(&self.history);
        writeln!(env.err, "kept in {}; the job names the printer's new values", history.display())?;
        writeln!(env.err, "\nhint: `borewright make` checks them and writes the reports anew")?;
        Ok(())
    }
}

fn made(job: &Job) -> Result<Vec<Made>, Stop> {
    Ok(make(job)?)
}

/// The files of each body of which one differs from what it was before.
fn changed(
    before: &[Made],
    after: &[Made],
    stamp: &str,
) -> Result<BTreeMap<String, Vec<NamedBytes>>, Stop> {
    let files = |made: &[Made]| -> Result<BTreeMap<String, Vec<NamedBytes>>, FormatError> {
        let bodies = made.iter().flat_map(|part| &part.bodies);
        bodies.map(|body| Ok((body.body.name.clone(), body_files(body, stamp)?))).collect()
    };
    let unwritten = |error: FormatError| Stop::Other {
        exit: Exit::CannotBeMade,
        what: error.to_string(),
        hints: vec!["a larger `chord` in [print] gives fewer, larger triangles".to_owned()],
    };
    let old = files(before).map_err(unwritten)?;
    let mut new = files(after).map_err(unwritten)?;
    new.retain(|name, files| old.get(name) != Some(files));
    Ok(new)
}

fn say_changes(changes: &[Change], env: &mut Environment<'_>) -> Result<(), Stop> {
    let mut rows = vec![["printer's", "from mm", "to mm", "since"].map(str::to_owned).to_vec()];
    rows.extend(changes.iter().map(|change| {
        vec![change.key.to_owned(), number(change.from), number(change.to), change.why.clone()]
    }));
    writeln!(env.out)?;
    write_columns(env.out, &rows)?;
    Ok(())
}

fn say_bodies(
    made: &[Made],
    files: &BTreeMap<String, Vec<NamedBytes>>,
    env: &mut Environment<'_>,
) -> Result<(), Stop> {
    let names = made.iter().flat_map(|part| &part.bodies).map(|b| b.body.name.as_str());
    let (change, stay): (Vec<&str>, Vec<&str>) = names.partition(|name| files.contains_key(*name));
    for (what, names) in [("to print anew", change), ("stays", stay)] {
        if !names.is_empty() {
            write_hanging(env.out, &format!("{what}: {}", names.join(", ")), WIDTH)?;
        }
    }
    Ok(())
}
