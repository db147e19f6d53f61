//! `borewright`: parses, calls the library, prints, exits.

use std::env;
use std::io::{self, IsTerminal};
use std::process::ExitCode;

use borewright::cli::{Environment, guarded, run};
use borewright::parts::PART_KINDS;

fn main() -> ExitCode {
    let exit = guarded(|| {
        let given = |name| env::var_os(name).filter(|value| !value.is_empty());
        let mut environment = Environment {
            kinds: PART_KINDS,
            out: &mut io::stdout().lock(),
            err: &mut io::stderr(),
            colour: io::stderr().is_terminal() && given("NO_COLOR").is_none(),
            profiles: given("BOREWRIGHT_PROFILES").map(Into::into),
            epoch: given("SOURCE_DATE_EPOCH").map(|value| value.to_string_lossy().into_owned()),
        };
        run(env::args_os(), &mut environment)
    });
    ExitCode::from(exit.code())
}
