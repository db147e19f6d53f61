//! The section and solid engine under random input.

mod bores;
mod random;
mod refusals;
mod stacks;
mod tapers;

/// How many random cases to run: all, or the per cent that `BOREWRIGHT_CASES`
/// says, for runs that repeat the tests many times.
fn cases(all: u64) -> u64 {
    match std::env::var("BOREWRIGHT_CASES") {
        Ok(text) => all * text.parse::<u64>().expect("a whole number") / 100,
        Err(_) => all,
    }
}
