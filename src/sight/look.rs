//! What of a lamp shows, and where its light goes.

use serde::Serialize;

use super::lamp::{Lamp, lambert, spread};
use super::ray::Ray;
use super::scene::{End, Scene};
use crate::measure::Vec3;
use crate::parallel::each;

/// Share of a ray's light from which what it shows counts as the lamp itself.
/// Fainter, it is a reflex. Common practice, no source.
const PLAIN: f64 = 0.1;

/// How many rays are sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counts {
    /// Groups with places and directions of their own; the scatter between
    /// them gives the error. At least 2; default 16.
    pub groups: usize,
    /// Points of the front in a group, and as many of the sides; default 8.
    pub points: usize,
    /// Rays from each point of the front, by Lambert's law, and a quarter of
    /// them from each of the sides, which lie in their pocket; default 96.
    pub rays: usize,
    /// Straight lines from each point to points of the window; default 24.
    pub lines: usize,
}

impl Default for Counts {
    fn default() -> Self {
        Counts { groups: 16, points: 8, rays: 96, lines: 24 }
    }
}

impl Counts {
    fn rays_from(&self, side: bool) -> usize {
        if side { self.rays / 4 } else { self.rays }
    }

    /// All rays and lines.
    pub fn all(&self) -> usize {
        let rays = self.rays_from(false) + self.rays_from(true) + 2 * self.lines;
        self.groups * self.points * rays
    }
}

/// A share with its error.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Share {
    /// Percent.
    pub percent: f64,
    /// Standard error from the scatter between the groups, percent.
    pub error: f64,
}

/// A line along which the lamp shows.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sightline {
    /// The point of the lamp, mm.
    pub from: [f64; 3],
    /// Unit direction in which the line leaves it.
    pub along: [f64; 3],
    /// Where the line passes the window, mm.
    pub window: [f64; 3],
    /// Unit direction in which it comes out there.
    pub out: [f64; 3],
    /// Share of the light that comes along it.
    pub share: f64,
    /// Whether it passes the stone.
    pub through_stone: bool,
}

/// What [`look`] finds.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shown {
    /// Rays and lines that were followed.
    pub rays: usize,
    /// Share of the lamp's surface, front and sides, that shows past the stone.
    pub past_stone: Share,
    /// Share of that surface that shows through the stone, without a mirror
    /// image in it.
    pub through_stone: Share,
    /// Share of that surface that lies in the chassis' material; none where there is
    /// no chassis.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_chassis: Option<Share>,
    /// Share of the front's light that reaches the stone.
    pub to_stone: Share,
    /// Share of the front's light that reaches the stone's end.
    pub to_end: Share,
    /// Share of the front's light that leaves the window straight, past the
    /// stone.
    pub light_past: Share,
    /// Share of it that leaves the window through the stone, without a mirror
    /// image.
    pub light_through: Share,
    /// Share of it that the stone mirrors before it leaves the window: the
    /// glow.
    pub light_mirrored: Share,
    /// Share of it that goes beyond the ends of the window, inside the handle.
    pub light_beyond: Share,
    /// Share of it that was not followed to its end.
    pub light_dropped: Share,
    /// Lines along which it shows, strongest first, those past the stone
    /// before those through it.
    pub lines: Vec<Sightline>,
}

/// Sums of one group.
#[derive(Clone, Debug, Default)]
struct Sums {
    /// Points of front and sides: that show past the stone, that show through it,
    /// that lie in the chassis.
    points: [[f64; 2]; 3],
    /// Light of the front, in the order of [`Shown`].
    light: [f64; 7],
    lines: Vec<Sightline>,
}

/// Sends rays from the lamp: by Lambert's law from points of its front and its
/// sides, and straight to points of the window, so that no direction in which
/// an eye could look in is left out. `end` is where the stone's end lies, from
/// and to z mm. The same scene gives the same numbers.
pub fn look(scene: &Scene, lamp: &Lamp, end: (f64, f64), counts: Counts) -> Shown {
    let numbers = (0..counts.groups).collect();
    let groups = each(numbers, |group| sums(scene, lamp, end, counts, group));
    let each = |value: &dyn Fn(&Sums) -> f64| share(groups.iter().map(value));
    let points = counts.points as f64;
    let (front, sides) = (lamp.front(), lamp.sides());
    let surface = |way: usize| {
        each(&|s: &Sums| {
            let [of_front, of_sides] = s.points[way];
            (of_front * front + of_sides * sides) / (points * (front + sides))
        })
    };
    let light = |i: usize| each(&|s: &Sums| s.light[i] / (points * counts.rays as f64));
    let mut lines: Vec<Sightline> = groups.iter().flat_map(|g| g.lines.iter().copied()).collect();
    lines.sort_by(|a, b| a.through_stone.cmp(&b.through_stone).then(b.share.total_cmp(&a.share)));
    Shown {
        rays: counts.all(),
        past_stone: surface(0),
        through_stone: surface(1),
        in_chassis: scene.chassis.as_ref().map(|_| surface(2)),
        to_stone: light(0),
        to_end: light(1),
        light_past: light(2),
        light_through: light(3),
        light_mirrored: light(4),
        light_beyond: light(5),
        light_dropped: light(6),
        lines,
    }
}

fn share(values: impl ExactSizeIterator<Item = f64> + Clone) -> Share {
    let n = values.len() as f64;
    let mean = values.clone().sum::<f64>() / n;
    let square = values.map(|v| (v - mean).powi(2)).sum::<f64>();
    let error = (square / (n * (n - 1.0).max(1.0))).sqrt();
    Share { percent: 100.0 * mean, error: 100.0 * error }
}

fn sums(scene: &Scene, lamp: &Lamp, end: (f64, f64), counts: Counts, group: usize) -> Sums {
    let mut rng = fastrand::Rng::with_seed(group as u64);
    let mut shift = || [rng.f64(), rng.f64()];
    let mut sums = Sums::default();
    for side in [false, true] {
        let start = shift();
        for k in 0..counts.points {
            let place = spread(k, start);
            let (from, ahead) = if side { lamp.on_sides(place) } else { lamp.on_front(place) };
            let (ways, panes) = (shift(), shift());
            let covered = scene.chassis.as_ref().is_some_and(|chassis| chassis.holds(&from));
            let mut shows = [false, false, covered];
            for i in 0..counts.rays_from(side) {
                let ray = lambert(from, ahead, spread(i, ways));
                let before = sums.lines.len();
                let light = trace(scene, ray, end, &mut sums.lines);
                for line in &sums.lines[before..] {
                    shows[usize::from(line.through_stone)] = true;
                }
                if !side {
                    sums.light.iter_mut().zip(light).for_each(|(sum, l)| *sum += l);
                }
            }
            for i in 0..counts.lines {
                let [across, along] = spread(i, panes);
                let pane = scene.shell.pane(across, along);
                if (pane - from).dot(&ahead) > 0.0 && scene.clear(from, pane) {
                    shows[0] = true;
                    let along = (pane - from).normalize().into();
                    let window = pane.into();
                    sums.lines.push(Sightline {
                        from: from.into(),
                        along,
                        window,
                        out: along,
                        share: 1.0,
                        through_stone: false,
                    });
                }
            }
            for (points, shows) in sums.points.iter_mut().zip(shows) {
                points[usize::from(side)] += f64::from(u8::from(shows));
            }
        }
    }
    sums
}

/// Where the light of one ray goes, in the order of [`Shown`], and the lines
/// along which it shows the lamp.
fn trace(scene: &Scene, ray: Ray, end: (f64, f64), lines: &mut Vec<Sightline>) -> [f64; 7] {
    let mut light = [0.0; 7];
    let first = scene.follow(ray, |way| {
        let plain = way.mirrored == 0;
        match way.end {
            End::Seen if plain && way.passed == 0 => light[2] += way.share,
            End::Seen if plain => light[3] += way.share,
            End::Seen => light[4] += way.share,
            End::Beyond => light[5] += way.share,
            End::Dropped => light[6] += way.share,
            End::Taken => {}
        }
        if way.end == End::Seen && plain && way.share >= PLAIN {
            lines.push(Sightline {
                from: ray.from.into(),
                along: ray.along.into(),
                window: way.last.at(way.reach).into(),
                out: way.last.along.into(),
                share: way.share,
                through_stone: way.passed > 0,
            });
        }
    });
    if let Some(at) = first {
        light[0] = 1.0;
        light[1] = f64::from(u8::from((end.0..=end.1).contains(&at.z)));
    }
    light
}

impl Sightline {
    /// Its first leg as a ray.
    pub fn ray(&self) -> Ray {
        Ray { from: Vec3::from(self.from), along: Vec3::from(self.along) }
    }
}
