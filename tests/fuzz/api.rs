//! Requests to the server of the bench page: answered as its own description says, and nothing
//! outside its folder is read or written.
//!
//! An input is up to [`MOST`] requests of one connection, with [`BETWEEN`] between them. The first
//! byte of each is the route, in the order of the description, the second how it is sent, see
//! [`Way`]; the rest is the body, for a mesh after a line with the query. Some bytes below the
//! space stand for what an input cannot know, see [`Rig::filled`].

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, OnceLock, PoisonError};
use std::time::Duration;

use borewright::measure::Library;
use borewright::serve::{BuildLimits, InProcess, Ran, ServeOptions};
use serde_json::Value as Json;

use super::bytes::size;
use super::harness::hash;

/// What bodies are made of.
pub const WORDS: &[&str] = &[
    "{\"name\":\"ring.toml\"}",
    "{\"name\":\"ring.toml\",",
    "{\"names\":[\"ring.toml\"],\"copies\":2}",
    "{\"name\":\"wedge.obj\",\"axis\":\"x\",\"unit\":\"mm\"}",
    "{\"kinds\":[\"adapter_ring\"]}",
    "\"text\":\"\u{1}\"",
    "\"was\":\"\u{2}\"",
    "\"was\":null",
    "\"number\":1",
    "\"output\":\"ring.stl\"",
    "\"output\":\"report.txt\"",
    "\"changes\":[]",
    "{\"set\":{\"field\":\"part[1].inner\",\"value\":\"25\"}}",
    "{\"set\":{\"field\":\"handle.bore\",\"value\":\"\"}}",
    "{\"add\":\"part[1].hole\"}",
    "{\"remove\":\"part[1]\"}",
    "{\"part\":\"crystal_cradle\"}",
    "part[1].hole[1]",
    "handle",
    "print.printer",
    "name=a.stl\n",
    "name=%2e%2e%2f\u{4}\n",
    "../outside.toml",
    "link.toml",
    "far/outside.toml",
    "new.toml",
    "file = \\\"../outside.stl\\\"\\n",
    "\\n[chassis]\\nmesh = \\\"wedge.obj\\\"\\n",
    "\u{1e}",
    "\\u0000",
    "\\ud800",
    "1e999",
    "-1",
    "4294967296",
    "[[[[[[[[[[[[[[[[",
    "{\"a\":{\"a\":{\"a\":",
    "null",
    ",",
    "\"",
    "\\",
    "GET \u{3}api/files HTTP/1.1\r\nHost: \u{5}\r\n\r\n",
    "POST \u{3}api/open HTTP/1.1\r\nHost: \u{5}\r\nContent-Type: application/json\r\n",
    "Transfer-Encoding: chunked\r\n\r\n5\r\n",
    "Content-Length: 3\r\n",
    "Expect: 100-continue\r\n",
    "Upgrade: h2c\r\n",
    "\r\n\r\n",
    "/../",
    "//",
    "%00",
    "?",
    "#",
    "\u{feff}",
    "\u{202e}",
    "µ",
];

/// Most requests of an input.
const MOST: usize = 4;

/// Stands between two requests: the separator of records, which JSON does not have.
const BETWEEN: u8 = 0x1e;

/// Stands in files beside the folder, and never in an answer.
const SECRET: &str = "nobody-reads-this";

/// A small job, quickly built.
const RING: &str = "format = 1\n[handle]\nname = \"a\"\nbore = [32, 32.1]\nlength = 60\n\
                    caliper = 0.02\n[print]\nprinter = \"fdm-thin\"\nmaterial = \"petg\"\n\
                    chord = 0.2\n[[part]]\nkind = \"adapter_ring\"\nname = \"ring\"\n\
                    inner = 26\nlength = 8\n";

/// A small mesh.
const WEDGE: &str = "v 0 0 0\nv 9 0 0\nv 0 9 0\nv 0 0 9\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n";

/// Statuses that the HTTP library gives, without a body, to what is no request.
const NO_REQUEST: [&str; 3] = ["400", "414", "431"];

/// How a request is sent: bits of its second byte.
struct Way(u8);

impl Way {
    fn has(&self, bit: u8) -> bool {
        self.0 & (1 << bit) != 0
    }

    /// The rest of the input is the request itself.
    fn raw(&self) -> bool {
        self.0 == 0xff
    }

    fn head(&self, host: &str, length: usize) -> String {
        let mut head = String::new();
        let mut line = |name: &str, value: &str| head.push_str(&format!("{name}: {value}\r\n"));
        line("Host", if self.has(4) { "localhost:1" } else { host });
        line("Content-Type", if self.has(0) { "text/plain" } else { "application/json; x=y" });
        if self.has(1) {
            line("bench-page", if self.has(2) { "a page" } else { "page-1" });
        }
        if self.has(2) {
            line("bench-edit", if self.has(3) { "-1" } else { "7" });
        }
        if self.has(3) {
            line("Origin", &format!("http://{host}"));
        }
        if self.has(5) {
            line("Sec-Fetch-Site", "cross-site");
        }
        if self.has(6) {
            line("Expect", "100-continue");
        }
        line("Content-Length", &(length + usize::from(self.has(7))).to_string());
        head + "\r\n"
    }
}

/// A route as described: its statuses, each with its text, which names its codes.
struct Operation {
    method: String,
    path: String,
    statuses: BTreeMap<String, String>,
}

/// A server in a folder that lies in another one.
struct Rig {
    server: InProcess,
    outer: PathBuf,
    operations: Vec<Operation>,
    codes: Vec<String>,
    digest: String,
    /// What lies in the folder before each input.
    first: BTreeMap<String, Vec<u8>>,
}

/// The folder of the jobs in the outer one.
const JOBS: &str = "jobs";

/// Puts everything as it is at first.
fn put(outer: &Path) {
    let _ = fs::remove_dir_all(outer);
    let jobs = outer.join(JOBS);
    fs::create_dir_all(jobs.join("folder.toml")).expect("a temporary folder");
    for (name, text) in [("ring.toml", RING), ("wedge.obj", WEDGE)] {
        fs::write(jobs.join(name), text).expect("a temporary folder");
    }
    for name in ["outside.toml", "outside.stl", "outside.csv"] {
        fs::write(outer.join(name), SECRET).expect("a temporary folder");
    }
    #[cfg(unix)]
    for (from, to) in [("../outside.toml", "link.toml"), ("..", "far")] {
        std::os::unix::fs::symlink(from, jobs.join(to)).expect("a temporary folder");
    }
}

/// What lies in a folder: names, with the texts of files but not of links.
fn seen(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).expect("it is there").map(|e| e.expect("readable"));
    let about = |entry: fs::DirEntry| {
        let plain = entry.file_type().is_ok_and(|kind| kind.is_file());
        let text = if plain { fs::read(entry.path()).expect("readable") } else { Vec::new() };
        (entry.file_name().into_string().expect("UTF-8"), text)
    };
    entries.map(about).collect()
}

/// Commands get names of files in the folder and nothing else. What they do with them, and how
/// long they take, is for other tests.
fn command(arguments: Vec<OsString>) -> Ran {
    let words: Vec<&str> = arguments.iter().map(|a| a.to_str().expect("UTF-8")).collect();
    let jobs = fs::canonicalize(outer().join(JOBS)).expect("it is there");
    let (_, rest) = words.split_first().expect("a command");
    for (i, given) in rest.iter().enumerate() {
        let path = Path::new(given);
        let copies = i > 0 && rest[i - 1] == "--copies";
        assert!(path.is_absolute() || given.starts_with("--") || copies, "{words:?}");
        assert!(!path.is_absolute() || path.starts_with(&jobs), "{words:?}");
    }
    Ran { exit: 0, out: words.join("\n").into_bytes(), err: Vec::new() }
}

fn outer() -> PathBuf {
    std::env::temp_dir().join(format!("borewright-fuzz-api-{}", std::process::id()))
}

impl Rig {
    fn new() -> Rig {
        let outer = outer();
        put(&outer);
        let options = ServeOptions {
            folder: outer.join(JOBS),
            port: 80,
            library: Library::shipped(),
            profiles: None,
            limits: BuildLimits { time: Duration::from_secs(1), memory: 512 },
        };
        let server = InProcess::new(&options, command).expect("a server");
        let mut rig = Rig {
            server,
            first: seen(&outer.join(JOBS)),
            outer,
            operations: Vec::new(),
            codes: Vec::new(),
            digest: String::new(),
        };
        let described = rig.json("GET", "openapi.json", "");
        for (path, methods) in described["paths"].as_object().expect("paths") {
            for (method, operation) in methods.as_object().expect("methods") {
                let responses = operation["responses"].as_object().expect("responses");
                let text = |r: &Json| r["description"].as_str().expect("a text").to_owned();
                rig.operations.push(Operation {
                    method: method.to_ascii_uppercase(),
                    path: path.trim_start_matches('/').to_owned(),
                    statuses: responses.iter().map(|(s, r)| (s.clone(), text(r))).collect(),
                });
            }
        }
        let error = &described["components"]["schemas"]["Refused"]["properties"]["error"];
        let codes = error["properties"]["code"]["enum"].as_array().expect("codes");
        rig.codes = codes.iter().map(|c| c.as_str().expect("a code").to_owned()).collect();
        let opened = rig.json("POST", "api/open", "{\"name\":\"ring.toml\"}");
        rig.digest = opened["digest"].as_str().expect("a digest").to_owned();
        rig
    }

    fn json(&self, method: &str, path: &str, body: &str) -> Json {
        let head = Way(0).head(&self.server.host(), body.len());
        let root = self.server.root();
        let sent = format!("{method} {root}{path} HTTP/1.1\r\n{head}{body}");
        let told = self.server.answers(sent.as_bytes());
        let answer = Answer::first(&told).expect("an answer").0;
        serde_json::from_slice(answer.body).expect("JSON")
    }

    /// An input's bytes with what they stand for: 1 the job's text within JSON, 2 its digest, 3
    /// the path with the token, 4 the folder around the server's, 5 the host.
    fn filled(&self, bytes: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        for &b in bytes {
            let text = match b {
                1 => serde_json::to_string(RING).expect("JSON").trim_matches('"').to_owned(),
                2 => self.digest.clone(),
                3 => self.server.root(),
                4 => self.outer.display().to_string(),
                5 => self.server.host(),
                _ => {
                    out.push(b);
                    continue;
                }
            };
            out.extend(text.bytes());
        }
        out
    }

    /// The bytes of a request, and its route.
    fn request(&self, input: &[u8]) -> (Vec<u8>, Option<&Operation>) {
        let [route, how, rest @ ..] = input else { return (input.to_vec(), None) };
        let way = Way(*how);
        if way.raw() {
            return (self.filled(rest), None);
        }
        let operation = &self.operations[usize::from(*route) % self.operations.len()];
        let mesh = operation.path == "api/mesh";
        let split = rest.iter().position(|&b| b == b'\n').filter(|_| mesh);
        let (query, body) = split.map_or((&[][..], rest), |at| (&rest[..at], &rest[at + 1..]));
        let (query, body) = (self.filled(query), self.filled(body));
        let mark = if query.is_empty() { "" } else { "?" };
        let mut all =
            format!("{} {}{}{mark}", operation.method, self.server.root(), operation.path)
                .into_bytes();
        all.extend(query);
        all.extend_from_slice(b" HTTP/1.1\r\n");
        all.extend(way.head(&self.server.host(), body.len()).bytes());
        all.extend(body);
        (all, Some(operation))
    }

    /// Checks an answer, and tells its kind.
    fn judged(&self, answer: &Answer<'_>, operation: Option<&Operation>) -> u64 {
        let Answer { status, head, body } = answer;
        let any = operation.or(self.operations.first()).expect("an operation");
        let text = any.statuses.get(*status);
        if body.is_empty() && NO_REQUEST.contains(status) && !head.contains("content-type") {
            return hash(status.as_bytes());
        }
        let text = text.unwrap_or_else(|| panic!("status {status} is not described: {head}"));
        assert!(head.contains("content-security-policy: default-src 'none'"), "{head}");
        let shown = String::from_utf8_lossy(body);
        assert!(!shown.contains(SECRET), "what is outside was read: {shown}");
        let json = head.contains("content-type: application/json");
        if *status == "200" {
            assert!(!json || serde_json::from_slice::<Json>(body).is_ok(), "no JSON: {shown}");
            let report = operation.is_some_and(|o| o.path == "api/edit");
            // What is wrong with a job, not how much.
            return if report { sorts(body) } else { size(body.len()) / 4 };
        }
        assert!(json, "a refusal that is no JSON: {head}");
        if body.is_empty() {
            // HEAD asks for no body.
            return hash(status.as_bytes());
        }
        let refused: Json = serde_json::from_slice(body).expect("a refusal is JSON");
        let error = &refused["error"];
        let keys: Vec<&String> = error.as_object().expect("an object").keys().collect();
        assert_eq!(
            (keys.as_slice(), refused.as_object().map(|o| o.len())),
            (&[&"code".to_owned(), &"text".to_owned(), &"hints".to_owned()][..], Some(1))
        );
        let code = error["code"].as_str().expect("a code");
        assert!(self.codes.iter().any(|known| known == code), "code {code} is not described");
        assert!(text.contains(&format!("{code}: ")), "{status} is not the status of {code}");
        let hints = error["hints"].as_array().expect("hints");
        assert!(hints.iter().all(Json::is_string), "{shown}");
        let why = error["text"].as_str().expect("a text");
        assert!(!why.is_empty() && !["internal", "disk"].contains(&code), "{shown}");
        hash(code.as_bytes()) ^ words(why)
    }

    /// Checks what lies in the folders after an input, and puts it back.
    fn tidied(&self) -> u64 {
        let (before, after) = (&self.first, seen(&self.outer.join(JOBS)));
        if after == *before {
            return 0;
        }
        let around = seen(&self.outer);
        let names: Vec<&String> = around.keys().collect();
        assert_eq!(names, [JOBS, "outside.csv", "outside.stl", "outside.toml"]);
        assert!(around.iter().all(|(name, text)| name == JOBS || text == SECRET.as_bytes()));
        for (name, text) in &after {
            assert!(!name.starts_with('.'), "{name} was left behind");
            let kept = before.get(name).is_none_or(|old| old == text) || name.ends_with(".toml");
            assert!(kept, "{name} was written over");
        }
        assert!(before.keys().all(|name| after.contains_key(name)), "a file is gone");
        put(&self.outer);
        1 + size(after.len())
    }
}

struct Answer<'a> {
    status: &'a str,
    /// In lower case.
    head: String,
    body: &'a [u8],
}

impl Answer<'_> {
    /// The first answer, and what follows it.
    fn first(told: &[u8]) -> Option<(Answer<'_>, &[u8])> {
        let end = told.windows(4).position(|w| w == b"\r\n\r\n")?;
        let head = std::str::from_utf8(&told[..end]).expect("heads are ASCII");
        let status = head.split(' ').nth(1).expect("a status");
        let head = head.to_ascii_lowercase();
        let rest = &told[end + 4..];
        let length = head.lines().find_map(|l| l.strip_prefix("content-length: "));
        let length = length.map_or(0, |n| n.parse::<usize>().expect("a length"));
        // An answer to HEAD has a length and no body.
        let bare = rest.is_empty() || rest.starts_with(b"HTTP/1.");
        let (body, rest) = rest.split_at(if bare { 0 } else { length });
        Some((Answer { status, head: head.clone(), body }, rest))
    }
}

/// Which sorts of faults an edit's answer tells, and how many bodies there are.
fn sorts(body: &[u8]) -> u64 {
    let told: Json = serde_json::from_slice(body).expect("it is JSON");
    let faults = told["faults"].as_array().into_iter().flatten();
    let mut sorts: Vec<&str> = faults.filter_map(|fault| fault["code"].as_str()).collect();
    sorts.sort_unstable();
    sorts.dedup();
    let bodies = told["bodies"].as_array().map_or(0, Vec::len);
    hash(sorts.concat().as_bytes()) ^ size(bodies)
}

/// What is wrong with a body, without what the message quotes of it. Other messages begin with
/// names of any kind.
fn words(text: &str) -> u64 {
    let about = text.strip_prefix("the body is not as described").unwrap_or_default();
    let about = about.split('`').next().unwrap_or_default();
    let letters: Vec<u8> = about.bytes().filter(u8::is_ascii_alphabetic).take(40).collect();
    hash(&letters)
}

pub fn run(input: &[u8]) -> u64 {
    static RIG: OnceLock<Mutex<Rig>> = OnceLock::new();
    let rig = RIG.get_or_init(|| Mutex::new(Rig::new()));
    if rig.is_poisoned() {
        // A failed input may have left something.
        put(&outer());
        rig.clear_poison();
    }
    let rig = rig.lock().unwrap_or_else(PoisonError::into_inner);
    let mut sent = Vec::new();
    // The routes that are asked for, as long as each request ends where it says.
    let mut operations = Vec::new();
    let mut whole = true;
    for part in input.split(|&b| b == BETWEEN).take(MOST) {
        let (bytes, operation) = rig.request(part);
        sent.extend(bytes);
        operations.extend(operation.filter(|_| whole));
        whole &= operation.is_some() && !part.get(1).is_some_and(|how| Way(*how).has(7));
    }
    let told = rig.server.answers(&sent);
    let (mut rest, mut last, mut count, mut done) = (told.as_slice(), 0, 0, 0);
    while let Some((answer, after)) = Answer::first(rest) {
        rest = after;
        if answer.status == "100" {
            continue;
        }
        let operation = operations.get(count).copied();
        let route = operation.map_or(0, |o| hash(o.path.as_bytes()));
        last = route ^ rig.judged(&answer, operation);
        count += 1;
        done += u64::from(answer.status == "200");
    }
    assert!(rest.is_empty(), "an answer without a head: {}", String::from_utf8_lossy(rest));
    // A series is worth more the more of it was done.
    last ^ done.rotate_left(8) ^ rig.tidied().rotate_left(16)
}
