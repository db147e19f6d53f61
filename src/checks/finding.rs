//! What a check says.

use serde::Serialize;

use crate::measure::{Origin, Unit, Values, Vec3, number};

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Good to know.
    Note,
    /// Look at it before you print.
    Warning,
    /// It will not come out as drawn.
    Error,
}

impl Severity {
    /// The word for tables.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// The part of the body that a finding is about.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Region {
    /// The body as a whole.
    Body,
    /// These triangles of the mesh, by number, sorted.
    Triangles(Vec<u32>),
    /// All between two heights, mm.
    Heights {
        /// Lower end, mm.
        from: f64,
        /// Upper end, mm.
        to: f64,
    },
}

/// Where a finding is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Place {
    /// A point to look at, mm, if there is one.
    pub point: Option<[f64; 3]>,
    /// All of it.
    pub region: Region,
}

impl Place {
    /// The body as a whole.
    pub fn body() -> Place {
        Place { point: None, region: Region::Body }
    }

    /// A point with the triangles around it.
    pub fn triangles(at: Vec3, mut triangles: Vec<u32>) -> Place {
        triangles.sort_unstable();
        triangles.dedup();
        Place { point: Some(at.into()), region: Region::Triangles(triangles) }
    }

    /// A point with a range of heights.
    pub fn heights(at: Vec3, from: f64, to: f64) -> Place {
        Place { point: Some(at.into()), region: Region::Heights { from, to } }
    }
}

/// A limit and where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// The value.
    pub value: f64,
    /// Profile and field, or the rule, for people.
    pub from: String,
    /// Where the profile has its values from.
    pub source: Option<String>,
}

impl Limit {
    /// The value behind a key of a profile; none if it has none.
    pub fn of(values: &Values, key: &'static str) -> Option<Limit> {
        let value = values.maybe_number(key)?;
        let name = values.profile().unwrap_or("own");
        let (from, source) = match values.origin(key) {
            Origin::Written(_) => (format!("{key} of {name}, as written in the job"), None),
            Origin::Profile(..) | Origin::Default => {
                (format!("{key} of {name}"), values.maybe_text("source").map(str::to_owned))
            }
        };
        Some(Limit { value, from, source })
    }

    /// A limit of the check itself.
    pub fn own(value: f64, from: impl Into<String>) -> Limit {
        Limit { value, from: from.into(), source: None }
    }

    /// The same, from a profile with a source.
    pub fn with_source(mut self, source: Option<String>) -> Limit {
        self.source = source;
        self
    }
}

/// One thing that a check has found. Terminal, JSON and report are all made
/// from it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// Name of the check, as for `--allow`.
    pub check: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// Where.
    pub place: Place,
    /// What was measured, in `unit`; none where nothing is.
    pub measured: Option<f64>,
    /// What it is held against, in `unit`.
    pub limit: Option<f64>,
    /// Symbol of the unit; empty for counts and ratios.
    pub unit: &'static str,
    /// Profile field of the limit, or the rule.
    pub limit_from: Option<String>,
    /// Where the profile has it from.
    pub limit_source: Option<String>,
    /// What, with values and units.
    pub text: String,
    /// What to change.
    pub hint: Option<String>,
    /// Why it is allowed all the same, in the person's words.
    pub allowed: Option<String>,
}

impl Finding {
    /// A finding about the whole body, without numbers.
    pub fn new(check: &'static str, severity: Severity, text: impl Into<String>) -> Finding {
        Finding {
            check,
            severity,
            place: Place::body(),
            measured: None,
            limit: None,
            unit: "",
            limit_from: None,
            limit_source: None,
            text: text.into(),
            hint: None,
            allowed: None,
        }
    }

    /// The same at a place.
    pub fn at(mut self, place: Place) -> Finding {
        self.place = place;
        self
    }

    /// The same with what was measured.
    pub fn measured(mut self, value: f64, unit: Unit) -> Finding {
        self.measured = Some(value);
        self.unit = unit.symbol();
        self
    }

    /// The same with the limit.
    pub fn limit(mut self, limit: &Limit) -> Finding {
        self.limit = Some(limit.value);
        self.limit_from = Some(limit.from.clone());
        self.limit_source = limit.source.clone();
        self
    }

    /// The same with what to change.
    pub fn hint(mut self, hint: impl Into<String>) -> Finding {
        self.hint = Some(hint.into());
        self
    }

    /// The same with its point moved.
    pub(super) fn moved(mut self, to: impl Fn(Vec3) -> Vec3) -> Finding {
        self.place.point = self.place.point.map(|p| to(p.into()).into());
        self
    }

    /// Whether it stands in the way: an error that nobody has allowed.
    pub fn blocks(&self) -> bool {
        self.severity == Severity::Error && self.allowed.is_none()
    }
}

/// How many findings there are of each kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Errors that nobody has allowed.
    pub errors: usize,
    /// Errors that may pass.
    pub allowed: usize,
    /// Warnings.
    pub warnings: usize,
    /// Notes.
    pub notes: usize,
}

impl Tally {
    /// Counts findings.
    pub fn of<'a>(findings: impl IntoIterator<Item = &'a Finding>) -> Tally {
        let mut tally = Tally::default();
        for finding in findings {
            *match finding.severity {
                Severity::Error if finding.allowed.is_some() => &mut tally.allowed,
                Severity::Error => &mut tally.errors,
                Severity::Warning => &mut tally.warnings,
                Severity::Note => &mut tally.notes,
            } += 1;
        }
        tally
    }
}

/// "2 errors, 1 allowed error, 3 warnings, 1 note", without what there is none of.
impl std::fmt::Display for Tally {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let kinds = [
            (self.errors, "error"),
            (self.allowed, "allowed error"),
            (self.warnings, "warning"),
            (self.notes, "note"),
        ];
        let some = kinds.iter().filter(|(n, _)| *n > 0);
        let texts: Vec<String> =
            some.map(|(n, word)| format!("{n} {word}{}", if *n == 1 { "" } else { "s" })).collect();
        f.write_str(if texts.is_empty() { "nothing found" } else { "" })?;
        f.write_str(&texts.join(", "))
    }
}

/// A length as printed in texts: at most three decimals.
pub(super) fn short(value: f64) -> String {
    number((value * 1000.0).round() / 1000.0)
}

/// A point as printed in texts.
pub(super) fn point(p: Vec3) -> String {
    format!("({:.2}, {:.2}, {:.2})", p.x + 0.0, p.y + 0.0, p.z + 0.0)
}

/// A direction in words: `+x` and so on within half a degree, else its numbers.
pub fn direction(d: Vec3) -> String {
    let axes = [(d.x, 'x'), (d.y, 'y'), (d.z, 'z')];
    match axes.iter().find(|(v, _)| v.abs() > STRAIGHT) {
        Some((v, axis)) => format!("{}{axis}", if *v < 0.0 { '-' } else { '+' }),
        None => format!("({:.2}, {:.2}, {:.2})", d.x + 0.0, d.y + 0.0, d.z + 0.0),
    }
}

/// Cosine above which a direction is that of an axis, half a degree.
const STRAIGHT: f64 = 0.999_96;
