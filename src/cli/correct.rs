//! `borewright correct`: what a printer does to sizes, from readings of test prints.

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde_json::{Value as Json, json};

use super::table::{write_columns, write_hanging};
use super::{Environment, Exit, Stop, library, named_file, read_file};
use crate::correct::{Correction, Effect, FitError, Fitted, SizeRow, fit};
use crate::job::{
    MeasuredProfile, PRINTERS_FILE, ProfileError, Readings, Staged, measured_profile,
};
use crate::measure::{Axis, Measured, Source, number};

/// Width of lines of text.
const WIDTH: usize = 96;
/// Length that the effect of a scale is shown on, mm.
const SHOWN_ON: f64 = 100.0;

#[derive(Debug, clap::Args)]
pub(super) struct Correct {
    /// Sizes of test prints as read: a TOML file with format, printer and [[size]] tables
    readings: PathBuf,
    /// Where to add the profile: a folder of your own profiles, or a file ending in .toml
    #[arg(long, value_name = "DIR or FILE")]
    out: Option<PathBuf>,
    /// Folder of your own profiles: DIR/printers.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

impl Correct {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<Exit, Stop> {
        let library = library(self.profiles.as_deref(), env)?;
        let source = read_file(&self.readings)?;
        let readings = Readings::read(&source, &library)
            .map_err(|faults| Stop::Faults(faults, Exit::BadInput))?;
        let fitted = fit(readings.sizes(), readings.caliper(), readings.made_up().as_ref())
            .map_err(unfitted)?;
        let doubts = doubts(&readings, &fitted);
        if self.json {
            writeln!(env.out, "{:#}", as_json(&readings, &fitted))?;
        } else {
            write_fitted(env.out, &readings, &fitted)?;
        }
        for doubt in &doubts {
            write_hanging(env.err, &format!("doubtful: {doubt}"), WIDTH)?;
        }
        if !doubts.is_empty() {
            write_hanging(
                env.err,
                "no profile is written: read these again; where a reading stands, give its [[size]] \
                 sure = true; where it does not, take it out",
                WIDTH,
            )?;
            return Ok(Exit::CannotBeMade);
        }
        match &self.out {
            Some(out) => self.write(out, &readings, &fitted, env)?,
            None => writeln!(env.err, "hint: --out DIR adds it to your own profiles")?,
        }
        Ok(Exit::Made)
    }

    /// Adds the profile to a file, which is then replaced as a whole.
    fn write(
        &self,
        out: &Path,
        readings: &Readings,
        fitted: &Fitted,
        env: &mut Environment<'_>,
    ) -> Result<(), Stop> {
        let is_file = out.extension().is_some_and(|extension| extension == "toml");
        let path = if is_file { out.to_owned() } else { out.join(PRINTERS_FILE) };
        let there = path.exists().then(|| read_file(&path)).transpose()?;
        let stamp = crate::job::epoch_day(env.epoch.as_deref()).map_err(|error| {
            Stop::bad_input(error.to_string(), ["leave it out, or give whole seconds".to_owned()])
        })?;
        let day = readings.date().or(stamp.as_deref());
        let file = self.readings.display().to_string();
        let profile = measured_profile(readings, fitted, there.as_ref(), &file, day)
            .map_err(|error| unwritten(error, &path))?;
        put(&path, &profile)?;
        say_written(env, &path, &profile, there.as_ref())
    }
}

fn put(path: &Path, profile: &MeasuredProfile) -> Result<(), Stop> {
    let (folder, name) = named_file(path)?;
    let mut staged = Staged::new(folder)?;
    staged.write(&name, profile.text.as_bytes())?;
    staged.commit()?;
    Ok(())
}

fn say_written(
    env: &mut Environment<'_>,
    path: &Path,
    profile: &MeasuredProfile,
    there: Option<&Arc<Source>>,
) -> Result<(), Stop> {
    for remark in &profile.remarks {
        write_hanging(env.err, &format!("note: {remark}"), WIDTH)?;
    }
    let done = if there.is_some() { "added to" } else { "written to" };
    writeln!(env.err, "profile {} {done} {}", profile.name, path.display())?;
    let named_so = path.file_name().is_some_and(|name| name == PRINTERS_FILE);
    let (folder, _) = named_file(path)?;
    let folder = folder.display();
    if named_so {
        writeln!(
            env.err,
            "\nhint: give --profiles {folder} and, in a job, printer = \"{}\"",
            profile.name
        )?;
    } else {
        writeln!(env.err, "\nhint: --profiles reads it from a file called {PRINTERS_FILE}")?;
    }
    Ok(())
}

fn unwritten(error: ProfileError, path: &Path) -> Stop {
    let what = format!("{}: {error}", path.display());
    match error {
        ProfileError::Faulty(faults) => Stop::Faults(faults, Exit::BadInput),
        ProfileError::Taken { .. } => {
            let hint = "give another `name` in the readings, or take the profile out of the file";
            Stop::bad_input(what, [hint.to_owned()])
        }
        ProfileError::BadName { .. } => {
            Stop::bad_input(what, ["give a `name` in the readings".to_owned()])
        }
    }
}

fn unfitted(error: FitError) -> Stop {
    let hints = match &error {
        FitError::TooFewRows { wanted, .. } if wanted.is_empty() => {
            vec!["read any of the sizes on a second print, as a row of its own".to_owned()]
        }
        FitError::TooFewRows { wanted, .. } => vec![
            format!("also read {}", proposed(wanted)),
            "and some sizes on a second print, as rows of their own".to_owned(),
        ],
        _ => vec!["leave some out".to_owned()],
    };
    Stop::Other { exit: Exit::CannotBeMade, what: error.to_string(), hints }
}

/// Rows and readings that do not go with the others, each as a sentence.
fn doubts(readings: &Readings, fitted: &Fitted) -> Vec<String> {
    let mut doubts = Vec::new();
    let name = |row: usize| {
        let line = readings.line(row).map_or_else(String::new, |line| format!(", line {line}"));
        format!("{}{line}", readings.sizes()[row].name)
    };
    for slip in fitted.slips.iter().filter(|slip| !readings.is_sure(slip.row)) {
        let row = &readings.sizes()[slip.row];
        doubts.push(format!(
            "{}: reading {} of {}, {} mm, does not go with the others of its row ({:.1} standard \
             deviations off)",
            name(slip.row),
            slip.reading + 1,
            row.readings.len(),
            number(row.readings[slip.reading]),
            slip.t.abs()
        ));
    }
    for (i, judged) in fitted.rows.iter().enumerate() {
        let Some((t, _)) = judged.t.filter(|_| judged.is_outlier() && !readings.is_sure(i)) else {
            continue;
        };
        doubts.push(format!(
            "{}: {:.3} mm on average, where the other sizes say {:.3} ({:.1} standard deviations \
             off)",
            name(i),
            judged.mean,
            judged.fitted,
            t.abs()
        ));
    }
    doubts
}

fn write_fitted(out: &mut dyn Write, readings: &Readings, fitted: &Fitted) -> io::Result<()> {
    let count: usize = readings.sizes().iter().map(|size| size.readings.len()).sum();
    let printer = readings.printer().profile().unwrap_or("a printer of its own");
    writeln!(out, "{} sizes, {count} readings, {printer}\n", readings.sizes().len())?;
    let mut rows = vec![["", "value", "+/-", "95 of 100", ""].map(str::to_owned).to_vec()];
    rows.extend(Effect::ALL.map(|effect| effect_row(effect, fitted)));
    let (low, high) = fitted.scatter_interval;
    rows.push(vec![
        "scatter of sizes".into(),
        format!("{:.3} mm", fitted.scatter),
        String::new(),
        format!("{low:.3} to {high:.3}"),
        format!("95 of 100 sizes within {:.2} mm of these", 2.0 * fitted.scatter),
    ]);
    write_columns(out, &rows)?;
    let within = fitted.within.map_or_else(
        || "each size was read once".to_owned(),
        |within| format!("readings of one size spread by {within:.3} mm"),
    );
    writeln!(
        out,
        "\n+/- is the standard uncertainty; {} degrees of freedom; {within}; caliper within {} mm",
        fitted.freedom,
        number(readings.caliper())
    )?;
    let names = |effects: &[Effect]| {
        let names: Vec<&str> = effects.iter().map(|e| e.what()).collect();
        names.join(", ")
    };
    let (confused, unmet) = (fitted.confused(), fitted.unmet());
    if !confused.is_empty() {
        let names = names(&confused);
        write_hanging(out, &format!("cannot be told apart by these sizes: {names}"), WIDTH)?;
    }
    if !unmet.is_empty() {
        write_hanging(out, &format!("nothing was read that shows: {}", names(&unmet)), WIDTH)?;
    }
    if !fitted.wanted.is_empty() {
        write_hanging(out, &format!("to know all, also read {}", proposed(&fitted.wanted)), WIDTH)?;
    }
    Ok(())
}

fn effect_row(effect: Effect, fitted: &Fitted) -> Vec<String> {
    let what = effect.what().to_owned();
    let Some(found) = fitted.correction(effect) else {
        let why = if fitted.met[effect.index()] { "cannot be told" } else { "not read" };
        return vec![what, why.into(), String::new(), String::new(), "stays as it is".into()];
    };
    let Correction { value, uncertainty, .. } = *found;
    let (low, high) = found.interval();
    let by = |value: f64, more: &'static str, less: &'static str| {
        format!("{:.2} mm {}", value.abs(), if value < 0.0 { less } else { more })
    };
    let decimals = if matches!(effect, Effect::Scale(_)) { 4 } else { 3 };
    let meaning = match effect {
        Effect::Scale(_) => {
            let off = by((value - 1.0) * SHOWN_ON, "too long", "too short");
            format!("{off} on {SHOWN_ON} mm")
        }
        Effect::Growth => {
            format!("outsides {}, gaps as much less", by(2.0 * value, "wider", "narrower"))
        }
        Effect::HoleShrink => format!("holes {}", by(value, "narrower", "wider")),
        Effect::Flare => format!("first layer {}", by(2.0 * value, "wider", "narrower")),
    };
    let sure = if (low..=high).contains(&effect.none()) { ", if at all" } else { "" };
    let unit = if decimals == 3 { " mm" } else { "" };
    vec![
        what,
        format!("{value:.decimals$}{unit}"),
        format!("{uncertainty:.decimals$}"),
        format!("{low:.decimals$} to {high:.decimals$}"),
        format!("{meaning}{sure}"),
    ]
}

/// Sizes to read besides, in words.
fn proposed(rows: &[SizeRow]) -> String {
    let words = rows.iter().map(|row| {
        let what = match row.what {
            Measured::Outside => "an outside",
            Measured::Gap => "a gap",
            Measured::Hole => "an upright hole",
            Measured::FirstLayer => "the first layer of a block",
        };
        let along = row.axis.map_or_else(String::new, |axis| format!(" along {}", axis.word()));
        format!("{what} of about {} mm{along}", number(row.nominal))
    });
    words.collect::<Vec<_>>().join(", ")
}

fn as_json(readings: &Readings, fitted: &Fitted) -> Json {
    let effect = |effect: Effect| {
        let key = match effect {
            Effect::Scale(axis) => format!("scale_{}", axis.word()),
            Effect::Growth => "growth".to_owned(),
            Effect::HoleShrink => "hole_shrink".to_owned(),
            Effect::Flare => "first_layer_flare".to_owned(),
        };
        let value = fitted.correction(effect).map(|c| {
            json!({
                "value": c.value,
                "standard_uncertainty": c.uncertainty,
                "degrees_of_freedom": c.freedom,
                "interval_95": [c.interval().0, c.interval().1],
            })
        });
        (key, json!(value))
    };
    let rows = readings.sizes().iter().zip(&fitted.rows).map(|(row, judged)| {
        json!({
            "name": row.name,
            "what": row.what.word(),
            "axis": row.axis.map(Axis::word),
            "nominal": row.nominal,
            "mean": judged.mean,
            "fitted": judged.fitted,
            "studentised": judged.t.map(|(t, _)| t),
            "odds_by_chance": judged.t.map(|(_, odds)| odds),
            "outlier": judged.is_outlier(),
        })
    });
    json!({
        "printer": readings.printer().profile(),
        "effects": Effect::ALL.map(effect).into_iter().collect::<serde_json::Map<_, _>>(),
        "scatter": {
            "value": fitted.scatter,
            "interval_95": [fitted.scatter_interval.0, fitted.scatter_interval.1],
        },
        "degrees_of_freedom": fitted.freedom,
        "sizes": rows.collect::<Vec<_>>(),
        "slips": fitted.slips.iter().map(|slip| json!({
            "size": readings.sizes()[slip.row].name,
            "reading": slip.reading + 1,
            "studentised": slip.t,
        })).collect::<Vec<_>>(),
    })
}
