//! Fuzzing in the tree: no input may panic, take more than a second or more
//! than half a gigabyte, and what is built must be right.
//!
//! Each target has a folder of inputs in libFuzzer's layout, one file an input:
//! `corpus/<target>` holds small inputs that reach far, `fixed/<target>` those
//! that once failed. Both are replayed first; then mutations of them run for
//! `BOREWRIGHT_FUZZ_SECONDS` a target (default: its share of a minute) or until
//! there were `BOREWRIGHT_FUZZ_INPUTS`, with seed `BOREWRIGHT_FUZZ_SEED`
//! (default 1). `BOREWRIGHT_FUZZ_KEEP=folder` keeps the inputs that did
//! something new; what fails goes to `target/fuzz/<target>`.

mod api;
mod bytes;
mod harness;
mod job;
mod mesh;
mod mutate;
mod section;
mod stack;

use cap::Cap;
use harness::{Target, fuzz};
use std::alloc::System;

/// No input may need more, bytes. All targets of a run share it.
const MEMORY: usize = 512 << 20;

#[global_allocator]
static MEMORY_CAP: Cap<System> = Cap::new(System, MEMORY);

/// Largest number of bytes held at once so far.
fn peak() -> usize {
    MEMORY_CAP.max_allocated()
}

/// Declares the targets: name, function, longest input in bytes, words to mix in.
macro_rules! targets {
    ($($name:ident: $longest:literal, $words:expr;)*) => {
        /// How many there are.
        const TARGETS: u64 = [$(stringify!($name)),*].len() as u64;

        $(
            #[test]
            fn $name() {
                fuzz(&Target {
                    name: stringify!($name),
                    run: $name::run,
                    longest: $longest,
                    words: $words,
                });
            }
        )*
    };
}

targets! {
    section: 256, &[];
    stack: 512, &[];
    job: 4096, job::WORDS;
    mesh: 4096, mesh::WORDS;
    api: 2048, api::WORDS;
}
