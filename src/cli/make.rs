//! `borewright make`.

use std::path::PathBuf;

use super::table::write_columns;
use super::{Environment, Exit, Stop, library, read_file};
use crate::job::{Job, MakeError, Staged, make, report};
use crate::parts::Severity;

#[derive(Debug, clap::Args)]
pub(super) struct Make {
    /// The job file; `borewright new` writes one to start from
    job: PathBuf,
    /// Folder for the files, made if it is not there
    #[arg(long, value_name = "DIR", default_value = ".")]
    out: PathBuf,
    /// Folder of your own profiles: DIR/cells.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
}

impl Make {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let library = library(self.profiles.as_deref(), env)?;
        let source = read_file(&self.job)?;
        let job = Job::read(&source, library, env.kinds)
            .map_err(|faults| Stop::Faults(faults, Exit::BadInput))?;
        let stamp = job.time_stamp(env.epoch.as_deref()).map_err(|error| {
            let hint = "leave it out, or give whole seconds, as `date +%s` prints them";
            Stop::bad_input(error.to_string(), [hint.to_owned()])
        })?;
        let unwritable = |error: crate::job::StagedError| {
            Stop::bad_input(error.to_string(), ["--out names a folder to write to".to_owned()])
        };
        let mut staged = Staged::new(&self.out).map_err(unwritable)?;
        let made =
            make(&job).map_err(|MakeError(faults)| Stop::Faults(faults, Exit::CannotBeMade))?;
        let mut text = serde_json::to_string_pretty(&report(&job, &made, &stamp))
            .map_err(|error| Stop::Output(error.into()))?;
        text.push('\n');
        staged.write("report.json", text.as_bytes()).map_err(unwritable)?;
        staged.commit().map_err(unwritable)?;

        for body in made.iter().flat_map(|part| &part.bodies) {
            for message in &body.messages {
                let severity = match message.severity {
                    Severity::Note => "note",
                    Severity::Warning => "warning",
                    Severity::Caution => "caution",
                };
                writeln!(env.err, "{severity}: {}: {}", body.name, message.text)?;
                if let Some(hint) = &message.hint {
                    writeln!(env.err, "\nhint: {hint}")?;
                }
            }
        }
        let mut rows = vec![vec!["body".to_owned(), "kind".to_owned()]];
        for part in &made {
            let kind = part.kind.name;
            rows.extend(part.bodies.iter().map(|body| vec![body.name.clone(), kind.to_owned()]));
        }
        write_columns(env.out, &rows)?;
        Ok(())
    }
}
