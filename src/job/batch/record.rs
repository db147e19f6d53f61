//! What is kept of each job of a batch: enough to know whether it is still
//! right, and its row in the summary.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::super::{Made, StagedError};

/// Name of the file that says what a folder holds. It is removed first and
/// written last, so a folder that has one is whole.
pub const RECORD: &str = "batch.json";

/// The format of [`Record`] that is read and written.
const FORMAT: u32 = 1;

/// How a job of a batch ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// All parts made, and no error-level finding that is not allowed.
    Made,
    /// All parts made, but a check says that one will not come out as drawn.
    MadeWithErrors,
    /// A part cannot be made as asked.
    Refused,
    /// The job, a profile or the table of variants is wrong.
    BadInput,
    /// The results could not be written.
    NotWritten,
    /// A fault of the program.
    Fault,
}

impl Outcome {
    /// All, from the best on.
    pub const ALL: [Outcome; 6] = [
        Outcome::Made,
        Outcome::MadeWithErrors,
        Outcome::Refused,
        Outcome::BadInput,
        Outcome::NotWritten,
        Outcome::Fault,
    ];

    /// Whether there are parts.
    pub fn is_made(self) -> bool {
        matches!(self, Outcome::Made | Outcome::MadeWithErrors)
    }

    /// The word for tables.
    pub fn word(self) -> &'static str {
        match self {
            Outcome::Made => "made",
            Outcome::MadeWithErrors => "made, with errors",
            Outcome::Refused => "refused",
            Outcome::BadInput => "bad input",
            Outcome::NotWritten => "not written",
            Outcome::Fault => "internal fault",
        }
    }
}

/// A body of a job of a batch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RecordBody {
    /// Its name.
    pub name: String,
    /// Volume of the exact solid, mm3.
    pub volume: f64,
    /// Mass printed solid, g.
    pub mass: f64,
    /// Error-level findings that are not allowed.
    pub errors: usize,
    /// Warnings of the checks.
    pub warnings: usize,
}

/// A file of a job of a batch.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecordFile {
    /// Its name.
    pub name: String,
    /// Its length, bytes.
    pub bytes: u64,
}

/// What is kept of a job of a batch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Format of the record.
    format: u32,
    /// Its folder below that of the batch, parts separated by `/`.
    pub name: String,
    /// Fields that a table of variants changed, with their values.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub values: Vec<(String, String)>,
    /// How it ended.
    pub outcome: Outcome,
    /// Of all that went in, see [`super::super::fingerprint`]; none if the job
    /// could not be read.
    pub fingerprint: Option<String>,
    /// Time stamp of the files.
    pub time: String,
    /// Version of the program that made it.
    pub version: String,
    /// Why it was not made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub message: Option<String>,
    /// What was made.
    pub bodies: Vec<RecordBody>,
    /// Its files, but this record.
    pub files: Vec<RecordFile>,
}

impl Record {
    /// A record of a job that has not been made.
    pub(super) fn new(name: &str, values: Vec<(String, String)>, time: &str) -> Record {
        Record {
            format: FORMAT,
            name: name.to_owned(),
            values,
            outcome: Outcome::Fault,
            fingerprint: None,
            time: time.to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            message: None,
            bodies: Vec::new(),
            files: Vec::new(),
        }
    }

    /// Takes down what was made.
    pub(super) fn made(&mut self, made: &[Made]) {
        use crate::checks::Severity;
        let bodies = made.iter().flat_map(|part| &part.bodies);
        self.bodies = bodies
            .map(|made| {
                let findings = made.checked.as_ref().map_or(&[][..], |c| &c.findings);
                RecordBody {
                    name: made.body.name.clone(),
                    volume: made.properties.volume,
                    mass: made.mass,
                    errors: findings.iter().filter(|f| f.blocks()).count(),
                    warnings: findings.iter().filter(|f| f.severity == Severity::Warning).count(),
                }
            })
            .collect();
        let errors = self.bodies.iter().any(|body| body.errors > 0);
        self.outcome = if errors { Outcome::MadeWithErrors } else { Outcome::Made };
    }

    /// The record of a folder, if it has one of this format.
    pub(super) fn read(folder: &Path) -> Option<Record> {
        let bytes = std::fs::read(folder.join(RECORD)).ok()?;
        serde_json::from_slice(&bytes).ok().filter(|record: &Record| record.format == FORMAT)
    }

    /// Its bytes.
    pub(super) fn bytes(&self) -> Vec<u8> {
        let mut text = serde_json::to_string_pretty(self).expect("a record has no odd keys");
        text.push('\n');
        text.into_bytes()
    }

    /// Whether all its files are in the folder, each as long as it should be.
    pub(super) fn is_whole(&self, folder: &Path) -> bool {
        self.files.iter().all(|file| {
            std::fs::metadata(folder.join(&file.name)).is_ok_and(|m| m.len() == file.bytes)
        })
    }

    /// Of a failed write.
    pub(super) fn not_written(mut self, error: &StagedError) -> Record {
        self.outcome = Outcome::NotWritten;
        self.message = Some(error.to_string());
        self.bodies.clear();
        self.files.clear();
        self
    }
}
