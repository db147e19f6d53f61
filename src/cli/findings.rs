//! Findings on the terminal, for all commands alike.

use std::collections::BTreeSet;
use std::io::{self, Write};

use super::Stop;
use super::table::write_wrapped;
use crate::checks::{Allowance, BadAllowance, Finding, Severity, WallSummary};
use crate::measure::number;

/// Width of lines of text.
const WIDTH: usize = 96;

/// Writes the walls of a body in one line.
pub(super) fn write_walls(out: &mut dyn Write, walls: &WallSummary) -> io::Result<()> {
    let least = walls.least.map_or_else(
        || format!("no wall below {} mm", number(walls.cap)),
        |v| format!("thinnest wall {v:.3} mm"),
    );
    writeln!(
        out,
        "{least}; {:.1} % of the surface below {} mm",
        // A rounding error below nothing is nothing.
        100.0 * walls.share_below.max(0.0) + 0.0,
        number(walls.limit)
    )
}

/// How much to tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Telling {
    /// Everything; sources and hints that were just told are not told again.
    Full,
    /// Errors, and of each check the first warning; limits without their
    /// source. The report has the rest.
    Brief,
}

/// Writes findings.
pub(super) fn write_findings<'a>(
    out: &mut dyn Write,
    findings: impl IntoIterator<Item = &'a Finding>,
    telling: Telling,
) -> io::Result<()> {
    let mut sources = BTreeSet::new();
    let mut last_hint = None;
    let mut warned: Option<(&str, usize)> = None;
    let more = |out: &mut dyn Write, warned: Option<(&str, usize)>| match warned {
        Some((check, n)) if n > 0 => writeln!(out, "  and {n} more of {check} in report.txt"),
        _ => Ok(()),
    };
    for f in findings {
        if telling == Telling::Brief && f.severity == Severity::Warning {
            if let Some((check, n)) = &mut warned
                && *check == f.check
            {
                *n += 1;
                continue;
            }
            more(out, warned)?;
            warned = Some((f.check, 0));
        }
        let text = format!("{} {}: {}", f.severity.word(), f.check, f.text);
        write_wrapped(out, &text, "", WIDTH)?;
        if let Some(from) = &f.limit_from {
            let source = f.limit_source.as_ref().filter(|_| telling == Telling::Full);
            let text = match source.filter(|source| sources.insert(*source)) {
                Some(source) => format!("limit: {from} ({source})"),
                None => format!("limit: {from}"),
            };
            write_wrapped(out, &text, "  ", WIDTH)?;
        }
        if let Some(hint) = &f.hint
            && last_hint != Some((f.check, hint))
        {
            write_wrapped(out, &format!("hint: {hint}"), "  ", WIDTH)?;
            last_hint = Some((f.check, hint));
        }
        if let Some(reason) = &f.allowed {
            write_wrapped(out, &format!("allowed: {reason}"), "  ", WIDTH)?;
        }
    }
    more(out, warned)
}

/// Reads the words behind `--allow`: a check's name and why its errors may
/// pass, as `wall=seen on a test print`.
pub(super) fn allowances(texts: &[String]) -> Result<Vec<Allowance>, Stop> {
    let one = |text: &String| {
        let (name, reason) = text.split_once('=').unwrap_or((text, ""));
        Allowance::new(name.trim(), None, reason).map_err(|bad| match bad {
            BadAllowance::UnknownCheck { ref hints, .. } => {
                Stop::bad_input(format!("--allow {text}: {bad}"), hints.clone())
            }
            BadAllowance::NoReason { check } => Stop::bad_input(
                format!("--allow {check} gives no reason"),
                [format!("write why it may pass: --allow '{check}=seen on a test print'")],
            ),
        })
    };
    texts.iter().map(one).collect()
}
