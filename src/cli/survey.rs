//! `borewright survey`.

use std::io;
use std::path::{Path, PathBuf};

use serde_json::{Value as Json, json};

use super::mesh_file::{read, unit_named};
use super::table::{write_columns, write_hanging};
use super::{Environment, Stop, file_in};
use crate::job::Staged;
use crate::measure::number;
use crate::mesh::{ReadMesh, Soup};
use crate::survey::{
    ANGLE_STEP, Cavity, CavitySection, FileAxis, Mouth, OutsideStep, Survey as Found, SurveyPlan,
    USUAL_GRID, USUAL_LEAST, USUAL_STEP, survey,
};

/// Measure a chassis that somebody else made.
///
/// Reports the outside along z, the cavities with their width (along x), depth (along y) and
/// openings, and the largest cylinder and box along z that fit into each. Openings are named by
/// clocking: 0 is +y, 90 is -x, counter-clockwise seen from the front. All bodies of a file are
/// measured as one.
#[derive(Debug, clap::Args)]
pub(super) struct Survey {
    /// The mesh: STL (binary or text), 3MF, OBJ
    #[arg(value_name = "MESH")]
    file: PathBuf,
    /// The mesh's axis that runs along the bore: y becomes x and z becomes y for x, z becomes x
    /// and x becomes y for y
    #[arg(long, default_value = "z", value_parser = FileAxis::WORDS)]
    axis: String,
    /// Unit of STL and OBJ files, which do not state it: um, mm, cm, m, inch, foot
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// From this height, mm; left out, from the mesh's low end
    #[arg(long, value_name = "Z", allow_negative_numbers = true)]
    from: Option<f64>,
    /// To this height, mm; left out, to the mesh's high end
    #[arg(long, value_name = "Z", allow_negative_numbers = true)]
    to: Option<f64>,
    /// Step along z, mm: where a cavity begins and ends is known to within it
    #[arg(long, value_name = "MM", default_value_t = USUAL_STEP)]
    step: f64,
    /// Grid on which what fits is sought, mm
    #[arg(long, value_name = "MM", default_value_t = USUAL_GRID)]
    grid: f64,
    /// Smallest width of a cavity that counts, mm
    #[arg(long, value_name = "MM", default_value_t = USUAL_LEAST)]
    least: f64,
    /// Also write everything, step by step
    #[arg(long, value_name = "FILE.json|FILE.csv")]
    out: Option<PathBuf>,
}

/// What is written beside the table.
#[derive(Clone, Copy, PartialEq)]
enum Format {
    Json,
    Csv,
}

/// Diameters and sizes that differ by less, mm, are shown as one: what a caliper
/// tells apart.
const ALIKE: f64 = 0.02;

/// Widest line of the notes, characters.
const WIDTH: usize = 92;

impl Survey {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        // What cannot be written is told before the work.
        let out = self.out.as_deref().map(placed).transpose()?;
        let unit = self.unit.as_deref().map(unit_named).transpose()?;
        let mesh = read(&self.file, unit)?;
        let (remarks, soup) = self.turned(mesh);
        let triangles = soup.triangles().len();
        let plan = SurveyPlan {
            from: self.from,
            to: self.to,
            step: self.step,
            grid: self.grid,
            least: self.least,
        };
        let found = survey(&soup, &plan).map_err(|e| Stop::bad_input(e.to_string(), [e.hint()]))?;
        for remark in remarks {
            writeln!(env.err, "note: {remark}")?;
        }
        self.print(env, &found, triangles)?;
        if let Some((mut staged, name, format)) = out {
            let bytes = match format {
                Format::Json => format!("{:#}\n", self.json(&found, triangles)).into_bytes(),
                Format::Csv => csv_of(&found)?,
            };
            staged.write(&name, &bytes)?;
            for path in staged.commit()? {
                writeln!(env.out, "\n{}", path.display())?;
            }
        }
        Ok(())
    }

    /// All bodies as one, with the axis along z.
    fn turned(&self, mesh: ReadMesh) -> (Vec<String>, Soup) {
        let remarks = mesh.remarks.into_iter().map(|r| r.text).collect();
        let soup = Soup::joined(mesh.bodies.into_iter().map(|b| b.soup));
        (remarks, FileAxis::named(&self.axis).upright(soup))
    }

    fn json(&self, found: &Found, triangles: usize) -> Json {
        json!({
            "path": self.file.display().to_string(),
            "triangles": triangles,
            "file_axis": self.axis,
            "box_angle_step": ANGLE_STEP,
            "survey": found,
        })
    }

    fn print(&self, env: &mut Environment<'_>, found: &Found, triangles: usize) -> io::Result<()> {
        let [x, y] = found.axis.map(hundredths);
        writeln!(
            env.out,
            "{}: {triangles} triangles, z = {} to {} mm",
            self.file.display(),
            hundredths(found.from),
            hundredths(found.to)
        )?;
        writeln!(
            env.out,
            "fits a circle of {} mm about x = {x}, y = {y}\n",
            hundredths(found.diameter)
        )?;
        write_columns(env.out, &outside_rows(&found.outside))?;
        writeln!(env.out)?;
        if found.cavities.is_empty() {
            writeln!(env.out, "no cavity is {} mm wide or more", number(found.least))?;
        } else {
            write_columns(env.out, &cavity_rows(&found.cavities))?;
        }
        writeln!(env.out)?;
        for note in notes(found) {
            write_hanging(env.out, &note, WIDTH)?;
        }
        Ok(())
    }
}

/// What the numbers mean, and how far they can be trusted.
fn notes(found: &Found) -> Vec<String> {
    let mut notes = Vec::new();
    if !found.closed {
        notes.push(
            "warning: the surface is open or its triangles face both ways, so what is material \
             there is a guess: `borewright check` says where"
                .to_owned(),
        );
    }
    if found.turned_over {
        notes.push("note: the mesh was inside out and was turned over".to_owned());
    }
    let step = number(found.step);
    notes.push(format!(
        "note: cylinders and boxes run along z over the whole cavity and touch nothing of the \
         mesh; boxes are tried every {ANGLE_STEP} degrees. They are sought on a grid of {} mm; \
         ends of cavities are known to within {step} mm. Leave a clearance.",
        number(found.grid)
    ));
    notes
}

fn outside_rows(steps: &[OutsideStep]) -> Vec<Vec<String>> {
    let mut rows = vec![["z from", "to", "outside diameter"].map(str::to_owned).to_vec()];
    let mut i = 0;
    while i < steps.len() {
        let first = steps[i];
        let (mut low, mut high) = (first.diameter, first.diameter);
        let mut end = i + 1;
        while let Some(next) = steps.get(end) {
            let (l, h) = (low.min(next.diameter), high.max(next.diameter));
            if h - l > ALIKE || next.from > steps[end - 1].to {
                break;
            }
            (low, high) = (l, h);
            end += 1;
        }
        rows.push(vec![
            hundredths(first.from),
            hundredths(steps[end - 1].to),
            format!("{high:.2}"),
        ]);
        i = end;
    }
    rows
}

fn cavity_rows(cavities: &[Cavity]) -> Vec<Vec<String>> {
    let head = ["cavity", "z from", "to", "width", "depth", "open", "cylinder", "at", "box", "at"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for (i, cavity) in cavities.iter().enumerate() {
        let of = |size: fn(&CavitySection) -> f64| span(cavity.sections.iter().map(size));
        let tenth = |v: f64| (v * 10.0).round() / 10.0 + 0.0;
        let at = |x: f64, y: f64| format!("{:.1} {:.1}", tenth(x), tenth(y));
        let (round, place) = cavity.cylinder.map_or_else(Default::default, |c| {
            (format!("{:.2} x {:.1}", c.diameter, c.length), at(c.x, c.y))
        });
        let (edges, middle) = cavity.fitting_box.map_or_else(Default::default, |b| {
            let turn =
                if b.turn == 0.0 { String::new() } else { format!(" at {} deg", number(b.turn)) };
            (format!("{:.2} x {:.2} x {:.1}{turn}", b.width, b.depth, b.length), at(b.x, b.y))
        });
        rows.push(vec![
            (i + 1).to_string(),
            hundredths(cavity.from),
            hundredths(cavity.to),
            of(|s| s.width),
            of(|s| s.depth),
            openings(cavity),
            round,
            place,
            edges,
            middle,
        ]);
    }
    rows
}

/// Least and most of a size over the cavity.
fn span(sizes: impl Iterator<Item = f64>) -> String {
    let (low, high) =
        sizes.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| (l.min(s), h.max(s)));
    if high - low <= ALIKE { format!("{low:.2}") } else { format!("{low:.2}-{high:.2}") }
}

/// Where a cavity opens, as where most of its length does.
fn openings(cavity: &Cavity) -> String {
    let open = cavity.sections.iter().filter(|s| !s.mouths.is_empty()).count();
    if open == 0 {
        return "enclosed".to_owned();
    }
    let widest = cavity.sections.iter().max_by(|a, b| widths(a).total_cmp(&widths(b)));
    let mouths: Vec<String> = widest.into_iter().flat_map(|s| &s.mouths).map(side).collect();
    let part = if open == cavity.sections.len() { "" } else { " (part)" };
    format!("{}{part}", mouths.join(", "))
}

fn widths(section: &CavitySection) -> f64 {
    section.mouths.iter().map(|m| m.width).sum()
}

/// A side by its name where it is one, else by its clocking; with its width.
fn side(mouth: &Mouth) -> String {
    const NAMES: [&str; 4] = ["+y", "-x", "-y", "+x"];
    let quarter = (mouth.clocking / 90.0).round();
    let place = if (mouth.clocking - 90.0 * quarter).abs() <= SQUARE {
        NAMES[quarter as usize % NAMES.len()].to_owned()
    } else {
        format!("{:.0} deg", mouth.clocking)
    };
    format!("{place} {:.1}", mouth.width)
}

/// An opening this near to an axis is named by it, degrees: what the grid tells
/// apart.
const SQUARE: f64 = 2.0;

fn hundredths(value: f64) -> String {
    number((value * 100.0).round() / 100.0 + 0.0)
}

/// One line for each step of each cavity.
fn csv_of(found: &Found) -> Result<Vec<u8>, Stop> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let unwritten = |error: csv::Error| Stop::Output(io::Error::other(error));
    let head =
        ["cavity", "z_mm", "width_mm", "depth_mm", "area_mm2", "open_clocking_deg", "mouth_mm"];
    writer.write_record(head).map_err(unwritten)?;
    for (i, cavity) in found.cavities.iter().enumerate() {
        for s in &cavity.sections {
            let all = |of: fn(&Mouth) -> f64| {
                let texts: Vec<String> = s.mouths.iter().map(|m| hundredths(of(m))).collect();
                texts.join(" ")
            };
            let row = [
                (i + 1).to_string(),
                number(s.z),
                number(s.width),
                number(s.depth),
                number(s.area),
                all(|m| m.clocking),
                all(|m| m.width),
            ];
            writer.write_record(row).map_err(unwritten)?;
        }
    }
    writer.into_inner().map_err(|error| Stop::Output(io::Error::other(error.to_string())))
}

/// Where a file is written, and as what.
fn placed(path: &Path) -> Result<(Staged, String, Format), Stop> {
    let format = path.extension().and_then(|e| e.to_str()).and_then(|extension| {
        let known = [("json", Format::Json), ("csv", Format::Csv)];
        known.into_iter().find(|(name, _)| extension.eq_ignore_ascii_case(name))
    });
    let (Some((folder, name)), Some((_, format))) = (file_in(path), format) else {
        let what = format!("{} is no name for a survey", path.display());
        return Err(Stop::bad_input(what, ["give a name as survey.json or survey.csv".to_owned()]));
    };
    let staged = Staged::new(folder)?;
    Ok((staged, name, format))
}
