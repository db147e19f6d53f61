//! Reads the one closed line of a drawing exchange file (ASCII DXF, R12 and
//! later): lines, arcs, circles and polylines with their bulges.
//!
//! Groups are two lines each, a code and a value. Codes used here: 0 starts an
//! entity, 2 names a section, 8 the layer, 9 a variable of the header, 10/20
//! and 11/21 points, 40 a radius, 42 a bulge, 50/51 angles, 70 flags.

use std::collections::BTreeMap;

use crate::measure::Vec2;
use crate::section::{Region, Seg, snap};

/// Millimetres of the values of `$INSUNITS` that a board may be drawn in:
/// inches, millimetres, centimetres, metres.
const UNITS: [(i64, f64); 4] = [(1, 25.4), (4, 1.0), (5, 10.0), (6, 1000.0)];
/// Ends nearer than this are one, mm: what drawing programs leave open by
/// rounding. Common practice, no source.
const JOINS: f64 = 0.01;
/// Most pieces of an outline; more is no outline of a board. Common practice,
/// no source.
const MOST: usize = 2000;
/// Sizes that a board may have, mm.
const SIZES: (f64, f64) = (2.0, super::rows::LARGEST);
/// Entities that show nothing to cut, and are passed over.
const SHOWN_ONLY: [&str; 8] =
    ["TEXT", "MTEXT", "POINT", "DIMENSION", "ATTDEF", "ATTRIB", "VIEWPORT", "HATCH"];

/// Why a drawing is no outline, and what to do.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct BadDrawing {
    pub what: String,
    pub hint: String,
}

fn bad<T>(what: impl Into<String>, hint: impl Into<String>) -> Result<T, BadDrawing> {
    Err(BadDrawing { what: what.into(), hint: hint.into() })
}

/// A piece from one point to another: the tangent of a quarter of its angle, 0
/// for a line, positive if it turns to the left.
#[derive(Clone, Copy, Debug)]
struct Piece {
    a: Vec2,
    b: Vec2,
    bulge: f64,
}

impl Piece {
    fn reversed(self) -> Piece {
        Piece { a: self.b, b: self.a, bulge: -self.bulge }
    }

    /// As pieces of a region's boundary: arcs stay arcs.
    fn segs(&self) -> Vec<Seg> {
        let chord = self.b - self.a;
        if self.bulge.abs() < 1e-9 {
            return vec![Seg::line(self.a, self.b)];
        }
        let normal = Vec2::new(-chord.y, chord.x);
        let centre = (self.a + self.b) * 0.5
            + normal * ((1.0 - self.bulge * self.bulge) / (4.0 * self.bulge));
        Seg::arc(centre, (self.a - centre).norm(), self.a, self.b, self.bulge > 0.0)
    }
}

/// A number that is one.
fn finite(text: &str) -> Option<f64> {
    text.parse::<f64>().ok().filter(|v| v.is_finite())
}

/// The groups of one entity.
struct Entity<'a> {
    name: &'a str,
    groups: Vec<(i64, &'a str)>,
}

impl Entity<'_> {
    fn number(&self, code: i64) -> Option<f64> {
        let found = self.groups.iter().find(|(c, _)| *c == code)?;
        finite(found.1)
    }

    fn point(&self, code: i64) -> Option<Vec2> {
        Some(Vec2::new(self.number(code)?, self.number(code + 10)?))
    }

    fn layer(&self) -> &str {
        self.groups.iter().find(|(c, _)| *c == 8).map_or("0", |(_, v)| v)
    }

    fn closed(&self) -> bool {
        self.number(70).is_some_and(|flags| flags as i64 & 1 == 1)
    }

    /// Corners of a light polyline with their bulges.
    fn corners(&self) -> Vec<(Vec2, f64)> {
        let mut out: Vec<(Vec2, f64)> = Vec::new();
        for (code, value) in &self.groups {
            let Some(value) = finite(value) else { continue };
            match code {
                10 => out.push((Vec2::new(value, f64::NAN), 0.0)),
                20 => out.iter_mut().next_back().into_iter().for_each(|c| c.0.y = value),
                42 => out.iter_mut().next_back().into_iter().for_each(|c| c.1 = value),
                _ => {}
            }
        }
        out
    }
}

/// All groups of a text.
fn groups(text: &str) -> Result<Vec<(i64, &str)>, BadDrawing> {
    if text.starts_with("AutoCAD Binary DXF") {
        return bad("the drawing is binary; 0 groups can be read", "save it as ASCII DXF, R12");
    }
    let mut lines = text.lines().enumerate();
    let mut out = Vec::new();
    while let Some((number, code)) = lines.next() {
        let Some((_, value)) = lines.next() else { break };
        let Ok(code) = code.trim().parse::<i64>() else {
            return bad(
                format!("line {} of the drawing is no group code", number + 1),
                "save it as ASCII DXF, R12",
            );
        };
        out.push((code, value.trim()));
    }
    Ok(out)
}

/// Millimetres of a unit of the drawing, if its header says.
fn unit(groups: &[(i64, &str)]) -> Option<f64> {
    let at = groups.iter().position(|g| *g == (9, "$INSUNITS"))?;
    let (_, value) = groups.get(at + 1).filter(|(code, _)| *code == 70)?;
    let value: i64 = value.parse().ok()?;
    UNITS.iter().find(|(v, _)| *v == value).map(|(_, mm)| *mm)
}

/// The entities of the drawing's section of that name.
fn entities<'a>(groups: &[(i64, &'a str)]) -> Vec<Entity<'a>> {
    let (mut out, mut inside): (Vec<Entity<'a>>, bool) = (Vec::new(), false);
    for (i, &(code, value)) in groups.iter().enumerate() {
        match code {
            0 if value == "SECTION" => {
                inside = groups.get(i + 1).is_some_and(|g| *g == (2, "ENTITIES"));
            }
            0 if value == "ENDSEC" => inside = false,
            0 if inside => out.push(Entity { name: value, groups: Vec::new() }),
            _ if inside => {
                out.iter_mut().next_back().into_iter().for_each(|e| e.groups.push((code, value)));
            }
            _ => {}
        }
    }
    out
}

/// The pieces of the drawing, in its own unit.
fn pieces(entities: &[Entity<'_>], layer: Option<&str>) -> Result<Vec<Piece>, BadDrawing> {
    let mut out = Vec::new();
    let mut other: BTreeMap<&str, usize> = BTreeMap::new();
    // Corners of an old polyline, whether it closes.
    let mut run: Option<(Vec<(Vec2, f64)>, bool)> = None;
    for entity in entities {
        if layer.is_some_and(|l| l != entity.layer()) && entity.name != "SEQEND" {
            continue;
        }
        match entity.name {
            "LINE" => {
                if let (Some(a), Some(b)) = (entity.point(10), entity.point(11)) {
                    out.push(Piece { a, b, bulge: 0.0 });
                }
            }
            "ARC" | "CIRCLE" => out.extend(turned(entity)),
            "LWPOLYLINE" => out.extend(chained(&entity.corners(), entity.closed())),
            "POLYLINE" => run = Some((Vec::new(), entity.closed())),
            "VERTEX" => {
                if let (Some((corners, _)), Some(p)) = (&mut run, entity.point(10)) {
                    corners.push((p, entity.number(42).unwrap_or(0.0)));
                }
            }
            "SEQEND" => {
                if let Some((corners, closed)) = run.take() {
                    out.extend(chained(&corners, closed));
                }
            }
            name if SHOWN_ONLY.contains(&name) => {}
            name => *other.entry(name).or_default() += 1,
        }
    }
    if let Some((name, count)) = other.iter().next() {
        return bad(
            format!("the drawing has {count} {name}, which is no line, arc or polyline"),
            "explode or convert it to lines and arcs, or leave its layer out: dxf_layer",
        );
    }
    if out.is_empty() || out.len() > MOST {
        return bad(
            format!("the drawing has {} lines and arcs; an outline has 1 to {MOST}", out.len()),
            "export the board's outline alone; dxf_layer names its layer",
        );
    }
    Ok(out)
}

/// An arc, or a circle as two.
fn turned(entity: &Entity<'_>) -> Vec<Piece> {
    let (Some(centre), Some(radius)) = (entity.point(10), entity.number(40)) else {
        return Vec::new();
    };
    let at = |degrees: f64| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        centre + Vec2::new(cos, sin) * radius
    };
    let (from, sweep) = match (entity.number(50), entity.number(51)) {
        (Some(from), Some(to)) if entity.name == "ARC" => (from, (to - from).rem_euclid(360.0)),
        _ => (0.0, 360.0),
    };
    let half = 0.5 * sweep;
    let bulge = (0.25 * half.to_radians()).tan();
    let (a, b, c) = (at(from), at(from + half), at(from + sweep));
    vec![Piece { a, b, bulge }, Piece { a: b, b: c, bulge }]
}

fn chained(corners: &[(Vec2, f64)], closed: bool) -> Vec<Piece> {
    let n = corners.len();
    let count = if closed { n } else { n.saturating_sub(1) };
    let piece =
        |i: usize| Piece { a: corners[i].0, b: corners[(i + 1) % n].0, bulge: corners[i].1 };
    let drawn = |p: &Piece| !(p.a.y.is_nan() || p.b.y.is_nan());
    (0..count).map(piece).filter(drawn).collect()
}

/// The outline that a drawing shows; `stated` is the unit that the job states,
/// in mm, for a drawing that does not say.
///
/// # Errors
/// No unit, no outline, one that is open, several, or one of no board's size.
pub(super) fn outline(
    text: &str,
    layer: Option<&str>,
    stated: Option<f64>,
) -> Result<Region, BadDrawing> {
    let groups = groups(text)?;
    let pieces = pieces(&entities(&groups), layer)?;
    let nowhere = (Vec2::repeat(f64::INFINITY), Vec2::repeat(f64::NEG_INFINITY));
    let bounds = pieces.iter().flat_map(Piece::segs).map(|s| s.bounds());
    let (low, high) = bounds.fold(nowhere, |(low, high), (l, h)| (low.inf(&l), high.sup(&h)));
    let size = high - low;
    let Some(unit) = unit(&groups).or(stated) else {
        return bad(
            format!(
                "the drawing does not say its unit: it is {:.3} by {:.3} of it",
                size.x, size.y
            ),
            format!(
                "dxf_unit = \"mm\" if that is right, \"inch\" for {:.1} by {:.1} mm",
                25.4 * size.x,
                25.4 * size.y
            ),
        );
    };
    let size = size * unit;
    let (least, most) = (size.x.min(size.y), size.x.max(size.y));
    // Also when it is no number.
    if !(least >= SIZES.0 && most <= SIZES.1) {
        return bad(
            format!(
                "the drawing is {:.2} by {:.2} mm; a board has {} to {} either way",
                size.x, size.y, SIZES.0, SIZES.1
            ),
            "look at the drawing's unit ($INSUNITS), and whether a frame is drawn around the board",
        );
    }
    let grid = |p: Vec2| {
        let p = (p - low) * unit;
        Vec2::new(snap(p.x), snap(p.y))
    };
    let placed = |p: &Piece| Piece { a: grid(p.a), b: grid(p.b), bulge: p.bulge };
    let placed: Vec<Piece> = pieces.iter().map(placed).filter(|p| p.a != p.b).collect();
    let chain = joined(placed)?;
    let mut segs: Vec<Seg> = chain.iter().flat_map(Piece::segs).collect();
    let twice = |segs: &[Seg]| segs.iter().map(twice_area).sum::<f64>();
    if twice(&segs) < 0.0 {
        segs.reverse();
        segs.iter_mut().for_each(|s| *s = s.reversed());
    }
    let around = 0.5 * twice(&segs);
    let region = Region::from_outlines(&[segs]).or_else(|e| {
        bad(format!("the drawing's outline is none: {e}"), "draw it again with lines and arcs")
    })?;
    if (region.area() - around).abs() > 1e-6 * around {
        return bad(
            format!(
                "the drawing's outline crosses itself: {around:.2} mm2 round it, {:.2} in it",
                region.area()
            ),
            "draw each edge once",
        );
    }
    Ok(region)
}

/// Twice the area between a piece and the origin, mm2.
fn twice_area(s: &Seg) -> f64 {
    let straight = s.a.x * s.b.y - s.a.y * s.b.x;
    let Some(arc) = s.arc else { return straight };
    let (sweep, square) = (s.sweep(), arc.radius * arc.radius);
    let bow = square * (sweep - sweep.sin());
    straight + if arc.ccw { bow } else { -bow }
}

/// All pieces as one closed chain.
fn joined(mut left: Vec<Piece>) -> Result<Vec<Piece>, BadDrawing> {
    let Some(first) = left.pop() else {
        return bad("the drawing has 0 pieces with a length", "export the board's outline alone");
    };
    let (start, mut chain) = (first.a, vec![first]);
    let mut end = first.b;
    while (end - start).norm() > JOINS {
        let away = |p: Vec2| (p - end).norm();
        let nearest = left.iter().enumerate().map(|(i, p)| (i, away(p.a).min(away(p.b))));
        let nearest = nearest.min_by(|a, b| a.1.total_cmp(&b.1)).filter(|n| n.1 <= JOINS);
        let Some((i, _)) = nearest else {
            return bad(
                format!(
                    "the outline is open at ({:.2}, {:.2}), counted from the drawing's lower left: \
                     {:.2} mm to where it began",
                    end.x,
                    end.y,
                    (end - start).norm()
                ),
                "close it in the drawing: ends must meet within 0.01 mm",
            );
        };
        let piece = left.swap_remove(i);
        let piece = if away(piece.a) <= away(piece.b) { piece } else { piece.reversed() };
        // Joined exactly.
        let piece = Piece { a: end, ..piece };
        end = piece.b;
        chain.push(piece);
    }
    if let Some(last) = chain.last_mut() {
        last.b = start;
    }
    chain.retain(|p| p.a != p.b);
    if !left.is_empty() {
        return bad(
            format!("the drawing has more than 1 closed line: {} pieces are left over", left.len()),
            "export the outline alone, dxf_layer names its layer; holes are entered as hole",
        );
    }
    Ok(chain)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawing(unit: i64, entities: &str) -> String {
        format!(
            "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n{unit}\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
             {entities}0\nENDSEC\n0\nEOF\n"
        )
    }

    fn line(a: (f64, f64), b: (f64, f64)) -> String {
        format!("0\nLINE\n8\nedge\n10\n{}\n20\n{}\n11\n{}\n21\n{}\n", a.0, a.1, b.0, b.1)
    }

    /// A board of 20 by 30 with corners of radius 2, as a light polyline.
    fn rounded() -> String {
        let corner = (22.5f64).to_radians().tan();
        let points = [
            (2.0, 0.0, 0.0),
            (18.0, 0.0, corner),
            (20.0, 2.0, 0.0),
            (20.0, 28.0, corner),
            (18.0, 30.0, 0.0),
            (2.0, 30.0, corner),
            (0.0, 28.0, 0.0),
            (0.0, 2.0, corner),
        ];
        let mut text = String::from("0\nLWPOLYLINE\n8\nedge\n90\n8\n70\n1\n");
        for (x, y, bulge) in points {
            text.push_str(&format!("10\n{x}\n20\n{y}\n42\n{bulge}\n"));
        }
        text
    }

    fn what(text: &str, stated: Option<f64>) -> String {
        let bad = outline(text, None, stated).expect_err("refused");
        assert!(!bad.hint.is_empty() && bad.what.chars().any(|c| c.is_ascii_digit()), "{bad:?}");
        bad.what
    }

    #[test]
    fn arcs_stay_arcs() {
        let region = outline(&drawing(4, &rounded()), None, None).expect("closed");
        let area = 600.0 - (4.0 - std::f64::consts::PI) * 4.0;
        assert!((region.area() - area).abs() < 1e-9, "{}", region.area());
        assert!(region.segs().iter().filter(|s| s.arc.is_some()).count() >= 4);
    }

    #[test]
    fn loose_lines_and_arcs_join_whatever_their_sense() {
        // A half disc on a square, in inches, one line the wrong way round.
        let arc = "0\nARC\n8\nedge\n10\n0.5\n20\n1\n40\n0.5\n50\n0\n51\n180\n";
        let text = [
            line((0.0, 0.0), (1.0, 0.0)),
            line((1.0, 1.0), (1.0, 0.0)),
            arc.to_owned(),
            line((0.0, 1.0), (0.0, 0.0)),
        ];
        let region = outline(&drawing(1, &text.concat()), Some("edge"), None).expect("closed");
        let area = 25.4 * 25.4 * (1.0 + std::f64::consts::PI / 8.0);
        assert!((region.area() / area - 1.0).abs() < 1e-6, "{}", region.area());
        let stated = outline(&drawing(0, &text.concat()), None, Some(25.4)).expect("closed");
        assert_eq!(stated.area(), region.area());
    }

    #[test]
    fn a_circle_is_a_board_too() {
        let text = drawing(4, "0\nCIRCLE\n8\n0\n10\n5\n20\n5\n40\n9\n");
        let region = outline(&text, None, None).expect("closed");
        assert!((region.area() / (81.0 * std::f64::consts::PI) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn old_polylines_are_read() {
        let vertex = |x: f64, y: f64| format!("0\nVERTEX\n8\n0\n10\n{x}\n20\n{y}\n");
        let text = format!(
            "0\nPOLYLINE\n8\n0\n66\n1\n70\n1\n{}{}{}{}0\nSEQEND\n8\n0\n",
            vertex(0.0, 0.0),
            vertex(9.0, 0.0),
            vertex(9.0, 5.0),
            vertex(0.0, 5.0)
        );
        assert_eq!(outline(&drawing(4, &text), None, None).expect("closed").area(), 45.0);
    }

    #[test]
    fn what_is_no_outline_is_refused_with_numbers() {
        let square = [
            line((0.0, 0.0), (9.0, 0.0)),
            line((9.0, 0.0), (9.0, 9.0)),
            line((9.0, 9.0), (0.0, 9.0)),
        ];
        let open = drawing(4, &square.concat());
        assert!(what(&open, None).starts_with("the outline is open at"), "{}", what(&open, None));
        let closed = square.concat() + &line((0.0, 9.0), (0.0, 0.0));
        let two = closed.clone() + "0\nCIRCLE\n8\n0\n10\n5\n20\n5\n40\n1\n";
        assert!(what(&drawing(4, &two), None).contains("more than 1"));
        assert!(what(&drawing(0, &closed), None).contains("does not say its unit"));
        assert!(what(&drawing(6, &closed), None).contains("9000.00 by 9000.00"));
        assert!(what(&drawing(4, &(closed + "0\nSPLINE\n8\n0\n")), None).contains("1 SPLINE"));
        assert!(what(&drawing(4, ""), None).contains("0 lines and arcs"));
        assert!(what("no drawing\nat all\n", None).contains("line 1"));
        let eight = [
            line((0.0, 0.0), (9.0, 9.0)),
            line((9.0, 9.0), (9.0, 0.0)),
            line((9.0, 0.0), (0.0, 8.0)),
            line((0.0, 8.0), (0.0, 0.0)),
        ];
        assert!(what(&drawing(4, &eight.concat()), None).contains("crosses itself"));
    }
}
