//! `borewright make`.

use std::collections::BTreeSet;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde_json::Value as Json;

use super::findings::{Telling, allowances, write_findings, write_walls};
use super::table::{write_columns, write_hanging};
use super::{Environment, Exit, Stop, read_job, stamp};
use crate::checks::{Allowance, Finding, Tally};
use crate::job::{FORMATS, Made, MadeBody, REPORT_JSON, Staged, check_made, files, make, page};
use crate::measure::did_you_mean;
use crate::parts::{Body, Message, Severity};

#[derive(Debug, clap::Args)]
pub(super) struct Make {
    /// The job file; `borewright new` writes one to start from
    job: PathBuf,
    /// Folder for the files, made if it is not there
    #[arg(long, value_name = "DIR", default_value = ".")]
    out: PathBuf,
    /// Folder of your own profiles: DIR/cells.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
    /// Let the errors of a check pass, for a reason that the report prints
    #[arg(long, value_name = "CHECK=REASON")]
    allow: Vec<String>,
}

impl Make {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<Exit, Stop> {
        let allowed = allowances(&self.allow)?;
        let job = read_job(&self.job, self.profiles.as_deref(), env)?;
        let stamp = stamp(&job, env)?;
        let mut staged = Staged::new(&self.out)?;
        let mut made = make(&job)?;
        say_strangers(allowed.iter().chain(job.allowed()), &made, env)?;
        check_made(&job, &mut made, &allowed);
        let files = files(&job, &made, &stamp).map_err(|error| Stop::Other {
            exit: Exit::CannotBeMade,
            what: error.to_string(),
            hints: vec!["a larger `chord` in [print] gives fewer, larger triangles".to_owned()],
        })?;
        for (name, bytes) in &files {
            staged.write(name, bytes)?;
        }
        staged.write(PAGE, page(&job, &made).as_bytes())?;
        let earlier = earlier_files(&self.out, &made);
        staged.commit()?;

        let bodies = || made.iter().flat_map(|part| &part.bodies);
        write_columns(env.out, &table(&made))?;
        let mut told = BTreeSet::new();
        for made in bodies() {
            say_findings(made, &mut told, env.out)?;
        }
        writeln!(env.out)?;
        say_messages(bodies(), env)?;
        say_earlier(&earlier, &self.out, env)?;
        let findings = bodies().filter_map(|b| b.checked.as_ref()).flat_map(|c| &c.findings);
        let tally = Tally::of(findings);
        let blocked = tally.errors > 0;
        let printer = job.print().component("printer").profile().unwrap_or("this printer");
        writeln!(env.out, "look at it in a browser: {}", self.out.join(PAGE).display())?;
        if blocked {
            writeln!(
                env.out,
                "will not print as drawn on {printer}; checks: {tally}; all files are written, but look at \
                 the errors first"
            )?;
        } else {
            writeln!(env.out, "can be printed on {printer}; checks: {tally}")?;
        }
        Ok(if blocked { Exit::CannotBeMade } else { Exit::Made })
    }
}

/// Allowances for bodies that the job does not make: they let nothing pass.
fn say_strangers<'a>(
    allowed: impl Iterator<Item = &'a Allowance>,
    made: &[Made],
    env: &mut Environment<'_>,
) -> io::Result<()> {
    let names = || made.iter().flat_map(|part| &part.bodies).map(|b| b.body.name.as_str());
    for body in allowed.filter_map(Allowance::body).filter(|body| !names().any(|n| n == *body)) {
        let near = did_you_mean(body, names()).map_or_else(String::new, |near| format!(": {near}"));
        let text = format!("warning: errors of {body} are allowed, and the job makes none{near}");
        write_hanging(env.err, &text, MESSAGE_WIDTH)?;
    }
    Ok(())
}

/// Print files in the folder of bodies that its report of the run before names, and that
/// are not `made` now, as after another name.
fn earlier_files(folder: &Path, made: &[Made]) -> Vec<String> {
    let Ok(report) = std::fs::read(folder.join(REPORT_JSON)) else { return Vec::new() };
    let report: Json = serde_json::from_slice(&report).unwrap_or_default();
    let list = |of: &Json, key: &str| of[key].as_array().cloned().unwrap_or_default();
    let now: BTreeSet<&str> =
        made.iter().flat_map(|part| &part.bodies).map(|b| b.body.name.as_str()).collect();
    let parts = list(&report, "parts");
    let bodies = parts.iter().flat_map(|part| list(part, "bodies"));
    bodies
        .filter_map(|body| body["name"].as_str().map(str::to_owned))
        .filter(|name| !now.contains(name.as_str()) && !name.contains(['/', '\\']))
        .flat_map(|name| FORMATS.iter().map(move |(extension, _)| format!("{name}.{extension}")))
        .filter(|file| folder.join(file).is_file())
        .collect()
}

/// Says that files of the run before are still there: nobody should print them.
fn say_earlier(files: &[String], folder: &Path, env: &mut Environment<'_>) -> io::Result<()> {
    if files.is_empty() {
        return Ok(());
    }
    let text = format!(
        "warning: {} holds files of bodies that the run before made, and this one does not: {}",
        folder.display(),
        files.join(", ")
    );
    write_hanging(env.err, &text, MESSAGE_WIDTH)?;
    let hint = "  hint: move them away, so that nobody prints them";
    write_hanging(env.err, hint, MESSAGE_WIDTH)
}

/// Warnings and cautions in full, each once with the bodies that it is about.
pub(super) fn say_messages<'a>(
    bodies: impl Iterator<Item = &'a MadeBody>,
    env: &mut Environment<'_>,
) -> io::Result<()> {
    let mut told: Vec<(&Message, Vec<&str>)> = Vec::new();
    for Body { name, messages, .. } in bodies.map(|made| &made.body) {
        for message in messages.iter().filter(|m| m.severity != Severity::Note) {
            match told.iter_mut().find(|(known, _)| *known == message) {
                Some((_, names)) => names.push(name),
                None => told.push((message, vec![name])),
            }
        }
    }
    for (message, names) in told {
        let word = if message.severity == Severity::Caution { "caution" } else { "warning" };
        let text = format!("{word}: {}: {}", names.join(", "), message.text);
        write_hanging(env.err, &text, MESSAGE_WIDTH)?;
        if let Some(hint) = &message.hint {
            write_hanging(env.err, &format!("  hint: {hint}"), MESSAGE_WIDTH)?;
        }
    }
    Ok(())
}

/// What the checks found that asks for a look; of notes, and of what was `told`
/// of a body before, how many there are.
pub(super) fn say_findings<'a>(
    made: &'a MadeBody,
    told: &mut BTreeSet<&'a str>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let Some(checked) = &made.checked else { return Ok(()) };
    write!(out, "\n{}: ", made.body.name)?;
    match &checked.walls {
        Some(walls) => write_walls(out, walls)?,
        None => writeln!(out, "too large to measure its walls")?,
    }
    let (notes, mut findings): (Vec<&Finding>, Vec<&Finding>) =
        checked.findings.iter().partition(|f| f.severity == crate::checks::Severity::Note);
    let all = findings.len();
    findings.retain(|f| f.blocks() || told.insert(&f.text));
    let again = all - findings.len();
    findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    write_findings(out, findings, Telling::Brief)?;
    if again > 0 {
        writeln!(out, "and {again} as said of a body above")?;
    }
    let said = made.body.messages.iter().filter(|m| m.severity == Severity::Note).count();
    match notes.len() + said {
        0 => Ok(()),
        1 => writeln!(out, "1 note in report.txt"),
        n => writeln!(out, "{n} notes in report.txt"),
    }
}

/// The report to look at.
const PAGE: &str = "report.html";

/// Longest line of a message, characters.
const MESSAGE_WIDTH: usize = 100;

/// One row per body: what a person compares with the printer and the drawer.
pub(super) fn table(made: &[Made]) -> Vec<Vec<String>> {
    let header = [
        "body",
        "kind",
        "x mm",
        "y mm",
        "z mm",
        "volume mm3",
        "mass g",
        "faces",
        "triangles",
        "files",
    ];
    let mut rows = vec![header.map(str::to_owned).to_vec()];
    for part in made {
        for body in &part.bodies {
            let size = body.bounds.1 - body.bounds.0;
            let extensions: Vec<&str> = FORMATS.iter().map(|(extension, _)| *extension).collect();
            rows.push(vec![
                body.body.name.clone(),
                part.kind.name.to_owned(),
                format!("{:.2}", size.x),
                format!("{:.2}", size.y),
                format!("{:.2}", size.z),
                format!("{:.1}", body.properties.volume),
                format!("{:.2}", body.mass),
                body.body.solid.faces().len().to_string(),
                body.mesh.triangles().len().to_string(),
                format!("{}.{{{}}}", body.body.name, extensions.join(",")),
            ]);
        }
    }
    rows
}
