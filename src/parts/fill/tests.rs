//! Parts for cavities that are wider than round.

use super::spans::outer;
use super::*;
use crate::export::stl;
use crate::job::{Job, after_print_file, make, sizes as drawn_sizes};
use crate::measure::{Library, Source, Vec3};
use crate::mesh::{ChordTolerance, Soup, tessellate};
use crate::parts::PART_KINDS;
use crate::parts::trying::{CHORDS, sound, value};
use crate::solid::{Levels, Stack};

const CRADLE: &str = "kind = \"crystal_cradle\"\nfrom_z = 30\npixel = \"round-10\"\nstation = [{ at = 0, \
    section = \"hexagon\", width = 9, height = 9 }, { at = 20, section = \"hexagon\", width = 8, height \
    = 8 }]";
const TRAY: &str = "kind = \"cell_tray\"\nfrom_z = 20\npositive = \"front\"\ncell = { profile = \
    \"18650-button\", diameter_min = 18.2, diameter_max = 18.35, length_min = 66.3, length_max = 66.8 }";
const PLATE: &str =
    "kind = \"switch_plate\"\nplunger = [{ z = 60, tip = 8, travel = 2.2, switch = \"6x6-h5.0\" }]";
const SEAT: &str = "kind = \"locking_seat\"\nscrew_z = 60\nscrew = \"m4-cup\"\nclocking = 0";
const KILL: &str =
    "kind = \"kill_pocket\"\nswitch = \"slide-eared\"\nface = \"side\"\ncurrent = 1.5\nfrom_z = 40";

fn disc(r: f64) -> Region {
    Region::disc(Vec2::zeros(), r)
}

fn rect(x: (f64, f64), y: (f64, f64)) -> Region {
    Region::rectangle(Vec2::new(x.0, y.0), Vec2::new(x.1, y.1))
}

/// The text of a job with one part for a hollow from z = 10 to 110 mm.
fn text(part: &str, outline: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"a staff\"\nbore = [37]\nlength = 150\n[print]\nprinter = \
         \"fdm-thin\"\nmaterial = \"petg\"\n[chassis]\nmesh = \"rod.stl\"\n[[part]]\nname = \"p\"\n{part}\n\
         cavity = {{ from_z = 10, to_z = 110, outline = \"{outline}\" }}\n"
    )
}

/// A rod with a hollow along it, open to +y, as a file.
fn rod(hollow: &Region) -> Vec<u8> {
    drilled(&hollow.swept(Vec2::new(0.0, 40.0)), &Region::empty())
}

/// A rod with a hollow along it, and another at its foot.
fn drilled(hollow: &Region, foot: &Region) -> Vec<u8> {
    let mut stack = Stack::default();
    stack.prism(0.0, 10.0, &disc(18.0).difference(foot));
    stack.prism(10.0, 110.0, &disc(18.0).difference(hollow));
    stack.prism(110.0, 120.0, &disc(18.0));
    let tolerance = ChordTolerance { chord: 0.002, ..ChordTolerance::default() };
    let soup = Soup::from(&tessellate(&stack.solid().expect("sound"), &tolerance).expect("meshes"));
    stl(soup.vertices(), soup.triangles(), "a rod").expect("it holds them")
}

/// The bodies of a job, and its part's cavity.
fn made(rod: &[u8], text: &str) -> (Vec<Body>, Cavity) {
    let source = Source::new("job.toml", text.to_owned()).expect("UTF-8");
    let job = Job::read_beside(&source, Library::shipped(), PART_KINDS, &|_| Ok(rod.to_vec()));
    let job = job.unwrap_or_else(|faults| panic!("{faults}\n{text}"));
    let mut made = make(&job).unwrap_or_else(|error| panic!("{error}\n{text}"));
    let bodies = made.remove(0).bodies.into_iter().map(|b| b.body).collect();
    (bodies, job.parts()[0].cavity().expect("asked for").clone())
}

/// Hollows with their names, open to +y.
fn hollows() -> [(&'static str, Region); 3] {
    [
        ("trough", rect((-12.5, 12.5), (-11.5, 0.0))),
        ("d", disc(14.0).intersection(&rect((-20.0, 20.0), (-11.5, 20.0)))),
        ("slots", disc(12.0).union(&rect((-15.0, 15.0), (-3.0, 3.0)))),
    ]
}

/// Heights in the middle of each stretch of a body.
fn middles(levels: &Levels<'_>) -> Vec<f64> {
    let heights = levels.heights();
    heights.windows(2).filter(|p| p[1] - p[0] > 0.05).map(|p| 0.5 * (p[0] + p[1])).collect()
}

#[test]
fn every_kind_follows_its_cavity_and_takes_nothing_away() {
    let mut all = [0; 2];
    for (name, hollow) in hollows() {
        let rod = rod(&hollow);
        for part in [CRADLE, TRAY, PLATE, SEAT, KILL] {
            let told = format!("{name}: {part}");
            let (bodies, cavity) = made(&rod, &text(part, "cavity"));
            let (rounds, _) = made(&rod, &text(part, "round"));
            let outline = &cavity.outline.as_ref().expect("wider than round").region;
            let (body, round) = (&bodies[0], &rounds[0]);
            sound(body, CHORDS, &told);
            let was = outside_of(round).expect("it is round");
            let gap = 0.5 * cavity.clear.diameter - was;
            let room = outline.offset(-gap);
            assert!(value(body, "filled_volume") > 10.0, "{told}");
            let (levels, bare) = (
                Levels::new(&body.solid).expect("upright"),
                Levels::new(&round.solid).expect("upright"),
            );
            // Where two walls stand side by side, and not outside of the rod.
            let wide = trimmed(&room, 1.6).unwrap_or_else(|| room.clone());
            let drilled = !round.solid.drawn().expect("drawn").bores.is_empty();
            let mut followed = [0_usize; 2];
            for z in middles(&levels) {
                let (section, before) = (levels.section(z), bare.section(z));
                let lost = before.difference(&section);
                // Steps stand for a chamfer.
                let full = before.segs().iter().any(|s| is_outer(s, was));
                let layer = if full { 0.0 } else { 0.3 };
                let most = layer * before.perimeter() + 1e-6;
                assert!(lost.area() < most, "{told} at {z}: {} mm2 lost", lost.area());
                let beyond = section.difference(&room);
                assert!(beyond.area() < 1e-6, "{told} at {z}: {} mm2 beyond", beyond.area());
                // What was added stands on the round outside, sector by sector.
                let outer = before.segs().iter().filter_map(outer).fold(0.0, f64::max);
                let arcs = Spans::on_circle(before.segs().iter(), outer);
                let far = arcs.sectors(60.0);
                let strays = section.difference(&before).difference(&far);
                assert!(
                    !full || drilled || strays.area() < 1e-3,
                    "{told} at {z}: {} mm2 stray",
                    strays.area()
                );
                for s in wide.segs() {
                    for p in (1..16).map(|k| s.at(f64::from(k) / 16.0)) {
                        let inner = p * ((was - 1e-3) / p.norm());
                        if before.contains(inner) && p.norm() > was + 2.0 * LEAST_STEP {
                            let near = section.boundary_distance(p) < LEAST_STEP;
                            followed[usize::from(near)] += 1;
                        }
                    }
                }
            }
            // Beds, ways in, grooves for wires and the ends of walls cost some.
            assert!(followed[1] > followed[0], "{told}: {followed:?}");
            all[0] += followed[0];
            all[1] += followed[1];
        }
    }
    assert!(all[1] > 5 * all[0], "{all:?}");
}

#[test]
fn what_bends_with_its_outside_and_what_is_round_stays_round() {
    let name = "a wider trough";
    let rod_of = rod(&rect((-13.0, 13.0), (-12.0, 0.0)));
    let covered = format!("{TRAY}\ncover = \"closed\"");
    let (bodies, _) = made(&rod_of, &text(&covered, "cavity"));
    let (rounds, cavity) = made(&rod_of, &text(&covered, "round"));
    assert!(cavity.outline.is_none());
    let volume = |body: &Body| body.solid.properties().volume;
    assert!(volume(&bodies[0]) > volume(&rounds[0]) + 10.0, "{name}");
    assert_eq!(volume(&bodies[1]), volume(&rounds[1]));
    let stays = |body: &Body| body.messages.iter().any(|m| m.text.contains("it stays round"));
    assert!(stays(&bodies[1]) && !stays(&bodies[0]) && !stays(&rounds[1]));
    // A round cavity has nothing to follow.
    let (bodies, _) = made(&drilled(&disc(12.0), &disc(12.0)), &text(KILL, "cavity"));
    assert!(bodies[0].computed.iter().any(|row| row.key == "outside" && row.reading.is_some()));
}

#[test]
fn holes_from_outside_come_through() {
    let (_, hollow) = &hollows()[0];
    let rod = rod(hollow);
    for part in [SEAT, PLATE] {
        let (bodies, _) = made(&rod, &text(part, "cavity"));
        let drawn = bodies[0].solid.drawn().expect("drawn");
        let levels = Levels::new(&bodies[0].solid).expect("upright");
        assert!(!drawn.bores.is_empty() || part == PLATE, "the seat is drilled");
        for bore in drawn.bores.iter().filter(|bore| bore.start.is_infinite()) {
            let way = bore.direction / bore.direction.norm();
            let beside = Vec2::new(-way.y, way.x) * bore.offset;
            for off in 120..400 {
                let p = beside - way * f64::from(off) * 0.1;
                assert!(!levels.section(bore.z).contains(p), "{part} at {p:?}");
            }
        }
    }
}

/// A witness line would be a slit as deep as what is added; those in the faces stay.
#[test]
fn a_witness_line_is_no_slit() {
    let rod = rod(&hollows()[0].1);
    let keys = |outline: &str| -> Vec<String> {
        let (bodies, _) = made(&rod, &text(SEAT, outline));
        bodies[0].computed.iter().map(|row| row.key.to_string()).collect()
    };
    let has = |keys: &[String], key: &str| keys.iter().any(|k| k == key);
    let (filled, round) = (keys("cavity"), keys("round"));
    assert!(has(&round, "line1_from") && has(&round, "mark_from"));
    assert!(!has(&filled, "line1_from") && has(&filled, "mark_from"));
}

#[test]
fn a_part_that_lies_is_not_filled_below_its_bed() {
    let (_, hollow) = &hollows()[1];
    let rod = rod(hollow);
    let lying = format!("{PLATE}\nprint_on = \"back\"");
    let (bodies, _) = made(&rod, &text(&lying, "cavity"));
    let (rounds, _) = made(&rod, &text(&lying, "round"));
    let up = bodies[0].declared.up.expect("it lies");
    let low = |body: &Body| {
        let vertices = body.solid.vertices().iter().map(|v| v.dot(&up));
        vertices.fold(f64::INFINITY, f64::min)
    };
    assert!(low(&bodies[0]) >= low(&rounds[0]) - 1e-9);
}

/// What the report says of a filled body is what its drawing measures on the solid, and
/// what the sheet for a test print asks for; it is the cavity less its fit, wherever the
/// walls are straight.
#[test]
fn a_caliper_reads_how_large_a_filled_body_is() {
    for (name, hollow) in hollows() {
        let rod = rod(&hollow);
        for part in [CRADLE, TRAY, PLATE, KILL] {
            let told = format!("{name}: {part}");
            let text = text(part, "cavity");
            let source = Source::new("job.toml", text.clone()).expect("UTF-8");
            let bytes = |_: &str| Ok(rod.clone());
            let job = Job::read_beside(&source, Library::shipped(), PART_KINDS, &bytes);
            let job = job.unwrap_or_else(|faults| panic!("{faults}\n{text}"));
            let made = make(&job).unwrap_or_else(|error| panic!("{error}\n{text}"));
            let body = &made[0].bodies[0];
            let sizes = drawn_sizes(body, &body.mesh, Vec3::y());
            let asked = after_print_file(&job, &made);
            for (key, along) in [("filled_width", Vec3::x()), ("filled_depth", Vec3::y())] {
                let said = value(&body.body, key);
                let size = sizes.iter().find(|size| size.key == key);
                let size = size.unwrap_or_else(|| panic!("{told}: {key} = {said} is not drawn"));
                assert!((size.value - said).abs() < 2e-3 && !size.open, "{told}: {size:?}");
                assert!((size.along - along).norm() < 1e-9, "{told}: {size:?}");
                let (low, high) = body.bounds;
                assert!(said <= (high - low).dot(&along) + 1e-9, "{told}: {key}");
                assert!(asked.contains(&format!("key = \"{key}\"")), "{told}: {key}\n{asked}");
            }
            // The trough's walls are 25 mm apart.
            if name == "trough" && part != PLATE {
                let (was, clear) = (value(&body.body, "outside"), value(&body.body, "bore_sure"));
                let wanted = 25.0 - (clear - was);
                let said = value(&body.body, "filled_width");
                assert!((said - wanted).abs() < 0.12 && said < wanted + 1e-6, "{told}: {said}");
            }
        }
    }
}

/// A post in the cavity is a second piece of what is around the outline: the bore for the
/// checks is drawn without it, and does not stay round.
#[test]
fn the_bore_of_a_cavity_with_a_post_is_as_wide_as_its_outline() {
    let flat = rect((-16.0, 16.0), (-11.5, 11.5)).intersection(&disc(16.5));
    let post = Region::disc(Vec2::new(14.0, 0.0), 0.8);
    let hollow = flat.difference(&post);
    let (bodies, cavity) = made(&drilled(&hollow, &hollow), &text(CRADLE, "cavity"));
    let outline = &cavity.outline.as_ref().expect("wider than round").region;
    assert_eq!(outline.loops().len(), 2, "it goes around the post");
    assert!(value(&bodies[0], "filled_volume") > 10.0);
    let bore = bodies[0].declared.components.iter().find(|c| c.name == BORE).expect("it has one");
    let own = Levels::new(&bodies[0].solid).expect("upright");
    let around = Levels::new(&bore.solid).expect("upright");
    for z in middles(&own) {
        let common = around.section(z).intersection(&own.section(z));
        assert!(common.area() < 1e-6, "{} mm2 at {z}", common.area());
    }
    // Beside the post it is as near as before.
    let wall = around.section(40.0);
    assert!(wall.contains(Vec2::new(0.0, -11.6)) && !wall.contains(Vec2::new(15.4, 2.0)));
    assert!(bodies[0].declared.undrawn.iter().all(|u| u.name != BORE));
}
