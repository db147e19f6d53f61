//! The files of a job, as names and bytes.

use super::{Job, Made, MadeBody, report, text};
use crate::export::{StepHeader, StepProduct, StlError, step, stl};

/// A file to be written: its plain name and its bytes.
pub type NamedBytes = (String, Vec<u8>);

/// Every file of a job: for each body all of [`FORMATS`], and the report as `report.json` and `report.txt`.
/// `stamp` is the time stamp in them.
///
/// # Errors
/// A mesh that single precision cannot hold.
pub fn files(job: &Job, made: &[Made], stamp: &str) -> Result<Vec<NamedBytes>, StlError> {
    let mut out = Vec::new();
    for body in made.iter().flat_map(|part| &part.bodies) {
        for (extension, write) in FORMATS {
            out.push((format!("{}.{extension}", body.body.name), write(body, stamp)?));
        }
    }
    out.push(("report.txt".to_owned(), text(job, made, stamp).into_bytes()));
    let mut json = format!("{:#}", report(job, made, stamp));
    json.push('\n');
    out.push(("report.json".to_owned(), json.into_bytes()));
    Ok(out)
}

type Write = fn(&MadeBody, &str) -> Result<Vec<u8>, StlError>;

/// Formats that every body is written in, by extension.
pub const FORMATS: &[(&str, Write)] = &[("stl", write_stl), ("step", write_step)];

fn write_stl(made: &MadeBody, _stamp: &str) -> Result<Vec<u8>, StlError> {
    let header = format!("borewright: {}, mm", made.body.name);
    stl(made.mesh.vertices(), made.mesh.triangles(), &header)
}

fn write_step(made: &MadeBody, stamp: &str) -> Result<Vec<u8>, StlError> {
    let name = &made.body.name;
    let header = StepHeader {
        file_name: &format!("{name}.step"),
        time_stamp: stamp,
        description: "insert for a hollow prop handle; z along the bore from end cap to front, \
                      +y towards the switches",
    };
    Ok(step(&[StepProduct { name, solid: &made.body.solid }], &header).into_bytes())
}
