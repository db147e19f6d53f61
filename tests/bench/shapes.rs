//! Shapes to measure: what an insert for a handle looks like.

use borewright::measure::Vec2;
use borewright::section::Region;
use borewright::solid::{BoreEnd, BoreProfile, CrossBore, Mouth, Solid, Stack};
use serde_json::{Value, json};

use crate::piece::{bore_value, region_value};

/// A stack of prisms with bores.
pub struct Shape {
    pub name: &'static str,
    pub slabs: Vec<(f64, f64, Region)>,
    pub bores: Vec<CrossBore>,
}

impl Shape {
    pub fn stack(&self) -> Stack {
        let mut stack = Stack::default();
        for (bottom, top, section) in &self.slabs {
            stack.prism(*bottom, *top, section);
        }
        stack
    }

    pub fn solid(&self) -> Solid {
        self.stack().bored(&self.bores).expect("a shape that can be made")
    }

    /// As the referees read it.
    pub fn described(&self) -> Value {
        let slab = |(z0, z1, s): &(f64, f64, Region)| json!([z0, z1, region_value(s)]);
        json!({
            "name": self.name,
            "slabs": self.slabs.iter().map(slab).collect::<Value>(),
            "bores": self.bores.iter().map(bore_value).collect::<Value>(),
        })
    }
}

fn disc(radius: f64) -> Region {
    Region::disc(Vec2::zeros(), radius)
}

fn hole(z: f64, radius: f64, end: BoreEnd) -> CrossBore {
    CrossBore {
        direction: Vec2::y(),
        z,
        offset: 0.0,
        start: f64::NEG_INFINITY,
        profile: BoreProfile::Round { radius },
        mouth: Mouth::Plain,
        end,
    }
}

/// A rod with a flat, a stone's pocket, a light channel, a groove for a ring and
/// a hole for a screw.
fn cradle() -> Shape {
    let rod =
        disc(12.6).difference(&Region::rectangle(Vec2::new(-20.0, 9.0), Vec2::new(20.0, 20.0)));
    let light = rod.difference(&disc(3.0));
    let groove = light.intersection(&disc(11.4));
    let pocket = rod.difference(&Region::slot(Vec2::new(-3.0, 0.0), Vec2::new(3.0, 0.0), 5.5));
    Shape {
        name: "cradle",
        slabs: vec![
            (0.0, 6.0, light.clone()),
            (6.0, 8.4, groove),
            (8.4, 26.0, light),
            (26.0, 40.0, pocket),
        ],
        bores: vec![hole(17.0, 1.7, BoreEnd::NextWall)],
    }
}

/// A tube with twelve cross holes.
fn vented_tube() -> Shape {
    let tube = disc(13.0).difference(&disc(11.0));
    let bores = (0..12).map(|i| hole(5.0 + 6.0 * f64::from(i), 1.5, BoreEnd::AllWalls)).collect();
    Shape { name: "tube with 12 bores", slabs: vec![(0.0, 76.0, tube)], bores }
}

/// A switch carrier of forty slabs: ribs, slots and channels.
fn ribbed() -> Shape {
    let shell = disc(14.0).difference(&disc(11.5));
    let slot = Region::rectangle(Vec2::new(-3.0, 5.0), Vec2::new(3.0, 20.0));
    let rib = Region::rectangle(Vec2::new(-12.0, -1.0), Vec2::new(12.0, 1.0));
    let channel = Region::disc(Vec2::new(0.0, -12.0), 1.0);
    let sections = [
        shell.clone(),
        shell.union(&rib),
        shell.difference(&slot).union(&rib),
        shell.union(&rib).difference(&channel),
    ];
    let slabs = (0..40)
        .map(|i| (2.0 * f64::from(i), 2.0 * f64::from(i + 1), sections[i as usize % 4].clone()))
        .collect();
    Shape { name: "40 ribbed slabs", slabs, bores: Vec::new() }
}

/// All shapes to compare on.
pub fn all() -> Vec<Shape> {
    vec![cradle(), vented_tube(), ribbed()]
}

/// A tube that grows by one kind of feature.
pub fn growing(what: &'static str, n: usize) -> Shape {
    let tube = |r: f64| disc(r).difference(&disc(11.0));
    if what == "bores" {
        let bores = (0..n).map(|i| hole(5.0 + 4.0 * i as f64, 1.5, BoreEnd::AllWalls)).collect();
        let slabs = vec![(0.0, 10.0 + 4.0 * n as f64, tube(13.0))];
        return Shape { name: what, slabs, bores };
    }
    let sections = [tube(13.0), tube(14.0)];
    let slabs = (0..n).map(|i| (i as f64, (i + 1) as f64, sections[i % 2].clone())).collect();
    Shape { name: what, slabs, bores: Vec::new() }
}
