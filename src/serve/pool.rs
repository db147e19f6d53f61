//! Processes that build, and what waits for them.
//!
//! Two lanes: shapes, which a person waits for while typing, and all else, which
//! may take longer. Each lane has processes of its own, so that neither stops
//! the other. A build whose page has sent a later one of its lane is dropped
//! while it waits, and ended: a shape after [`GRACE`], all else at once.

use std::collections::{BTreeMap, VecDeque};
use std::io;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::process::{Child, ChildStdin, ChildStdout, Command};
use tokio::sync::{Notify, oneshot};

use super::answer::{Refused, refused};
use super::worker::HIDDEN_COMMAND;
use super::{BuildLimits, LONG_WORK, ServeOptions};

/// Most builds that wait in a lane; a person with ten pages makes ten. Common
/// practice, no source.
const MOST_WAITING: usize = 512;

/// Most pages that are remembered for what they sent last. Common practice, no source.
const MOST_PAGES: usize = 1024;

/// How long a build runs on after it was overtaken: most are done by then, and a
/// new process takes about as long to start. Measured on the machine of the
/// first release.
const GRACE: Duration = Duration::from_millis(60);

/// Longest answer of a process, bytes: keeps memory bounded. Common practice, no source.
const MOST_ANSWER: u32 = 512 << 20;

/// Which processes a build is done by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lane {
    /// Shapes.
    Quick,
    /// Findings and files.
    Slow,
    /// Batches, plates, surveys: as slow ones, with more time.
    Long,
}

/// The edit of a page that a build is for.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Edit {
    /// The page's own name.
    pub page: String,
    /// Its count of edits.
    pub number: u64,
}

struct Waiting {
    task: Vec<u8>,
    edit: Option<Edit>,
    time: Duration,
    answer: oneshot::Sender<Result<Vec<u8>, Refused>>,
}

/// What waits for one lane's processes, and the last edit of each page.
#[derive(Default)]
struct Queue {
    waiting: Mutex<State>,
    /// Told when something waits.
    more: Notify,
    /// Told when a page has sent a later edit.
    overtaken: Notify,
}

#[derive(Default)]
struct State {
    tasks: VecDeque<Waiting>,
    /// The last edit of each page, and when it was heard of.
    latest: BTreeMap<String, (u64, u64)>,
    heard: u64,
}

/// The processes and their queues.
pub(super) struct Pool {
    quick: Arc<Queue>,
    slow: Arc<Queue>,
    time: Duration,
}

impl Pool {
    /// Starts the processes for jobs of a folder.
    pub fn start(folder: &Path, options: &ServeOptions) -> io::Result<Pool> {
        let start = Start {
            program: std::env::current_exe()?,
            folder: folder.to_owned(),
            profiles: options.profiles.clone(),
            limits: options.limits,
        };
        let start = Arc::new(start);
        let pool = Pool::idle(options.limits.time);
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        for (lane, queue) in [(Lane::Quick, &pool.quick), (Lane::Slow, &pool.slow)] {
            for _ in 0..cores.div_ceil(2) {
                let process = start.process(lane)?;
                tokio::spawn(work(lane, queue.clone(), start.clone(), process));
            }
        }
        Ok(pool)
    }

    /// Queues without processes; `time` is what a build may take.
    pub fn idle(time: Duration) -> Pool {
        Pool { quick: Arc::default(), slow: Arc::default(), time }
    }

    /// Has what waits done by `run`, here, for as long as this is awaited.
    pub async fn work_here(&self, mut run: impl FnMut(&[u8]) -> Vec<u8>) {
        loop {
            let waiting = tokio::select! {
                biased;
                waiting = self.quick.next() => waiting,
                waiting = self.slow.next() => waiting,
            };
            let answer = run(&waiting.task);
            // Who has gone away needs no answer.
            drop(waiting.answer.send(Ok(answer)));
        }
    }

    /// Has a task done, and waits for its answer.
    pub async fn done(
        &self,
        lane: Lane,
        edit: Option<Edit>,
        task: Vec<u8>,
    ) -> Result<Vec<u8>, Refused> {
        let queue = if lane == Lane::Quick { &self.quick } else { &self.slow };
        let time = if lane == Lane::Long { self.time * LONG_WORK } else { self.time };
        let (answer, done) = oneshot::channel();
        queue.add(Waiting { task, edit, time, answer })?;
        done.await.unwrap_or_else(|_| Err(refused("internal", "the build was lost")))
    }
}

impl Queue {
    fn state(&self) -> MutexGuard<'_, State> {
        self.waiting.lock().expect("nothing panics while it holds the queue")
    }

    fn add(&self, task: Waiting) -> Result<(), Refused> {
        let mut state = self.state();
        if let Some(edit) = &task.edit {
            if state.overtaken(edit) {
                return Err(overtaken());
            }
            state.note(edit);
            let (old, kept) = std::mem::take(&mut state.tasks)
                .into_iter()
                .partition(|w| w.edit.as_ref().is_some_and(|e| state.overtaken(e)));
            state.tasks = kept;
            let old: VecDeque<Waiting> = old;
            // Who has gone away needs no answer.
            old.into_iter().for_each(|w| drop(w.answer.send(Err(overtaken()))));
        }
        if state.tasks.len() >= MOST_WAITING {
            let text = format!("{MOST_WAITING} builds wait already");
            return Err(refused("busy", text).hint("try again in a moment"));
        }
        state.tasks.push_back(task);
        drop(state);
        self.more.notify_one();
        self.overtaken.notify_waiters();
        Ok(())
    }

    async fn next(&self) -> Waiting {
        loop {
            if let Some(task) = self.taken() {
                return task;
            }
            self.more.notified().await;
        }
    }

    fn taken(&self) -> Option<Waiting> {
        let mut state = self.state();
        let task = state.tasks.pop_front();
        // Another process may take the next one.
        if !state.tasks.is_empty() {
            self.more.notify_one();
        }
        task
    }

    /// Returns once a later edit of the same page was sent.
    async fn until_overtaken(&self, edit: Option<&Edit>) {
        let Some(edit) = edit else { return std::future::pending().await };
        loop {
            let told = self.overtaken.notified();
            if self.state().overtaken(edit) {
                return;
            }
            told.await;
        }
    }
}

impl State {
    fn overtaken(&self, edit: &Edit) -> bool {
        self.latest.get(&edit.page).is_some_and(|(latest, _)| *latest > edit.number)
    }

    fn note(&mut self, edit: &Edit) {
        self.heard += 1;
        self.latest.insert(edit.page.clone(), (edit.number, self.heard));
        if self.latest.len() > MOST_PAGES {
            let oldest = self.latest.iter().min_by_key(|(_, (_, heard))| *heard);
            if let Some(page) = oldest.map(|(page, _)| page.clone()) {
                self.latest.remove(&page);
            }
        }
    }
}

fn overtaken() -> Refused {
    refused("overtaken", "a later edit of this page was sent")
}

/// How a process is started.
struct Start {
    program: PathBuf,
    folder: PathBuf,
    profiles: Option<PathBuf>,
    limits: BuildLimits,
}

struct Process {
    child: Child,
    into: ChildStdin,
    from: ChildStdout,
}

impl Start {
    fn process(&self, lane: Lane) -> io::Result<Process> {
        let mut command = Command::new(&self.program);
        command.arg(HIDDEN_COMMAND).arg("--folder").arg(&self.folder);
        command.arg("--memory").arg(self.limits.memory.to_string());
        if let Some(profiles) = &self.profiles {
            command.arg("--profiles").arg(profiles);
        }
        if lane != Lane::Quick {
            command.arg("--background");
        }
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).kill_on_drop(true);
        let mut child = command.spawn()?;
        let pipes = child.stdin.take().zip(child.stdout.take());
        let (into, from) = pipes.ok_or_else(|| io::Error::other("a process has no pipes"))?;
        Ok(Process { child, into, from })
    }
}

impl Process {
    async fn asked(&mut self, task: &[u8]) -> io::Result<Vec<u8>> {
        let length = u32::try_from(task.len()).map_err(io::Error::other)?;
        self.into.write_all(&length.to_le_bytes()).await?;
        self.into.write_all(task).await?;
        self.into.flush().await?;
        let mut length = [0; 4];
        self.from.read_exact(&mut length).await?;
        let length = u32::from_le_bytes(length);
        if length > MOST_ANSWER {
            return Err(io::Error::other("the answer is too long"));
        }
        let mut answer = vec![0; length as usize];
        self.from.read_exact(&mut answer).await?;
        Ok(answer)
    }
}

/// Does what waits, one after the other, for as long as the server runs.
async fn work(lane: Lane, queue: Arc<Queue>, start: Arc<Start>, first: Process) {
    // Checks of what is no longer there would only slow down the shapes.
    let grace = if lane == Lane::Quick { GRACE } else { Duration::ZERO };
    let mut process = Some(first);
    loop {
        let mut waiting = queue.next().await;
        let mut ready = match process.take() {
            Some(process) => process,
            None => match start.process(lane) {
                Ok(process) => process,
                Err(error) => {
                    let text = format!("no process can be started: {error}");
                    drop(waiting.answer.send(Err(refused("internal", text))));
                    continue;
                }
            },
        };
        let stopped = async {
            queue.until_overtaken(waiting.edit.as_ref()).await;
            tokio::time::sleep(grace).await;
        };
        let done = tokio::select! {
            answer = ready.asked(&waiting.task) => answer.map_err(|_| ended(&start.limits)),
            () = tokio::time::sleep(waiting.time) => Err(too_long(waiting.time)),
            () = stopped => Err(overtaken()),
            // Nobody waits for the answer any more.
            () = waiting.answer.closed() => Err(overtaken()),
        };
        if done.is_ok() {
            process = Some(ready);
        } else {
            // One that is in the middle of something would answer the next task with it.
            let _ = ready.child.kill().await;
            // The next task does not wait for the start.
            process = start.process(lane).ok();
        }
        drop(waiting.answer.send(done));
    }
}

fn too_long(time: Duration) -> Refused {
    let text = format!("the build took longer than {} s and was ended", time.as_secs_f64());
    refused("took_too_long", text)
        .hint("a larger chord in [print] or fewer parts take less; --build-seconds allows more")
}

fn ended(limits: &BuildLimits) -> Refused {
    let text = format!(
        "the build's process ended before it was done; it may have needed more than {} MiB of memory",
        limits.memory
    );
    refused("ended", text)
        .hint("a larger chord in [print] or a smaller scan takes less; --build-memory allows more")
}
