//! What a front mount is to be: entered values, checked against the bore, the
//! tube and the printer.

use super::super::fixing::{Axes, PilotHole};
use super::super::module::Outside;
use super::super::{PartContext, Refusal};
use crate::measure::frame::direction;
use crate::measure::rounding::{NOISE, down, up};
use crate::measure::{Values, Vec2};
use crate::section::snap;
use crate::trade::screws::EDGE_DIAMETERS;
use crate::trade::wire::{BundleInput, bundle};

/// Room around the solder joints in their recess, mm. Common practice, no source.
const JOINT_ROOM: f64 = 0.3;
/// Width of the ledge that a key stands on, before the key, mm: the board lies
/// there too. Common practice, no source.
const KEY_SHELF: f64 = 0.5;
/// Wires' diameters that they need behind a joint to bend away. Common
/// practice, no source.
const BEND_WIRES: f64 = 2.0;
/// Radii that differ by less become one, mm: a step that no printer shows.
const LEAST_STEP: f64 = 0.05;

/// The key that stands in the board's notch.
#[derive(Clone, Copy, Debug)]
pub(super) struct Key {
    /// Its axes: along the way that the notch points.
    pub axes: Axes,
    /// Half its width, mm.
    pub half: f64,
    /// Distance of its inner face from the axis, mm.
    pub inner: f64,
}

/// The holes that the board's screws cut their threads in.
#[derive(Clone, Debug)]
pub(super) struct Pilots {
    pub hole: PilotHole,
    /// Radius of the hole and of its mouth as drawn, mm.
    pub radii: (f64, f64),
    /// Depth of the hole and of its mouth below the seat as drawn, mm.
    pub depths: (f64, f64),
    /// Their middles, mm.
    pub at: Vec<Vec2>,
    pub thread: f64,
}

/// The mount: heights in the handle's frame and radii, mm.
#[derive(Clone, Debug)]
pub(super) struct Spec {
    pub outside: Outside,
    /// Where the front tube's end stands.
    pub shoulder: f64,
    /// Where the tube's contacts are while it is home.
    pub contact: f64,
    /// How far the pins are pressed in, and the least and most they allow.
    pub compression: f64,
    pub allowed: (f64, f64),
    pub pin_height: f64,
    pub low: f64,
    pub floor: f64,
    pub seat: f64,
    pub face: f64,
    pub top: f64,
    /// Radius of the largest board.
    pub board: f64,
    /// Radius of the seat.
    pub pocket: f64,
    pub clearance: f64,
    /// Radius of the recess for solder joints.
    pub recess: f64,
    /// Radius of the hole for the wires.
    pub exit: f64,
    pub key: Option<Key>,
    pub pilots: Option<Pilots>,
    /// What the wires' hole was reckoned from.
    pub leads: BundleInput,
}

impl Spec {
    /// The mount that `values` ask for.
    ///
    /// # Errors
    /// [`Refusal`] where bore, tube, board and printer do not go together.
    pub(super) fn new(context: &PartContext<'_>, values: &Values) -> Result<Spec, Refusal> {
        let outside = Outside::new(context, values)?;
        let (board, printer) = (values.component("contacts"), context.printer);
        let clearance =
            values.maybe_number("clearance").unwrap_or(0.5 * printer.number("fit_slide"));
        let nominal = 0.5 * board.number("diameter");
        let largest = nominal + 0.5 * board.number("diameter_tolerance");
        let pocket = snap(largest + clearance);
        seat_fits(context, values, &outside, pocket)?;
        let key = key(context, values, nominal, clearance)?;
        let pilots = pilots(context, values, &outside)?;
        let recess = recess(values, nominal, key.as_ref(), pilots.as_ref())?;
        let leads = BundleInput {
            wires: board.integer("contacts"),
            wire_mm: values.component("lead").number("outer"),
            slack_percent: values.number("slack"),
            flat_depth_mm: None,
        };
        let duct = bundle(&leads).map_err(|e| Refusal::new(e.to_string()).at(values, "lead"))?;
        let wide = duct.duct_mm.max(printer.number("hole_min")) + printer.number("hole_shrink");
        let mut exit = snap(0.5 * wide);
        if exit > recess {
            let what = format!(
                "{} wires need a hole of {:.2} mm; the recess behind the board is {:.2} wide: too \
                 narrow by {:.2}",
                leads.wires,
                2.0 * exit,
                2.0 * recess,
                2.0 * (exit - recess)
            );
            return Err(Refusal::new(what)
                .at(values, "lead")
                .hint("take thinner wires, or a narrower ledge"));
        }
        if recess - exit < LEAST_STEP {
            exit = recess;
        }
        let shoulder = shoulder(context, values)?;
        let contact = snap(shoulder + values.number("tube_recess"));
        let allowed = (board.number("compression_min"), board.number("compression_max"));
        let compression = compression(values, allowed)?;
        let pin_height = board.number("pin_height");
        let face = snap(contact - pin_height + compression);
        let seat = snap(face - board.number("thickness"));
        let room = values.maybe_number("solder_room").unwrap_or_else(|| {
            board.number("joint_height") + BEND_WIRES * values.component("lead").number("outer")
        });
        let floor = snap(seat - room);
        let low = snap(floor - values.number("land"));
        let top = snap(face + values.number("rim"));
        let spec = Spec {
            outside,
            shoulder,
            contact,
            compression,
            allowed,
            pin_height,
            low,
            floor,
            seat,
            face,
            top,
            board: largest,
            pocket,
            clearance,
            recess,
            exit,
            key,
            pilots,
            leads,
        };
        spec.heights(values, context.handle.length())?;
        spec.pilots_end(context, values)?;
        Ok(spec)
    }

    /// Whether the mount ends before the tube and begins in the handle.
    fn heights(&self, values: &Values, length: f64) -> Result<(), Refusal> {
        let end = self.shoulder.min(self.contact);
        if self.top > end {
            let over = self.top - end;
            let what = format!(
                "the mount's front end at z {:.2} would keep the front tube off its shoulder: the \
                 tube's end comes down to {end:.2}, {over:.2} lower",
                self.top
            );
            let rim = values.number("rim") - over;
            let refusal = Refusal::new(what);
            return Err(if rim >= 0.0 {
                refusal.at(values, "rim").hint(format!("give rim {:.2} or less", down(rim)))
            } else {
                refusal.at(values, "tube_recess").hint(format!(
                    "a tube whose contacts lie at most {:.2} mm inside its end works with this board",
                    down(values.number("tube_recess") - over)
                ))
            });
        }
        if self.low < 0.0 {
            let what = format!(
                "the mount would begin {:.2} mm before the end cap: it is {:.2} long and its front \
                 end is at z {:.2}",
                -self.low,
                self.top - self.low,
                self.top
            );
            let needed = up(self.shoulder - self.low);
            return Err(Refusal::new(what).at(values, "shoulder_z").hint(if needed <= length {
                format!("shoulder_z = {needed:.2} or more works; it is measured from the end cap")
            } else {
                format!(
                    "a land and a solder_room that are {:.2} mm shorter together would do",
                    up(-self.low)
                )
            }));
        }
        Ok(())
    }

    /// Whether a wall is left below the screws' holes.
    fn pilots_end(&self, context: &PartContext<'_>, values: &Values) -> Result<(), Refusal> {
        let Some(pilots) = &self.pilots else { return Ok(()) };
        let needed = pilots.depths.0 + context.printer.number("wall_supported");
        let there = self.seat - self.low;
        if needed <= there + NOISE {
            return Ok(());
        }
        let what = format!(
            "the screws need {needed:.2} mm of plastic below the board; there are {there:.2}: \
             short by {:.2}",
            needed - there
        );
        let land = values.number("land") + needed - there;
        Err(Refusal::new(what)
            .at(values, "land")
            .hint(format!("give land {:.2} or more", up(land))))
    }
}

/// Where the shoulder is.
fn shoulder(context: &PartContext<'_>, values: &Values) -> Result<f64, Refusal> {
    let length = context.handle.length();
    let shoulder = values.maybe_number("shoulder_z").unwrap_or(length);
    if shoulder > length {
        let what = format!(
            "the shoulder at z {shoulder:.2} lies {:.2} mm beyond the bore's front end at {length:.2}",
            shoulder - length
        );
        return Err(Refusal::new(what)
            .at(values, "shoulder_z")
            .hint(format!("give shoulder_z {length:.2} or less, or leave it out")));
    }
    Ok(snap(shoulder))
}

/// How far the pins are pressed in.
fn compression(values: &Values, (least, most): (f64, f64)) -> Result<f64, Refusal> {
    let middle = 0.5 * (least + most);
    let asked = values.maybe_number("compression").unwrap_or(middle);
    if (least..=most).contains(&asked) {
        return Ok(asked);
    }
    let what = format!(
        "pins pressed in by {asked:.2} mm are outside what they allow, {least:.2} to {most:.2}: \
         off by {:.2}",
        (least - asked).max(asked - most)
    );
    Err(Refusal::new(what).at(values, "compression").hint(format!("give compression {middle:.2}")))
}

/// Whether walls are left around a seat of this radius, mm.
fn seat_fits(
    context: &PartContext<'_>,
    values: &Values,
    outside: &Outside,
    pocket: f64,
) -> Result<(), Refusal> {
    let (free, supported) =
        (context.printer.number("wall_free"), context.printer.number("wall_supported"));
    let radius = outside.fit.radius;
    let board = values.component("contacts");
    // What a board may measure for the wall to be there.
    let smaller = |short: f64| {
        format!("a board of {:.2} mm fits", down(board.number("diameter") - 2.0 * short))
    };
    if radius < pocket + free - NOISE {
        let short = pocket + free - radius;
        return Err(outside.fit.too_small(context, pocket + free).hint(smaller(short)));
    }
    if let Some((depth, y)) = outside.keel
        && -y < pocket + supported - NOISE
    {
        let short = pocket + supported + y;
        let what = format!(
            "the board's seat of {:.2} mm and a wall of {supported:.2} reach into the keel's flat, \
             which lies {:.2} from the axis: by {short:.2}",
            2.0 * pocket,
            -y
        );
        let refusal = Refusal::new(what).at(values, "keel");
        return Err(if depth >= short {
            refusal
                .hint(format!("give keel {:.2} or less", down(depth - short)))
                .hint(smaller(short))
        } else {
            refusal.hint(smaller(short))
        });
    }
    if let Some(groove) = &outside.groove
        && groove.floor < pocket + supported - NOISE
    {
        let short = pocket + supported - groove.floor;
        let what = format!(
            "the board's seat of {:.2} mm and a wall of {supported:.2} reach into the wires' \
             groove, whose bottom lies {:.2} from the axis: by {short:.2}",
            2.0 * pocket,
            groove.floor
        );
        return Err(Refusal::new(what)
            .at(values, "wires")
            .hint(smaller(short))
            .hint("let fewer or thinner wires pass"));
    }
    Ok(())
}

/// The key for a board with a notch; `radius` is the board's, mm.
fn key(
    context: &PartContext<'_>,
    values: &Values,
    radius: f64,
    clearance: f64,
) -> Result<Option<Key>, Refusal> {
    let board = values.component("contacts");
    let (width, depth) = (board.number("notch_width"), board.number("notch_depth"));
    if width == 0.0 {
        return Ok(None);
    }
    let least = context.printer.number("wall_supported");
    let thick = width - 2.0 * clearance;
    if thick < least - NOISE {
        let what = format!(
            "a key of {thick:.2} mm for a notch of {width:.2} is thinner than this printer's least \
             wall of {least:.2}: by {:.2}",
            least - thick
        );
        return Err(Refusal::new(what)
            .at(values, "contacts")
            .hint(format!("a notch of {:.2} mm or more works", up(least + 2.0 * clearance)))
            .hint("give contacts notch_width = 0 and notch_depth = 0: the board is then held by its fixing alone"));
    }
    let inner = snap(radius - depth + clearance);
    if inner > radius - LEAST_STEP || inner <= 0.0 {
        let what = format!(
            "a notch {depth:.2} mm deep in a board of {:.2} leaves no key beside a clearance of \
             {clearance:.2}",
            2.0 * radius
        );
        return Err(Refusal::new(what)
            .at(values, "contacts")
            .hint(format!(
                "a notch deeper than {:.2} mm leaves a key, and less than the board's radius",
                up(clearance + LEAST_STEP)
            ))
            .hint("give contacts notch_width = 0 and notch_depth = 0: the board is then held by its fixing alone"));
    }
    let axes = Axes::new(direction(values.number("clocking")));
    Ok(Some(Key { axes, half: snap(0.5 * thick), inner }))
}

/// The holes for the board's screws, if it is screwed.
fn pilots(
    context: &PartContext<'_>,
    values: &Values,
    outside: &Outside,
) -> Result<Option<Pilots>, Refusal> {
    if values.choice("fixing") != "screws" {
        return Ok(None);
    }
    let board = values.component("contacts");
    let count = board.integer("screw_count");
    let Some(circle) = board.maybe_number("screw_circle").filter(|_| count > 0) else {
        let what = format!("the board has {count} screw holes: it cannot be screwed");
        return Err(Refusal::new(what)
            .at(values, "fixing")
            .hint("give fixing = \"glue\"")
            .hint("give contacts screw_count and screw_circle as measured"));
    };
    let thread = values.component("screw").number("thread");
    let hole = PilotHole::new(thread, context.material, context.printer)
        .map_err(|e| Refusal::new(e.to_string()).at(values, "screw"))?;
    let reach = 0.5 * circle + EDGE_DIAMETERS * thread;
    let to = |what, room: f64| (what, room);
    let keel = outside.keel.map(|(_, y)| to("the keel's flat", -y));
    let groove = outside.groove.as_ref().map(|g| to("the wires' groove", g.floor));
    let edges = [Some(to("the outside", outside.fit.radius)), keel, groove];
    let nearest = edges.into_iter().flatten().min_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((name, room)) = nearest.filter(|(_, room)| *room < reach - NOISE) {
        let what = format!(
            "screws on a circle of {circle:.2} mm need {reach:.2} from the axis to {name}, for \
             {EDGE_DIAMETERS} diameters of plastic; there are {room:.2}: short by {:.2}",
            reach - room
        );
        return Err(Refusal::new(what).at(values, "screw").hint(format!(
            "screws of {:.2} mm or thinner, or glue",
            down(thread - (reach - room) / EDGE_DIAMETERS).max(0.0)
        )));
    }
    let first = values.number("clocking") + board.number("screw_turn");
    let at = (0..count).map(|i| {
        let p = direction(first + 360.0 * i as f64 / count as f64) * (0.5 * circle);
        Vec2::new(snap(p.x), snap(p.y))
    });
    Ok(Some(Pilots {
        radii: (snap(0.5 * hole.hole), snap(0.5 * hole.relief.0)),
        depths: (snap(hole.depth), snap(hole.relief.1)),
        at: at.collect(),
        hole,
        thread,
    }))
}

/// Radius of the recess for solder joints: within the ledge, before the key
/// and clear of the screws; `radius` is the board's, mm.
fn recess(
    values: &Values,
    radius: f64,
    key: Option<&Key>,
    pilots: Option<&Pilots>,
) -> Result<f64, Refusal> {
    let board = values.component("contacts");
    let needed = 0.5 * board.number("joint_circle") + JOINT_ROOM;
    let mut limits = vec![("ledge", "the ledge", radius - values.number("ledge"))];
    limits.extend(key.map(|k| ("contacts", "the shelf before the key", k.inner - KEY_SHELF)));
    limits.extend(pilots.map(|p| {
        let keep = (EDGE_DIAMETERS * p.thread).max(p.hole.edge);
        let circle = board.maybe_number("screw_circle").unwrap_or_default();
        ("screw", "the plastic around the screws", 0.5 * circle - keep)
    }));
    let least = limits.into_iter().min_by(|a, b| a.2.total_cmp(&b.2));
    let (field, name, room) = least.expect("there is always a ledge");
    if room >= needed - NOISE {
        return Ok(snap(room));
    }
    let what = format!(
        "solder joints in a circle of {:.2} mm need a recess of {:.2}; {name} leaves {:.2}: short \
         by {:.2}",
        board.number("joint_circle"),
        2.0 * needed,
        2.0 * room,
        2.0 * (needed - room)
    );
    let refusal = Refusal::new(what).at(values, field);
    Err(match field {
        "ledge" if radius > needed => {
            refusal.hint(format!("give ledge {:.2} or less", down(radius - needed)))
        }
        "screw" => refusal.hint("take thinner screws, or glue"),
        _ => refusal
            .hint(format!("joints within {:.2} mm fit", down(2.0 * (room - JOINT_ROOM)).max(0.0))),
    })
}
