//! What caliper readings say about a bore.

/// Readings of one bore and what they say together.
///
/// Statistics:
/// - *Standard uncertainty of one reading's instrument* is `caliper / sqrt(3)`:
///   a limit of error taken as a rectangular distribution (JCGM 100:2008,
///   4.3.7).
/// - *Standard uncertainty of the mean* adds, for two readings or more, the
///   experimental standard deviation of the mean, `s / sqrt(n)` (JCGM 100:2008,
///   4.2.3), by root of the sum of squares. The instrument's part is not divided
///   by `sqrt(n)`: the same caliper is wrong in the same way each time.
/// - *Ovality* is the largest less the smallest reading. It holds the bore's
///   shape and the reading's scatter together; more directions show more.
/// - *Sure diameter*, which parts are fitted to, is the smallest reading less
///   the caliper's whole limit of error: a bound and no mean, since one tight
///   place stops an insert.
#[derive(Clone, Debug, PartialEq)]
pub struct Bore {
    readings: Vec<f64>,
    caliper: f64,
    /// Its ISO 286 tolerance class, if it was made to one.
    class: Option<String>,
}

impl Bore {
    /// A bore from readings of its diameter and the caliper's limit of error
    /// (both mm). None if there is no reading, or a value is not finite, a
    /// reading not above the limit of error, or the limit negative.
    pub fn new(readings: impl Into<Vec<f64>>, caliper: f64) -> Option<Self> {
        let readings = readings.into();
        let good = !readings.is_empty()
            && caliper.is_finite()
            && caliper >= 0.0
            && readings.iter().all(|r| r.is_finite() && *r > caliper);
        good.then_some(Self { readings, caliper, class: None })
    }

    /// A bore made to a tolerance class, which says how small and how large it
    /// may be (mm): its limits stand for readings, without error.
    pub(super) fn of_class(class: &str, low: f64, high: f64) -> Option<Self> {
        let bore = Self::new([low, high], 0.0)?;
        Some(Self { class: Some(class.to_owned()), ..bore })
    }

    /// Its ISO 286 tolerance class, if it was made to one.
    pub fn class(&self) -> Option<&str> {
        self.class.as_deref()
    }

    /// How far the bore reaches beyond the smallest and the largest reading, mm,
    /// on average: `n` readings spread evenly over a width leave a share of
    /// `1 / (n + 1)` of it beyond either end (order statistics), which is
    /// ovality over `n - 1`. None of a single reading.
    pub fn unread(&self) -> Option<f64> {
        self.ovality().map(|ovality| ovality / (self.readings.len() - 1) as f64)
    }

    /// The readings in the order given, mm.
    pub fn readings(&self) -> &[f64] {
        &self.readings
    }

    /// The caliper's limit of error, either way, mm.
    pub fn caliper(&self) -> f64 {
        self.caliper
    }

    /// Mean diameter, mm.
    pub fn mean(&self) -> f64 {
        self.readings.iter().sum::<f64>() / self.readings.len() as f64
    }

    /// Smallest reading, mm.
    pub fn smallest(&self) -> f64 {
        self.readings.iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// Largest reading, mm.
    pub fn largest(&self) -> f64 {
        self.readings.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// Largest less smallest reading, mm; none of a single reading, which
    /// says nothing about roundness.
    pub fn ovality(&self) -> Option<f64> {
        (self.readings.len() > 1).then(|| self.largest() - self.smallest())
    }

    /// Standard uncertainty of the mean, mm.
    pub fn uncertainty(&self) -> f64 {
        let instrument = self.caliper / 3.0_f64.sqrt();
        let n = self.readings.len() as f64;
        if n < 2.0 {
            return instrument;
        }
        let mean = self.mean();
        let squares: f64 = self.readings.iter().map(|r| (r - mean).powi(2)).sum();
        instrument.hypot((squares / (n - 1.0) / n).sqrt())
    }

    /// Diameter that the bore has everywhere at least, if the readings met its
    /// tightest place, mm: what parts are fitted to.
    pub fn sure(&self) -> f64 {
        self.smallest() - self.caliper
    }

    /// Diameter that the bore has at most where it was read, mm: what decides
    /// how loose a part can become.
    pub fn at_most(&self) -> f64 {
        self.largest() + self.caliper
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn statistics_of_four_readings() {
        let bore = Bore::new([22.0, 22.1, 22.3, 22.0], 0.03).expect("good readings");
        assert!((bore.mean() - 22.1).abs() < 1e-12);
        assert_eq!((bore.smallest(), bore.largest()), (22.0, 22.3));
        assert!((bore.ovality().expect("several") - 0.3).abs() < 1e-12);
        // s^2 = (0.01 + 0 + 0.04 + 0.01) / 3 = 0.02; of the mean 0.005.
        let wanted = (0.005_f64 + 0.0003).sqrt();
        assert!((bore.uncertainty() - wanted).abs() < 1e-12);
        assert!((bore.sure() - 21.97).abs() < 1e-12);
        assert!((bore.at_most() - 22.33).abs() < 1e-12);
    }

    #[test]
    fn a_single_reading_knows_no_ovality() {
        let bore = Bore::new([25.4], 0.02).expect("good reading");
        assert_eq!(bore.ovality(), None);
        assert!((bore.uncertainty() - 0.02 / 3.0_f64.sqrt()).abs() < 1e-15);
    }

    #[test]
    fn what_is_no_bore_is_refused() {
        assert_eq!(Bore::new([], 0.02), None);
        assert_eq!(Bore::new([f64::NAN], 0.02), None);
        assert_eq!(Bore::new([25.0], -0.1), None);
        assert_eq!(Bore::new([0.01], 0.02), None);
    }
}
