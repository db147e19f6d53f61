//! Outlines of cavities with known answers.

use super::outline::{ClearOutline, MOST_CORNERS};
use super::{Chassis, ChassisPlace, Entry, FileAxis};
use crate::measure::{Vec2, Vec3};
use crate::mesh::{ChordTolerance, Soup, tessellate};
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
