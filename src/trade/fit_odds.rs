//! The odds that a gap binds or rattles, from how its dimensions spread.

use std::f64::consts::{PI, TAU};

use super::inputs::{Inputs, inputs, number, number_or, optional};
use super::stack_up::{StackUpInput, stack_up};
use super::{Calculator, TradeError, Worked};
use crate::measure::{Kind, Unit};

/// Largest gap either way, mm.
const LARGEST_MM: f64 = 1_000.0;
/// Most terms of one kind.
const MOST_TERMS: usize = 32;
/// Standard deviations in the reach of a bell term: 95 of 100 lie within two.
const BELL_REACH: f64 = 2.0;
/// Standard deviations beyond which a bell is nothing: 1e-15 of it.
const BELL_END: f64 = 8.0;
/// Steps of the grid that distributions are convolved on: with them the odds
/// are right to 1e-6 (see the tests against closed forms).
const STEPS: usize = 8192;
/// Terms whose reach is less than this share of the whole are left out of the
/// odds: they move them by less.
const NEGLIGIBLE: f64 = 1e-9;
/// Halvings when a gap is sought for given odds; leaves 1e-15 of the range.
const HALVINGS: usize = 50;

inputs! {
    /// A gap and how its dimensions spread. See [`fit_odds`].
    FitOddsInput, FIT_ODDS_INPUTS {
        /// The gap with every dimension in the middle of its reach; negative
        /// is interference.
        middle_mm: f64 = number(Unit::Mm, -LARGEST_MM, LARGEST_MM);
        /// Reach, either way, of dimensions that lie anywhere within it alike.
        even_mm: Vec<f64> = Kind::Numbers {
            unit: Unit::Mm, min: 0.0, max: LARGEST_MM, count: (1, MOST_TERMS), optional: true,
        };
        /// Reach, either way, of dimensions in a bell curve: two standard
        /// deviations.
        bell_mm: Vec<f64> = Kind::Numbers {
            unit: Unit::Mm, min: 0.0, max: LARGEST_MM, count: (1, MOST_TERMS), optional: true,
        };
        /// Gap below which it binds.
        binds_below_mm: f64 = number_or(Unit::Mm, -LARGEST_MM, LARGEST_MM, 0.0);
        /// Gap above which it rattles.
        rattles_above_mm: Option<f64> = optional(Unit::Mm, -LARGEST_MM, LARGEST_MM);
    }
}

/// Result of [`fit_odds`].
#[derive(Clone, Debug)]
pub struct FitOdds {
    /// All reaches at once, either way, mm.
    pub worst_mm: f64,
    /// Root of the sum of the squared reaches, either way, mm.
    pub rss_mm: f64,
    /// Probability that it binds, 0 to 1.
    pub binds: f64,
    /// Probability that it rattles, 0 to 1; 0 without a limit.
    pub rattles: f64,
    /// The term that spreads the gap most, numbered through the even ones and
    /// then the bells, and its percentage of the variance; none without spread.
    pub dominant: Option<(usize, f64)>,
    /// Standard deviation of the gap, mm.
    pub deviation_mm: f64,
    sum: Sum,
    middle: f64,
}

impl FitOdds {
    /// Probability that the gap is below `gap_mm`.
    pub fn below(&self, gap_mm: f64) -> f64 {
        self.sum.below(gap_mm - self.middle)
    }

    /// The gap that is undercut with probability `odds`, mm.
    pub fn gap_at(&self, odds: f64) -> f64 {
        let (mut low, mut high) = (-self.sum.reach, self.sum.reach);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if self.sum.below(middle) < odds { low = middle } else { high = middle }
        }
        self.middle + 0.5 * (low + high)
    }
}

/// Odds of a gap whose dimensions are independent of each other.
///
/// The distribution is the convolution of the even and bell-shaped terms: all
/// bells are one bell, with the widest even term in closed form, the other even
/// terms by sliding means of the cumulative distribution on a fine grid. Right
/// to 1e-6. Worst case and RSS are those of [`stack_up`]. Even terms after
/// JCGM 100:2008, 4.3.7; a bell's reach is two standard deviations.
pub fn fit_odds(input: &FitOddsInput) -> Result<FitOdds, TradeError> {
    input.check()?;
    let reaches: Vec<f64> = input.even_mm.iter().chain(&input.bell_mm).copied().collect();
    let stack = stack_up(&StackUpInput {
        values_mm: [input.middle_mm].into_iter().chain(reaches.iter().map(|_| 0.0)).collect(),
        tolerances_mm: [0.0].into_iter().chain(reaches.iter().copied()).collect(),
        sensitivities: Vec::new(),
        gap_min_mm: None,
        gap_max_mm: None,
    })?;
    let even = input.even_mm.iter().map(|a| a * a / 3.0);
    let bell = input.bell_mm.iter().map(|b| (b / BELL_REACH).powi(2));
    let variances: Vec<f64> = even.chain(bell).collect();
    let variance: f64 = variances.iter().sum();
    let most = variances.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
    let dominant = most.filter(|_| variance > 0.0).map(|(i, v)| (i, 100.0 * v / variance));
    let sum = Sum::new(&input.even_mm, &input.bell_mm);
    Ok(FitOdds {
        worst_mm: stack.worst_mm,
        rss_mm: stack.rss_mm,
        binds: sum.below(input.binds_below_mm - input.middle_mm),
        rattles: input.rattles_above_mm.map_or(0.0, |gap| sum.above(gap - input.middle_mm)),
        dominant,
        deviation_mm: variance.sqrt(),
        sum,
        middle: input.middle_mm,
    })
}

/// Distribution of a sum of centred terms.
#[derive(Clone, Debug)]
struct Sum {
    /// The widest even term and the bell of all bells.
    base: Base,
    /// Probability of less at even steps from `-reach` to `reach`, if there
    /// are more even terms.
    grid: Vec<f64>,
    /// All of it lies within, either way.
    reach: f64,
}

impl Sum {
    fn new(even: &[f64], bell: &[f64]) -> Sum {
        let sigma = bell.iter().map(|b| (b / BELL_REACH).powi(2)).sum::<f64>().sqrt();
        let mut even = even.to_vec();
        even.sort_by(|a, b| b.total_cmp(a));
        let reach = even.iter().sum::<f64>() + BELL_END * sigma;
        let wide = even.first().copied().unwrap_or(0.0);
        let base = Base { half: wide, sigma };
        let rest = even.iter().skip(1).copied().filter(|a| *a > NEGLIGIBLE * reach);
        let mut grid = Vec::new();
        for half in rest {
            if grid.is_empty() {
                grid = (0..=STEPS).map(|i| base.below(at(i, reach))).collect();
            }
            grid = slid(&grid, reach, half);
        }
        Sum { base, grid, reach }
    }

    /// Probability of less than `x`.
    fn below(&self, x: f64) -> f64 {
        if self.grid.is_empty() {
            return self.base.below(x);
        }
        let place = (x + self.reach) / (2.0 * self.reach) * STEPS as f64;
        if place <= 0.0 {
            return 0.0;
        }
        let i = place.floor() as usize;
        match self.grid.get(i + 1) {
            None => 1.0,
            Some(next) => self.grid[i] + (next - self.grid[i]) * (place - i as f64),
        }
    }

    /// Probability of more than `x`: every term is symmetrical.
    fn above(&self, x: f64) -> f64 {
        self.below(-x)
    }
}

/// Place of a grid point.
fn at(i: usize, reach: f64) -> f64 {
    reach * (2.0 * i as f64 / STEPS as f64 - 1.0)
}

/// A cumulative distribution after one more even term of half width `half`:
/// its mean over the term's width, from its integral, which is known by values
/// and slopes at the grid (cubic Hermite between them).
fn slid(grid: &[f64], reach: f64, half: f64) -> Vec<f64> {
    let step = 2.0 * reach / STEPS as f64;
    let mut integral = Vec::with_capacity(grid.len());
    let mut sum = 0.0;
    integral.push(sum);
    for pair in grid.windows(2) {
        sum += 0.5 * step * (pair[0] + pair[1]);
        integral.push(sum);
    }
    let whole = sum;
    let up_to = |x: f64| {
        let place = (x + reach) / step;
        if place <= 0.0 {
            return 0.0;
        }
        let i = place.floor() as usize;
        if i >= STEPS {
            // Beyond the grid the distribution is 1.
            return whole + (x - reach);
        }
        let t = place - i as f64;
        let (p, q) = (integral[i], integral[i + 1]);
        let (m, n) = (grid[i] * step, grid[i + 1] * step);
        let (t2, t3) = (t * t, t * t * t);
        p * (2.0 * t3 - 3.0 * t2 + 1.0)
            + m * (t3 - 2.0 * t2 + t)
            + q * (3.0 * t2 - 2.0 * t3)
            + n * (t3 - t2)
    };
    (0..=STEPS)
        .map(|i| {
            let x = at(i, reach);
            ((up_to(x + half) - up_to(x - half)) / (2.0 * half)).clamp(0.0, 1.0)
        })
        .collect()
}

/// An even term with a bell: closed form.
#[derive(Clone, Copy, Debug)]
struct Base {
    half: f64,
    sigma: f64,
}

impl Base {
    fn below(&self, x: f64) -> f64 {
        let Base { half, sigma } = *self;
        if half <= NEGLIGIBLE * sigma || half <= 0.0 {
            // Without any spread, what is not above is not below either.
            return if sigma > 0.0 { normal(x / sigma) } else { f64::from(x > 0.0) };
        }
        if sigma <= NEGLIGIBLE * half {
            return ((x + half) / (2.0 * half)).clamp(0.0, 1.0);
        }
        // Integral of the normal distribution: t N(t/s) + s n(t/s).
        let whole = |t: f64| {
            let u = t / sigma;
            t * normal(u) + sigma * (-0.5 * u * u).exp() / TAU.sqrt()
        };
        ((whole(x + half) - whole(x - half)) / (2.0 * half)).clamp(0.0, 1.0)
    }
}

/// Where series and continued fraction for the normal distribution meet,
/// standard deviations.
const SERIES: f64 = 3.0;
/// Terms of either; enough for 1e-15 on their sides.
const TERMS: usize = 80;

/// Standard normal distribution: probability of less than `x`.
///
/// Series and continued fraction of the error function, Abramowitz and Stegun
/// 26.2.11 and 26.2.14.
pub fn normal(x: f64) -> f64 {
    let density = (-0.5 * x * x).exp() / (2.0 * PI).sqrt();
    if x.abs() < SERIES {
        let mut term = x;
        let mut sum = x;
        for n in 1..TERMS {
            term *= x * x / (2 * n + 1) as f64;
            sum += term;
        }
        return 0.5 + density * sum;
    }
    let t = x.abs();
    let tail = (1..=TERMS).rev().fold(t, |below, n| t + n as f64 / below);
    let upper = density / tail;
    if x > 0.0 { 1.0 - upper } else { upper }
}

/// Row of the registry.
pub const FIT_ODDS: Calculator = Calculator {
    name: "fit-odds",
    summary: "odds that a gap binds or rattles, from how its dimensions spread",
    inputs: FIT_ODDS_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    FitOddsInput::from_inputs(inputs)?.shown(inputs)
}

impl FitOddsInput {
    fn shown(&self, inputs: &Inputs) -> Result<Worked, TradeError> {
        let out = fit_odds(self)?;
        let mut w = Worked::new(
            inputs,
            "convolution of the terms; even terms after JCGM 100:2008 4.3.7, a bell's reach is two \
             standard deviations",
        );
        let even = self.even_mm.iter().enumerate().map(|(i, v)| (format!("a{}", i + 1), *v));
        let bell = self.bell_mm.iter().enumerate().map(|(i, v)| (format!("b{}", i + 1), *v));
        let named: Vec<(String, f64)> = even.chain(bell).collect();
        let bound: Vec<(&str, f64)> = named.iter().map(|(n, v)| (n.as_str(), *v)).collect();
        if !named.is_empty() {
            let sum = |each: &dyn Fn(&str) -> String| {
                named.iter().map(|(n, _)| each(n)).collect::<Vec<_>>().join(" + ")
            };
            let worst = format!("T = {}", sum(&|n| format!("{{{n}}}")));
            w.step("Worst case: all reaches at once", &worst, &bound, out.worst_mm, Unit::Mm);
            let rss = format!("R = sqrt({})", sum(&|n| format!("{{{n}}}^2")));
            w.step("Root of the sum of squares", &rss, &bound, out.rss_mm, Unit::Mm);
            let share = |n: &str| {
                let under = if n.starts_with('a') { "3" } else { "4" };
                format!("{{{n}}}^2/{under}")
            };
            let deviation = format!("s = sqrt({})", sum(&share));
            w.step(
                "Standard deviation: even terms over root 3, bells over 2",
                &deviation,
                &bound,
                out.deviation_mm,
                Unit::Mm,
            );
        }
        w.result("worst_mm", "worst case, either way", out.worst_mm, Unit::Mm);
        w.result("rss_mm", "RSS, either way", out.rss_mm, Unit::Mm);
        w.result("binds_percent", "odds that it binds", 100.0 * out.binds, Unit::Percent);
        if self.rattles_above_mm.is_some() {
            let rattles = 100.0 * out.rattles;
            w.result("rattles_percent", "odds that it rattles", rattles, Unit::Percent);
        }
        if let Some((i, percent)) = out.dominant {
            w.note(format!("{} spreads the gap most: {percent:.0} % of the variance", named[i].0));
        }
        w.note("holds for dimensions that are independent of each other");
        Ok(w)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn odds(even: &[f64], bell: &[f64]) -> FitOdds {
        fit_odds(&FitOddsInput {
            middle_mm: 0.0,
            even_mm: even.to_vec(),
            bell_mm: bell.to_vec(),
            binds_below_mm: 0.0,
            rattles_above_mm: None,
        })
        .unwrap()
    }

    /// Sum of uniforms of any widths, by inclusion and exclusion: `P(S < x) =
    /// sum over signs of (-1)^minuses (x + s.a)+^n / (n! prod 2a)`.
    fn uniforms(widths: &[f64], x: f64) -> f64 {
        let n = widths.len();
        let mut sum = 0.0;
        for signs in 0..1_u32 << n {
            let minus = |i: usize| signs >> i & 1 == 1;
            let shift: f64 = (0..n).map(|i| if minus(i) { -widths[i] } else { widths[i] }).sum();
            let sign = if signs.count_ones() % 2 == 0 { 1.0 } else { -1.0 };
            sum += sign * (x + shift).max(0.0).powi(n as i32);
        }
        let factorial: f64 = (1..=n).map(|k| k as f64).product();
        sum / (factorial * widths.iter().map(|a| 2.0 * a).product::<f64>())
    }

    #[test]
    fn the_normal_distribution_has_its_known_values() {
        // Abramowitz and Stegun, table 26.1.
        for (x, p) in [
            (0.0, 0.5),
            (1.0, 0.841_344_746_068_543),
            (2.0, 0.977_249_868_051_821),
            (3.0, 0.998_650_101_968_370),
            (4.0, 0.999_968_328_758_167),
        ] {
            assert!((normal(x) - p).abs() < 2e-15, "{x}: {}", normal(x));
            assert!((normal(-x) - (1.0 - p)).abs() < 2e-15, "{x}");
        }
        assert!((normal(-6.0) / 9.865_876_450_377e-10 - 1.0).abs() < 1e-9);
        assert!((normal(SERIES - 1e-9) - normal(SERIES + 1e-9)).abs() < 1e-11);
    }

    #[test]
    fn two_even_terms_make_a_triangle() {
        let out = odds(&[0.2, 0.2], &[]);
        for x in [-0.4, -0.3, -0.1, 0.0, 0.05, 0.2, 0.39, 0.4] {
            let p =
                if x < 0.0 { (x + 0.4_f64).powi(2) / 0.32 } else { 1.0 - (0.4 - x).powi(2) / 0.32 };
            assert!((out.below(x) - p).abs() < 1e-6, "{x}: {} and {p}", out.below(x));
        }
    }

    #[test]
    fn many_even_terms_agree_with_the_closed_form() {
        for widths in [
            vec![0.1; 3],
            vec![0.2; 6],
            vec![0.2, 0.03, 0.05],
            vec![0.2, 0.1, 0.03, 0.08, 0.15],
            vec![1.0, 0.5, 0.01],
        ] {
            let out = odds(&widths, &[]);
            let reach: f64 = widths.iter().sum();
            for k in -20..=20 {
                let x = reach * f64::from(k) / 20.0;
                let p = uniforms(&widths, x);
                assert!((out.below(x) - p).abs() < 1e-6, "{widths:?} {x}: {} {p}", out.below(x));
            }
        }
    }

    #[test]
    fn bells_are_one_bell() {
        let out = odds(&[], &[0.3, 0.4]);
        assert!((out.deviation_mm - 0.25).abs() < 1e-15);
        for x in [-0.9, -0.3, 0.0, 0.1, 0.5] {
            assert!((out.below(x) - normal(x / 0.25)).abs() < 1e-14);
        }
        // A bell far narrower than the grid's step does no harm.
        let out = odds(&[0.2, 0.1], &[1e-5]);
        for x in [-0.25, -0.1, 0.0, 0.15] {
            assert!((out.below(x) - uniforms(&[0.2, 0.1], x)).abs() < 1e-6);
        }
    }

    /// Independent draws, a million of them: within four standard errors.
    #[test]
    fn draws_agree() {
        let (even, bell) = ([0.2, 0.03, 0.07], [0.1, 0.04]);
        let out = odds(&even, &bell);
        let mut rng = fastrand::Rng::with_seed(2026);
        let draws = 1_000_000;
        let places = [-0.25, -0.15, -0.05, 0.0, 0.1, 0.2];
        let mut counts = [0_u32; 6];
        for _ in 0..draws {
            let mut gap = 0.0;
            for a in even {
                gap += a * (2.0 * rng.f64() - 1.0);
            }
            for b in bell {
                let (u, v) = (1.0 - rng.f64(), rng.f64());
                gap += 0.5 * b * (-2.0 * u.ln()).sqrt() * (TAU * v).cos();
            }
            for (count, place) in counts.iter_mut().zip(places) {
                *count += u32::from(gap < place);
            }
        }
        for (count, place) in counts.iter().zip(places) {
            let seen = f64::from(*count) / f64::from(draws);
            let p = out.below(place);
            let error = (p * (1.0 - p) / f64::from(draws)).sqrt();
            assert!((seen - p).abs() < 4.0 * error, "{place}: {seen} and {p}");
        }
    }

    #[test]
    fn limits_dominance_and_the_way_back() {
        let out = fit_odds(&FitOddsInput {
            middle_mm: 0.2,
            even_mm: vec![0.2, 0.03],
            bell_mm: vec![0.05],
            binds_below_mm: 0.0,
            rattles_above_mm: Some(0.35),
        })
        .unwrap();
        assert!(out.binds > 0.0 && out.binds < 0.1 && out.rattles > out.binds);
        assert!((out.below(0.35) + out.rattles - 1.0).abs() < 1e-12);
        assert!((out.worst_mm - 0.28).abs() < 1e-12);
        let (which, percent) = out.dominant.unwrap();
        assert!(which == 0 && percent > 90.0);
        for p in [0.001, 0.05, 0.5, 0.95] {
            assert!((out.below(out.gap_at(p)) - p).abs() < 1e-9);
        }
    }

    #[test]
    fn without_spread_it_binds_or_not() {
        let gap = |middle_mm| FitOddsInput {
            middle_mm,
            even_mm: Vec::new(),
            bell_mm: vec![0.0],
            binds_below_mm: 0.0,
            rattles_above_mm: Some(0.5),
        };
        let odds = |middle_mm| {
            let out = fit_odds(&gap(middle_mm)).unwrap();
            (out.binds, out.rattles, out.dominant)
        };
        assert_eq!(odds(-0.1), (1.0, 0.0, None));
        assert_eq!(odds(0.0), (0.0, 0.0, None));
        assert_eq!(odds(0.6), (0.0, 1.0, None));
        assert!(fit_odds(&gap(f64::NAN)).is_err());
    }
}
