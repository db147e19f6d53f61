//! Chamfers and tapers: closed forms, and chamfered ends on random stacks.

use std::f64::consts::PI;

use borewright::measure::Vec2;
use borewright::section::{OffsetError, Region, Seg};
use borewright::solid::{RuledSection, Solid, Stack, StackError};
use fastrand::Rng;

use crate::cases;
use crate::random::{Input, Source, stack_of};

fn close(a: f64, b: f64, relative: f64) {
    assert!((a - b).abs() <= relative * b.abs(), "{a} is not {b}");
}

fn ruled(height: f64, section: RuledSection) -> Solid {
    let mut stack = Stack::default();
    stack.ruled(0.0, height, section);
    stack.solid().expect("one slab closes")
}

/// Frusta and prismatoids: h/6 (A1 + 4 Am + A2).
#[test]
fn frusta_and_prismatoids_have_their_closed_form_volume() {
    for (big, small, h, volume, lateral) in [
        (10.0, 6.0, 15.0, 3078.760800518, Some(780.330130861041)),
        (12.5, 11.5, 2.0, 905.302283009459, None),
    ] {
        let disc = |r| Region::disc(Vec2::zeros(), r);
        let section = RuledSection::between(&disc(big), &disc(small)).expect("concentric");
        let solid = ruled(h, section);
        close(solid.properties().volume, volume, 1e-12);
        assert_eq!(solid.face_counts().cones, 2);
        if let Some(lateral) = lateral {
            close(solid.properties().area - PI * (big * big + small * small), lateral, 1e-12);
        }
    }
    for (w0, d0, w1, d1, h, volume) in
        [(20.0, 12.0, 14.0, 8.0, 9.0, 1548.0), (10.0, 6.0, 4.0, 9.0, 12.0, 612.0)]
    {
        let rect = |w: f64, d: f64| {
            Region::rectangle(Vec2::new(-w / 2.0, -d / 2.0), Vec2::new(w / 2.0, d / 2.0))
        };
        let section = RuledSection::between(&rect(w0, d0), &rect(w1, d1)).expect("parallel sides");
        close(ruled(h, section).properties().volume, volume, 1e-12);
    }
}

/// A chamfer where a flat meets an arc at a sharp corner: the corner runs
/// along a conic, and the area at each height is that of a moved segment.
#[test]
fn a_chamfer_at_a_sharp_corner_follows_the_conic() {
    let (r, flat, c) = (12.5, 6.0, 1.5);
    let d = Region::disc(Vec2::zeros(), r)
        .intersection(&Region::rectangle(Vec2::new(-20.0, -20.0), Vec2::new(20.0, flat)));
    let section = RuledSection::chamfer(&d, 0.0, -c).expect("a small chamfer");
    let solid = ruled(c, section);
    // Simpson's rule on 2000 spans of disc minus segment, both shrunk by s.
    let area = |s: f64| {
        let (r, h) = (r - s, r - flat);
        let theta = 2.0 * ((r - h + s.min(0.0)) / r).acos();
        let h_now = r - (flat - s);
        let theta = if h_now > 0.0 { 2.0 * ((r - h_now) / r).acos() } else { theta };
        PI * r * r - 0.5 * r * r * (theta - theta.sin())
    };
    let n = 2000;
    let step = c / f64::from(2 * n);
    let volume: f64 = (0..n)
        .map(|i| {
            let s = f64::from(2 * i) * step;
            (area(s) + 4.0 * area(s + step) + area(s + 2.0 * step)) * step / 3.0
        })
        .sum();
    close(solid.properties().volume, volume, 1e-9);
}

/// A taper so slight that its corners are straight to a millionth of a
/// millimetre, though not generators of their cones.
#[test]
fn a_slight_taper_has_the_volume_of_its_sections() {
    let d = Region::disc(Vec2::zeros(), 12.5)
        .intersection(&Region::rectangle(Vec2::new(-20.0, -20.0), Vec2::new(20.0, 6.0)));
    for c in [1e-5, 1e-4, 2e-4, 4e-4, 1e-3] {
        let mut stack = Stack::default();
        stack.ruled(0.0, 100.0, RuledSection::chamfer(&d, 0.0, -c).expect("a slight one"));
        let solid = stack.solid().expect("one slab closes");
        close(solid.properties().volume, stack.volume(), 1e-11);
    }
}

/// A segment of a disc whose corners start almost tangent: they move like a
/// square root, and the mean area needs many spans.
#[test]
fn a_segment_that_grows_out_of_a_sharp_lens_has_its_volume() {
    let (r, h) = (3.338, 1.5);
    let segment = Region::disc(Vec2::zeros(), r)
        .difference(&Region::rectangle(Vec2::new(-5.0, -5.0), Vec2::new(5.0, r - h)));
    let section = RuledSection::chamfer(&segment, -0.74, 0.0).expect("a lens is left");
    let mut stack = Stack::default();
    stack.ruled(0.0, 12.0, section);
    let volume = stack.solid().expect("closes").properties().volume;
    close(stack.volume(), volume, 1e-10);
    // Moved segments by the midpoint rule.
    let area = |s: f64| {
        let (r, h) = (r - s, h - 2.0 * s);
        let half = ((r - h) / r).acos();
        r * r * (half - half.sin() * half.cos())
    };
    let n = 1_000_000;
    let sum: f64 = (0..n).map(|i| area(0.74 * (f64::from(i) + 0.5) / f64::from(n))).sum();
    close(volume, 12.0 * sum / f64::from(n), 1e-9);
}

/// Moved inwards, the sharp corner of an arc and a line passes the leftmost
/// point of the arc's circle.
#[test]
fn an_arc_that_would_pass_the_side_of_its_circle_is_refused() {
    let wedge = Region::polygon(&[
        Vec2::new(-0.05, 1.37),
        Vec2::new(-9.3, -6.25),
        Vec2::new(9.0, -9.0),
        Vec2::new(0.5, 0.0),
    ]);
    let left = Region::rectangle(Vec2::new(-20.0, -20.0), Vec2::new(0.3, 20.0));
    let section = Region::disc(Vec2::zeros(), 1.6).union(&wedge).intersection(&left);
    let mut refused = 0;
    for by in [-0.05, -0.1, -0.2, -0.4, -0.8, -1.25] {
        let moved = match section.offset_same_structure(by) {
            Ok(moved) => moved,
            Err(e) => {
                refused += u32::from(matches!(e, OffsetError::PastSide { .. }));
                continue;
            }
        };
        for s in moved.segs() {
            let (lo, hi) = s.bounds();
            let p = s.mid();
            assert!(lo.x <= p.x + 1e-9 && p.x <= hi.x + 1e-9, "{by}: {s:?} leaves its half");
        }
    }
    assert!(refused > 0);
}

#[test]
fn what_cannot_be_ruled_is_refused() {
    let disc = Region::disc(Vec2::zeros(), 5.0);
    let square = Region::rectangle(Vec2::new(-5.0, -5.0), Vec2::new(5.0, 5.0));
    assert!(RuledSection::between(&disc, &square).is_err());
    let moved = Region::disc(Vec2::new(1.0, 0.0), 5.0);
    assert!(RuledSection::between(&disc, &moved).is_err(), "an oblique cone");
    let turned = Region::polygon(&[
        Vec2::new(-6.0, -4.0),
        Vec2::new(5.0, -5.0),
        Vec2::new(6.0, 4.0),
        Vec2::new(-5.0, 5.0),
    ]);
    assert!(RuledSection::between(&square, &turned).is_err(), "twisted walls");
    assert!(RuledSection::chamfer(&square, 0.0, -5.5).is_err(), "nothing left");
}

#[test]
fn random_stacks_take_chamfers_or_refuse_by_name() {
    let (mut made, mut plain) = (0, 0);
    for seed in 0..cases(6_000) {
        let mut source = Source { rng: Rng::with_seed(seed), eps: 0.0, input: Input::Snapped };
        let slabs = source.slabs();
        if stack_of(&slabs).solid().is_err() {
            continue;
        }
        let c = f64::from(source.rng.i32(1..=8)) * 0.05;
        let mut stack = Stack::default();
        let mut chamfers = 0;
        for (i, (bottom, top, section)) in slabs.iter().enumerate() {
            let (mut low, mut high, mut end) = (*bottom, *top, None);
            if i == 0
                && high - low > c
                && let Ok(s) = RuledSection::chamfer(section, -c, 0.0)
            {
                stack.ruled(low, low + c, s);
                low += c;
                chamfers += 1;
            }
            if i + 1 == slabs.len()
                && high - low > c
                && let Ok(s) = RuledSection::chamfer(section, 0.0, -c)
            {
                high -= c;
                end = Some(s);
                chamfers += 1;
            }
            if high - low > 1e-9 {
                stack.prism(low, high, section);
            }
            if let Some(s) = end {
                stack.ruled(high, *top, s);
            }
        }
        match stack.solid() {
            Ok(solid) => {
                close(solid.properties().volume, stack.volume(), 1e-9);
                made += usize::from(chamfers > 0);
                plain += usize::from(chamfers == 0);
            }
            Err(StackError::Sliver { .. } | StackError::Pinch { .. }) => {}
            Err(e) => panic!("seed {seed}: {e}"),
        }
    }
    println!("{made} random stacks with chamfers, {plain} that took none");
    assert!(made as u64 > cases(1_000));
}

/// Moving and turning a section changes neither area nor volume.
#[test]
fn areas_do_not_depend_on_the_pose() {
    let mut rng = Rng::with_seed(7);
    for _ in 0..2_000 {
        let radii = [3.0 + rng.f64() * 5.0, 2.0 + rng.f64() * 4.0];
        let gap = rng.f64() * 9.0;
        let turned = |angle: f64, by: Vec2| {
            let d = Vec2::new(angle.cos(), angle.sin());
            let disc = |c: Vec2, r: f64| {
                let (w, e) = (c - Vec2::new(r, 0.0), c + Vec2::new(r, 0.0));
                let mut outline = Seg::arc(c, r, w, e, true);
                outline.extend(Seg::arc(c, r, e, w, true));
                Region::from_outlines(&[outline]).expect("a disc")
            };
            disc(by, radii[0]).difference(&disc(by + d * gap, radii[1])).area()
        };
        let still = turned(0.0, Vec2::zeros());
        let by = Vec2::new(rng.f64() * 20.0, rng.f64() * 20.0);
        close(turned(rng.f64() * 6.0, by), still, 1e-9);
    }
}
