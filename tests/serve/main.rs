//! `borewright serve` over real HTTP: who is let in, what is refused, and that
//! one build harms no other.

mod browser;
mod described;
mod security;
mod work;

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};

/// How long a test waits for an answer.
const PATIENCE: Duration = Duration::from_secs(300);

/// A running server of a fresh folder; ended when dropped.
struct Server {
    child: Child,
    folder: PathBuf,
    port: u16,
    token: String,
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

struct Answer {
    status: u16,
    head: String,
    body: Vec<u8>,
}

impl Answer {
    fn json(&self) -> Value {
        serde_json::from_slice(&self.body)
            .unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&self.body)))
    }

    fn code(&self) -> String {
        self.json()["error"]["code"].as_str().unwrap_or("none").to_owned()
    }

    fn of(bytes: &[u8]) -> Answer {
        let at = bytes.windows(4).position(|w| w == b"\r\n\r\n");
        let at = at.unwrap_or_else(|| panic!("no head: {}", String::from_utf8_lossy(bytes)));
        let head = String::from_utf8_lossy(&bytes[..at]).to_ascii_lowercase();
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).expect("a status");
        Answer { status, head, body: bytes[at + 4..].to_vec() }
    }
}

fn example(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    fs::read_to_string(path).expect("an example")
}

impl Server {
    fn start(name: &str, options: &[&str]) -> Server {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("serve-{name}"));
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).expect("made");
        let mut child = Command::new(env!("CARGO_BIN_EXE_borewright"))
            .arg("serve")
            .arg(&folder)
            .arg("--no-open")
            .args(options)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("it starts");
        let mut line = String::new();
        let out = child.stdout.take().expect("piped");
        BufReader::new(out).read_line(&mut line).expect("an address");
        let rest = line.trim().strip_prefix("http://127.0.0.1:").expect("on this machine");
        let (port, token) = rest.split_once('/').expect("a token");
        let port = port.parse().expect("a port");
        Server { child, folder, port, token: token.trim_end_matches('/').to_owned() }
    }

    fn address(&self) -> String {
        format!("http://127.0.0.1:{}/{}/", self.port, self.token)
    }

    fn connected(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).expect("it listens");
        stream.set_read_timeout(Some(PATIENCE)).expect("set");
        stream
    }

    /// Sends bytes as they are and reads to the end.
    fn raw(&self, bytes: &[u8]) -> Answer {
        let mut stream = self.connected();
        // A server that refuses may close before all is sent.
        let _ = stream.write_all(bytes);
        let mut all = Vec::new();
        let _ = stream.read_to_end(&mut all);
        Answer::of(&all)
    }

    /// A request with the given head lines; `Host` is ours unless one is given.
    fn ask(&self, method: &str, path: &str, head: &[(&str, &str)], body: &[u8]) -> Answer {
        let mut text = format!("{method} /{}/{path} HTTP/1.1\r\n", self.token);
        if !head.iter().any(|(name, _)| *name == "Host") {
            text.push_str(&format!("Host: 127.0.0.1:{}\r\n", self.port));
        }
        for (name, value) in head {
            text.push_str(&format!("{name}: {value}\r\n"));
        }
        text.push_str(&format!("Content-Length: {}\r\nConnection: close\r\n\r\n", body.len()));
        self.raw(&[text.as_bytes(), body].concat())
    }

    fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &[], b"")
    }

    fn post(&self, path: &str, body: &Value) -> Answer {
        let head = [("Content-Type", "application/json")];
        self.ask("POST", path, &head, body.to_string().as_bytes())
    }

    fn post_for(&self, path: &str, page: &str, edit: u64, body: &Value) -> Answer {
        let edit = edit.to_string();
        let head =
            [("Content-Type", "application/json"), ("bench-page", page), ("bench-edit", &edit)];
        self.ask("POST", path, &head, body.to_string().as_bytes())
    }
}

/// An edit of the ember wand.
fn edit_of(text: &str, changes: Value) -> Value {
    json!({ "name": "wand.toml", "text": text, "changes": changes })
}
