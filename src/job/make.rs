//! Makes the parts of a job.

use std::collections::BTreeMap;

use super::Job;
use crate::measure::{Fault, Faults, What};
use crate::parts::{Body, PartKind};

/// A made part.
#[derive(Clone, Debug)]
pub struct Made {
    /// Its kind.
    pub kind: &'static PartKind,
    /// Its name in the job.
    pub name: String,
    /// Its bodies; names are unique in the job.
    pub bodies: Vec<Body>,
}

/// Why parts could not be made: refusals, each of which points at its field.
#[derive(Clone, Debug, thiserror::Error)]
#[error("{0}")]
pub struct MakeError(pub Faults);

/// Makes all parts, in the order of the job.
///
/// # Errors
/// All refusals; then nothing is made.
pub fn make(job: &Job) -> Result<Vec<Made>, MakeError> {
    let mut faults = Faults::default();
    let mut made = Vec::new();
    let mut names: BTreeMap<String, String> = BTreeMap::new();
    for part in job.parts() {
        let context = job.context(part);
        let values = part.values();
        let refused = |reason: String| Fault::new(What::Refused { reason }, values.path());
        match (part.kind().make)(&context, values) {
            Ok(bodies) => {
                for body in &bodies {
                    if let Some(other) = names.insert(body.name.clone(), part.name().to_owned()) {
                        let name = &body.name;
                        let reason = format!("its body {name} has the name of one of part {other}");
                        let hint = "give one of the two parts another name";
                        faults.push(refused(reason).at(values.own_place()).hint(hint));
                    }
                }
                made.push(Made { kind: part.kind(), name: part.name().to_owned(), bodies });
            }
            Err(refusal) => {
                let mut fault = refused(refusal.what);
                fault.place = refusal.place.or(values.own_place());
                fault.field = refusal.field.unwrap_or(fault.field);
                fault.hints = refusal.hints;
                faults.push(fault);
            }
        }
    }
    faults.or_value(Some(made)).map_err(MakeError)
}
