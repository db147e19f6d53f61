//! Which measurement would make the fits of a job surer.

use crate::checks::{Gain, gains};
use crate::job::Made;

/// Gains below this are not worth a word: odds of one in a thousand. Common practice,
/// no source.
const LEAST: f64 = 0.001;

/// A measurement that would help.
#[derive(Clone, Debug, PartialEq)]
pub struct Help {
    /// Path of the job's field.
    pub field: String,
    /// What is uncertain.
    pub term: String,
    /// How far it may be off now, either way, mm.
    pub half: f64,
    /// Sum over all gaps of the odds, 0 to 1, that go away if its error is halved.
    pub gain: f64,
    /// The gap that gains most: body, what meets what, odds now and then.
    pub most: (String, String, f64, f64),
}

/// What would help, the best first.
pub(super) fn helps(made: &[Made]) -> Vec<Help> {
    let mut all: Vec<Help> = Vec::new();
    for body in made.iter().flat_map(|part| &part.bodies) {
        for Gain { field, term, half, fit, risk, then } in gains(&body.body.declared) {
            let gain = risk - then;
            let most = (body.body.name.clone(), fit, risk, then);
            match all.iter_mut().find(|help| help.field == field) {
                None => all.push(Help { field, term, half, gain, most }),
                Some(help) => {
                    if gain > help.most.2 - help.most.3 {
                        (help.term, help.half, help.most) = (term, half, most);
                    }
                    help.gain += gain;
                }
            }
        }
    }
    all.retain(|help| help.gain >= LEAST);
    all.sort_by(|a, b| b.gain.total_cmp(&a.gain).then_with(|| a.field.cmp(&b.field)));
    all
}
