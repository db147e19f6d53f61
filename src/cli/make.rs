//! `borewright make`.

use std::path::PathBuf;

use super::table::{write_columns, write_hanging};
use super::{Environment, Exit, Stop, read_job};
use crate::job::{FORMATS, Made, MakeError, Staged, files, make};
use crate::parts::{Body, Severity};

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
        let job = read_job(&self.job, self.profiles.as_deref(), env)?;
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
        let files = files(&job, &made, &stamp).map_err(|error| Stop::Other {
            exit: Exit::CannotBeMade,
            what: error.to_string(),
            hints: vec!["a larger `chord` in [print] gives fewer, larger triangles".to_owned()],
        })?;
        for (name, bytes) in &files {
            staged.write(name, bytes).map_err(unwritable)?;
        }
        staged.commit().map_err(unwritable)?;

        for made in made.iter().flat_map(|part| &part.bodies) {
            say_messages(&made.body, env)?;
        }
        write_columns(env.out, &table(&made))?;
        Ok(())
    }
}

fn say_messages(body: &Body, env: &mut Environment<'_>) -> std::io::Result<()> {
    for message in &body.messages {
        let severity = match message.severity {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Caution => "caution",
        };
        let text = format!("{severity}: {}: {}", body.name, message.text);
        write_hanging(env.err, &text, MESSAGE_WIDTH)?;
        if let Some(hint) = &message.hint {
            write_hanging(env.err, &format!("  hint: {hint}"), MESSAGE_WIDTH)?;
        }
    }
    Ok(())
}

/// Longest line of a message, characters.
const MESSAGE_WIDTH: usize = 100;

/// One row per body: what a person compares with the printer and the drawer.
fn table(made: &[Made]) -> Vec<Vec<String>> {
    let header = [
        "body",
        "kind",
        "x mm",
        "y mm",
        "z mm",
        "volume mm3",
        "mass g",
        "faces",
        "triangles",
        "files",
    ];
    let mut rows = vec![header.map(str::to_owned).to_vec()];
    for part in made {
        for body in &part.bodies {
            let size = body.bounds.1 - body.bounds.0;
            let extensions: Vec<&str> = FORMATS.iter().map(|(extension, _)| *extension).collect();
            rows.push(vec![
                body.body.name.clone(),
                part.kind.name.to_owned(),
                format!("{:.2}", size.x),
                format!("{:.2}", size.y),
                format!("{:.2}", size.z),
                format!("{:.1}", body.properties.volume),
                format!("{:.2}", body.mass),
                body.body.solid.faces().len().to_string(),
                body.mesh.triangles().len().to_string(),
                format!("{}.{{{}}}", body.body.name, extensions.join(",")),
            ]);
        }
    }
    rows
}
