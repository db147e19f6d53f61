//! The tray's sections along its length, and the solid of them.

use super::super::Refusal;
use super::super::build::{Ends, solid};
use super::across::Across;
use super::axial::{Axial, Contacts};
use super::cover::Cover;
use super::lips::Lips;
use super::spec::Spec;
use crate::measure::Vec2;
use crate::section::{Region, Seg, snap};
use crate::solid::{RuledSection, Solid, Stack};

/// Larger than any section, mm.
const FAR: f64 = 200.0;
/// Overlap of pieces that are to become one, mm.
const OVERLAP: f64 = 0.3;
/// Smallest chamfer worth making, mm.
const LEAST_CHAMFER: f64 = 0.1;
/// Step by which a chamfer is made smaller until the section takes it, mm.
const CHAMFER_STEP: f64 = 0.05;
/// Wall beside the tab's slot, over the printer's least wall.
const BLOCK_WALL: f64 = 1.25;
/// How far the block of the positive contact reaches above the cell's axis,
/// over the trough's radius.
const BLOCK_TOP: f64 = 0.55;
/// Height of the opening for the leaf above its plate's lower edge, mm.
pub(super) const SILL: f64 = 1.0;

/// Unit vector at `degrees` from +x, counter-clockwise.
pub(super) fn at_angle(degrees: f64) -> Vec2 {
    let (sin, cos) = degrees.to_radians().sin_cos();
    Vec2::new(cos, sin)
}

/// A piece of a ring between two angles, degrees, counter-clockwise; ends are
/// cut square, or round over the whole thickness.
pub(super) fn ring_sector(
    centre: Vec2,
    inner: f64,
    thickness: f64,
    (from, to): (f64, f64),
    (round_from, round_to): (bool, bool),
) -> Region {
    let outer = inner + thickness;
    let (first, last) = (at_angle(from), at_angle(to));
    let point = |radius: f64, way: Vec2| centre + way * radius;
    let end = |a: Vec2, b: Vec2, way: Vec2, round: bool| {
        if round {
            Seg::arc(point(inner + 0.5 * thickness, way), 0.5 * thickness, a, b, true)
        } else {
            vec![Seg::line(a, b)]
        }
    };
    let mut outline = Seg::arc(centre, outer, point(outer, first), point(outer, last), true);
    outline.extend(end(point(outer, last), point(inner, last), last, round_to));
    outline.extend(Seg::arc(centre, inner, point(inner, last), point(inner, first), false));
    outline.extend(end(point(inner, first), point(outer, first), first, round_from));
    Region::from_outlines(&[outline]).expect("the pieces of a ring join")
}

/// Angle, degrees past the middle, at which a ring with round tips must end so
/// that its mouth is as wide as that of one with sharp tips at `wrap`.
pub(super) fn round_tip(inner: f64, thickness: f64, wrap: f64) -> f64 {
    let half = inner * wrap.to_radians().cos() + 0.5 * thickness;
    (half / (inner + 0.5 * thickness)).min(1.0).acos().to_degrees()
}

/// The wedge below two rays from `apex` that dip by `dip` degrees.
pub(super) fn below(apex: Vec2, dip: f64) -> Region {
    Region::polygon(&[apex, apex + at_angle(dip - 180.0) * FAR, apex + at_angle(-dip) * FAR])
}

fn bar(x: (f64, f64), y: (f64, f64)) -> Region {
    Region::rectangle(Vec2::new(x.0, y.0), Vec2::new(x.1, y.1))
}

/// Length and width of the bars of marks, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Glyph {
    pub long: f64,
    pub wide: f64,
}

/// Everything the sections are made of.
pub(super) struct Shape<'a> {
    pub spec: &'a Spec,
    pub across: &'a Across,
    pub axial: &'a Axial,
    pub contacts: &'a Contacts,
    pub cover: Option<&'a Cover>,
    /// Pieces of lip, mm from the outer face of the negative end.
    pub pieces: [(f64, f64); 2],
    pub glyph: Glyph,
    lips: Region,
    ducts: Region,
    block: Region,
    floor: [Region; 2],
    faces: [Region; 2],
}

/// What was made.
pub(super) struct Tray {
    pub solid: Solid,
    pub chamfers: Ends,
}

impl<'a> Shape<'a> {
    pub(super) fn new(
        spec: &'a Spec,
        across: &'a Across,
        axial: &'a Axial,
        contacts: &'a Contacts,
        lips: &Lips,
        cover: Option<&'a Cover>,
    ) -> Shape<'a> {
        let centre = Vec2::new(0.0, across.cell_y);
        let trough = spec.trough();
        let piece = 0.5 * lips.length;
        let (start, end) = axial.lips;
        let pieces = [(snap(start), snap(start + piece)), (snap(end - piece), snap(end))];
        let tip = round_tip(trough, lips.thickness, lips.wrap);
        // The lips begin inside the base, so that they are one with it.
        let low = -across.root - (OVERLAP / trough).to_degrees();
        let right = ring_sector(centre, trough, lips.thickness, (low, tip), (false, true));
        let left =
            ring_sector(centre, trough, lips.thickness, (180.0 - tip, 180.0 - low), (true, false));
        let half = snap(contacts.tab.0 + BLOCK_WALL * spec.wall_supported);
        let top = snap(across.cell_y + BLOCK_TOP * trough);
        let block = bar((-half, half), (across.cell_y - trough - OVERLAP, top))
            .intersection(&Region::disc(centre, trough + OVERLAP));
        let wide = snap(spec.engrave.max(MARK_WIDTH));
        // Within the floor, which is as wide as the base.
        let room = 1.2 * trough * across.root.to_radians().cos();
        let long = snap((trough * MARK_LENGTH).min(room).min(LONGEST_MARK).max(2.0 * wide));
        let glyph = Glyph { long, wide };
        let floor = |length: f64| {
            let cut = bar((-0.5 * length, 0.5 * length), (-FAR, across.cell_y));
            Region::disc(centre, trough + across.mark).intersection(&cut)
        };
        let dash = |wide: f64, high: f64| {
            let y = snap(across.cell_y + 1.0);
            bar((-0.5 * wide, 0.5 * wide), (y - 0.5 * high, y + 0.5 * high))
        };
        let minus = dash(long, wide);
        let plus = minus.union(&dash(wide, long));
        Shape {
            spec,
            across,
            axial,
            contacts,
            cover,
            pieces,
            glyph,
            lips: right.union(&left),
            ducts: ducts(spec, across),
            block,
            floor: [floor(long), floor(wide)],
            faces: [minus, plus],
        }
    }

    /// Where the bars of the floor's marks lie: across and along, with the
    /// bar's index in `floor`.
    fn floor_marks(&self) -> [(f64, f64, usize); 3] {
        let Glyph { long, wide } = self.glyph;
        let minus = snap(self.axial.frame + MARK_INSET + 0.5 * long);
        let plus = snap(self.axial.guard - MARK_INSET - 0.5 * long);
        [
            (snap(minus - 0.5 * wide), snap(minus + 0.5 * wide), 0),
            (snap(plus - 0.5 * wide), snap(plus + 0.5 * wide), 0),
            (snap(plus - 0.5 * long), snap(plus + 0.5 * long), 1),
        ]
    }

    /// Heights at which the section may change.
    fn levels(&self, ends: Ends) -> Vec<f64> {
        let axial = self.axial;
        let total = axial.total;
        let mut levels = vec![
            0.0,
            axial.spring_slot.0,
            axial.spring_slot.1,
            axial.frame,
            axial.guard,
            axial.tab_slot.0,
            axial.tab_slot.1,
            axial.wall,
            total,
            ends.low,
            snap(total - ends.high),
        ];
        levels.extend(self.pieces.iter().flat_map(|p| [p.0, p.1]));
        if self.spec.mark > 0.0 {
            levels.extend([self.spec.mark, snap(total - self.spec.mark)]);
        }
        if self.across.mark > 0.0 {
            levels.extend(self.floor_marks().iter().flat_map(|m| [m.0, m.1]));
        }
        if let Some(cover) = self.cover {
            levels.extend([cover.flange, snap(total - cover.flange)]);
        }
        levels.retain(|l| (0.0..=total).contains(l));
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|a, b| (*a - *b).abs() < 0.5e-3);
        levels
    }

    /// The section at a height between levels, with the outside drawn at
    /// `outside`.
    fn section(&self, z: f64, outside: f64) -> Region {
        let (spec, across, axial) = (self.spec, self.across, self.axial);
        let origin = Vec2::zeros();
        let centre = Vec2::new(0.0, across.cell_y);
        let within = |(low, high): (f64, f64)| low < z && z < high;
        let disc = Region::disc(origin, outside);
        let walled = z < axial.frame || z > axial.wall;
        let mut region = if walled {
            match self.cover {
                Some(cover) if within((cover.flange, axial.total - cover.flange)) => disc
                    .intersection(&below(origin, cover.rebate))
                    .union(&Region::disc(origin, spec.covered())),
                _ => disc,
            }
        } else {
            let mut open = disc
                .intersection(&below(centre, across.root))
                .difference(&Region::disc(centre, spec.trough()));
            if self.pieces.iter().any(|&p| within(p)) {
                open = open.union(&self.lips);
            }
            if within((axial.guard, axial.wall)) {
                open = open.union(&self.block);
            }
            open
        };
        let mut cut = |tool: &Region| region = region.difference(tool);
        if let Some(y) = across.flat {
            cut(&bar((-FAR, FAR), (-FAR, y)));
        }
        if !across.ducts.is_empty() {
            cut(&self.ducts);
        }
        let c = self.contacts;
        if within(axial.spring_slot) {
            cut(&bar((-c.plate.0, c.plate.0), (c.plate.1, FAR)));
        }
        if within((axial.spring_slot.1, axial.frame)) {
            cut(&bar((-c.window, c.window), (c.plate.1 + SILL, FAR)));
        }
        if within((axial.guard, axial.tab_slot.0)) {
            cut(&Region::slot(centre, Vec2::new(0.0, FAR), c.button));
        }
        if within(axial.tab_slot) {
            cut(&bar((-c.tab.0, c.tab.0), (c.tab.1, FAR)));
        }
        if spec.tail > 0.0 {
            let half = 0.5 * spec.tail;
            for (range, y) in [
                ((0.0, axial.spring_slot.1), c.plate.1),
                ((axial.tab_slot.0, axial.total), c.tab.1),
            ] {
                if within(range) {
                    cut(&bar((-half, half), (-FAR, y)));
                }
            }
        }
        if across.mark > 0.0 {
            for (from, to, index) in self.floor_marks() {
                if within((from, to)) {
                    cut(&self.floor[index]);
                }
            }
        }
        if spec.mark > 0.0 {
            if z < spec.mark {
                cut(&self.faces[0]);
            }
            if z > axial.total - spec.mark {
                cut(&self.faces[1]);
            }
        }
        region
    }

    /// The tray at its place in the handle, `flip`ped when its positive end
    /// points back.
    pub(super) fn tray(&self, from_z: f64, flip: bool, ends: Ends) -> Result<Tray, Refusal> {
        // Chamfers lie at the ends of the print, whichever contact is there.
        let mut ends = if flip { Ends { low: ends.high, high: ends.low } } else { ends };
        let most = 0.5 * self.spec.end_wall;
        ends = Ends { low: snap(ends.low.min(most)), high: snap(ends.high.min(most)) };
        loop {
            let low = match self.stack(from_z, flip, ends) {
                Ok(stack) => match solid(&stack, &[], "the tray") {
                    Ok(solid) => {
                        let (low, high) = (ends.low, ends.high);
                        let chamfers = if flip { Ends { low: high, high: low } } else { ends };
                        return Ok(Tray { solid, chamfers });
                    }
                    // A chamfer may just meet a groove or the flat.
                    Err(refusal) if ends.low + ends.high == 0.0 => return Err(refusal),
                    Err(_) => ends.low >= ends.high,
                },
                Err(low) => low,
            };
            let size = if low { &mut ends.low } else { &mut ends.high };
            *size = snap(*size - CHAMFER_STEP);
            if *size < LEAST_CHAMFER {
                *size = 0.0;
            }
        }
    }

    /// The stack, or which chamfer was refused (`true`: the one at zero).
    fn stack(&self, from_z: f64, flip: bool, ends: Ends) -> Result<Stack, bool> {
        let total = self.axial.total;
        let levels = self.levels(ends);
        let outside = self.spec.outside;
        let mut slabs = Vec::new();
        for pair in levels.windows(2) {
            let (low, high) = (pair[0], pair[1]);
            let middle = 0.5 * (low + high);
            // How much the chamfer takes off the outside at a height.
            let off = |z: f64| (ends.low - z).max(ends.high - (total - z)).max(0.0);
            let (a, b) = (off(low), off(high));
            let ruled = if a.max(b) < 0.5e-3 {
                RuledSection::prism(&self.section(middle, outside))
            } else {
                let at = |by: f64| self.section(middle, snap(outside - by));
                let ruled = if flip {
                    RuledSection::between(&at(b), &at(a))
                } else {
                    RuledSection::between(&at(a), &at(b))
                };
                ruled.map_err(|_| middle < 0.5 * total)?
            };
            slabs.push((low, high, ruled));
        }
        let mut stack = Stack::default();
        let place = |z: f64| snap(from_z + if flip { total - z } else { z });
        if flip {
            slabs.reverse();
        }
        for (low, high, ruled) in slabs {
            let (low, high) = if flip { (high, low) } else { (low, high) };
            stack.ruled(place(low), place(high), ruled);
        }
        Ok(stack)
    }

    /// Gap between the lips at the tips of two neighbouring pieces, mm.
    pub(super) fn finger(&self) -> f64 {
        self.pieces[1].0 - self.pieces[0].1
    }
}

/// Width and longest length of marks, mm; length over the trough's radius;
/// distance from the contacts.
const MARK_WIDTH: f64 = 1.0;
const LONGEST_MARK: f64 = 6.0;
const MARK_LENGTH: f64 = 0.6;
const MARK_INSET: f64 = 2.0;

/// All ducts: grooves open towards the bore, or holes.
fn ducts(spec: &Spec, across: &Across) -> Region {
    let radius = 0.5 * across.duct;
    across.ducts.iter().fold(Region::empty(), |all, &at| {
        let one = if spec.wires.closed {
            Region::disc(at, radius)
        } else {
            Region::slot(at, at + at / at.norm() * (2.0 * across.duct), radius)
        };
        all.union(&one)
    })
}

/// Angle, degrees below the bore's middle, at which the base's side meets the
/// outside.
pub(super) fn base_edge(spec: &Spec, across: &Across) -> f64 {
    let way = at_angle(-across.root);
    let y = across.cell_y;
    // |C + s way| = outside.
    let along = -y * way.y;
    let s = along + (spec.outside.powi(2) - y * y + along * along).max(0.0).sqrt();
    let p = Vec2::new(0.0, y) + way * s;
    (-p.y).atan2(p.x).to_degrees()
}
