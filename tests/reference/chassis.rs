//! What of a foreign chassis lies in a part and in its way, by a mesh library's
//! booleans: random blocks, tubes, tapers and tilted meshes.

use borewright::checks::{CONTACT, Meeting, Question, meeting};
use borewright::export::stl;
use borewright::measure::{Vec2, Vec3};
use borewright::mesh::{ChordTolerance, Soup, tessellate};
use borewright::section::Region;
use borewright::solid::{Levels, RuledSection, Solid, Stack};
use borewright::survey::{Chassis, ChassisPlace, Entry, FileAxis};
use fastrand::Rng;
use serde_json::{Value, json};
use std::path::Path;

use super::{folder, refereed};

/// Of the part's mesh, mm: finer than what counts as contact.
const CHORD: f64 = 0.001;

/// Random pairs.
const PAIRS: u64 = 60;

fn meshed(solid: &Solid, chord: f64) -> Soup {
    let tolerance = ChordTolerance { chord, ..ChordTolerance::default() };
    Soup::from(&tessellate(solid, &tolerance).expect("meshes"))
}

fn write(place: &Path, name: &str, soup: &Soup) -> String {
    let bytes = stl(soup.vertices(), soup.triangles(), name).expect("it holds them");
    let file = format!("{name}.stl");
    std::fs::write(place.join(&file), bytes).expect("target is writable");
    file
}

fn section(rng: &mut Rng, size: f64) -> Region {
    let at = |rng: &mut Rng, by: f64| Vec2::new(by * (rng.f64() - 0.5), by * (rng.f64() - 0.5));
    let outside = match rng.u8(0..3) {
        0 => Region::disc(at(rng, size), size * (0.4 + 0.6 * rng.f64())),
        1 => {
            let (p, q) = (at(rng, size), Vec2::repeat(size * (0.4 + 0.5 * rng.f64())));
            Region::rectangle(p - q, p + q)
        }
        _ => {
            let r = size * (0.5 + 0.5 * rng.f64());
            Region::disc(Vec2::zeros(), r).intersection(&Region::half_plane(
                at(rng, size),
                Vec2::new(rng.f64() - 0.5, rng.f64() - 0.5),
                90.0,
            ))
        }
    };
    match rng.u8(0..3) {
        0 => outside,
        1 => outside.difference(&Region::disc(at(rng, size), size * 0.3)),
        _ => outside.difference(&outside.offset(-0.12 * size)),
    }
}

/// A stack of a few slabs, or a taper.
fn solid(rng: &mut Rng, size: f64) -> Option<Solid> {
    let mut stack = Stack::default();
    let mut z = (20.0 * rng.f64() * 4.0).round() / 4.0;
    if rng.u8(0..4) == 0 {
        let disc = |rng: &mut Rng| Region::disc(Vec2::zeros(), size * (0.2 + 0.8 * rng.f64()));
        let (a, b) = (disc(rng), disc(rng));
        stack.ruled(z, z + 5.0 + 20.0 * rng.f64(), RuledSection::between(&a, &b).ok()?);
        return stack.solid().ok();
    }
    for _ in 0..1 + rng.usize(0..3) {
        let height = (2.0 + 14.0 * rng.f64() * 4.0).round() / 4.0 + 0.5;
        stack.prism(z, z + height, &section(rng, size));
        z += height;
    }
    stack.solid().ok()
}

/// Turned about an axis across z, about the middle of a handle.
fn tilted(soup: &Soup, rng: &mut Rng) -> Soup {
    let (sin, cos) = (0.6 * (rng.f64() - 0.5)).sin_cos();
    let (s, c) = (std::f64::consts::TAU * rng.f64()).sin_cos();
    soup.mapped(|p| {
        let p = Vec3::new(c * p.x - s * p.y, s * p.x + c * p.y, p.z - 15.0);
        Vec3::new(p.x, cos * p.y - sin * p.z, sin * p.y + cos * p.z + 15.0)
    })
}

/// As STL stores it, so that both see the same triangles.
fn single(soup: &Soup) -> Soup {
    Soup::welded(
        (0..soup.triangles().len())
            .map(|i| soup.corners(i).map(|p| p.map(|v| f64::from(v as f32)))),
    )
}

fn told(meeting: Option<&Meeting>) -> Value {
    json!(meeting.map(|m| json!({
        "volume": m.volume,
        "bound": m.bound,
        "low": m.low.as_slice(),
        "high": m.high.as_slice(),
        "depth": m.depth,
    })))
}

#[test]
fn a_chassis_lies_in_a_part_as_another_librarys_booleans_say() {
    let place = folder("chassis");
    let still = ChassisPlace { axis: FileAxis::Z, turn: 0.0, shift: Vec3::zeros() };
    let mut questions: Vec<Value> = Vec::new();
    let (mut met, mut blocked, mut leaning) = (0, 0, 0);
    for seed in 0.. {
        if questions.len() as u64 == PAIRS {
            break;
        }
        let mut rng = Rng::with_seed(31_000 + seed);
        let size = if rng.bool() { 12.0 } else { 6.0 };
        let (Some(part), Some(other)) = (solid(&mut rng, size), solid(&mut rng, 14.0)) else {
            continue;
        };
        let tilt = rng.u8(0..3) == 0;
        let soup = meshed(&other, 0.05);
        let soup = if tilt { tilted(&soup, &mut rng) } else { soup };
        let Ok(chassis) = Chassis::new("chassis", single(&soup), &still, Entry::Either) else {
            continue;
        };
        let levels = Levels::new(&part).expect("upright and lying faces only");
        let mesh = meshed(&part, CHORD);
        let ask = |question| meeting(&levels, &mesh, &chassis, question).expect("defined");
        let (seated, along, above) =
            (ask(Question::Seated), ask(Question::FromCap), ask(Question::FromAbove));
        met += usize::from(seated.is_some());
        blocked += usize::from(along.is_some());
        leaning += usize::from(seated.as_ref().is_some_and(|m| m.bound > 1e-3));
        questions.push(json!({
            "name": format!("seed {seed}"),
            "part": write(&place, &format!("part{seed}"), &mesh),
            "chassis": write(&place, &format!("chassis{seed}"), chassis.soup()),
            "seated": told(seated.as_ref()),
            "along": told(along.as_ref()),
            "above": told(above.as_ref()),
        }));
    }
    println!("{met} overlap, {leaning} of them with leaning faces; {blocked} are in the way");
    assert!(met > 20 && blocked > 10 && leaning > 5);
    let manifest = place.join("manifest.json");
    let all = json!({ "contact": CONTACT, "chord": CHORD, "questions": questions });
    std::fs::write(&manifest, all.to_string()).expect("target is writable");
    let (passed, text) = refereed("chassis_referee.py", &manifest);
    println!("{text}");
    assert!(passed, "{text}");
}
