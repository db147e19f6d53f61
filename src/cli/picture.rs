//! `borewright picture`: what the parts of a job look like, as a PNG or in the terminal.

use std::path::{Path, PathBuf};

use super::inline::Protocol;
use super::{Environment, Stop, file_in, read_job, unknown};
use crate::checks::wall_cap;
use crate::export::{BODY_COLOURS, Cut, PictureBody, Pixels, Scale, Tint, View, arrange};
use crate::job::{Made, MadeBody, Staged, make, wall_warmth};
use crate::measure::Vec3;
use crate::mesh::{ChordTolerance, Mesh, tessellate};
use crate::parts::Component;

#[derive(Debug, clap::Args)]
pub(super) struct Picture {
    /// The job files; their bodies stand in one row
    #[arg(required = true)]
    jobs: Vec<PathBuf>,
    /// The picture to write; parts.png unless it is shown --inline
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// Show it in the terminal: as images where the terminal has a protocol for them, as
    /// block characters elsewhere; with =PROTOCOL, by that one
    #[arg(long, value_name = "PROTOCOL", num_args = 0..=1, require_equals = true, default_missing_value = "auto")]
    inline: Option<Protocol>,
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
    /// Cut across an axis, as z=120 mm from the end cap; x and y alone cut through the
    /// handle's middle. What lies before the plane, as seen, is taken away
    #[arg(long, visible_alias = "cut", value_name = "AXIS=MM", value_parser = section)]
    section: Option<Cut>,
    /// Only lines, hidden ones dashed
    #[arg(long, conflicts_with = "heat")]
    lines: bool,
    /// In the colours of their wall thickness, with its scale
    #[arg(long)]
    heat: bool,
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
        let out = self.file()?;
        let (made, scale) = self.made(env)?;
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
        let protocol = self.inline.map(|p| p.of(|name| std::env::var(name).ok()));
        let view = self.view(scale, &shown)?;
        let components = self.components(&shown)?;
        let tints: Vec<Option<Tint>> = shown.iter().map(|made| tint(made, scale)).collect();
        let mut bodies: Vec<PictureBody<'_>> = Vec::new();
        let colours = BODY_COLOURS.iter().cycle();
        for (((made, colour), own), tint) in shown.iter().zip(colours).zip(&components).zip(&tints)
        {
            bodies.push(PictureBody::new(&made.mesh, *colour).tinted(tint.as_ref()));
            bodies.extend(own.iter().map(|mesh| PictureBody::new(mesh, GLASS_COLOUR).glassy()));
        }
        if !self.together {
            arrange(&mut bodies, &view, GAP);
        }
        if let Some((path, folder, name)) = &out {
            let mut staged = Staged::new(folder)?;
            staged.write(name, &Pixels::of(&bodies, &[], &view).png())?;
            staged.commit()?;
            writeln!(env.out, "{}", path.display())?;
        }
        if let Some(protocol) = protocol {
            let columns = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok());
            let (width, height) = protocol.size((self.width, self.height), columns);
            // A scale bar of so few pixels could not be read.
            let scale_bar = (width, height) == (self.width, self.height);
            let view = View { width, height, scale_bar, ..view };
            let view = View { scale: view.scale.filter(|_| scale_bar), ..view };
            env.out.write_all(protocol.text(&Pixels::of(&bodies, &[], &view)).as_bytes())?;
        }
        Ok(())
    }

    /// The parts of all jobs, and the scale of the first job's printer if thickness is asked for.
    fn made(&self, env: &Environment<'_>) -> Result<(Vec<Made>, Option<Scale>), Stop> {
        let (mut made, mut scale): (Vec<Made>, Option<Scale>) = (Vec::new(), None);
        for path in &self.jobs {
            if path.extension().is_some_and(|e| !e.eq_ignore_ascii_case("toml")) {
                let what = format!("{} is no job file", path.display());
                let hint = "give the job that it was made from, as handle.toml".to_owned();
                return Err(Stop::bad_input(what, [hint]));
            }
            let job = read_job(path, self.profiles.as_deref(), env)?;
            let printer = job.print().component("printer");
            let own = Scale { limit: printer.number("wall_free"), cap: wall_cap(printer) };
            scale = scale.or(self.heat.then_some(own));
            let parts = make(&job)?;
            made.extend(parts);
        }
        Ok((made, scale))
    }

    fn view(&self, scale: Option<Scale>, shown: &[&&MadeBody]) -> Result<View, Stop> {
        let (_, direction, up) = VIEWS.into_iter().find(|v| v.0 == self.from).unwrap_or(VIEWS[0]);
        if let Some(cut) = &self.section {
            let axis = AXES[cut.axis];
            if !cut.is_seen(&direction) {
                let seen = VIEWS.iter().filter(|v| cut.is_seen(&v.1)).map(|v| v.0);
                let seen: Vec<&str> = seen.collect();
                let what =
                    format!("--from {} sees a section across {axis} from its edge", self.from);
                return Err(Stop::bad_input(what, [format!("look from {}", seen.join(", "))]));
            }
            let span = |made: &&&MadeBody| (made.bounds.0[cut.axis], made.bounds.1[cut.axis]);
            if !shown.iter().map(span).any(|(low, high)| low < cut.at && cut.at < high) {
                let spans = shown.iter().map(|made| {
                    let (low, high) = span(made);
                    format!("{} from {low:.2} to {high:.2}", made.body.name)
                });
                let spans: Vec<String> = spans.collect();
                let what = format!("{axis} = {} mm cuts none of the bodies", cut.at);
                return Err(Stop::bad_input(what, [format!("along {axis}: {}", spans.join("; "))]));
            }
        }
        Ok(View {
            direction,
            up,
            width: self.width,
            height: self.height,
            lines_only: self.lines,
            cut: self.section,
            scale,
            ..View::default()
        })
    }

    /// The file to write, if one is wanted: its path, folder and name.
    fn file(&self) -> Result<Option<(PathBuf, PathBuf, String)>, Stop> {
        let path = match (&self.out, self.inline) {
            (None, Some(_)) => return Ok(None),
            (None, None) => PathBuf::from("parts.png"),
            (Some(path), _) => path.clone(),
        };
        let (folder, name) = png_file(&path, "parts.png")?;
        let folder = folder.to_owned();
        Ok(Some((path, folder, name)))
    }
}

/// The folder of a picture to write, and its name there; `like` is one that would do.
pub(super) fn png_file<'p>(path: &'p Path, like: &str) -> Result<(&'p Path, String), Stop> {
    file_in(path).filter(|_| path.extension().is_some_and(is_png)).ok_or_else(|| {
        let what = format!("{} is no name for a picture", path.display());
        Stop::bad_input(what, [format!("give a file name, as {like}")])
    })
}

/// Names of the axes.
const AXES: [&str; 3] = ["x", "y", "z"];

/// A section as it is written: `z=120`, `x`.
fn section(text: &str) -> Result<Cut, String> {
    let (axis, at) = text.split_once('=').map_or((text, None), |(axis, at)| (axis, Some(at)));
    let number = AXES.iter().position(|known| *known == axis.trim());
    match (number, at.map(|at| at.trim().parse::<f64>())) {
        (Some(axis), Some(Ok(at))) if at.is_finite() => Ok(Cut { axis, at }),
        (Some(axis), None) if axis < 2 => Ok(Cut { axis, at: 0.0 }),
        (Some(2), None) => Err("say where along z, mm from the end cap, as z=120".to_owned()),
        (Some(_), _) => Err("the place is a number in mm, as z=120".to_owned()),
        (None, _) => Err("the axis is x, y or z, as in z=120".to_owned()),
    }
}

/// The body's colours by its wall thickness.
fn tint(made: &MadeBody, scale: Option<Scale>) -> Option<Tint> {
    let scale = scale?;
    let warmth = wall_warmth(&made.mesh, scale.cap);
    let spacing = (made.properties.area / warmth.len().max(1) as f64).sqrt();
    let point = |w: &crate::job::Warmth| {
        (Vec3::from(w.at.map(f64::from)), scale.colour(f64::from(w.thickness)))
    };
    Tint::new(warmth.iter().map(point).collect(), spacing)
}

/// Whether a component has that name, or that name with a number.
fn is_called(name: &str, wanted: &str) -> bool {
    name.strip_prefix(wanted).is_some_and(|rest| rest.is_empty() || rest.starts_with('_'))
}

/// Only PNG is written, whatever the name says.
fn is_png(extension: &std::ffi::OsStr) -> bool {
    extension.eq_ignore_ascii_case("png")
}
