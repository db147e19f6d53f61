//! The summary of a batch, as JSON and CSV; and how those of shares join.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Outcome, Record};

/// Rows of a batch, by the number of the job. The summary of all shares joined
/// is that of the whole, byte for byte.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Number of jobs of the whole batch.
    jobs: usize,
    rows: BTreeMap<usize, Record>,
}

/// Why summaries cannot be joined.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum BadSummary {
    /// A text that is no summary.
    #[error("is no summary of a batch: {0}")]
    NotOne(String),
    /// Shares of different batches.
    #[error("is of a batch of {found} jobs, the first of one of {first}")]
    OtherBatch {
        /// Jobs of this one's batch.
        found: usize,
        /// Jobs of the first one's.
        first: usize,
    },
    /// Two shares with different results for one job.
    #[error("says other things of job {job}, {name}, than one before it")]
    Disagree {
        /// Number of the job, from 1.
        job: usize,
        /// Its name.
        name: String,
    },
}

impl Summary {
    /// Of a batch of so many jobs, without rows yet.
    pub fn new(jobs: usize) -> Summary {
        Summary { jobs, rows: BTreeMap::new() }
    }

    /// Puts in the row of a job, by its number from 0.
    pub fn put(&mut self, index: usize, record: Record) {
        self.rows.insert(index, record);
    }

    /// All rows with their numbers.
    pub fn rows(&self) -> impl Iterator<Item = (usize, &Record)> {
        self.rows.iter().map(|(index, record)| (*index, record))
    }

    /// Jobs that have no row, because another share has them.
    pub fn missing(&self) -> usize {
        self.jobs - self.rows.len().min(self.jobs)
    }

    /// How many ended so.
    pub fn count(&self, outcome: Outcome) -> usize {
        self.rows.values().filter(|record| record.outcome == outcome).count()
    }

    /// From [`Summary::json`].
    ///
    /// # Errors
    /// The text is no summary.
    pub fn read(text: &str) -> Result<Summary, BadSummary> {
        let summary: Summary =
            serde_json::from_str(text).map_err(|e| BadSummary::NotOne(e.to_string()))?;
        match summary.rows.keys().next_back() {
            Some(last) if *last >= summary.jobs => {
                Err(BadSummary::NotOne(format!("row {last} of {} jobs", summary.jobs)))
            }
            _ => Ok(summary),
        }
    }

    /// Takes in the rows of another share.
    ///
    /// # Errors
    /// The shares are of different batches, or disagree; nothing is taken then.
    pub fn join(&mut self, other: Summary) -> Result<(), BadSummary> {
        if other.jobs != self.jobs {
            return Err(BadSummary::OtherBatch { found: other.jobs, first: self.jobs });
        }
        for (index, record) in &other.rows {
            if self.rows.get(index).is_some_and(|known| known != record) {
                return Err(BadSummary::Disagree { job: index + 1, name: record.name.clone() });
            }
        }
        self.rows.extend(other.rows);
        Ok(())
    }

    /// All of it as JSON.
    pub fn json(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).expect("no odd keys");
        text.push('\n');
        text
    }

    /// One line a job: number, name, outcome, bodies, mass, errors, warnings,
    /// first line of the message, then the fields that tables changed.
    pub fn csv(&self) -> String {
        let mut fields: Vec<&str> = Vec::new();
        for (field, _) in self.rows.values().flat_map(|record| &record.values) {
            if !fields.contains(&field.as_str()) {
                fields.push(field);
            }
        }
        let mut out = csv::Writer::from_writer(Vec::new());
        let fixed = ["job", "name", "outcome", "bodies", "mass_g", "errors", "warnings", "message"];
        let header = fixed.into_iter().chain(fields.iter().copied());
        out.write_record(header).expect("memory takes all bytes");
        for (index, record) in &self.rows {
            // A sum of nothing would be minus zero.
            let mass: f64 = record.bodies.iter().fold(0.0, |sum, body| sum + body.mass);
            let errors: usize = record.bodies.iter().map(|body| body.errors).sum();
            let warnings: usize = record.bodies.iter().map(|body| body.warnings).sum();
            let message = record.message.as_deref().unwrap_or("").lines().next().unwrap_or("");
            let fixed = [
                (index + 1).to_string(),
                record.name.clone(),
                record.outcome.word().to_owned(),
                record.bodies.len().to_string(),
                format!("{mass:.3}"),
                errors.to_string(),
                warnings.to_string(),
                message.to_owned(),
            ];
            let value = |field: &&str| {
                let found = record.values.iter().find(|(known, _)| known == field);
                found.map_or(String::new(), |(_, value)| value.clone())
            };
            let row = fixed.into_iter().chain(fields.iter().map(value));
            out.write_record(row).expect("memory takes all bytes");
        }
        String::from_utf8(out.into_inner().expect("memory takes all bytes")).expect("all is text")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn summary(jobs: usize, rows: impl IntoIterator<Item = usize>) -> Summary {
        let mut summary = Summary::new(jobs);
        for index in rows {
            let values = vec![("part[1].fit".to_owned(), format!("\"{index}\""))];
            let mut record = Record::new(&format!("rods/{index}"), values, "1970-01-01T00:00:00");
            record.message = Some("no, really\nsecond line".into());
            summary.put(index, record);
        }
        summary
    }

    #[test]
    fn shares_join_to_the_whole_in_any_order() {
        let whole = summary(12, 0..12);
        let mut joined = summary(12, (1..12).step_by(3));
        assert_eq!(joined.missing(), 8);
        for start in [2, 0] {
            let text = summary(12, (start..12).step_by(3)).json();
            joined.join(Summary::read(&text).expect("a summary")).expect("one batch");
        }
        assert_eq!((joined.json(), joined.csv()), (whole.json(), whole.csv()));
        assert_eq!(joined.missing(), 0);
        assert_eq!(joined.count(Outcome::Fault), 12);
        let line = "2,rods/1,internal fault,0,0.000,0,0,\"no, really\",\"\"\"1\"\"\"";
        assert_eq!(whole.csv().lines().nth(2), Some(line));
    }

    #[test]
    fn what_does_not_belong_together_is_refused() {
        let mut first = summary(4, [0, 1]);
        assert_eq!(first.join(summary(5, [2])), Err(BadSummary::OtherBatch { found: 5, first: 4 }));
        let mut other = summary(4, [1, 2]);
        other.rows.get_mut(&1).expect("there").outcome = Outcome::Made;
        let wrong = Err(BadSummary::Disagree { job: 2, name: "rods/1".into() });
        assert_eq!(first.join(other), wrong);
        assert_eq!(first, summary(4, [0, 1]), "nothing taken");
        for text in ["", "{}", "[1]", "{\"jobs\":1,\"rows\":{\"x\":1}}"] {
            assert!(matches!(Summary::read(text), Err(BadSummary::NotOne(_))), "{text}");
        }
        let text = summary(4, [3]).json().replacen("\"jobs\": 4", "\"jobs\": 3", 1);
        assert!(matches!(Summary::read(&text), Err(BadSummary::NotOne(_))), "{text}");
    }
}
