//! `borewright serve`, and the processes that build for its page.

use std::ffi::OsString;
use std::io;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::Duration;

use super::{Environment, Stop, library, run};
use crate::parts::PART_KINDS;
use crate::serve::{BuildLimits, Ran, ServeOptions, WorkerOptions, answer_tasks, serve};

/// Open the bench page: measure, choose, see the part, in a browser.
///
/// The page is served on this machine alone (127.0.0.1), under an address that holds a random
/// token, and reads and writes one folder. Nothing is fetched from a network.
#[derive(Debug, clap::Args)]
pub(super) struct Serve {
    /// The folder of your jobs
    #[arg(default_value = ".")]
    folder: PathBuf,
    /// The port; 0 takes any that is free
    #[arg(long, value_name = "N", default_value_t = 0)]
    port: u16,
    /// Print the address and leave the browser alone
    #[arg(long)]
    no_open: bool,
    /// Folder of your own profiles: DIR/cells.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
    /// Longest time of one build, seconds
    #[arg(long, value_name = "S", default_value_t = 30.0)]
    build_seconds: f64,
    /// Most memory of one build, MiB (Unix)
    #[arg(long, value_name = "MIB", default_value_t = 4096, value_parser = clap::value_parser!(u64).range(16..=1 << 20))]
    build_memory: u64,
}

/// Longest time that may be given for one build, seconds: a day.
const MOST_SECONDS: f64 = 86_400.0;

impl Serve {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        if !(self.build_seconds > 0.0 && self.build_seconds <= MOST_SECONDS) {
            let what = format!(
                "--build-seconds {} is not above 0 and at most {MOST_SECONDS}",
                self.build_seconds
            );
            return Err(Stop::bad_input(what, ["leave it out for the default".to_owned()]));
        }
        let profiles = self.profiles.as_deref().or(env.profiles.as_deref());
        let options = ServeOptions {
            folder: self.folder.clone(),
            port: self.port,
            library: library(self.profiles.as_deref(), env)?,
            profiles: profiles.map(std::path::absolute).transpose()?,
            limits: BuildLimits {
                time: Duration::from_secs_f64(self.build_seconds),
                memory: self.build_memory,
            },
        };
        let (out, err) = (&mut *env.out, &mut *env.err);
        let done = serve(&options, |address| {
            // Without a place to write to, the browser still opens.
            let _ = writeln!(out, "{address}").and_then(|()| out.flush());
            let _ =
                writeln!(err, "\nhint: keep this running while the page is open; Ctrl+C ends it");
            if !self.no_open && !opened(address) {
                let _ = writeln!(err, "hint: no browser was found; open the address above in one");
            }
        });
        done.map_err(|error| {
            let what = format!("cannot serve {}: {error}", self.folder.display());
            let hint = match error.kind() {
                io::ErrorKind::AddrInUse => "leave --port out, which takes any that is free",
                _ => "name a folder that is there and can be read",
            };
            Stop::bad_input(what, [hint.to_owned()])
        })
    }
}

/// Opens the address in the person's browser, as each system does.
fn opened(address: &str) -> bool {
    let (program, arguments): (&str, &[&str]) = match std::env::consts::OS {
        "macos" => ("open", &[]),
        "windows" => ("rundll32", &["url.dll,FileProtocolHandler"]),
        _ => ("xdg-open", &[]),
    };
    let mut command = Command::new(program);
    command.args(arguments).arg(address);
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn().is_ok()
}

/// A process that builds for the page of `serve`.
#[derive(Debug, clap::Args)]
pub(super) struct BuildForPage {
    #[arg(long)]
    folder: PathBuf,
    #[arg(long)]
    memory: u64,
    #[arg(long)]
    profiles: Option<PathBuf>,
    #[arg(long)]
    background: bool,
}

impl BuildForPage {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let options = WorkerOptions {
            folder: self.folder.clone(),
            memory: self.memory,
            background: self.background,
            library: library(self.profiles.as_deref(), env)?,
            command,
            epoch: env.epoch.clone(),
        };
        answer_tasks(options, &mut io::stdin().lock(), env.out)?;
        Ok(())
    }
}

/// Runs a command line within a process that builds.
fn command(arguments: Vec<OsString>) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let given = |name| std::env::var_os(name).filter(|value| !value.is_empty());
    let mut env = Environment {
        kinds: PART_KINDS,
        out: &mut out,
        err: &mut err,
        colour: false,
        profiles: given("BOREWRIGHT_PROFILES").map(Into::into),
        epoch: given("SOURCE_DATE_EPOCH").map(|value| value.to_string_lossy().into_owned()),
    };
    let name = OsString::from("borewright");
    let exit = run(std::iter::once(name).chain(arguments), &mut env);
    Ran { exit: exit.code(), out, err }
}
