//! `borewright`: parses, calls the library, prints, exits.

use std::io::{self, IsTerminal, Write};
use std::panic;
use std::process::ExitCode;

use borewright::cli::{Environment, Exit, run};
use borewright::parts::PART_KINDS;

fn main() -> ExitCode {
    panic::set_hook(Box::new(|fault| {
        let place = fault.location().map(ToString::to_string).unwrap_or_default();
        let payload = fault.payload();
        let text = payload.downcast_ref::<&str>().map(|text| (*text).to_owned());
        let text = text.or_else(|| payload.downcast_ref::<String>().cloned()).unwrap_or_default();
        let mut err = io::stderr().lock();
        // Without a place to write to, the exit code still tells.
        let _ = writeln!(err, "error: internal fault: {text}\n --> {place}");
        let _ = writeln!(err, "\nhint: this is a mistake in borewright, not in your job");
    }));
    let exit = panic::catch_unwind(|| {
        let (mut out, mut err) = (io::stdout().lock(), io::stderr());
        let no_colour = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        let colour = io::stderr().is_terminal() && !no_colour;
        let profiles = std::env::var_os("BOREWRIGHT_PROFILES").filter(|value| !value.is_empty());
        run(
            std::env::args_os(),
            &mut Environment {
                kinds: PART_KINDS,
                out: &mut out,
                err: &mut err,
                colour,
                profiles: profiles.map(Into::into),
                epoch: std::env::var("SOURCE_DATE_EPOCH").ok(),
            },
        )
    });
    ExitCode::from(exit.unwrap_or(Exit::Internal).code())
}
