//! A lamp that a body hides: what is stated of it, and whether it shows.

use std::sync::Arc;

use crate::mesh::{ChordTolerance, Soup, Welder, tessellate};
use crate::sight::{Counts, Hole, Lamp, Scene, Shell, Shown, Sightline, Tree, look};
use crate::solid::Solid;
use crate::survey::Chassis;

/// A lamp that should light a stone and not be seen itself.
#[derive(Clone, Debug)]
pub struct Sight {
    /// The lamp as it sits, at its nominal size.
    pub lamp: Lamp,
    /// Solids besides the body that nothing shines through.
    pub around: Vec<Solid>,
    /// The chassis that it sits in, through which nothing shines either.
    pub chassis: Option<Arc<Chassis>>,
    /// The stone.
    pub stone: Solid,
    /// The stone's refractive index.
    pub index: f64,
    /// Where the end of the stone that is lit lies, from and to z mm.
    pub end: (f64, f64),
    /// The handle with its window.
    pub shell: Shell,
    /// What the lamp shines through to the stone.
    pub hole: Hole,
    /// Narrowest such hole that is worth making, mm as drawn.
    pub least_hole: f64,
    /// What the printed hole shrinks by, mm: a hole is entered that much
    /// narrower than it is drawn.
    pub shrinks: f64,
    /// Path of the job's field for the width of the hole.
    pub field: String,
}

/// Narrower by this, mm, than the hole that lets the last line pass: a
/// hundredth is the grid of what is entered.
const NARROWER: f64 = 0.01;

impl Sight {
    /// Looks at a body with what is around it; none where something cannot be
    /// meshed.
    pub fn see(&self, body: &Soup, counts: Counts) -> Option<Shown> {
        let mut walls = Welder::default();
        let mut add = |soup: &Soup| {
            (0..soup.triangles().len()).try_for_each(|i| walls.push(soup.corners(i)).ok())
        };
        let meshed =
            |solid| tessellate(solid, &ChordTolerance::default()).ok().map(|m| Soup::from(&m));
        add(body)?;
        for solid in &self.around {
            add(&meshed(solid)?)?;
        }
        let scene = Scene {
            walls: Tree::new(&walls.finish()),
            stone: Tree::new(&meshed(&self.stone)?),
            index: self.index,
            shell: self.shell,
            chassis: self.chassis.as_ref().map(|chassis| chassis.tree()),
        };
        Some(look(&scene, &self.lamp, self.end, counts))
    }

    /// The widest hole, mm as entered, that hides a lamp which shows along `lines`
    /// through the one it has; none where a hole worth making does not.
    pub fn hiding(&self, lines: &[Sightline]) -> Option<f64> {
        let drawn = self.hole.stops_all(lines)? - NARROWER;
        let step = 1.0 / NARROWER;
        (drawn >= self.least_hole).then(|| ((drawn - self.shrinks) * step).floor() / step)
    }
}
