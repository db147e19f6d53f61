//! Student's t and chi-square: probabilities and quantiles.

use std::f64::consts::TAU;

/// Relative change at which series and continued fractions end.
const EPSILON: f64 = 1e-15;
/// Most terms of either. Both need about as many as the root of the degrees
/// of freedom.
const TERMS: usize = 2_000;
/// In place of a zero denominator (modified Lentz).
const TINY: f64 = 1e-300;
/// Halvings of a range when a quantile is sought: down to float noise.
const HALVINGS: usize = 200;
/// More degrees of freedom than this change nothing but the float noise. t is then
/// within 1e-6 of a bell.
const MOST_FREEDOM: f64 = 1e6;
/// From here on the series of the gamma function's logarithm is exact to 1e-15.
const STIRLING_FROM: f64 = 16.0;

/// Logarithm of the gamma function of `x > 0`: Stirling's series, Abramowitz
/// and Stegun 6.1.41, after steps up by 6.1.15.
fn ln_gamma(x: f64) -> f64 {
    let mut x = x;
    let mut steps = 0.0;
    while x < STIRLING_FROM {
        steps += x.ln();
        x += 1.0;
    }
    let inverse = 1.0 / (x * x);
    let series = (1.0 / 12.0
        - inverse * (1.0 / 360.0 - inverse * (1.0 / 1260.0 - inverse * (1.0 / 1680.0))))
        / x;
    (x - 0.5) * x.ln() - x + 0.5 * TAU.ln() + series - steps
}

/// Regularised incomplete beta function `I_x(a, b)`, `0 <= x <= 1`: the
/// continued fraction 8.17.22 of the NIST Digital Library of Mathematical
/// Functions by Lentz's method, on the side where it converges fast.
fn beta(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta(1.0 - x, b, a);
    }
    let front = a * x.ln() + b * (-x).ln_1p() + ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b);
    let mut fraction = 1.0;
    let (mut c, mut d) = (1.0, 0.0);
    for i in 0..TERMS {
        let m = (i / 2) as f64;
        let term = if i == 0 {
            1.0
        } else if i % 2 == 0 {
            m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m))
        } else {
            -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0))
        };
        let away = |v: f64| if v.abs() < TINY { TINY } else { v };
        d = 1.0 / away(1.0 + term * d);
        c = away(1.0 + term / c);
        fraction *= c * d;
        if i > 0 && (c * d - 1.0).abs() < EPSILON {
            break;
        }
    }
    front.exp() * (fraction - 1.0) / a
}

/// Regularised incomplete gamma function `P(a, x)`: series 6.5.29 and continued
/// fraction 6.5.31 of Abramowitz and Stegun.
fn gamma(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    let front = (a * x.ln() - x - ln_gamma(a)).exp();
    if x < a + 1.0 {
        let mut term = 1.0 / a;
        let mut sum = term;
        for n in 1..TERMS {
            term *= x / (a + n as f64);
            sum += term;
            if term < EPSILON * sum {
                break;
            }
        }
        return front * sum;
    }
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / b;
    let mut fraction = d;
    for n in 1..TERMS {
        let n = n as f64;
        let term = -n * (n - a);
        b += 2.0;
        d = 1.0 / (term * d + b);
        c = b + term / c;
        fraction *= c * d;
        if (c * d - 1.0).abs() < EPSILON {
            break;
        }
    }
    1.0 - front * fraction
}

/// Probability that Student's t of `freedom` degrees of freedom (> 0) is
/// further from 0 than `t`, either way.
pub(super) fn student_beyond(t: f64, freedom: f64) -> f64 {
    let freedom = freedom.min(MOST_FREEDOM);
    beta(freedom / (freedom + t * t), 0.5 * freedom, 0.5)
}

/// The t that is passed, either way, with probability `odds` (0 to 1).
pub(super) fn student_quantile(odds: f64, freedom: f64) -> f64 {
    // In u = t / (1 + t), which is finite.
    let at = |u: f64| u / (1.0 - u);
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if student_beyond(at(middle), freedom) > odds { low = middle } else { high = middle }
    }
    at(0.5 * (low + high))
}

/// The chi-square of `freedom` degrees of freedom that is undercut with
/// probability `odds`.
pub(super) fn chi_square_quantile(odds: f64, freedom: f64) -> f64 {
    let below = |x: f64| gamma(0.5 * freedom, 0.5 * x);
    let mut high = freedom + 1.0;
    while below(high) < odds && high.is_finite() {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if below(middle) < odds { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_gamma_function_has_its_known_values() {
        assert!((ln_gamma(0.5) - 0.5 * std::f64::consts::PI.ln()).abs() < 1e-14);
        let factorial: f64 = (1..=20).map(|n| (n as f64).ln()).sum();
        assert!((ln_gamma(21.0) - factorial).abs() < 1e-12);
        assert!(ln_gamma(1.0).abs() < 1e-13 && ln_gamma(2.0).abs() < 1e-13);
    }

    /// JCGM 100:2008, table G.2: t for 95 %.
    #[test]
    fn quantiles_of_t_are_those_of_the_guide() {
        for (freedom, t) in [(1.0, 12.71), (2.0, 4.30), (5.0, 2.57), (10.0, 2.23), (50.0, 2.01)] {
            let found = student_quantile(0.05, freedom);
            assert!((found - t).abs() < 0.005, "{freedom}: {found}");
        }
        // One and two degrees of freedom are closed forms.
        let one = (0.475 * std::f64::consts::PI).tan();
        assert!((student_quantile(0.05, 1.0) / one - 1.0).abs() < 1e-10);
        let two = 0.95 * (2.0 / (1.0 - 0.95_f64 * 0.95)).sqrt();
        assert!((student_quantile(0.05, 2.0) / two - 1.0).abs() < 1e-10);
        // Many are a bell.
        assert!((student_quantile(0.05, 1e7) - 1.959_963_985).abs() < 1e-5);
        assert!((student_beyond(1.0, 1e9) - 0.317_310_508).abs() < 1e-6);
    }

    /// Two degrees of freedom are a closed form; others from memory of tables.
    #[test]
    fn quantiles_of_chi_square_are_right() {
        for odds in [0.025, 0.5, 0.975] {
            let two = -2.0 * f64::ln_1p(-odds);
            assert!((chi_square_quantile(odds, 2.0) / two - 1.0).abs() < 1e-10, "{odds}");
        }
        for (freedom, low, high) in [(1.0, 0.000_982, 5.024), (10.0, 3.247, 20.483)] {
            assert!((chi_square_quantile(0.025, freedom) / low - 1.0).abs() < 1e-3);
            assert!((chi_square_quantile(0.975, freedom) / high - 1.0).abs() < 1e-3);
        }
    }
}
