//! `borewright picture`: what the parts of a job look like, as a PNG.

use std::path::PathBuf;

use super::{Environment, Exit, Stop, read_job, unknown};
use crate::export::{BODY_COLOURS, PictureBody, View, arrange, picture};
use crate::job::{Made, MadeBody, MakeError, Staged, make};
use crate::measure::Vec3;
use crate::mesh::{ChordTolerance, Mesh, tessellate};
use crate::parts::Component;

#[derive(Debug, clap::Args)]
pub(super) struct Picture {
    /// The job files; their bodies stand in one row
    #[arg(required = true)]
    jobs: Vec<PathBuf>,
    /// The picture to write
    #[arg(long, value_name = "FILE.png", default_value = "parts.png")]
    out: PathBuf,
    /// From where
    #[arg(long, default_value = "oblique", value_parser = VIEWS.map(|v| v.0))]
    from: String,
    /// Only the body of this name; may be given again
    #[arg(long, value_name = "BODY")]
    only: Vec<String>,
    /// Also the components in or around the bodies, as if of glass: names as in the report
    /// (switch for switch_1 and switch_2), with commas between; all for all but the bore and
    /// other bodies, which would hide them
    #[arg(long, value_name = "NAME,...", value_delimiter = ',')]
    with: Vec<String>,
    /// As they lie in the handle, in place of side by side
    #[arg(long)]
    together: bool,
    /// Width, pixels
    #[arg(long, default_value_t = 1200, value_parser = clap::value_parser!(u32).range(64..=8192))]
    width: u32,
    /// Height, pixels
    #[arg(long, default_value_t = 560, value_parser = clap::value_parser!(u32).range(64..=8192))]
    height: u32,
    /// Folder of your own profiles: DIR/cells.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
}

/// Name, direction of view, and what is up.
const VIEWS: [(&str, Vec3, Vec3); 5] = [
    ("oblique", Vec3::new(-0.62, -0.62, -0.48), Vec3::new(0.0, 1.0, 0.0)),
    ("switches", Vec3::new(0.0, -1.0, 0.0), Vec3::new(1.0, 0.0, 0.0)),
    ("side", Vec3::new(-1.0, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0)),
    ("front", Vec3::new(0.0, 0.0, -1.0), Vec3::new(0.0, 1.0, 0.0)),
    ("below", Vec3::new(-0.62, 0.62, -0.48), Vec3::new(0.0, 1.0, 0.0)),
];

/// Gap between bodies in the row, mm.
const GAP: f64 = 8.0;

/// Colour of components.
const GLASS_COLOUR: [u8; 3] = [120, 170, 215];

impl Picture {
    /// Meshes of the components asked for, for each body.
    fn components(&self, shown: &[&&MadeBody]) -> Result<Vec<Vec<Mesh>>, Stop> {
        let of = |made: &&&MadeBody| made.body.declared.components.clone();
        for wanted in &self.with {
            let all: Vec<String> = shown.iter().flat_map(of).map(|c| c.name).collect();
            if wanted != "all" && !all.iter().any(|name| is_called(name, wanted)) {
                let mut known: Vec<&str> = all.iter().map(String::as_str).collect();
                known.sort_unstable();
                known.dedup();
                return Err(unknown("component", wanted, &known));
            }
        }
        let bodies: Vec<&str> = shown.iter().map(|made| made.body.name.as_str()).collect();
        let hides = |c: &Component| c.name == "bore" || bodies.contains(&c.name.as_str());
        let wanted = |c: &&Component| {
            let named = |w: &String| is_called(&c.name, w) || (w == "all" && !hides(c));
            self.with.iter().any(named)
        };
        shown
            .iter()
            .map(|made| {
                let components = made.body.declared.components.iter().filter(wanted);
                components
                    .map(|c| {
                        tessellate(&c.solid, &ChordTolerance::default()).map_err(|e| {
                            let what = format!("{} cannot be drawn: {e}", c.name);
                            Stop::bad_input(what, ["leave it out of --with".to_owned()])
                        })
                    })
                    .collect()
            })
            .collect()
    }

    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let mut made: Vec<Made> = Vec::new();
        for path in &self.jobs {
            if path.extension().is_some_and(|e| !e.eq_ignore_ascii_case("toml")) {
                let what = format!("{} is no job file", path.display());
                let hint = "give the job that it was made from, as handle.toml".to_owned();
                return Err(Stop::bad_input(what, [hint]));
            }
            let job = read_job(path, self.profiles.as_deref(), env)?;
            let parts =
                make(&job).map_err(|MakeError(faults)| Stop::Faults(faults, Exit::CannotBeMade))?;
            made.extend(parts);
        }
        let all: Vec<&MadeBody> = made.iter().flat_map(|part| &part.bodies).collect();
        for name in &self.only {
            if !all.iter().any(|made| made.body.name == *name) {
                let known: Vec<&str> = all.iter().map(|made| made.body.name.as_str()).collect();
                return Err(unknown("body", name, &known));
            }
        }
        let shown =
            all.iter().filter(|made| self.only.is_empty() || self.only.contains(&made.body.name));
        let shown: Vec<&&MadeBody> = shown.collect();
        let components = self.components(&shown)?;
        let mut bodies: Vec<PictureBody<'_>> = Vec::new();
        for ((made, colour), own) in shown.iter().zip(BODY_COLOURS.iter().cycle()).zip(&components)
        {
            bodies.push(PictureBody::new(&made.mesh, *colour));
            bodies.extend(own.iter().map(|mesh| PictureBody::new(mesh, GLASS_COLOUR).glassy()));
        }
        let (_, direction, up) = VIEWS.into_iter().find(|v| v.0 == self.from).unwrap_or(VIEWS[0]);
        let view =
            View { direction, up, width: self.width, height: self.height, ..View::default() };
        if !self.together {
            arrange(&mut bodies, &view, GAP);
        }
        let bytes = picture(&bodies, &view);
        let (folder, name) = match (self.out.parent(), self.out.file_name()) {
            (Some(folder), Some(name)) if self.out.extension().is_some_and(is_png) => {
                (folder, name.to_string_lossy())
            }
            _ => {
                let what = format!("{} is no name for a picture", self.out.display());
                return Err(Stop::bad_input(what, ["give a file name, as parts.png".to_owned()]));
            }
        };
        let folder = if folder.as_os_str().is_empty() { ".".as_ref() } else { folder };
        let unwritable = |error: crate::job::StagedError| {
            Stop::bad_input(error.to_string(), ["--out names a file to write".to_owned()])
        };
        let mut staged = Staged::new(folder).map_err(unwritable)?;
        staged.write(&name, &bytes).map_err(unwritable)?;
        staged.commit().map_err(unwritable)?;
        writeln!(env.out, "{}", self.out.display())?;
        Ok(())
    }
}

/// Whether a component has that name, or that name with a number.
fn is_called(name: &str, wanted: &str) -> bool {
    name.strip_prefix(wanted).is_some_and(|rest| rest.is_empty() || rest.starts_with('_'))
}

/// Only PNG is written, whatever the name says.
fn is_png(extension: &std::ffi::OsStr) -> bool {
    extension.eq_ignore_ascii_case("png")
}
