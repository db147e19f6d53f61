//! `borewright worksheet`.

use std::path::{Path, PathBuf};

use super::{Environment, Stop, file_in, library, read_file, read_job, unknown};
use crate::job::worksheet::{Sheet, for_blanks, for_job, for_kinds, html, text};
use crate::job::{Staged, make};

#[derive(Debug, clap::Args)]
pub(super) struct Worksheet {
    /// Kinds of parts that you want, or one job file: then what it still lacks, or what
    /// measurement would make its fits surest
    #[arg(required = true, value_name = "KIND|JOB.toml")]
    wanted: Vec<String>,
    /// Write it as a page to print, with drawings of where the caliper goes
    #[arg(long, value_name = "FILE.html")]
    out: Option<PathBuf>,
    /// The printer that the fits are worked out for, where no job says one
    #[arg(long, value_name = "PROFILE", default_value = "fdm-medium")]
    printer: String,
    /// Folder of your own profiles: DIR/printers.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
}

impl Worksheet {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let is_job = |word: &str| {
            Path::new(word).extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"))
        };
        let sheet = match self.wanted.as_slice() {
            [job] if is_job(job) => self.of_job(Path::new(job), env)?,
            words => match words.iter().find(|word| is_job(word)) {
                Some(job) => {
                    let what = format!("{job} is a job file, and stands among other words");
                    return Err(Stop::bad_input(what, ["give one job file alone".to_owned()]));
                }
                None => self.of_kinds(env)?,
            },
        };
        let Some(path) = &self.out else {
            env.out.write_all(text(&sheet).as_bytes())?;
            return Ok(());
        };
        let page = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("html"));
        let Some((folder, name)) = file_in(path).filter(|_| page) else {
            let what = format!("{} is no name for a page", path.display());
            return Err(Stop::bad_input(what, ["give a file name, as measure.html".to_owned()]));
        };
        let mut staged = Staged::new(folder)?;
        staged.write(&name, html(&sheet).as_bytes())?;
        staged.commit()?;
        writeln!(env.out, "{}", path.display())?;
        Ok(())
    }

    fn of_kinds(&self, env: &Environment<'_>) -> Result<Sheet, Stop> {
        let library = library(self.profiles.as_deref(), env)?;
        let Some(printer) = library.profile("printers", &self.printer) else {
            let known: Vec<&str> = library.names("printers").collect();
            return Err(unknown("printer", &self.printer, &known));
        };
        let mut kinds = Vec::new();
        for word in &self.wanted {
            let Some(kind) = env.kinds.iter().find(|kind| kind.name == *word) else {
                let known: Vec<&str> = env.kinds.iter().map(|kind| kind.name).collect();
                return Err(unknown("part kind", word, &known));
            };
            kinds.push(kind);
        }
        Ok(for_kinds(&kinds, printer))
    }

    fn of_job(&self, path: &Path, env: &Environment<'_>) -> Result<Sheet, Stop> {
        match read_job(path, self.profiles.as_deref(), env) {
            Ok(job) => {
                let made = make(&job)?;
                Ok(for_job(&job, &made))
            }
            Err(Stop::Faults(faults, exit)) => {
                let source = read_file(path)?;
                for_blanks(source.text(), env.kinds).ok_or(Stop::Faults(faults, exit))
            }
            Err(other) => Err(other),
        }
    }
}
