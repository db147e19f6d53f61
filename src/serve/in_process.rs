//! The server without a socket and without processes of its own: what it answers to bytes that
//! come over one connection. For tests that send very many.

use std::ffi::OsString;
use std::io;
use std::sync::Arc;

use hyper::body::Bytes;
use tokio::runtime::{Builder, Runtime};

use super::connection::talk;
use super::folder::Folder;
use super::pool::Pool;
use super::task::Bench;
use super::worker::answered;
use super::{Ran, ServeOptions, Server, WorkerOptions, forms, token};

/// A server that answers in the thread that asks. Builds have no limits and a panic in them is
/// the asker's; everything else is as over a socket. Nothing but the folder's files is kept from
/// one connection to the next.
pub struct InProcess {
    runtime: Runtime,
    folder: Folder,
    tables: Bytes,
    token: String,
    options: ServeOptions,
    command: fn(Vec<OsString>) -> Ran,
}

impl InProcess {
    /// A server for a folder, whose commands are run by `command`.
    ///
    /// # Errors
    /// The folder cannot be read, or the system gives no random numbers.
    pub fn new(options: &ServeOptions, command: fn(Vec<OsString>) -> Ran) -> io::Result<InProcess> {
        Ok(InProcess {
            runtime: Builder::new_current_thread().enable_time().build()?,
            folder: Folder::new(&options.folder)?,
            tables: forms::tables(&options.library).to_string().into(),
            token: token()?,
            options: options.clone(),
            command,
        })
    }

    /// The host that requests are to name.
    pub fn host(&self) -> String {
        format!("127.0.0.1:{}", self.options.port)
    }

    /// What paths are to begin with.
    pub fn root(&self) -> String {
        format!("/{}/", self.token)
    }

    /// All that is answered to bytes that come over one connection, after which the other side
    /// only listens.
    pub fn answers(&self, sent: &[u8]) -> Vec<u8> {
        let limits = self.options.limits;
        let mut bench = Bench::new(WorkerOptions {
            folder: self.folder.path().to_owned(),
            memory: limits.memory,
            background: false,
            library: self.options.library.clone(),
            command: self.command,
            epoch: None,
        });
        let server = Arc::new(Server {
            folder: self.folder.clone(),
            pool: Pool::idle(limits.time),
            tables: self.tables.clone(),
            token: self.token.clone(),
            port: self.options.port,
        });
        let mut told = Vec::new();
        self.runtime.block_on(async {
            let stream = tokio::io::join(sent, &mut told);
            tokio::select! {
                () = talk(stream, server.clone(), true) => {}
                () = server.pool.work_here(|task| answered(&mut bench, task)) => {}
            }
        });
        told
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::time::Duration;

    use super::super::BuildLimits;
    use super::*;
    use crate::measure::Library;

    /// Says what it was asked for.
    fn command(arguments: Vec<OsString>) -> Ran {
        let words: Vec<String> =
            arguments.iter().map(|word| word.to_string_lossy().into_owned()).collect();
        Ran { exit: 0, out: words.join("\n").into_bytes(), err: Vec::new() }
    }

    fn server(name: &str) -> InProcess {
        let folder = std::env::temp_dir()
            .join(format!("borewright-in-process-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).expect("made");
        let options = ServeOptions {
            folder,
            port: 80,
            library: Library::shipped(),
            profiles: None,
            limits: BuildLimits { time: Duration::from_secs(1), memory: 512 },
        };
        InProcess::new(&options, command).expect("it starts")
    }

    fn post(server: &InProcess, path: &str, body: &str) -> String {
        let (root, host, length) = (server.root(), server.host(), body.len());
        format!(
            "POST {root}{path} HTTP/1.1\r\nHost: {host}\r\nContent-Type: application/json\r\n\
             Content-Length: {length}\r\n\r\n{body}"
        )
    }

    #[test]
    fn each_request_of_a_connection_is_answered_in_turn() {
        let server = server("turn");
        let sent = [
            post(&server, "api/save", r#"{"name":"a.toml","text":"one"}"#),
            post(&server, "api/open", r#"{"name":"a.toml"}"#),
            post(&server, "api/new", r#"{"kinds":["none"]}"#),
            "nonsense".to_owned(),
        ];
        let told = String::from_utf8(server.answers(sent.concat().as_bytes())).expect("text");
        let statuses: Vec<&str> =
            told.split("HTTP/1.1 ").filter_map(|answer| answer.get(..3)).collect();
        assert_eq!(statuses, ["200", "200", "422"], "{told}");
        assert!(told.contains(r#""text":"one""#), "{told}");
        let stranger = server.answers(b"GET / HTTP/1.1\r\nHost: 127.0.0.1:80\r\n\r\n");
        assert!(stranger.starts_with(b"HTTP/1.1 403"));
    }

    #[test]
    fn jobs_whose_names_differ_are_made_into_folders_that_differ() {
        let server = server("names");
        let into = |name: &str| {
            fs::write(server.folder.path().join(name), "").expect("written");
            let told = server
                .answers(post(&server, "api/make", &format!(r#"{{"name":"{name}"}}"#)).as_bytes());
            let told = String::from_utf8(told).expect("text");
            let (_, out) = told.split_once(r"--out\n").unwrap_or_else(|| panic!("{told}"));
            out.split_once('"').expect("a text ends").0.to_owned()
        };
        let one = into("a.toml");
        assert!(one.ends_with("/prints/a"), "{one}");
        assert_ne!(one, into("a.toml.toml"));
    }
}
