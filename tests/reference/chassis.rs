//! What of a foreign chassis lies in a part and in its way, by a mesh library's
//! booleans: random blocks, tubes, tapers and tilted meshes.

use borewright::checks::{CONTACT, Meeting, Question, meeting};
use borewright::export::stl;
use borewright::job::{Job, make};
use borewright::measure::{Library, Source, Vec2, Vec3};
use borewright::mesh::{ChordTolerance, Soup, tessellate};
use borewright::parts::PART_KINDS;
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

/// A tube about a random axis near the bore's, with posts and bars inside, open to
/// +y or at its foot.
fn housing(rng: &mut Rng) -> Option<(Solid, bool)> {
    let shift = Vec2::new(rng.f64() - 0.5, rng.f64() - 0.5);
    let inner = 12.0 + 4.0 * rng.f64();
    let disc = |r: f64| Region::disc(shift, r);
    let open = rng.bool();
    let mut ring = disc(19.0).difference(&disc(inner));
    for _ in 0..rng.usize(0..4) {
        let turn = std::f64::consts::TAU * rng.f64();
        let at = Vec2::new(turn.cos(), turn.sin()) * (inner + 1.5 * rng.f64());
        let post = if rng.bool() {
            Region::disc(at, 0.5 + 1.5 * rng.f64())
        } else {
            Region::rectangle(at - Vec2::repeat(1.0), at + Vec2::repeat(1.0))
        };
        ring = ring.union(&post);
    }
    let window = Region::rectangle(Vec2::new(-inner, 0.0), Vec2::new(inner, 40.0));
    let mut stack = Stack::default();
    stack.prism(0.0, 8.0, &if open { disc(19.0) } else { ring.clone() });
    stack.prism(8.0, 110.0, &if open { ring.difference(&window) } else { ring });
    stack.prism(110.0, 120.0, &disc(19.0));
    Some((stack.solid().ok()?, open))
}

/// A job with a part of one of three kinds for the cavity from z = 20 to 109, but
/// for the word of its outline.
fn cavity_job(rng: &mut Rng) -> String {
    let part = match rng.u8(0..3) {
        0 => {
            let width = 6.0 + (60.0 * rng.f64()).round() / 10.0;
            let station = |at: i32| {
                format!("{{ at = {at}, section = \"hexagon\", width = {width}, height = {width} }}")
            };
            format!(
                "kind = \"crystal_cradle\"\npixel = \"round-10\"\nstation = [{}, {}]",
                station(0),
                station(18)
            )
        }
        1 => {
            let wide = 17.9 + (8.0 * rng.f64()).round() / 20.0;
            format!(
                "kind = \"cell_tray\"\npositive = \"front\"\ncell = {{ profile = \"18650-button\", \
                 diameter_min = {wide}, diameter_max = {}, length_min = 66.3, length_max = 66.8 }}",
                wide + 0.15
            )
        }
        _ => {
            let tip = 8.0 + (30.0 * rng.f64()).round() / 10.0;
            format!(
                "kind = \"switch_plate\"\nplunger = [{{ z = 60, tip = {tip}, travel = 2.2, switch = \
                 \"6x6-h5.0\" }}]"
            )
        }
    };
    let from = if part.contains("switch_plate") { "" } else { "from_z = 25" };
    let fit = ["press", "slide", "loose"][rng.usize(0..3)];
    format!(
        "format = 1\n[handle]\nname = \"a housing\"\nbore = [38.2]\nlength = 150\n[print]\nprinter = \
         \"fdm-thin\"\nmaterial = \"petg\"\n[chassis]\nmesh = \"c.stl\"\n[[part]]\nname = \
         \"p\"\n{part}\n{from}\nfit = \"{fit}\"\ncavity = {{ from_z = 20, to_z = 109, outline = \"OUTLINE\" }}\n"
    )
}

#[test]
fn parts_for_a_cavity_keep_their_clearance_by_another_librarys_distances() {
    /// Parts that are made.
    const PARTS: usize = 24;
    let place = folder("cavities");
    let mut questions: Vec<Value> = Vec::new();
    let (mut kinds, mut ways, mut filled) = ([0; 3], [0; 2], 0);
    for seed in 0..4 * PARTS as u64 {
        let mut rng = Rng::with_seed(47_000 + seed);
        let Some((solid, open)) = housing(&mut rng) else { continue };
        let soup = single(&meshed(&solid, 0.05));
        let file = write(&place, &format!("housing{seed}"), &soup);
        let bytes = std::fs::read(place.join(&file)).expect("just written");
        let text = cavity_job(&mut rng);
        let read = |outline: &str| {
            let text = text.replace("OUTLINE", outline);
            let source = Source::new("job.toml", text.clone().into_bytes()).expect("it is text");
            let bytes = |_: &str| Ok(bytes.clone());
            let job = Job::read_beside(&source, Library::shipped(), PART_KINDS, &bytes);
            job.unwrap_or_else(|faults| panic!("seed {seed}: {faults}\n{text}"))
        };
        let job = read("cavity");
        let Ok(rounds) = make(&read("round")) else { continue };
        let made = make(&job).unwrap_or_else(|error| panic!("seed {seed}: {error}\n{text}"));
        let cavity = job.parts()[0].cavity().expect("asked for").clear;
        let kind = ["crystal_cradle", "cell_tray", "switch_plate"];
        kinds[kind.iter().position(|k| *k == made[0].kind.name).expect("one of them")] += 1;
        ways[usize::from(open)] += 1;
        assert_eq!(cavity.entry, if open { Entry::Window } else { Entry::Cap }, "seed {seed}");
        for (body, round) in made[0].bodies.iter().zip(&rounds[0].bodies) {
            let computed = |key: &str| body.body.computed.iter().find(|c| c.key == key);
            // Covers and caps have no outside in the bore of their own.
            let Some(outside) = computed("outside") else { continue };
            let clearance = computed("fit_clearance").expect("with the outside").value;
            assert!(cavity.diameter - outside.value >= clearance - 2e-3, "seed {seed}");
            let levels = Levels::new(&body.body.solid).expect("ours");
            let mesh = Soup::from(&body.mesh);
            let chassis = job.chassis().expect("named");
            let way = if open { Question::FromAbove } else { Question::FromCap };
            for question in [Question::Seated, way] {
                assert_eq!(
                    meeting(&levels, &mesh, chassis, question).expect("defined"),
                    None,
                    "seed {seed} {question:?}\n{text}"
                );
            }
            let mut asked = json!({
                "name": format!("seed {seed}: {}", made[0].kind.name),
                "part": write(&place, &format!("part{seed}-{}", body.body.name), &mesh),
                "chassis": file,
                "clearance": 0.5 * clearance,
                "way": if open { [0.0, 1.0, 0.0] } else { [0.0, 0.0, -1.0] },
            });
            if let Some(lacks) = computed("cavity_lacks") {
                let name = format!("round{seed}-{}", body.body.name);
                asked["round"] = json!(write(&place, &name, &Soup::from(&round.mesh)));
                asked["outside"] = json!(0.5 * outside.value);
                asked["reach"] = json!(0.5 * job.handle().bore().sure());
                asked["lacks"] = json!(lacks.value);
                filled += 1;
            }
            questions.push(asked);
        }
        if kinds.iter().sum::<usize>() == PARTS {
            break;
        }
    }
    println!("{kinds:?} of each kind, ways {ways:?}; {filled} follow their cavity");
    assert!(filled > PARTS / 3, "{filled}");
    assert!(kinds.iter().chain(&ways).all(|n| *n > 2), "{kinds:?} {ways:?}");
    let manifest = place.join("manifest.json");
    let all = json!({ "chord": 0.01, "questions": questions });
    std::fs::write(&manifest, all.to_string()).expect("target is writable");
    let (passed, text) = refereed("cavity_referee.py", &manifest);
    println!("{text}");
    assert!(passed, "{text}");
}
