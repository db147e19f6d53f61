//! `borewright layout`.

mod side;

use std::collections::BTreeMap;
use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use super::picture::png_file;
use super::table::{write_columns, write_hanging};
use super::{Environment, Exit, Stop, read_job};
use crate::job::{
    Arrangement, Fixed, Job, Layout as Planned, LayoutError, Made, MakeError, Shortfall, Wishes,
    beside, edited, make,
};
use crate::measure::{Source, did_you_mean, render};
use crate::parts::Severity;

#[derive(Debug, clap::Args)]
pub(super) struct Layout {
    /// The job file
    job: PathBuf,
    /// Write a copy of the job with the proposed places; never over a file that exists
    #[arg(long, value_name = "NEWJOB")]
    out: Option<PathBuf>,
    /// Draw the proposal from the side
    #[arg(long, value_name = "FILE.png")]
    picture: Option<PathBuf>,
    /// Least free length between two modules, mm
    #[arg(long, value_name = "MM", default_value_t = 3.0)]
    gap: f64,
    /// Least free length at both ends of the bore, mm
    #[arg(long, value_name = "MM", default_value_t = 0.0)]
    ends: f64,
    /// Put the low end of a module there; may be given again
    #[arg(long, value_name = "NAME=Z")]
    at: Vec<String>,
    /// Put the middle of a module's window there: where the handle's own window is
    #[arg(long, value_name = "NAME=Z")]
    window: Vec<String>,
    /// Leave a module where the job has it; may be given again
    #[arg(long, value_name = "NAME")]
    hold: Vec<String>,
    /// The module that comes last, at the front; unless given, one that closes the front
    #[arg(long, value_name = "NAME")]
    last: Option<String>,
    /// Where the centre of mass is wanted, mm; unless given, the middle of the bore
    #[arg(long, value_name = "Z")]
    balance: Option<f64>,
    /// What 1 mm off that place costs, in mm of wire
    #[arg(long, value_name = "W", default_value_t = 1.0)]
    weight: f64,
    /// Folder of your own profiles: DIR/cells.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
}

/// Largest length that is taken, mm: that of a handle.
const MOST: f64 = 1500.0;
/// Largest weight.
const MOST_WEIGHT: f64 = 1000.0;
/// Width of the bar on the terminal, characters.
const BAR: usize = 78;
/// Longest line of a message, characters.
const WIDTH: usize = 100;

impl Layout {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<Exit, Stop> {
        let wishes = self.wishes()?;
        // Tried before long work, as everywhere.
        if let Some(out) = self.out.as_ref().filter(|out| out.exists()) {
            return Err(exists(out));
        }
        let picture =
            self.picture.as_deref().map(|path| png_file(path, "layout.png")).transpose()?;
        let job = read_job(&self.job, self.profiles.as_deref(), env)?;
        let mut planned = Planned::new(&job, &wishes).map_err(|error| stopped(&error))?;
        let mut found = match planned.arrange() {
            Ok(found) => found,
            Err(short) => return Err(no_room(&planned, &short, &wishes)),
        };
        let (mut text, mut made) = self.tried(&job, &planned, &found, env)?;
        // What the spine's wires need to bend is known once it is made.
        let bends = made.as_ref().map_or(0.0, |parts| bends(parts));
        if bends > planned.row.gap {
            let wider = planned.with_gap(bends, "for bends of the spine's wires");
            if let Ok(better) = wider.arrange() {
                (planned, found) = (wider, better);
                (text, made) = self.tried(&job, &planned, &found, env)?;
            }
        }
        self.say(&planned, &found, env)?;
        let exit = outcome(&made, env)?;
        if let Some((folder, name)) = &picture {
            side::draw(&job, &planned, &found, (folder, name))?;
            writeln!(env.out, "{}", folder.join(name).display())?;
        }
        if let Some(path) = &self.out {
            write_new(path, &text)?;
            writeln!(env.out, "{}", path.display())?;
        }
        Ok(exit)
    }

    fn wishes(&self) -> Result<Wishes, Stop> {
        let within = |what: &str, value: f64, most: f64| {
            if (0.0..=most).contains(&value) {
                return Ok(value);
            }
            let text = format!("--{what} {value} is not between 0 and {most}");
            Err(Stop::bad_input(text, [format!("leave --{what} out for the default")]))
        };
        Ok(Wishes {
            gap: within("gap", self.gap, MOST)?,
            ends: within("ends", self.ends, MOST)?,
            at: places("at", &self.at)?,
            window: places("window", &self.window)?,
            hold: self.hold.clone(),
            last: self.last.clone(),
            balance: self.balance.map(|z| within("balance", z, MOST)).transpose()?,
            weight: within("weight", self.weight, MOST_WEIGHT)?,
        })
    }

    /// The bar, the table, and what is tight.
    fn say(
        &self,
        planned: &Planned,
        found: &Arrangement,
        env: &mut Environment<'_>,
    ) -> Result<(), Stop> {
        let order = planned.order(found);
        writeln!(env.out, "{}\n", bar(planned, found, &order))?;
        let header = ["", "module", "from z mm", "to z mm", "was", "free behind", "place"];
        let mut rows = vec![header.map(str::to_owned).to_vec()];
        let length = planned.row.room.0 + planned.row.room.1;
        for (n, &i) in order.iter().enumerate() {
            let module = &planned.modules[i];
            let high = found.at[i] + planned.row.pieces[i].length;
            let next = order.get(n + 1).map_or(length, |&j| found.at[j]);
            let moved = found.at[i] - module.ends.0;
            rows.push(vec![
                mark(n).to_string(),
                module.name.clone(),
                format!("{:.2}", found.at[i]),
                format!("{high:.2}"),
                if moved.abs() < 0.005 { "same".into() } else { format!("{:.2}", module.ends.0) },
                format!("{:.2}", next - high),
                match &module.fixed {
                    None => "free".into(),
                    Some((_, Fixed::Measured(what))) => format!("fixed: {what}"),
                    Some((_, Fixed::Asked(why))) => format!("fixed: {why}"),
                },
            ]);
        }
        write_columns(env.out, &rows)?;
        writeln!(env.out)?;
        let (slack, [from, to]) = planned.tightest(found);
        if slack.is_finite() {
            let text =
                format!("tightest between {from} and {to}: {slack:.2} mm are left for its modules");
            write_hanging(env.out, &text, WIDTH)?;
        }
        for pair in order.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let free = found.at[b] - found.at[a] - planned.row.pieces[a].length;
            if free < planned.row.gap - 0.005 {
                let names = [a, b].map(|i| planned.modules[i].name.as_str());
                let text = format!(
                    "{} and {} are both fixed, {free:.2} mm apart: less than the {:.2} asked for",
                    names[0], names[1], planned.row.gap
                );
                write_hanging(env.out, &text, WIDTH)?;
            }
        }
        for reason in &planned.reasons {
            write_hanging(env.out, &format!("kept free: {reason}"), WIDTH)?;
        }
        if !planned.others.is_empty() {
            let text = format!("not placed: {}", planned.others.join(", "));
            write_hanging(env.out, &text, WIDTH)?;
        }
        if let Some((angle, names)) = &planned.clocking {
            let text = format!(
                "grooves for wires at {angle} degrees as most have: groove_at of {}",
                names.join(", ")
            );
            write_hanging(env.out, &text, WIDTH)?;
        }
        let row = &planned.row;
        let wire: f64 = row.ties.iter().map(|t| t.wires as f64 * row.apart(&found.at, t)).sum();
        let text = format!(
            "cost {:.1}: {wire:.1} mm of wire between modules, and {} for each of the {:.2} mm \
             that the printed bodies' centre of mass, at z {:.2}, is off {:.2}",
            found.cost,
            row.balance.1,
            (row.centre(&found.at) - row.balance.0).abs(),
            row.centre(&found.at),
            row.balance.0
        );
        write_hanging(env.out, &text, WIDTH)?;
        Ok(())
    }

    /// The job's text with the new places, and its parts made there.
    fn tried(
        &self,
        job: &Job,
        planned: &Planned,
        found: &Arrangement,
        env: &Environment<'_>,
    ) -> Result<(String, Result<Vec<Made>, MakeError>), Stop> {
        let mut changes: Vec<(usize, &str, f64)> =
            planned.moves(found).into_iter().map(|(part, z)| (part, "from_z", z)).collect();
        if let Some((angle, names)) = &planned.clocking {
            let parts = job.parts().iter().enumerate();
            let turned = parts.filter(|(_, part)| names.iter().any(|n| n == part.name()));
            changes.extend(turned.map(|(i, _)| (i, "groove_at", *angle)));
        }
        let text = edited(job.source().text(), &changes).map_err(|what| {
            Stop::bad_input(what, ["give a job file as `make` takes".to_owned()])
        })?;
        let name = self.out.as_ref().unwrap_or(&self.job).display().to_string();
        let source = Source::new(name, text.clone().into_bytes())
            .map_err(|e| Stop::bad_input(e.to_string(), []))?;
        let files = beside(self.job.parent().unwrap_or(Path::new("")));
        let moved = Job::read_beside(&source, job.library().clone(), env.kinds, &files)
            .map_err(|faults| Stop::Faults(faults, Exit::CannotBeMade))?;
        Ok((text, make(&moved)))
    }
}

/// The longest that a bend of a spine's runs needs, mm.
fn bends(parts: &[Made]) -> f64 {
    let bodies = parts.iter().filter(|part| part.kind.joins()).flat_map(|part| &part.bodies);
    let rows = bodies.flat_map(|body| &body.body.computed);
    rows.filter(|row| row.key.ends_with("_bend_needs")).map(|row| row.value).fold(0.0, f64::max)
}

/// Says whether all parts can be made there, and what the spine warns of.
fn outcome(made: &Result<Vec<Made>, MakeError>, env: &mut Environment<'_>) -> Result<Exit, Stop> {
    match made {
        Ok(parts) => {
            writeln!(env.out, "tried: all parts can be made at these places")?;
            let joining = parts.iter().filter(|part| part.kind.joins());
            for body in joining.flat_map(|part| &part.bodies).map(|made| &made.body) {
                let warnings = body.messages.iter().filter(|m| m.severity == Severity::Warning);
                for message in warnings {
                    let text = format!("warning: {}: {}", body.name, message.text);
                    write_hanging(env.err, &text, WIDTH)?;
                }
            }
            Ok(Exit::Made)
        }
        Err(MakeError(faults)) => {
            write!(env.err, "{}", render(faults, env.colour))?;
            writeln!(env.out, "tried: not all parts can be made at these places")?;
            Ok(Exit::CannotBeMade)
        }
    }
}

/// `NAME=Z` arguments.
fn places(option: &str, given: &[String]) -> Result<BTreeMap<String, f64>, Stop> {
    let mut out = BTreeMap::new();
    for text in given {
        let pair = text.split_once('=').and_then(|(n, z)| Some((n, z.trim().parse::<f64>().ok()?)));
        match pair.filter(|(_, z)| (0.0..=MOST).contains(z)) {
            Some((name, z)) => out.insert(name.trim().to_owned(), z),
            None => {
                let what = format!("--{option} {text} is no NAME=Z with a Z of 0 to {MOST} mm");
                return Err(Stop::bad_input(what, [format!("as in --{option} tray=20")]));
            }
        };
    }
    Ok(out)
}

fn stopped(error: &LayoutError) -> Stop {
    let what = error.to_string();
    match error {
        LayoutError::Refused { refusal, .. } => {
            Stop::Other { exit: Exit::CannotBeMade, what, hints: refusal.hints.clone() }
        }
        LayoutError::NoModule { name, known } => {
            let near = did_you_mean(name, known.iter().map(String::as_str));
            let all = format!("known: {}", known.join(", "));
            Stop::bad_input(what, near.into_iter().chain([all]))
        }
        LayoutError::NoPlace { .. } => {
            Stop::bad_input(what, ["leave it out, or place another module".to_owned()])
        }
        LayoutError::Nothing => {
            Stop::bad_input(what, ["add [[part]] tables of modules to the job".to_owned()])
        }
        LayoutError::TooMany { .. } | LayoutError::TooManyBetween { .. } => {
            Stop::bad_input(what, ["--hold NAME leaves a module where it is".to_owned()])
        }
    }
}

fn no_room(planned: &Planned, short: &Shortfall, wishes: &Wishes) -> Stop {
    let name = |i: usize| planned.modules[i].name.as_str();
    let before = short.between.0.map_or("the end cap", name);
    let after = short.between.1.map_or("the front", name);
    let names: Vec<&str> = short.pieces.iter().map(|&i| name(i)).collect();
    if short.pieces.is_empty() {
        let what = format!("no order has {} last: another module is fixed behind it", after);
        return Stop::Other {
            exit: Exit::CannotBeMade,
            what,
            hints: vec!["--last names the module at the front".to_owned()],
        };
    }
    let lacks = short.needed - short.free;
    let what = format!(
        "the modules do not fit the bore: between {before} and {after} {:.2} mm are free, {} {} \
         {:.2}: short by {lacks:.2} at best",
        short.free,
        names.join(", "),
        if names.len() == 1 { "needs" } else { "need" },
        short.needed
    );
    let mut hints = Vec::new();
    // Tried, not guessed.
    let fits = |gap: f64| {
        let mut other = planned.row.clone();
        other.gap = gap;
        other.arrange().is_ok()
    };
    let step = 0.1;
    let count = (planned.row.gap / step).floor() as i64;
    if planned.row.gap <= wishes.gap
        && let Some(gap) = (0..=count).rev().map(|i| i as f64 * step).find(|&gap| fits(gap))
    {
        hints.push(format!("--gap {gap:.1} would do"));
    }
    for i in 0..planned.modules.len() {
        let mut other = planned.row.clone();
        if other.pieces[i].fixed.is_none() {
            other.pieces[i].length = (other.pieces[i].length - lacks - step).max(0.0);
            if other.pieces[i].length > 0.0 && other.arrange().is_ok() {
                hints.push(format!(
                    "it would fit if {} were {:.2} mm shorter",
                    name(i),
                    lacks + step
                ));
            }
        } else if planned.modules[i].from_z.is_some() {
            other.pieces[i].fixed = None;
            if !matches!(planned.modules[i].fixed, Some((_, Fixed::Measured(_))))
                && other.arrange().is_ok()
            {
                hints.push(format!("it would fit if {} might move", name(i)));
            }
        }
    }
    hints.push(format!("a bore {lacks:.2} mm longer there, or a shorter module, would do"));
    Stop::Other { exit: Exit::CannotBeMade, what, hints }
}

/// The letter of a module on the bar.
fn mark(n: usize) -> char {
    char::from(b'A' + u8::try_from(n % 26).unwrap_or(0))
}

/// The bore from the end cap to the front as a line of characters.
fn bar(planned: &Planned, found: &Arrangement, order: &[usize]) -> String {
    let length = planned.row.room.0 + planned.row.room.1;
    let mut cells = vec!['.'; BAR];
    let cell = |z: f64| ((z / length * BAR as f64).floor().max(0.0) as usize).min(BAR - 1);
    for (n, &i) in order.iter().enumerate() {
        let high = found.at[i] + planned.row.pieces[i].length;
        let (a, b) = (cell(found.at[i]), cell(high - 1e-6));
        cells[a..=b].fill(mark(n));
    }
    let points = planned.modules.iter().flat_map(|m| &m.points);
    let mut below = vec![' '; BAR];
    points.for_each(|(_, z)| below[cell(*z)] = '^');
    let line: String = cells.into_iter().collect();
    let below: String = below.into_iter().collect();
    let below = below.trim_end();
    let scale = format!("0 |{line}| {length:.0} mm");
    if below.is_empty() { scale } else { format!("{scale}\n   {below} measured on the handle") }
}

fn exists(path: &Path) -> Stop {
    let what = format!("{} is there already and is not overwritten", path.display());
    Stop::bad_input(what, ["give another file name".to_owned()])
}

fn write_new(path: &Path, text: &str) -> Result<(), Stop> {
    let failed = |error: std::io::Error| match error.kind() {
        ErrorKind::AlreadyExists => exists(path),
        _ => Stop::bad_input(
            format!("cannot write {}: {error}", path.display()),
            ["give a file in a folder that can be written to".to_owned()],
        ),
    };
    let mut file = OpenOptions::new().write(true).create_new(true).open(path).map_err(failed)?;
    file.write_all(text.as_bytes()).map_err(failed)
}
