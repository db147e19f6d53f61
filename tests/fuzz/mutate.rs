//! Deterministic mutations of inputs.

use fastrand::Rng;

/// Changes `bytes` in a few places; `other` is another input to take from.
pub fn mutate(rng: &mut Rng, bytes: &mut Vec<u8>, other: &[u8], words: &[&str], longest: usize) {
    for _ in 0..1 << rng.u8(0..4) {
        step(rng, bytes, other, words);
    }
    bytes.truncate(longest);
}

fn step(rng: &mut Rng, bytes: &mut Vec<u8>, other: &[u8], words: &[&str]) {
    /// Bytes at the ends of ranges.
    const EDGES: [u8; 8] = [0, 1, 2, 0x7f, 0x80, 0x81, 0xfe, 0xff];
    let at = rng.usize(..=bytes.len());
    let span = rng.usize(..16).min(bytes.len() - at);
    let choices = if words.is_empty() { 8 } else { 11 };
    match rng.u8(..choices) {
        0 => change(rng, bytes, at, |rng, b| b ^ (1 << rng.u8(..8))),
        1 => change(rng, bytes, at, |rng, _| rng.u8(..)),
        2 => change(rng, bytes, at, |rng, b| b.wrapping_add(rng.u8(1..9)).wrapping_sub(4)),
        3 => change(rng, bytes, at, |rng, _| EDGES[rng.usize(..EDGES.len())]),
        4 => drop(bytes.drain(at..at + span)),
        5 => {
            let new: Vec<u8> = (0..=rng.usize(..8)).map(|_| rng.u8(..)).collect();
            bytes.splice(at..at, new);
        }
        6 => {
            let copy = bytes[at..at + span].to_vec();
            let into = rng.usize(..=bytes.len());
            bytes.splice(into..into, copy);
        }
        7 => {
            // The rest of another input, from the same place or another.
            let from = if rng.bool() { at.min(other.len()) } else { rng.usize(..=other.len()) };
            let to = from + rng.usize(..=other.len() - from);
            let end = if rng.bool() { bytes.len() } else { at + span };
            bytes.splice(at..end, other[from..to].iter().copied());
        }
        n => {
            let word = words[rng.usize(..words.len())];
            let end = if n == 8 { at } else { at + span };
            bytes.splice(at..end, word.bytes());
        }
    }
}

fn change(rng: &mut Rng, bytes: &mut [u8], at: usize, new: impl Fn(&mut Rng, u8) -> u8) {
    if let Some(byte) = bytes.get_mut(at) {
        *byte = new(rng, *byte);
    }
}
