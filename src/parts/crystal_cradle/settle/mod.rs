//! Where a stone comes to rest in its seat: it sinks by its own weight, without
//! friction, until its places of contact hold it.
//!
//! Each round lets the stone move a little, as a rigid body: its centre of mass
//! goes down as far as the walls beside its points allow, which is a linear
//! program. The multipliers of the last one are the forces at the contacts.

mod program;

use nalgebra::{Rotation3, SVector};

use super::super::Computed;
use super::seat::Wall;
use crate::measure::{Unit, Vec3};
use program::{Bound, Deepest, Motion, deepest};

/// How far a point moves in one round at most, mm, along each of the six ways
/// to move, to begin with. The turns of a stone are followed up to their square
/// over twice its half length, 0.0005 mm for one of 10 mm.
const ROUND: f64 = 0.1;

/// Rounds after which no rest is expected.
const ROUNDS: usize = 500;

/// Way down in a round below which the stone is at rest, mm: what no caliper
/// tells apart.
const AT_REST: f64 = 1e-4;

/// Share of the weight that contacts may leave unbalanced in a stone at rest: what
/// the steps of a facetted seat and friction take.
const UNBALANCED: f64 = 0.02;

/// Shares of the weight below this are none: float noise.
const NO_FORCE: f64 = 1e-6;

/// Contacts nearer to each other than this, mm, are one place.
const ONE_PLACE: f64 = 0.5;

/// A place that holds the stone.
#[derive(Clone, Copy, Debug)]
pub(super) struct Touch {
    /// Where, in the handle's frame, mm.
    pub at: Vec3,
    /// Share of the stone's weight that rests on it; none where the stone only
    /// leans against an upright wall.
    pub share: f64,
}

/// A stone at rest.
#[derive(Clone, Debug)]
pub(super) struct Rest {
    /// The places that hold it, from low to high z.
    pub touches: Vec<Touch>,
    /// How far its centre of mass has come down, mm.
    pub down: f64,
    /// How far it has turned on its way, degrees.
    pub turned: f64,
}

impl Rest {
    /// Rows of the report.
    pub fn computed(&self) -> Vec<Computed> {
        let mut out = Vec::new();
        let mut row = |key: &str, what: &str, value: f64, unit| {
            out.push(Computed::new(key, what, value, unit));
        };
        let places = self.touches.len() as f64;
        row("rest_places", "places on which the stone rests, window up", places, Unit::One);
        row("rest_down", "how far it sinks until it rests on them", self.down, Unit::Mm);
        row("rest_turned", "how far it turns with that", self.turned, Unit::Degrees);
        for (k, touch) in self.touches.iter().enumerate() {
            let k = k + 1;
            let what = format!("place {k} on which it rests: along the bore");
            row(&format!("rest_{k}_z"), &what, touch.at.z, Unit::Mm);
            row(&format!("rest_{k}_x"), "beside the bore's axis", touch.at.x, Unit::Mm);
            row(&format!("rest_{k}_y"), "above it", touch.at.y, Unit::Mm);
            let share = 100.0 * touch.share;
            row(&format!("rest_{k}_share"), "share of the weight there", share, Unit::Percent);
        }
        out
    }
}

/// A stone that can move.
struct Stone {
    points: Vec<Vec3>,
    /// How far each point is from all walls at least, mm.
    free: Vec<f64>,
    centre: Vec3,
    /// Distance of the furthest point from the centre of mass, mm: turns count
    /// as the way of that point.
    reach: f64,
}

/// Visits the walls around a point.
type Walls<'w> = dyn Fn(Vec3, &mut dyn FnMut(Wall)) + 'w;

/// Lets a stone sink between walls from where it lies: `points` of its surface,
/// inside the walls, and its centre of mass, mm. None where no places were found
/// that hold it.
pub(super) fn settled(walls: &Walls<'_>, points: Vec<Vec3>, centre: Vec3) -> Option<Rest> {
    let reach = points.iter().map(|p| (p - centre).norm()).fold(0.0, f64::max);
    let start = centre;
    let free = vec![0.0; points.len()];
    let mut stone = Stone { points, free, centre, reach };
    let mut turned = Rotation3::identity();
    let mut round = ROUND;
    let mut before = Motion::zeros();
    for _ in 0..ROUNDS {
        let bounds = stone.bounds(walls, round);
        let Deepest { motion: step, forces, free } = deepest(&bounds, round)?;
        let shift: Vec3 = step.fixed_rows::<3>(0).into();
        let turn = Rotation3::new(step.fixed_rows::<3>(3) / stone.reach);
        stone.moved(shift, turn);
        turned = turn * turned;
        let balanced = free < UNBALANCED;
        if -shift.y < AT_REST && balanced {
            let touches = touches(&stone, &bounds, &forces);
            let down = start.y - stone.centre.y;
            let turned = turned.angle().to_degrees();
            return (!touches.is_empty()).then_some(Rest { touches, down, turned });
        }
        // To and fro about its place, or held by contacts alone: closer steps show more.
        // Where it only tips slowly, the way goes on as wide.
        if balanced || step.dot(&before) < 0.0 {
            round /= 2.0;
        }
        before = step;
    }
    None
}

impl Stone {
    fn moved(&mut self, shift: Vec3, turn: Rotation3<f64>) {
        let centre = self.centre;
        self.points.iter_mut().for_each(|p| *p = centre + turn * (*p - centre) + shift);
        self.centre += shift;
        let most = shift.norm() + turn.angle() * self.reach;
        self.free.iter_mut().for_each(|f| *f -= most);
    }

    /// What keeps its points between the walls in the next round.
    fn bounds(&mut self, walls: &Walls<'_>, round: f64) -> Vec<Bound> {
        // No point moves further in a round: the six ways at once.
        let most = round * 2.0 * 3.0_f64.sqrt();
        let mut bounds = Vec::new();
        for (point, p) in self.points.iter().enumerate() {
            // What the round cannot reach does not matter.
            if self.free[point] > most {
                continue;
            }
            let mut free = f64::INFINITY;
            walls(*p, &mut |wall: Wall| {
                free = free.min(wall.gap);
                if wall.gap < most {
                    let n = wall.normal;
                    let lever = (p - self.centre).cross(&n) / self.reach;
                    let along = SVector::from([n.x, n.y, n.z, lever.x, lever.y, lever.z]);
                    bounds.push(Bound { along, room: wall.gap.max(0.0), point });
                }
            });
            self.free[point] = free;
        }
        bounds
    }
}

/// The places of contact: bounds with forces, those that are near as one.
fn touches(stone: &Stone, bounds: &[Bound], forces: &[(usize, f64)]) -> Vec<Touch> {
    let mut out: Vec<(f64, Touch)> = Vec::new();
    for &(bound, force) in forces.iter().filter(|f| f.1 > NO_FORCE) {
        let at = stone.points[bounds[bound].point];
        let share = (-force * bounds[bound].along[1]).max(0.0);
        match out.iter_mut().find(|(_, t)| (t.at - at).norm() < ONE_PLACE) {
            Some((most, touch)) => {
                touch.share += share;
                // The place of the larger force.
                if force > *most {
                    (*most, touch.at) = (force, at);
                }
            }
            None => out.push((force, Touch { at, share })),
        }
    }
    out.sort_by(|a, b| a.1.at.z.total_cmp(&b.1.at.z).then(a.1.at.x.total_cmp(&b.1.at.x)));
    out.into_iter().map(|(_, touch)| touch).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A trough of two planes at 45 degrees through (0, -10), and its low end.
    fn trough(p: Vec3, visit: &mut dyn FnMut(Wall)) {
        let half = 0.5_f64.sqrt();
        for side in [1.0, -1.0] {
            let normal = Vec3::new(side * half, -half, 0.0);
            visit(Wall { normal, gap: 10.0 * half - normal.dot(&p) });
        }
        visit(Wall { normal: -Vec3::z(), gap: p.z });
    }

    fn bar(radius: f64, length: f64) -> Vec<Vec3> {
        let ring = |z: f64| {
            (0..360).map(move |k| {
                let (sin, cos) = f64::from(k).to_radians().sin_cos();
                Vec3::new(radius * cos, radius * sin, z)
            })
        };
        ring(0.0).chain(ring(length)).collect()
    }

    /// A bar in a trough lies on both planes at both of its ends, and each end
    /// carries by how near the centre of mass is to it.
    #[test]
    fn a_bar_in_a_trough_shares_its_weight_by_its_levers() {
        let rest = settled(&trough, bar(3.0, 20.0), Vec3::new(0.0, 0.0, 5.0)).expect("held");
        // Its axis comes to lie the radius over both planes.
        let wanted = 10.0 - 3.0 * 2.0_f64.sqrt();
        assert!((rest.down - wanted).abs() < 2e-3, "{} is not {wanted}", rest.down);
        let at = |z: f64| -> f64 {
            let near = rest.touches.iter().filter(|t| (t.at.z - z).abs() < 0.1);
            near.map(|t| t.share).sum()
        };
        assert!((at(0.0) - 0.75).abs() < 1e-3 && (at(20.0) - 0.25).abs() < 1e-3, "{rest:?}");
        assert!(rest.turned < 1.0, "{rest:?}");
    }

    /// A stone that is widest a little beside its centre of mass tips slowly, and goes
    /// on until its thin end lies on the trough.
    #[test]
    fn a_stone_that_tips_slowly_goes_on_until_it_is_in_balance() {
        let ring = |radius: f64, z: f64| {
            (0..360).map(move |k| {
                let (sin, cos) = f64::from(k).to_radians().sin_cos();
                Vec3::new(radius * cos, radius * sin, z)
            })
        };
        let points = ring(1.0, 0.5).chain(ring(3.0, 10.0)).chain(ring(1.0, 20.0)).collect();
        let rest = settled(&trough, points, Vec3::new(0.0, 0.0, 9.0)).expect("held");
        // In balance about its centre of mass, which nothing moves along.
        let all: f64 = rest.touches.iter().map(|t| t.share).sum();
        let middle: f64 = rest.touches.iter().map(|t| t.share * t.at.z).sum();
        assert!((all - 1.0).abs() < 1e-3 && (middle - 9.0).abs() < 0.01, "{rest:?}");
        assert!(rest.turned > 8.0, "{rest:?}");
    }

    #[test]
    fn a_stone_that_nothing_holds_has_no_rest() {
        assert!(settled(&|_, _| (), bar(3.0, 20.0), Vec3::zeros()).is_none());
    }
}
