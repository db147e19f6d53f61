//! Random stacks: a closed solid of the right volume, or a named refusal.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

use borewright::measure::Vec2;
use borewright::section::Region;
use borewright::solid::{BrepError, Stack, StackError};
use fastrand::Rng;

use crate::cases;
use crate::random::{Input, Source};

/// What became of one random stack.
fn outcome(source: &mut Source) -> &'static str {
    let built = catch_unwind(AssertUnwindSafe(|| {
        let stack = source.stack();
        (stack.volume(), stack.solid())
    }));
    match built {
        Err(_) => "panic",
        Ok((expected, Ok(solid))) => {
            let got = solid.properties().volume;
            if (got - expected).abs() <= 1e-9 * expected { "solid" } else { "wrong volume" }
        }
        Ok((_, Err(e))) => match e {
            StackError::Empty => "empty",
            StackError::Pinch { .. } => "pinch",
            StackError::Sliver { .. } => "sliver",
            StackError::Height { .. } => "height",
            StackError::Boundary(BrepError::PinchedVertex { .. }) => "pinch",
            StackError::Boundary(BrepError::Pieces { .. }) => "pieces",
            StackError::Boundary(_) => "does not close",
            _ => "other",
        },
    }
}

/// Counts of the outcomes of `n` stacks; each seed is a stack of its own, so
/// that a failure can be looked at alone.
fn census(n: u64, eps: f64, input: Input) -> BTreeMap<&'static str, u64> {
    let mut counts = BTreeMap::new();
    let limit = Duration::from_secs(1);
    for seed in 0..n {
        let mut source = Source { rng: Rng::with_seed(seed), eps, input };
        let start = Instant::now();
        let what = outcome(&mut source);
        let mut taken = start.elapsed();
        if taken >= limit {
            // Other programs may have had the machine meanwhile.
            let start = Instant::now();
            outcome(&mut Source { rng: Rng::with_seed(seed), eps, input });
            taken = taken.min(start.elapsed());
        }
        assert!(taken < limit, "seed {seed} at eps {eps} took {taken:?}");
        if matches!(what, "panic" | "wrong volume" | "does not close" | "other" | "height") {
            println!("  seed {seed} eps {eps:e}: {what}");
        }
        *counts.entry(what).or_default() += 1;
    }
    counts
}

fn bad(counts: &BTreeMap<&'static str, u64>) -> u64 {
    ["panic", "wrong volume", "does not close", "other", "height"]
        .iter()
        .filter_map(|k| counts.get(k))
        .sum()
}

#[test]
fn random_stacks_on_a_coarse_grid_close_or_are_refused_by_name() {
    let counts = census(cases(20_000), 0.0, Input::Snapped);
    println!("20000 stacks on the grid: {counts:?}");
    assert_eq!(bad(&counts), 0);
    assert!(counts["solid"] > cases(5_000), "too few solids to mean anything: {counts:?}");
}

/// Sections shifted at random by up to eps, raw and snapped: snapping turns
/// near-coincidences into coincidences.
#[test]
fn shifted_stacks_close_or_are_refused_by_name() {
    println!("outcomes of 2000 raw and 20000 snapped stacks, shifted by up to eps mm");
    for eps in [1e-12, 1e-9, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2] {
        let raw = census(cases(2_000), eps, Input::Raw);
        let snapped = census(cases(20_000), eps, Input::Snapped);
        println!("{eps:>6e} raw     {raw:?}\n       snapped {snapped:?}");
        assert_eq!(bad(&snapped), 0, "snapped stacks at eps {eps:e}");
    }
}

#[test]
fn measures_that_are_no_numbers_are_refused() {
    let square = Region::rectangle(Vec2::zeros(), Vec2::new(2.0, 2.0));
    let nowhere = square.difference(&Region::disc(Vec2::zeros(), f64::NAN));
    for (bottom, top, section, bad) in [
        (0.0, f64::NAN, &square, 2),
        (1.0, f64::INFINITY, &square, 2),
        (1.0, 1e12, &square, 2),
        (1.0, 2.0, &nowhere, 2),
    ] {
        let mut stack = Stack::default();
        stack.prism(0.0, 1.0, &square).prism(bottom, top, section);
        let refused = stack.solid();
        let named = matches!(refused, Err(StackError::Coordinate { slab, .. }) if slab == bad);
        assert!(named, "{bottom} to {top}: {refused:?}");
    }
}

/// What stands on a slab touches its rim in points, so that loops of one face meet there:
/// material goes all the way round each such point.
#[test]
fn a_face_whose_loops_touch_makes_a_solid() {
    let at = Vec2::new;
    let base = Region::rectangle(at(0.0, 0.0), at(10.0, 10.0));
    let one = Region::polygon(&[at(5.0, 0.0), at(8.0, 4.0), at(5.0, 8.0), at(2.0, 4.0)]);
    let four = Region::polygon(&[at(5.0, 0.0), at(10.0, 5.0), at(5.0, 10.0), at(0.0, 5.0)]);
    let two = one.union(&Region::polygon(&[at(5.0, 8.0), at(6.0, 10.0), at(4.0, 10.0)]));
    for (above, stands) in [(&one, true), (&four, true), (&two, false)] {
        for upside_down in [false, true] {
            let mut stack = Stack::default();
            let (low, high) = if upside_down { (above, &base) } else { (&base, above) };
            stack.prism(0.0, 5.0, low).prism(5.0, 8.0, high);
            match stack.solid() {
                Ok(solid) if stands => {
                    let volume = solid.properties().volume;
                    assert!((volume - stack.volume()).abs() < 1e-9, "{volume}");
                }
                // The two pieces above meet along one upright edge.
                Err(StackError::Pinch { .. }) if !stands => {}
                other => panic!("{stands}, {upside_down}: {other:?}"),
            }
        }
    }
}
