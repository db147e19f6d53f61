//! Booleans and offsets of sections: nothing panics, and areas add up.

use borewright::section::Region;

use super::bytes::{Bytes, size};

/// Areas may be off by this times the length of the boundaries, mm: ten times
/// the distance within which two pieces count as one.
const NOISE: f64 = 1e-6;

pub fn run(input: &[u8]) -> u64 {
    let mut bytes = Bytes::new(input);
    let a = bytes.region(4);
    let b = bytes.region(3);
    let (union, common) = (a.union(&b), a.intersection(&b));
    let (rest, either) = (a.difference(&b), a.xor(&b));
    let defined = !a.is_undefined() && !b.is_undefined();
    if !defined {
        assert!([&union, &common, &rest, &either].iter().all(|r| r.is_undefined()));
    } else if bytes.numbers.on_grid() {
        let noise = NOISE * (a.perimeter() + b.perimeter()).max(1.0);
        let equal = |x: f64, y: f64, what: &str| {
            assert!((x - y).abs() <= noise, "{what}: {x} is not {y}");
        };
        equal(union.area() + common.area(), a.area() + b.area(), "union and intersection");
        equal(rest.area() + common.area(), a.area(), "difference and intersection");
        equal(either.area(), union.area() - common.area(), "symmetric difference");
        for r in [&a, &b, &union, &common, &rest, &either] {
            closed(r);
        }
        equal(common.union(&rest).area(), a.area(), "put together again");
    }
    let by = bytes.number();
    let moved = a.offset(by.clamp(-30.0, 30.0));
    if bytes.numbers.on_grid() && !a.is_empty() && defined {
        closed(&moved);
        let noise = NOISE * (a.perimeter() + moved.perimeter()).max(1.0);
        let grown = moved.area() - a.area();
        assert!(if by > 0.0 { grown >= -noise } else { grown <= noise }, "offset {by}: {grown}");
    }
    let same = a.offset_same_structure(by.clamp(-30.0, 30.0)).is_ok();
    let loops = |r: &Region| size(r.loops().len());
    let pieces = size(union.segs().len() + either.segs().len());
    [loops(&union), loops(&common), loops(&rest), loops(&moved), pieces, u64::from(same)]
        .into_iter()
        .fold(bytes.numbers as u64, |h, n| h.wrapping_mul(131).wrapping_add(n))
}

fn closed(region: &Region) {
    assert!(region.area() >= -NOISE * region.perimeter(), "negative area {}", region.area());
    for pieces in region.loops() {
        for (i, s) in pieces.iter().enumerate() {
            let next = pieces[(i + 1) % pieces.len()];
            assert!((s.b - next.a).norm() <= 1e-7, "open at {:?}", s.b);
        }
    }
}
