//! `borewright card`: the card that goes with a prop to its owner.

use std::path::PathBuf;

use super::drawing::{paper, say_unprintable};
use super::{Environment, Exit, Stop, read_job, stamp};
use crate::export::drawing::{Paper, pdf, svg};
use crate::job::{CARD_PDF, CardError, Staged, card, make};

#[derive(Debug, clap::Args)]
pub(super) struct Card {
    /// The job file; its table [card] says what only the fitter knows
    job: PathBuf,
    /// Folder for card.svg and card.pdf
    #[arg(long, value_name = "DIR", default_value = ".")]
    out: PathBuf,
    /// The paper, laid with its longer side level
    #[arg(long, value_name = "SIZE", default_value = "a4", value_parser = paper)]
    sheet: Paper,
    /// Folder of your own profiles: DIR/cells.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
}

impl Card {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let job = read_job(&self.job, self.profiles.as_deref(), env)?;
        let stamp = stamp(&job, env)?;
        let mut staged = Staged::new(&self.out)?;
        let made = make(&job)?;
        let sheets = card(&job, &made, &stamp, self.sheet).map_err(|error| match error {
            CardError::Job(faults) => Stop::Faults(faults, Exit::BadInput),
            other => {
                Stop::Other { exit: Exit::CannotBeMade, what: other.to_string(), hints: Vec::new() }
            }
        })?;
        for (i, sheet) in sheets.iter().enumerate() {
            let number = if i == 0 { String::new() } else { format!("-{}", i + 1) };
            staged.write(&format!("card{number}.svg"), svg(sheet).as_bytes())?;
        }
        staged.write(CARD_PDF, &pdf(&sheets, job.handle().name()))?;
        for path in staged.commit()? {
            writeln!(env.out, "{}", path.display())?;
        }
        say_unprintable(&sheets, env)
    }
}
