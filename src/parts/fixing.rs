//! Fixings that any part can place: screw holes, pilots, glue.
//!
//! Each is made from a component of the job (whose measured fields beat its
//! profile) and the printer, knows the room it needs, and gives the cross bore
//! or the section cut that makes it. Sizes with a published rule come from
//! [`crate::trade::screws`].

use std::f64::consts::PI;

use crate::measure::{Param, Unit, Values, Vec2};
use crate::section::{Region, Seg};
use crate::solid::{BoreEnd, BoreProfile, CrossBore, Mouth};
use crate::trade::TradeError;
use crate::trade::bosses::{Plastic, SelfTapInput, self_tap};
use crate::trade::screws::EDGE_DIAMETERS;

/// Room around a screw's head and above it, mm: it takes the knurl of a cap
/// head, which is up to 0.22 mm thicker than a plain one (ISO 4762). Common
/// practice, no source.
pub const HEAD_CLEARANCE: f64 = 0.2;

/// The row for a screw, for the tables of parts.
pub const SCREW: Param = Param::component(
    "screw",
    "screws",
    "The screws, if the part is screwed down; a measured head beats that of the profile.",
)
.or_word("m2-socket");

/// The row for the hole's series, for the tables of parts.
pub const SERIES: Param = Param::choice(
    "screw_holes",
    &["fine", "medium", "coarse"],
    "How wide the screw holes are: series of ISO 273.",
)
.or_word("medium");

/// The row for the material that a head clamps, for the tables of parts.
pub const GRIP: Param = Param::number(
    "grip",
    Unit::Mm,
    (0.6, 20.0),
    "Thickness of plastic that a screw's head clamps.",
)
.or(2.0);

/// Where a fixing goes in, square to the z axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// The way in, in the section plane; need not be unit.
    pub direction: Vec2,
    /// Height of the middle, mm.
    pub z: f64,
    /// Distance of the middle from the z axis, mm, to the left of the way in
    /// as seen from +z.
    pub offset: f64,
    /// Walls before this distance from the axis are left alone, mm;
    /// `f64::NEG_INFINITY` starts outside.
    pub start: f64,
}

impl Spot {
    fn bore(&self, radius: f64, mouth: Mouth, end: BoreEnd) -> CrossBore {
        let profile = BoreProfile::Round { radius };
        let Spot { direction, z, offset, start } = *self;
        CrossBore { direction, z, offset, start, profile, mouth, end }
    }
}

/// A hole that a screw passes, with a recess that hides its head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScrewHole {
    /// Nominal diameter of the thread, mm.
    pub thread: f64,
    /// Diameter of the hole, mm: ISO 273 and what the printer takes off it.
    pub hole: f64,
    /// Diameter of the recess, mm.
    pub recess: f64,
    /// Depth from the surface to where the head bears, mm; of a countersunk
    /// head to where its cone reaches the hole.
    pub recess_depth: f64,
    /// Full angle of a countersink, degrees; none for a flat head.
    pub cone: Option<f64>,
    /// Least distance of the middle from an edge of the part, mm.
    pub edge: f64,
}

impl ScrewHole {
    /// The hole for a screw (values of the family `screws`) in a series of ISO
    /// 273 (`fine`, `medium` or `coarse`), with `wall` mm around the recess.
    ///
    /// The recess is the head and [`HEAD_CLEARANCE`] all round; the edge
    /// distance [`EDGE_DIAMETERS`] threads, or the recess and the wall if that
    /// is more.
    pub fn new(screw: &Values, series: &str, printer: &Values, wall: f64) -> ScrewHole {
        let key = match series {
            "fine" => "clearance_fine",
            "coarse" => "clearance_coarse",
            _ => "clearance_medium",
        };
        let thread = screw.number("thread");
        let hole = screw.number(key) + printer.number("hole_shrink");
        let recess = (screw.number("head_diameter") + 2.0 * HEAD_CLEARANCE).max(hole + LEAST_STEP);
        let cone = (screw.choice("head") == "countersunk").then(|| screw.number("head_angle"));
        let head = match cone {
            Some(angle) => 0.5 * (recess - hole) / (0.5 * angle).to_radians().tan(),
            None => screw.number("head_height"),
        };
        let edge = (EDGE_DIAMETERS * thread).max(0.5 * recess + wall);
        ScrewHole { thread, hole, recess, recess_depth: head + HEAD_CLEARANCE, cone, edge }
    }

    /// The bores, head first, through the first wall they meet. A flat head's
    /// recess is a bore of its own, so that only the hole itself needs to be
    /// clear of what lies below the recess.
    pub fn bores(&self, spot: &Spot) -> Vec<CrossBore> {
        let (recess, hole) = (0.5 * self.recess, 0.5 * self.hole);
        match self.cone {
            Some(angle) => {
                let angle = angle.to_radians();
                let mouth = Mouth::Countersink { radius: recess, angle, depth: HEAD_CLEARANCE };
                vec![spot.bore(hole, mouth, BoreEnd::NextWall)]
            }
            None => vec![
                spot.bore(recess, Mouth::Plain, BoreEnd::Depth(self.recess_depth)),
                spot.bore(hole, Mouth::Plain, BoreEnd::NextWall),
            ],
        }
    }
}

/// Least difference between a recess and its hole, mm, for a shoulder.
const LEAST_STEP: f64 = 0.2;

/// A hole that a thread-forming screw cuts its own thread in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PilotHole {
    /// Diameter, mm, with what the printer takes off a hole.
    pub hole: f64,
    /// Depth, mm.
    pub depth: f64,
    /// Diameter and depth of the relief at its mouth, mm.
    pub relief: (f64, f64),
    /// Least diameter of the boss around it, mm.
    pub boss: f64,
    /// Least distance of the middle from an edge of the part, mm.
    pub edge: f64,
    /// Whether its ratios are published for this plastic, or common practice.
    pub published: bool,
}

impl PilotHole {
    /// The pilot for a thread of `thread` mm in a material of the job.
    ///
    /// # Errors
    /// [`TradeError`] for a thread outside what the calculator knows.
    pub fn new(thread: f64, material: &Values, printer: &Values) -> Result<PilotHole, TradeError> {
        let plastic = plastic(material);
        let out = self_tap(&SelfTapInput { screw_mm: thread, plastic })?;
        Ok(PilotHole {
            hole: out.pilot_mm + printer.number("hole_shrink"),
            depth: out.depth_mm,
            relief: (out.relief_mm + printer.number("hole_shrink"), out.relief_depth_mm),
            boss: out.boss_mm,
            edge: out.edge_mm,
            published: out.published,
        })
    }

    /// The blind bore.
    pub fn bore(&self, spot: &Spot) -> CrossBore {
        let mouth = Mouth::Counterbore { radius: 0.5 * self.relief.0, depth: self.relief.1 };
        spot.bore(0.5 * self.hole, mouth, BoreEnd::Depth(self.depth))
    }

    /// The same without the relief, where something thin is clamped on the mouth.
    pub fn plain(&self, spot: &Spot) -> CrossBore {
        spot.bore(0.5 * self.hole, Mouth::Plain, BoreEnd::Depth(self.depth))
    }
}

/// The row of the thread-forming table that stands nearest to a material.
pub(super) fn plastic(material: &Values) -> Plastic {
    let name = material.profile().unwrap_or_default();
    let known: [(&str, Plastic); 6] = [
        ("petg", Plastic::Petg),
        ("abs", Plastic::Abs),
        ("asa", Plastic::Asa),
        ("pa", Plastic::Pa6),
        ("resin", Plastic::Resin),
        ("pla", Plastic::Pla),
    ];
    let found = known.iter().find(|(start, _)| name.starts_with(start));
    found.map_or(Plastic::Pla, |(_, plastic)| *plastic)
}

/// Axes in the section plane: along a direction, and to its left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axes {
    /// The unit direction.
    pub along: Vec2,
    /// A quarter turn counter-clockwise from it.
    pub left: Vec2,
}

impl Axes {
    /// The axes of a direction of any length but zero.
    pub fn new(direction: Vec2) -> Axes {
        let along = direction / direction.norm();
        Axes { along, left: Vec2::new(-along.y, along.x) }
    }

    /// The point `u` to the left and `v` along.
    pub fn point(&self, u: f64, v: f64) -> Vec2 {
        self.left * u + self.along * v
    }

    /// How far a point lies to the left and along.
    pub fn local(&self, p: Vec2) -> (f64, f64) {
        (p.dot(&self.left), p.dot(&self.along))
    }

    /// The rectangle between two distances to the left and two along. Its
    /// corners are not moved to the grid, so that the sides of one rectangle
    /// and those of another in the same axes lie on exactly one line.
    pub fn quad(&self, u: (f64, f64), v: (f64, f64)) -> Region {
        if u.0 >= u.1 || v.0 >= v.1 {
            return Region::empty();
        }
        // Left of `along`: smaller u is to the right, so this runs ccw.
        let corners = [(u.0, v.0), (u.0, v.1), (u.1, v.1), (u.1, v.0)];
        let p = corners.map(|(u, v)| self.point(u, v));
        let sides: Vec<Seg> = (0..4).map(|i| Seg::line(p[i], p[(i + 1) % 4])).collect();
        Region::from_outlines(&[sides]).expect("four sides of a rectangle near the axis close")
    }
}

/// Length of a section's outline on the circle of `radius` mm around the axis,
/// to the left and to the right of a direction, mm: where a part is guided in
/// its bore, or glued to it.
pub fn arcs_on_bore(section: &Region, radius: f64, facing: &Axes) -> [f64; 2] {
    let mut sides = [0.0; 2];
    for s in section.loops().iter().flatten() {
        let Some(arc) = s.arc else { continue };
        if !arc.ccw || arc.centre.norm() > NOISE || (arc.radius - radius).abs() > NOISE {
            continue;
        }
        let (u, v) = facing.local(s.a);
        // Angle from the direction, to the left; an arc is half a turn at most.
        let from = u.atan2(v);
        let to = from + s.sweep();
        let within = |low: f64, high: f64| (to.min(high) - from.max(low)).max(0.0);
        sides[0] += radius * (within(0.0, PI) + within(2.0 * PI, 3.0 * PI));
        sides[1] += radius * (within(-PI, 0.0) + within(PI, 2.0 * PI));
    }
    sides
}

/// Differences below this are float noise, mm.
const NOISE: f64 = 1e-7;

/// Length of a glue land that reaches an area, mm: `area` mm2 over the width of
/// the joint, mm. None if there is no width to glue.
pub fn glue_length(area: f64, width: f64) -> Option<f64> {
    (width > 0.0).then(|| area / width)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Library;
    use crate::solid::{Solid, Stack};

    const DOWN: Spot =
        Spot { direction: Vec2::new(0.0, -1.0), z: 10.0, offset: 0.0, start: f64::NEG_INFINITY };

    fn named(family: &str, name: &str) -> Values {
        Library::shipped().profile(family, name).expect("shipped").clone()
    }

    /// A block 20 x 20 mm, as high as wide and deep.
    fn block(bores: &[CrossBore]) -> Solid {
        let mut stack = Stack::default();
        stack.prism(0.0, 20.0, &Region::rectangle(Vec2::new(-10.0, -10.0), Vec2::new(10.0, 10.0)));
        stack.bored(bores).expect("bores fit")
    }

    fn taken(bores: &[CrossBore]) -> f64 {
        8000.0 - block(bores).properties().volume
    }

    fn cylinder(diameter: f64, length: f64) -> f64 {
        0.25 * PI * diameter * diameter * length
    }

    fn close(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-6 * b.abs(), "{a} is not {b}");
    }

    #[test]
    fn screw_holes_take_hole_and_recess() {
        let printer = named("printers", "fdm-thin");
        let hole = ScrewHole::new(&named("screws", "m3-socket"), "medium", &printer, 0.8);
        // ISO 273 medium 3.4 and 0.15 for the printer; ISO 4762 head 5.5 x 3.
        assert_eq!((hole.hole, hole.recess), (3.55, 5.9));
        assert_eq!((hole.recess_depth, hole.edge), (3.2, 6.0));
        close(taken(&hole.bores(&DOWN)), cylinder(5.9, 3.2) + cylinder(3.55, 20.0 - 3.2));
        let sunk = ScrewHole::new(&named("screws", "m3-countersunk"), "fine", &printer, 0.8);
        assert_eq!((sunk.hole, sunk.cone), (3.35, Some(90.0)));
        let cone = 0.5 * (5.9 - 3.35);
        let (r, q) = (0.5 * 5.9, 0.5 * 3.35);
        let frustum = PI * cone / 3.0 * (r * r + r * q + q * q);
        close(
            taken(&sunk.bores(&DOWN)),
            cylinder(5.9, HEAD_CLEARANCE) + frustum + cylinder(3.35, 20.0 - HEAD_CLEARANCE - cone),
        );
        assert!(sunk.edge >= EDGE_DIAMETERS * sunk.thread);
    }

    #[test]
    fn wider_series_and_larger_threads_need_more_room() {
        let printer = named("printers", "resin-fine");
        let of = |screw, series| ScrewHole::new(&named("screws", screw), series, &printer, 0.4);
        assert!(of("m2-pan", "fine").hole < of("m2-pan", "medium").hole);
        assert!(of("m2-pan", "medium").hole < of("m2-pan", "coarse").hole);
        let edges =
            ["m1.6-pan", "m2-pan", "m2.5-pan", "m3-pan", "m4-pan"].map(|s| of(s, "fine").edge);
        assert!(edges.windows(2).all(|e| e[0] < e[1]), "{edges:?}");
    }

    #[test]
    fn arcs_are_counted_on_their_side() {
        let disc = Region::disc(Vec2::zeros(), 10.0);
        for angle in [0.0, 30.0, 117.0, 250.0] {
            let facing = Axes::new(crate::measure::frame::direction(angle));
            let [left, right] = arcs_on_bore(&disc, 10.0, &facing);
            close(left, 10.0 * PI);
            close(right, 10.0 * PI);
            let half = disc.difference(&facing.quad((0.0, 20.0), (-20.0, 20.0)));
            let [left, right] = arcs_on_bore(&half, 10.0, &facing);
            assert!(left < 1e-6, "{left}");
            close(right, 10.0 * PI);
            let top = disc.intersection(&facing.quad((-20.0, 20.0), (5.0, 20.0)));
            let sides = arcs_on_bore(&top, 10.0, &facing);
            sides.iter().for_each(|&side| close(side, 10.0 * PI / 3.0));
        }
        assert_eq!(glue_length(100.0, 5.0), Some(20.0));
        assert_eq!(glue_length(100.0, 0.0), None);
    }
}
