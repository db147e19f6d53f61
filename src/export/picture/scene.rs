//! What is in the picture, in its own frame: pixels right and down, mm deep.

use super::cut::Plane;
use super::edges::{Line, lines};
use super::glyphs::{cap_height, centred, label, scale_bar};
use super::{Label, PictureBody, SAMPLES, Tint, View, legend};
use crate::measure::Vec3;
use crate::mesh::Mesh;
use std::ops::Range;

/// Faces that meet at a smaller angle are shaded as one smooth surface and get
/// no line between them: cosine of 20 degrees, above the 15 degrees between
/// the facets of a small bore.
pub const CREASE_COS: f64 = 0.939_692_620_785_908_4;

/// Free border around the bodies, as a share of the smaller picture side.
const MARGIN: f64 = 0.07;

/// Share of the height kept free below for the scale bar.
const BAR_ROOM: f64 = 0.06;

/// Right, up and away from the eye.
pub(super) struct Frame {
    right: Vec3,
    up: Vec3,
    away: Vec3,
}

impl Frame {
    /// The frame of a view; a view without direction looks along -z, one whose
    /// up is parallel to it takes another.
    pub(super) fn of(view: &View) -> Frame {
        let fine = |v: Vec3| v.try_normalize(f64::MIN_POSITIVE).filter(|n| n.norm().is_finite());
        let away = fine(view.direction).unwrap_or(-Vec3::z());
        let right = [view.up, Vec3::y(), Vec3::z()]
            .into_iter()
            .filter_map(fine)
            .map(|up| away.cross(&up))
            .find(|r| r.norm() > 1e-6)
            .expect("no direction is parallel to both y and z")
            .normalize();
        Frame { right, up: right.cross(&away), away }
    }

    pub(super) fn to_frame(&self, p: Vec3) -> Vec3 {
        Vec3::new(p.dot(&self.right), p.dot(&self.up), p.dot(&self.away))
    }

    pub(super) fn to_world(&self, p: Vec3) -> Vec3 {
        self.right * p.x + self.up * p.y + self.away * p.z
    }

    /// Lowest and highest frame coordinates of some points.
    pub(super) fn extent(&self, points: &[Vec3]) -> (Vec3, Vec3) {
        let first = points.first().map_or_else(Vec3::zeros, |&p| self.to_frame(p));
        points.iter().fold((first, first), |(lo, hi), &p| {
            let q = self.to_frame(p);
            (lo.inf(&q), hi.sup(&q))
        })
    }
}

/// A triangle: corners in samples right and down and mm deep, normals at the
/// corners in the frame.
pub(super) struct Facet {
    pub(super) at: [Vec3; 3],
    pub(super) normals: [Vec3; 3],
    /// Whether it faces the eye; others are there only where a body is cut.
    pub(super) front: bool,
}

/// One body: its facets, and how they are painted.
pub(super) struct Look<'a> {
    pub(super) facets: Range<usize>,
    pub(super) colour: [u8; 3],
    pub(super) glassy: bool,
    /// Where it is cut.
    pub(super) plane: Option<Plane>,
    /// Colours in its own frame, and how far it is moved, in the picture's.
    pub(super) tint: Option<(&'a Tint, Vec3)>,
}

/// Paper of bodies drawn by lines alone: their share of white.
const PAPER: f64 = 0.82;

/// All that is painted.
pub(super) struct Scene<'a> {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) background: [u8; 3],
    /// mm a sample.
    pub(super) mm: f64,
    /// Whether lines alone are drawn.
    pub(super) lines_only: bool,
    frame: Frame,
    /// The place of the frame that is in the picture's middle, mm, and where that is, samples.
    middle: Vec3,
    centre: Vec3,
    pub(super) facets: Vec<Facet>,
    pub(super) looks: Vec<Look<'a>>,
    pub(super) lines: Vec<Line>,
    /// Strokes of the scale bar.
    pub(super) strokes: Vec<Line>,
}

impl<'a> Scene<'a> {
    pub(super) fn new(
        (bodies, labels): (&[PictureBody<'a>], &[Label]),
        view: &View,
        width: usize,
        height: usize,
    ) -> Scene<'a> {
        let frame = Frame::of(view);
        let placed = |b: &&PictureBody| {
            b.shift.iter().all(|c| c.is_finite()) && !b.mesh.vertices().is_empty()
        };
        let mut corners = Vec::with_capacity(2 * bodies.len());
        for b in bodies.iter().filter(placed) {
            let shift = frame.to_frame(b.shift);
            match view.cut.and_then(|cut| Plane::of(&cut, &frame, b.shift)) {
                Some(plane) => {
                    let points: Vec<Vec3> =
                        b.mesh.vertices().iter().map(|&p| frame.to_frame(p) + shift).collect();
                    corners.extend(
                        plane.extent(b.mesh, &points).into_iter().flat_map(<[Vec3; 2]>::from),
                    );
                }
                None => {
                    let (lo, hi) = frame.extent(b.mesh.vertices());
                    corners.extend([lo + shift, hi + shift]);
                }
            }
        }
        corners.extend(labels.iter().map(|l| frame.to_frame(l.at)));
        let first = corners.first().copied().unwrap_or_else(Vec3::zeros);
        let (lo, hi) = corners.iter().fold((first, first), |(lo, hi), p| (lo.inf(p), hi.sup(p)));
        let bar = if view.scale_bar { BAR_ROOM * height as f64 } else { 0.0 };
        let border = MARGIN * width.min(height) as f64;
        let (w, h) = (width as f64 - 2.0 * border, height as f64 - 2.0 * border - bar);
        let size = hi - lo;
        let fit = (size.x / w.max(1.0)).max(size.y / h.max(1.0));
        let mm = if fit > 0.0 { fit / SAMPLES as f64 } else { 1.0 };
        let middle = 0.5 * (lo + hi);
        let centre = Vec3::new(width as f64, height as f64 - bar, 0.0) * (0.5 * SAMPLES as f64);
        let place = |p: Vec3| {
            let d = (p - middle) / mm;
            Vec3::new(centre.x + d.x, centre.y - d.y, p.z - middle.z)
        };
        let mut scene = Scene {
            width,
            height,
            background: view.background,
            mm,
            lines_only: view.lines_only,
            frame: Frame::of(view),
            middle,
            centre,
            facets: Vec::new(),
            looks: Vec::new(),
            lines: Vec::new(),
            strokes: Vec::new(),
        };
        for body in bodies.iter().filter(placed) {
            let shift = frame.to_frame(body.shift);
            let points: Vec<Vec3> =
                body.mesh.vertices().iter().map(|&p| place(frame.to_frame(p) + shift)).collect();
            let flat: Vec<Vec3> = (0..body.mesh.triangles().len())
                .map(|i| {
                    let [a, b, c] = body.mesh.corners(i);
                    frame.to_frame((b - a).cross(&(c - a)).normalize())
                })
                .collect();
            let plane = view.cut.and_then(|cut| Plane::of(&cut, &frame, body.shift));
            scene.add_look(body, plane, shift, (&points, &flat));
            let lines = lines(body.mesh, &points, &flat, view.lines_only);
            let number = Some(scene.looks.len() - 1);
            scene.lines.extend(lines.into_iter().map(|l| Line { body: number, ..l }));
        }
        if view.scale_bar && !scene.facets.is_empty() {
            scene.strokes = scale_bar(width, height, mm);
        }
        for (word, x, y) in view.scale.iter().flat_map(|s| legend::words(s, width, height)) {
            scene.strokes.extend(centred(&word, x, y, cap_height(height)));
        }
        for words in labels {
            let tick = words.tick.map(|p| place(frame.to_frame(p)));
            let at = place(frame.to_frame(words.at));
            scene.strokes.extend(label(&words.text, at, tick, height));
        }
        scene
    }

    /// A place of the picture, samples right and down and mm deep, in mm of the frame.
    pub(super) fn in_frame(&self, p: &Vec3) -> Vec3 {
        let d = Vec3::new(p.x - self.centre.x, self.centre.y - p.y, 0.0) * self.mm;
        self.middle + Vec3::new(d.x, d.y, p.z)
    }

    /// The colour of a place of a body.
    pub(super) fn colour(&self, look: &Look<'_>, p: &Vec3) -> [u8; 3] {
        let measured = look
            .tint
            .and_then(|(tint, shift)| tint.at(&self.frame.to_world(self.in_frame(p) - shift)));
        measured.unwrap_or(look.colour)
    }

    fn add_look(
        &mut self,
        body: &PictureBody<'a>,
        plane: Option<Plane>,
        shift: Vec3,
        (points, flat): (&[Vec3], &[Vec3]),
    ) {
        let around = Around::of(body.mesh);
        let first = self.facets.len();
        for (i, t) in body.mesh.triangles().iter().enumerate() {
            let front = flat[i].z < 0.0;
            if !front && plane.is_none() {
                continue;
            }
            let normals = t.map(|v| {
                let near = around
                    .vertex(v)
                    .iter()
                    .filter(|&&(j, _)| flat[j as usize].dot(&flat[i]) > CREASE_COS);
                let sum: Vec3 = near.map(|&(j, weight)| flat[j as usize] * weight).sum();
                sum.try_normalize(f64::MIN_POSITIVE).unwrap_or(flat[i])
            });
            self.facets.push(Facet { at: t.map(|v| points[v as usize]), normals, front });
        }
        let colour = match self.lines_only && !body.glassy {
            true => body.colour.map(|c| (255.0 * PAPER + f64::from(c) * (1.0 - PAPER)) as u8),
            false => body.colour,
        };
        self.looks.push(Look {
            facets: first..self.facets.len(),
            colour,
            glassy: body.glassy,
            plane,
            tint: body.tint.map(|tint| (tint, shift)),
        });
    }
}

/// The triangles around each vertex, each with the sine of its corner there.
struct Around {
    start: Vec<u32>,
    triangles: Vec<(u32, f64)>,
}

impl Around {
    fn of(mesh: &Mesh) -> Around {
        let mut start = vec![0u32; mesh.vertices().len() + 1];
        for &v in mesh.triangles().iter().flatten() {
            start[v as usize + 1] += 1;
        }
        for i in 1..start.len() {
            start[i] += start[i - 1];
        }
        let mut fill = start.clone();
        let mut triangles = vec![(0, 0.0); 3 * mesh.triangles().len()];
        for (i, t) in mesh.triangles().iter().enumerate() {
            let p = mesh.corners(i);
            for k in 0..3 {
                let (u, v) = (p[(k + 1) % 3] - p[k], p[(k + 2) % 3] - p[k]);
                let sine = u.cross(&v).norm() / (u.norm() * v.norm());
                let slot = &mut fill[t[k] as usize];
                triangles[*slot as usize] = (i as u32, sine);
                *slot += 1;
            }
        }
        Around { start, triangles }
    }

    fn vertex(&self, v: u32) -> &[(u32, f64)] {
        let v = v as usize;
        &self.triangles[self.start[v] as usize..self.start[v + 1] as usize]
    }
}
