//! Layouts judged by a 2D polygon library, and compared with shelves of boxes.

use borewright::job::{Made, Piece, PlateRules, lay_out, make, plate_files};
use borewright::measure::{Vec2, Vec3};
use fastrand::Rng;
use serde_json::{Value, json};

use super::vary::{examples, read};
use super::{folder, judge_by};

fn all_examples() -> Vec<Made> {
    let job = |(name, text)| read(name, text).expect("an example is valid");
    let jobs: Vec<_> = examples().iter().map(|(n, t)| job((n.as_str(), t.clone()))).collect();
    jobs.iter().flat_map(|job| make(job).expect("an example can be made")).collect()
}

/// Depth that boxes take on shelves, the deepest first: the simple method.
fn shelves(boxes: &[Vec2], width: f64, gap: f64) -> f64 {
    let mut sorted: Vec<Vec2> = boxes.iter().map(|b| Vec2::new(b.max(), b.min())).collect();
    sorted.sort_by(|a, b| b.y.total_cmp(&a.y).then(b.x.total_cmp(&a.x)));
    let (mut x, mut depth, mut shelf) = (0.0, 0.0, 0.0);
    for size in sorted {
        if x > 0.0 && x + size.x > width {
            depth += shelf + gap;
            (x, shelf) = (0.0, 0.0);
        }
        shelf = f64::max(shelf, size.y);
        x += size.x + gap;
    }
    depth + shelf
}

/// Ten mixed sets on a bed that is long enough for all: who needs less of it?
#[test]
fn mixed_sets_keep_their_distance_and_beat_shelves() {
    /// Of the bed, mm.
    const WIDTH: f64 = 200.0;
    let place = folder("plates");
    let made = all_examples();
    let bodies: Vec<_> = made.iter().flat_map(|part| &part.bodies).collect();
    assert!(bodies.len() >= 4);
    let sides = [Vec3::z(), Vec3::y(), -Vec3::y(), Vec3::x()];
    let mut entries = Vec::new();
    let (mut ours, mut simple) = (0.0, 0.0);
    println!("set  bodies  outlines mm2  ours mm  utilised  shelves mm  utilised");
    for set in 0..10 {
        let mut rng = Rng::with_seed(set);
        let mut pieces = Vec::new();
        for made in &bodies {
            let up = rng.choice(sides).expect("some sides");
            let copies = rng.usize(0..=4);
            let stretch = made.stretch();
            pieces.push(Piece { name: &made.body.name, mesh: &made.mesh, up, stretch, copies });
        }
        pieces[set as usize % bodies.len()].copies += 1;
        let rules = PlateRules { gap: 3.0, ..PlateRules::new(Vec2::new(WIDTH, 1500.0), 300.0) };
        let plates = lay_out(&pieces, &rules).expect("a long bed");
        assert_eq!(plates.len(), 1);
        let plate = &plates[0];
        let boxes = plate.bodies.iter().map(|body| {
            // As it stands, not turned about the upright.
            let (low, high) = pieces[body.piece].mesh.bounds();
            let turn = borewright::job::upright(pieces[body.piece].up);
            (turn * (high - low)).abs().xy()
        });
        let boxes: Vec<Vec2> = boxes.collect();
        let inside = WIDTH - 2.0 * rules.margin;
        let shelf = shelves(&boxes, inside, rules.gap);
        let share = |depth: f64| 100.0 * plate.covered / (inside * depth);
        println!(
            "{set:3}  {:6}  {:12.0}  {:7.1}  {:6.1} %  {shelf:10.1}  {:6.1} %",
            plate.bodies.len(),
            plate.covered,
            plate.used.y,
            share(plate.used.y),
            share(shelf),
        );
        ours += plate.used.y;
        simple += shelf;
        let name = format!("set{set}");
        for (file, bytes) in plate_files(&pieces, plate, rules.bed, &name, Vec::new()).expect("ok")
        {
            std::fs::write(place.join(file), bytes).expect("target is writable");
        }
        let items = plate.bodies.iter().map(|body| {
            let piece = &pieces[body.piece];
            let placed = piece.mesh.moved(&body.turn, body.shift);
            let (low, high) = placed.bounds();
            let name = match piece.copies {
                1 => piece.name.to_owned(),
                _ => format!("{} {}", piece.name, body.copy + 1),
            };
            json!({
                "name": name,
                "volume": placed.volume(),
                "bbox": [low.as_slice(), high.as_slice()],
            })
        });
        entries.push(json!({
            "package": format!("{name}.3mf"),
            "bed": rules.bed.as_slice(),
            "gap": rules.gap,
            "margin": rules.margin,
            "covered": plate.covered,
            "items": items.collect::<Vec<Value>>(),
        }));
    }
    println!("all: {ours:.1} mm of the bed, by shelves {simple:.1} mm");
    assert!(ours < 0.97 * simple, "no better than shelves: {ours} of {simple}");
    let (passed, text) = judge_by("plate_referee.py", &place, entries.clone());
    println!("{text}");
    assert!(passed, "{text}");

    // The referee is worth nothing if it lets a wider gap or margin pass.
    for (key, fault) in [("gap", "apart"), ("margin", "from the edge"), ("covered", "stated")] {
        let mut wrong = entries[0].clone();
        wrong[key] = json!(entries[0][key].as_f64().expect("a number") * 1.5 + 800.0);
        let (passed, text) = judge_by("plate_referee.py", &place, vec![wrong]);
        assert!(!passed && text.contains(fault), "{key}: {text}");
    }
}
