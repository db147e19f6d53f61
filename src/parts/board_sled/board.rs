//! The board's outline, in a plane of its own.

use super::super::Refusal;
use super::dxf;
use crate::measure::{Values, Vec2};
use crate::section::Region;

/// Noise of a straight edge's position, mm.
const ON_EDGE: f64 = 1e-6;
/// A notch may reach beyond the outline by this much, mm, so that it cuts
/// through the edge.
const BEYOND: f64 = 0.01;

/// A bare board, seen on its component side with the front up: x to the right
/// from its middle line, z from its edge at the cap.
#[derive(Clone, Debug)]
pub(super) struct Board {
    pub outline: Region,
    pub width: f64,
    pub length: f64,
    /// Stretches of z in which its left and its right edge are straight and as
    /// far out as the board is wide.
    pub straight: [Vec<(f64, f64)>; 2],
}

impl Board {
    /// The board that the part's rows describe.
    ///
    /// # Errors
    /// Measures that are missing, notches that leave nothing or fall apart,
    /// corners that cross.
    pub(super) fn new(values: &Values) -> Result<Board, Refusal> {
        let outline = match values.choice("outline") {
            "polygon" => polygon(values)?,
            "notched" => notched(values)?,
            "dxf" => drawn(values)?,
            _ => rectangle(values)?,
        };
        Board::of(outline, values)
    }

    fn of(outline: Region, values: &Values) -> Result<Board, Refusal> {
        let Some((low, high)) = outline.bounds().filter(|_| !outline.is_undefined()) else {
            return Err(Refusal::new("the board's outline encloses 0 mm2").at(values, "outline"));
        };
        let loops = outline.loops().len();
        if loops != 1 {
            let what = format!("the board's outline is {loops} closed lines; it must be 1");
            return Err(Refusal::new(what)
                .at(values, "outline")
                .hint("notches must leave one piece, and corners must not cross"));
        }
        let (width, length) = (high.x - low.x, high.y - low.y);
        let zero = Vec2::new(0.5 * (low.x + high.x), low.y);
        let pieces: Vec<_> = outline.segs().iter().map(|s| moved(s, -zero)).collect();
        let side = |sign: f64| {
            let on = |p: Vec2| (p.x - sign * 0.5 * width).abs() < ON_EDGE;
            let edges = pieces.iter().filter(|s| s.arc.is_none() && on(s.a) && on(s.b));
            let mut found: Vec<(f64, f64)> =
                edges.map(|s| (s.a.y.min(s.b.y), s.a.y.max(s.b.y))).collect();
            found.sort_by(|a, b| a.0.total_cmp(&b.0));
            found
        };
        let straight = [side(-1.0), side(1.0)];
        let outline = Region::from_outlines(&[pieces]).expect("a closed line that was moved");
        Ok(Board { outline, width, length, straight })
    }
}

fn moved(s: &crate::section::Seg, by: Vec2) -> crate::section::Seg {
    let mut s = *s;
    s.a += by;
    s.b += by;
    if let Some(arc) = &mut s.arc {
        arc.centre += by;
    }
    s
}

fn measure(values: &Values, key: &'static str) -> Result<f64, Refusal> {
    values.maybe_number(key).ok_or_else(|| {
        let shape = values.choice("outline");
        Refusal::new(format!("a {shape} outline needs 2 measures; {key} is not given"))
            .at(values, key)
            .hint(format!("measure the board and write {key} = ..."))
    })
}

fn rectangle(values: &Values) -> Result<Region, Refusal> {
    let (width, length) = (measure(values, "width")?, measure(values, "length")?);
    Ok(Region::rectangle(Vec2::new(-0.5 * width, 0.0), Vec2::new(0.5 * width, length)))
}

fn notched(values: &Values) -> Result<Region, Refusal> {
    let whole = rectangle(values)?;
    let (_, far) = whole.bounds().expect("a rectangle with measures above zero");
    let mut out = whole.clone();
    for notch in values.list("notch") {
        let (x, z) = (notch.number("x"), notch.number("z"));
        let (w, l) = (0.5 * notch.number("width"), 0.5 * notch.number("length"));
        let inside = x.abs() + w < far.x && z - l > 0.0 && z + l < far.y;
        if inside {
            let nearest = (far.x - x.abs() - w).min(z - l).min(far.y - z - l);
            let what = format!(
                "the notch lies {nearest:.2} mm inside the board; a notch must reach over its edge"
            );
            return Err(Refusal::new(what)
                .at(notch, "x")
                .hint("holes of the board are entered as hole"));
        }
        // Sides on the board's own edge are moved out, so that they cut through.
        let out_of = |v: f64, edge: f64| if (v - edge).abs() < BEYOND { edge * 2.0 - v } else { v };
        let (a, b) = (out_of(x - w, -far.x), out_of(x + w, far.x));
        out = out.difference(&Region::rectangle(Vec2::new(a, z - l), Vec2::new(b, z + l)));
    }
    Ok(out)
}

/// Millimetres of an inch.
const INCH: f64 = 25.4;

fn drawn(values: &Values) -> Result<Region, Refusal> {
    let Some(file) = values.maybe_file("dxf") else {
        return Err(Refusal::new("an outline from a drawing needs 1 file; 0 are named")
            .at(values, "dxf")
            .hint("write dxf = \"board.dxf\", a file in the job's folder"));
    };
    let stated = values.maybe_choice("dxf_unit").map(|u| if u == "inch" { INCH } else { 1.0 });
    let text = std::str::from_utf8(file.bytes()).map_err(|error| {
        let byte = error.valid_up_to();
        Refusal::new(format!("{} is no text from byte {byte} on", file.name()))
            .at(values, "dxf")
            .hint("export it as ASCII DXF, not as a binary one")
    })?;
    dxf::outline(text, values.maybe_text("dxf_layer"), stated)
        .map_err(|bad| Refusal::new(bad.what).at(values, "dxf").hint(bad.hint))
}

fn polygon(values: &Values) -> Result<Region, Refusal> {
    let points = values.points("corners");
    if points.len() < 3 {
        let what = format!("a polygon needs 3 corners or more; {} are given", points.len());
        return Err(Refusal::new(what)
            .at(values, "corners")
            .hint("write corners = [[x, z], [x, z], ...] in order around the board"));
    }
    let twice: f64 = (0..points.len())
        .map(|i| {
            let (p, q) = (points[i], points[(i + 1) % points.len()]);
            p.x * q.y - p.y * q.x
        })
        .sum();
    let ordered: Vec<Vec2> =
        if twice < 0.0 { points.iter().rev().copied().collect() } else { points.to_vec() };
    let region = Region::polygon(&ordered);
    if (region.area() - 0.5 * twice.abs()).abs() > 1e-3 * region.area().max(1.0) {
        let what = format!(
            "the {} corners cross: they enclose {:.1} mm2 one way round and {:.1} in all",
            points.len(),
            0.5 * twice.abs(),
            region.area()
        );
        return Err(Refusal::new(what)
            .at(values, "corners")
            .hint("give them in order around the board"));
    }
    Ok(region)
}
