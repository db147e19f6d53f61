//! `borewright new`.

use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::PathBuf;

use super::{Environment, Stop};
use crate::job::template;

#[derive(Debug, clap::Args)]
pub(super) struct New {
    /// A kind of part to start with; may be given several times
    #[arg(long = "part", value_name = "KIND")]
    parts: Vec<String>,
    /// The file to write, never one that exists; - prints it
    #[arg(default_value = "job.toml")]
    file: PathBuf,
}

impl New {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let parts: Vec<&str> = self.parts.iter().map(String::as_str).collect();
        let text = template(&parts, env.kinds)
            .map_err(|error| Stop::bad_input(error.to_string(), [error.hint]))?;
        if self.file.as_os_str() == "-" {
            return Ok(env.out.write_all(text.as_bytes())?);
        }
        let path = self.file.display();
        let failed = |error: std::io::Error| match error.kind() {
            ErrorKind::AlreadyExists => Stop::bad_input(
                format!("{path} is there already and is not overwritten"),
                ["give another file name".to_owned()],
            ),
            _ => Stop::bad_input(
                format!("cannot write {path}: {error}"),
                ["give a file in a folder that can be written to".to_owned()],
            ),
        };
        let mut file =
            OpenOptions::new().write(true).create_new(true).open(&self.file).map_err(failed)?;
        file.write_all(text.as_bytes()).map_err(failed)?;
        writeln!(env.err, "wrote {path}")?;
        writeln!(env.err, "\nhint: replace each \"?\" in it, then run `borewright make {path}`")?;
        Ok(())
    }
}
