//! Test prints of a job as they are kept beside it.

use serde::{Deserialize, Serialize};

use super::super::FORMAT;
use super::super::fingerprint::digest;
use super::LARGEST;
use crate::correct::Sat;
use crate::measure::{Axis, Measured, Source};

/// One test print as it is kept beside the job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Print {
    /// SHA-256 of the file with its readings.
    pub digest: String,
    /// Name of the printer's profile, and of the material's.
    pub printer: String,
    /// Name of the material's profile.
    pub material: String,
    /// Growth of the printer, mm, that the files made up for.
    pub growth: f64,
    /// Scales that they made up for.
    pub scales: [f64; 3],
    /// Whether small holes were drawn larger.
    pub holes_drawn: bool,
    /// The caliper's limit of error, mm.
    pub caliper: f64,
    /// What was read.
    pub sizes: Vec<PrintSize>,
    /// What was tried.
    pub sat: Vec<PrintSat>,
}

impl Print {
    /// Whether its words are known and its numbers those of a print.
    fn is_whole(&self) -> bool {
        let can_be = |value: &f64| value.is_finite() && value.abs() <= LARGEST;
        let of_size = |size: &PrintSize| {
            let axis = size.axis.as_deref().is_none_or(|axis| Axis::of(axis).is_some());
            let known = axis && Measured::of(&size.what).is_some() && !size.readings.is_empty();
            known && size.readings.iter().chain([&size.nominal]).all(can_be)
        };
        let scales = self.scales.iter().all(|scale| *scale > 0.0 && can_be(scale));
        let sat = self.sat.iter().all(|sat| can_be(&sat.clearance) && can_be(&sat.drawn));
        let sizes = self.sizes.iter().all(of_size);
        scales && sat && sizes && [self.growth, self.caliper].iter().all(can_be)
    }
}

/// A size that was read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrintSize {
    /// Body and key.
    pub body: String,
    /// Its key in the report.
    pub key: String,
    /// A word of [`Measured`].
    pub what: String,
    /// A word of [`Axis`]; none for what is round.
    pub axis: Option<String>,
    /// The size as drawn, mm.
    pub nominal: f64,
    /// The readings, mm.
    pub readings: Vec<f64>,
}

/// A body that was tried in the bore.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrintSat {
    /// The body.
    pub body: String,
    /// How it sat.
    pub how: Sat,
    /// The word of its fit.
    pub fit: String,
    /// Its clearance on the diameter as printed, mm: as drawn, less what its outside was
    /// read too large.
    pub clearance: f64,
    /// Its clearance as drawn, mm.
    pub drawn: f64,
    /// Whether the outside was read.
    pub read: bool,
}

/// All test prints of a job, the oldest first.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct History {
    /// The format of this file.
    pub format: i64,
    /// The prints.
    pub prints: Vec<Print>,
}

impl Default for History {
    /// That of a job without test prints.
    fn default() -> History {
        History { format: FORMAT, prints: Vec::new() }
    }
}

impl History {
    /// Reads what was kept.
    ///
    /// # Errors
    /// Why it is none.
    pub fn read(text: &str) -> Result<History, String> {
        let history: History = serde_json::from_str(text).map_err(|error| error.to_string())?;
        if history.format != FORMAT {
            return Err(format!("format {} is not known here", history.format));
        }
        if !history.prints.iter().all(Print::is_whole) {
            return Err("a print has a size or a number that cannot be".to_owned());
        }
        Ok(history)
    }

    /// As a text to keep.
    pub fn text(&self) -> String {
        let json = serde_json::to_value(self).expect("numbers, words and lists");
        format!("{json:#}\n")
    }

    /// Whether the readings of a file are among them.
    pub fn has(&self, source: &Source) -> bool {
        let digest = digest(source.text().as_bytes());
        self.prints.iter().any(|print| print.digest == digest)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn print() -> Print {
        Print {
            digest: "a".into(),
            printer: "fdm-medium".into(),
            material: "petg".into(),
            growth: 0.0,
            scales: [1.0; 3],
            holes_drawn: true,
            caliper: 0.02,
            sizes: vec![PrintSize {
                body: "ring".into(),
                key: "outside".into(),
                what: "outside".into(),
                axis: None,
                nominal: 31.0,
                readings: vec![31.1],
            }],
            sat: Vec::new(),
        }
    }

    #[test]
    fn a_history_is_read_as_it_was_kept_and_nothing_else_is() {
        let history = History { prints: vec![print()], ..History::default() };
        assert_eq!(History::read(&history.text()), Ok(history.clone()));
        let spoilt = |from: &str, to: &str| {
            let text = history.text();
            assert_eq!(text.matches(from).count(), 1, "{from} is there once");
            History::read(&text.replace(from, to))
        };
        for (from, to) in [
            ("\"format\": 1", "\"format\": 2"),
            ("\"what\": \"outside\"", "\"what\": \"weight\""),
            ("\"axis\": null", "\"axis\": \"w\""),
            ("\"nominal\": 31.0", "\"nominal\": 1e300"),
            ("\"growth\": 0.0", "\"growth\": \"much\""),
        ] {
            assert!(spoilt(from, to).is_err(), "{to}");
        }
    }
}
