//! `borewright plate`.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::path::PathBuf;

use serde_json::{Value as Json, json};

use super::table::{write_columns, write_hanging};
use super::{Environment, Exit, Stop, read_job, unknown};
use crate::checks::{Analysis, CheckContext, Known, best_up, direction};
use crate::job::{
    Job, Made, MadeBody, Piece, Plate as Laid, PlateError, PlateRules, Staged, fingerprint,
    lay_out, make, plate_files,
};
use crate::measure::{Kind, Values, Vec2, Vec3};
use crate::mesh::{Mesh, Soup};

#[derive(Debug, clap::Args)]
pub(super) struct Plate {
    /// The job files whose bodies are to be printed together
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// Folder for the files, made if it is not there
    #[arg(long, value_name = "DIR", default_value = ".")]
    out: PathBuf,
    /// How many of a body, or of all with ALL=N; 1 unless given, 0 leaves it out
    #[arg(long, value_name = "BODY=N")]
    copies: Vec<String>,
    /// Least distance of two bodies, mm
    #[arg(long, value_name = "MM", default_value_t = 4.0)]
    gap: f64,
    /// Least distance from the edge of the bed, mm
    #[arg(long, value_name = "MM", default_value_t = 5.0)]
    margin: f64,
    /// Turns about the upright that are tried, all around; 1 for none
    #[arg(long, value_name = "N", default_value_t = 24, value_parser = clap::value_parser!(u16).range(1..=360))]
    turns: u16,
    /// Leave each body on the side that its part states, even if another scores better
    #[arg(long)]
    as_stated: bool,
    /// Folder of your own profiles: DIR/cells.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
}

/// Longest line of a message, characters.
const WIDTH: usize = 100;

/// Largest gap and margin, mm.
const MOST_APART: f64 = 100.0;

/// A made job with what its packages say of it.
struct MadeJob {
    job: Job,
    made: Vec<Made>,
    fingerprint: String,
}

/// A printer and a material by their names, and all their numbers.
type Machine = (String, String, Vec<Option<u64>>);

/// What is printed on one machine in one material.
struct Group<'a> {
    jobs: Vec<&'a MadeJob>,
    bodies: Vec<(&'a MadeBody, Vec3)>,
}

impl Plate {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        for (what, value) in [("gap", self.gap), ("margin", self.margin)] {
            if !(0.0..=MOST_APART).contains(&value) {
                let text = format!("--{what} {value} mm is not between 0 and {MOST_APART} mm");
                return Err(Stop::bad_input(text, [format!("leave --{what} out for the default")]));
            }
        }
        let jobs = self.read(env)?;
        let copies = self.copies(&jobs)?;
        let mut staged = Staged::new(&self.out)?;
        let mut turned = Vec::new();
        let mut rows = vec![
            ["plate", "printer", "material", "bodies", "used mm", "bed covered", "files"]
                .map(str::to_owned)
                .to_vec(),
        ];
        let mut report = Vec::new();
        let mut number = 0;
        for ((printer, material, _), group) in self.groups(&jobs) {
            let meshes = group.bodies.iter().map(|(made, up)| printed(made, *up));
            let meshes = meshes.collect::<Result<Vec<_>, Stop>>()?;
            let pieces = group.bodies.iter().zip(&meshes).map(|((made, up), mesh)| Piece {
                name: &made.body.name,
                mesh,
                up: *up,
                stretch: made.stretch(),
                copies: copies.get(made.body.name.as_str()).copied().unwrap_or(1),
            });
            let pieces: Vec<Piece<'_>> = pieces.collect();
            let rules = self.rules(&group.jobs[0].job);
            for (made, up) in &group.bodies {
                let stated = made.up();
                if *up != stated && copies.get(made.body.name.as_str()) != Some(&0) {
                    turned.push((made.body.name.clone(), direction(*up), direction(stated)));
                }
            }
            let plates = lay_out(&pieces, &rules).map_err(|error| refused(&error))?;
            let prints: Vec<&str> = group.jobs.iter().map(|j| j.fingerprint.as_str()).collect();
            for plate in &plates {
                number += 1;
                let name = format!("plate-{number}");
                let metadata = vec![
                    ("Title", format!("{name}: {printer}, {material}")),
                    ("Application", concat!("borewright ", env!("CARGO_PKG_VERSION")).to_owned()),
                    ("Jobs", names(&group.jobs).join(", ")),
                    ("Fingerprints", prints.join(", ")),
                ];
                let files =
                    plate_files(&pieces, plate, rules.bed, &name, metadata).map_err(|error| {
                        Stop::Other {
                            exit: Exit::CannotBeMade,
                            what: error.to_string(),
                            hints: vec![
                                "a larger `chord` in [print] gives fewer, larger triangles"
                                    .to_owned(),
                            ],
                        }
                    })?;
                for (file, bytes) in &files {
                    staged.write(file, bytes)?;
                }
                let share = plate.covered / (rules.bed.x * rules.bed.y);
                rows.push(vec![
                    name.clone(),
                    printer.clone(),
                    material.clone(),
                    plate.bodies.len().to_string(),
                    format!("{:.1} x {:.1}", plate.used.x, plate.used.y),
                    format!("{:.1} %", 100.0 * share),
                    format!("{name}.{{3mf,stl,png}}"),
                ]);
                report.push(json(&pieces, plate, &name, (&printer, &material), &rules));
            }
        }
        let mut text = format!("{:#}", json!({ "plates": report }));
        text.push('\n');
        staged.write("plates.json", text.as_bytes())?;
        staged.commit()?;
        write_columns(env.out, &rows)?;
        for (name, up, stated) in turned {
            let text = format!(
                "note: {name} lies with {up} up, which scores better than {stated} up, the side that \
                 its part states and that `make` has checked"
            );
            write_hanging(env.err, &text, WIDTH)?;
            write_hanging(
                env.err,
                "  hint: --as-stated leaves all bodies as `make` checks them",
                WIDTH,
            )?;
        }
        Ok(())
    }

    fn read(&self, env: &mut Environment<'_>) -> Result<Vec<MadeJob>, Stop> {
        let mut jobs: Vec<MadeJob> = Vec::with_capacity(self.jobs.len());
        for path in &self.jobs {
            let job = read_job(path, self.profiles.as_deref(), env)?;
            let made = make(&job)?;
            let twice = bodies(&made)
                .find(|b| jobs.iter().any(|j| bodies(&j.made).any(|o| o.body.name == b.body.name)));
            if let Some(twice) = twice {
                let what =
                    format!("{} has a body {} as another job has", path.display(), twice.body.name);
                return Err(Stop::bad_input(
                    what,
                    ["give parts that are printed together names of their own".to_owned()],
                ));
            }
            let fingerprint = fingerprint(&job);
            jobs.push(MadeJob { job, made, fingerprint });
        }
        Ok(jobs)
    }

    /// Copies by name of body, where they are given.
    fn copies<'a>(&self, jobs: &'a [MadeJob]) -> Result<BTreeMap<&'a str, usize>, Stop> {
        let known: Vec<&str> =
            jobs.iter().flat_map(|j| bodies(&j.made)).map(|b| b.body.name.as_str()).collect();
        let mut copies = BTreeMap::new();
        for text in &self.copies {
            let parsed =
                text.split_once('=').and_then(|(n, c)| Some((n, c.parse::<usize>().ok()?)));
            let Some((name, count)) = parsed else {
                let what = format!("--copies {text} is no BODY=N");
                return Err(Stop::bad_input(
                    what,
                    ["as in --copies rod-cradle=3, or --copies ALL=2".to_owned()],
                ));
            };
            if name == "ALL" {
                copies.extend(known.iter().map(|name| (*name, count)));
                continue;
            }
            let Some(name) = known.iter().find(|k| **k == name) else {
                return Err(unknown("body", name, &known));
            };
            copies.insert(*name, count);
        }
        if known.iter().all(|name| copies.get(name) == Some(&0)) {
            let what = "no body is left to be printed";
            return Err(Stop::bad_input(what, ["give at least one body a copy".to_owned()]));
        }
        Ok(copies)
    }

    /// Bodies by printer and material, in the order of names: equal names with other numbers
    /// are others.
    fn groups<'a>(&self, jobs: &'a [MadeJob]) -> BTreeMap<Machine, Group<'a>> {
        let mut groups: BTreeMap<Machine, Group<'a>> = BTreeMap::new();
        for job in jobs {
            let [printer, material] =
                ["printer", "material"].map(|key| job.job.print().component(key));
            let name = |values: &Values| values.profile().unwrap_or("own").to_owned();
            let numbers = [printer, material].into_iter().flat_map(|values| {
                values.rows().iter().filter_map(|row| match row.kind {
                    Kind::Number { .. } => Some(values.maybe_number(row.key)),
                    _ => None,
                })
            });
            let numbers = numbers.map(|number| number.map(f64::to_bits)).collect();
            let group = groups
                .entry((name(printer), name(material), numbers))
                .or_insert_with(|| Group { jobs: Vec::new(), bodies: Vec::new() });
            group.jobs.push(job);
            for made in bodies(&job.made) {
                let up = if self.as_stated { made.up() } else { self::up(&job.job, made) };
                group.bodies.push((made, up));
            }
        }
        groups
    }

    fn rules(&self, job: &Job) -> PlateRules {
        let printer = job.print().component("printer");
        let bed = Vec2::new(printer.number("bed_x"), printer.number("bed_y"));
        PlateRules {
            gap: self.gap,
            margin: self.margin,
            turns: usize::from(self.turns),
            ..PlateRules::new(bed, printer.number("bed_z"))
        }
    }
}

fn bodies(made: &[Made]) -> impl Iterator<Item = &MadeBody> {
    made.iter().flat_map(|part| &part.bodies)
}

fn names(jobs: &[&MadeJob]) -> Vec<String> {
    let file = |job: &Job| {
        let name = job.source().name();
        name.rsplit(['/', '\\']).next().unwrap_or(name).to_owned()
    };
    jobs.iter().map(|j| file(&j.job)).collect()
}

/// The side that the body is best printed on.
fn up(job: &Job, made: &MadeBody) -> Vec3 {
    let analysis = Analysis::new(Soup::from(&made.mesh));
    let known = Known {
        solid: &made.body.solid,
        face_of: made.mesh.face_of(),
        declared: &made.body.declared,
    };
    best_up(&CheckContext {
        printer: job.print().component("printer"),
        material: job.print().component("material"),
        analysis: &analysis,
        remarks: &[],
        known: Some(known),
    })
}

/// The triangles to print with `up` upright.
fn printed(made: &MadeBody, up: Vec3) -> Result<Cow<'_, Mesh>, Stop> {
    let Some((compensation, drawn_in)) = &made.made_up else {
        return Ok(Cow::Borrowed(&made.mesh));
    };
    if up == made.up() {
        return Ok(Cow::Borrowed(drawn_in));
    }
    let anew = compensation.drawn_in(&made.body.solid, &made.mesh, up);
    anew.map(Cow::Owned).map_err(|error| Stop::Other {
        exit: Exit::CannotBeMade,
        what: format!("{} with {} up: {error}", made.body.name, direction(up)),
        hints: vec!["--as-stated leaves it as `make` checks it".to_owned()],
    })
}

fn refused(error: &PlateError) -> Stop {
    let hint = match error {
        PlateError::TooWide { .. } => {
            "make the part shorter, lay it on another side, or choose a printer with a larger bed"
        }
        PlateError::TooHigh { .. } => "lay it on another side: leave --as-stated out",
        _ => "lay them out in several runs",
    };
    Stop::Other { exit: Exit::CannotBeMade, what: error.to_string(), hints: vec![hint.to_owned()] }
}

fn json(
    pieces: &[Piece<'_>],
    plate: &Laid,
    name: &str,
    (printer, material): (&str, &str),
    rules: &PlateRules,
) -> Json {
    let body = |b: &crate::job::OnPlate| {
        let rows: Vec<[f64; 3]> = b.turn.row_iter().map(|r| [r[0], r[1], r[2]]).collect();
        json!({
            "body": pieces[b.piece].name,
            "copy": b.copy + 1,
            "turn": rows,
            "shift": b.shift.as_slice(),
        })
    };
    json!({
        "name": name,
        "printer": printer,
        "material": material,
        "unit": "mm",
        "bed": rules.bed.as_slice(),
        "gap": rules.gap,
        "margin": rules.margin,
        "used": plate.used.as_slice(),
        "covered_share": plate.covered / (rules.bed.x * rules.bed.y),
        "bodies": plate.bodies.iter().map(body).collect::<Vec<_>>(),
    })
}
