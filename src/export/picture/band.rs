//! Some rows of the picture: depth, colour, lines, and down to pixels.

use super::SAMPLES;
use super::cut::Plane;
use super::edges::Line;
use super::scene::{Facet, Look, Scene};
use crate::measure::Vec3;

/// Main light, towards it: right, up, away from the eye.
const KEY: [f64; 3] = [-0.42, 0.64, -0.64];
/// Weaker light from the other side.
const FILL: [f64; 3] = [0.80, 0.10, -0.60];
/// Light from everywhere, from above, from the lamps: shares of full light.
const AMBIENT: f64 = 0.33;
const SKY: f64 = 0.12;
const KEY_SHARE: f64 = 0.54;
const FILL_SHARE: f64 = 0.20;

/// Lines are this share of the surface's light.
const INK: f64 = 0.16;
/// Lines of glassy bodies are this share.
const GLASS_INK: f64 = 0.55;
/// Share of a glassy surface's colour in what is seen through it.
const GLASS: f64 = 0.34;

/// Lines that are hidden are this share, where lines alone are drawn.
const HIDDEN_INK: f64 = 0.62;

/// What the last byte of a sample's colour says of lines; the greater is drawn.
const HIDDEN_LINE: u8 = 1;
const GLASS_LINE: u8 = 2;
const BODY_LINE: u8 = 3;

/// Length of a dash with the gap behind it, and of the dash alone, pixels.
const DASH: (f64, f64) = (6.0, 3.5);

/// Distance of the lines that hatch a cut's face, and their width, pixels.
const HATCH: (f64, f64) = (7.0, 1.2);
/// Share of white in a cut's face between its lines.
const CUT_WHITE: f64 = 0.5;
/// Share of the body's colour in the lines.
const CUT_INK: f64 = 0.55;
/// How far from its end a cut's face has its outline, samples.
const CUT_EDGE: i64 = 2;

/// How far behind the surface a line may lie and still be drawn, in samples:
/// half its width on a steep face.
const LINE_BIAS: f64 = 6.0;

/// Dots a sample along a line: enough for an even width.
const LINE_STEPS: f64 = 2.0;

/// How far the shade of hollows reaches, mm, and at most in pixels.
const HOLLOW_MM: f64 = 3.0;
const HOLLOW_PIXELS: f64 = 28.0;
/// Strength of that shade.
const HOLLOW_SHARE: f64 = 0.85;
/// Directions looked at for it, unit vectors; each stands for its opposite
/// too.
const HOLLOW_WAYS: [[f64; 2]; 8] = [
    [1.0, 0.0],
    [0.924, 0.383],
    [0.707, 0.707],
    [0.383, 0.924],
    [0.0, 1.0],
    [-0.383, 0.924],
    [-0.707, 0.707],
    [-0.924, 0.383],
];
/// Distances looked at, as shares of the reach.
const HOLLOW_STEPS: [f64; 8] = [0.08, 0.17, 0.28, 0.4, 0.53, 0.67, 0.83, 1.0];

/// How much darker the background gets from the top to the bottom.
const BACKGROUND_FALL: f64 = 0.07;

/// Rows of samples, with a halo above and below for lines and hollows.
pub(super) struct Band<'a> {
    scene: &'a Scene<'a>,
    top: usize,
    rows: usize,
    /// First and last sample row held.
    first: i64,
    last: i64,
    columns: usize,
    depth: Vec<f32>,
    /// Surface colour in light, gamma 2; the last byte tells ink.
    colour: Vec<[u8; 4]>,
    /// Depth and colour of the nearest glassy surface.
    glass: Vec<(f32, [u8; 3])>,
    /// How many more walls of the body at hand face away than towards the eye.
    open: Vec<i8>,
    /// Reach of hollows, pixels.
    reach: f64,
}

impl<'a> Band<'a> {
    /// The band of `rows` pixel rows from `top`.
    pub(super) fn new(scene: &'a Scene<'a>, top: usize, rows: usize) -> Band<'a> {
        let reach = (HOLLOW_MM / (scene.mm * SAMPLES as f64)).min(HOLLOW_PIXELS);
        let halo = (SAMPLES * (reach.ceil() as usize + 1)) as i64;
        let first = (top * SAMPLES) as i64 - halo;
        let last = ((top + rows) * SAMPLES) as i64 + halo;
        let columns = scene.width * SAMPLES;
        let cells = columns * (last - first) as usize;
        Band {
            scene,
            top,
            rows,
            first,
            last,
            columns,
            depth: vec![f32::INFINITY; cells],
            colour: vec![[0; 4]; cells],
            glass: if scene.looks.iter().any(|l| l.glassy) {
                vec![(f32::INFINITY, [0; 3]); cells]
            } else {
                Vec::new()
            },
            open: Vec::new(),
            reach,
        }
    }

    /// Paints surfaces, then the lines that they do not hide.
    pub(super) fn paint(&mut self) {
        let scene = self.scene;
        for (number, look) in scene.looks.iter().enumerate() {
            if look.plane.is_some() {
                self.open.clear();
                self.open.resize(self.depth.len(), 0);
            }
            for facet in &scene.facets[look.facets.clone()] {
                self.facet(facet, look);
            }
            if let Some(plane) = &look.plane {
                self.cut_face(look, plane, number);
            }
        }
        for line in &scene.lines {
            self.line(line, true);
        }
        for line in &scene.strokes {
            self.line(line, false);
        }
    }

    fn facet(&mut self, facet: &Facet, look: &Look<'_>) {
        let [a, b, c] = facet.at;
        let span = |p: f64, q: f64, r: f64, lo: i64, hi: i64| {
            let from = (p.min(q).min(r) - 0.5).ceil() as i64;
            let to = (p.max(q).max(r) - 0.5).floor() as i64;
            from.max(lo)..(to + 1).min(hi)
        };
        let doubled = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
        if doubled == 0.0 {
            return;
        }
        let mut tinted = (i64::MIN, look.colour);
        for y in span(a.y, b.y, c.y, self.first, self.last) {
            let py = y as f64 + 0.5;
            let Some((left, right)) = row_span(&facet.at, py) else { continue };
            let from = ((left - 0.5).ceil() as i64).max(0);
            let to = ((right - 0.5).ceil() as i64).min(self.columns as i64);
            tinted.0 = i64::MIN;
            for x in from..to {
                let px = x as f64 + 0.5;
                let wb = ((px - a.x) * (c.y - a.y) - (py - a.y) * (c.x - a.x)) / doubled;
                let wc = ((b.x - a.x) * (py - a.y) - (b.y - a.y) * (px - a.x)) / doubled;
                let wa = 1.0 - wb - wc;
                let depth = (wa * a.z + wb * b.z + wc * c.z) as f32;
                let cell = (y - self.first) as usize * self.columns + x as usize;
                let p = Vec3::new(px, py, f64::from(depth));
                if let Some(plane) = &look.plane {
                    if plane.takes(&self.scene.in_frame(&p)) {
                        continue;
                    }
                    // Seen with y down, a front goes round the other way.
                    self.open[cell] += if doubled < 0.0 { -1 } else { 1 };
                }
                let nearest = if look.glassy { self.glass[cell].0 } else { self.depth[cell] };
                if facet.front && depth < nearest {
                    let [na, nb, nc] = facet.normals;
                    let light = match self.scene.lines_only {
                        true => 1.0,
                        false => light(na * wa + nb * wb + nc * wc),
                    };
                    // One colour for the samples of a pixel's row.
                    let column = x / SAMPLES as i64;
                    if tinted.0 != column {
                        tinted = (column, self.scene.colour(look, &p));
                    }
                    self.set(cell, look, depth, tinted.1.map(|c| shade(c, light)));
                }
            }
        }
    }

    fn set(&mut self, cell: usize, look: &Look<'_>, depth: f32, [r, g, b]: [u8; 3]) {
        if look.glassy {
            self.glass[cell] = (depth, [r, g, b]);
        } else {
            self.depth[cell] = depth;
            self.colour[cell] = [r, g, b, 0];
        }
    }

    /// The face of a cut: where a line of sight leaves the body through a wall that it
    /// has not come in by. Neighbours are hatched one way and the other.
    fn cut_face(&mut self, look: &Look<'_>, plane: &Plane, number: usize) {
        let samples = SAMPLES as f64;
        let paper = look.colour.map(|c| 255.0 * CUT_WHITE + f64::from(c) * (1.0 - CUT_WHITE));
        let ink = look.colour.map(|c| f64::from(c) * CUT_INK);
        let way = if number.is_multiple_of(2) { 1.0 } else { -1.0 };
        for y in self.first..self.last {
            for x in 0..self.columns as i64 {
                let cell = (y - self.first) as usize * self.columns + x as usize;
                if self.open[cell] == 0 {
                    continue;
                }
                let (px, py) = (x as f64 + 0.5, y as f64 + 0.5);
                let at = self.scene.in_frame(&Vec3::new(px, py, 0.0));
                let depth =
                    (plane.depth(at.x, at.y) - self.scene.in_frame(&Vec3::zeros()).z) as f32;
                let nearest = if look.glassy { self.glass[cell].0 } else { self.depth[cell] };
                if depth >= nearest {
                    continue;
                }
                let across =
                    ((px + way * py) / std::f64::consts::SQRT_2).rem_euclid(HATCH.0 * samples);
                let hatched = across < HATCH.1 * samples;
                self.set(cell, look, depth, if hatched { ink } else { paper }.map(|c| c as u8));
                let ends = [(1, 0), (-1, 0), (0, 1), (0, -1)];
                if ends.iter().any(|(dx, dy)| !self.is_open(x + CUT_EDGE * dx, y + CUT_EDGE * dy)) {
                    self.colour[cell][3] = if look.glassy { GLASS_LINE } else { BODY_LINE };
                }
            }
        }
    }

    fn is_open(&self, x: i64, y: i64) -> bool {
        let inside = x >= 0 && y >= self.first && x < self.columns as i64 && y < self.last;
        inside && self.open[(y - self.first) as usize * self.columns + x as usize] != 0
    }

    fn line(&mut self, line: &Line, may_hide: bool) {
        let d = line.to - line.from;
        let steps = ((LINE_STEPS * d.x.abs().max(d.y.abs())).ceil() as usize).max(1);
        for i in 0..=steps {
            let p = line.from + d * (i as f64 / steps as f64);
            let (x, y) = (p.x.floor() as i64, p.y.floor() as i64);
            if y + 8 < self.first || y - 8 >= self.last {
                continue;
            }
            let look = line.body.map(|number| &self.scene.looks[number]);
            let plane = look.and_then(|look| look.plane);
            if plane.is_some_and(|plane| plane.takes(&self.scene.in_frame(&p))) {
                continue;
            }
            let glassy = look.is_some_and(|look| look.glassy);
            if !may_hide || self.is_seen(x, y, p.z) {
                self.dot(p, line.half, if glassy { GLASS_LINE } else { BODY_LINE });
            } else if self.scene.lines_only && !glassy && is_dash(&p, &d) {
                self.dot(p, 0.6 * line.half, HIDDEN_LINE);
            }
        }
    }

    /// Whether a point at that depth is not behind all samples around it.
    fn is_seen(&self, x: i64, y: i64, depth: f64) -> bool {
        let limit = (depth - LINE_BIAS * self.scene.mm) as f32;
        (-1..=1).any(|dy| (-1..=1).any(|dx| self.depth_at(x + dx, y + dy) >= limit))
    }

    fn depth_at(&self, x: i64, y: i64) -> f32 {
        if x < 0 || y < self.first || x >= self.columns as i64 || y >= self.last {
            return f32::INFINITY;
        }
        self.depth[(y - self.first) as usize * self.columns + x as usize]
    }

    fn dot(&mut self, p: Vec3, half: f64, ink: u8) {
        let range = |c: f64| (c - half - 0.5).ceil() as i64..=(c + half - 0.5).floor() as i64;
        for y in range(p.y) {
            for x in range(p.x) {
                let (dx, dy) = (x as f64 + 0.5 - p.x, y as f64 + 0.5 - p.y);
                let inside = x >= 0 && x < self.columns as i64 && y >= self.first && y < self.last;
                if inside && dx * dx + dy * dy <= half * half {
                    let cell = (y - self.first) as usize * self.columns + x as usize;
                    let old = &mut self.colour[cell][3];
                    *old = ink.max(*old);
                }
            }
        }
    }

    /// Appends the band's pixels, RGB.
    pub(super) fn resolve(&self, pixels: &mut Vec<u8>) {
        let count = (SAMPLES * SAMPLES) as u32;
        for row in 0..self.rows {
            let behind = self.background(self.top + row);
            for column in 0..self.scene.width {
                let open = self.openness(column, row);
                let mut sum = [0u32; 3];
                for sy in 0..SAMPLES {
                    for sx in 0..SAMPLES {
                        let (x, y) = (column * SAMPLES + sx, (self.top + row) * SAMPLES + sy);
                        let cell = (y as i64 - self.first) as usize * self.columns + x;
                        let [r, g, b, ink] = self.colour[cell];
                        let surface = self.depth[cell].is_finite();
                        let mut seen = if surface {
                            [r, g, b].map(|c| (f64::from(c) * open) as u32)
                        } else {
                            behind.map(u32::from)
                        };
                        if let Some(&(depth, glass)) = self.glass.get(cell)
                            && depth < self.depth[cell]
                        {
                            for (s, g) in seen.iter_mut().zip(glass) {
                                *s = (f64::from(*s) * (1.0 - GLASS) + f64::from(g) * GLASS) as u32;
                            }
                        }
                        let dark = match ink {
                            BODY_LINE => INK,
                            GLASS_LINE => GLASS_INK,
                            HIDDEN_LINE => HIDDEN_INK,
                            _ => 1.0,
                        };
                        for (s, c) in sum.iter_mut().zip(seen) {
                            *s += (f64::from(c) * dark) as u32;
                        }
                    }
                }
                pixels.extend(sum.map(|s| (s / count) as u8));
            }
        }
    }

    fn background(&self, row: usize) -> [u8; 3] {
        let fall = BACKGROUND_FALL * row as f64 / self.scene.height as f64;
        self.scene.background.map(|c| (f64::from(c) * (1.0 - fall)) as u8)
    }

    /// How much light reaches a pixel in a hollow, gamma 2: what lies before
    /// the middle between opposite neighbours is open, what lies behind it is
    /// not.
    fn openness(&self, column: usize, row: usize) -> f64 {
        let half = SAMPLES as i64 / 2;
        let x = (column * SAMPLES) as i64 + half;
        let y = ((self.top + row) * SAMPLES) as i64 + half;
        let centre = self.depth_at(x, y);
        if !centre.is_finite() || self.scene.lines_only {
            return 1.0;
        }
        let reach_mm = self.reach * self.scene.mm * SAMPLES as f64;
        let limit = 2.0 * reach_mm;
        let (mut closed, mut weights) = (0.0, 0.0);
        for way in HOLLOW_WAYS {
            for (i, step) in HOLLOW_STEPS.into_iter().enumerate() {
                let r = step * self.reach * SAMPLES as f64;
                let (dx, dy) = ((way[0] * r).round() as i64, (way[1] * r).round() as i64);
                let nearer = |sx: i64, sy: i64| {
                    let d = self.depth_at(x + sx, y + sy);
                    let before = if d.is_finite() { f64::from(centre - d) } else { -limit };
                    before.clamp(-limit, limit)
                };
                let bend = (nearer(dx, dy) + nearer(-dx, -dy)) / (2.0 * step * reach_mm);
                // Near neighbours count most.
                let weight = (HOLLOW_STEPS.len() - i) as f64;
                closed += weight * bend.clamp(0.0, 1.0);
                weights += weight;
            }
        }
        let closed = closed / weights;
        (1.0 - HOLLOW_SHARE * closed * (1.0 - 0.5 * closed)).max(0.0).sqrt()
    }
}

/// Whether a place of a hidden line is in a dash, and not in the gap behind it.
fn is_dash(p: &Vec3, along: &Vec3) -> bool {
    let way = if along.x.abs() > along.y.abs() { p.x } else { p.y };
    way.rem_euclid(DASH.0 * SAMPLES as f64) < DASH.1 * SAMPLES as f64
}

/// Where a row of samples enters and leaves a triangle.
fn row_span(at: &[Vec3; 3], y: f64) -> Option<(f64, f64)> {
    let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
    for i in 0..3 {
        let (p, q) = (at[i], at[(i + 1) % 3]);
        let (p, q) = if p.y <= q.y { (p, q) } else { (q, p) };
        // Half open, so that a place between two triangles is of one of them.
        if p.y <= y && y < q.y {
            let x = p.x + (q.x - p.x) * ((y - p.y) / (q.y - p.y));
            left = left.min(x);
            right = right.max(x);
        }
    }
    (left <= right).then_some((left, right))
}

/// Light on a surface, linear.
fn light(normal: Vec3) -> f64 {
    let n = normal / normal.norm().max(f64::MIN_POSITIVE);
    let towards = |l: [f64; 3]| n.dot(&Vec3::from(l).normalize()).max(0.0);
    let sky = 0.5 * (1.0 + n.y);
    AMBIENT + SKY * sky + KEY_SHARE * towards(KEY) + FILL_SHARE * towards(FILL)
}

/// A colour in that light; gamma 2 stands for the sRGB curve.
fn shade(colour: u8, light: f64) -> u8 {
    (f64::from(colour) * light.sqrt()).min(255.0) as u8
}
