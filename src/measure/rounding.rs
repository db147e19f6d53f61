//! Numbers in messages: rounded so that the number shown is enough.

/// Lengths that differ by less are the same, mm: float noise, so that a value
/// taken from a hint is not refused again.
pub const NOISE: f64 = 1e-9;

/// A length rounded up to a hundredth, so that the number in a message is
/// enough.
pub fn up(value: f64) -> f64 {
    (value * 100.0 - 1e-6).ceil() / 100.0
}

/// A length rounded down to a hundredth.
pub fn down(value: f64) -> f64 {
    (value * 100.0 + 1e-6).floor() / 100.0
}
