//! Following light through a scene.

use std::sync::Arc;

use super::bend::bend;
use super::ray::{Hit, Ray};
use super::shell::Shell;
use super::tree::Tree;
use crate::measure::Vec3;

/// Surfaces of the stone that one ray is followed across.
const SURFACES: u32 = 12;
/// Share of a ray's light below which it is not followed.
const FAINT: f64 = 0.01;
/// How far from a surface that it has just met, or starts on, a ray looks, mm: above the
/// noise of doubles at a metre, below anything that is printed.
const OFF: f64 = 1e-7;

/// What light meets.
#[derive(Clone, Debug)]
pub struct Scene {
    /// Surfaces that take all light, black.
    pub walls: Tree,
    /// A clear, smooth body in air, closed and outward, with its refractive
    /// index; it may be empty.
    pub stone: Tree,
    /// Its refractive index.
    pub index: f64,
    /// What is around.
    pub shell: Shell,
    /// A closed, outward mesh around all of it that takes all light as well, inside
    /// the shell and beyond it; shared, for it may be large.
    pub chassis: Option<Arc<Tree>>,
}

/// Where a ray's way ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// Out through the window.
    Seen,
    /// At a wall, or at the shell beside the window.
    Taken,
    /// At the shell, or nowhere, beyond the ends of the window.
    Beyond,
    /// Not followed any further.
    Dropped,
}

/// One way that a part of a ray's light takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passage {
    /// Share of the ray's light.
    pub share: f64,
    /// Surfaces of the stone that it has passed.
    pub passed: u32,
    /// Surfaces of the stone that have mirrored it.
    pub mirrored: u32,
    /// How it ends.
    pub end: End,
    /// Its last leg.
    pub last: Ray,
    /// Length of that, mm; infinite where it meets nothing.
    pub reach: f64,
}

struct Leg {
    ray: Ray,
    inside: bool,
    share: f64,
    passed: u32,
    mirrored: u32,
    near: f64,
}

impl Scene {
    /// Follows a ray from a point in air, and tells `each` of all ways that its
    /// light takes; answers where it met the stone first, if nothing came
    /// before.
    pub fn follow(&self, ray: Ray, mut each: impl FnMut(&Passage)) -> Option<Vec3> {
        let mut first = None;
        let start = Leg { ray, inside: false, share: 1.0, passed: 0, mirrored: 0, near: OFF };
        let mut legs = vec![start];
        while let Some(leg) = legs.pop() {
            let Leg { ray, inside, share, passed, mirrored, near } = leg;
            let (hit, end, reach) = if inside {
                let hit = self.stone.first(&ray, (near, f64::INFINITY));
                (hit, End::Dropped, f64::INFINITY)
            } else {
                self.in_air(&ray, near)
            };
            let tell = |each: &mut dyn FnMut(&Passage), end, share| {
                each(&Passage { share, passed, mirrored, end, last: ray, reach });
            };
            let Some(Hit { triangle, reach }) = hit else {
                tell(&mut each, end, share);
                continue;
            };
            let at = ray.at(reach);
            if passed + mirrored == 0 {
                first = Some(at);
            }
            if passed + mirrored >= SURFACES {
                tell(&mut each, End::Dropped, share);
                continue;
            }
            let ratio = if inside { self.index } else { 1.0 / self.index };
            let met = bend(&ray.along, &self.stone.normal(triangle), ratio);
            let mut go = |along, share, inside, passed, mirrored| {
                if share < FAINT {
                    tell(&mut each, End::Dropped, share);
                    return;
                }
                let ray = Ray { from: at, along };
                legs.push(Leg { ray, inside, share, passed, mirrored, near: OFF });
            };
            go(met.mirrored, share * met.share, inside, passed, mirrored + 1);
            if let Some(along) = met.passed {
                go(along, share * (1.0 - met.share), !inside, passed + 1, mirrored);
            }
        }
        first
    }

    /// The stone's surface that a ray in air meets, or how and where it ends.
    fn in_air(&self, ray: &Ray, near: f64) -> (Option<Hit>, End, f64) {
        let leaving = self.shell.leaving(ray);
        let wall = self.walls.first(ray, (near, leaving.reach)).map(|hit| hit.reach);
        let until = wall.unwrap_or(leaving.reach);
        let of_chassis = |span| Some(self.chassis.as_ref()?.first(ray, span)?.reach);
        let wall = of_chassis((near, until)).or(wall);
        let until = wall.unwrap_or(until);
        if let Some(hit) = self.stone.first(ray, (near, until)) {
            return (Some(hit), End::Dropped, until);
        }
        let end = match wall {
            Some(_) => End::Taken,
            None if leaving.seen && of_chassis((until, f64::INFINITY)).is_some() => End::Taken,
            None if leaving.seen => End::Seen,
            None if !until.is_finite() || self.shell.beyond(ray.at(until).z) => End::Beyond,
            None => End::Taken,
        };
        (None, end, until)
    }

    /// Whether nothing at all is between a point in air and another, which lies on
    /// the shell, nor the chassis beyond that.
    pub fn clear(&self, from: Vec3, to: Vec3) -> bool {
        let way = to - from;
        let Some(along) = way.try_normalize(0.0) else { return true };
        let (ray, span) = (Ray { from, along }, (OFF, way.norm()));
        let shaded = |chassis: &Arc<Tree>| chassis.any(&ray, (OFF, f64::INFINITY));
        !self.walls.any(&ray, span)
            && !self.stone.any(&ray, span)
            && !self.chassis.as_ref().is_some_and(shaded)
    }
}
