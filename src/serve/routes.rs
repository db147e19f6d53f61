//! The routes: one table, from which requests are answered and the description
//! in OpenAPI is made.

use std::time::Duration;

use http_body_util::BodyExt;
use hyper::body::Incoming;
use hyper::header::{CONTENT_TYPE, HeaderMap};
use hyper::{Request, StatusCode};
use serde::de::{DeserializeOwned, Error as _};
use serde::{Deserialize, Deserializer};
use serde_json::{Value as Json, json};

use super::answer::{Answer, JSON, Refused, bytes, json_of, refused};
use super::folder::MAX_MESH;
use super::pool::{Edit, Lane};
use super::task::{EditText, FindingsOf, NewJob, OutputOf, Task};
use super::vary::Vary;
use super::worker::{DONE, REFUSED};
use super::{Server, asset as page, openapi};
use crate::measure::MAX_BYTES;

/// Longest body that is JSON, bytes: a job and its escapes, twice over.
pub(super) const MAX_JSON: usize = 4 * MAX_BYTES;

/// Longest time for a body to come in, or for the next piece of a mesh.
/// Common practice, no source.
const BODY_TIME: Duration = Duration::from_secs(10);

/// A mesh is written in pieces of about so many bytes.
const PIECE: usize = 1 << 20;

/// Longest name of a page.
pub(super) const MAX_WORD: usize = 128;

/// One route.
pub(super) struct Route {
    pub method: &'static str,
    pub path: &'static str,
    pub summary: &'static str,
    /// What the body holds: JSON schema; none where there is no body, or bytes.
    pub body: Option<fn() -> Json>,
    /// Content type of the answer.
    pub gives: &'static str,
    pub does: Does,
}

/// What a route does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Does {
    Tables,
    Describe,
    Files,
    Open,
    Save,
    Versions,
    Version,
    TakeMesh,
    New,
    Edit,
    Findings,
    Output,
    Make,
    Plate,
    Vary,
    Batch,
    Survey,
}

const BYTES: &str = "application/octet-stream";

/// Every route below the token, besides the page's own files.
pub(super) const ROUTES: &[Route] = &[
    Route {
        method: "GET",
        path: "api/tables",
        summary: "Tables of all that may be entered: handle, print, kinds of parts, profiles",
        body: None,
        gives: JSON,
        does: Does::Tables,
    },
    Route {
        method: "GET",
        path: "openapi.json",
        summary: "This description",
        body: None,
        gives: JSON,
        does: Does::Describe,
    },
    Route {
        method: "GET",
        path: "api/files",
        summary: "Jobs, tables of variants and meshes of the folder",
        body: None,
        gives: JSON,
        does: Does::Files,
    },
    Route {
        method: "POST",
        path: "api/open",
        summary: "The text of a job, with the digest that saving it asks for",
        body: Some(openapi::named),
        gives: JSON,
        does: Does::Open,
    },
    Route {
        method: "POST",
        path: "api/save",
        summary: "Writes a job over what was opened, or as a new file, and keeps a version",
        body: Some(openapi::save),
        gives: JSON,
        does: Does::Save,
    },
    Route {
        method: "POST",
        path: "api/versions",
        summary: "The kept versions of a job, the newest first",
        body: Some(openapi::named),
        gives: JSON,
        does: Does::Versions,
    },
    Route {
        method: "POST",
        path: "api/version",
        summary: "The text of a kept version",
        body: Some(openapi::version),
        gives: JSON,
        does: Does::Version,
    },
    Route {
        method: "POST",
        path: "api/mesh",
        summary: "Puts a mesh into the folder, under the name given by the query name=; never over \
                  another file",
        body: None,
        gives: JSON,
        does: Does::TakeMesh,
    },
    Route {
        method: "POST",
        path: "api/new",
        summary: "The text of a new job with parts of the given kinds",
        body: Some(openapi::new),
        gives: JSON,
        does: Does::New,
    },
    Route {
        method: "POST",
        path: "api/edit",
        summary: "Changes a job's text, reads it and makes its shapes; says what is wrong and what \
                  would cure it",
        body: Some(openapi::edit),
        gives: JSON,
        does: Does::Edit,
    },
    Route {
        method: "POST",
        path: "api/findings",
        summary: "Makes a job and checks it: findings with places, cures and outputs",
        body: Some(openapi::findings),
        gives: JSON,
        does: Does::Findings,
    },
    Route {
        method: "POST",
        path: "api/output",
        summary: "One of the outputs that the findings list, as bytes",
        body: Some(openapi::output),
        gives: BYTES,
        does: Does::Output,
    },
    Route {
        method: "POST",
        path: "api/make",
        summary: "Makes a saved job into the folder prints/NAME, as the command does",
        body: Some(openapi::named),
        gives: JSON,
        does: Does::Make,
    },
    Route {
        method: "POST",
        path: "api/plate",
        summary: "Lays the bodies of saved jobs out on the bed, into the folder plates",
        body: Some(openapi::jobs),
        gives: JSON,
        does: Does::Plate,
    },
    Route {
        method: "POST",
        path: "api/vary",
        summary: "The text of a table that varies fields of a saved job, for the batch",
        body: Some(openapi::vary),
        gives: JSON,
        does: Does::Vary,
    },
    Route {
        method: "POST",
        path: "api/batch",
        summary: "Makes saved jobs and all that tables of variants list, on all cores, into the \
                  folder batch",
        body: Some(openapi::batch),
        gives: JSON,
        does: Does::Batch,
    },
    Route {
        method: "POST",
        path: "api/survey",
        summary: "Measures a mesh of the folder: outside, cavities, what fits into them",
        body: Some(openapi::survey),
        gives: JSON,
        does: Does::Survey,
    },
];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Named {
    name: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Save {
    name: String,
    text: String,
    was: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Version {
    name: String,
    #[serde(deserialize_with = "whole")]
    number: u32,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Jobs {
    names: Vec<String>,
    #[serde(default, deserialize_with = "whole_or_none")]
    copies: Option<u32>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Names {
    names: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Survey {
    name: String,
    axis: Option<String>,
    unit: Option<String>,
}

/// A whole number, which JSON may also write as 3.0.
fn whole<'de, D: Deserializer<'de>>(given: D) -> Result<u32, D::Error> {
    let number = f64::deserialize(given)?;
    let fits = number.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&number);
    if !fits {
        return Err(D::Error::custom(format!("{number} is no whole number below 2^32")));
    }
    // Whole and in range.
    Ok(number as u32)
}

fn whole_or_none<'de, D: Deserializer<'de>>(given: D) -> Result<Option<u32>, D::Error> {
    #[derive(Deserialize)]
    struct Whole(#[serde(deserialize_with = "whole")] u32);
    Ok(Option::<Whole>::deserialize(given)?.map(|Whole(number)| number))
}

/// Answers a request of the page, `path` being that below the token.
pub(super) async fn answer(
    server: &std::sync::Arc<Server>,
    path: &str,
    request: Request<Incoming>,
) -> Result<Answer, Refused> {
    let method = request.method().as_str();
    if let Some((kind, text)) = page::file(path) {
        return match method {
            "GET" => Ok(bytes(StatusCode::OK, kind, text)),
            _ => {
                Err(refused("wrong_method", "the page's own files are read with GET").allow("GET"))
            }
        };
    }
    let route = route(path, method)?;
    if route.does == Does::TakeMesh {
        return take_mesh(server, request).await;
    }
    let edit = edit(request.headers())?;
    let body = match route.body {
        Some(_) => body(request).await?,
        None => Vec::new(),
    };
    let told = |value: Json| json_of(StatusCode::OK, &value);
    let name = |body: &[u8]| read::<Named>(body).map(|named| named.name);
    match route.does {
        Does::Tables => Ok(bytes(StatusCode::OK, JSON, server.tables.clone())),
        Does::Describe => Ok(told(openapi::described())),
        Does::Files => on_disk(server, |server| server.folder.list()).await.map(told),
        Does::Open => {
            let name = name(&body)?;
            on_disk(server, move |server| server.folder.open(&name)).await.map(told)
        }
        Does::Save => {
            let save: Save = read(&body)?;
            let saved = move |server: &Server| {
                server.folder.save(&save.name, &save.text, save.was.as_deref())
            };
            on_disk(server, saved).await.map(told)
        }
        Does::Versions => {
            let name = name(&body)?;
            on_disk(server, move |server| server.folder.versions(&name)).await.map(told)
        }
        Does::Version => {
            let asked: Version = read(&body)?;
            let found =
                move |server: &Server| server.folder.version(&asked.name, asked.number as usize);
            on_disk(server, found).await.map(told)
        }
        Does::New => {
            let new: NewJob = read(&body)?;
            built(server, Lane::Quick, None, &Task::New(new), JSON).await
        }
        Does::Edit => {
            let task: EditText = read(&body)?;
            built(server, Lane::Quick, edit, &Task::Edit(task), JSON).await
        }
        Does::Findings => {
            let task: FindingsOf = read(&body)?;
            built(server, Lane::Slow, edit, &Task::Findings(task), JSON).await
        }
        Does::Output => {
            let task: OutputOf = read(&body)?;
            built(server, Lane::Slow, None, &Task::Output(task), BYTES).await
        }
        Does::Vary => {
            let task: Vary = read(&body)?;
            let base = task.base.clone();
            on_disk(server, move |server| server.folder.job(&base)).await?;
            built(server, Lane::Quick, None, &Task::Vary(task), JSON).await
        }
        Does::Make | Does::Plate | Does::Batch | Does::Survey => {
            let task = command(server, route.does, &body)?;
            built(server, Lane::Long, None, &task, JSON).await
        }
        Does::TakeMesh => Err(refused("internal", "a mesh is taken in elsewhere")),
    }
}

fn route(path: &str, method: &str) -> Result<&'static Route, Refused> {
    let mut known = ROUTES.iter().filter(|route| route.path == path).peekable();
    if known.peek().is_none() {
        return Err(refused("not_found", "there is no such path").hint("openapi.json lists them"));
    }
    let methods: Vec<&str> = known.clone().map(|route| route.method).collect();
    let route = known.find(|route| route.method == method);
    route.ok_or_else(|| {
        refused("wrong_method", "the path has another method").allow(methods.join(", "))
    })
}

/// The edit that a request says it is for, with both headers or none.
fn edit(headers: &HeaderMap) -> Result<Option<Edit>, Refused> {
    let word =
        |name: &'static str| headers.get(name).map(|value| value.to_str().unwrap_or_default());
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
    let page = word("bench-page").map(|page| {
        match (1..=MAX_WORD).contains(&page.len()) && page.chars().all(plain) {
            true => Ok(page.to_owned()),
            false => Err(refused("bad_request", "bench-page is no name of letters, digits and -")),
        }
    });
    let number = word("bench-edit").map(|number| {
        let number = number.parse::<u32>();
        number.map_err(|_| refused("bad_request", "bench-edit is no whole number below 2^32"))
    });
    let (page, number) = (page.transpose()?, number.transpose()?);
    Ok(page.zip(number).map(|(page, number)| Edit { page, number: number.into() }))
}

/// The whole body of a request, which is JSON.
async fn body(request: Request<Incoming>) -> Result<Vec<u8>, Refused> {
    let kind = request.headers().get(CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    let kind = kind.and_then(|kind| kind.split(';').next()).unwrap_or_default();
    if !kind.trim().eq_ignore_ascii_case(JSON) {
        return Err(refused("wrong_type", format!("the body's content type is to be {JSON}")));
    }
    let limited = http_body_util::Limited::new(request.into_body(), MAX_JSON);
    let whole = tokio::time::timeout(BODY_TIME, limited.collect()).await.map_err(|_| slow())?;
    match whole {
        Ok(whole) => Ok(whole.to_bytes().to_vec()),
        Err(error) if error.is::<http_body_util::LengthLimitError>() => {
            Err(refused("too_large", format!("the body has more than {MAX_JSON} bytes")))
        }
        Err(_) => Err(refused("bad_request", "the body broke off")),
    }
}

fn slow() -> Refused {
    refused("too_slow", format!("the body did not come within {} s", BODY_TIME.as_secs()))
}

fn read<T: DeserializeOwned>(body: &[u8]) -> Result<T, Refused> {
    serde_json::from_slice(body).map_err(|error| {
        refused("bad_request", format!("the body is not as described: {error}"))
            .hint("openapi.json describes it")
    })
}

/// Reads or writes the folder, off the threads that answer.
async fn on_disk<T: Send + 'static>(
    server: &std::sync::Arc<Server>,
    run: impl FnOnce(&Server) -> Result<T, Refused> + Send + 'static,
) -> Result<T, Refused> {
    let server = server.clone();
    let done = tokio::task::spawn_blocking(move || run(&server)).await;
    done.unwrap_or_else(|_| Err(refused("internal", "reading or writing the folder failed")))
}

/// Has a task done by the processes that build.
async fn built(
    server: &Server,
    lane: Lane,
    edit: Option<Edit>,
    task: &Task,
    kind: &'static str,
) -> Result<Answer, Refused> {
    let task = serde_json::to_vec(task)
        .map_err(|error| refused("internal", format!("a task cannot be written: {error}")))?;
    let mut told = server.pool.done(lane, edit, task).await?;
    let first = if told.is_empty() { None } else { Some(told.remove(0)) };
    match first {
        Some(DONE) => Ok(bytes(StatusCode::OK, kind, told)),
        Some(REFUSED) => {
            let why: Json = serde_json::from_slice(&told).unwrap_or_default();
            let text = why["text"].as_str().unwrap_or("it cannot be made").to_owned();
            let hints = why["hints"].as_array().into_iter().flatten().filter_map(Json::as_str);
            Err(hints.fold(refused("cannot_be_made", text), Refused::hint))
        }
        _ => Err(refused("internal", "the build met a fault of borewright")
            .hint("this is a mistake in borewright, not in your job")),
    }
}

/// A command line for jobs or a mesh of the folder.
fn command(server: &Server, does: Does, body: &[u8]) -> Result<Task, Refused> {
    let text = |path: std::path::PathBuf| {
        let text = path.into_os_string().into_string();
        text.map_err(|_| refused("disk", "the folder's name is no UTF-8 text"))
    };
    let (word, names, out, more) = match does {
        Does::Make => {
            let named: Named = read(body)?;
            let stem = named.name.strip_suffix(".toml").unwrap_or(&named.name).to_owned();
            ("make", vec![named.name], Some(format!("prints/{stem}")), Vec::new())
        }
        Does::Plate => {
            let jobs: Jobs = read(body)?;
            let copies = jobs.copies.map(|n| vec!["--copies".to_owned(), format!("ALL={n}")]);
            ("plate", jobs.names, Some("plates".to_owned()), copies.unwrap_or_default())
        }
        Does::Batch => {
            let files: Names = read(body)?;
            ("batch", files.names, Some("batch".to_owned()), Vec::new())
        }
        _ => {
            let mesh: Survey = read(body)?;
            let options = [("--axis", mesh.axis), ("--unit", mesh.unit)];
            let options = options.into_iter().filter_map(|(o, v)| Some(format!("{o}={}", v?)));
            ("survey", vec![mesh.name], None, options.collect())
        }
    };
    if names.is_empty() {
        return Err(refused("bad_request", "no file is named").hint("choose at least one"));
    }
    let mut arguments = vec![word.to_owned()];
    for name in &names {
        arguments.push(text(server.folder.inside(name)?)?);
    }
    if let Some(out) = out {
        arguments.extend(["--out".to_owned(), text(server.folder.path().join(out))?]);
    }
    arguments.extend(more);
    Ok(Task::Command(arguments))
}

/// Writes a mesh into the folder piece by piece, so that it never fills the memory.
async fn take_mesh(
    server: &std::sync::Arc<Server>,
    request: Request<Incoming>,
) -> Result<Answer, Refused> {
    let query = request.uri().query().unwrap_or_default();
    let name = query.strip_prefix("name=").and_then(unescaped);
    let name = name.ok_or_else(|| refused("bad_request", "the query is to be name=FILE"))?;
    let about = name.clone();
    let mut staged = on_disk(server, move |server| server.folder.mesh(&about)).await?;
    let mut body = request.into_body();
    let (mut piece, mut length) = (Vec::new(), 0);
    loop {
        let frame = tokio::time::timeout(BODY_TIME, body.frame()).await.map_err(|_| slow())?;
        let ended = frame.is_none();
        match frame {
            Some(Ok(frame)) => piece.extend_from_slice(&frame.into_data().unwrap_or_default()),
            Some(Err(_)) => return Err(refused("bad_request", "the mesh broke off")),
            None => {}
        }
        if length + piece.len() as u64 > MAX_MESH {
            return Err(refused("too_large", format!("the mesh has more than {MAX_MESH} bytes")));
        }
        if piece.len() >= PIECE || ended {
            length += piece.len() as u64;
            let (about, bytes) = (name.clone(), std::mem::take(&mut piece));
            staged = on_disk(server, move |_| {
                let written = staged.append(&about, &bytes);
                written.map_err(|error| refused("disk", error.to_string()))?;
                Ok(staged)
            })
            .await?;
        }
        if ended {
            break;
        }
    }
    if length == 0 {
        return Err(refused("bad_request", "the mesh has no bytes"));
    }
    on_disk(server, move |server| server.folder.take_in(staged)).await?;
    Ok(json_of(StatusCode::OK, &json!({ "name": name, "bytes": length })))
}

/// A query's value with its %XX as UTF-8.
fn unescaped(text: &str) -> Option<String> {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let [first, tail @ ..] = rest {
        rest = tail;
        match (first, rest) {
            (b'%', [high, low, tail @ ..]) => {
                let digit = |c: &u8| char::from(*c).to_digit(16);
                bytes.push(u8::try_from(16 * digit(high)? + digit(low)?).ok()?);
                rest = tail;
            }
            (b'%' | b'&', _) => return None,
            (b'+', _) => bytes.push(b' '),
            (plain, _) => bytes.push(*plain),
        }
    }
    String::from_utf8(bytes).ok()
}
