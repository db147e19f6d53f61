//! The report as plain text, to read and to print.

use std::fmt::Write;

use super::{Job, Made, MadeBody};
use crate::measure::number;
use crate::parts::Severity;

/// What was made, how large, why so, and what to mind: the same data as in
/// `report.json`, for people.
pub fn text(job: &Job, made: &[Made], stamp: &str) -> String {
    let mut out = String::new();
    let bore = job.handle().bore();
    let _ = writeln!(
        out,
        "{}\n{}\n\nBore: {} to {} mm as read, sure of {} mm\n{}",
        job.handle().name(),
        stamp,
        number(bore.smallest()),
        number(bore.largest()),
        number(bore.sure()),
        crate::measure::frame::FRAME
    );
    for part in made {
        for body in &part.bodies {
            about(&mut out, part.kind.name, body);
        }
    }
    out
}

fn about(out: &mut String, kind: &str, made: &MadeBody) {
    let body = &made.body;
    let title = format!("{} ({kind})", body.name);
    let size = made.bounds.1 - made.bounds.0;
    // Writing to a String cannot fail.
    let _ = writeln!(out, "\n{title}\n{}\n", "=".repeat(title.chars().count()));
    let _ = writeln!(
        out,
        "{:.2} x {:.2} x {:.2} mm, {:.1} mm3, {:.2} g printed solid, from z = {:.2} to {:.2} mm\n",
        size.x, size.y, size.z, made.properties.volume, made.mass, made.bounds.0.z, made.bounds.1.z
    );
    let wide = body.computed.iter().map(|c| c.what.chars().count()).max().unwrap_or(0);
    for c in &body.computed {
        // A thousandth is finer than anything that is printed or measured.
        let value = number((c.value * 1e3).round() / 1e3);
        let line = format!("  {:<wide$}  {value:>10} {}", c.what, c.unit.symbol());
        let _ = writeln!(out, "{}", line.trim_end());
    }
    for message in &body.messages {
        let severity = match message.severity {
            Severity::Note => "Note",
            Severity::Warning => "Warning",
            Severity::Caution => "Caution",
        };
        let _ = writeln!(out, "\n{severity}: {}", message.text);
        if let Some(hint) = &message.hint {
            let _ = writeln!(out, "  {hint}");
        }
    }
    for calculation in body.worked.iter().chain(&made.estimates) {
        let about = &calculation.about;
        let _ = writeln!(out, "\n{about}\n{}\n{}", "-".repeat(about.len()), calculation.worked);
    }
}
