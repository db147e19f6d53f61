//! `borewright check`.

use std::io;
use std::path::PathBuf;

use serde_json::{Value as Json, json};

use super::findings::{Telling, allowances, write_findings, write_walls};
use super::mesh_file::{read, unit_named};
use super::table::write_columns;
use super::{Environment, Exit, Stop, library, unknown};
use crate::checks::{
    Allowance, Analysis, CheckContext, Finding, Tally, WallSummary, check, wall_summary,
};
use crate::measure::{Library, Values, number};
use crate::mesh::{MeshFormat, ReadMesh};

#[derive(Debug, clap::Args)]
pub(super) struct Check {
    /// Meshes: STL (binary or text), 3MF, OBJ; z points up as they are to be printed
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// The printer, as `borewright profiles printers` lists them; needed
    #[arg(long, value_name = "NAME")]
    printer: Option<String>,
    /// The material, as `borewright profiles materials` lists them; needed
    #[arg(long, value_name = "NAME")]
    material: Option<String>,
    /// Folder of your own profiles: DIR/printers.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
    /// Unit of STL and OBJ files, which do not state it: um, mm, cm, m, inch, foot
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// As JSON
    #[arg(long)]
    json: bool,
    /// Let the errors of a check pass, for a reason that the report prints
    #[arg(long, value_name = "CHECK=REASON")]
    allow: Vec<String>,
}

/// One body with what was found.
struct Checked {
    name: String,
    triangles: usize,
    size: [f64; 3],
    walls: Option<WallSummary>,
    findings: Vec<Finding>,
}

/// One file with its bodies.
struct CheckedFile {
    path: String,
    format: MeshFormat,
    bodies: Vec<Checked>,
}

impl Check {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<Exit, Stop> {
        let library = library(self.profiles.as_deref(), env)?;
        let printer = profile(&library, "printers", "--printer", self.printer.as_deref())?;
        let material = profile(&library, "materials", "--material", self.material.as_deref())?;
        let unit = self.unit.as_deref().map(unit_named).transpose()?;
        let allowed = allowances(&self.allow)?;
        let mut files = Vec::new();
        for path in &self.files {
            let read = read(path, unit)?;
            let bodies = self.check_bodies(&read, printer, material, &allowed);
            files.push(CheckedFile {
                path: path.display().to_string(),
                format: read.format,
                bodies,
            });
        }
        let bodies = || files.iter().flat_map(|file| &file.bodies);
        let blocked = bodies().flat_map(|b| &b.findings).any(Finding::blocks);
        if self.json {
            let json = self.json(&files, blocked);
            writeln!(env.out, "{json:#}")?;
        } else {
            for file in &files {
                for body in &file.bodies {
                    print(env, file, body)?;
                }
            }
            writeln!(
                env.out,
                "{}: {} on {}",
                Tally::of(bodies().flat_map(|b| &b.findings)),
                if blocked { "will not print as drawn" } else { "can be printed" },
                printer.profile().unwrap_or_default()
            )?;
        }
        Ok(if blocked { Exit::CannotBeMade } else { Exit::Made })
    }

    fn check_bodies(
        &self,
        read: &ReadMesh,
        printer: &Values,
        material: &Values,
        allowed: &[Allowance],
    ) -> Vec<Checked> {
        let mut out = Vec::new();
        for (i, body) in read.bodies.iter().enumerate() {
            let triangles = body.soup.triangles().len();
            let (low, high) = body.soup.bounds();
            let analysis = Analysis::new(body.soup.clone());
            // What was odd about the file is told once.
            let remarks = if i == 0 { read.remarks.as_slice() } else { &[] };
            let context =
                CheckContext { printer, material, analysis: &analysis, remarks, known: None };
            let mut findings = check(&context);
            Allowance::apply(allowed, &body.name, &mut findings);
            let walls = (!analysis.beyond_measure()).then(|| wall_summary(&analysis, printer));
            let size = (high - low).into();
            out.push(Checked { name: body.name.clone(), triangles, size, walls, findings });
        }
        out
    }

    fn json(&self, files: &[CheckedFile], blocked: bool) -> Json {
        let body = |b: &Checked| {
            json!({
                "name": b.name,
                "triangles": b.triangles,
                "size": b.size,
                "walls": b.walls,
                "findings": b.findings,
            })
        };
        let file = |f: &CheckedFile| {
            json!({
                "path": f.path,
                "format": f.format,
                "bodies": f.bodies.iter().map(body).collect::<Vec<_>>(),
            })
        };
        json!({
            "printer": self.printer,
            "material": self.material,
            "printable": !blocked,
            "files": files.iter().map(file).collect::<Vec<_>>(),
        })
    }
}

fn print(env: &mut Environment<'_>, file: &CheckedFile, body: &Checked) -> io::Result<()> {
    let name = if body.name.is_empty() { String::new() } else { format!(" \"{}\"", body.name) };
    let [x, y, z] = body.size.map(|s| number((s * 100.0).round() / 100.0));
    writeln!(env.out, "{}{name}: {} triangles, {x} x {y} x {z} mm", file.path, body.triangles)?;
    if let Some(walls) = &body.walls {
        write_walls(env.out, walls)?;
    }
    let mut rows =
        vec![["", "check", "measured", "limit", "at x y z, mm"].map(str::to_owned).to_vec()];
    for f in &body.findings {
        let value = |v: Option<f64>| match v {
            Some(v) => format!("{} {}", number((v * 1000.0).round() / 1000.0), f.unit),
            None => String::new(),
        };
        let at =
            f.place.point.map_or_else(String::new, |[x, y, z]| format!("{x:.1} {y:.1} {z:.1}"));
        let severity = f.severity.word().to_owned();
        let limit = if f.limit.is_some() { value(f.limit) } else { String::new() };
        rows.push(vec![severity, f.check.to_owned(), value(f.measured), limit, at]);
    }
    if body.findings.is_empty() {
        writeln!(env.out, "nothing found")?;
    } else {
        write_columns(env.out, &rows)?;
    }
    writeln!(env.out)?;
    write_findings(env.out, &body.findings, Telling::Full)?;
    writeln!(env.out)
}

fn profile<'a>(
    library: &'a Library,
    family: &str,
    option: &str,
    name: Option<&str>,
) -> Result<&'a Values, Stop> {
    let Some(name) = name else {
        let names: Vec<&str> = library.names(family).collect();
        let hint = format!("one of: {}", names.join(", "));
        return Err(Stop::bad_input(format!("{option} NAME is missing"), [hint]));
    };
    library.profile(family, name).ok_or_else(|| {
        let names: Vec<&str> = library.names(family).collect();
        unknown(&format!("profile of {family}"), name, &names)
    })
}
