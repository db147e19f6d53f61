//! Turns a fault of the program into an exit code and a short text.

use std::io::{self, Write};
use std::panic::{self, PanicHookInfo, UnwindSafe};

use super::Exit;

/// Runs the whole program; a panic becomes [`Exit::Internal`] with a text on
/// stderr that says where. The process's panic hook is replaced meanwhile.
pub fn guarded(run: impl FnOnce() -> Exit + UnwindSafe) -> Exit {
    let before = panic::take_hook();
    panic::set_hook(Box::new(say));
    let exit = panic::catch_unwind(run).unwrap_or(Exit::Internal);
    panic::set_hook(before);
    exit
}

fn say(fault: &PanicHookInfo<'_>) {
    let payload = fault.payload();
    let text = payload.downcast_ref::<&str>().map(|text| (*text).to_owned());
    let text = text.or_else(|| payload.downcast_ref::<String>().cloned()).unwrap_or_default();
    let place = fault.location().map(ToString::to_string).unwrap_or_default();
    let text = format!(
        "error: internal fault: {text}\n --> {place}\n\n\
         hint: this is a mistake in borewright, not in your job\n"
    );
    // Without a place to write to, the exit code still tells.
    let _ = io::stderr().lock().write_all(text.as_bytes());
}
