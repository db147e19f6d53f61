//! Tessellation of stacks of sections: random ones, and one like a real part.

use super::{ChordTolerance, Mesh, MeshError, tessellate};
use crate::measure::{Vec2, Vec3};
use crate::section::Region;
use crate::solid::{BoreEnd, BoreProfile, CrossBore, Mouth, RuledSection, Solid, Stack, Surface};

fn at(x: f64, y: f64) -> Vec2 {
    Vec2::new(x, y)
}

/// A cradle with a round seat, pocket, groove, windows and chamfered ends.
pub(super) fn cradle() -> Solid {
    let outer = Region::disc(at(0.0, 0.0), 12.6);
    let below = Region::rectangle(at(-20.0, -20.0), at(20.0, 4.0));
    let body = outer.intersection(&below);
    let seat = Region::slot(at(0.0, 1.0), at(0.0, 20.0), 7.2);
    let channel = body.difference(&seat);
    let groove = Region::rectangle(at(-1.5, -20.0), at(1.5, -10.0));
    let ducts = Region::disc(at(8.5, -6.0), 1.1).union(&Region::disc(at(-8.5, -6.0), 1.1));
    let pocket = Region::rectangle(at(-3.0, -2.0), at(3.0, 20.0));
    let light = Region::disc(at(0.0, 1.0), 2.5);
    let wall = body.difference(&groove).difference(&ducts);
    let window = Region::rectangle(at(5.0, -3.0), at(20.0, 20.0));
    let mut stack = Stack::default();
    let plain = body.difference(&groove).difference(&ducts);
    stack.ruled(0.0, 0.5, RuledSection::chamfer(&body, -0.5, 0.0).expect("chamfer"));
    stack.prism(0.5, 2.0, &plain.difference(&pocket));
    stack.prism(2.0, 5.0, &wall.difference(&light));
    for k in 0..4 {
        let z = 5.0 + 8.0 * f64::from(k);
        let seated = channel.difference(&groove).difference(&ducts);
        stack.prism(z, z + 3.0, &seated);
        stack.prism(z + 3.0, z + 8.0, &seated.difference(&window));
    }
    stack.prism(37.0, 40.0, &wall);
    stack.solid().expect("a sound part")
}

/// The area of the round faces is bounded by that of the whole mesh.
fn volume_is_within_chord(solid: &Solid, chord: f64) -> Result<(), MeshError> {
    let mesh = tessellate(solid, &ChordTolerance { chord, ..Default::default() })?;
    let error = (mesh.volume() - solid.properties().volume).abs();
    assert!(error <= chord * mesh.area(), "volume off by {error} at chord {chord}");
    let again = (mesh.vertices().to_vec(), mesh.triangles().to_vec(), mesh.face_of().to_vec());
    Mesh::new(again.0, again.1, again.2).expect("tessellate made a mesh");
    let (lo, hi) = mesh.bounds();
    let (low, high) = solid.bounds();
    assert!((lo - low).norm() < 3.0 * chord && (hi - high).norm() < 3.0 * chord);
    for (i, &f) in mesh.face_of().iter().enumerate() {
        let face = &solid.faces()[f as usize];
        let [a, b, c] = mesh.corners(i);
        let centre: Vec3 = (a + b + c) / 3.0;
        assert!(face.surface.distance(centre).abs() <= 1.06 * chord);
        let natural = if face.flipped { -1.0 } else { 1.0 };
        let outward = face.surface.normal(centre) * natural;
        let normal = (b - a).cross(&(c - a)).normalize();
        assert!(normal.dot(&outward) > 0.3, "{normal} at {centre} against {outward}");
    }
    Ok(())
}

#[test]
fn a_cradle_meshes_at_any_chord() {
    let solid = cradle();
    for chord in [0.1, 0.03, 0.01, 0.002] {
        volume_is_within_chord(&solid, chord).unwrap();
    }
    assert!(solid.faces().iter().any(|f| matches!(f.surface, Surface::Cone { .. })));
}

#[test]
fn a_line_and_an_arc_between_the_same_corners_stay_apart() {
    // A disc below and a half plane above overlap in a lens so narrow that no
    // grid line of the default chord crosses it.
    let disc = Region::disc(at(0.0, 0.0), 12.6);
    let (sin, cos) = (3.0 * std::f64::consts::PI / 80.0).sin_cos();
    let beyond = Region::half_plane(at(cos, sin) * 12.592, at(sin, -cos), 20.0);
    let mut stack = Stack::default();
    stack.prism(0.0, 5.0, &disc).prism(5.0, 9.0, &beyond);
    volume_is_within_chord(&stack.solid().unwrap(), 0.01).unwrap();
}

/// A section of one to four shapes on a grid that makes coincidences common.
fn random_section(rng: &mut fastrand::Rng, shift: f64) -> Region {
    let mut region = Region::disc(at(0.0, 0.0), [8.0, 10.0, 12.0][rng.usize(0..3)]);
    for _ in 0..rng.usize(0..4) {
        let mut coordinate = || f64::from(rng.i32(-10..=10)) + shift * rng.f64();
        let (x, y, u, v) = (coordinate(), coordinate(), coordinate(), coordinate());
        let radius = f64::from(rng.i32(1..=5));
        let shape = match rng.usize(0..3) {
            0 => Region::disc(at(x, y), radius),
            1 => Region::rectangle(at(x, y), at(u, v)),
            _ => Region::slot(at(x, y), at(u, v), radius),
        };
        region = match rng.usize(0..4) {
            0 => region.union(&shape),
            1 => region.intersection(&shape),
            _ => region.difference(&shape),
        };
    }
    region
}

#[test]
fn random_stacks_mesh_or_name_a_sliver() {
    for shift in [0.0, 1e-3, 0.01, 1.0] {
        let mut rng = fastrand::Rng::with_seed(7);
        let (mut made, mut slivers) = (0, Vec::new());
        for _ in 0..400 {
            let mut stack = Stack::default();
            let mut z = 0.0;
            for _ in 0..rng.usize(1..5) {
                let height = f64::from(rng.i32(1..6));
                stack.prism(z, z + height, &random_section(&mut rng, shift));
                z += height;
            }
            let Ok(solid) = stack.solid() else { continue };
            made += 1;
            match volume_is_within_chord(&solid, 0.01) {
                Ok(()) => {}
                Err(error @ MeshError::Sliver { .. }) => slivers.push(error.to_string()),
                Err(error) => panic!("{error}"),
            }
        }
        println!("shift {shift}: {made} made, {} slivers {slivers:?}", slivers.len());
        assert!(made > 100);
        assert!(slivers.len() * 100 <= made, "{slivers:?}");
    }
}

/// A bore of any kind, on a grid or a little off it.
fn random_bore(rng: &mut fastrand::Rng, height: f64, shift: f64) -> CrossBore {
    let radius = 0.4 * f64::from(rng.i32(1..=8));
    let between = f64::from(rng.i32(1..=4));
    let round = rng.bool();
    let profile = match (round, rng.bool()) {
        (true, _) => BoreProfile::Round { radius },
        (_, true) => BoreProfile::SlotAlongZ { radius, between },
        (_, false) => BoreProfile::SlotAcross { radius, between },
    };
    let mouth = match rng.usize(0..3) {
        1 if round => Mouth::Counterbore { radius: radius + 0.5, depth: 3.0 },
        2 if round => Mouth::Countersink { radius: radius + 0.5, angle: 1.5, depth: 2.0 },
        _ => Mouth::Plain,
    };
    let end = match rng.usize(0..3) {
        0 => BoreEnd::NextWall,
        1 => BoreEnd::AllWalls,
        _ => BoreEnd::Depth(5.0),
    };
    let turn = std::f64::consts::FRAC_PI_8 * f64::from(rng.i32(0..16)) + shift * rng.f64();
    CrossBore {
        direction: at(turn.cos(), turn.sin()),
        z: height * 0.125 * f64::from(rng.i32(1..8)),
        offset: f64::from(rng.i32(-6..=6)) + shift * rng.f64(),
        start: f64::NEG_INFINITY,
        profile,
        mouth,
        end,
    }
}

#[test]
fn random_bored_stacks_mesh_or_name_a_sliver() {
    for (shift, chord) in [(0.0, 0.01), (0.01, 0.01), (0.5, 0.01), (0.5, 0.1), (0.5, 0.001)] {
        let mut rng = fastrand::Rng::with_seed(11);
        let (mut made, mut slivers) = (0, Vec::new());
        for _ in 0..400 {
            let mut stack = Stack::default();
            let height = f64::from(rng.i32(4..24));
            stack.prism(0.0, height, &random_section(&mut rng, 0.0));
            let bores: Vec<CrossBore> =
                (0..rng.usize(1..3)).map(|_| random_bore(&mut rng, height, shift)).collect();
            let Ok(solid) = stack.bored(&bores) else { continue };
            made += 1;
            match volume_is_within_chord(&solid, chord) {
                Ok(()) => {}
                Err(error @ MeshError::Sliver { .. }) => slivers.push(error.to_string()),
                Err(error) => panic!("{error}"),
            }
        }
        println!("bored, shift {shift}: {made} made, {} slivers {slivers:?}", slivers.len());
        assert!(made > 40);
        assert!(slivers.len() * 100 <= made, "{slivers:?}");
    }
}
