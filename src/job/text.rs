//! The report as plain text, to read and to print.

use std::fmt::Write;

use super::digest::{
    LIGHT_MODEL, groups, kind_of, light_rows, look_first, made_up_for, verdict, word,
};
use super::{Checked, Job, Made, MadeBody};
use crate::checks::{Finding, FitRow, direction};
use crate::measure::{columns, number, wrapped};
use crate::parts::{Body, Calculation, Message};

/// Width of its lines, characters.
const WIDTH: usize = 96;

/// What was made, how large, why so, and what to mind: the same data as in
/// `report.json`, for people. The verdict comes first, then each body, then
/// the calculations step by step, then the sources.
pub fn text(job: &Job, made: &[Made], stamp: &str) -> String {
    let mut report = Report::default();
    report.heading(job.handle().name(), '=');
    // Without a time given from outside, the stamp is a constant that says nothing.
    if !stamp.starts_with("1970-01-01T00:00:00") {
        report.line(&format!("Made {stamp}"));
    }
    report.summary(job, made);
    report.frame(job);
    for part in made {
        for body in &part.bodies {
            report.body(part.kind.name, body);
        }
    }
    report.calculations(made);
    report.sources();
    report.out
}

/// The text so far, and the sources that it cites by number.
#[derive(Default)]
struct Report<'a> {
    out: String,
    cited: Vec<&'a str>,
}

impl<'a> Report<'a> {
    fn line(&mut self, text: &str) {
        self.out.push_str(text);
        self.out.push('\n');
    }

    fn heading(&mut self, text: &str, under: char) {
        let rule: String = std::iter::repeat_n(under, text.chars().count()).collect();
        let before = if self.out.is_empty() { "" } else { "\n" };
        self.line(&format!("{before}{text}\n{rule}"));
    }

    /// An item of a list, and what hangs below it.
    fn item(&mut self, text: &str) {
        self.out.push_str(&wrapped(text, "  - ", "    ", WIDTH));
    }

    fn below(&mut self, text: &str) {
        self.out.push_str(&wrapped(text, "      ", "        ", WIDTH));
    }

    /// The number of a source in the list at the end.
    fn cite(&mut self, source: &'a str) -> String {
        let at = self.cited.iter().position(|s| *s == source).unwrap_or_else(|| {
            self.cited.push(source);
            self.cited.len() - 1
        });
        format!("[{}]", at + 1)
    }

    /// The verdict, the table of bodies, and what to look at first.
    fn summary(&mut self, job: &Job, made: &'a [Made]) {
        self.heading("Summary", '-');
        self.line(&format!("{}.\n", verdict(job, made)));
        let header = ["body", "kind", "size, mm", "printed", "mass"].map(str::to_owned).to_vec();
        let rows = made.iter().flat_map(|part| {
            part.bodies.iter().map(|body| {
                let size = body.bounds.1 - body.bounds.0;
                let up = body.body.declared.up.map_or_else(|| "+z".to_owned(), direction);
                vec![
                    body.body.name.clone(),
                    part.kind.name.to_owned(),
                    format!("{:.2} x {:.2} x {:.2}", size.x, size.y, size.z),
                    format!("{up} up"),
                    format!("{:.2} g", body.mass),
                ]
            })
        });
        let rows: Vec<Vec<String>> = std::iter::once(header).chain(rows).collect();
        self.out.push_str(&columns(&rows, "  "));
        self.look_first(made);
    }

    /// What to look at first, in short.
    fn look_first(&mut self, made: &'a [Made]) {
        let items = look_first(made);
        if items.is_empty() {
            return;
        }
        self.line("\nLook at these first; more of each stands with its body below.");
        for item in items {
            self.item(&format!("{}: {}: {}", item.bodies.join(", "), item.kind, item.text));
        }
    }

    fn frame(&mut self, job: &Job) {
        self.heading("The handle", '-');
        let bore = job.handle().bore();
        self.line(&format!(
            "Bore: {} to {} mm as read, sure of {} mm.",
            number(bore.smallest()),
            number(bore.largest()),
            number(bore.sure())
        ));
        self.line(crate::measure::frame::FRAME.trim_end());
    }

    fn body(&mut self, kind: &str, made: &'a MadeBody) {
        let body = &made.body;
        self.heading(&format!("{} ({kind})", body.name), '=');
        let size = made.bounds.1 - made.bounds.0;
        self.line(&format!(
            "{:.2} x {:.2} x {:.2} mm, {:.1} mm3, {:.2} g printed solid, from z = {:.2} to {:.2} mm",
            size.x,
            size.y,
            size.z,
            made.properties.volume,
            made.mass,
            made.bounds.0.z,
            made.bounds.1.z
        ));
        if let Some(up) = body.declared.up {
            let up = direction(up);
            let text = format!(
                "Printed with {up} up: so it was checked, and so the 3MF stands; STL and STEP lie as \
                 in the handle, with +z up."
            );
            self.out.push_str(&wrapped(&text, "", "", WIDTH));
        }
        if let Some((made_up, _)) = &made.made_up {
            self.out.push_str(&wrapped(&made_up_for(made_up), "", "", WIDTH));
        }
        self.computed(body);
        self.messages(&body.messages);
        if let Some(checked) = &made.checked {
            self.fits(&checked.fits);
            self.sight(checked);
            self.checks(checked);
        }
    }

    fn computed(&mut self, body: &Body) {
        if body.computed.is_empty() {
            return;
        }
        self.line("");
        let wide = body.computed.iter().map(|c| c.what.chars().count()).max().unwrap_or(0);
        for c in &body.computed {
            // A thousandth is finer than anything that is printed or measured.
            let value = number((c.value * 1e3).round() / 1e3);
            let line = format!("  {:<wide$}  {value:>10} {}", c.what, c.unit.symbol());
            self.line(line.trim_end());
        }
    }

    /// What the part says, the gravest first.
    fn messages(&mut self, messages: &[Message]) {
        let mut sorted: Vec<&Message> = messages.iter().collect();
        sorted.sort_by_key(|m| std::cmp::Reverse(m.severity));
        if !sorted.is_empty() {
            self.heading("To mind", '-');
        }
        for message in sorted {
            self.item(&format!("{}: {}", word(message.severity), message.text));
            if let Some(hint) = &message.hint {
                self.below(hint);
            }
        }
    }

    /// Every declared gap: nominal, ranges, odds, and what spreads it most.
    fn fits(&mut self, rows: &[FitRow]) {
        if rows.is_empty() {
            return;
        }
        self.heading("Fits, mm (odds in 100)", '-');
        for row in rows {
            self.line(&format!("  {}", row.what));
            self.line(&format!(
                "    gap {:.2}; {:.2} to {:.2} at worst; {:.2} to {:.2} root of squares",
                row.nominal, row.worst[0], row.worst[1], row.rss[0], row.rss[1]
            ));
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
            self.out.push_str(&wrapped(&parts.join("; "), "    ", "      ", WIDTH));
        }
    }

    /// What shows of a lamp, and where its light goes.
    fn sight(&mut self, checked: &Checked) {
        let Some(shown) = &checked.sight else { return };
        self.heading(&format!("Light, by {} rays (standard error)", shown.rays), '-');
        let rows = light_rows(shown);
        let wide = rows.iter().map(|(what, _)| what.len()).max().unwrap_or(0);
        for (what, share) in rows {
            self.line(&format!("  {what:<wide$}  {:>7.2} % ({:.2})", share.percent, share.error));
        }
        self.line(&format!("  {LIGHT_MODEL}"));
    }

    /// What the checks found: all of it, with limits and their sources.
    fn checks(&mut self, checked: &'a Checked) {
        self.heading("Checks", '-');
        if let Some(walls) = &checked.walls {
            let least = match (walls.least, walls.at) {
                (Some(least), Some([x, y, z])) => {
                    format!("thinnest wall {least:.3} mm at ({x:.2}, {y:.2}, {z:.2})")
                }
                _ => format!("no wall below {} mm", number(walls.cap)),
            };
            let share = 100.0 * walls.share_below.max(0.0) + 0.0;
            let limit = number(walls.limit);
            self.line(&format!("  {least}; {share:.1} % of the surface below {limit} mm"));
        }
        if checked.findings.is_empty() {
            self.line("  nothing found");
        }
        let mut all: Vec<Vec<&'a Finding>> = groups(&checked.findings).collect();
        all.sort_by_key(|group| std::cmp::Reverse(group[0].severity));
        for group in all {
            let first = group[0];
            if group.len() == 1 {
                self.item(&format!("{}: {}", kind_of(first), first.text));
            } else {
                self.item(&format!("{}:", kind_of(first)));
                for f in &group {
                    self.below(&f.text);
                }
            }
            if let Some(from) = &first.limit_from {
                let source = first.limit_source.as_deref().map(|source| self.cite(source));
                let source = source.map_or_else(String::new, |number| format!(" {number}"));
                self.below(&format!("limit: {from}{source}"));
            }
            for (word, text) in [("hint", &first.hint), ("allowed", &first.allowed)] {
                if let Some(text) = text {
                    self.below(&format!("{word}: {text}"));
                }
            }
        }
    }

    /// Every calculation step by step, for who wants to check it.
    fn calculations(&mut self, made: &'a [Made]) {
        self.heading("How the sizes came about", '=');
        self.line("Every calculation, step by step. `borewright work` repeats any of them.");
        let mut told: Vec<(&'a Calculation, &'a str)> = Vec::new();
        for body in made.iter().flat_map(|part| &part.bodies) {
            let name = &body.body.name;
            for calculation in body.body.worked.iter().chain(&body.estimates) {
                self.heading(&format!("{name}: {}", calculation.about), '-');
                match told.iter().find(|(other, _)| *other == calculation) {
                    Some((_, other)) => self.line(&format!("As for {other}.")),
                    None => {
                        let _ = writeln!(self.out, "{}", calculation.worked);
                        told.push((calculation, name));
                    }
                }
            }
        }
    }

    fn sources(&mut self) {
        if self.cited.is_empty() {
            return;
        }
        self.heading("Sources of limits", '=');
        for (i, source) in std::mem::take(&mut self.cited).into_iter().enumerate() {
            self.out.push_str(&wrapped(source, &format!("[{}] ", i + 1), "    ", WIDTH));
        }
    }
}
