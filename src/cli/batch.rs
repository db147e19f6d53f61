//! `borewright batch`: many jobs, and the summaries of shares joined.

use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

use super::table::{write_columns, write_wrapped};
use super::{Environment, Exit, Stop, library, read_at_most};
use crate::job::{Bench, Origin, Outcome, Plan, Record, Staged, Step, Summary, Variants, work};

#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub(super) struct Batch {
    #[command(subcommand)]
    command: Option<Command>,
    /// Job files, folders of them, patterns as 'rods/*.toml', tables of variants
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<String>,
    /// Folder for the results: one folder a job in it, and the summary
    #[arg(long, value_name = "DIR", default_value = "batch")]
    out: PathBuf,
    /// Take only the Ith of N shares of all jobs
    #[arg(long, value_name = "I/N")]
    shard: Option<String>,
    /// How many jobs at a time; as many as there are cores unless given
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    workers: Option<u16>,
    /// Make unchanged jobs again too
    #[arg(long)]
    again: bool,
    /// Folder of your own profiles: DIR/cells.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
}

#[derive(Debug, clap::Subcommand)]
enum Command {
    /// Join the summaries of all shares
    Merge(Merge),
}

#[derive(Debug, clap::Args)]
struct Merge {
    /// summary.json files of the shares, or the folders that hold them
    #[arg(required = true, value_name = "SUMMARY")]
    summaries: Vec<PathBuf>,
    /// Folder for the joined summary
    #[arg(long, value_name = "DIR", default_value = "batch")]
    out: PathBuf,
}

/// Folders are searched this deep for jobs.
const MAX_DEPTH: usize = 16;

/// Most job files of one batch; variants are counted by their tables.
const MAX_FILES: usize = 100_000;

/// Failed jobs that the terminal names.
const SHOWN: usize = 10;

/// Width of lines of text.
const WIDTH: usize = 96;

/// Time between plain lines of progress.
const LINE_EVERY: Duration = Duration::from_secs(10);

impl Batch {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<Exit, Stop> {
        if let Some(Command::Merge(merge)) = &self.command {
            return merge.run(env);
        }
        let share = self.shard.as_deref().map(share).transpose()?;
        let library = library(self.profiles.as_deref(), env)?;
        let plan = plan(&self.paths)?;
        let (part, of) = share.unwrap_or((1, 1));
        let mine: Vec<usize> = plan.share(part, of).collect();
        // Tried before long work.
        drop(Staged::new(&self.out)?);
        let bench = Bench {
            kinds: env.kinds,
            library: &library,
            out: &self.out,
            epoch: env.epoch.as_deref(),
            again: self.again,
        };
        let start = Instant::now();
        let done = self.all(&plan, &mine, &bench, env.err)?;
        let mut summary = Summary::new(plan.len());
        let mut steps: BTreeMap<&'static str, usize> = BTreeMap::new();
        for (index, record, step) in done {
            let step = match step {
                // Nothing stays of what is not made, so it is tried each time.
                Step::New if !record.outcome.is_made() => "not made",
                Step::New => "new",
                Step::Unchanged => "unchanged since an earlier run",
                Step::Again(why) => why,
            };
            *steps.entry(step).or_default() += 1;
            summary.put(index, record);
        }
        let name =
            share.map_or_else(|| "summary".to_owned(), |(i, n)| format!("summary-{i}-of-{n}"));
        write(&self.out, &name, &summary)?;
        tell(&summary, env)?;
        for (step, count) in steps {
            let made_again = !["new", "not made"].contains(&step) && !step.starts_with("unchanged");
            let word = if made_again { "made again: " } else { "" };
            writeln!(env.out, "{count} {word}{step}")?;
        }
        writeln!(env.out, "{} and {name}.csv", self.out.join(format!("{name}.json")).display())?;
        writeln!(env.err, "{:.1} s", start.elapsed().as_secs_f64())?;
        Ok(exit(&summary))
    }

    /// Does all jobs of the share, several at a time.
    fn all(
        &self,
        plan: &Plan,
        mine: &[usize],
        bench: &Bench<'_>,
        err: &mut dyn std::io::Write,
    ) -> Result<Vec<(usize, Record, Step)>, Stop> {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        let workers = self.workers.map_or(cores, usize::from).min(mine.len()).max(1);
        let (next, failed) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let done: Mutex<Vec<(usize, Record, Step)>> = Mutex::new(Vec::with_capacity(mine.len()));
        let job = || {
            while let Some(index) = mine.get(next.fetch_add(1, Ordering::Relaxed)) {
                let entry = plan.get(*index).expect("a share holds numbers of the plan");
                let (record, step) = work(bench, &entry);
                if record.outcome != Outcome::Made {
                    failed.fetch_add(1, Ordering::Relaxed);
                }
                done.lock().expect("nobody panics with it").push((*index, record, step));
            }
        };
        let mut told = Ok(());
        std::thread::scope(|scope| {
            let threads: Vec<_> = (0..workers).map(|_| scope.spawn(job)).collect();
            let progress = Progress::new(mine.len());
            loop {
                let count = done.lock().expect("nobody panics with it").len();
                let finished = threads.iter().all(|t| t.is_finished());
                let line = progress.tell(count, failed.load(Ordering::Relaxed), finished);
                if let Some(line) = line {
                    told = writeln!(err, "{line}");
                }
                if finished {
                    break;
                }
                std::thread::sleep(Duration::from_millis(50));
            }
        });
        told?;
        Ok(done.into_inner().expect("nobody panics with it"))
    }
}

/// A bar on a terminal, plain lines elsewhere.
struct Progress {
    bar: Option<ProgressBar>,
    all: usize,
    start: Instant,
    last: std::cell::Cell<Instant>,
}

impl Progress {
    fn new(all: usize) -> Progress {
        let bar = std::io::stderr().is_terminal().then(|| {
            let bar = ProgressBar::new(all as u64);
            let style = "{pos} of {len} jobs  {wide_bar}  {msg}  {eta} left";
            bar.set_style(ProgressStyle::with_template(style).expect("a right template"));
            bar
        });
        let start = Instant::now();
        Progress { bar, all, start, last: std::cell::Cell::new(start) }
    }

    /// Shows how far it is; a line to print where there is no bar.
    fn tell(&self, count: usize, failed: usize, finished: bool) -> Option<String> {
        let message = if failed > 0 { format!("{failed} not made") } else { String::new() };
        if let Some(bar) = &self.bar {
            bar.set_position(count as u64);
            bar.set_message(message);
            if finished {
                bar.finish_and_clear();
            }
            return None;
        }
        if finished || self.last.get().elapsed() < LINE_EVERY {
            return None;
        }
        self.last.set(Instant::now());
        let left = self.start.elapsed().as_secs_f64() / count.max(1) as f64
            * (self.all - count.min(self.all)) as f64;
        let comma = if failed > 0 { ", " } else { "" };
        Some(format!("{count} of {} jobs{comma}{message}, about {left:.0} s left", self.all))
    }
}

impl Merge {
    fn run(&self, env: &mut Environment<'_>) -> Result<Exit, Stop> {
        let mut joined: Option<Summary> = None;
        for path in self.files()? {
            let unreadable = |error: std::io::Error| {
                let what = format!("cannot read {}: {error}", path.display());
                Stop::bad_input(what, ["give the summaries that shares have written".to_owned()])
            };
            let text = std::fs::read_to_string(&path).map_err(unreadable)?;
            let bad = |error: crate::job::BadSummary| {
                let what = format!("{}: {error}", path.display());
                Stop::bad_input(
                    what,
                    ["join shares of one batch, run with the same version".to_owned()],
                )
            };
            let summary = Summary::read(&text).map_err(bad)?;
            match &mut joined {
                None => joined = Some(summary),
                Some(joined) => joined.join(summary).map_err(bad)?,
            }
        }
        let Some(summary) = joined else {
            let what = "no summary of a share is there";
            return Err(Stop::bad_input(what, ["shares write summary-I-of-N.json".to_owned()]));
        };
        write(&self.out, "summary", &summary)?;
        tell(&summary, env)?;
        if summary.missing() > 0 {
            let what = format!("{} jobs of the batch are in no share given", summary.missing());
            let hint = "give the summaries of all shares: those that are there are joined";
            return Err(Stop::bad_input(what, [hint.to_owned()]));
        }
        Ok(exit(&summary))
    }

    /// The files named, and those in the folders named.
    fn files(&self) -> Result<Vec<PathBuf>, Stop> {
        let mut files = Vec::new();
        for path in &self.summaries {
            if !path.is_dir() {
                files.push(path.clone());
                continue;
            }
            let failed = |error: std::io::Error| {
                let what = format!("cannot read the folder {}: {error}", path.display());
                Stop::bad_input(what, ["give a folder with summaries of shares".to_owned()])
            };
            let mut found = Vec::new();
            for entry in std::fs::read_dir(path).map_err(failed)? {
                let entry = entry.map_err(failed)?;
                let name = entry.file_name().to_string_lossy().into_owned();
                if name.starts_with("summary-") && name.ends_with(".json") {
                    found.push(entry.path());
                }
            }
            found.sort();
            files.extend(found);
        }
        Ok(files)
    }
}

fn write(folder: &Path, name: &str, summary: &Summary) -> Result<(), Stop> {
    let mut staged = Staged::new(folder)?;
    staged.write(&format!("{name}.csv"), summary.csv().as_bytes())?;
    staged.write(&format!("{name}.json"), summary.json().as_bytes())?;
    staged.commit()?;
    Ok(())
}

/// How many ended how, and the first that were not made.
fn tell(summary: &Summary, env: &mut Environment<'_>) -> Result<(), Stop> {
    let not_made = || summary.rows().filter(|(_, record)| record.outcome != Outcome::Made);
    for (index, record) in not_made().take(SHOWN) {
        let reason = match &record.message {
            Some(message) => message.lines().next().unwrap_or_default().to_owned(),
            None => {
                let bodies = record.bodies.iter().filter(|body| body.errors > 0);
                let each = bodies.map(|body| format!("{} ({} errors)", body.name, body.errors));
                format!("the checks hold against {}", each.collect::<Vec<_>>().join(", "))
            }
        };
        let text = format!("{} {}: {}: {reason}", index + 1, record.name, record.outcome.word());
        write_wrapped(env.err, &text, "  ", WIDTH)?;
        let lines = record.message.iter().flat_map(|message| message.lines());
        for hint in lines.filter(|line| line.starts_with("hint: ")).take(1) {
            write_wrapped(env.err, hint, "    ", WIDTH)?;
        }
    }
    if not_made().count() > SHOWN {
        let more = not_made().count() - SHOWN;
        writeln!(env.err, "and {more} more: the summary has all, with their places and hints")?;
    }
    let mut rows = vec![vec!["jobs".to_owned(), "outcome".to_owned()]];
    for outcome in Outcome::ALL {
        let count = summary.count(outcome);
        if count > 0 {
            rows.push(vec![count.to_string(), outcome.word().to_owned()]);
        }
    }
    write_columns(env.out, &rows)?;
    Ok(())
}

/// The worst that has happened.
fn exit(summary: &Summary) -> Exit {
    let worst = summary.rows().map(|(_, record)| record.outcome).max();
    match worst {
        None | Some(Outcome::Made) => Exit::Made,
        Some(Outcome::MadeWithErrors | Outcome::Refused) => Exit::CannotBeMade,
        Some(Outcome::BadInput | Outcome::NotWritten) => Exit::BadInput,
        Some(Outcome::Fault) => Exit::Internal,
    }
}

fn share(text: &str) -> Result<(usize, usize), Stop> {
    let parsed = text.split_once('/').and_then(|(i, n)| Some((i.parse().ok()?, n.parse().ok()?)));
    match parsed {
        Some((i, n)) if 1 <= i && i <= n && n <= crate::job::MAX_VARIANTS => Ok((i, n)),
        _ => {
            let what = format!("--shard {text} is no share I/N with I from 1 to N");
            Err(Stop::bad_input(what, ["as in --shard 3/8".to_owned()]))
        }
    }
}

/// All jobs of the paths, in their order; those of a folder or pattern sorted.
fn plan(paths: &[String]) -> Result<Plan, Stop> {
    let mut files: Vec<PathBuf> = Vec::new();
    for path in paths {
        let plain = Path::new(path);
        if plain.is_dir() {
            search(plain, 0, &mut files)?;
        } else if plain.exists() || !path.contains(['*', '?', '[']) {
            files.push(plain.to_owned());
        } else {
            let bad =
                |what: String| Stop::bad_input(what, ["quote patterns: 'rods/*.toml'".to_owned()]);
            let matches =
                glob::glob(path).map_err(|e| bad(format!("{path} is no pattern: {e}")))?;
            let before = files.len();
            for found in matches {
                files.push(found.map_err(|e| bad(e.to_string()))?);
            }
            if files.len() == before {
                return Err(bad(format!("nothing matches {path}")));
            }
        }
        if files.len() > MAX_FILES {
            let what = format!("more than {MAX_FILES} files");
            return Err(Stop::bad_input(what, ["use a table of variants for so many".to_owned()]));
        }
    }
    let mut plan = Plan::default();
    let mut names: BTreeMap<String, PathBuf> = BTreeMap::new();
    for path in files {
        let (origin, name) = match table(&path)? {
            Some(variants) => {
                let name = variants.stem.clone();
                (Origin::Table(variants), name)
            }
            None => {
                let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
                (Origin::File { path: path.clone(), name: name.clone() }, name)
            }
        };
        if let Some(other) = names.insert(name.clone(), path.clone()) {
            if other == path {
                continue;
            }
            let what = format!(
                "{} and {} would both write to the folder {name}",
                other.display(),
                path.display()
            );
            return Err(Stop::bad_input(what, ["give one of the files another name".to_owned()]));
        }
        plan.add(origin);
    }
    if plan.is_empty() {
        let what = "no job file is there";
        return Err(Stop::bad_input(
            what,
            ["give job files, or folders with .toml files".to_owned()],
        ));
    }
    Ok(plan)
}

/// Job files and tables in a folder and those below it, in the order of names;
/// hidden ones are left out.
fn search(folder: &Path, depth: usize, files: &mut Vec<PathBuf>) -> Result<(), Stop> {
    let failed = |error: std::io::Error| {
        let what = format!("cannot read the folder {}: {error}", folder.display());
        Stop::bad_input(what, ["give folders that can be read".to_owned()])
    };
    let mut entries = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(failed)? {
        entries.push(entry.map_err(failed)?.path());
    }
    entries.sort();
    for path in entries {
        let hidden = path.file_name().is_some_and(|n| n.to_string_lossy().starts_with('.'));
        if hidden || files.len() > MAX_FILES {
            continue;
        }
        if path.is_dir() {
            if depth < MAX_DEPTH {
                search(&path, depth + 1, files)?;
            }
        } else if path.extension().is_some_and(|e| e == "toml") {
            files.push(path);
        }
    }
    Ok(())
}

/// The table of variants that a file holds; none of a job file, whatever is
/// wrong with it: that is told when it is its turn.
fn table(path: &Path) -> Result<Option<Variants>, Stop> {
    let is_csv = Variants::is_list(path);
    // A job of a megabyte is refused when it is its turn; a list may be long.
    let read = if is_csv { read_table(path) } else { read_at_most(path) };
    let bytes = match read {
        Ok(bytes) => bytes,
        Err(error) if is_csv => {
            let what = format!("cannot read {}: {error}", path.display());
            return Err(Stop::bad_input(what, ["give a table that can be read".to_owned()]));
        }
        Err(_) => return Ok(None),
    };
    let Ok(text) = String::from_utf8(bytes) else { return Ok(None) };
    if !is_csv && Variants::bases(path, &text).is_empty() {
        return Ok(None);
    }
    let read = |path: &Path| {
        let bytes =
            read_at_most(path).map_err(|e| format!("cannot read {}: {e}", path.display()))?;
        String::from_utf8(bytes).map_err(|_| format!("{} is no text", path.display()))
    };
    Variants::read(path, &text, &read).map(Some).map_err(|error| {
        Stop::bad_input(error.to_string(), ["a table names its job by base, counted from the table's own folder, and fields as messages do: part[1].fit".to_owned()])
    })
}

/// Longest table of variants, bytes.
const MAX_TABLE: u64 = 256 << 20;

fn read_table(path: &Path) -> std::io::Result<Vec<u8>> {
    use std::io::{Error, ErrorKind, Read};
    let mut bytes = Vec::new();
    std::fs::File::open(path)?.take(MAX_TABLE + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > MAX_TABLE {
        let what = format!("it has more than {MAX_TABLE} bytes");
        return Err(Error::new(ErrorKind::FileTooLarge, what));
    }
    Ok(bytes)
}
