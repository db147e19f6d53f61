//! Components: the examples' have room and get in; random blocks against
//! counted cells; what is planted is found.

use std::time::{Duration, Instant};

use borewright::checks::{
    Analysis, CONTACT, CheckContext, Finding, Known, check, on_the_way, seated,
};
use borewright::job::{Job, Made, make};
use borewright::measure::{Library, Source, Vec2};
use borewright::mesh::Soup;
use borewright::parts::{Component, Declared, PART_KINDS, Way};
use borewright::section::Region;
use borewright::solid::{Levels, Solid, Stack};

use crate::shapes::{meshed, rect, stack};

fn made(name: &str) -> (Job, Vec<Made>) {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    let bytes = std::fs::read(path).expect("the example is there");
    let source = Source::new(name, bytes).expect("it is text");
    let job = Job::read(&source, Library::shipped(), PART_KINDS).expect("it is valid");
    let made = make(&job).expect("it can be made");
    (job, made)
}

fn about_components(found: Vec<Finding>) -> Vec<Finding> {
    found.into_iter().filter(|f| ["interference", "insertion"].contains(&f.check)).collect()
}

#[test]
fn the_examples_components_have_room_and_get_in() {
    let wanted: [(&str, &[&[&str]]); 3] = [
        ("lamplighters-rod.toml", &[&["stone", "pixel", "bore"]]),
        ("ember-wand.toml", &[&["cell", "spring", "tab", "cover", "bore"], &["cell", "bore"]]),
        (
            "two-plungers.toml",
            &[&[
                "switch_1",
                "plunger_1_pressed",
                "plunger_1",
                "switch_2",
                "plunger_2_pressed",
                "plunger_2",
                "bore",
            ]],
        ),
    ];
    let mut faults = Vec::new();
    for (name, names) in wanted {
        let (job, made) = made(name);
        let bodies: Vec<_> = made.iter().flat_map(|m| &m.bodies).collect();
        assert_eq!(bodies.len(), names.len());
        for (body, names) in bodies.iter().zip(names) {
            let declared = &body.body.declared;
            assert_eq!(declared.undrawn, []);
            let own: Vec<&str> = declared.components.iter().map(|c| c.name.as_str()).collect();
            assert_eq!(own, *names);
            let analysis = Analysis::new(Soup::from(&body.mesh));
            let context = job.context(&job.parts()[0]);
            let known = Known { solid: &body.body.solid, face_of: body.mesh.face_of(), declared };
            let found = about_components(check(&CheckContext {
                printer: context.printer,
                material: context.material,
                analysis: &analysis,
                remarks: &[],
                known: Some(known),
            }));
            faults.extend(found.into_iter().map(|f| format!("{}: {}", body.body.name, f.text)));
            // Both questions for all components of a body.
            let start = Instant::now();
            let levels = Levels::new(&body.body.solid).expect("ours");
            for c in &declared.components {
                let own = Levels::new(&c.solid).expect("ours");
                let begun = Instant::now();
                let rest = seated(&levels, &own, c.press).expect("defined");
                let way = c.way.map(|w| on_the_way(&levels, &own, w).expect("defined"));
                println!("{name} {}: {rest:?} {way:?} {:?}", c.name, begun.elapsed());
            }
            let took = start.elapsed();
            println!("{} took {took:?}", body.body.name);
            // The cradle's stone takes 37 ms in a release build where the rest of a
            // full check takes 60; what matters is that nothing takes seconds.
            let limit = if cfg!(debug_assertions) { 2000 } else { 100 };
            assert!(took < Duration::from_millis(limit), "{} took {took:?}", body.body.name);
        }
    }
    assert!(faults.is_empty(), "{faults:#?}");
}

/// A component that is planted too large, or in the way, is found with place,
/// depth and field.
#[test]
fn planted_components_are_found() {
    let cup = rect(-10.0, -10.0, 10.0, 10.0).difference(&rect(-8.0, -8.0, 8.0, 8.0));
    let body = stack(&[(0.0, 2.0, rect(-10.0, -10.0, 10.0, 10.0)), (2.0, 20.0, cup)]);
    let component = |solid: Solid, way| Component {
        name: "cell".into(),
        what: "the cell".into(),
        solid,
        way,
        press: 0.0,
        field: "part[1].cell".into(),
    };
    let across = Way::Across { along: Vec2::new(0.0, -1.0), travel: 40.0, aside: 0.2 };
    let along = Way::Along { up: false, travel: 40.0 };
    let block = |half: f64| stack(&[(2.0, 9.0, rect(-half, -half, half, half))]);
    let mesh = meshed(&body);
    let library = Library::shipped();
    let analysis = Analysis::new(mesh);
    let found = |components: Vec<Component>| {
        let declared = Declared { components, ..Declared::default() };
        let known = Known { solid: &body, face_of: &[], declared: &declared };
        about_components(check(&CheckContext {
            printer: library.profile("printers", "fdm-thin").expect("shipped"),
            material: library.profile("materials", "petg").expect("shipped"),
            analysis: &analysis,
            remarks: &[],
            known: Some(known),
        }))
    };
    assert_eq!(found(vec![component(block(7.9), Some(along))]), []);
    let large = found(vec![component(block(8.3), Some(along))]);
    assert_eq!(large.iter().map(|f| f.check).collect::<Vec<_>>(), ["interference", "insertion"]);
    // In the corners of a rim 0.3 wide a slightly larger disc has room.
    let deep = 0.6 * 2f64.sqrt() / (1.0 + 2f64.sqrt());
    assert!((large[0].measured.expect("a depth") - deep).abs() < 1e-3);
    assert_eq!(large[0].limit, Some(CONTACT));
    let hint = large[0].hint.as_deref().expect("a hint");
    assert!(hint.contains("part[1].cell"), "{hint}");
    let blocked = found(vec![component(block(7.9), Some(across))]);
    assert_eq!(blocked.len(), 1);
    let text = &blocked[0].text;
    assert!(text.contains("along -y") && text.contains("2 mm deep"), "{text}");
    assert!(text.contains("0.2 mm give way"), "{text}");
}

/// Cells along each side of the blocks below.
const SIDE: usize = 6;
/// Size of a cell, mm.
const CELL: f64 = 1.5;

type Cells = [[[bool; SIDE]; SIDE]; SIDE];

/// Random boxes of cells as one solid, if it is one.
fn blocks(rng: &mut fastrand::Rng) -> Option<(Cells, Solid)> {
    let mut cells: Cells = Default::default();
    for _ in 0..rng.usize(1..4) {
        let mut span = || {
            let a = rng.usize(0..SIDE);
            a..rng.usize(a..SIDE) + 1
        };
        let (xs, ys, zs) = (span(), span(), span());
        for z in zs {
            for y in ys.clone() {
                cells[z][y][xs.clone()].fill(true);
            }
        }
    }
    let mut stack = Stack::default();
    for (z, layer) in cells.iter().enumerate() {
        let mut section = Region::empty();
        for (y, row) in layer.iter().enumerate() {
            for (x, _) in row.iter().enumerate().filter(|c| *c.1) {
                let (x, y) = (x as f64 * CELL, y as f64 * CELL);
                section = section.union(&rect(x, y, x + CELL, y + CELL));
            }
        }
        if !section.is_empty() {
            stack.prism(z as f64 * CELL, (z + 1) as f64 * CELL, &section);
        }
    }
    Some((cells, stack.solid().ok()?))
}

/// Number of cells that both fill, the second moved by whole cells.
fn shared(a: &Cells, b: &Cells, by: [i64; 3]) -> usize {
    let inside = |v: i64| usize::try_from(v).ok().filter(|v| *v < SIDE);
    let at = |z: i64, y: i64, x: i64| -> Option<bool> {
        Some(b[inside(z - by[2])?][inside(y - by[1])?][inside(x - by[0])?])
    };
    let all = 0..SIDE as i64;
    let mut count = 0;
    for z in all.clone() {
        for y in all.clone() {
            for x in all.clone() {
                count +=
                    usize::from(a[z as usize][y as usize][x as usize] && at(z, y, x) == Some(true));
            }
        }
    }
    count
}

#[test]
fn random_blocks_overlap_as_their_cells_do() {
    let (mut pairs, mut free, mut stuck) = (0, 0, 0);
    for seed in 0..600 {
        let mut rng = fastrand::Rng::with_seed(seed);
        let (Some(a), Some(b)) = (blocks(&mut rng), blocks(&mut rng)) else { continue };
        pairs += 1;
        let (body, component) =
            (Levels::new(&a.1).expect("ours"), Levels::new(&b.1).expect("ours"));
        let rest = seated(&body, &component, 0.0).expect("defined");
        let cells = shared(&a.0, &b.0, [0; 3]);
        let volume = rest.map_or(0.0, |o| o.volume);
        let counted = cells as f64 * CELL.powi(3);
        assert!((volume - counted).abs() < 1e-6, "{seed}: {volume} is not {counted}");
        if let Some(o) = rest {
            // Nothing shallower than a cell is there.
            assert!(o.depth >= CELL - 1e-6, "{seed}: {o:?}");
        }
        let steps = 1 + rng.i64(0..SIDE as i64);
        let travel = steps as f64 * CELL;
        let across = |x: f64, y: f64| Way::Across { along: Vec2::new(x, y), travel, aside: 0.0 };
        let ways = [
            (across(0.0, -1.0), [0, 1, 0]),
            (across(0.0, 1.0), [0, -1, 0]),
            (across(1.0, 0.0), [-1, 0, 0]),
            (Way::Along { up: true, travel }, [0, 0, -1]),
            (Way::Along { up: false, travel }, [0, 0, 1]),
        ];
        for (way, back) in ways {
            let got = on_the_way(&body, &component, way).expect("defined");
            let passes = (0..=steps).any(|k| shared(&a.0, &b.0, back.map(|c: i64| c * k)) > 0);
            assert_eq!(got.is_some(), passes, "{seed} {way:?}: {got:?}");
            if passes { stuck += 1 } else { free += 1 }
        }
    }
    println!("{pairs} pairs, {free} ways free, {stuck} not");
    assert!(pairs > 200 && free > 100 && stuck > 100);
}
