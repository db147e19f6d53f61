//! Errors that may pass, for a reason.

use super::{CHECKS, Finding};
use crate::measure::did_you_mean;

/// Errors of one check that may pass, in the person's words why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Allowance {
    check: &'static str,
    body: Option<String>,
    reason: String,
}

/// Why an allowance is none.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadAllowance {
    /// There is no such check.
    #[error("there is no check {name:?}")]
    UnknownCheck {
        /// As written.
        name: String,
        /// What was probably meant, and all names.
        hints: Vec<String>,
    },
    /// It does not say why.
    #[error("it gives no reason why errors of {check} may pass")]
    NoReason {
        /// The check.
        check: &'static str,
    },
}

impl Allowance {
    /// An allowance for a check by its name; for one body, or for all.
    ///
    /// # Errors
    /// No such check, or an empty reason.
    pub fn new(check: &str, body: Option<&str>, reason: &str) -> Result<Allowance, BadAllowance> {
        let Some(known) = CHECKS.iter().find(|known| known.name == check) else {
            let names: Vec<&str> = CHECKS.iter().map(|check| check.name).collect();
            let near = did_you_mean(check, names.iter().copied());
            let hints = near.into_iter().chain([format!("known: {}", names.join(", "))]);
            return Err(BadAllowance::UnknownCheck {
                name: check.to_owned(),
                hints: hints.collect(),
            });
        };
        match reason.trim() {
            "" => Err(BadAllowance::NoReason { check: known.name }),
            reason => Ok(Allowance {
                check: known.name,
                body: body.map(str::to_owned),
                reason: reason.to_owned(),
            }),
        }
    }

    /// The body whose errors alone may pass, if it names one.
    pub fn body(&self) -> Option<&str> {
        self.body.as_deref()
    }

    /// Notes the reason on every error that it lets pass; the first of
    /// several allowances counts.
    pub fn apply(allowed: &[Allowance], body: &str, findings: &mut [Finding]) {
        for finding in findings.iter_mut().filter(|f| f.blocks()) {
            let fits = |a: &&Allowance| {
                a.check == finding.check && a.body.as_deref().is_none_or(|b| b == body)
            };
            finding.allowed = allowed.iter().find(fits).map(|a| a.reason.clone());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Severity;
    use super::*;

    #[test]
    fn only_errors_of_the_named_check_and_body_pass() {
        let allowed = [Allowance::new("wall", Some("tray"), " seen on a print ").expect("good")];
        let all = || {
            vec![
                Finding::new("wall", Severity::Error, "thin"),
                Finding::new("wall", Severity::Warning, "thin"),
                Finding::new("gap", Severity::Error, "narrow"),
            ]
        };
        let (mut tray, mut other) = (all(), all());
        Allowance::apply(&allowed, "tray", &mut tray);
        Allowance::apply(&allowed, "cover", &mut other);
        let reasons: Vec<_> = tray.iter().map(|f| f.allowed.as_deref()).collect();
        assert_eq!(reasons, [Some("seen on a print"), None, None]);
        assert!(other.iter().all(|f| f.allowed.is_none()));
    }

    #[test]
    fn what_is_no_allowance_is_refused() {
        let unknown = Allowance::new("wal", None, "x").unwrap_err();
        assert!(matches!(&unknown, BadAllowance::UnknownCheck { hints, .. }
            if hints[0].contains("did you mean wall")));
        let empty = Allowance::new("wall", None, "  ").unwrap_err();
        assert_eq!(empty, BadAllowance::NoReason { check: "wall" });
    }
}
