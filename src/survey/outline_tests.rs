//! Outlines of cavities with known answers.

use super::outline::{ClearOutline, MOST_CORNERS};
use super::{Chassis, ChassisPlace, Entry, FileAxis};
use crate::measure::{Vec2, Vec3};
use crate::mesh::{ChordTolerance, Soup, piece, tessellate};
use crate::section::Region;
use crate::solid::Stack;

/// Reach of all handles here, mm.
const REACH: f64 = 16.0;

/// Of tessellated chassis, mm.
const CHORD: f64 = 0.001;

fn disc(x: f64, y: f64, r: f64) -> Region {
    Region::disc(Vec2::new(x, y), r)
}

fn rect(x: (f64, f64), y: (f64, f64)) -> Region {
    Region::rectangle(Vec2::new(x.0, y.0), Vec2::new(x.1, y.1))
}

/// A rod with a hollow from z = 10 to 40, and below it what is open to the end cap.
fn rod(hollow: &Region, below: &Region, entry: Entry) -> Chassis {
    let body = disc(0.0, 0.0, 20.0);
    let mut stack = Stack::default();
    stack.prism(0.0, 10.0, &body.difference(below));
    stack.prism(10.0, 40.0, &body.difference(hollow));
    stack.prism(40.0, 50.0, &body);
    let tolerance = ChordTolerance { chord: CHORD, ..ChordTolerance::default() };
    let mesh = tessellate(&stack.solid().expect("sound"), &tolerance).expect("meshes");
    let place = ChassisPlace { axis: FileAxis::Z, turn: 0.0, shift: Vec3::zeros() };
    Chassis::new("rod.stl", Soup::from(&mesh), &place, entry).expect("closed")
}

fn outline(chassis: &Chassis) -> ClearOutline {
    let bore = chassis.clear_bore(10.0, 40.0).expect("it is hollow");
    chassis.clear_outline(&bore, (10.0, 40.0), REACH).expect("few corners")
}

/// Nothing of the outline lies outside what is clear, and what it lacks is no wider
/// than it says.
#[track_caller]
fn follows(found: &ClearOutline, clear: &Region) {
    let clear = clear.intersection(&disc(0.0, 0.0, REACH));
    let beyond = found.region.difference(&clear);
    // Chords of the mesh run on both sides of a curved wall.
    assert!(
        beyond.offset(-2.0 * CHORD).is_empty(),
        "{} mm2 beyond, {:?}",
        beyond.area(),
        beyond.bounds()
    );
    let rolled = clear.offset(-found.inset - CHORD);
    let lacks = rolled.difference(&found.region);
    assert!(lacks.is_empty(), "it lacks {} mm2", lacks.area());
    assert!(
        found.inset < 0.05 && found.corners <= MOST_CORNERS,
        "{} {}",
        found.inset,
        found.corners
    );
}

#[test]
fn outlines_follow_cavities_open_to_y() {
    let up = |region: &Region| region.swept(Vec2::new(0.0, 40.0));
    let trough = up(&rect((-9.0, 8.0), (-7.0, 1.0)));
    let d = up(&disc(0.0, 0.0, 11.0).intersection(&rect((-20.0, 20.0), (-6.5, 20.0))));
    let slots = up(&disc(0.0, 0.0, 8.0).union(&rect((-12.0, 12.0), (-3.0, 3.0))));
    for clear in [trough, d, slots] {
        follows(&outline(&rod(&clear, &Region::empty(), Entry::Window)), &clear);
    }
}

#[test]
fn a_turned_trough_has_few_corners() {
    let (sin, cos) = 0.5f64.sin_cos();
    let turned = |x: f64, y: f64| Vec2::new(cos * x - sin * y, sin * x + cos * y);
    let corners = [(-10.0, -6.0), (10.0, -6.0), (10.0, 6.5), (-10.0, 6.5)];
    let clear = Region::polygon(&corners.map(|(x, y)| turned(x, y)));
    let found = outline(&rod(&clear, &clear, Entry::Cap));
    follows(&found, &clear);
    assert!(found.corners <= 8, "{}", found.corners);
}

#[test]
fn what_is_undercut_counts_by_the_cap_only() {
    // A bore with a pocket to either side, under a narrower mouth.
    let wide = disc(0.0, 0.0, 8.0).union(&rect((-13.0, 13.0), (-4.0, 3.0)));
    let mouth = rect((-8.0, 8.0), (0.0, 40.0));
    let hollow = wide.union(&mouth);
    let open = hollow.intersection(&rect((-8.0, 8.0), (-20.0, 40.0)));
    follows(&outline(&rod(&hollow, &Region::empty(), Entry::Window)), &open);
    follows(&outline(&rod(&hollow, &hollow, Entry::Cap)), &hollow);
    // From the cap, what is closed below does not count.
    let low = disc(0.0, 0.0, 9.0).union(&rect((0.0, 11.0), (-2.0, 2.0)));
    follows(&outline(&rod(&hollow, &low, Entry::Cap)), &hollow.intersection(&low));
}

#[test]
fn posts_are_gone_around_and_what_hangs_on_a_thread_is_left() {
    let post = disc(9.0, 2.0, 1.0);
    let clear = disc(0.0, 0.0, 12.0).difference(&post);
    let found = outline(&rod(&clear, &clear, Entry::Cap));
    follows(&found, &clear);
    assert_eq!(found.region.loops().len(), 2);
    // A second bore behind a slit that no disc of the inset passes.
    let slit = rect((0.0, 12.0), (-0.01, 0.01));
    let two = disc(0.0, 0.0, 6.0).union(&slit).union(&disc(12.0, 0.0, 3.0));
    let found = outline(&rod(&two, &two, Entry::Cap));
    follows(&found, &disc(0.0, 0.0, 6.0).union(&slit));
    assert!(!found.region.contains(Vec2::new(12.0, 1.0)));
}

/// A wall that is rough all around needs a wider grid of corners, and says so.
#[test]
fn rough_walls_are_followed_less_closely() {
    let rough = |teeth: u32| {
        let corner = |k: u32| {
            let turn = std::f64::consts::TAU * f64::from(k) / f64::from(2 * teeth);
            Vec2::new(turn.cos(), turn.sin()) * if k.is_multiple_of(2) { 11.0 } else { 10.9 }
        };
        Region::polygon(&(0..2 * teeth).map(corner).collect::<Vec<_>>())
    };
    let clear = rough(180);
    let found = outline(&rod(&clear, &clear, Entry::Cap));
    assert!(found.corners <= MOST_CORNERS && found.inset > 0.05, "{found:?}");
    let lacks = clear.offset(-found.inset).difference(&found.region);
    assert!(found.region.difference(&clear).is_empty() && lacks.is_empty());
}

#[test]
fn nothing_about_an_axis_in_material_has_an_outline() {
    let clear = disc(8.0, 0.0, 3.0);
    let chassis = rod(&clear, &clear, Entry::Cap);
    let bore = chassis.clear_bore(10.0, 40.0).expect("it is there");
    assert_eq!(chassis.clear_outline(&bore, (10.0, 40.0), REACH), None);
}

/// A trough from z = 10 to 40 mm whose walls and floor lean along z and across it: each
/// of its corners is elsewhere at the other end.
fn leaning(rng: &mut fastrand::Rng) -> Chassis {
    /// The corners of its section, counter-clockwise: outside, then the trough.
    const CORNERS: [[f64; 2]; 10] = [
        [-14.0, -14.0],
        [14.0, -14.0],
        [14.0, 15.0],
        [8.0, 15.0],
        [9.0, 0.0],
        [8.5, -8.0],
        [-8.5, -8.0],
        [-9.0, 0.0],
        [-8.0, 15.0],
        [-14.0, 15.0],
    ];
    /// The same as triangles.
    const ENDS: [[usize; 3]; 8] =
        [[0, 1, 5], [0, 5, 6], [1, 4, 5], [1, 2, 4], [2, 3, 4], [0, 6, 7], [0, 7, 9], [7, 8, 9]];
    let mut end = |z: f64| {
        CORNERS.map(|[x, y]| {
            let mut off = || 2.0 * (rng.f64() - 0.5);
            Vec3::new(x + off(), y + off(), z)
        })
    };
    let (low, high) = (end(10.0), end(40.0));
    let ends =
        ENDS.iter().flat_map(|&[a, b, c]| [[low[a], low[c], low[b]], [high[a], high[b], high[c]]]);
    let sides = (0..CORNERS.len()).flat_map(|i| {
        let k = (i + 1) % CORNERS.len();
        [[low[i], low[k], high[k]], [low[i], high[k], high[i]]]
    });
    let soup = Soup::welded(ends.chain(sides));
    let place = ChassisPlace { axis: FileAxis::Z, turn: 0.0, shift: Vec3::zeros() };
    Chassis::new("trough.stl", soup, &place, Entry::Window).expect("closed")
}

/// Least distance, mm, of a point at one height from pieces of a cut there, negative in
/// material.
fn distance(pieces: &[[Vec2; 2]], p: Vec2) -> f64 {
    let mut winding = 0;
    let mut least = f64::INFINITY;
    for [a, b] in pieces {
        let (d, q) = (b - a, p - a);
        let t = (q.dot(&d) / d.norm_squared().max(1e-18)).clamp(0.0, 1.0);
        least = least.min((q - d * t).norm());
        if (a.y <= p.y) != (b.y <= p.y) && a.x + d.x * (q.y / d.y) > p.x {
            winding += if b.y > a.y { 1 } else { -1 };
        }
    }
    if winding > 0 { -least } else { least }
}

/// What is made for a leaning cavity less a gap keeps that gap from every triangle, at
/// every height, where it sits and all the way down from +y.
#[test]
fn the_gap_is_kept_on_all_of_the_way_into_leaning_cavities() {
    let mut rng = fastrand::Rng::with_seed(83);
    let mut nearest = f64::INFINITY;
    for _ in 0..8 {
        let chassis = leaning(&mut rng);
        let bore = chassis.clear_bore(10.0, 40.0).expect("it is hollow");
        assert_eq!(bore.entry, Entry::Window);
        let found = chassis.clear_outline(&bore, (10.0, 40.0), REACH).expect("few corners");
        let gap = 0.05 + 0.3 * rng.f64();
        let part = found.region.offset(-gap);
        let all: Vec<[Vec3; 3]> = {
            let soup = chassis.soup();
            (0..soup.triangles().len()).map(|i| soup.corners(i)).collect()
        };
        let heights = (0..=24).map(|k| 10.001 + 29.998 * f64::from(k) / 24.0);
        let ways: Vec<f64> = (0..16).map(|k| f64::from(k * k) * 0.11).collect();
        for z in heights {
            let pieces: Vec<[Vec2; 2]> = all.iter().filter_map(|t| piece(t, z)).collect();
            for p in part.segs().iter().flat_map(|s| [s.a, s.at(0.37), s.at(0.71)]) {
                for way in &ways {
                    let off = distance(&pieces, p + Vec2::new(0.0, *way));
                    assert!(off > gap - 1e-3, "{off} at z = {z}, {p:?}, {way} mm up: {gap}");
                    nearest = nearest.min(off - gap);
                }
            }
        }
    }
    // It does come as near as that, and not much less.
    assert!(nearest < 0.03, "{nearest}");
}
