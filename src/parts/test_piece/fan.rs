//! Arms that lean more and more.

use super::super::around::bar;
use super::super::build::Slab;
use super::super::{Body, Computed, PartContext, Refusal};
use super::{TestPiece, Told, body};
use crate::measure::{Unit, Values, Vec2, Vec3};
use crate::section::Region;

pub(super) const FAN: TestPiece = TestPiece {
    name: "fan",
    summary: "arms that lean 30 to 70 degrees from upright",
    look: "print it without support; from the most upright arm on they lean 30, 40, 45, 50, 60 and 70 \
           degrees: the last whose underside is as clean as those before is overhang",
    for_bore: false,
    beyond: &["overhang", "gap"],
    make,
};

/// How far arms lean from upright, degrees: around the limits of published guides
/// (`profiles/printers.toml`).
const LEANS: [f64; 6] = [30.0, 40.0, 45.0, 50.0, 60.0, 70.0];
/// Length and thickness of an arm, from foot to foot of two arms, thickness of the
/// base, and depth of all, mm.
const LONG: f64 = 14.0;
const THICK: f64 = 3.0;
const APART: f64 = 10.0;
const BASE: f64 = 4.0;
const DEEP: f64 = 10.0;

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let (mut arms, mut end) = (Region::empty(), 0.0_f64);
    for (i, lean) in LEANS.into_iter().enumerate() {
        let (sin, cos) = lean.to_radians().sin_cos();
        let (along, across) = (Vec2::new(sin, cos) * LONG, Vec2::new(cos, -sin) * THICK);
        // Its lower side begins inside the base, so that each arm is one with it.
        let foot = Vec2::new(THICK + i as f64 * APART, BASE);
        let corners = [foot, foot + across, foot + across + along, foot + along];
        arms = arms.union(&Region::polygon(&corners));
        end = corners.iter().fold(end, |end, corner| end.max(corner.x));
    }
    let section = bar((0.0, end), (0.0, BASE)).union(&arms);
    let computed = LEANS.into_iter().enumerate().map(|(i, lean)| {
        let what = format!("lean of arm {} from upright", i + 1);
        Computed::new(format!("lean{}", i + 1), what, lean, Unit::Degrees)
    });
    let told = Told { computed: computed.collect(), up: Some(Vec3::y()), ..Told::default() };
    Ok(vec![body(context, values, "", &[Slab { bottom: 0.0, top: DEEP, section }], told)?])
}
