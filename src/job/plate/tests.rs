use nalgebra::Matrix3;

use super::*;
use crate::mesh::{ChordTolerance, tessellate};
use crate::section::Region;
use crate::solid::Stack;

fn prism(section: &Region, height: f64) -> Mesh {
    let mut stack = Stack::default();
    stack.prism(0.0, height, section);
    let solid = stack.solid().expect("a prism");
    tessellate(&solid, &ChordTolerance { chord: 0.05, ..ChordTolerance::default() })
        .expect("meshes")
}

fn block(x: f64, y: f64, height: f64) -> Mesh {
    prism(&Region::rectangle(Vec2::zeros(), Vec2::new(x, y)), height)
}

fn corner(arm: f64, width: f64) -> Mesh {
    let at = Vec2::new;
    let points = [
        at(0.0, 0.0),
        at(arm, 0.0),
        at(arm, width),
        at(width, width),
        at(width, arm),
        at(0.0, arm),
    ];
    prism(&Region::polygon(&points), 10.0)
}

fn piece<'a>(name: &'a str, mesh: &'a Mesh, copies: usize) -> Piece<'a> {
    Piece { name, mesh, up: Vec3::z(), stretch: Matrix3::identity(), copies }
}

/// Corners of a placed body, mm.
fn points(pieces: &[Piece<'_>], body: &OnPlate) -> Vec<Vec3> {
    let vertices = pieces[body.piece].mesh.vertices();
    vertices.iter().map(|p| body.turn * p + body.shift).collect()
}

#[test]
fn all_copies_stand_on_the_bed_within_its_margin_once_each() {
    let (rod, angle) = (block(12.0, 80.0, 12.0), corner(40.0, 8.0));
    let pieces = [piece("rod", &rod, 7), piece("angle", &angle, 9)];
    let rules = PlateRules::new(Vec2::new(120.0, 100.0), 100.0);
    let plates = lay_out(&pieces, &rules).expect("they fit");
    assert!(plates.len() >= 2, "more than one plate holds");
    let mut seen = Vec::new();
    for body in plates.iter().flat_map(|plate| &plate.bodies) {
        seen.push((body.piece, body.copy));
        for p in points(&pieces, body) {
            assert!(p.x > 4.999 && p.x < 115.001 && p.y > 4.999 && p.y < 95.001, "{p:?}");
            assert!(p.z > -1e-9);
        }
    }
    seen.sort_unstable();
    let wanted: Vec<(usize, usize)> =
        (0..7).map(|c| (0, c)).chain((0..9).map(|c| (1, c))).collect();
    assert_eq!(seen, wanted);
    assert_eq!(plates, lay_out(&pieces, &rules).expect("they fit"), "the same each time");
}

#[test]
fn angles_nest_closer_than_their_boxes() {
    let angle = corner(40.0, 8.0);
    let rules = PlateRules { gap: 2.0, ..PlateRules::new(Vec2::new(200.0, 60.0), 50.0) };
    let pieces = [piece("angle", &angle, 10)];
    let plates = lay_out(&pieces, &rules).expect("they fit");
    // Boxes of 40 mm with their gaps: four a plate, three plates.
    assert_eq!(plates.len(), 2, "{:?}", plates.iter().map(|p| p.used).collect::<Vec<_>>());
    assert!(plates[0].bodies.len() >= 6, "{}", plates[0].bodies.len());
    let area = plates[0].bodies.len() as f64 * (40.0 * 8.0 + 32.0 * 8.0);
    assert!((plates[0].covered - area) / area < 0.12, "{} of {area}", plates[0].covered);
}

#[test]
fn what_fits_only_just_or_askew_is_placed_and_what_does_not_is_refused_with_sizes() {
    let exact = block(90.0, 50.0, 10.0);
    let rules = PlateRules::new(Vec2::new(100.0, 60.0), 40.0);
    let plates = lay_out(&[piece("exact", &exact, 2)], &rules).expect("fits to the margin");
    assert_eq!(plates.len(), 2);

    let long = block(100.0, 4.0, 10.0);
    let plates =
        lay_out(&[piece("long", &long, 1)], &PlateRules { bed: Vec2::new(90.0, 90.0), ..rules })
            .expect("fits across the corners");
    assert!(plates[0].used.x < 80.0);

    let wide = block(95.0, 95.0, 10.0);
    let error = lay_out(&[piece("wide", &wide, 1)], &rules).expect_err("larger than the bed");
    assert!(matches!(&error, PlateError::TooWide { room, .. } if room.x == 90.0), "{error}");
    let high = block(10.0, 10.0, 41.0);
    let error = lay_out(&[piece("high", &high, 1)], &rules).expect_err("higher than the space");
    assert_eq!(
        error.to_string(),
        "high is 41.0 mm high as it is to stand; the build space has 40.0 mm"
    );
    let lying = Piece { up: Vec3::y(), ..piece("high", &high, 1) };
    assert!(lay_out(&[lying], &rules).is_ok(), "lying it fits");
    let many = lay_out(&[piece("rod", &high, MAX_COPIES + 1)], &rules);
    assert_eq!(many, Err(PlateError::TooMany { copies: MAX_COPIES + 1 }));
}

#[test]
fn upright_turns_are_turns_and_exact_for_the_sides_of_a_box() {
    for up in [Vec3::x(), -Vec3::x(), Vec3::y(), -Vec3::y(), Vec3::z(), -Vec3::z()] {
        let turn = upright(up);
        assert_eq!(turn * up, Vec3::z());
        assert_eq!(turn.determinant(), 1.0);
        assert!(turn.iter().all(|v| [0.0, 1.0, -1.0].contains(v)), "{turn}");
    }
    let up = Vec3::new(0.3, -0.4, 0.5).normalize();
    assert!((upright(up) * up - Vec3::z()).norm() < 1e-12);
}
