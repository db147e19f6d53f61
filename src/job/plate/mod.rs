//! Bodies on the plates of a printer: true outlines, turned, with a gap.
//!
//! Each body's outline is the set of grid cells that it covers seen from above.
//! Bodies go in one after another, the largest first, each to the lowest free
//! place of all its turns, on the first plate that has room (bottom-left
//! placement with first fit, on a raster: Oliveira and Ferreira, "Algorithms
//! for nesting problems", 1993; from memory). A few orders are tried, then
//! exchanges of two bodies; the layout with the fewest plates, then with the
//! lowest last plate, is kept.

mod files;
mod mask;

use std::f64::consts::TAU;

use nalgebra::{Matrix3, Rotation3};

use crate::measure::{Vec2, Vec3};
use crate::mesh::Mesh;
pub use files::plate_files;
use mask::{Mask, Run, covered_area};

/// Most copies of all bodies together.
pub const MAX_COPIES: usize = 1_000;

/// Side of a cell, mm, on beds up to [`FINE_BED`]: about a filament's width.
const CELL: f64 = 0.5;

/// Cells along a side of [`CELL`] in which outlines and gaps are measured.
const FINER: usize = 4;

/// Distance of the lines by which outlines' areas are measured, mm.
const AREA_STEP: f64 = 0.05;

/// Longest side of a bed that is laid out with cells of [`CELL`], mm. Larger
/// beds get larger cells.
const FINE_BED: f64 = 400.0;

/// Of the exchanges that are tried, so that each run gives the same.
const SEED: u64 = 0x6272;

/// Most layouts tried by exchanging two bodies, and most bodies placed in all
/// of them together: what keeps the search to a second or two.
const MOST_TRIES: usize = 60;
const PLACEMENTS: usize = 600;

/// A kind of body to be laid out.
#[derive(Clone, Copy, Debug)]
pub struct Piece<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its mesh.
    pub mesh: &'a Mesh,
    /// The direction of the mesh that points up on the plate.
    pub up: Vec3,
    /// Stretch along the bed's x, y and z, which makes up for the printer's scales.
    pub stretch: Matrix3<f64>,
    /// How many of it.
    pub copies: usize,
}

/// What a layout keeps to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlateRules {
    /// Width and depth of the bed, mm.
    pub bed: Vec2,
    /// Height of the build space, mm.
    pub height: f64,
    /// Least distance of two bodies, mm; default 4.
    pub gap: f64,
    /// Least distance from the edge of the bed, mm; default 5.
    pub margin: f64,
    /// Turns about the upright that are tried, all around; 1 for none;
    /// default 24.
    pub turns: usize,
}

impl PlateRules {
    /// The defaults for a bed.
    pub fn new(bed: Vec2, height: f64) -> PlateRules {
        PlateRules { bed, height, gap: 4.0, margin: 5.0, turns: 24 }
    }
}

/// A copy of a body on a plate.
#[derive(Clone, Debug, PartialEq)]
pub struct OnPlate {
    /// Index of the piece.
    pub piece: usize,
    /// Which copy of it, from 0.
    pub copy: usize,
    /// Turn about the origin, with the stretch of [`Piece`], then shift.
    pub turn: Matrix3<f64>,
    /// Shift, mm: onto the bed, whose corner is the origin.
    pub shift: Vec3,
}

/// One plate.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// What lies on it.
    pub bodies: Vec<OnPlate>,
    /// Area of the outlines, mm2.
    pub covered: f64,
    /// Width and depth of all together, mm.
    pub used: Vec2,
}

/// Why bodies cannot be laid out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlateError {
    /// A body is larger than the bed in every turn.
    #[error(
        "{name} covers {:.1} x {:.1} mm at its narrowest; the bed has {:.1} x {:.1} mm inside its margin",
        size.x, size.y, room.x, room.y
    )]
    TooWide {
        /// Name of the body.
        name: String,
        /// Its least box of all turns, mm.
        size: Vec2,
        /// What the bed leaves, mm.
        room: Vec2,
    },
    /// A body is higher than the build space.
    #[error("{name} is {height:.1} mm high as it is to stand; the build space has {room:.1} mm")]
    TooHigh {
        /// Name of the body.
        name: String,
        /// Its height, mm.
        height: f64,
        /// Height of the build space, mm.
        room: f64,
    },
    /// More copies than can be laid out.
    #[error("{copies} copies are more than the {MAX_COPIES} that can be laid out at once")]
    TooMany {
        /// Copies asked for.
        copies: usize,
    },
}

/// The turn that brings direction `up` upright.
pub fn upright(up: Vec3) -> Matrix3<f64> {
    match Rotation3::rotation_between(&up, &Vec3::z()) {
        // Sides of the box turn exactly: no noise in flat undersides.
        Some(turn) => {
            turn.matrix().map(|v| if (v - v.round()).abs() < 1e-12 { v.round() } else { v })
        }
        // Upside down: about x.
        None => Matrix3::from_diagonal(&Vec3::new(1.0, -1.0, -1.0)),
    }
}

/// Lays all copies out on as few plates as it finds.
///
/// Bodies keep `rules.gap` from one another and `rules.margin` from the edge,
/// up to rounding; what lies on a plate is centred on the bed.
///
/// # Errors
/// See [`PlateError`].
pub fn lay_out(pieces: &[Piece<'_>], rules: &PlateRules) -> Result<Vec<Plate>, PlateError> {
    let copies = pieces.iter().fold(0_usize, |sum, piece| sum.saturating_add(piece.copies));
    if copies > MAX_COPIES {
        return Err(PlateError::TooMany { copies });
    }
    let room = (rules.bed - Vec2::repeat(2.0 * rules.margin)).map(|v| v.max(0.0));
    let cell = CELL * (rules.bed.max() / FINE_BED).max(1.0);
    let mut shapes = Vec::with_capacity(pieces.len());
    for piece in pieces {
        shapes.push(Shape::new(piece, rules, room, cell)?);
    }
    let plates = search(pieces, &shapes, room, cell);
    Ok(plates.into_iter().map(|plate| plate.finish(&shapes, rules.bed, cell)).collect())
}

/// Layouts of these orders, with quarter turns only and with all turns; then
/// the best with two copies exchanged, again and again: what is better is kept.
fn search(pieces: &[Piece<'_>], shapes: &[Shape], room: Vec2, cell: f64) -> Vec<Raster> {
    let try_out = |order: &[(usize, usize)], quarters: bool| {
        let plates = fill(shapes, order, quarters, room, cell);
        let rank = (plates.len(), plates.last().map_or(0, |plate| plate.top));
        (rank, plates)
    };
    let mut best: Option<((usize, usize), Vec<Raster>)> = None;
    let mut order = Vec::new();
    for tried in orders(pieces, shapes) {
        for quarters in [true, false] {
            let (rank, plates) = try_out(&tried, quarters);
            if best.as_ref().is_none_or(|(known, _)| rank < *known) {
                best = Some((rank, plates));
                order.clone_from(&tried);
            }
        }
    }
    let count = order.len();
    let mut random = fastrand::Rng::with_seed(SEED);
    let tries = if count > 1 { (PLACEMENTS / count).min(MOST_TRIES) } else { 0 };
    for _ in 0..tries {
        let (a, b) = (random.usize(0..count), random.usize(0..count));
        if order[a].0 == order[b].0 {
            continue;
        }
        order.swap(a, b);
        let (rank, plates) = try_out(&order, random.bool());
        if best.as_ref().is_none_or(|(known, _)| rank <= *known) {
            best = Some((rank, plates));
        } else {
            order.swap(a, b);
        }
    }
    best.map(|(_, plates)| plates).unwrap_or_default()
}

/// A body in one of its turns.
struct Turned {
    /// Whether it is a quarter turn or none.
    quarter: bool,
    turn: Matrix3<f64>,
    /// Lower corner after the turn, mm.
    low: Vec3,
    /// Size after the turn, mm.
    size: Vec2,
    runs: Vec<Vec<Run>>,
    width: usize,
    /// Greatest cell in which its corner may lie, along x and y.
    most: [usize; 2],
    /// What it takes of the plate, gap included, and how far that reaches out.
    wide: Mask,
    reach: usize,
    /// Of the outline, mm2.
    area: f64,
}

struct Shape {
    turns: Vec<Turned>,
}

impl Shape {
    fn new(
        piece: &Piece<'_>,
        rules: &PlateRules,
        room: Vec2,
        cell: f64,
    ) -> Result<Shape, PlateError> {
        let name = || piece.name.to_owned();
        let up = upright(piece.up);
        let mut least = Vec2::repeat(f64::INFINITY);
        let mut turns: Vec<Turned> = Vec::new();
        for step in 0..rules.turns.max(1) {
            let angle = TAU * step as f64 / rules.turns.max(1) as f64;
            let spin = Rotation3::from_axis_angle(&Vec3::z_axis(), angle).into_inner();
            // Exact quarters keep flat sides flat.
            let spin = spin.map(|v| if (v - v.round()).abs() < 1e-12 { v.round() } else { v });
            let quarter = spin.iter().all(|v| v.fract() == 0.0);
            let turn = piece.stretch * spin * up;
            let points: Vec<Vec3> = piece.mesh.vertices().iter().map(|p| turn * p).collect();
            let first = points.first().copied().unwrap_or_else(Vec3::zeros);
            let (low, high) = points.iter().fold((first, first), |(l, h), p| (l.inf(p), h.sup(p)));
            if high.z - low.z > rules.height {
                let height = high.z - low.z;
                return Err(PlateError::TooHigh { name: name(), height, room: rules.height });
            }
            let size = (high - low).xy();
            if size.max() * size.min() < least.max() * least.min() {
                least = size;
            }
            if size.x > room.x || size.y > room.y {
                continue;
            }
            let corner = |v: &u32| (points[*v as usize] - low).xy();
            let triangles: Vec<[Vec2; 3]> =
                piece.mesh.triangles().iter().map(|t| [&t[0], &t[1], &t[2]].map(corner)).collect();
            // The same in every turn.
            let area = turns
                .first()
                .map_or_else(|| covered_area(&triangles, size.y, AREA_STEP), |known| known.area);
            // The gap is measured finer than bodies are placed: less is lost.
            let fine = Mask::shadow(triangles.into_iter(), size, cell / FINER as f64);
            let (wide, reach) = fine.widened(rules.gap, cell / FINER as f64);
            let (wide, reach) = wide.coarser(FINER, reach);
            let (mask, _) = fine.coarser(FINER, 0);
            let runs: Vec<Vec<Run>> = (0..mask.height).map(|y| mask.runs(y)).collect();
            if turns.iter().any(|known| known.runs == runs) {
                continue; // a body that looks the same so turned
            }
            turns.push(Turned {
                quarter,
                turn,
                low,
                size,
                runs,
                width: mask.width,
                most: [0, 1].map(|k| ((room[k] - size[k]) / cell).floor() as usize),
                area,
                wide,
                reach,
            });
        }
        if turns.is_empty() {
            return Err(PlateError::TooWide { name: name(), size: least, room });
        }
        Ok(Shape { turns })
    }

    fn first(&self) -> &Turned {
        &self.turns[0]
    }
}

/// Orders of all copies worth trying: by area, by either side, by box.
fn orders(pieces: &[Piece<'_>], shapes: &[Shape]) -> Vec<Vec<(usize, usize)>> {
    let all: Vec<(usize, usize)> = pieces
        .iter()
        .enumerate()
        .flat_map(|(piece, p)| (0..p.copies).map(move |copy| (piece, copy)))
        .collect();
    let keys: [fn(&Turned) -> f64; 4] =
        [|t| t.area, |t| t.size.max(), |t| t.size.min(), |t| t.size.x * t.size.y];
    let mut orders: Vec<Vec<(usize, usize)>> = Vec::new();
    for key in keys {
        let mut order = all.clone();
        order.sort_by(|a, b| {
            let of = |x: &(usize, usize)| key(shapes[x.0].first());
            of(b).total_cmp(&of(a)).then(a.cmp(b))
        });
        if !orders.contains(&order) {
            orders.push(order);
        }
    }
    orders
}

/// A plate while it is filled.
struct Raster {
    taken: Mask,
    placed: Vec<(usize, usize, usize, [usize; 2])>,
    /// First free row above all, cells.
    top: usize,
}

fn fill(
    shapes: &[Shape],
    order: &[(usize, usize)],
    quarters: bool,
    room: Vec2,
    cell: f64,
) -> Vec<Raster> {
    // The last cell may stick out; bodies do not, see `Turned::most`.
    let cells = room.map(|v| (v / cell).floor() as usize + 1);
    let mut plates: Vec<Raster> = Vec::new();
    for &(piece, copy) in order {
        let shape = &shapes[piece];
        let found = plates
            .iter()
            .enumerate()
            .find_map(|(i, plate)| Some((i, place(&plate.taken, shape, quarters)?)));
        let (index, (turn, at)) = found.unwrap_or_else(|| {
            let taken = Mask::empty(cells.x, cells.y);
            plates.push(Raster { taken, placed: Vec::new(), top: 0 });
            let index = plates.len() - 1;
            (
                index,
                place(&plates[index].taken, shape, false)
                    .expect("each turn kept fits an empty plate"),
            )
        });
        let plate = &mut plates[index];
        let turned = &shape.turns[turn];
        let reach = turned.reach as i64;
        plate.taken.stamp(&turned.wide, (at[0] as i64 - reach, at[1] as i64 - reach));
        plate.top = plate.top.max(at[1] + turned.runs.len());
        plate.placed.push((piece, copy, turn, at));
    }
    plates
}

/// The turn and place with the lowest upper edge, then the leftmost.
fn place(taken: &Mask, shape: &Shape, quarters: bool) -> Option<(usize, [usize; 2])> {
    let mut best: Option<((usize, usize), usize, [usize; 2])> = None;
    for (turn, turned) in shape.turns.iter().enumerate() {
        if quarters && !turned.quarter {
            continue;
        }
        for y in 0..=turned.most[1] {
            let upper = y + turned.runs.len();
            if best.as_ref().is_some_and(|(rank, ..)| upper > rank.0) {
                break;
            }
            let Some(x) = taken.room(&turned.runs, y, turned.most[0]) else { continue };
            let rank = (upper, x + turned.width);
            if best.as_ref().is_none_or(|(known, ..)| rank < *known) {
                best = Some((rank, turn, [x, y]));
            }
            break;
        }
    }
    best.map(|(_, turn, at)| (turn, at))
}

impl Raster {
    /// From cells to millimetres, centred on the bed.
    fn finish(self, shapes: &[Shape], bed: Vec2, cell: f64) -> Plate {
        let corner = |at: [usize; 2]| Vec2::new(at[0] as f64 * cell, at[1] as f64 * cell);
        let mut used = (Vec2::repeat(f64::INFINITY), Vec2::repeat(f64::NEG_INFINITY));
        let mut covered = 0.0;
        for (piece, _, turn, at) in &self.placed {
            let turned = &shapes[*piece].turns[*turn];
            used.0 = used.0.inf(&corner(*at));
            used.1 = used.1.sup(&(corner(*at) + turned.size));
            covered += turned.area;
        }
        let centre = 0.5 * (bed - (used.0 + used.1));
        let bodies = self.placed.into_iter().map(|(piece, copy, turn, at)| {
            let turned = &shapes[piece].turns[turn];
            let at = corner(at) + centre;
            let shift = Vec3::new(at.x, at.y, 0.0) - turned.low;
            OnPlate { piece, copy, turn: turned.turn, shift }
        });
        Plate { bodies: bodies.collect(), covered, used: used.1 - used.0 }
    }
}

#[cfg(test)]
mod tests;
