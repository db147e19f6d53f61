//! Least walls of random sections against exact offsets.

use borewright::checks::Analysis;
use borewright::section::{Region, Seg};
use borewright::solid::Stack;
use fastrand::Rng;

use crate::random::{Input, Source};
use crate::shapes::{CHORD, meshed_at};

/// What an offset cannot change without a wall giving way: pieces and holes.
fn topology(region: &Region) -> (usize, usize) {
    // The sign of the polygon through ends and middles is that of the loop.
    let signed = |pieces: &Vec<Seg>| {
        let points: Vec<_> = pieces.iter().flat_map(|s| [s.a, s.mid()]).collect();
        let next = points.iter().cycle().skip(1);
        points.iter().zip(next).map(|(p, q)| p.x * q.y - p.y * q.x).sum::<f64>()
    };
    let outer = region.loops().iter().filter(|l| signed(l) > 0.0).count();
    (outer, region.loops().len() - outer)
}

/// Twice the least inward offset at which the section falls apart, joins two
/// boundaries or vanishes: its least wall, mm. Steps find the first change,
/// bisection its place.
fn least_wall(region: &Region) -> f64 {
    const STEP: f64 = 0.05;
    let whole = topology(region);
    let same = |by: f64| topology(&region.offset(-by)) == whole;
    let mut low = 0.0;
    while same(low + STEP) {
        low += STEP;
    }
    let mut high = low + STEP;
    for _ in 0..24 {
        let middle = 0.5 * (low + high);
        if same(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low + high
}

#[test]
fn the_least_wall_of_random_sections_is_never_overstated() {
    let (mut tried, mut below) = (0, 0);
    let mut worst: f64 = 0.0;
    for seed in 0.. {
        if tried == 200 {
            break;
        }
        let mut source = Source { rng: Rng::with_seed(seed), eps: 0.0, input: Input::Snapped };
        let section = source.section();
        if section.is_empty() || topology(&section).0 != 1 {
            continue;
        }
        let exact = least_wall(&section);
        // Thinner is refused or lost in the chord; the height must not govern.
        if exact < 0.2 {
            continue;
        }
        let mut stack = Stack::default();
        stack.prism(0.0, 60.0, &section);
        let Ok(solid) = stack.solid() else { continue };
        let soup = meshed_at(&solid, 0.1 * CHORD);
        let analysis = Analysis::new(soup);
        let got = analysis.walls(3.0 * exact).least().map_or(f64::INFINITY, |s| s.value);
        tried += 1;
        worst = worst.max(got / exact - 1.0);
        if got < 0.99 * exact {
            below += 1;
        }
        assert!(got <= 1.01 * exact, "seed {seed}: measured {got}, exact {exact}");
    }
    // Below it are tapering edges, which an offset rounds off without a change.
    println!("{tried} sections: at most {:.4} % above; {below} have sharper edges", 100.0 * worst);
}
