//! Many jobs: what there is to do, one job of it, the summary.
//!
//! Each job has a folder of its own. A job is done again only if something
//! that went into it has changed, see [`Record`]; one bad job stops no other.

mod record;
mod summary;
mod variants;

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

pub use record::{Outcome, RECORD, Record, RecordBody, RecordFile};
pub use summary::{BadSummary, Summary};
pub use variants::{BadVariants, MAX_VARIANTS, Variant, Variants};

use super::{Job, MakeError, Staged, StagedError, beside, check_made, files, fingerprint, make};
use crate::measure::{Library, MAX_BYTES, Source, render};
use crate::parts::PartKind;

/// Where jobs come from.
#[derive(Clone, Debug)]
pub enum Origin {
    /// A job file, and the name of its folder of results.
    File {
        /// Path of the file.
        path: PathBuf,
        /// Its folder below that of the batch.
        name: String,
    },
    /// A table of variants.
    Table(Variants),
}

/// All jobs of a batch, in their order.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    origins: Vec<Origin>,
}

/// One job of a batch.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Its folder below that of the batch, parts separated by `/`.
    pub name: String,
    /// Fields that a table changed.
    values: Vec<(String, String)>,
    text: EntryText,
    /// Where files that it names lie.
    folder: PathBuf,
}

#[derive(Clone, Debug)]
enum EntryText {
    File(PathBuf),
    Made(Result<String, String>),
}

impl Plan {
    /// Adds the jobs of an origin.
    pub fn add(&mut self, origin: Origin) {
        self.origins.push(origin);
    }

    /// Number of jobs.
    pub fn len(&self) -> usize {
        let count = |origin: &Origin| match origin {
            Origin::File { .. } => 1,
            Origin::Table(variants) => variants.len(),
        };
        self.origins.iter().map(count).sum()
    }

    /// Whether there is nothing to do.
    pub fn is_empty(&self) -> bool {
        self.origins.is_empty()
    }

    /// One of the jobs, from 0.
    pub fn get(&self, mut index: usize) -> Option<Entry> {
        for origin in &self.origins {
            match origin {
                Origin::File { path, name } => {
                    if index == 0 {
                        return Some(Entry {
                            name: name.clone(),
                            values: Vec::new(),
                            text: EntryText::File(path.clone()),
                            folder: path.parent().unwrap_or(Path::new("")).to_owned(),
                        });
                    }
                    index -= 1;
                }
                Origin::Table(variants) => {
                    if let Some(variant) = variants.get(index) {
                        return Some(Entry {
                            name: format!("{}/{}", variants.stem, variant.name),
                            values: variant.values,
                            text: EntryText::Made(variant.text),
                            folder: variant.folder,
                        });
                    }
                    index -= variants.len();
                }
            }
        }
        None
    }

    /// Numbers of the jobs in one of `of` equal shares, `share` from 1: every
    /// `of`-th, so that shares of a sweep take about as long.
    pub fn share(&self, share: usize, of: usize) -> impl Iterator<Item = usize> + use<> {
        (share.saturating_sub(1)..self.len()).step_by(of.max(1))
    }
}

/// What a batch makes its jobs with.
#[derive(Clone, Copy, Debug)]
pub struct Bench<'a> {
    /// Kinds of parts that jobs may ask for.
    pub kinds: &'static [PartKind],
    /// All known profiles.
    pub library: &'a Library,
    /// Folder of the results.
    pub out: &'a Path,
    /// `SOURCE_DATE_EPOCH`, see [`Job::time_stamp`].
    pub epoch: Option<&'a str>,
    /// Whether unchanged jobs are made again too.
    pub again: bool,
}

/// What was done with a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// For the first time.
    New,
    /// Nothing: its results are there, from the same input.
    Unchanged,
    /// Again, and why.
    Again(&'static str),
}

/// Does one job. Never fails: what goes wrong is in the record.
pub fn work(bench: &Bench<'_>, entry: &Entry) -> (Record, Step) {
    let record = Record::new(&entry.name, entry.values.clone(), "");
    // A fault in one job harms nothing else: all state is the job's own.
    let done = catch_unwind(AssertUnwindSafe(|| done(bench, entry, record.clone())));
    done.unwrap_or_else(|_| {
        let mut record = record;
        record.message = Some("internal fault: this is a mistake in borewright".to_owned());
        (record, Step::New)
    })
}

fn done(bench: &Bench<'_>, entry: &Entry, mut record: Record) -> (Record, Step) {
    let folder = bench.out.join(&entry.name);
    let earlier = Record::read(&folder);
    let bad = |mut record: Record, message: String| {
        record.outcome = Outcome::BadInput;
        record.message = Some(message);
        let Some(earlier) = &earlier else { return (record, Step::New) };
        let step = Step::Again("the job has changed");
        match keep(&folder, &record, Some(earlier)) {
            Ok(()) => (record, step),
            Err(error) => (record.not_written(&error), step),
        }
    };
    let (name, text) = match entry.read() {
        Ok(read) => read,
        Err(message) => return bad(record, message),
    };
    let source = match Source::new(name, text) {
        Ok(source) => source,
        Err(error) => return bad(record, error.to_string()),
    };
    let named = beside(&entry.folder);
    let job = match Job::read_beside(&source, bench.library.clone(), bench.kinds, &named) {
        Ok(job) => job,
        Err(faults) => return bad(record, render(&faults, false)),
    };
    let stamp = match job.time_stamp(bench.epoch) {
        Ok(stamp) => stamp,
        Err(error) => return bad(record, error.to_string()),
    };
    record.time = stamp.clone();
    record.fingerprint = Some(fingerprint(&job));
    let step = match &earlier {
        None => Step::New,
        Some(earlier) if earlier.version != record.version => {
            Step::Again("another version made it")
        }
        Some(earlier) if earlier.fingerprint != record.fingerprint => {
            Step::Again("what went in has changed")
        }
        Some(earlier) if earlier.time != record.time => Step::Again("the time stamp has changed"),
        Some(earlier) if !earlier.is_whole(&folder) => Step::Again("files were missing or changed"),
        Some(_) if bench.again => Step::Again("as asked"),
        Some(earlier) => return (earlier.clone(), Step::Unchanged),
    };
    let mut made = match make(&job) {
        Ok(made) => made,
        Err(MakeError(faults)) => {
            record.outcome = Outcome::Refused;
            record.message = Some(render(&faults, false));
            return match keep(&folder, &record, earlier.as_ref()) {
                Ok(()) => (record, step),
                Err(error) => (record.not_written(&error), step),
            };
        }
    };
    check_made(&job, &mut made, &[]);
    record.made(&made);
    let files = match files(&job, &made, &stamp) {
        Ok(files) => files,
        Err(error) => {
            record.outcome = Outcome::Refused;
            record.message = Some(error.to_string());
            Vec::new()
        }
    };
    let row = |(name, bytes): &(String, Vec<u8>)| RecordFile {
        name: name.clone(),
        bytes: bytes.len() as u64,
    };
    record.files = files.iter().map(row).collect();
    match put(&folder, &record, files, earlier.as_ref()) {
        Ok(()) => (record, step),
        Err(error) => (record.not_written(&error), step),
    }
}

/// Writes the record of a job that cannot be made. Files of before stay as they were, and the
/// record goes on naming them, so that a later run knows them.
fn keep(folder: &Path, record: &Record, earlier: Option<&Record>) -> Result<(), StagedError> {
    let mut record = record.clone();
    record.files = earlier.map_or_else(Vec::new, |earlier| earlier.files.clone());
    put(folder, &record, Vec::new(), None)
}

/// Writes a job's files, then its record; removes what an earlier record names
/// and this one does not.
fn put(
    folder: &Path,
    record: &Record,
    files: Vec<(String, Vec<u8>)>,
    earlier: Option<&Record>,
) -> Result<(), StagedError> {
    let mut staged = Staged::new(folder)?;
    for (name, bytes) in &files {
        staged.write(name, bytes)?;
    }
    staged.write(RECORD, &record.bytes())?;
    // From here on until the end the folder has no record, and so is made
    // again if this is as far as it gets.
    let _ = fs::remove_file(folder.join(RECORD));
    for file in earlier.iter().flat_map(|earlier| &earlier.files) {
        // A name from a file is trusted only as a name.
        let plain =
            Path::new(&file.name).components().count() == 1 && !file.name.contains(['/', '\\']);
        if plain && !record.files.iter().any(|f| f.name == file.name) {
            let _ = fs::remove_file(folder.join(&file.name));
        }
    }
    staged.commit().map(drop)
}

impl Entry {
    /// Name for messages, and bytes.
    fn read(&self) -> Result<(String, Vec<u8>), String> {
        match &self.text {
            EntryText::Made(text) => {
                text.clone().map(|text| (self.name.clone(), text.into_bytes()))
            }
            EntryText::File(path) => {
                use std::io::Read;
                let mut bytes = Vec::new();
                fs::File::open(path)
                    .and_then(|file| file.take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes))
                    .map_err(|error| format!("cannot read {}: {error}", path.display()))?;
                Ok((path.display().to_string(), bytes))
            }
        }
    }
}
