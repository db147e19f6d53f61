//! The report as plain text, to read and to print.

use std::fmt::Write;

use super::{Checked, Job, Made, MadeBody};
use crate::checks::{FitRow, direction};
use crate::correct::{Axis, Compensation, LARGEST_DRAWN_HOLE};
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
    if let Some(up) = body.declared.up {
        let up = direction(up);
        let _ = writeln!(
            out,
            "Printed with {up} up: so it was checked, and so the 3MF stands; STL and STEP lie as in \
             the handle, with +z up.\n"
        );
    }
    if let Some((made_up, _)) = &made.made_up {
        let _ = writeln!(out, "{}\n", made_up_for(made_up));
    }
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
    if let Some(checked) = &made.checked {
        fits(out, &checked.fits);
        checks(out, checked);
    }
    for calculation in body.worked.iter().chain(&made.estimates) {
        let about = &calculation.about;
        let _ = writeln!(out, "\n{about}\n{}\n{}", "-".repeat(about.len()), calculation.worked);
    }
}

/// What the print files make up for, in words.
fn made_up_for(made_up: &Compensation) -> String {
    let mut parts = Vec::new();
    if made_up.growth != 0.0 {
        let way = if made_up.growth < 0.0 { "out" } else { "in" };
        let holes = match made_up.holes_drawn {
            true => format!(
                " but those of round upright holes of up to {} mm, which are drawn larger as it is",
                number(LARGEST_DRAWN_HOLE)
            ),
            false => String::new(),
        };
        let growth = number(made_up.growth.abs());
        parts.push(format!("their upright walls are drawn {way} by {growth} mm{holes}"));
    }
    let scales = made_up.scales.map(|s| (s != 1.0).then(|| number(s)));
    let axes = scales.iter().zip(Axis::WORDS);
    let axes: Vec<String> =
        axes.filter_map(|(s, axis)| Some(format!("{} along {axis}", s.as_ref()?))).collect();
    if !axes.is_empty() {
        parts.push(format!("lengths are divided by {} of the printer", axes.join(", ")));
    }
    let turned = match made_up.scales.x != made_up.scales.y {
        true => {
            " Turned about the upright, the STL and the body's own 3MF would fit the printer's x \
                 and y no more: `plate` makes up for it as the bodies lie."
        }
        false => "",
    };
    format!(
        "STL and 3MF make up for the printer: {}. STEP, checks and all sizes here are as wanted.\
         {turned}",
        parts.join("; ")
    )
}

/// Every declared gap: nominal, ranges, odds, and what spreads it most.
fn fits(out: &mut String, rows: &[FitRow]) {
    if rows.is_empty() {
        return;
    }
    let _ = writeln!(out, "\nFits, mm (odds in 100)\n----------------------");
    for row in rows {
        let _ = writeln!(out, "  {}", row.what);
        let _ = writeln!(
            out,
            "    gap {:.2}; {:.2} to {:.2} at worst; {:.2} to {:.2} root of squares",
            row.nominal, row.worst[0], row.worst[1], row.rss[0], row.rss[1]
        );
        let odds = |odds: f64| match 100.0 * odds {
            none if none < 0.05 => "less than 0.1".to_owned(),
            some => format!("{some:.1}"),
        };
        let binds = row.binds_below.map(|b| format!("binds below {b:.2}: {}", odds(row.binds)));
        let rattles =
            row.rattles_above.map(|r| format!("rattles above {r:.2}: {}", odds(row.rattles)));
        let most = row.dominant.as_ref().zip(row.dominant_percent);
        let most = most.map(|(what, percent)| format!("{percent:.0} % of the spread: {what}"));
        let parts: Vec<String> = binds.into_iter().chain(rattles).chain(most).collect();
        let _ = writeln!(out, "    {}", parts.join("; "));
    }
}

/// What the checks found: all of it, with limits and their sources.
fn checks(out: &mut String, checked: &Checked) {
    let _ = writeln!(out, "\nChecks\n------");
    if let Some(walls) = &checked.walls {
        let least = match (walls.least, walls.at) {
            (Some(least), Some([x, y, z])) => {
                format!("thinnest wall {least:.3} mm at ({x:.2}, {y:.2}, {z:.2})")
            }
            _ => format!("no wall below {} mm", number(walls.cap)),
        };
        let share = 100.0 * walls.share_below.max(0.0);
        let limit = number(walls.limit);
        let _ = writeln!(out, "  {least}; {share:.1} % of the surface below {limit} mm");
    }
    if checked.findings.is_empty() {
        let _ = writeln!(out, "  nothing found");
    }
    for f in &checked.findings {
        let _ = writeln!(out, "  {} {}: {}", f.severity.word(), f.check, f.text);
        let lines = [("limit", &f.limit_from), ("hint", &f.hint), ("allowed", &f.allowed)];
        for (word, text) in lines {
            if let Some(text) = text {
                let _ = writeln!(out, "    {word}: {text}");
            }
        }
    }
}
