//! Operations on random regions, with coincidences, judged by a 2D library.

use std::io::{BufWriter, Write};

use borewright::measure::Vec2;
use borewright::section::Region;
use fastrand::Rng;
use serde_json::json;

use crate::piece::region_value;
use crate::random::{Input, Source};
use crate::{folder, refereed};

/// Five operations each.
const CASES: u64 = 4_000;

/// Polygons on a coarse grid, laid over each other: corners on sides, sides on
/// sides, outlines that cross themselves.
fn straight(rng: &mut Rng) -> Region {
    let mut region = Region::empty();
    for _ in 0..rng.u8(1..4) {
        let points: Vec<Vec2> = (0..rng.u8(3..8))
            .map(|_| Vec2::new(f64::from(rng.i32(-8..=8)), f64::from(rng.i32(-8..=8))))
            .collect();
        let other = Region::polygon(&points);
        region = if rng.bool() { region.union(&other) } else { region.xor(&other) };
    }
    region
}

/// Half the cases straight; of the others half on the coarse grid, half off it
/// by up to a hundredth.
fn pair(seed: u64) -> (Region, Region, f64) {
    let mut rng = Rng::with_seed(seed);
    let by = f64::from(rng.i32(1..=16)) * if rng.bool() { 0.25 } else { -0.25 };
    if seed.is_multiple_of(2) {
        return (straight(&mut rng), straight(&mut rng), by);
    }
    let eps = if seed % 4 == 1 { 0.0 } else { 1e-2 };
    let mut source = Source { rng, eps, input: Input::Snapped };
    (source.section(), source.section(), by)
}

#[test]
fn operations_on_random_regions_pass_the_referee() {
    let folder = folder("sections");
    let path = folder.join("cases.jsonl");
    let mut file = BufWriter::new(std::fs::File::create(&path).expect("target is writable"));
    for seed in 0..CASES {
        let (a, b, by) = pair(seed);
        let made = [
            ("union", a.union(&b)),
            ("difference", a.difference(&b)),
            ("intersection", a.intersection(&b)),
            ("xor", a.xor(&b)),
            ("moved", a.offset(by)),
        ];
        let mut case =
            json!({ "seed": seed, "a": region_value(&a), "b": region_value(&b), "by": by });
        for (name, result) in made {
            case[name] = region_value(&result);
            case["areas"][name] = json!(result.area());
        }
        writeln!(file, "{case}").expect("target is writable");
    }
    file.flush().expect("target is writable");
    let (passed, text) = refereed("section_referee.py", &path);
    println!("{text}");
    assert!(passed, "{text}");
}
