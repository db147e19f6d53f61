//! Whether what meets goes together: the gaps that a part declares, with their
//! worst case, RSS, and the odds that they bind or rattle.

use serde::Serialize;

use super::finding::short;
use super::{Check, CheckContext, Finding, Limit, Place, Region, Severity, cut};
use crate::measure::Unit;
use crate::measure::rounding::up;
use crate::parts::{Declared, FitWords, Mating, Spread};
use crate::trade::fit_odds::{FitOdds, FitOddsInput, fit_odds};

pub(super) const CHECK: Check = Check {
    name: "fit",
    summary: "gaps of our own parts that bind or rattle",
    upright: false,
    run,
};

/// Odds of binding from which a word is said: one in twenty. Common practice,
/// no source.
pub const BINDS: f64 = 0.05;

/// Odds of rattling from which a word is said: one in four. A strip of tape
/// cures play, and nothing but work cures a part that binds. Common practice,
/// no source.
pub const RATTLES: f64 = 0.25;

/// A declared gap in numbers, for tables. All in mm, odds from 0 to 1.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitRow {
    /// What meets what.
    pub what: String,
    /// Where.
    pub at: [f64; 3],
    /// Gap with every size as drawn or read.
    pub nominal: f64,
    /// Least and largest gap, all errors at once.
    pub worst: [f64; 2],
    /// The same by the root of the sum of squares.
    pub rss: [f64; 2],
    /// Gap below which it binds; none if it cannot.
    pub binds_below: Option<f64>,
    /// Gap above which it rattles; none if it may.
    pub rattles_above: Option<f64>,
    /// Odds that it binds.
    pub binds: f64,
    /// Odds that it rattles.
    pub rattles: f64,
    /// The term that spreads the gap most.
    pub dominant: Option<String>,
    /// Its share of the variance, percent.
    pub dominant_percent: Option<f64>,
    /// The job's field that moves the gap.
    pub field: String,
}

/// The declared gaps in numbers, in the order of the part. One whose numbers
/// are beyond the calculator's range is left out.
pub fn fit_rows(declared: &Declared) -> Vec<FitRow> {
    declared.matings.iter().filter_map(|mating| Some(row(mating, &odds(mating)?))).collect()
}

/// Terms of one spread, the middle of the chain, and the order of the terms.
fn odds(mating: &Mating) -> Option<(FitOdds, Vec<&str>)> {
    let of = |spread| mating.terms.iter().filter(move |t| t.spread == spread);
    let half = |spread| of(spread).map(|t| 0.5 * (t.reach.1 - t.reach.0)).collect::<Vec<f64>>();
    let middle = mating.terms.iter().map(|t| t.value + 0.5 * (t.reach.0 + t.reach.1)).sum();
    let out = fit_odds(&FitOddsInput {
        middle_mm: middle,
        even_mm: half(Spread::Even),
        bell_mm: half(Spread::Bell),
        // Below any gap that the calculator takes: it cannot bind.
        binds_below_mm: mating.binds_below.max(NEVER),
        rattles_above_mm: mating.rattles_above,
    })
    .ok()?;
    Some((out, of(Spread::Even).chain(of(Spread::Bell)).map(|t| t.what.as_str()).collect()))
}

/// Gap that is never undercut, mm.
const NEVER: f64 = -1000.0;

fn row(mating: &Mating, (out, terms): &(FitOdds, Vec<&str>)) -> FitRow {
    let middle = out.gap_at(0.5);
    FitRow {
        what: mating.what.clone(),
        at: mating.at.into(),
        nominal: mating.nominal(),
        worst: [middle - out.worst_mm, middle + out.worst_mm],
        rss: [middle - out.rss_mm, middle + out.rss_mm],
        binds_below: mating.binds_below.is_finite().then_some(mating.binds_below),
        rattles_above: mating.rattles_above,
        binds: out.binds,
        rattles: out.rattles,
        dominant: out.dominant.map(|(i, _)| terms[i].to_owned()),
        dominant_percent: out.dominant.map(|(_, percent)| percent),
        field: mating.field.clone(),
    }
}

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let Some(known) = context.known else { return Vec::new() };
    let all = &known.declared.matings;
    cut(all.iter().filter_map(|mating| finding(mating, &odds(mating)?, all)).collect())
}

fn finding(mating: &Mating, found: &(FitOdds, Vec<&str>), all: &[Mating]) -> Option<Finding> {
    let (out, row) = (&found.0, row(mating, found));
    let nominal = row.nominal;
    let place = Place { point: Some(mating.at.into()), region: Region::Body };
    let most = match (&row.dominant, row.dominant_percent) {
        (Some(term), Some(percent)) => format!("; {percent:.0} % of the spread is {term}"),
        _ => String::new(),
    };
    let range = format!(
        "gap {} mm, {} to {} by RSS, {} to {} at worst",
        short(nominal),
        short(row.rss[0]),
        short(row.rss[1]),
        short(row.worst[0]),
        short(row.worst[1])
    );
    if nominal < mating.binds_below {
        let text = format!(
            "{} binds with every size as drawn: gap {} mm, needs {}{most}",
            mating.what,
            short(nominal),
            short(mating.binds_below)
        );
        let limit = Limit::own(mating.binds_below, "gap below which it binds, as the part states");
        return Some(
            Finding::new(CHECK.name, Severity::Error, text)
                .at(place)
                .measured(nominal, Unit::Mm)
                .limit(&limit)
                .hint(wider(mating, out, all)),
        );
    }
    let (what, odds, limit, hint) = if row.binds > BINDS {
        ("binds", row.binds, BINDS, wider(mating, out, all))
    } else if row.rattles > RATTLES {
        ("rattles", row.rattles, RATTLES, narrower(mating, out, all))
    } else {
        return None;
    };
    let text = format!("{} {what} in {:.0} of 100: {range}{most}", mating.what, 100.0 * odds);
    let from =
        format!("odds from which a word is said, {:.0} of 100; common practice", 100.0 * limit);
    Some(
        Finding::new(CHECK.name, Severity::Warning, text)
            .at(place)
            .measured(100.0 * odds, Unit::Percent)
            .limit(&Limit::own(100.0 * limit, from))
            .hint(hint),
    )
}

/// Odds below the limit, of which a change is told; some less, so that
/// rounding does not matter.
fn more_gap(mating: &Mating, out: &FitOdds) -> f64 {
    up(mating.binds_below - out.gap_at(0.98 * BINDS)).max(0.01)
}

fn less_gap(out: &FitOdds, rattles_above: f64) -> f64 {
    up(out.gap_at(1.0 - 0.98 * RATTLES) - rattles_above).max(0.01)
}

/// The first of all gaps that one field moves that is spoilt when it moves: the gap itself,
/// or its like at another place, as where the bore is widest.
fn spoilt<'a>(
    mating: &Mating,
    all: &'a [Mating],
    is: impl Fn(&Mating, &FitOdds) -> bool,
) -> Option<&'a Mating> {
    // One word stands for one clearance, wherever it is.
    let word = |m: &Mating| mating.words.is_some() && m.words == mating.words;
    let moved = |m: &&Mating| *m == mating || word(m) && m.field == mating.field;
    all.iter().filter(moved).find(|m| odds(m).is_some_and(|(out, _)| is(m, &out)))
}

/// The gap as "it" in what is said about one of them.
fn called<'a>(other: &'a Mating, mating: &Mating) -> &'a str {
    if other == mating { "it" } else { &other.what }
}

/// What cures binding, and whether that makes it, or its like, rattle.
fn wider(mating: &Mating, out: &FitOdds, all: &[Mating]) -> String {
    let more = more_gap(mating, out);
    let change = format!(
        "{}: {} mm more gap brings binding below {:.0} of 100",
        mating.field,
        short(more),
        100.0 * BINDS
    );
    let rattles = |m: &Mating, out: &FitOdds| {
        m.rattles_above.is_some_and(|limit| 1.0 - out.below(limit - more) > RATTLES)
    };
    // What would not do is not offered as a value to write.
    match spoilt(mating, all, rattles) {
        Some(m) => format!("{change}, but then {} rattles: {NARROW_SPREAD}", called(m, mating)),
        None => format!("{change}{}", by_words(mating, more)),
    }
}

fn narrower(mating: &Mating, out: &FitOdds, all: &[Mating]) -> String {
    let less = mating.rattles_above.map_or(0.01, |limit| less_gap(out, limit));
    let change = format!(
        "{}: {} mm less gap brings rattling below {:.0} of 100",
        mating.field,
        short(less),
        100.0 * RATTLES
    );
    let binds = |m: &Mating, out: &FitOdds| out.below(m.binds_below + less) > BINDS;
    match spoilt(mating, all, binds) {
        Some(m) => {
            let binds = called(m, mating);
            format!("{change}, but then {binds} binds: tape takes up the play, or {NARROW_SPREAD}")
        }
        None => format!("{change}{}; tape does too", by_words(mating, -less)),
    }
}

/// Where the field is a word: the clearance to write, mm, and the next word if
/// it changes the gap at least as much.
fn by_words(mating: &Mating, change: f64) -> String {
    let Some(FitWords { words, chosen }) = &mating.words else { return String::new() };
    let (word, clearance, field) = &words[*chosen];
    let mut text = format!(
        ": {field} = {} in place of {} for \"{word}\"",
        short(clearance + change),
        short(*clearance)
    );
    let next = if change > 0.0 { Some(chosen + 1) } else { chosen.checked_sub(1) };
    if let Some((word, other, _)) = next.and_then(|i| words.get(i))
        && (other - clearance).abs() >= change.abs()
    {
        text.push_str(&format!(", or {} = \"{word}\"", mating.field));
    }
    text
}

/// What helps where the spread is wider than the fit.
const NARROW_SPREAD: &str = "measure a test print and give size_sd and size_offset of the printer, \
                             or fit this part by hand";
