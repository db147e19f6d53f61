//! A process that builds: reads tasks from its input and writes answers.

use std::ffi::OsString;
use std::io::{self, Read, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;

use serde_json::json;

use super::task::{Bench, Task};
use crate::measure::Library;

/// The command that starts such a process; not for people.
pub(crate) const HIDDEN_COMMAND: &str = "build-for-page";

/// Longest task, bytes: a job's text and changes. Keeps memory bounded.
const MOST_TASK: u32 = 8 << 20;

/// What such a process is started with.
#[derive(Clone, Debug)]
pub struct WorkerOptions {
    /// The folder whose jobs are made; nothing outside it is read.
    pub folder: PathBuf,
    /// Most memory, MiB of address space; Unix only.
    pub memory: u64,
    /// Whether others go first on the processors; Unix only.
    pub background: bool,
    /// Profiles that jobs may name.
    pub library: Library,
    /// Runs a command line without the program's name.
    pub command: fn(Vec<OsString>) -> Ran,
    /// Seconds since 1970 for time stamps (`SOURCE_DATE_EPOCH`).
    pub epoch: Option<String>,
}

/// What a command has done.
#[derive(Clone, Debug)]
pub struct Ran {
    /// Its exit code.
    pub exit: u8,
    /// What it printed as results.
    pub out: Vec<u8>,
    /// What it printed besides.
    pub err: Vec<u8>,
}

/// Answers tasks until the input ends.
///
/// # Errors
/// The limit of memory cannot be set, or the pipes break.
pub fn answer_tasks(
    options: WorkerOptions,
    input: &mut dyn Read,
    output: &mut dyn Write,
) -> io::Result<()> {
    limit_memory(options.memory)?;
    if options.background {
        give_way();
    }
    let mut bench = Bench::new(options);
    answer_each(input, output, |task| answered(&mut bench, task))
}

/// A task's answer, the first byte of which tells how it went.
pub(super) fn answered(bench: &mut Bench, task: &[u8]) -> Vec<u8> {
    let (kind, mut answer) = match serde_json::from_slice::<Task>(task) {
        Ok(task) => match bench.done(task) {
            Ok(done) => (DONE, done),
            Err(refused) => (REFUSED, refused),
        },
        Err(error) => {
            let why = json!({ "text": error.to_string(), "hints": [] });
            (REFUSED, why.to_string().into_bytes())
        }
    };
    answer.insert(0, kind);
    answer
}

/// How the first byte of an answer tells what follows.
pub(super) const DONE: u8 = 0;
pub(super) const REFUSED: u8 = 1;
pub(super) const PANICKED: u8 = 2;

/// What `run` makes of each task; a panic is an answer like any other.
fn answer_each(
    input: &mut dyn Read,
    output: &mut dyn Write,
    mut run: impl FnMut(&[u8]) -> Vec<u8>,
) -> io::Result<()> {
    loop {
        let mut length = [0; 4];
        match input.read_exact(&mut length) {
            Ok(()) => {}
            Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => return Ok(()),
            Err(error) => return Err(error),
        }
        let length = u32::from_le_bytes(length);
        if length > MOST_TASK {
            return Err(io::Error::other("the task is too long"));
        }
        let mut task = vec![0; length as usize];
        input.read_exact(&mut task)?;
        let answer = catch_unwind(AssertUnwindSafe(|| run(&task)));
        let answer = answer.unwrap_or_else(|_| vec![PANICKED]);
        let length = u32::try_from(answer.len()).map_err(io::Error::other)?;
        output.write_all(&length.to_le_bytes())?;
        output.write_all(&answer)?;
        output.flush()?;
    }
}

/// Beyond the limit, allocations fail, which ends the process.
#[cfg(unix)]
fn limit_memory(megabytes: u64) -> io::Result<()> {
    use rustix::process::{Resource, Rlimit, setrlimit};
    let bytes = Some(megabytes << 20);
    setrlimit(Resource::As, Rlimit { current: bytes, maximum: bytes }).map_err(io::Error::from)
}

/// Lets shapes, which a person waits for, go first. Where that is not allowed, all goes on as fast
/// as it can.
#[cfg(unix)]
fn give_way() {
    /// Steps of politeness (POSIX `nice`): about a tenth of a share. Common practice, no source.
    const STEPS: i32 = 10;
    let _ = rustix::process::nice(STEPS);
}

#[cfg(not(unix))]
fn give_way() {}

#[cfg(not(unix))]
fn limit_memory(_: u64) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn framed(tasks: &[&[u8]]) -> Vec<u8> {
        let frame = |task: &&[u8]| [&(task.len() as u32).to_le_bytes()[..], task].concat();
        tasks.iter().flat_map(frame).collect()
    }

    #[test]
    fn a_panic_is_told_and_the_next_task_is_done() {
        let input = framed(&[b"one", b"bad", b"two"]);
        let mut output = Vec::new();
        answer_each(&mut &input[..], &mut output, |task| {
            assert!(task != b"bad", "a build that panics");
            [&[DONE], task].concat()
        })
        .expect("the pipes hold");
        assert_eq!(output, framed(&[b"\0one", &[PANICKED], b"\0two"]));
    }

    #[test]
    fn a_task_that_is_cut_off_or_too_long_ends_the_process() {
        let run = |_: &[u8]| Vec::new();
        let mut none = Vec::new();
        let cut = framed(&[b"task"]);
        assert!(answer_each(&mut &cut[..6], &mut none, run).is_err());
        assert!(answer_each(&mut &u32::MAX.to_le_bytes()[..], &mut none, run).is_err());
        assert!(answer_each(&mut &[][..], &mut none, run).is_ok() && none.is_empty());
    }
}
