//! Replays a target's inputs and mutates them for a while.

use std::collections::HashMap;
use std::env;
use std::fs;
use std::io::{Seek, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use fastrand::Rng;

use super::mutate::mutate;

/// What is fuzzed.
pub struct Target {
    pub name: &'static str,
    /// Panics when something is wrong; otherwise gives a number that tells one
    /// kind of outcome from another. Inputs of a new kind are mutated further.
    pub run: fn(&[u8]) -> u64,
    pub longest: usize,
    pub words: &'static [&'static str],
}

/// No input may take longer.
const SLOWEST: Duration = Duration::from_secs(1);

/// Length of a run of all targets together, s: what the tests can spare.
const ALL_SECONDS: u64 = 60;

/// Inputs between two lines of a long run.
const PROGRESS: u64 = 500_000;

/// A run ends early at this many failures.
const MOST_FAILURES: usize = 10;

/// Inputs kept for mutation: beyond it nothing is learnt.
const POOL: usize = 4096;

struct Fuzzer<'a> {
    target: &'a Target,
    rng: Rng,
    pool: Vec<Vec<u8>>,
    /// The shortest input of each kind, as its place in the pool.
    kinds: HashMap<u64, usize>,
    failures: Vec<String>,
    slowest: Duration,
    /// The input that is running: left behind if it ends the program.
    current: fs::File,
    runs: Arc<AtomicU64>,
}

/// An input that runs this long ends the program, which leaves it in `current`.
const ENDLESS: Duration = Duration::from_secs(30);

/// Ends the program when no further input is run for [`ENDLESS`].
fn watch(current: &Path, runs: &Arc<AtomicU64>) {
    let (current, runs) = (current.to_owned(), runs.clone());
    std::thread::spawn(move || {
        let mut before = 0;
        loop {
            std::thread::sleep(ENDLESS);
            let now = runs.load(Ordering::Relaxed);
            if now == DONE {
                return;
            }
            if now == before {
                eprintln!("{} runs for ever", current.display());
                std::process::exit(1);
            }
            before = now;
        }
    });
}

/// Stands for the number of runs when there will be no more.
const DONE: u64 = u64::MAX;

fn setting(name: &str, default: u64) -> u64 {
    match env::var(name) {
        Ok(text) => text.parse().unwrap_or_else(|_| panic!("{name}={text} is no whole number")),
        Err(_) => default,
    }
}

/// See the text of the test binary.
pub fn fuzz(target: &Target) {
    let seconds = setting("BOREWRIGHT_FUZZ_SECONDS", ALL_SECONDS / super::TARGETS);
    let most = setting("BOREWRIGHT_FUZZ_INPUTS", u64::MAX);
    let work = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/fuzz").join(target.name);
    fs::create_dir_all(&work).expect("target is writable");
    // Several runs of one target may work side by side.
    let current = work.join(format!("current-{}", std::process::id()));
    let mut fuzzer = Fuzzer {
        target,
        rng: Rng::with_seed(setting("BOREWRIGHT_FUZZ_SEED", 1)),
        pool: Vec::new(),
        kinds: HashMap::new(),
        failures: Vec::new(),
        slowest: Duration::ZERO,
        current: fs::File::create(&current).expect("target is writable"),
        runs: Arc::default(),
    };
    watch(&current, &fuzzer.runs);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz");
    let mut replayed = 0;
    for kind in ["corpus", "fixed"] {
        for path in files(&folder.join(kind).join(target.name)) {
            fuzzer.run(&fs::read(&path).expect("a readable input"));
            replayed += 1;
        }
    }
    fuzzer.run(&[]);
    let (start, limit) = (Instant::now(), Duration::from_secs(seconds));
    let mut inputs: u64 = 0;
    let ends = |f: &Fuzzer<'_>| f.failures.len() >= MOST_FAILURES || start.elapsed() >= limit;
    while inputs < most && !ends(&fuzzer) {
        let input = fuzzer.next();
        fuzzer.run(&input);
        inputs += 1;
        if inputs.is_multiple_of(PROGRESS) {
            println!("{}: {inputs} inputs, {:.0?}", target.name, start.elapsed());
        }
    }
    fuzzer.runs.store(DONE, Ordering::Relaxed);
    fs::remove_file(&current).expect("it is still there");
    let rate = inputs as f64 / start.elapsed().as_secs_f64().max(1e-3);
    println!(
        "{}: {replayed} inputs replayed, {inputs} mutated, {rate:.0} a second, {} kinds of \
         outcome, slowest {:?}, at most {} MB held",
        target.name,
        fuzzer.kinds.len(),
        fuzzer.slowest,
        super::peak() >> 20,
    );
    if let Ok(keep) = env::var("BOREWRIGHT_FUZZ_KEEP") {
        fuzzer.keep(&Path::new(&keep).join(target.name));
    }
    assert!(fuzzer.failures.is_empty(), "{}", fuzzer.failures.join("\n"));
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten();
    let mut paths: Vec<PathBuf> = entries.map(|e| e.expect("readable").path()).collect();
    paths.sort();
    paths
}

/// Fowler-Noll-Vo 1a, 64 bits (RFC 9923): the name of an input's file.
pub fn hash(bytes: &[u8]) -> u64 {
    bytes
        .iter()
        .fold(0xcbf2_9ce4_8422_2325, |h, &b| (h ^ u64::from(b)).wrapping_mul(0x100_0000_01b3))
}

/// Time that this thread has had of a processor, by Linux's own count.
fn worked() -> Duration {
    let text = fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let nanoseconds = text.split_whitespace().next().and_then(|n| n.parse().ok());
    Duration::from_nanos(nanoseconds.unwrap_or_default())
}

impl Fuzzer<'_> {
    fn next(&mut self) -> Vec<u8> {
        let n = self.pool.len();
        let mut input = self.pool[self.rng.usize(..n)].clone();
        let other = &self.pool[self.rng.usize(..n)];
        mutate(&mut self.rng, &mut input, other, self.target.words, self.target.longest);
        input
    }

    fn run(&mut self, input: &[u8]) {
        self.runs.fetch_add(1, Ordering::Relaxed);
        self.current.rewind().expect("target is writable");
        self.current.write_all(input).expect("target is writable");
        self.current.set_len(input.len() as u64).expect("target is writable");
        let start = Instant::now();
        let outcome = catch_unwind(AssertUnwindSafe(|| (self.target.run)(input)));
        let mut taken = start.elapsed();
        match outcome {
            Err(panic) => {
                let text = panic.downcast_ref::<String>().map(String::as_str);
                let text = text.or_else(|| panic.downcast_ref::<&str>().copied());
                self.fail(input, text.unwrap_or("a panic"));
            }
            Ok(kind) => {
                if taken > SLOWEST {
                    // Other programs may have had the machine meanwhile.
                    let before = worked();
                    (self.target.run)(input);
                    taken = taken.min(worked().saturating_sub(before));
                }
                self.slowest = self.slowest.max(taken);
                if taken > SLOWEST {
                    self.fail(input, &format!("takes {taken:?}"));
                }
                self.learn(kind, input);
            }
        }
    }

    fn learn(&mut self, kind: u64, input: &[u8]) {
        match self.kinds.get(&kind) {
            Some(&i) if self.pool[i].len() <= input.len() => {}
            Some(&i) => self.pool[i] = input.to_vec(),
            None if self.pool.len() < POOL => {
                self.kinds.insert(kind, self.pool.len());
                self.pool.push(input.to_vec());
            }
            None => {}
        }
    }

    fn fail(&mut self, input: &[u8], why: &str) {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/fuzz");
        let folder = folder.join(self.target.name);
        let name = format!("{:016x}", hash(input));
        fs::write(folder.join(&name), input).expect("target is writable");
        self.failures.push(format!("{} {name}: {why}", self.target.name));
    }

    fn keep(&self, folder: &Path) {
        fs::create_dir_all(folder).expect("the folder to keep inputs in is writable");
        for input in &self.pool {
            let path = folder.join(format!("{:016x}", hash(input)));
            fs::write(path, input).expect("the folder to keep inputs in is writable");
        }
    }
}
