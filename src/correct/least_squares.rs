//! Weighted linear least squares, with what the observations cannot tell.

use nalgebra::{DMatrix, DVector};

use super::distribution::student_beyond;

/// Singular values below this share of the largest are none: columns that are
/// proportional but for float noise.
const RANK_EPSILON: f64 = 1e-9;
/// Part of a parameter's direction that no observation reaches, at most, for it
/// to be told.
const REACH_EPSILON: f64 = 1e-6;
/// Scatter of the others below this share of a standard deviation is float noise.
const SCATTER_EPSILON: f64 = 1e-6;
/// Share of an observation that is left to judge it by, at least.
const JUDGED_EPSILON: f64 = 1e-9;

/// A design: one line for an observation, one column for a parameter.
pub(super) struct Design {
    lines: DMatrix<f64>,
    /// Of each column, its largest entry; 1 if it has none.
    scales: Vec<f64>,
}

impl Design {
    pub(super) fn new(lines: &[Vec<f64>], columns: usize) -> Self {
        let lines = DMatrix::from_fn(lines.len(), columns, |i, j| lines[i][j]);
        let scale = |j: usize| lines.column(j).amax();
        let scales = (0..columns).map(|j| if scale(j) > 0.0 { scale(j) } else { 1.0 });
        Self { scales: scales.collect(), lines }
    }

    /// Whether any observation depends on a parameter.
    pub(super) fn meets(&self, column: usize) -> bool {
        self.lines.column(column).amax() > 0.0
    }

    /// The factors of the design with lines multiplied by `roots`.
    fn factors(&self, roots: &[f64]) -> Factors {
        let (n, p) = self.lines.shape();
        let scaled = DMatrix::from_fn(n, p, |i, j| self.lines[(i, j)] * roots[i] / self.scales[j]);
        let svd = scaled.svd(true, true);
        let (u, vt) = svd.u.zip(svd.v_t).expect("both factors were asked for");
        let least = RANK_EPSILON * svd.singular_values.amax();
        let kept: Vec<usize> =
            (0..svd.singular_values.len()).filter(|k| svd.singular_values[*k] > least).collect();
        let told = (0..p).map(|j| {
            let reached: f64 = kept.iter().map(|k| vt[(*k, j)].powi(2)).sum();
            1.0 - reached < REACH_EPSILON
        });
        let told = told.collect();
        let map = DMatrix::from_fn(p, n, |j, i| {
            let of = |k: &usize| vt[(*k, j)] / svd.singular_values[*k] * u[(i, *k)];
            kept.iter().map(of).sum::<f64>() * roots[i] / self.scales[j]
        });
        let leverage = |i: usize| kept.iter().map(|k| u[(i, *k)].powi(2)).sum::<f64>();
        let leverages = (0..n).map(leverage).collect();
        Factors { told, rank: kept.len(), map, leverages }
    }

    /// Which parameters the observations tell, and their rank.
    pub(super) fn told(&self) -> (Vec<bool>, usize) {
        let factors = self.factors(&vec![1.0; self.lines.nrows()]);
        (factors.told, factors.rank)
    }

    /// The parameters that fit best, each observation having the given variance.
    pub(super) fn solve(&self, observed: &[f64], variances: &[f64]) -> Solution {
        let roots: Vec<f64> = variances.iter().map(|v| v.sqrt().recip()).collect();
        let Factors { told, map, leverages, .. } = self.factors(&roots);
        let y = DVector::from_column_slice(observed);
        let estimates = &map * &y;
        let residuals = (&y - &self.lines * &estimates).iter().copied().collect();
        let estimates = estimates.iter().copied().collect();
        Solution { told, estimates, residuals, leverages, map }
    }
}

struct Factors {
    told: Vec<bool>,
    rank: usize,
    map: DMatrix<f64>,
    leverages: Vec<f64>,
}

/// What [`Design::solve`] finds.
pub(super) struct Solution {
    /// Which parameters the observations tell.
    pub told: Vec<bool>,
    /// The parameters; meaningless where not told.
    pub estimates: Vec<f64>,
    /// Observed less fitted.
    pub residuals: Vec<f64>,
    /// How far each observation fits itself, 0 to 1.
    pub leverages: Vec<f64>,
    /// From observations to parameters.
    map: DMatrix<f64>,
}

impl Solution {
    /// By how much a parameter moves if the observations move by `shift`.
    pub(super) fn moved(&self, parameter: usize, shift: impl Fn(usize) -> f64) -> f64 {
        (0..self.map.ncols()).map(|i| self.map[(parameter, i)] * shift(i)).sum()
    }

    /// Variance of a parameter, from those of the observations.
    pub(super) fn variance(&self, parameter: usize, variances: &[f64]) -> f64 {
        (0..self.map.ncols()).map(|i| self.map[(parameter, i)].powi(2) * variances[i]).sum()
    }
}

/// How far an observation is from what all others say, in standard deviations,
/// and the odds that the furthest of all is that far by chance.
#[derive(Clone, Copy, Debug)]
pub(super) struct Studentised {
    pub t: f64,
    pub odds: f64,
}

/// Externally studentised residuals, each with its probability times the number
/// of those that can be judged (Bonferroni). None for an observation that
/// nothing else bears on, or without two degrees of freedom.
///
/// Standard textbook method (Cook and Weisberg, "Residuals and Influence in
/// Regression", 1982, from memory).
pub(super) fn studentised(
    residuals: &[f64],
    variances: &[f64],
    leverages: &[f64],
    freedom: usize,
) -> Vec<Option<Studentised>> {
    let left = |i: usize| 1.0 - leverages[i];
    let squares: Vec<f64> = residuals.iter().zip(variances).map(|(r, v)| r * r / v).collect();
    let sum: f64 = squares.iter().sum();
    let judged = (0..residuals.len()).filter(|i| left(*i) > JUDGED_EPSILON).count();
    let one = |i: usize| {
        if freedom < 2 || left(i) <= JUDGED_EPSILON {
            return None;
        }
        let others = (freedom - 1) as f64;
        let without = ((sum - squares[i] / left(i)) / others).max(SCATTER_EPSILON.powi(2));
        let t = (squares[i] / left(i) / without).sqrt();
        let odds = (judged as f64 * student_beyond(t, others)).min(1.0);
        Some(Studentised { t: t.copysign(residuals[i]), odds })
    };
    (0..residuals.len()).map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A straight line through three points, by hand.
    #[test]
    fn a_line_through_three_points() {
        let design = Design::new(&[vec![1.0, 0.0], vec![1.0, 1.0], vec![1.0, 2.0]], 2);
        let found = design.solve(&[1.0, 2.0, 4.0], &[1.0; 3]);
        assert_eq!(found.told, [true, true]);
        assert!((found.estimates[0] - 5.0 / 6.0).abs() < 1e-12);
        assert!((found.estimates[1] - 1.5).abs() < 1e-12);
        assert!((found.variance(1, &[1.0; 3]) - 0.5).abs() < 1e-12);
        assert!((found.moved(0, |_| 1.0) - 1.0).abs() < 1e-12);
        let wanted = [5.0 / 6.0, 1.0 / 3.0, 5.0 / 6.0];
        for (found, wanted) in found.leverages.iter().zip(wanted) {
            assert!((found - wanted).abs() < 1e-12);
        }
    }

    #[test]
    fn a_heavier_observation_draws_the_mean() {
        let design = Design::new(&[vec![1.0], vec![1.0]], 1);
        let found = design.solve(&[0.0, 1.0], &[1.0, 0.25]);
        assert!((found.estimates[0] - 0.8).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_told_apart_is_known_and_the_rest_is_still_told() {
        let design = Design::new(&[vec![20.0, 2.0, 0.0], vec![0.0, 0.0, 1.0]], 3);
        let (told, rank) = design.told();
        assert_eq!((told.as_slice(), rank), ([false, false, true].as_slice(), 2));
        assert!(design.meets(1));
        let found = design.solve(&[20.2, 0.3], &[1.0; 2]);
        assert!((found.estimates[2] - 0.3).abs() < 1e-12);
    }

    /// The deleted fit, done anew without the observation, gives the same t.
    #[test]
    fn studentised_residuals_are_those_of_the_fit_without_the_row() {
        let xs = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0];
        let ys = [0.1, 0.9, 2.2, 2.8, 5.0, 5.1];
        let line = |x: f64| vec![1.0, x];
        let lines: Vec<Vec<f64>> = xs.iter().map(|x| line(*x)).collect();
        let found = Design::new(&lines, 2).solve(&ys, &[1.0; 6]);
        let judged = studentised(&found.residuals, &[1.0; 6], &found.leverages, 4);
        for out in 0..xs.len() {
            let kept: Vec<usize> = (0..xs.len()).filter(|i| *i != out).collect();
            let lines: Vec<Vec<f64>> = kept.iter().map(|i| line(xs[*i])).collect();
            let observed: Vec<f64> = kept.iter().map(|i| ys[*i]).collect();
            let fit = Design::new(&lines, 2).solve(&observed, &[1.0; 5]);
            let squares: f64 = fit.residuals.iter().map(|r| r * r).sum();
            let s = (squares / 3.0).sqrt();
            let off = ys[out] - fit.estimates[0] - fit.estimates[1] * xs[out];
            let room = 1.0 + fit.moved_variance(xs[out]);
            let t = off / (s * room.sqrt());
            let found = judged[out].expect("there are enough");
            assert!((found.t - t).abs() < 1e-9, "{out}: {} and {t}", found.t);
        }
    }

    impl Solution {
        /// Variance of the fitted line at `x`, observations having variance 1.
        fn moved_variance(&self, x: f64) -> f64 {
            let n = self.map.ncols();
            (0..n).map(|i| (self.map[(0, i)] + self.map[(1, i)] * x).powi(2)).sum()
        }
    }
}
