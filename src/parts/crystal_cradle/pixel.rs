//! The pixel in its end wall: pocket, light bore and wire exit.
//!
//! From the outside face inwards: room for solder and wires, the board, the
//! package, then the web with the light bore. The wire exit leaves sideways,
//! away from the window, from the room behind the pixel only: it lies wholly
//! behind the plane of the package's back, so no straight line from the
//! package's face passes through it.

use super::super::{PartContext, Refusal};
use super::holder::{FAR, Holder, NOISE, Need};
use super::stone::{Stone, turned};
use super::veil::Veil;
use crate::measure::rounding::up;
use crate::measure::{Values, Vec2};
use crate::section::{Region, Seg, snap};
use crate::trade::wire::{BundleInput, bundle};

/// Least ledge that a board lies on, mm. Common practice, no source.
const LEAST_LEDGE: f64 = 0.4;
/// Room that wires get in their exit beyond their own thickness, mm. Common
/// practice, no source.
const WIRE_ROOM: f64 = 0.3;
/// Light bore as a share of the package's smaller side, where none is given:
/// the lit face of a 5 mm package is 3.5 mm across. Common practice, no source.
pub(super) const BORE_SHARE: f64 = 0.8;

/// The outline of a pocket.
#[derive(Clone, Copy, Debug)]
enum Pocket {
    Round { radius: f64 },
    Rectangle { half: Vec2, turn: f64 },
}

/// The pixel in its wall. Depths count from the outside face.
#[derive(Clone, Debug)]
pub(super) struct Pixel<'a> {
    pub values: &'a Values,
    /// Its middle, mm.
    pub at: Vec2,
    package: Pocket,
    board: Option<Pocket>,
    /// Depth at which the board's or the bare package's back lies, mm.
    pub back: f64,
    /// Depth of the ledge for the board, mm; as `back` without a board.
    pub ledge: f64,
    /// Depth of the web's outer face, mm.
    pub web: f64,
    /// Thickness of the web, mm.
    pub web_thickness: f64,
    /// Distance from the package's face to the web, mm.
    pub to_web: f64,
    /// Light bore as drawn, mm, and whether it is round.
    pub bore: f64,
    pub round: bool,
    /// Width of the wire exit, mm.
    pub exit: f64,
    /// Depth of a groove along the underside, mm; 0 for none.
    pub groove: f64,
}

impl Pocket {
    fn new(size: Vec2, round: bool, spare: f64, turn: f64) -> Pocket {
        if round {
            Pocket::Round { radius: snap(size.x / 2.0 + spare) }
        } else {
            let half = Vec2::new(snap(size.x / 2.0 + spare), snap(size.y / 2.0 + spare));
            Pocket::Rectangle { half, turn }
        }
    }

    fn outline(&self, at: Vec2) -> Vec<Seg> {
        match *self {
            Pocket::Round { radius } => Region::disc(at, radius).segs(),
            Pocket::Rectangle { .. } => Region::polygon(&self.corners(at)).segs(),
        }
    }

    fn corners(&self, at: Vec2) -> Vec<Vec2> {
        match *self {
            Pocket::Round { radius } => {
                (0..72).map(|k| at + turned(Vec2::new(0.0, radius), 5.0 * f64::from(k))).collect()
            }
            Pocket::Rectangle { half, turn } => {
                [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
                    .map(|(x, y)| at + turned(Vec2::new(x * half.x, y * half.y), turn))
                    .to_vec()
            }
        }
    }

    /// Points that want a wall outside them: a circle as its own middle with
    /// the radius added to the wall.
    fn needs(&self, at: Vec2, wall: f64) -> Vec<Need> {
        match *self {
            Pocket::Round { radius } => vec![Need { at, wall: wall + radius }],
            Pocket::Rectangle { .. } => {
                self.corners(at).into_iter().map(|at| Need { at, wall }).collect()
            }
        }
    }

    /// Widest ledge that remains around `inner` on its better pair of sides.
    fn ledge(&self, inner: Vec2) -> f64 {
        match *self {
            Pocket::Round { radius } => radius - inner.x.min(inner.y),
            Pocket::Rectangle { half, .. } => (half.x - inner.x).max(half.y - inner.y),
        }
    }
}

impl<'a> Pixel<'a> {
    /// The pixel of the part's rows, in a wall of `holder`; `spare` is the
    /// distance from the web to the stone's end, mm;
    /// pocket, bore and exit grow by shares of `nudge` mm.
    ///
    /// # Errors
    /// A pixel, bore or wires that do not fit, in numbers.
    pub fn read(
        context: &PartContext<'_>,
        values: &'a Values,
        veil: Veil,
        holder: &Holder<'_>,
        stone: &Stone,
        spare: f64,
        nudge: f64,
    ) -> Result<Pixel<'a>, Refusal> {
        let pixel = values.component("pixel");
        let high = values.choice("pixel_end") == "high";
        let beside = stone.end_middle(high);
        let at = Vec2::new(
            snap(values.maybe_number("pixel_x").unwrap_or(beside.x)),
            snap(values.maybe_number("pixel_y").unwrap_or(beside.y)),
        );
        let turn = values.number("pixel_turn");
        let clearance = values.number("pixel_clearance") + 0.4 * nudge;
        let printer = context.printer;
        let tolerance = pixel.number("package_tolerance");
        let package_size = Vec2::new(pixel.number("package_width"), pixel.number("package_length"));
        let package = Pocket::new(package_size, false, tolerance / 2.0 + clearance, turn);
        let board = board_pocket(pixel, clearance, turn);
        if let (Some(board), Pocket::Rectangle { half, .. }) = (board, package) {
            let ledge = board.ledge(half);
            if ledge < LEAST_LEDGE {
                return Err(Refusal::new(format!(
                    "the pixel's board reaches only {:.2} mm past its package: the ledge it lies \
                     on must be at least {LEAST_LEDGE} mm wide",
                    ledge.max(0.0)
                ))
                .at(values, "pixel")
                .hint("enter it as a bare package with board = \"none\" and its outer sizes"));
            }
        }
        let wire = values.component("wire");
        let thick = wire.number("outer") + wire.number("outer_tolerance");
        let wires = pixel.integer("wires");
        let needed = up(thick + WIRE_ROOM);
        let back = match values.maybe_number("back_room") {
            Some(room) if room < needed => {
                return Err(Refusal::new(format!(
                    "wires {thick:.2} mm thick need {needed:.2} mm of room behind the pixel; \
                     back_room is {room:.2}: short by {:.2}",
                    needed - room
                ))
                .at(values, "back_room")
                .hint(format!("back_room = {needed:.2}, or a thinner wire, would fit")));
            }
            room => snap(room.unwrap_or(needed)),
        };
        let flat =
            BundleInput { wires, wire_mm: thick, slack_percent: 15.0, flat_depth_mm: Some(back) };
        let flat = bundle(&flat).map_err(|e| Refusal::new(e.to_string()).at(values, "wire"))?;
        let exit = flat.flat_width_mm.unwrap_or(thick).max(printer.number("gap_min"));
        let board_thickness = if board.is_some() {
            pixel.maybe_number("board_thickness").unwrap_or(0.0)
        } else {
            0.0
        };
        let ledge = snap(back + board_thickness);
        let web = snap(ledge + pixel.number("package_height") + tolerance);
        let gap = veil.gap(values);
        let web_thickness = snap(gap - tolerance - spare);
        let least = printer.number("wall_supported");
        if web_thickness < least {
            let needed = up(least + tolerance + spare);
            return Err(Refusal::new(format!(
                "a gap of {gap:.2} mm leaves a wall of {web_thickness:.2} mm between pixel and \
                 stone; the printer needs {least:.2}: short by {:.2}",
                needed - gap
            ))
            .at(values, "gap")
            .hint(format!("gap = {needed:.2} would do")));
        }
        let round = values.choice("light_shape") == "round";
        let smaller = package_size.x.min(package_size.y);
        let asked = veil.bore(values).unwrap_or(snap(BORE_SHARE * smaller));
        let hole = printer.number("hole_min");
        if asked < hole {
            return Err(Refusal::new(format!(
                "a light bore of {asked:.2} mm is narrower than {hole:.2}, the least hole that the \
                 printer keeps open"
            ))
            .at(values, if values.has("light_bore") { "light_bore" } else { "pixel" })
            .hint(format!("light_bore = {hole:.2} would do, if it is within the package")));
        }
        let grown = if round { printer.number("hole_shrink") } else { 0.0 };
        if asked + grown > smaller {
            return Err(Refusal::new(format!(
                "a light bore of {asked:.2} mm, drawn {:.2}, lets the pixel's package of \
                 {smaller:.2} mm slip into it",
                asked + grown
            ))
            .at(values, "light_bore")
            .hint(format!("light_bore = {:.2} leaves it a ledge", BORE_SHARE * smaller)));
        }
        let bore = snap(asked + grown + 0.5 * nudge);
        let out = Pixel {
            values: pixel,
            at,
            package,
            board,
            back,
            ledge,
            web,
            web_thickness,
            to_web: tolerance,
            bore,
            round,
            // Even on the grid, so that both its sides are.
            exit: 2.0 * snap(exit / 2.0 + nudge),
            groove: snap(values.number("wire_groove")),
        };
        out.refuse_outside(context, values, holder)?;
        out.refuse_shallow_groove(values, holder, thick)?;
        Ok(out)
    }

    fn refuse_outside(
        &self,
        context: &PartContext<'_>,
        values: &Values,
        holder: &Holder<'_>,
    ) -> Result<(), Refusal> {
        let wall = context.printer.number("wall_supported");
        let needs = self.needs(wall);
        let top = needs.iter().map(|n| n.at.y + n.wall - holder.outside.top()).fold(0.0, f64::max);
        if holder.short(&needs).is_none() && top <= NOISE {
            return Ok(());
        }
        let what = if self.board.is_some() { "the pixel's board" } else { "the pixel's package" };
        let mut refusal = if holder.short(&needs).is_some() {
            holder.too_small(context, values, &needs, what)
        } else {
            Refusal::new(format!("{what} reaches {:.2} mm past the cavity's rim", up(top)))
        };
        refusal = refusal.at(values, "pixel");
        let fits = context.library.profiles("pixels").iter().filter(|other| {
            let turn = values.number("pixel_turn");
            let clearance = values.number("pixel_clearance");
            let pocket = board_pocket(other, clearance, turn).unwrap_or_else(|| {
                let size = Vec2::new(other.number("package_width"), other.number("package_length"));
                Pocket::new(size, false, other.number("package_tolerance") / 2.0 + clearance, turn)
            });
            let needs = pocket.needs(self.at, wall);
            let over = |n: &Need| n.at.y + n.wall - holder.outside.top();
            holder.short(&needs).is_none() && needs.iter().all(|n| over(n) <= 0.0)
        });
        let names: Vec<String> =
            fits.filter_map(|p| p.profile()).map(|name| format!("\"{name}\"")).collect();
        if !names.is_empty() {
            refusal = refusal.hint(format!("pixels that fit there: {}", names.join(", ")));
        }
        if self.at.norm() > 0.05 {
            let centred = Pixel { at: Vec2::zeros(), ..self.clone() }.needs(wall);
            if holder.short(&centred).is_none() {
                refusal =
                    refusal.hint("pixel_x = 0, pixel_y = 0 would fit: the middle of the bore");
            }
        }
        Err(refusal)
    }

    /// A groove must hold its outermost wire, where a round underside leaves it
    /// less deep.
    fn refuse_shallow_groove(
        &self,
        values: &Values,
        holder: &Holder<'_>,
        wire: f64,
    ) -> Result<(), Refusal> {
        let bottom = holder.outside.bottom();
        let depth = |p: Vec2| holder.outside.margin(p);
        let shallowest =
            self.groove_corners(bottom + self.groove).into_iter().map(depth).fold(wire, f64::min);
        if shallowest >= wire {
            return Ok(());
        }
        let needed = up(self.groove + wire - shallowest);
        Err(Refusal::new(format!(
            "a wire groove of {:.2} mm is {:.2} mm deep at its sides; wires {wire:.2} mm thick \
             need as much: short by {:.2}",
            self.groove,
            shallowest.max(0.0),
            up(wire - shallowest)
        ))
        .at(values, "wire_groove")
        .hint(format!("wire_groove = {needed:.2}, or a little more, may do")))
    }

    /// Points that want a wall of `wall` mm outside them.
    pub fn needs(&self, wall: f64) -> Vec<Need> {
        let mut needs = self.package.needs(self.at, wall);
        if let Some(board) = &self.board {
            needs.extend(board.needs(self.at, wall));
        }
        let half = Vec2::new(self.exit / 2.0, 0.0);
        needs.extend([self.at - half, self.at + half].map(|at| Need { at, wall }));
        needs
    }

    /// Least wall around the pocket, mm.
    pub fn least_wall(&self, holder: &Holder<'_>) -> f64 {
        let margin = |n: Need| holder.outside.margin_all_round(n.at) - n.wall;
        self.needs(0.0).into_iter().map(margin).fold(f64::INFINITY, f64::min)
    }

    /// What is cut away between the outside face and `back`, loops
    /// counter-clockwise: pocket and wire exit.
    pub fn back_cuts(&self) -> Vec<Vec<Seg>> {
        vec![self.board.unwrap_or(self.package).outline(self.at), self.exit_cut(-FAR, self.at.y)]
    }

    /// What is cut away between `back` and `ledge`.
    pub fn board_cuts(&self) -> Vec<Vec<Seg>> {
        vec![self.board.unwrap_or(self.package).outline(self.at)]
    }

    /// What is cut away between `ledge` and `web`.
    pub fn package_cuts(&self) -> Vec<Vec<Seg>> {
        vec![self.package.outline(self.at)]
    }

    /// What is cut out of the web.
    pub fn bore_cuts(&self) -> Vec<Vec<Seg>> {
        let half = self.bore / 2.0;
        if self.round {
            return vec![Region::disc(self.at, half).segs()];
        }
        let d = Vec2::new(half, half);
        vec![Region::rectangle(self.at - d, self.at + d).segs()]
    }

    /// Corners of the light bore; samples where it is round.
    pub fn bore_corners(&self) -> Vec<Vec2> {
        let half = self.bore / 2.0;
        let pocket = if self.round {
            Pocket::Round { radius: half }
        } else {
            Pocket::Rectangle { half: Vec2::new(half, half), turn: 0.0 }
        };
        pocket.corners(self.at)
    }

    /// The groove along the underside up to height `top`, if there is one.
    pub fn groove_cut(&self, top: f64) -> Option<Vec<Seg>> {
        (self.groove > 0.0).then(|| self.exit_cut(-FAR, top))
    }

    /// Corners of that groove.
    pub fn groove_corners(&self, top: f64) -> Vec<Vec2> {
        if self.groove == 0.0 {
            return Vec::new();
        }
        let half = self.exit / 2.0;
        vec![Vec2::new(self.at.x - half, top), Vec2::new(self.at.x + half, top)]
    }

    fn exit_cut(&self, from: f64, to: f64) -> Vec<Seg> {
        let half = self.exit / 2.0;
        let low = Vec2::new(self.at.x - half, from);
        Region::rectangle(low, Vec2::new(self.at.x + half, to)).segs()
    }

    /// Whether its pocket is cut for a board.
    pub fn has_board(&self) -> bool {
        self.board.is_some()
    }
}

fn board_pocket(pixel: &Values, clearance: f64, turn: f64) -> Option<Pocket> {
    let width = pixel.maybe_number("board_width");
    match pixel.choice("board") {
        "round" => {
            let width = width?;
            Some(Pocket::new(Vec2::new(width, width), true, clearance, turn))
        }
        "rectangle" => {
            let size = Vec2::new(width?, pixel.maybe_number("board_length")?);
            Some(Pocket::new(size, false, clearance, turn))
        }
        _ => None,
    }
}
