//! The files of a job, as names and bytes.

use super::{
    CardError, DrawingError, DrawingWishes, Job, Made, MadeBody, card, drawings, page, report,
    text, upright,
};
use crate::export::drawing::{Paper, pdf};
use crate::export::{
    Package, PackageError, PackageItem, PackageMesh, StepHeader, StepProduct, StlError, step, stl,
    threemf,
};
use crate::measure::Vec3;

/// A file to be written: its plain name and its bytes.
pub type NamedBytes = (String, Vec<u8>);

/// Why a body cannot be written in one of [`FORMATS`], or one of [`JOB_OUTPUTS`].
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FormatError {
    /// Single precision cannot hold its mesh.
    #[error(transparent)]
    Stl(#[from] StlError),
    /// Its mesh has triangles below a nanometre.
    #[error(transparent)]
    Package(#[from] PackageError),
    /// A body cannot be drawn.
    #[error(transparent)]
    Drawing(#[from] DrawingError),
    /// There is no card of the job.
    #[error(transparent)]
    Card(#[from] CardError),
}

/// Every file of a job: for each body all of [`FORMATS`], and those of [`JOB_OUTPUTS`] that are
/// written everywhere.
/// `stamp` is the time stamp in them.
///
/// # Errors
/// A mesh that one of the formats cannot hold.
pub fn files(job: &Job, made: &[Made], stamp: &str) -> Result<Vec<NamedBytes>, FormatError> {
    let mut out = Vec::new();
    for body in made.iter().flat_map(|part| &part.bodies) {
        out.extend(body_files(body, stamp)?);
    }
    for output in JOB_OUTPUTS.iter().filter(|output| output.everywhere) {
        out.push((output.name.to_owned(), (output.write)(job, made, stamp)?));
    }
    Ok(out)
}

/// What writes a file about a job, with the files' time stamp.
pub type WriteOfJob = fn(&Job, &[Made], &str) -> Result<Vec<u8>, FormatError>;

/// A file about a job as a whole.
#[derive(Clone, Copy, Debug)]
pub struct JobOutput {
    /// Its name.
    pub name: &'static str,
    /// What it is, for people.
    pub what: &'static str,
    /// Whether batches write it too.
    pub everywhere: bool,
    /// Writes it.
    pub write: WriteOfJob,
}

/// The drawings of all bodies in one file.
pub const DRAWINGS: &str = "drawings.pdf";

/// The report for programs.
pub const REPORT_JSON: &str = "report.json";

/// The card as a file to print.
pub const CARD_PDF: &str = "card.pdf";

/// Every file about a job as a whole, besides those of its bodies.
pub const JOB_OUTPUTS: &[JobOutput] = &[
    JobOutput {
        name: "report.html",
        what: "the report as a page, with the parts in 3D",
        everywhere: false,
        write: |job, made, _| Ok(page(job, made).into_bytes()),
    },
    JobOutput {
        name: "report.txt",
        what: "the report as a text, to print",
        everywhere: true,
        write: |job, made, stamp| Ok(text(job, made, stamp).into_bytes()),
    },
    JobOutput {
        name: REPORT_JSON,
        what: "the report for programs",
        everywhere: true,
        write: |job, made, stamp| Ok(format!("{:#}\n", report(job, made, stamp)).into_bytes()),
    },
    JobOutput {
        name: DRAWINGS,
        what: "drawings with dimensions, to check the prints with a caliper",
        everywhere: false,
        write: |job, made, stamp| {
            let wishes = DrawingWishes::default();
            let sheets = drawings(job, made, stamp, &wishes, &[])?.into_iter().map(|d| d.sheet);
            Ok(pdf(&sheets.collect::<Vec<_>>(), job.handle().name()))
        },
    },
    JobOutput {
        name: CARD_PDF,
        what: "the card for the prop's owner",
        everywhere: false,
        write: |job, made, stamp| Ok(pdf(&card(job, made, stamp, Paper::A4)?, job.handle().name())),
    },
];

/// A body in all of [`FORMATS`].
///
/// # Errors
/// A mesh that one of the formats cannot hold.
pub fn body_files(body: &MadeBody, stamp: &str) -> Result<Vec<NamedBytes>, FormatError> {
    let name = |extension| format!("{}.{extension}", body.body.name);
    FORMATS.iter().map(|(extension, write)| Ok((name(extension), write(body, stamp)?))).collect()
}

type Write = fn(&MadeBody, &str) -> Result<Vec<u8>, FormatError>;

/// Formats that every body is written in, by extension.
pub const FORMATS: &[(&str, Write)] =
    &[("stl", write_stl), ("step", write_step), ("3mf", write_3mf)];

/// The body as it lies in the handle, made up for the printer.
fn write_stl(made: &MadeBody, _stamp: &str) -> Result<Vec<u8>, FormatError> {
    let header = format!("borewright: {}, mm", made.body.name);
    if made.made_up.is_none() {
        return Ok(stl(made.mesh.vertices(), made.mesh.triangles(), &header)?);
    }
    let (mesh, to_bed) = made.to_print();
    let mesh = mesh.moved(&(upright(made.up()).transpose() * to_bed), Vec3::zeros());
    Ok(stl(mesh.vertices(), mesh.triangles(), &header)?)
}

fn write_step(made: &MadeBody, stamp: &str) -> Result<Vec<u8>, FormatError> {
    let name = &made.body.name;
    let header = StepHeader {
        file_name: &format!("{name}.step"),
        time_stamp: stamp,
        description: "insert for a hollow prop handle; z along the bore from end cap to front, \
                      +y towards the switches",
    };
    Ok(step(&[StepProduct { name, solid: &made.body.solid }], &header).into_bytes())
}

/// The body as it is printed, standing on the plate, in the corner where all coordinates are
/// positive, as the 3MF core specification wants its build.
fn write_3mf(made: &MadeBody, stamp: &str) -> Result<Vec<u8>, FormatError> {
    let name = &made.body.name;
    let (printed, turn) = made.to_print();
    let mesh = PackageMesh {
        name,
        vertices: printed.vertices(),
        triangles: printed.triangles(),
        colour: None,
    };
    let low = printed.moved(&turn, Vec3::zeros()).bounds().0;
    let item = PackageItem { mesh: 0, name: name.clone(), turn, shift: -low };
    Ok(threemf(&Package {
        metadata: vec![
            ("Title", name.clone()),
            ("Application", concat!("borewright ", env!("CARGO_PKG_VERSION")).to_owned()),
            ("CreationDate", stamp.to_owned()),
        ],
        meshes: vec![mesh],
        items: vec![item],
        thumbnail: None,
    })?)
}
