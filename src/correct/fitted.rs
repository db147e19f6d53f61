//! Fits the model to readings.

use super::compensate::Compensation;
use super::distribution::{chi_square_quantile, student_quantile};
use super::least_squares::{Design, Solution, Studentised, studentised};
use super::model::{COUNT, Effect, SizeRow};
use crate::measure::{Axis, Measured};

/// Most rows that are fitted together. Common practice, no source.
pub const MAX_FIT_ROWS: usize = 500;

/// Odds outside an interval, both sides together.
const OUTSIDE: f64 = 0.05;
/// Odds by chance, among all rows, below which a row is named an outlier.
const OUTLIER: f64 = 0.05;
/// Least standard deviation of a mean, mm: a tenth of what a caliper's dial
/// shows, so that readings that agree to the last digit do not claim to be
/// exact. Common practice, no source.
const LEAST_DEVIATION: f64 = 0.001;
/// Most of Newton's steps when the scatter between rows is sought; three or four
/// are usual.
const STEPS: usize = 50;
/// Change of that scatter, as a share of it, at which the steps end.
const STEP_EPSILON: f64 = 1e-9;
/// Sizes of further test pieces that are proposed, mm: a long and a short
/// outside, a gap, a hole. Common practice, no source.
const PROPOSED: [f64; 4] = [60.0, 15.0, 10.0, 6.0];

/// One fitted value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correction {
    /// Best value.
    pub value: f64,
    /// Combined standard uncertainty (JCGM 100:2008, 5.1).
    pub uncertainty: f64,
    /// Effective degrees of freedom (JCGM 100:2008, G.4).
    pub freedom: f64,
    /// Half the width of the interval that holds the true value in 95 of 100
    /// cases.
    pub half: f64,
}

impl Correction {
    /// Lower and upper end of the 95 % interval.
    pub fn interval(&self) -> (f64, f64) {
        (self.value - self.half, self.value + self.half)
    }
}

/// A row held against all others.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// Mean of its readings, mm.
    pub mean: f64,
    /// What the fit says it should be, mm.
    pub fitted: f64,
    /// Externally studentised residual, and the odds that the furthest of all
    /// rows is that far by chance; none if nothing else bears on the row.
    pub t: Option<(f64, f64)>,
}

impl Judged {
    /// Whether it does not go with the others.
    pub fn is_outlier(&self) -> bool {
        self.t.is_some_and(|(_, odds)| odds < OUTLIER)
    }
}

/// A reading that does not go with the others of its row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slip {
    /// Index of the row.
    pub row: usize,
    /// Index of the reading.
    pub reading: usize,
    /// How far it is off, in standard deviations of the other readings.
    pub t: f64,
}

/// What readings say of a printer.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// In the order of [`Effect::ALL`]; none where the readings cannot tell.
    pub corrections: [Option<Correction>; COUNT],
    /// Effects that some row depends on.
    pub met: [bool; COUNT],
    /// Standard deviation of a size about the model, mean of its readings, mm.
    pub scatter: f64,
    /// Its 95 % interval.
    pub scatter_interval: (f64, f64),
    /// Standard deviation of readings of one size, mm; none if each was read once.
    pub within: Option<f64>,
    /// Degrees of freedom: rows less fitted values.
    pub freedom: usize,
    /// For each row, in order.
    pub rows: Vec<Judged>,
    /// Readings that do not go with their row, the worst of each row.
    pub slips: Vec<Slip>,
    /// What to measure besides, so that everything can be told.
    pub wanted: Vec<SizeRow>,
}

impl Fitted {
    /// The fitted value of an effect, if the readings tell it.
    pub fn correction(&self, effect: Effect) -> Option<&Correction> {
        self.corrections[effect.index()].as_ref()
    }

    /// Effects that rows depend on but that cannot be told apart.
    pub fn confused(&self) -> Vec<Effect> {
        let confused = |e: &Effect| self.met[e.index()] && self.correction(*e).is_none();
        Effect::ALL.into_iter().filter(confused).collect()
    }

    /// Effects that no row depends on.
    pub fn unmet(&self) -> Vec<Effect> {
        Effect::ALL.into_iter().filter(|e| !self.met[e.index()]).collect()
    }
}

/// Why nothing can be fitted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FitError {
    /// Nothing is left to judge the scatter by.
    #[error(
        "{rows} sizes for {rank} values leave nothing to tell by how sure the values are: at least \
         {more} more {} needed", if *.more == 1 { "is" } else { "are" }
    )]
    TooFewRows {
        /// Sizes that were read.
        rows: usize,
        /// Values that they determine.
        rank: usize,
        /// Further sizes that are needed at least.
        more: usize,
        /// What to measure besides.
        wanted: Vec<SizeRow>,
    },
    /// More than [`MAX_FIT_ROWS`].
    #[error("{rows} sizes; at most {MAX_FIT_ROWS} are fitted together")]
    TooManyRows {
        /// Sizes that were given.
        rows: usize,
    },
}

/// Fits all effects that the rows depend on, by weighted least squares.
///
/// A mean of `k` readings has the variance `a^2 + r^2 / k`: `r` is pooled from the
/// readings of all rows, `a`, the scatter of sizes, is what makes the weighted
/// squares of the residuals equal to their degrees of freedom (Mandel and Paule,
/// 1970, from memory), but not below zero. `caliper` is the caliper's limit of
/// error, mm: either pair of jaws may be off by it in all readings alike, evenly
/// spread (JCGM 100:2008, 4.3.7), which goes into the combined uncertainty (5.1)
/// and the effective degrees of freedom (G.4). `before` is what the files that were
/// printed made up for.
///
/// # Errors
/// Too few rows to tell the scatter, or too many.
pub fn fit(
    rows: &[SizeRow],
    caliper: f64,
    before: Option<&Compensation>,
) -> Result<Fitted, FitError> {
    if rows.len() > MAX_FIT_ROWS {
        return Err(FitError::TooManyRows { rows: rows.len() });
    }
    let lines: Vec<Vec<f64>> = rows.iter().map(|row| row.line(before)).collect();
    let design = Design::new(&lines, COUNT);
    let (_, rank) = design.told();
    let wanted = wanted(&lines);
    if rows.len() <= rank {
        let more = rank + 1 - rows.len();
        return Err(FitError::TooFewRows { rows: rows.len(), rank, more, wanted });
    }
    let freedom = rows.len() - rank;
    let means: Vec<f64> = rows.iter().map(SizeRow::mean).collect();
    let (within, slips) = within(rows);
    let of_reading: Vec<f64> =
        rows.iter().map(|row| within.unwrap_or(0.0).powi(2) / row.readings.len() as f64).collect();
    let (variances, solution) = weighted(&design, &means, &of_reading, freedom);
    let corrections = std::array::from_fn(|j| {
        let told = design.meets(j) && solution.told[j];
        told.then(|| correction(rows, &solution, &variances, j, freedom, caliper))
    });
    let judged = studentised(&solution.residuals, &variances, &solution.leverages, freedom);
    let judge = |(i, t): (usize, &Option<Studentised>)| Judged {
        mean: means[i],
        fitted: means[i] - solution.residuals[i],
        t: t.map(|t| (t.t, t.odds)),
    };
    let scatter = scatter(&solution.residuals, &variances, freedom);
    let side = |odds| scatter * (freedom as f64 / chi_square_quantile(odds, freedom as f64)).sqrt();
    Ok(Fitted {
        corrections,
        met: std::array::from_fn(|j| design.meets(j)),
        scatter,
        scatter_interval: (side(1.0 - 0.5 * OUTSIDE), side(0.5 * OUTSIDE)),
        within,
        freedom,
        rows: judged.iter().enumerate().map(judge).collect(),
        slips,
        wanted,
    })
}

/// Pooled standard deviation of readings about the mean of their row, and the
/// readings that are too far from it.
fn within(rows: &[SizeRow]) -> (Option<f64>, Vec<Slip>) {
    let readings: usize = rows.iter().map(|row| row.readings.len()).sum();
    let freedom = readings - rows.len();
    if freedom == 0 {
        return (None, Vec::new());
    }
    let (mut places, mut residuals, mut leverages) = (Vec::new(), Vec::new(), Vec::new());
    for (i, row) in rows.iter().enumerate() {
        for (k, reading) in row.readings.iter().enumerate() {
            places.push((i, k));
            residuals.push(reading - row.mean());
            leverages.push(1.0 / row.readings.len() as f64);
        }
    }
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    let floor = vec![LEAST_DEVIATION * LEAST_DEVIATION; residuals.len()];
    let judged = studentised(&residuals, &floor, &leverages, freedom);
    let mut slips: Vec<Slip> = Vec::new();
    for (t, (row, reading)) in judged.iter().zip(places) {
        let Some(found) = t.filter(|t| t.odds < OUTLIER) else { continue };
        let slip = Slip { row, reading, t: found.t };
        match slips.last_mut().filter(|last| last.row == row) {
            Some(last) if last.t.abs() < slip.t.abs() => *last = slip,
            Some(_) => {}
            None => slips.push(slip),
        }
    }
    (Some((squares / freedom as f64).sqrt()), slips)
}

/// Variances of the means and the fit with them.
fn weighted(
    design: &Design,
    means: &[f64],
    of_reading: &[f64],
    freedom: usize,
) -> (Vec<f64>, Solution) {
    let floor = LEAST_DEVIATION * LEAST_DEVIATION;
    let with = |between: f64| -> Vec<f64> {
        of_reading.iter().map(|r| (between + r).max(floor)).collect()
    };
    let excess = |variances: &[f64], solution: &Solution| {
        let squares = solution.residuals.iter().zip(variances).map(|(r, v)| r * r / v);
        squares.sum::<f64>() - freedom as f64
    };
    let mut variances = with(0.0);
    let mut solution = design.solve(means, &variances);
    if excess(&variances, &solution) <= 0.0 {
        return (variances, solution);
    }
    // Exact where all rows were read as often; elsewhere Newton's steps, which go
    // up to the root of a convex, falling sum.
    let squares: f64 = solution.residuals.iter().map(|r| r * r).sum();
    let mean = of_reading.iter().sum::<f64>() / of_reading.len() as f64;
    let mut between = (squares / freedom as f64 - mean).max(0.0);
    for _ in 0..STEPS {
        variances = with(between);
        solution = design.solve(means, &variances);
        let falls: f64 =
            solution.residuals.iter().zip(&variances).map(|(r, v)| (r / v).powi(2)).sum();
        let step = excess(&variances, &solution) / falls;
        if step.abs() <= STEP_EPSILON * (between + floor) {
            break;
        }
        between = (between + step).max(0.0);
    }
    (variances, solution)
}

/// Standard deviation of a row of mean weight.
fn scatter(residuals: &[f64], variances: &[f64], freedom: usize) -> f64 {
    let mean = variances.iter().map(|v| v.recip()).sum::<f64>() / variances.len() as f64;
    let squares: f64 = residuals.iter().zip(variances).map(|(r, v)| r * r / v / mean).sum();
    (squares / freedom as f64).sqrt()
}

/// One fitted value with its combined uncertainty.
fn correction(
    rows: &[SizeRow],
    solution: &Solution,
    variances: &[f64],
    j: usize,
    freedom: usize,
    caliper: f64,
) -> Correction {
    let by_scatter = solution.variance(j, variances);
    let by_jaws = |inside: bool| {
        let shift = |i: usize| f64::from(u8::from(rows[i].what.inside_jaws() == inside));
        (solution.moved(j, shift) * caliper).powi(2) / 3.0
    };
    let variance = by_scatter + by_jaws(false) + by_jaws(true);
    let freedom = freedom as f64 * (variance / by_scatter).powi(2);
    let uncertainty = variance.sqrt();
    let half = student_quantile(OUTSIDE, freedom) * uncertainty;
    Correction { value: solution.estimates[j], uncertainty, freedom, half }
}

/// The fewest further sizes, one of one kind after the other, with which all
/// effects can be told apart.
fn wanted(lines: &[Vec<f64>]) -> Vec<SizeRow> {
    let mut lines = lines.to_vec();
    let mut wanted = Vec::new();
    let untold = |lines: &[Vec<f64>]| {
        Design::new(lines, COUNT).told().0.iter().filter(|told| !**told).count()
    };
    let rank = |lines: &[Vec<f64>]| Design::new(lines, COUNT).told().1;
    while untold(&lines) > 0 && wanted.len() < COUNT {
        let with = |row: &SizeRow| {
            let mut more = lines.clone();
            more.push(row.line(None));
            (rank(&more), std::cmp::Reverse(untold(&more)))
        };
        let proposed = proposed();
        // The first of the best: a later one must be better.
        let best = proposed.into_iter().rev().max_by_key(with);
        let Some(best) = best else { break };
        lines.push(best.line(None));
        wanted.push(best);
    }
    wanted
}

/// Sizes that are worth proposing.
fn proposed() -> Vec<SizeRow> {
    let [long, short, gap, hole] = PROPOSED;
    let row = |what, axis, nominal| SizeRow {
        name: String::new(),
        what,
        axis,
        nominal,
        readings: Vec::new(),
    };
    let mut rows = Vec::new();
    for axis in Axis::ALL {
        rows.push(row(Measured::Outside, Some(axis), long));
    }
    rows.push(row(Measured::Gap, Some(Axis::X), gap));
    rows.push(row(Measured::Hole, None, hole));
    rows.push(row(Measured::FirstLayer, Some(Axis::X), short));
    for axis in Axis::ALL {
        rows.push(row(Measured::Outside, Some(axis), short));
    }
    rows
}
