//! What stands while it is printed: columns, pins, and which way is up.

use borewright::checks::{Analysis, CheckContext, Known, best_up};
use borewright::measure::{Library, Vec3};
use borewright::mesh::{ChordTolerance, Soup, tessellate};
use borewright::parts::Declared;
use borewright::section::Region;
use borewright::solid::Solid;

use crate::shapes::*;

fn plate() -> Region {
    rect(-10.0, -10.0, 10.0, 10.0)
}

/// Width and height over width of each column.
fn columns(soup: &Soup, printer: &str) -> Vec<(f64, f64)> {
    let found = only(findings_on(soup, printer), "column");
    let width = |text: &str| text.split(' ').find_map(|w| w.parse().ok()).expect("a width");
    found.iter().map(|f| (width(&f.text), f.measured.expect("a ratio"))).collect()
}

#[track_caller]
fn assert_columns(soup: &Soup, wanted: &[(f64, f64)]) {
    let got = columns(soup, "fdm-thin");
    assert_eq!(got.len(), wanted.len(), "{got:?}");
    for ((width, ratio), (w, height)) in got.iter().zip(wanted) {
        assert!((width - w).abs() <= 0.15, "{width} is not {w}");
        assert!((width * ratio - height).abs() <= 0.3, "{} is not {height}", width * ratio);
    }
}

#[test]
fn columns_are_narrow_both_ways_and_stand_alone() {
    let on_plate =
        |section: Region, height: f64| slabs(&[(0.0, 3.0, plate()), (3.0, 3.0 + height, section)]);
    let disc = |x: f64, r: f64| Region::disc(v2(x, 0.0), r);
    assert_columns(&on_plate(disc(0.0, 2.0), 60.0), &[(4.0, 60.0)]);
    assert!(columns(&on_plate(disc(0.0, 2.0), 60.0), "sls-service").is_empty(), "powder holds it");
    // Eight times its width may stand, a little more not.
    assert_columns(&on_plate(disc(0.0, 2.0), 31.0), &[]);
    assert_columns(&on_plate(disc(0.0, 2.0), 34.0), &[(4.0, 34.0)]);
    // Straight from the bed, and as a bar.
    assert_columns(&slabs(&[(0.0, 50.0, rect(0.0, 0.0, 3.0, 9.0))]), &[(3.0, 50.0)]);
    // Two masts are two columns; what ties them ends both.
    let two = disc(-6.0, 1.5).union(&disc(6.0, 1.5));
    assert_columns(&on_plate(two.clone(), 40.0), &[(3.0, 40.0), (3.0, 40.0)]);
    let tied = slabs(&[
        (0.0, 3.0, plate()),
        (3.0, 20.0, two.clone()),
        (20.0, 24.0, rect(-8.0, -1.5, 8.0, 1.5)),
        (24.0, 41.0, two),
    ]);
    assert_columns(&tied, &[]);
    // Thick ones do not sway: a rod of 12 mm is ten times as tall.
    assert_columns(&slabs(&[(0.0, 120.0, disc(0.0, 6.0))]), &[]);
}

/// Its width is the mean over its height, its place between its foot and its top.
#[test]
fn a_column_that_becomes_wider_goes_on() {
    let disc = |x: f64, r: f64| Region::disc(v2(x, 0.0), r);
    let grows =
        slabs(&[(0.0, 3.0, plate()), (3.0, 23.0, disc(0.0, 1.0)), (23.0, 63.0, disc(0.6, 1.8))]);
    assert_columns(&grows, &[((2.0 * 20.0 + 3.6 * 40.0) / 60.0, 60.0)]);
    let found = only(findings_on(&grows, "fdm-thin"), "column");
    let at = Vec3::from(found[0].place.point.expect("a place"));
    assert!((at - Vec3::new(0.3, 0.0, 33.0)).amax() < 0.2, "{at:?}");
}

#[test]
fn walls_rails_and_shells_are_no_columns() {
    let wall = slabs(&[(0.0, 3.0, plate()), (3.0, 43.0, rect(-10.0, -0.5, 10.0, 0.5))]);
    assert_columns(&wall, &[]);
    // A rail 1 mm wide along a wall, 40 mm tall.
    let railed = rect(-10.0, 0.0, 10.0, 2.0).union(&rect(-0.5, -1.0, 0.5, 0.5));
    assert_columns(&slabs(&[(0.0, 3.0, plate()), (3.0, 43.0, railed)]), &[]);
    // A cover on end: a shell of 0.99 mm, half round, 72 mm tall.
    let shell = Region::disc(v2(0.0, 0.0), 11.7).difference(&Region::disc(v2(0.0, 0.0), 10.71));
    let shell = shell.difference(&rect(-20.0, -20.0, 20.0, -4.0));
    assert_columns(&slabs(&[(0.0, 71.9, shell)]), &[]);
}

#[test]
fn pins_break_easily() {
    let stub = slabs(&[(0.0, 3.0, plate()), (3.0, 11.0, Region::disc(v2(0.0, 0.0), 1.25))]);
    let found = only(findings_on(&stub, "fdm-thin"), "pin");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!((found[0].measured.expect("a width") - 2.5).abs() < 0.03, "{found:?}");
    assert!(only(findings_on(&stub, "resin-fine"), "pin").is_empty());
    let square = slabs(&[(0.0, 3.0, plate()), (3.0, 15.0, rect(-1.0, -1.2, 1.0, 1.2))]);
    assert_eq!(only(findings_on(&square, "fdm-thin"), "pin").len(), 1);
    // Not a rail along a wall, nor the rims of a shell.
    let rail = rect(-10.0, 0.0, 10.0, 2.0).union(&rect(-0.6, -2.0, 0.6, 0.5));
    let railed = slabs(&[(0.0, 3.0, plate()), (3.0, 23.0, rail)]);
    let shell = Region::disc(v2(0.0, 0.0), 11.7).difference(&Region::disc(v2(0.0, 0.0), 10.65));
    let shell = slabs(&[(0.0, 71.9, shell.difference(&rect(-20.0, -20.0, 20.0, -4.0)))]);
    // Nor the webs between the ports of a grille.
    let ports = [-6.6, -2.2, 2.2, 6.6].map(|x| Region::disc(v2(x, 0.0), 1.5));
    let grille = ports.iter().fold(plate(), |plate, port| plate.difference(port));
    let grille = slabs(&[(0.0, 1.6, grille)]);
    for soup in [railed, shell, grille] {
        let found = only(findings_on(&soup, "fdm-thin"), "pin");
        assert!(found.is_empty(), "{found:?}");
    }
}

/// The side that is best, for what a part states.
fn best(solid: &Solid, up: Option<Vec3>) -> Vec3 {
    let mesh = tessellate(solid, &ChordTolerance::default()).expect("meshes");
    let library = Library::shipped();
    let analysis = Analysis::new(Soup::from(&mesh));
    let declared = Declared { up, ..Declared::default() };
    best_up(&CheckContext {
        printer: library.profile("printers", "fdm-thin").expect("shipped"),
        material: library.profile("materials", "petg").expect("shipped"),
        analysis: &analysis,
        remarks: &[],
        known: Some(Known { solid, face_of: mesh.face_of(), declared: &declared }),
    })
}

#[test]
fn the_stated_side_is_kept_unless_another_is_clearly_better() {
    let cube = stack(&[(0.0, 20.0, rect(0.0, 0.0, 20.0, 20.0))]);
    // Hardly taller than wide: other sides are better, but not clearly.
    let tall = stack(&[(0.0, 20.5, rect(0.0, 0.0, 20.0, 20.0))]);
    let mushroom = stack(&[
        (0.0, 15.0, Region::disc(v2(0.0, 0.0), 4.0)),
        (15.0, 20.0, Region::disc(v2(0.0, 0.0), 15.0)),
    ]);
    let axes = [Vec3::x(), -Vec3::x(), Vec3::y(), -Vec3::y(), Vec3::z(), -Vec3::z()];
    for up in axes {
        assert_eq!(best(&cube, Some(up)), up);
        assert_eq!(best(&tall, Some(up)), up);
        let turned = best(&mushroom, Some(up));
        assert!((turned + Vec3::z()).norm() < 1e-9, "stated {up}: {turned}");
    }
    assert_eq!(best(&cube, None), Vec3::z());
}
