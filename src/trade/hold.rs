//! What glue must hold when a hand prop falls.

/// Deceleration of a hand prop that falls on a hard floor, in multiples of the
/// Earth's: hundreds to a few thousand, from memory; common practice, no source.
pub const KNOCK: f64 = 1000.0;

/// Stress that glue on a print holds for sure, MPa: clear epoxies hold ten and more
/// on clean glass, far less on smooth stone in a knock (from memory; common
/// practice, no source).
pub const BOND: f64 = 1.0;

/// Standard acceleration of free fall, m/s2 (ISO 80000-3:2019).
const FREE_FALL: f64 = 9.806_65;

/// Grams in a kilogram.
const GRAMS: f64 = 1000.0;

/// Area of glue, mm2, that holds `grams` g in a fall.
pub fn area_needed(grams: f64) -> f64 {
    KNOCK * FREE_FALL * grams / GRAMS / BOND
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_grams_weigh_ten_kilograms_in_a_fall() {
        assert!((area_needed(10.0) * BOND - 98.0665).abs() < 1e-9);
    }
}
