//! What a process that builds is asked for, and how it is done.

use std::cell::Cell;
use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs;
use std::path::Path;

use serde::{Deserialize, Serialize};
use serde_json::{Value as Json, json};
use toml_edit::{DocumentMut, Value};

use super::forms::{row_of, typed, written};
use super::suggest::{NewValue, field_in, for_fault, in_hint};
use super::vary::{self, Vary};
use super::worker::WorkerOptions;
use super::zipped::zipped;
use crate::checks::{Finding, Severity as Grade};
use crate::job::{
    FORMATS, JOB_OUTPUTS, Job, Kept, Made, MadeBody, MakeError, NamedBytes, TextChange, Variants,
    beside, changed, check_made, fingerprint, make, make_again, placed_findings, scene, template,
    verdict, with_part,
};
use crate::measure::{Default, Faults, Kind, Param, Source, What};
use crate::parts::PART_KINDS;

/// All files of a job, packed.
const ALL: &str = "all.zip";

/// A task, as the page's requests give it.
#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Task {
    Edit(EditText),
    Findings(FindingsOf),
    Output(OutputOf),
    New(NewJob),
    Vary(Vary),
    Command(Vec<String>),
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct EditText {
    /// What the job is called in messages.
    pub name: String,
    pub text: String,
    pub changes: Vec<Asked>,
    /// The shapes that the page holds, by their keys: they are not sent again.
    #[serde(default)]
    pub holds: BTreeSet<String>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FindingsOf {
    pub name: String,
    pub text: String,
    /// As those of an edit.
    #[serde(default)]
    pub holds: BTreeSet<String>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct OutputOf {
    pub name: String,
    pub text: String,
    pub output: String,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct NewJob {
    pub kinds: Vec<String>,
}

/// One change that a page asks for.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum Asked {
    /// Gives a field what was typed; nothing leaves it out.
    Set { field: String, value: String },
    /// Adds a table, a component of own measures, or an entry of a list.
    Add(String),
    /// Takes a table or an entry of a list away.
    Remove(String),
    /// Adds a part of a kind.
    Part(String),
}

/// What a process knows from one task to the next.
pub(super) struct Bench {
    options: WorkerOptions,
    /// Parts that were made last, so that an edit of one makes that one again.
    kept: Kept,
    /// The job that was checked last, so that its files are there at once.
    checked: Option<(String, Job, Vec<Made>)>,
}

type Done = Result<Vec<u8>, Vec<u8>>;

/// What is not done: a text and hints, as JSON.
fn no(text: impl Into<String>, hints: &[String]) -> Vec<u8> {
    json!({ "text": text.into(), "hints": hints }).to_string().into_bytes()
}

impl Bench {
    pub fn new(options: WorkerOptions) -> Bench {
        Bench { options, kept: Kept::default(), checked: None }
    }

    pub fn done(&mut self, task: Task) -> Done {
        match task {
            Task::Edit(edit) => self.edit(edit),
            Task::Findings(job) => self.findings(&job),
            Task::Output(asked) => self.output(&asked),
            Task::New(job) => {
                let kinds: Vec<&str> = job.kinds.iter().map(String::as_str).collect();
                let text = template(&kinds, PART_KINDS)
                    .map_err(|error| no(error.to_string(), &[error.hint]))?;
                Ok(json!({ "text": text }).to_string().into_bytes())
            }
            Task::Vary(asked) => {
                let (text, count) =
                    vary::table(&asked).map_err(|(what, hint)| no(what, &[hint]))?;
                Ok(json!({ "text": text, "count": count }).to_string().into_bytes())
            }
            Task::Command(arguments) => {
                for path in arguments.iter().map(Path::new).filter(|path| path.is_absolute()) {
                    self.keeps_within(path)?;
                }
                let arguments = arguments.into_iter().map(OsString::from).collect();
                let ran = (self.options.command)(arguments);
                let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
                let told =
                    json!({ "exit": ran.exit, "out": text(&ran.out), "err": text(&ran.err) });
                Ok(told.to_string().into_bytes())
            }
        }
    }

    /// Refuses a job, or a table of variants, that names files outside the folder.
    fn keeps_within(&self, path: &Path) -> Result<(), Vec<u8>> {
        let folder = &self.options.folder;
        let Ok(text) = fs::read_to_string(path) else { return Ok(()) };
        let outside = Cell::new(None);
        let inner = within(folder);
        let note = |name: &str| {
            let read = inner(name);
            if fs::canonicalize(folder.join(name)).is_ok_and(|real| !real.starts_with(folder)) {
                outside.set(Some(name.to_owned()));
            }
            read
        };
        if let Ok(source) = Source::new("job", text.as_str()) {
            // Other faults are told by the command itself.
            let _ = Job::read_beside(&source, self.options.library.clone(), PART_KINDS, &note);
        }
        let bases = Variants::bases(path, &text);
        for base in &bases {
            drop(note(base));
        }
        if let Some(name) = outside.take() {
            let what = format!("{}: {name} is not in the folder", path.display());
            return Err(no(what, &["put a copy into the folder, and name that".to_owned()]));
        }
        // What a table varies is a job, which varies nothing itself.
        bases.iter().map(|base| folder.join(base)).filter(|base| base != path).try_for_each(
            |base| {
                let text = fs::read_to_string(&base).unwrap_or_default();
                if Variants::bases(&base, &text).is_empty() {
                    self.keeps_within(&base)
                } else {
                    Ok(())
                }
            },
        )
    }

    /// The text with changes, what is written in it, what is wrong, and its shapes.
    fn edit(&mut self, edit: EditText) -> Done {
        let text = asked(edit.text, &edit.changes).map_err(|what| {
            no(what, &["the text of the job shows where it is wrong".to_owned()])
        })?;
        let document: Option<DocumentMut> = text.parse().ok();
        let made = self.read(&edit.name, &text).and_then(|job| {
            let made = make_again(&job, &mut self.kept).map_err(|MakeError(faults)| faults)?;
            Ok((job, made))
        });
        let (scene, faults) = match &made {
            Ok((job, made)) => (scene(job, made, &edit.holds), Vec::new()),
            Err(faults) => (Json::Null, faults_of(faults, document.as_ref())),
        };
        let bodies = made.iter().flat_map(|(_, made)| made).flat_map(about);
        let answer = json!({
            "text": text,
            "written": document.as_ref().map(written),
            "faults": faults,
            "scene": scene,
            "bodies": bodies.collect::<Vec<_>>(),
            "handle": made.as_ref().ok().map(|(job, _)| handle(job)),
        });
        Ok(answer.to_string().into_bytes())
    }

    fn findings(&mut self, asked: &FindingsOf) -> Done {
        let (job, made) = self.checked(&asked.name, &asked.text)?;
        let document: DocumentMut = asked.text.parse().unwrap_or_default();
        let blocked = bodies(made).filter_map(|b| b.checked.as_ref()).any(|c| c.blocks());
        let outputs: Vec<Json> = outputs(made).collect();
        let answer = json!({
            "scene": scene(job, made, &asked.holds),
            "verdict": verdict(job, made),
            "blocked": blocked,
            "findings": findings(made, &document),
            "outputs": outputs,
        });
        Ok(answer.to_string().into_bytes())
    }

    fn output(&mut self, asked: &OutputOf) -> Done {
        let epoch = self.options.epoch.clone();
        let (job, made) = self.checked(&asked.name, &asked.text)?;
        let stamp = job.time_stamp(epoch.as_deref()).map_err(|e| no(e.to_string(), &[]))?;
        let hints = ["a larger `chord` in [print] gives fewer, larger triangles".to_owned()];
        if asked.output == ALL {
            let mut files: Vec<NamedBytes> = Vec::new();
            for body in bodies(made) {
                for (extension, write) in FORMATS {
                    let bytes = write(body, &stamp).map_err(|e| no(e.to_string(), &hints))?;
                    files.push((format!("{}.{extension}", body.body.name), bytes));
                }
            }
            for output in JOB_OUTPUTS {
                let bytes =
                    (output.write)(job, made, &stamp).map_err(|e| no(e.to_string(), &[]))?;
                files.push((output.name.to_owned(), bytes));
            }
            return zipped(&files).map_err(|what| no(what, &[]));
        }
        if let Some(output) = JOB_OUTPUTS.iter().find(|output| output.name == asked.output) {
            return (output.write)(job, made, &stamp).map_err(|e| no(e.to_string(), &[]));
        }
        let of_body = asked.output.rsplit_once('.').and_then(|(name, ending)| {
            let body = bodies(made).find(|body| body.body.name == name)?;
            let (_, write) = FORMATS.iter().find(|(extension, _)| *extension == ending)?;
            Some((body, write))
        });
        let Some((body, write)) = of_body else {
            let text = format!("the job has no output {}", crate::measure::quoted(&asked.output));
            return Err(no(text, &["ask for one that its findings list".to_owned()]));
        };
        write(body, &stamp).map_err(|e| no(e.to_string(), &hints))
    }

    fn read(&self, name: &str, text: &str) -> Result<Job, Faults> {
        let source = Source::new(name, text)
            .map_err(|error| Faults::from(crate::measure::Fault::from(error)))?;
        let within = within(&self.options.folder);
        Job::read_beside(&source, self.options.library.clone(), PART_KINDS, &within)
    }

    /// The job made and checked, anew unless it is the one of before.
    fn checked(&mut self, name: &str, text: &str) -> Result<(&Job, &[Made]), Vec<u8>> {
        let refused = |faults: Faults| {
            let hints = faults.iter().flat_map(|fault| fault.hints.clone()).collect::<Vec<_>>();
            no(faults.to_string(), &hints)
        };
        let job = self.read(name, text).map_err(refused)?;
        let print = fingerprint(&job);
        let known = self
            .checked
            .as_ref()
            .is_some_and(|(known, old, _)| *known == print && old.source().name() == name);
        if !known {
            let mut made = make(&job).map_err(|MakeError(faults)| refused(faults))?;
            check_made(&job, &mut made, &[]);
            self.checked = Some((print, job, made));
        }
        let (_, job, made) = self.checked.as_ref().expect("it was just put there");
        Ok((job, made))
    }
}

/// Files beside a job, within the folder alone.
fn within(folder: &Path) -> impl Fn(&str) -> Result<Vec<u8>, String> + '_ {
    move |name| {
        let real = fs::canonicalize(folder.join(name))
            .map_err(|error| format!("cannot read {name}: {error}"))?;
        if !real.starts_with(folder) {
            return Err(format!("{name} is not in the folder of the job"));
        }
        beside(folder)(name)
    }
}

/// The text with what a page asks for.
fn asked(mut text: String, changes: &[Asked]) -> Result<String, String> {
    for change in changes {
        text = match change {
            Asked::Part(kind) => with_part(&text, kind, PART_KINDS).map_err(|e| e.to_string())?,
            other => {
                let document: DocumentMut = text
                    .parse()
                    .map_err(|e: toml_edit::TomlError| format!("not valid TOML: {e}"))?;
                changed(&text, &steps(other, &document)).map_err(|e| e.to_string())?
            }
        };
    }
    Ok(text)
}

/// A change as the steps that it takes in the text.
fn steps(asked: &Asked, document: &DocumentMut) -> Vec<TextChange> {
    match asked {
        Asked::Set { field, value } if value.trim().is_empty() => {
            vec![TextChange::Clear(field.clone())]
        }
        Asked::Set { field, value } => set(field, value, document),
        Asked::Add(field) => {
            let kind = row_of(field, document).map(|row| row.kind);
            let mut steps = Vec::new();
            if matches!(kind, Some(Kind::Component { .. })) {
                steps.push(TextChange::Clear(field.clone()));
            }
            let list = matches!(kind, Some(Kind::List { .. }));
            steps.push(TextChange::Add { field: field.clone(), list });
            steps
        }
        Asked::Remove(field) => vec![TextChange::Remove(field.clone())],
        Asked::Part(_) => Vec::new(),
    }
}

fn set(field: &str, value: &str, document: &DocumentMut) -> Vec<TextChange> {
    let row = row_of(field, document);
    let new = typed(row, field, value);
    let component = |row: &Param| matches!(row.kind, Kind::Component { .. });
    // A profile is chosen beside what of it was measured.
    if row.is_some_and(component) && at(document, field).is_some_and(|item| item.is_table_like()) {
        return vec![TextChange::Set(format!("{field}.profile"), new)];
    }
    let mut steps = Vec::new();
    let outer = field.rsplit_once('.').map(|(outer, _)| outer);
    if let Some((outer, row)) = outer.and_then(|o| Some((o, row_of(o, document)?)))
        && let Kind::Component { default: Default::Value(profile), .. } = row.kind
        && at(document, outer).is_none()
    {
        // What was measured goes on top of the profile that holds when nothing is written.
        steps.push(TextChange::Set(outer.to_owned(), Value::from(profile)));
    }
    steps.push(TextChange::Set(field.to_owned(), new));
    steps
}

/// What is written behind a field.
fn at<'a>(document: &'a DocumentMut, field: &str) -> Option<&'a toml_edit::Item> {
    let mut item = document.as_item();
    for key in field.split('.') {
        let (name, index) = match key.split_once('[') {
            Some((name, rest)) => (name, Some(rest.strip_suffix(']')?.parse::<usize>().ok()?)),
            None => (key, None),
        };
        item = item.get(name)?;
        if let Some(index) = index {
            item = item.get(index.checked_sub(1)?)?;
        }
    }
    Some(item)
}

/// Faults with what cures them at one click.
fn faults_of(faults: &Faults, document: Option<&DocumentMut>) -> Vec<Json> {
    let empty = DocumentMut::new();
    let document = document.unwrap_or(&empty);
    let one = |fault: &crate::measure::Fault| {
        let position = fault.place.as_ref().map(crate::measure::Place::line_column);
        let field = match fault.field.as_str() {
            // A refusal of the part as a whole may be cured at a field that its hints name.
            "" => field_in(&fault.hints.join(" "), document).unwrap_or_default(),
            field => field.to_owned(),
        };
        // The form says what a row means already.
        let meaning = row_of(&fault.field, document).map(|row| format!("{}: {}", row.key, row.doc));
        let hints = fault.hints.iter().filter(|hint| meaning.as_ref() != Some(hint));
        json!({
            "field": field,
            "code": code(&fault.what),
            "text": fault.what.to_string(),
            "hints": hints.collect::<Vec<_>>(),
            "line": position.map(|p| p.0),
            "cures": for_fault(fault, document),
        })
    };
    faults.iter().map(one).collect()
}

/// The name of a kind of fault.
fn code(what: &What) -> Json {
    serde_json::to_value(what).map(|what| what["code"].clone()).unwrap_or(Json::Null)
}

fn bodies(made: &[Made]) -> impl Iterator<Item = &MadeBody> {
    made.iter().flat_map(|part| &part.bodies)
}

fn handle(job: &Job) -> Json {
    let bore = job.handle().bore();
    json!({ "smallest": bore.smallest(), "largest": bore.largest(), "sure": bore.sure() })
}

/// What was made of one part, in short.
fn about(made: &Made) -> Vec<Json> {
    let one = |body: &MadeBody| {
        let size = body.bounds.1 - body.bounds.0;
        let messages = body.body.messages.iter();
        json!({
            "part": made.name,
            "name": body.body.name,
            "size": size.as_slice(),
            "from": body.bounds.0.z,
            "to": body.bounds.1.z,
            "mass": body.mass,
            "messages": messages.collect::<Vec<_>>(),
        })
    };
    made.bodies.iter().map(one).collect()
}

/// Every finding with its pin, the field that it would be cured at, and cures.
fn findings(made: &[Made], document: &DocumentMut) -> Vec<Json> {
    let placed = placed_findings(made);
    let pin = |f: &Finding| placed.iter().position(|(_, p)| std::ptr::eq(*p, f)).map(|i| i + 1);
    let part_path = |part: usize| format!("part[{}]", part + 1);
    let mut out = Vec::new();
    for (i, part) in made.iter().enumerate() {
        for body in &part.bodies {
            for f in body.checked.iter().flat_map(|checked| &checked.findings) {
                let hint = f.hint.as_deref().unwrap_or_default();
                let field = field_in(hint, document)
                    .or_else(|| field_in(&f.text, document))
                    .unwrap_or_else(|| part_path(i));
                let base = format!("{}.name", part_path(i));
                let cures: Vec<Vec<NewValue>> = in_hint(hint, &base, document);
                out.push(json!({
                    "pin": pin(f),
                    "severity": f.severity.word(),
                    "check": f.check,
                    "body": body.body.name,
                    "text": f.text,
                    "hint": f.hint,
                    "limit": f.limit_from,
                    "allowed": f.allowed,
                    "blocks": f.blocks(),
                    "note": f.severity == Grade::Note,
                    "field": field,
                    "cures": cures,
                }));
            }
        }
    }
    out
}

/// Every file that can be had of a made job: what each body is written in, then
/// [`JOB_OUTPUTS`], then all of them packed.
fn outputs(made: &[Made]) -> impl Iterator<Item = Json> {
    let of_bodies = bodies(made).flat_map(|body| {
        FORMATS.iter().map(|(extension, _)| {
            json!({ "name": format!("{}.{extension}", body.body.name), "body": body.body.name })
        })
    });
    let of_job =
        JOB_OUTPUTS.iter().map(|output| json!({ "name": output.name, "what": output.what }));
    let all = json!({ "name": ALL, "what": "all of these in one file" });
    of_bodies.chain(of_job).chain([all])
}
