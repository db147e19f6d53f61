//! Where cell, base and wires lie across the bore.

use super::spec::{Opening, Spec};
use crate::measure::Vec2;
use crate::section::snap;
use crate::trade::wire::{Bundle, BundleInput, bundle};

/// Gap of the free lips to the bore, and of the cell to what lies over it, mm.
const SHY: f64 = 0.1;
/// Step in which the cell's axis is moved, mm.
const STEP: f64 = 0.05;
/// Lowest and highest root that is chosen, degrees below the cell's middle.
const ROOT: (f64, f64) = (20.0, 65.0);
/// Width of the flat under a tray that is printed lying, over its outside
/// radius. Common practice, no source.
const FLAT_WIDTH: f64 = 0.7;
/// How far the middle of a duct that runs into the slit of the tails may lie
/// beside it, over the duct's radius: the corner between them has 60 degrees.
const RUNS_IN: f64 = 0.5;
/// Wrap up to which lips are sure to fit, degrees, in the order tried.
pub(super) const WRAP_GUESS: [f64; 3] = [25.0, 32.0, 40.0];

/// The tray across the bore.
#[derive(Clone, Debug)]
pub(super) struct Across {
    /// Height of the cell's axis over the bore's, mm.
    pub cell_y: f64,
    /// Height of the flat underside, mm, if there is one.
    pub flat: Option<f64>,
    /// Where the lips begin, degrees below the cell's middle.
    pub root: f64,
    /// Centres of the ducts, mm; symmetrical to x = 0.
    pub ducts: Vec<Vec2>,
    /// Wires in the fullest duct and their bundle.
    pub bundle: Option<(BundleInput, Bundle)>,
    /// Depth of the floor's marks, mm; zero for none.
    pub mark: f64,
    /// Diameter of a duct as drawn, mm.
    pub duct: f64,
    /// Least thickness between trough and ducts or outside, mm, without marks.
    pub floor: f64,
}

/// Why nothing fits across the bore.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Misfit {
    /// Lips, cell and floor are too large together.
    Cell,
    /// There is no room for the wires.
    Wires,
}

impl Spec {
    /// Radius within which the lips stay, mm, with the opening that they need
    /// at `wrap` degrees.
    fn lip_limit(&self, wrap: f64) -> f64 {
        match self.cover {
            Some(cover) if cover.opening == Opening::Mouth => {
                let opens = self.cell.radius() - self.trough() * wrap.to_radians().cos();
                self.covered() + cover.gap - opens.max(0.0) - SHY
            }
            _ => self.covered() - SHY,
        }
    }

    /// Thickest lip that stays inside at this height and wrap, mm.
    pub(super) fn lip_room_across(&self, cell_y: f64, wrap: f64) -> f64 {
        // |C + a e(w)| = limit, solved for a.
        let (sin, cos) = wrap.to_radians().sin_cos();
        let limit = self.lip_limit(wrap);
        if limit <= (cell_y * cos).abs() {
            return 0.0;
        }
        let outer = -cell_y * sin + (limit * limit - (cell_y * cos).powi(2)).sqrt();
        outer - self.trough()
    }

    /// Height of the flat underside for a cell at this height.
    fn flat(&self, cell_y: f64) -> Option<f64> {
        let r = self.outside;
        let own = match self.base {
            Some(base) => cell_y - self.trough() - base,
            None if self.lying => -r * (1.0 - (0.5 * FLAT_WIDTH).powi(2)).sqrt(),
            None => -r,
        };
        // The keel's flat, or what lies higher.
        let y = own.max(self.keel - r);
        (y > -r + SHY).then(|| snap(y))
    }

    /// Depths of the floor's marks that are tried, mm. The wall below a mark is
    /// whole, so where the bore is tight they are shallower, or left out; the
    /// end faces are marked too.
    fn floor_marks(&self) -> Vec<f64> {
        let mut depths = vec![self.mark, snap(self.layer), 0.0];
        depths.retain(|d| *d <= self.mark);
        depths.dedup();
        depths
    }

    /// What one duct holds.
    fn bundled(&self, wires: i64) -> BundleInput {
        BundleInput {
            wires,
            wire_mm: self.wires.outer,
            slack_percent: self.wires.slack,
            flat_depth_mm: None,
        }
    }

    /// The arrangement with the deepest marks, then the fewest ducts, then the
    /// lowest cell.
    pub(super) fn across(&self) -> Result<Across, Misfit> {
        let mut found = Err(Misfit::Cell);
        for mark in self.floor_marks() {
            found = self.across_marked(mark);
            if found.is_ok() {
                break;
            }
        }
        found
    }

    fn across_marked(&self, mark: f64) -> Result<Across, Misfit> {
        let heights = self.heights(mark);
        if heights.is_empty() {
            return Err(Misfit::Cell);
        }
        if self.wires.count == 0 {
            return Ok(self.without_wires(heights[0], mark));
        }
        for ducts in 1..=self.wires.count {
            let wires = (self.wires.count + ducts - 1) / ducts;
            let input = self.bundled(wires);
            let Ok(bundle) = bundle(&input) else { continue };
            let found = heights.iter().find_map(|&y| self.with_ducts((y, mark), ducts, &bundle));
            if let Some(mut across) = found {
                across.bundle = Some((input, bundle));
                return Ok(across);
            }
        }
        Err(Misfit::Wires)
    }

    /// Heights of the cell's axis that leave floor, lips and cell their room,
    /// nearest to the bore's axis first.
    fn heights(&self, mark: f64) -> Vec<f64> {
        let thickness = self.lip_thickness.unwrap_or(self.wall_free);
        let wrap = self.wrap.unwrap_or(WRAP_GUESS[0]);
        let fits = |y: f64| {
            let bottom = self.flat(y).unwrap_or(-self.outside);
            let floor = y - self.trough() - bottom;
            let over = match self.cover {
                Some(cover) if cover.opening != Opening::Mouth => self.covered() + cover.gap,
                _ => self.outside,
            };
            // Lips meet the base at a guess of the root; it lies in the base.
            let low = self.root.unwrap_or(ROOT.0).to_radians();
            let outer = self.trough() + thickness;
            let root = Vec2::new(outer * low.cos(), y - outer * low.sin());
            floor >= self.wall_supported + mark - EXACT
                && self.lip_room_across(y, wrap) >= thickness - EXACT
                && root.norm() <= self.outside - SHY
                && y + self.cell.radius() <= over - SHY
        };
        if let Some(y) = self.cell_y {
            return if fits(y) { vec![y] } else { Vec::new() };
        }
        let count = (2.0 * self.outside / STEP) as i64;
        // Below the axis only where nothing above it fits.
        let at = |i: i64| snap(i as f64 * STEP);
        let above: Vec<f64> = (0..=count).map(at).filter(|&y| fits(y)).collect();
        if above.is_empty() {
            (-count..0).rev().map(at).filter(|&y| fits(y)).collect()
        } else {
            above
        }
    }

    fn without_wires(&self, cell_y: f64, mark: f64) -> Across {
        let flat = self.flat(cell_y);
        Across {
            cell_y,
            flat,
            root: self.root.unwrap_or(ROOT.1),
            ducts: Vec::new(),
            bundle: None,
            duct: 0.0,
            mark,
            floor: cell_y - self.trough() - flat.unwrap_or(-self.outside),
        }
    }

    /// Angle between neighbouring ducts whose centres are `far` mm from the
    /// axis: a wall is left between them, and beside the slit of the tails. A
    /// duct may also run into the slit, far enough to leave no wedge beside it.
    fn turn(&self, count: i64, duct: f64, wall: f64, far: f64) -> Option<f64> {
        let mut turn = spacing(duct + wall, far)?;
        if self.tail == 0.0 {
            return Some(turn);
        }
        let half = snap(0.5 * self.tail);
        let clear = half + wall + 0.5 * duct;
        // Numbers of the ducts on one side of the middle. As they move apart,
        // the next one inwards may come out of the slit.
        let first = if count % 2 == 1 { 1.0 } else { 0.5 };
        for k in (0..count / 2).rev().map(|i| i as f64 + first) {
            let x = far * (k * turn).sin();
            if x > half + RUNS_IN * 0.5 * duct && x < clear {
                turn = 0.5 * spacing(2.0 * clear, far)? / k;
            }
        }
        Some(turn)
    }

    fn with_ducts(
        &self,
        (cell_y, mark): (f64, f64),
        count: i64,
        bundle: &Bundle,
    ) -> Option<Across> {
        let duct = snap(match self.wires.closed {
            true => bundle.duct_mm.max(self.hole_min) + self.hole_shrink,
            false => bundle.duct_mm,
        });
        // What stands between open grooves stands free.
        let wall = match self.wires.closed {
            true => self.wall_supported,
            false => self.wall_supported.max(self.wall_free),
        };
        let radius = 0.5 * duct;
        let flat = self.flat(cell_y);
        let first = if count % 2 == 1 { 0.0 } else { 0.5 };
        // Distance of the ducts' centres from the bore's axis: grooves end at
        // the bore or lie upon the keel, holes keep a wall to bore and flat.
        let below = if self.wires.closed { wall } else { 0.0 };
        let mut far = self.outside - radius - below;
        if let Some(y) = flat.filter(|_| self.wires.closed || self.keel > 0.0) {
            for _ in 0..ROUNDS {
                let turn = first * self.turn(count, duct, wall, far)?;
                far = far.min((-y - below - radius) / turn.cos());
            }
        }
        if far <= radius {
            return None;
        }
        let turn = self.turn(count, duct, wall, far)?;
        let centre = Vec2::new(0.0, cell_y);
        let mut ducts = Vec::new();
        let mut half_angle = 0.0_f64;
        let mut floor = cell_y - self.trough() - flat.unwrap_or(-self.outside);
        for i in 0..count {
            let angle = (i as f64 - 0.5 * (count - 1) as f64) * turn;
            let away = Vec2::new(angle.sin(), -angle.cos());
            let at = Vec2::new(snap(far * away.x), snap(far * away.y));
            let gap = (at - centre).norm() - radius - self.trough();
            if gap < self.wall_supported + mark - ROUNDING {
                return None;
            }
            if !self.wires.closed && flat.is_some_and(|y| at.y + radius < y + MEETS) {
                return None;
            }
            floor = floor.min(gap);
            // Seen from the cell, the duct with its wall, and the wall beside
            // a groove where it opens.
            let seen = at - centre;
            let own = ((radius + wall) / seen.norm()).min(1.0).asin();
            let rim = angle.abs() + ((radius + wall) / self.outside).min(1.0).asin();
            let (rx, ry) = (self.outside * rim.sin(), self.outside * rim.cos() + cell_y);
            half_angle = half_angle.max(seen.x.abs().atan2(-seen.y) + own).max(rx.atan2(ry));
            ducts.push(at);
        }
        let most = 90.0 - half_angle.to_degrees();
        let root = match self.root {
            Some(root) if root > most => return None,
            Some(root) => root,
            None if most < ROOT.0 => return None,
            None => (2.0 * most.min(ROOT.1)).floor() / 2.0,
        };
        Some(Across { cell_y, flat, root, ducts, bundle: None, duct, mark, floor })
    }
}

/// Angle between neighbours whose centres are `pitch` mm apart, `far` mm from
/// the axis.
fn spacing(pitch: f64, far: f64) -> Option<f64> {
    let share = 0.5 * pitch / far;
    (0.0..0.9).contains(&share).then(|| 2.0 * share.asin())
}

/// Rounds in which the ducts' distance settles; each moves it less than a
/// tenth of the one before.
const ROUNDS: usize = 3;
/// Sums of lengths carry less noise than this, mm.
const EXACT: f64 = 1e-9;
/// Centres are snapped to the grid, which moves them by less than this, mm.
const ROUNDING: f64 = 0.001;
/// Least depth of a groove above the flat, mm.
const MEETS: f64 = 0.3;
