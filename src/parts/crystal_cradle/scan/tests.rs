//! Stones with known answers, scanned: the seat never undercuts and keeps its
//! clearance; the axis is found; bad scans are refused with what would do.

use std::path::{Path, PathBuf};

use fastrand::Rng;

use super::super::super::{PART_KINDS, PartContext};
use super::super::plan::Plan;
use super::super::tests::assert_rests;
use super::super::veil::Veil;
use super::shapes::{any_turn, roughened, shape};
use super::*;
use crate::export::stl;
use crate::job::{Job, beside, make};
use crate::measure::{Library, Mat3, Source};

/// A file that is gone when the test ends.
struct Scanned(PathBuf);

impl Drop for Scanned {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

fn scanned(name: &str, triangles: &[[Vec3; 3]]) -> Scanned {
    let soup = Soup::welded(triangles.iter().copied());
    let path = std::env::temp_dir().join(format!("borewright-{}-{name}.stl", std::process::id()));
    let bytes = stl(soup.vertices(), soup.triangles(), "a stone").expect("fits in STL");
    std::fs::write(&path, bytes).expect("the folder can be written to");
    Scanned(path)
}

fn text(scan: &Scanned, more: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"t\"\nbore = [36]\ncaliper = 0\nlength = 300\n[print]\n\
         printer = \"fdm-medium\"\nmaterial = \"pla\"\n[[part]]\nkind = \"crystal_cradle\"\n\
         name = \"c\"\npixel = \"bare-5050\"\nscan = {:?}\n{more}",
        scan.0.display().to_string()
    )
}

fn job(text: &str) -> Job {
    let source = Source::new("t.toml", text).expect("UTF-8");
    let files = beside(Path::new(""));
    Job::read_beside(&source, Library::shipped(), PART_KINDS, &files)
        .unwrap_or_else(|e| panic!("{e}\n{text}"))
}

fn refused(text: &str) -> String {
    let faults = make(&job(text)).expect_err("cannot be made").0;
    let hints: Vec<String> = faults.iter().flat_map(|f| f.hints.clone()).collect();
    format!("{faults} {}", hints.join(" "))
}

fn with_plan<T>(job: &Job, check: impl FnOnce(&Plan<'_>) -> T) -> T {
    let part = &job.parts()[0];
    let context: PartContext<'_> = job.context(part);
    let plan = Plan::new(&context, part.values(), Veil::default(), 0);
    check(&plan.unwrap_or_else(|e| panic!("{e}\n{}", job.source().text())))
}

/// The stone where the plan has it.
fn posed(plan: &Plan<'_>, triangles: &[[Vec3; 3]]) -> Soup {
    let facts = &plan.stone.scan.as_ref().expect("scanned").facts;
    let z = facts.axis;
    let up = if z.y.abs() < 0.9 { Vec3::y() } else { Vec3::z() };
    let y = (up - z * up.dot(&z)).normalize();
    let turn = Mat3::from_rows(&[y.cross(&z).transpose(), y.transpose(), z.transpose()]);
    let laid = Soup::welded(triangles.iter().copied()).mapped(|p| turn * (p - facts.middle));
    let laid = pose::turned(&laid, facts.turn);
    let low = laid.bounds().0.z;
    let at = Vec3::new(plan.stone.moved.x, plan.stone.moved.y, plan.stone_low - low);
    laid.mapped(|p| p + at)
}

/// How far beside the known axis z the one found lies, degrees.
fn off_axis(found: Vec3, turn: &Mat3) -> f64 {
    let known: Vec3 = turn.column(2).into_owned();
    found.cross(&known).norm().atan2(found.dot(&known).abs()).to_degrees()
}

/// Points all over the stone, moved away from it by the clearance in all
/// directions and then up, lie in no material.
fn assert_clear(plan: &Plan<'_>, stone: &Soup, rng: &mut Rng, name: &str) {
    for _ in 0..60 {
        let [a, b, c] = stone.corners(rng.usize(..stone.triangles().len()));
        let (u, v) = (rng.f64(), rng.f64());
        let (u, v) = if u + v > 1.0 { (1.0 - u, 1.0 - v) } else { (u, v) };
        let p = a + (b - a) * u + (c - a) * v;
        let z = 2.0 * rng.f64() - 1.0;
        let flat = direction(360.0 * rng.f64()) * (1.0 - z * z).sqrt();
        let q = p + Vec3::new(flat.x, flat.y, z) * (plan.keep.clearance - 1e-3);
        let section = plan.section(q.z);
        for up in [0.0, 0.4, 3.0, 20.0] {
            let at = q.xy() + Vec2::new(0.0, up);
            assert!(!section.contains(at), "{name}: {q:?}, {up} up, lies in the cradle");
        }
    }
}

#[test]
fn a_scanned_stone_of_any_kind_drops_into_its_seat_with_its_clearance() {
    let mut rng = Rng::with_seed(4);
    for case in 0..8 {
        let made = shape(&mut rng);
        let turn = any_turn(&mut rng);
        let noise = [0.0, 0.02][rng.usize(..2)];
        let shift = Vec3::new(rng.f64(), rng.f64(), rng.f64()) * 50.0;
        let mut triangles = roughened(&made.triangles, noise);
        triangles.iter_mut().flatten().for_each(|p| *p = turn * *p + shift);
        let scan = scanned(&format!("any-{case}"), &triangles);
        let flip = rng.bool();
        let clearance = 0.1 + 0.3 * rng.f64();
        println!("{case} {} noise {noise}", made.name);
        let job = job(&text(&scan, &format!("clearance = {clearance:.3}\nscan_flip = {flip}\n")));
        with_plan(&job, |plan| {
            let facts = &plan.stone.scan.as_ref().expect("scanned").facts;
            let off = off_axis(facts.axis, &turn);
            println!(
                "{case} {}: axis off by {off:.3} deg, excess {:.3} mm, {} sections",
                made.name,
                facts.excess,
                plan.stone.sections.len()
            );
            // A step in the side of a cluster is bridged from section to section.
            let most = if made.symmetric { 0.3 } else { 1.5 };
            assert!(facts.excess < most, "{}: {}", made.name, facts.excess);
            assert!(!made.symmetric || off < 0.5, "{}: off by {off}", made.name);
            let stone = posed(plan, &triangles);
            assert_clear(plan, &stone, &mut rng, made.name);
            assert_rests(plan, made.name);
            let (low, high) = stone.bounds();
            assert!(plan.seat.ends().0 <= low.z && plan.seat.ends().1 >= high.z);
        });
    }
}

/// A prism broken off aslant is heavier on one side, so that its inertia leans;
/// its facets do not.
#[test]
fn the_axis_of_a_prism_broken_aslant_is_that_of_its_facets() {
    let ring = |share: f64| -> Vec<Vec3> {
        (0..6)
            .map(|k| direction(60.0 * f64::from(k)) * 6.0)
            .map(|p| Vec3::new(p.x, p.y, share * (26.0 + 0.9 * p.x)))
            .collect()
    };
    let triangles = shapes::rings(&[ring(0.0), ring(1.0)]);
    let stone = Soup::welded(triangles);
    let axis = pose::Pose::of(&stone, false).axis();
    let off = axis.xy().norm().asin().to_degrees();
    assert!(off < 0.1, "{off}");
}

/// A box 8 by 12 by 30 mm is told as it is, lies on its broad side, and shows
/// the other.
#[test]
fn a_box_is_measured_as_drawn_and_lies_on_its_broad_side() {
    let corner = |x: f64, y: f64, z: f64| Vec3::new(4.0 * x, 6.0 * y, 15.0 * z);
    let ring = |z: f64| {
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(x, y)| corner(x, y, z)).to_vec()
    };
    let triangles = shapes::rings(&[ring(-1.0), ring(1.0)]);
    let scan = scanned("box", &triangles);
    with_plan(&job(&text(&scan, "scan_x = 1\n")), |plan| {
        let facts = &plan.stone.scan.as_ref().expect("scanned").facts;
        assert!((facts.volume - 8.0 * 12.0 * 30.0).abs() < 1.0, "{facts:?}");
        assert!((facts.axis - Vec3::z()).norm() < 1e-3, "{facts:?}");
        assert!((facts.deepest.1 - 4.0).abs() < 1e-3, "{facts:?}");
        assert!((facts.widest.1 - 12.0).abs() < 0.1, "{facts:?}");
        assert!((least_width(&plan.stone.skin()) - 8.0).abs() < 0.1, "{facts:?}");
        for [_, across, upright] in &facts.stations {
            assert!((across - 12.0).abs() < 2e-3 && (upright - 8.0).abs() < 2e-3, "{facts:?}");
        }
        assert!((plan.stone.length() - 30.0).abs() < 2e-3);
        assert!((plan.stone.end_middle(false) - Vec2::x()).norm() < 2e-3);
    });
    make(&job(&text(&scan, ""))).expect("made");
}

#[test]
fn a_scan_that_is_no_stone_is_refused_with_what_would_do() {
    let mut rng = Rng::with_seed(8);
    let stone = shape(&mut rng).triangles;
    let open = scanned("open", &stone[1..]);
    assert!(refused(&text(&open, "")).contains("open or folded at 3 edges"));
    let whole = scanned("whole", &stone);
    let small = refused(&text(&whole, "scan_unit = \"um\"\n"));
    assert!(small.contains("of 2 to 200 mm is held"), "{small}");
    let small = refused(&text(&whole, "scan_unit = \"m\"\n"));
    assert!(small.contains("scan_unit = \"mm\""), "{small}");
    let twice = refused(&text(&whole, "[[part.station]]\nat = 0\nwidth = 9\nheight = 9\n"));
    assert!(twice.contains("described twice"), "{twice}");
    // Sections as a new job has them are no second description.
    make(&job(&text(&whole, "[[part.station]]\nat = \"?\"\nwidth = \"?\"\n"))).expect("made");
    let neither = text(&whole, "").replace("scan = ", "# ");
    assert!(refused(&neither).contains("not described"));
    let plate: Vec<[Vec3; 3]> =
        stone.iter().map(|t| t.map(|p| Vec3::new(0.02 * p.x + p.z, p.y, p.z))).collect();
    let sheet = refused(&text(&scanned("sheet", &plate), ""));
    assert!(sheet.contains("that is a sheet"), "{sheet}");
}

/// Loose specks and a mesh that is inside out are put right, and said.
#[test]
fn specks_are_left_out_and_what_is_inside_out_is_turned_over() {
    let mut rng = Rng::with_seed(9);
    let mut triangles = shape(&mut rng).triangles;
    let count = triangles.len();
    let speck: Vec<[Vec3; 3]> =
        triangles.iter().map(|t| t.map(|p| p * 0.01 + Vec3::repeat(30.0))).collect();
    triangles.extend(speck);
    triangles.iter_mut().for_each(|t| t.swap(0, 1));
    let scan = scanned("specks", &triangles);
    with_plan(&job(&text(&scan, "")), |plan| {
        let facts = &plan.stone.scan.as_ref().expect("scanned").facts;
        assert!(facts.turned_over && facts.left_out > 0);
        assert!(facts.triangles <= count && facts.volume > 0.0);
        assert!(facts.messages().len() >= 3);
    });
}
