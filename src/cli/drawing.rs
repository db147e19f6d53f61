//! `borewright drawing`: dimensioned drawings of a job's bodies, as SVG and PDF.

use std::path::PathBuf;

use super::table::write_hanging;
use super::{Environment, Exit, Stop, read_job, stamp, unknown};
use crate::export::drawing::{Paper, Projection, Sheet, pdf, svg, unprintable};
use crate::job::{DRAWINGS, DrawingError, DrawingWishes, Job, Made, Staged, drawings, make};

/// Longest line of a message, characters.
const MESSAGE_WIDTH: usize = 100;

#[derive(Debug, clap::Args)]
pub(super) struct Drawing {
    /// The job file
    job: PathBuf,
    /// Folder for BODY-drawing.svg of each body and drawings.pdf of all
    #[arg(long, value_name = "DIR", default_value = ".")]
    out: PathBuf,
    /// Only the body of this name; may be given again
    #[arg(long, value_name = "BODY")]
    only: Vec<String>,
    /// The paper, laid with its longer side level
    #[arg(long, value_name = "SIZE", default_value = "a4", value_parser = paper)]
    sheet: Paper,
    /// How views are laid out: in first-angle projection what is seen from above stands below,
    /// in third-angle above
    #[arg(long, value_name = "ANGLE", default_value = "first", value_parser = projection)]
    projection: Projection,
    /// At 1:1, with a bar of 50 mm to check the print: lay the part on it
    #[arg(long)]
    actual_size: bool,
    /// Folder of your own profiles: DIR/cells.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
}

/// A size of paper by its word.
pub(super) fn paper(word: &str) -> Result<Paper, String> {
    let known = Paper::ALL.map(Paper::word).join(", ");
    let found = Paper::ALL.into_iter().find(|paper| paper.word() == word);
    found.ok_or_else(|| format!("the sizes are {known}"))
}

fn projection(word: &str) -> Result<Projection, String> {
    match word {
        "first" => Ok(Projection::First),
        "third" => Ok(Projection::Third),
        _ => Err("it is first or third".to_owned()),
    }
}

impl Drawing {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let job = read_job(&self.job, self.profiles.as_deref(), env)?;
        let stamp = stamp(&job, env)?;
        let mut staged = Staged::new(&self.out)?;
        let made = make(&job)?;
        let names: Vec<&str> =
            made.iter().flat_map(|part| &part.bodies).map(|b| b.body.name.as_str()).collect();
        if let Some(name) = self.only.iter().find(|name| !names.contains(&name.as_str())) {
            return Err(unknown("body", name, &names));
        }
        let wishes = DrawingWishes {
            paper: self.sheet,
            projection: self.projection,
            actual_size: self.actual_size,
        };
        let drawn = drawings(&job, &made, &stamp, &wishes, &self.only)
            .map_err(|error| self.stop(&error, (&job, &made, &stamp), &wishes))?;
        for drawing in &drawn {
            let name = format!("{}-drawing.svg", drawing.body);
            staged.write(&name, svg(&drawing.sheet).as_bytes())?;
        }
        let sheets: Vec<Sheet> = drawn.into_iter().map(|drawing| drawing.sheet).collect();
        staged.write(DRAWINGS, &pdf(&sheets, job.handle().name()))?;
        for path in staged.commit()? {
            writeln!(env.out, "{}", path.display())?;
        }
        say_unprintable(&sheets, env)
    }

    fn stop(
        &self,
        error: &DrawingError,
        of: (&Job, &[Made], &str),
        wishes: &DrawingWishes,
    ) -> Stop {
        let mut hints = Vec::new();
        if matches!(error, DrawingError::TooLarge { .. }) {
            let (job, made, stamp) = of;
            let fits = |paper: &Paper| {
                let wishes = DrawingWishes { paper: *paper, ..*wishes };
                drawings(job, made, stamp, &wishes, &self.only).is_ok()
            };
            if let Some(paper) = Paper::ALL.into_iter().find(fits) {
                hints.push(format!("--sheet {} has room", paper.word()));
            }
            if self.actual_size {
                hints.push("without --actual-size the scale is chosen to fit".to_owned());
            }
        }
        Stop::Other { exit: Exit::CannotBeMade, what: error.to_string(), hints }
    }
}

/// Characters that the PDF shows as question marks.
pub(super) fn say_unprintable(sheets: &[Sheet], env: &mut Environment<'_>) -> Result<(), Stop> {
    let all: String = sheets.iter().flat_map(Sheet::texts).map(|t| t.text.as_str()).collect();
    let missing = unprintable(&all);
    if !missing.is_empty() {
        let listed: String = missing.iter().collect();
        let text = format!(
            "warning: the PDF's font has no {}: it shows question marks there, the SVG does not",
            crate::measure::quoted(&listed)
        );
        write_hanging(env.err, &text, MESSAGE_WIDTH)?;
    }
    Ok(())
}
