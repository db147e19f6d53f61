//! The stone as measured: sections along its length, and how far each reaches
//! in a direction.
//!
//! A section is known by its support function: the largest `n . p` over its
//! points, for a unit vector `n`. Between two sections the convex hull of both
//! has the section whose support is the linear mean, so all the rest is
//! arithmetic on these numbers.

use std::sync::Arc;

use super::super::{PartContext, Refusal};
use super::components::about_ellipse;
use super::scan::Scan;
use crate::measure::frame::direction;
use crate::measure::{Values, Vec2, Vec3};
use crate::section::snap;
use crate::solid::{BrepError, Solid};

/// Corners around a round section of the stone, drawn about it.
const ROUND_CORNERS: usize = 72;
/// Sections nearer to each other than this, mm, are refused: ten input steps,
/// far below what a caliper places.
const LEAST_STEP: f64 = 0.01;
/// Smallest area, mm2, that corners may enclose to be a section.
const LEAST_AREA: f64 = 0.05;
/// Corners this near to the line of their neighbours, mm, are no corners: the
/// input grid.
const ON_LINE: f64 = 1e-3;

#[derive(Clone, Debug)]
enum Shape {
    /// Half axes along the turned x and y, mm.
    Ellipse { half: Vec2, along: Vec2 },
    /// Corners counter-clockwise, turned, about the offset.
    Corners(Vec<Vec2>),
    /// The same, with the directions that its sides may have.
    Sided(Vec<Vec2>, Vec<Vec2>),
}

/// One section of the stone.
#[derive(Clone, Debug)]
pub(super) struct Section {
    /// Distance from the stone's low end, mm.
    pub at: f64,
    /// Its middle, mm from the bore's axis.
    pub offset: Vec2,
    shape: Shape,
}

/// The stone, from its low end (nearest to the end cap) to its high end.
#[derive(Clone, Debug)]
pub(super) struct Stone {
    /// Two or more, in order.
    pub sections: Vec<Section>,
    /// Whether its low and its high end is a point.
    pub pointed: [bool; 2],
    /// What it was fitted to, if it was scanned.
    pub scan: Option<Arc<Scan>>,
    /// How far a scanned stone lies from the bore's axis, mm.
    pub moved: Vec2,
}

/// `v` turned by `degrees` counter-clockwise, exact at quarter turns.
pub(super) fn turned(v: Vec2, degrees: f64) -> Vec2 {
    let up = direction(degrees);
    let right = Vec2::new(up.y, -up.x);
    right * v.x + up * v.y
}

impl Section {
    /// A section with sides square to some of the directions given; corners
    /// counter-clockwise from the bore's axis.
    pub fn sided(at: f64, corners: Vec<Vec2>, normals: Vec<Vec2>) -> Section {
        let offset = corners.iter().sum::<Vec2>() / corners.len().max(1) as f64;
        let corners = corners.into_iter().map(|p| p - offset).collect();
        Section { at, offset, shape: Shape::Sided(corners, normals) }
    }

    /// Support: the largest `n . p` over the section, mm, for a unit `n`.
    pub fn support(&self, n: Vec2) -> f64 {
        let own = match &self.shape {
            Shape::Ellipse { half, along } => {
                let across = Vec2::new(-along.y, along.x);
                (half.x * n.dot(along)).hypot(half.y * n.dot(&across))
            }
            Shape::Corners(corners) | Shape::Sided(corners, _) => {
                corners.iter().map(|p| n.dot(p)).fold(f64::NEG_INFINITY, f64::max)
            }
        };
        own + n.dot(&self.offset)
    }

    /// The radius, mm, if it is a circle.
    pub fn circle(&self) -> Option<f64> {
        match self.shape {
            Shape::Ellipse { half, .. } if half.x == half.y => Some(half.x),
            _ => None,
        }
    }

    /// Outward unit normals of its facets.
    pub fn facets(&self) -> Vec<Vec2> {
        match &self.shape {
            Shape::Ellipse { .. } => Vec::new(),
            Shape::Corners(corners) => {
                let next = corners.iter().cycle().skip(1);
                corners.iter().zip(next).map(|(a, b)| outward(b - a)).collect()
            }
            Shape::Sided(_, normals) => normals.clone(),
        }
    }

    /// Outward unit normals that touch a round section in even steps, such
    /// that the circumscribed polygon is at most `overcut` mm outside.
    pub fn round_normals(&self, overcut: f64) -> Vec<Vec2> {
        let Shape::Ellipse { half, along } = self.shape else { return Vec::new() };
        let large = half.x.max(half.y);
        if half.x.min(half.y) <= 0.0 {
            return Vec::new();
        }
        let step = 2.0 * (large / (large + overcut)).acos();
        let count = (std::f64::consts::TAU / step / 4.0).ceil() as usize * 4;
        let across = Vec2::new(-along.y, along.x);
        (0..count)
            .map(|k| {
                let d = direction(360.0 * k as f64 / count as f64);
                (along * (d.x / half.x) + across * (d.y / half.y)).normalize()
            })
            .collect()
    }

    /// Its corners, or points every 5 degrees of a round one.
    pub fn outline_points(&self) -> Vec<Vec2> {
        let own: Vec<Vec2> = match &self.shape {
            Shape::Corners(corners) | Shape::Sided(corners, _) => corners.clone(),
            Shape::Ellipse { half, along } => {
                let across = Vec2::new(-along.y, along.x);
                let point = |k: i32| {
                    let d = direction(5.0 * f64::from(k));
                    along * (half.x * d.x) + across * (half.y * d.y)
                };
                (0..72).map(point).collect()
            }
        };
        own.into_iter().map(|p| p + self.offset).collect()
    }

    /// Its corners, or those of a polygon with `count` corners drawn about a
    /// round one; one corner for a point.
    pub fn corners_around(&self, count: usize) -> Vec<Vec2> {
        let own = match &self.shape {
            Shape::Ellipse { half, .. } if half.min() <= 0.0 => vec![Vec2::zeros()],
            Shape::Ellipse { half, along } => about_ellipse(*half, *along, count),
            Shape::Corners(corners) => corners.clone(),
            Shape::Sided(corners, _) => parted(corners),
        };
        own.into_iter().map(|p| p + self.offset).collect()
    }

    /// Height, mm, of the highest point at which the section touches its
    /// upright tangent on the side of `side` (1 or -1).
    pub fn side_top(&self, side: f64) -> f64 {
        let n = Vec2::new(side, 0.0);
        let reach = self.support(n);
        match &self.shape {
            Shape::Ellipse { half, along } => {
                let across = Vec2::new(-along.y, along.x);
                let (u, v) = (half.x * n.dot(along), half.y * n.dot(&across));
                let size = u.hypot(v);
                if size <= 0.0 {
                    return self.offset.y;
                }
                let touch = along * (half.x * u / size) + across * (half.y * v / size);
                self.offset.y + touch.y
            }
            Shape::Corners(corners) | Shape::Sided(corners, _) => corners
                .iter()
                .map(|p| p + self.offset)
                .filter(|p| n.dot(p) >= reach - ON_LINE)
                .map(|p| p.y)
                .fold(f64::NEG_INFINITY, f64::max),
        }
    }
}

/// Corners of a section nearer to each other than this, mm, are one in a
/// drawing: what counts as contact there.
const PARTED: f64 = 0.004;

/// Corners without those that nearly coincide; a section that has no others is
/// one corner.
fn parted(corners: &[Vec2]) -> Vec<Vec2> {
    let mut kept: Vec<Vec2> = Vec::with_capacity(corners.len());
    for p in corners {
        if kept.last().is_none_or(|q| (p - q).norm() > PARTED) {
            kept.push(*p);
        }
    }
    while kept.len() > 1 && (kept[kept.len() - 1] - kept[0]).norm() <= PARTED {
        kept.pop();
    }
    if kept.len() < 3 { vec![Vec2::zeros()] } else { kept }
}

fn outward(d: Vec2) -> Vec2 {
    Vec2::new(d.y, -d.x).normalize()
}

impl Stone {
    /// The stone that the rows of the part describe.
    ///
    /// # Errors
    /// Sections that are incomplete, out of order or without area; a scan that
    /// is no stone.
    pub fn read(context: &PartContext<'_>, values: &Values) -> Result<Stone, Refusal> {
        let stations = values.list("station");
        if values.has("scan") {
            return scanned(context, values);
        }
        if stations.len() < LEAST_STATIONS {
            return Err(Refusal::new(format!(
                "the stone is not described: {} of at least {LEAST_STATIONS} sections are given, \
                 and no scan",
                stations.len()
            ))
            .at(values, "station")
            .hint("write a table [[part.station]] for each section that you measured")
            .hint("or give a scan of the stone: scan = \"stone.stl\""));
        }
        let start = snap(stations[0].number("at"));
        let mut sections = Vec::with_capacity(stations.len() + 2);
        for station in stations {
            let at = snap(station.number("at")) - start;
            if let Some(before) = sections.last().map(|s: &Section| s.at)
                && at < before + LEAST_STEP
            {
                return Err(Refusal::new(format!(
                    "the section at {:.2} mm does not come after the one at {:.2} mm",
                    at + start,
                    before + start
                ))
                .at(station, "at")
                .hint("list the sections from the end cap's side to the front"));
            }
            sections.push(Section { at, ..section(station)? });
        }
        let mut pointed = [false; 2];
        if let Some(tip) = values.maybe_table("tip_low") {
            let length = snap(tip.number("length"));
            sections.iter_mut().for_each(|s| s.at += length);
            sections.insert(0, point(tip, 0.0, sections[0].offset));
            pointed[0] = true;
        }
        if let Some(tip) = values.maybe_table("tip_high") {
            let last = &sections[sections.len() - 1];
            let at = snap(last.at + tip.number("length"));
            let tip = point(tip, at, last.offset);
            sections.push(tip);
            pointed[1] = true;
        }
        sections.iter_mut().for_each(|s| s.at = snap(s.at));
        Ok(Stone { sections, pointed, scan: None, moved: Vec2::zeros() })
    }

    /// A stone as it was scanned.
    pub fn scanned(sections: Vec<Section>, pointed: [bool; 2], scan: Scan) -> Stone {
        Stone { sections, pointed, scan: Some(Arc::new(scan)), moved: Vec2::zeros() }
    }

    /// For a scanned stone all that is within `gap` mm of it, less
    /// [`super::scan::SPARE`] at both ends.
    pub fn grown(&self, gap: f64) -> Option<Stone> {
        let sections = self.scan.as_ref()?.grown(gap, self.length());
        let grown = Stone { sections, scan: None, moved: Vec2::zeros(), ..self.clone() };
        Some(grown.shifted(self.moved))
    }

    /// Its length, mm.
    pub fn length(&self) -> f64 {
        self.sections[self.sections.len() - 1].at
    }

    /// Support at distance `at` from the low end, mm; beyond an end, as there.
    pub fn support(&self, at: f64, n: Vec2) -> f64 {
        let after =
            self.sections.iter().position(|s| s.at >= at).unwrap_or(self.sections.len() - 1);
        if after == 0 {
            return self.sections[0].support(n);
        }
        let (p, q) = (&self.sections[after - 1], &self.sections[after]);
        let t = ((at - p.at) / (q.at - p.at)).clamp(0.0, 1.0);
        p.support(n) * (1.0 - t) + q.support(n) * t
    }

    /// Largest support between two distances from the low end, mm.
    pub fn reach(&self, from: f64, to: f64, n: Vec2) -> f64 {
        let inner = self.sections.iter().map(|s| s.at).filter(|at| (from..=to).contains(at));
        inner.chain([from, to]).map(|at| self.support(at, n)).fold(f64::NEG_INFINITY, f64::max)
    }

    /// The solid through its sections with its low end at `low` mm; round ones
    /// have polygons drawn about them.
    ///
    /// # Errors
    /// [`BrepError`] where they make none.
    pub fn solid(&self, low: f64) -> Result<Solid, BrepError> {
        let outlines: Vec<(f64, Vec<Vec2>)> =
            self.sections.iter().map(|s| (low + s.at, s.corners_around(ROUND_CORNERS))).collect();
        Solid::through(&outlines)
    }

    /// Its volume, mm3, and its centre of mass, mm from its low end; none where it
    /// cannot be drawn.
    pub fn bulk(&self) -> Option<(f64, Vec3)> {
        if let Some(scan) = &self.scan {
            return Some((scan.facts.volume, Vec3::new(self.moved.x, self.moved.y, scan.centre)));
        }
        let own = self.solid(0.0).ok()?.properties();
        Some((own.volume, own.centroid))
    }

    /// Points of its surface by which it can touch what is around it, from its low
    /// end, mm.
    pub fn skin(&self) -> Vec<Vec3> {
        let lifted = |p: Vec2, z: f64| Vec3::new(p.x, p.y, z);
        match &self.scan {
            Some(scan) => scan.outer.iter().map(|p| lifted(p.xy() + self.moved, p.z)).collect(),
            None => {
                let mut points: Vec<Vec3> = self
                    .sections
                    .iter()
                    .flat_map(|s| s.outline_points().into_iter().map(|p| lifted(p, s.at)))
                    .collect();
                // A tip is one point.
                points.dedup();
                points
            }
        }
    }

    /// The same stone moved by `by` mm across the bore.
    pub fn shifted(&self, by: Vec2) -> Stone {
        let mut stone = self.clone();
        stone.sections.iter_mut().for_each(|s| s.offset += by);
        stone.moved += by;
        stone
    }

    /// Middle of the section at an end, mm: low or high.
    pub fn end_middle(&self, high: bool) -> Vec2 {
        let last = self.sections.len() - 1;
        if self.scan.is_some() {
            // The very end of a scan may be a tip anywhere.
            let at = self.look_in(high);
            let middle = |n: Vec2| (self.support(at, n) - self.support(at, -n)) / 2.0;
            return Vec2::new(snap(middle(Vec2::x())), snap(middle(Vec2::y())));
        }
        self.sections[if high { last } else { 0 }].offset
    }

    /// Distance from the low end, mm, at which an end counts as how wide: a
    /// point is as wide as it is a little way in.
    pub fn look_in(&self, high: bool) -> f64 {
        let last = self.sections.len() - 1;
        let at = if high { self.length() } else { 0.0 };
        if !self.pointed[usize::from(high)] {
            return at;
        }
        if self.scan.is_some() {
            let way = LOOK_IN.min(self.length() / 2.0);
            return if high { at - way } else { at + way };
        }
        let (tip, next) = if high { (last, last - 1) } else { (0, 1) };
        let way = self.sections[next].at - self.sections[tip].at;
        at + way * (LOOK_IN / way.abs()).min(1.0)
    }

    /// The common middle if all sections are circles about one line along the
    /// bore (a point is a circle without width).
    pub fn turned_about(&self) -> Option<Vec2> {
        let middle = self.sections[0].offset;
        let all = self.sections.iter().all(|s| s.circle().is_some() && s.offset == middle);
        all.then_some(middle)
    }
}

/// How far into a pointed end a bore may look for the stone, mm. Common practice, no
/// source.
pub(super) const LOOK_IN: f64 = 3.0;
/// Fewest sections that are a stone.
const LEAST_STATIONS: usize = 2;

/// The stone of a scan, which nothing else may describe.
fn scanned(context: &PartContext<'_>, values: &Values) -> Result<Stone, Refusal> {
    let other = ["tip_low", "tip_high"].into_iter().find(|key| values.has(key));
    let other = other.or((!values.list("station").is_empty()).then_some("station"));
    if let Some(key) = other {
        return Err(Refusal::new(format!("the stone is described twice, by {key} and by a scan"))
            .at(values, key)
            .hint(format!("leave out either {key} or scan")));
    }
    Scan::read(context, values)?.ok_or_else(|| Refusal::new("no scan is given"))
}

fn point(tip: &Values, at: f64, beside: Vec2) -> Section {
    let x = snap(tip.maybe_number("x").unwrap_or(beside.x));
    let y = snap(tip.maybe_number("y").unwrap_or(beside.y));
    let shape = Shape::Ellipse { half: Vec2::zeros(), along: Vec2::x() };
    Section { at, offset: Vec2::new(x, y), shape }
}

fn section(station: &Values) -> Result<Section, Refusal> {
    let turn = station.number("turn");
    let kind = station.choice("section");
    let offset = Vec2::new(snap(station.number("x")), snap(station.number("y")));
    if kind == "points" {
        let points = station.points("points");
        if points.is_empty() {
            return Err(Refusal::new("a section of points has no points (3 to 64 are needed)")
                .at(station, "section")
                .hint("write points = [[x, y], ...], in mm from the section's middle"));
        }
        let corners = hull(points);
        let area = twice_area(&corners) / 2.0;
        if area < LEAST_AREA {
            return Err(Refusal::new(format!(
                "its points enclose {area:.3} mm2; at least {LEAST_AREA} is needed"
            ))
            .at(station, "points")
            .hint("give at least three corners that are not on one line"));
        }
        let corners = corners.into_iter().map(|p| turned(p, turn)).collect();
        return Ok(Section { at: 0.0, offset, shape: Shape::Corners(corners) });
    }
    let size = |key: &str| {
        station.maybe_number(key).map(snap).ok_or_else(|| {
            Refusal::new(format!("a {kind} section has no {key} (0.5 to 80 mm is needed)"))
                .at(station, "section")
                .hint(format!("measure it with the caliper and write {key} = its size in mm"))
        })
    };
    let (width, height) = (size("width")?, size("height")?);
    let half = Vec2::new(width, height) / 2.0;
    let corners = match kind {
        "round" => {
            let along = turned(Vec2::x(), turn);
            return Ok(Section { at: 0.0, offset, shape: Shape::Ellipse { half, along } });
        }
        "rectangle" => vec![-half, Vec2::new(half.x, -half.y), half, Vec2::new(-half.x, half.y)],
        "hexagon" => regular(6, width, height),
        _ => regular(station.integer("facets").unsigned_abs() as usize, width, height),
    };
    let corners = corners.into_iter().map(|p| turned(p, turn)).collect();
    Ok(Section { at: 0.0, offset, shape: Shape::Corners(corners) })
}

/// A regular polygon that lies on a facet, stretched to `width` by `height`
/// about the middle of its bounding box.
fn regular(facets: usize, width: f64, height: f64) -> Vec<Vec2> {
    let n = facets as f64;
    let corners: Vec<Vec2> =
        (0..facets).map(|k| direction(180.0 + (2.0 * k as f64 + 1.0) * 180.0 / n)).collect();
    let lo = corners.iter().fold(Vec2::repeat(f64::INFINITY), |m, p| m.inf(p));
    let hi = corners.iter().fold(Vec2::repeat(f64::NEG_INFINITY), |m, p| m.sup(p));
    let scale = Vec2::new(width / (hi.x - lo.x), height / (hi.y - lo.y));
    corners.into_iter().map(|p| (p - (lo + hi) / 2.0).component_mul(&scale)).collect()
}

fn cross(a: Vec2, b: Vec2) -> f64 {
    a.x * b.y - a.y * b.x
}

pub(super) fn twice_area(corners: &[Vec2]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    corners.iter().zip(next).map(|(a, b)| cross(*a, *b)).sum()
}

/// Convex hull, counter-clockwise, of points put on the input grid.
fn hull(points: &[Vec2]) -> Vec<Vec2> {
    hull_of(points.iter().map(|p| Vec2::new(snap(p.x), snap(p.y))).collect())
}

/// Convex hull, counter-clockwise, without corners on a line (monotone chain,
/// A. M. Andrew 1979).
pub(super) fn hull_of(mut sorted: Vec<Vec2>) -> Vec<Vec2> {
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup();
    let chain = |order: &mut dyn Iterator<Item = &Vec2>| {
        let mut kept: Vec<Vec2> = Vec::new();
        for &p in order {
            while let [.., a, b] = kept[..] {
                let side = p - a;
                if cross(b - a, side) > ON_LINE * side.norm() {
                    break;
                }
                kept.pop();
            }
            kept.push(p);
        }
        kept.pop();
        kept
    };
    let mut corners = chain(&mut sorted.iter());
    corners.extend(chain(&mut sorted.iter().rev()));
    corners
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(shape: Shape, offset: Vec2) -> Section {
        Section { at: 0.0, offset, shape }
    }

    #[test]
    fn a_regular_polygon_lies_on_a_facet_and_fills_its_box() {
        for n in 3..=24 {
            let corners = regular(n, 12.0, 9.0);
            let section = of(Shape::Corners(corners.clone()), Vec2::zeros());
            for (n, reach) in
                [(Vec2::x(), 6.0), (-Vec2::x(), 6.0), (Vec2::y(), 4.5), (-Vec2::y(), 4.5)]
            {
                assert!((section.support(n) - reach).abs() < 1e-12);
            }
            let low = corners.iter().filter(|p| (p.y + 4.5).abs() < 1e-12).count();
            assert_eq!(low, 2, "{n} facets");
            assert!(twice_area(&corners) > 0.0);
        }
    }

    #[test]
    fn a_hull_drops_dents_and_corners_on_lines() {
        let points =
            [(0.0, 0.0), (4.0, 0.0), (2.0, 0.0), (4.0, 4.0), (2.0, 1.0), (0.0, 4.0), (0.0, 4.0)];
        let points: Vec<Vec2> = points.iter().map(|&(x, y)| Vec2::new(x, y)).collect();
        let corners = hull(&points);
        assert_eq!(corners.len(), 4);
        assert!((twice_area(&corners) - 32.0).abs() < 1e-12);
    }

    #[test]
    fn normals_of_an_ellipse_leave_no_more_than_the_overcut() {
        let half = Vec2::new(15.0, 4.0);
        let section =
            of(Shape::Ellipse { half, along: turned(Vec2::x(), 30.0) }, Vec2::new(1.0, 2.0));
        let normals = section.round_normals(0.02);
        for (i, n) in normals.iter().enumerate() {
            let m = normals[(i + 1) % normals.len()];
            let det = cross(*n, m);
            let (h, k) = (section.support(*n), section.support(m));
            let corner = Vec2::new(h * m.y - k * n.y, n.x * k - m.x * h) / det;
            for j in 0..=20 {
                let between = (n * (20 - j) as f64 + m * j as f64).normalize();
                assert!(between.dot(&corner) - section.support(between) < 0.02 + 1e-9);
            }
        }
    }
}
