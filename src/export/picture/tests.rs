use super::*;
use crate::measure::Vec2;
use crate::mesh::{ChordTolerance, tessellate};
use crate::section::Region;
use crate::solid::{RuledSection, Stack};

fn at(x: f64, y: f64) -> Vec2 {
    Vec2::new(x, y)
}

fn mesh(stack: &Stack) -> Mesh {
    let solid = stack.solid().expect("a sound part");
    tessellate(&solid, &ChordTolerance::default()).expect("a mesh")
}

/// A trough with windows, a pocketed wall and chamfered ends.
fn trough() -> Mesh {
    let below = Region::rectangle(at(-20.0, -20.0), at(20.0, 4.0));
    let body = Region::disc(at(0.0, 0.0), 12.6).intersection(&below);
    let seat = Region::slot(at(0.0, 1.0), at(0.0, 20.0), 8.4);
    let groove = Region::rectangle(at(-1.5, -20.0), at(1.5, -10.6));
    let window = Region::rectangle(at(5.0, -3.0), at(20.0, 20.0));
    let wall = body.difference(&groove);
    let mut stack = Stack::default();
    let chamfer = |a: f64, b: f64| RuledSection::chamfer(&body, a, b).expect("chamfer");
    stack.ruled(0.0, 0.6, chamfer(-0.6, 0.0));
    stack.prism(0.6, 3.0, &wall.difference(&Region::rectangle(at(-3.0, -3.0), at(3.0, 20.0))));
    stack.prism(3.0, 5.0, &wall.difference(&Region::disc(at(0.0, 0.0), 2.5)));
    stack.prism(5.0, 14.0, &wall.difference(&seat));
    stack.prism(14.0, 30.0, &wall.difference(&seat).difference(&window));
    stack.prism(30.0, 37.0, &wall.difference(&seat));
    stack.prism(37.0, 39.4, &wall);
    stack.ruled(39.4, 40.0, chamfer(0.0, -0.6));
    mesh(&stack)
}

fn plate() -> Mesh {
    let base = Region::disc(at(0.0, 0.0), 12.6)
        .intersection(&Region::rectangle(at(-20.0, -20.0), at(20.0, -2.0)));
    let pocket = Region::rectangle(at(-3.1, -6.0), at(3.1, 20.0));
    let mut stack = Stack::default();
    for k in 0..3 {
        let z = 12.0 * f64::from(k);
        stack.prism(z, z + 4.0, &base);
        stack.prism(z + 4.0, z + 12.0, &base.difference(&pocket));
    }
    stack.prism(36.0, 40.0, &base);
    mesh(&stack)
}

fn tube() -> Mesh {
    let outer = Region::disc(at(0.0, 0.0), 9.0);
    let mut stack = Stack::default();
    let ring = outer.difference(&Region::disc(at(0.0, 0.0), 6.0));
    stack.prism(0.0, 12.0, &ring);
    stack.prism(12.0, 14.0, &outer.difference(&Region::disc(at(0.0, 0.0), 3.0)));
    mesh(&stack)
}

const VIOLET: [u8; 3] = [150, 135, 205];
const TEAL: [u8; 3] = [110, 180, 175];
const SAND: [u8; 3] = [224, 178, 110];

fn decode(bytes: &[u8]) -> (u32, u32, Vec<u8>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().expect("a PNG");
    let mut pixels = vec![0; reader.output_buffer_size().expect("a size")];
    let info = reader.next_frame(&mut pixels).expect("a frame");
    assert_eq!(info.color_type, png::ColorType::Rgb);
    (info.width, info.height, pixels)
}

#[test]
fn a_row_of_bodies_is_drawn_the_same_each_time() {
    let (a, b, c) = (trough(), plate(), tube());
    let view = View { width: 600, height: 350, ..View::default() };
    let mut bodies =
        [PictureBody::new(&a, VIOLET), PictureBody::new(&b, TEAL), PictureBody::new(&c, SAND)];
    arrange(&mut bodies, &view, 6.0);
    let bytes = picture(&bodies, &view);
    assert_eq!(bytes, picture(&bodies, &view));
    let (width, height, pixels) = decode(&bytes);
    assert_eq!((width, height), (600, 350));
    let violet = |p: &[u8]| i32::from(p[2]) > i32::from(p[0]) + 20;
    let sand = |p: &[u8]| i32::from(p[0]) > i32::from(p[2]) + 50;
    let count = |f: &dyn Fn(&[u8]) -> bool| pixels.chunks(3).filter(|p| f(p)).count();
    assert!(count(&violet) > 10_000 && count(&sand) > 3_000);
    // Bodies in a row do not overlap: violet is left of sand.
    let columns = |f: &dyn Fn(&[u8]) -> bool| {
        let hits = pixels.chunks(3).enumerate().filter(|(_, p)| f(p)).map(|(i, _)| i % 600);
        hits.fold((600, 0), |(lo, hi), x| (lo.min(x), hi.max(x)))
    };
    assert!(columns(&violet).1 < columns(&sand).0);
    assert!(pixels[..3] == [247, 245, 241]);
}

#[test]
fn odd_views_still_give_a_picture() {
    let a = tube();
    let body = [PictureBody::new(&a, SAND)];
    for direction in [Vec3::zeros(), Vec3::y(), -Vec3::z(), Vec3::new(f64::NAN, 0.0, 1.0)] {
        for up in [Vec3::zeros(), Vec3::y(), Vec3::z()] {
            let view = View { direction, up, width: 40, height: 30, ..View::default() };
            let (w, h, _) = decode(&picture(&body, &view));
            assert_eq!((w, h), (40, 30));
        }
    }
    let view = View { width: 0, height: 1, ..View::default() };
    assert_eq!(decode(&picture(&body, &view)).2.len(), 3);
    assert_eq!(decode(&picture(&[], &View::default())).0, 1200);
    for far in [f64::INFINITY, f64::NAN, 1e300] {
        let lost = PictureBody { shift: Vec3::new(far, 0.0, 0.0), ..body[0] };
        decode(&picture(&[lost, body[0]], &View { width: 40, height: 30, ..View::default() }));
    }
}

/// Pixels that are not the background's, and how many columns have some.
fn painted(pixels: &[u8], width: usize) -> (usize, usize) {
    let is = |p: &[u8]| p.iter().zip([247u8, 245, 241]).any(|(c, b)| c.abs_diff(b) > 24);
    let count = pixels.chunks(3).filter(|p| is(p)).count();
    let column = |x: usize| pixels.chunks(3).skip(x).step_by(width).any(is);
    (count, (0..width).filter(|x| column(*x)).count())
}

#[test]
fn a_cut_tube_shows_the_area_of_its_ring() {
    let tube = tube();
    let view = View {
        direction: -Vec3::z(),
        width: 400,
        height: 400,
        scale_bar: false,
        cut: Some(Cut { axis: 2, at: 6.0 }),
        ..View::default()
    };
    let bytes = picture(&[PictureBody::new(&tube, [90, 60, 40])], &view);
    let (count, columns) = painted(&decode(&bytes).2, 400);
    let disc = std::f64::consts::FRAC_PI_4 * (columns * columns) as f64;
    let ring = 1.0 - (6.0f64 / 9.0).powi(2);
    assert!((count as f64 / disc - ring).abs() < 0.01, "{count} of {disc}");
    // Where nothing is left, there is only paper; an edge-on plane cuts nothing.
    let gone = View { cut: Some(Cut { axis: 2, at: -1.0 }), ..view };
    assert_eq!(painted(&decode(&picture(&[PictureBody::new(&tube, SAND)], &gone)).2, 400).0, 0);
    let edge_on = View { cut: Some(Cut { axis: 0, at: 0.0 }), ..view };
    let whole = View { cut: None, ..view };
    let body = [PictureBody::new(&tube, SAND)];
    assert_eq!(picture(&body, &edge_on), picture(&body, &whole));
    assert!(!Cut { axis: 0, at: 0.0 }.is_seen(&view.direction));
}

#[test]
fn hidden_lines_are_dashed_and_scales_painted() {
    let plate = plate();
    let body = [PictureBody::new(&plate, VIOLET)];
    // From below nothing but the flat back is seen; the pockets are hidden.
    let view =
        View { direction: Vec3::y(), up: Vec3::x(), width: 300, height: 200, ..View::default() };
    let dark = |view: &View| {
        let pixels = decode(&picture(&body, view)).2;
        pixels.chunks(3).filter(|p| p.iter().all(|c| *c < 190)).count()
    };
    let lines = View { lines_only: true, scale_bar: false, ..view };
    let flat = pixels_of(&body, &lines);
    let inside = (110..190).flat_map(|x| (80..120).map(move |y| (x, y)));
    let shades: std::collections::BTreeSet<[u8; 3]> = inside.map(|(x, y)| flat.at(x, y)).collect();
    assert!(shades.len() > 2, "hidden lines are drawn inside: {shades:?}");
    assert!(dark(&lines) < dark(&View { scale_bar: false, ..view }), "paper is light");
    let scale = View { scale: Some(Scale { limit: 1.0, cap: 4.0 }), ..view };
    let red = |view: &View| {
        let pixels = decode(&picture(&body, view)).2;
        pixels.chunks(3).filter(|p| p[0] > 150 && p[1] < 60).count()
    };
    assert_eq!(red(&view), 0);
    assert!(red(&scale) > 10);
}

fn pixels_of(bodies: &[PictureBody], view: &View) -> Pixels {
    Pixels::of(bodies, &[], view)
}

#[test]
fn tinted_bodies_take_the_nearest_colour() {
    let tube = tube();
    let low = (Vec3::new(0.0, 0.0, 0.0), [200, 20, 20]);
    let high = (Vec3::new(0.0, 0.0, 14.0), [20, 20, 200]);
    let tint = Tint::new(vec![low, high], 14.0);
    let body = [PictureBody::new(&tube, [120, 120, 120]).tinted(tint.as_ref())];
    let view =
        View { direction: -Vec3::x(), up: Vec3::y(), width: 200, height: 120, ..View::default() };
    let pixels = pixels_of(&body, &view);
    let count = |k: usize| {
        let of = |p: &[u8]| p[k] > 60 && p[2 - k] < 60;
        pixels.rgb.chunks(3).filter(|p| of(p)).count()
    };
    assert!(count(0) > 1000 && count(2) > 1000, "{} {}", count(0), count(2));
}
