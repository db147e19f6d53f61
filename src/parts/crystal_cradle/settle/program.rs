//! A small linear program: six ways to move, many walls.

use nalgebra::{DMatrix, DVector, SVector};

/// A small motion: shift, mm, and turn about the centre of mass, as the way of
/// the stone's furthest point, mm.
pub(super) type Motion = SVector<f64, 6>;

/// `along . motion <= room`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bound {
    /// Unit normal of a wall and its levers.
    pub along: Motion,
    /// mm, 0 or more.
    pub room: f64,
    /// Number of the point that it holds.
    pub point: usize,
}

/// Float noise of a motion of unit length.
const NOISE: f64 = 1e-9;

/// Steps after which no end is expected: a few times the number of ways to move
/// is usual.
const STEPS: usize = 2000;

/// Bounds that are looked at first, and that join them at a time.
const AT_A_TIME: usize = 12;

/// The deepest motion of a round.
#[derive(Clone, Debug)]
pub(super) struct Deepest {
    pub motion: Motion,
    /// The bounds that hold it there by their numbers, with their forces as shares
    /// of the weight.
    pub forces: Vec<(usize, f64)>,
    /// What the round itself holds by its limit, as a share of the weight: how far
    /// the centre of mass would go on down for each mm more of it. 0 in balance.
    pub free: f64,
}

/// The motion within `most` mm along each way that takes the centre of mass
/// deepest towards -y; none if no end was found.
///
/// Only the nearest bounds are looked at first; those that the motion breaks join
/// them until it breaks none.
pub(super) fn deepest(bounds: &[Bound], most: f64) -> Option<Deepest> {
    let mut order: Vec<usize> = (0..bounds.len()).collect();
    order.sort_by(|&i, &j| bounds[i].room.total_cmp(&bounds[j].room).then(i.cmp(&j)));
    let mut chosen: Vec<usize> = order.iter().copied().take(AT_A_TIME).collect();
    loop {
        let found =
            within(bounds, &chosen, most, 0.0).or_else(|| within(bounds, &chosen, most, PARTED))?;
        let mut broken: Vec<(f64, usize)> = bounds
            .iter()
            .enumerate()
            .map(|(i, b)| (b.along.dot(&found.motion) - b.room, i))
            .filter(|(by, i)| *by > NOISE && !chosen.contains(i))
            .collect();
        if broken.is_empty() {
            return Some(found);
        }
        broken.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        chosen.extend(broken.iter().map(|b| b.1).take(AT_A_TIME));
    }
}

/// How far bounds that meet in a point are moved apart where the steps among them go
/// round in a circle, mm.
const PARTED: f64 = 1e-6;

/// The same for the chosen bounds, moved apart by `parted` mm at most.
///
/// An active set: the motion goes straight down as far as the held bounds let
/// it, takes hold of the bound that stops it, and lets go of one that pulls.
fn within(bounds: &[Bound], chosen: &[usize], most: f64, parted: f64) -> Option<Deepest> {
    // Each by another share, far from each other for neighbours.
    let share = |k: usize| (k as f64 * 0.618_033_988_75).fract();
    let mut all: Vec<(Motion, f64)> = (chosen.iter().enumerate())
        .map(|(k, &i)| (bounds[i].along, bounds[i].room + parted * share(k)))
        .collect();
    for way in 0..6 {
        for sign in [1.0, -1.0] {
            let mut along = Motion::zeros();
            along[way] = sign;
            all.push((along, most));
        }
    }
    let mut down = Motion::zeros();
    down[1] = -1.0;
    let mut at = Motion::zeros();
    let mut held: Vec<usize> = Vec::new();
    for _ in 0..STEPS {
        let forces = forces(&all, &held, &down);
        let pulled: Motion = held.iter().zip(&forces).map(|(&i, f)| all[i].0 * *f).sum();
        let way = down - pulled;
        if way.norm() > NOISE {
            let way = way.normalize();
            let stop = (0..all.len())
                .filter(|i| !held.contains(i))
                .filter_map(|i| {
                    let (along, room) = &all[i];
                    let pace = along.dot(&way);
                    (pace > NOISE).then(|| (((room - along.dot(&at)) / pace).max(0.0), i))
                })
                .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            let (far, bound) = stop?;
            at += way * far;
            held.push(bound);
            continue;
        }
        // The lowest number, so that it never goes round in a circle.
        let pulls = (0..held.len()).filter(|&k| forces[k] < -NOISE).min_by_key(|&k| held[k]);
        match pulls {
            Some(k) => {
                held.remove(k);
            }
            None => {
                let (real, limits): (Vec<_>, Vec<_>) =
                    held.iter().zip(forces).partition(|(i, _)| **i < chosen.len());
                let free = limits.iter().map(|(_, force)| force).sum();
                let forces = real.into_iter().map(|(i, f)| (chosen[*i], f)).collect();
                return Some(Deepest { motion: at, forces, free });
            }
        }
    }
    None
}

/// The forces of the held bounds that come nearest to holding the weight.
fn forces(all: &[(Motion, f64)], held: &[usize], down: &Motion) -> Vec<f64> {
    if held.is_empty() {
        return Vec::new();
    }
    let columns = DMatrix::from_fn(6, held.len(), |row, k| all[held[k]].0[row]);
    let wanted = DVector::from_iterator(6, down.iter().copied());
    let solved = columns.svd(true, true).solve(&wanted, NOISE);
    solved.map_or_else(|_| vec![0.0; held.len()], |f| f.iter().copied().collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bound(along: [f64; 6], room: f64) -> Bound {
        Bound { along: Motion::from(along), room, point: 0 }
    }

    #[test]
    fn it_slides_down_a_slope_into_its_corner() {
        let half = 0.5_f64.sqrt();
        let slope = bound([half, -half, 0.0, 0.0, 0.0, 0.0], 0.0);
        let wall = bound([-1.0, 0.0, 0.0, 0.0, 0.0, 0.0], 0.03);
        let Deepest { motion: at, forces, free } = deepest(&[slope, wall], 1.0).expect("held");
        assert!(free.abs() < 1e-9, "{free}");
        assert!((at[0] + 0.03).abs() < 1e-12 && (at[1] + 0.03).abs() < 1e-12, "{at}");
        // The slope carries all of the weight, and pushes as much aside.
        let force = |i: usize| forces.iter().find(|f| f.0 == i).map_or(0.0, |f| f.1);
        assert!((force(0) - 2.0_f64.sqrt()).abs() < 1e-9, "{forces:?}");
        assert!((force(1) - 1.0).abs() < 1e-9, "{forces:?}");
    }

    #[test]
    fn what_nothing_holds_goes_as_far_as_it_may() {
        let Deepest { motion, forces, free } = deepest(&[], 0.5).expect("the way is bounded");
        assert_eq!((motion[1], forces.len()), (-0.5, 0));
        assert!((free - 1.0).abs() < 1e-12, "{free}");
    }

    /// Against all corners of random programs: no feasible point is deeper.
    #[test]
    fn no_feasible_motion_is_deeper() {
        let mut rng = fastrand::Rng::with_seed(12);
        for _ in 0..200 {
            let bounds: Vec<Bound> = (0..30)
                .map(|_| {
                    let mut along = Motion::from_fn(|_, _| rng.f64() - 0.5);
                    along[1] -= 0.4;
                    bound(along.normalize().into(), 0.3 * rng.f64())
                })
                .collect();
            let Deepest { motion: at, forces, free } = deepest(&bounds, 1.0).expect("held");
            for b in &bounds {
                assert!(b.along.dot(&at) <= b.room + 1e-9);
            }
            // Forces that only push and hold the weight prove that it is deepest,
            // where the box is not reached.
            if at.iter().all(|v| v.abs() < 0.999) {
                let sum: Motion = forces.iter().map(|(i, f)| bounds[*i].along * *f).sum();
                assert!(forces.iter().all(|f| f.1 >= -1e-9) && free.abs() < 1e-9);
                assert!((sum - Motion::from([0.0, -1.0, 0.0, 0.0, 0.0, 0.0])).norm() < 1e-7);
                for (i, f) in &forces {
                    let slack = bounds[*i].room - bounds[*i].along.dot(&at);
                    assert!(*f < 1e-9 || slack.abs() < 1e-9);
                }
            }
        }
    }
}
