//! First hits of many rays, beside a ray engine.

use std::hint::black_box;

use borewright::measure::Vec3;
use borewright::mesh::{ChordTolerance, Soup, tessellate};
use borewright::parallel::each;
use borewright::sight::{Ray, Tree};
use fastrand::Rng;
use serde_json::{Value, json};

use crate::CHORD;
use crate::shapes::Shape;
use crate::time::{RUNS, Time, python};

/// Rays for each shape.
const RAYS: usize = 100_000;
/// Rays that one thread takes at a time.
const SHARE: usize = 1000;

/// Rays between even points of a box half as large again as the shape.
fn rays(soup: &Soup) -> Vec<Ray> {
    let mut rng = Rng::with_seed(1);
    let (low, high) = soup.bounds();
    let (middle, half) = ((low + high) * 0.5, (high - low) * 0.75);
    let mut point = || middle + Vec3::from_fn(|i, _| half[i] * (2.0 * rng.f64() - 1.0));
    (0..RAYS)
        .map(|_| {
            let from = point();
            Ray { from, along: (point() - from).try_normalize(0.0).unwrap_or(Vec3::z()) }
        })
        .collect()
}

/// Triangle that each ray meets first.
fn first(tree: &Tree, rays: &[Ray]) -> Vec<Option<u32>> {
    let hit = |ray| tree.first(ray, (0.0, f64::INFINITY)).map(|hit| hit.triangle);
    rays.iter().map(hit).collect()
}

pub fn compare(shapes: &[Shape]) {
    let tolerance = ChordTolerance { chord: CHORD, ..ChordTolerance::default() };
    let mesh = |s: &Shape| Soup::from(&tessellate(&s.solid(), &tolerance).expect("meshes"));
    let cases: Vec<(Soup, Vec<Ray>)> =
        shapes.iter().map(mesh).map(|soup| (soup.clone(), rays(&soup))).collect();
    let list: Value = cases
        .iter()
        .map(|(soup, rays)| {
            let corners: Vec<[[f64; 3]; 3]> =
                (0..soup.triangles().len()).map(|i| soup.corners(i).map(Into::into)).collect();
            let from: Vec<[f64; 3]> = rays.iter().map(|r| r.from.into()).collect();
            let along: Vec<[f64; 3]> = rays.iter().map(|r| r.along.into()).collect();
            json!({ "corners": corners, "from": from, "along": along })
        })
        .collect();
    let theirs = python("rays.py", &json!({ "runs": RUNS, "meshes": list }));
    let theirs = theirs.unwrap_or_else(|why| {
        println!("no ray engine: {why}\n");
        Value::Null
    });
    println!("\nFirst hits of {RAYS} rays; ms. Embree counts in 32 bits, borewright in 64.\n");
    println!(
        "| shape | triangles | engine | tree | one thread | all threads | same triangle |\n\
         |---|---|---|---|---|---|---|"
    );
    for (i, (shape, (soup, rays))) in shapes.iter().zip(&cases).enumerate() {
        let (name, n) = (shape.name, soup.triangles().len());
        let tree = Tree::new(soup);
        let built = Time::of(|| drop(black_box(Tree::new(soup)))).shown();
        let one = Time::of(|| drop(black_box(first(&tree, rays)))).shown();
        let share = |k: usize| first(&tree, &rays[k * SHARE..(k + 1) * SHARE]);
        let all = Time::of(|| drop(black_box(each((0..RAYS / SHARE).collect(), share)))).shown();
        println!("| {name} | {n} | borewright | {built} | {one} | {all} | |");
        let read = |key: &str| Time::read(&theirs[i][key]).map(Time::shown);
        if let (Some(built), Some(one)) = (read("tree"), read("first")) {
            let hits = theirs[i]["hits"].as_array().into_iter().flatten();
            let own = first(&tree, rays);
            let same = hits.zip(&own).filter(|(a, b)| a.as_i64() == Some(b.map_or(-1, i64::from)));
            let same = 100.0 * same.count() as f64 / RAYS as f64;
            println!("| {name} | {n} | Embree | {built} | {one} | - | {same:.2} % |");
        }
    }
}
