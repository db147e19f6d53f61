//! The bench page: a server on this machine alone, from which a browser gets a
//! page on which jobs are written, seen and made.
//!
//! The server keeps no state of a job: the page sends the text, and gets back
//! the text as changed, what is wrong with it, and its shapes. What takes time
//! is done in processes of its own ([`pool`]), so that a build that takes too
//! long or too much memory is ended without harm to anything else.

mod answer;
mod asset;
mod connection;
mod folder;
mod forms;
mod in_process;
mod openapi;
mod pool;
mod routes;
mod suggest;
mod task;
mod vary;
mod worker;
mod zipped;

use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use hyper::body::Bytes;
use tokio::net::TcpListener;

pub use in_process::InProcess;
pub use worker::{Ran, WorkerOptions, answer_tasks};

use crate::measure::Library;

use folder::Folder;
use pool::Pool;

/// What a server is started with.
#[derive(Clone, Debug)]
pub struct ServeOptions {
    /// The folder whose jobs are shown; nothing outside it is read or written.
    pub folder: PathBuf,
    /// The port; 0 for any that is free.
    pub port: u16,
    /// All profiles that are known.
    pub library: Library,
    /// The folder that own ones of them are from.
    pub profiles: Option<PathBuf>,
    /// The limits of one build.
    pub limits: BuildLimits,
}

/// What one build may take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BuildLimits {
    /// Longest time of a build. Batches, plates and surveys may take
    /// [`LONG_WORK`] times as long.
    pub time: Duration,
    /// Most memory of a process that builds, MiB of address space; Unix only.
    pub memory: u64,
}

/// How many times longer than a build a batch, a plate or a survey may take.
/// Common practice, no source.
pub const LONG_WORK: u32 = 20;

/// All that answering a request needs.
struct Server {
    folder: Folder,
    pool: Pool,
    /// All that may be entered, as JSON.
    tables: Bytes,
    /// What every path begins with; who does not know it gets nothing.
    token: String,
    /// The port that is listened on, for the check of `Host` and `Origin`.
    port: u16,
}

/// Serves until the process is ended. `ready` is told the page's address once it
/// can be opened.
///
/// # Errors
/// The folder cannot be read, the port is taken, or no process can be started.
pub fn serve(options: &ServeOptions, ready: impl FnOnce(&str)) -> io::Result<()> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(ANSWERING_THREADS)
        .enable_all()
        .build()?;
    runtime.block_on(async {
        let folder = Folder::new(&options.folder)?;
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, options.port));
        let listener = TcpListener::bind(address).await?;
        let port = listener.local_addr()?.port();
        let pool = Pool::start(folder.path(), options)?;
        let tables = forms::tables(&options.library).to_string().into();
        let token = token()?;
        let address = format!("http://127.0.0.1:{port}/{token}/");
        let server = Arc::new(Server { folder, pool, tables, token, port });
        ready(&address);
        connection::accept(listener, server).await
    })
}

/// Threads that answer requests; building is done elsewhere. Common practice,
/// no source.
const ANSWERING_THREADS: usize = 2;

/// 128 random bits in hex: more than can be guessed.
fn token() -> io::Result<String> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes).map_err(|error| io::Error::other(error.to_string()))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}
