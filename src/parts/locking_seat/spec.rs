//! What is asked of a locking seat, and the seat that follows from it.

use super::super::build::Ends;
use super::super::fixing::Axes;
use super::super::marks::{apart, face_depth, line};
use super::super::module::Outside;
use super::super::{PartContext, Refusal};
use crate::measure::frame::direction;
use crate::measure::{Values, Vec2};
use crate::section::{Region, snap};
use crate::trade::seat::Form;

/// How far cuts reach beyond the outside, mm.
pub(super) const BEYOND: f64 = 2.0;
/// Least depth of a blind hole or slot where it is shallowest, mm, so that the
/// point finds it. Common practice, no source.
pub(super) const LEAST_DEPTH: f64 = 0.3;
/// Depth of a seat without a cone, mm, if none is asked for. Common practice,
/// no source.
const COMMON_DEPTH: f64 = 1.5;
/// Depth below a cone, and least depth of the rim above it, mm: ten times what a
/// stack needs, and little enough to print without support.
pub(super) const LEAST_FLOOR: f64 = 0.2;
const LEAST_RIM: f64 = 0.02;
/// Most that a slot around the part may take with its ends, degrees either way
/// of the screw: less than a quarter turn, so that its ends are cut from it.
const MOST_HALF: f64 = 80.0;
/// Least length of a witness line, mm. Common practice, no source.
const LEAST_LINE: f64 = 2.0;

/// The retention screw.
#[derive(Clone, Copy, Debug)]
pub(super) struct Grub {
    pub thread: f64,
    pub pitch: f64,
    pub tip: f64,
    pub tip_length: f64,
    pub dog: bool,
}

impl Grub {
    fn new(screw: &Values) -> Grub {
        Grub {
            thread: screw.number("thread"),
            pitch: screw.number("pitch"),
            tip: screw.number("tip"),
            tip_length: screw.number("tip_length"),
            dog: screw.choice("point") == "dog",
        }
    }

    /// Largest diameter of what lies up to `depth` mm above the point's end, mm.
    pub(super) fn body(&self, depth: f64) -> f64 {
        if depth >= self.tip_length {
            self.thread
        } else if self.dog {
            self.tip
        } else {
            self.tip + (self.thread - self.tip) * depth / self.tip_length
        }
    }
}

/// All that was asked, in numbers that hints may vary. Lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Asked {
    pub outside: Outside,
    pub grub: Grub,
    pub form: Form,
    pub screw_z: f64,
    pub clocking: f64,
    pub travel: f64,
    pub angle_range: f64,
    pub depth: Option<f64>,
    pub flat_length: Option<f64>,
    pub clearance: f64,
    pub gap: f64,
    pub length: f64,
    pub from_z: Option<f64>,
    pub core: f64,
    pub mark: f64,
    /// Whether its outside is filled out, where a line along it would be a slit.
    pub filled: bool,
    pub ends: Ends,
    pub handle: f64,
    pub wall: f64,
    pub line: f64,
    pub shrink: f64,
}

impl Asked {
    pub(super) fn new(context: &PartContext<'_>, values: &Values) -> Result<Asked, Refusal> {
        let printer = context.printer;
        let form = match (values.choice("seat"), values.choice("slot")) {
            ("flat", _) => Form::Flat,
            ("dimple", _) => Form::Dimple,
            (_, "around") => Form::SlotAround,
            _ => Form::SlotAlong,
        };
        Ok(Asked {
            outside: Outside::new(context, values)?,
            grub: Grub::new(values.component("screw")),
            form,
            screw_z: snap(values.number("screw_z")),
            clocking: values.number("clocking"),
            travel: values.number("travel"),
            angle_range: values.number("angle_range"),
            depth: values.maybe_number("depth"),
            flat_length: values.maybe_number("flat_length"),
            clearance: values
                .maybe_number("clearance")
                .unwrap_or(0.5 * printer.number("fit_slide")),
            gap: values.number("gap"),
            length: values.number("length"),
            from_z: values.maybe_number("from_z"),
            core: values.number("core"),
            mark: values.number("mark_depth"),
            filled: context.cavity.is_some_and(|cavity| cavity.outline.is_some()),
            ends: Ends::new(values),
            handle: context.handle.length(),
            wall: printer.number("wall_supported"),
            line: printer.number("engrave_width"),
            shrink: printer.number("hole_shrink"),
        })
    }

    /// How deep the seat is asked for, mm; left out, as deep as the screw needs.
    pub(super) fn deep(&self) -> f64 {
        let natural = || {
            if self.form != Form::Dimple || self.grub.dog {
                return COMMON_DEPTH;
            }
            let depth = self.grub.tip_length;
            let half = snap(0.5 * (self.grub.body(depth) + self.shrink) + self.clearance);
            let cone = Cone::new(self, half);
            let least = cone.least(self.outside.fit.radius);
            (least * STEPS_PER_MM).ceil() / STEPS_PER_MM
        };
        self.depth.unwrap_or_else(natural)
    }

    /// Half the room across the screw, mm.
    fn half_width(&self) -> f64 {
        let shrink = if self.form == Form::Flat { 0.0 } else { self.shrink };
        snap(0.5 * (self.grub.body(self.deep() - self.gap) + shrink) + self.clearance)
    }

    fn half_height(&self) -> f64 {
        let half = self.half_width();
        match self.form {
            Form::Flat => self.flat_length.map_or(half, |l| snap(0.5 * l)),
            Form::SlotAlong => half + snap(0.5 * self.travel),
            Form::Dimple | Form::SlotAround => half,
        }
    }

    fn ends_of_part(&self) -> (f64, f64) {
        let length = snap(self.length);
        let low = match self.from_z {
            Some(z) => snap(z),
            None => snap((self.screw_z - 0.5 * length).min(self.handle - length).max(0.0)),
        };
        (low, snap(low + length))
    }
}

/// What cannot be, with the numbers of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Misfit {
    /// The part's high end lies beyond the bore's: where, mm.
    Long { high: f64 },
    /// The seat with a wall needs to begin and end at these heights, mm.
    Ends { low: f64, high: f64 },
    /// The depth that is needed for the seat, mm, at least.
    Shallow { least: f64 },
    /// The seat reaches the bore's axis.
    Deep { radius: f64 },
    /// The seat takes more than this around, degrees either way.
    Wide { half: f64, most: f64 },
    /// The passage is not as wide as the hole before it, which this is, mm.
    Narrow { least: f64 },
    /// The wall that is left to another cut, mm.
    Thin { left: f64, to: &'static str },
}

/// The cone of a hole for a point that has one: it finds its middle, and prints
/// without support where the part stands. Lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Cone {
    /// Half its width at the floor, and at the rim.
    pub inner: f64,
    pub outer: f64,
    /// Half of its full angle, radians.
    pub half_angle: f64,
}

impl Cone {
    fn new(asked: &Asked, outer: f64) -> Cone {
        let grub = &asked.grub;
        // The screw's cone has begun where this one ends.
        let tip = grub.body(LEAST_FLOOR);
        let inner = snap(0.5 * (tip + asked.shrink) + asked.clearance).min(outer);
        let slope = 0.5 * (grub.thread - grub.tip) / grub.tip_length;
        Cone { inner, outer, half_angle: slope.max(1.0).atan() }
    }

    fn height(&self) -> f64 {
        (self.outer - self.inner) / self.half_angle.tan()
    }

    /// Depth of the rim's cylinder in a seat that is `depth` mm deep.
    pub(super) fn rim(&self, depth: f64) -> f64 {
        depth - LEAST_FLOOR - self.height()
    }

    /// Least depth of the seat in a part of this radius.
    fn least(&self, radius: f64) -> f64 {
        dip(radius, self.outer) + LEAST_RIM + self.height() + LEAST_FLOOR
    }
}

/// A seat that can be made. Lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Seat {
    pub axes: Axes,
    /// Low and high end of the part.
    pub low: f64,
    pub high: f64,
    /// Distance of the floor from the axis.
    pub floor: f64,
    /// Half the width across the screw.
    pub half_width: f64,
    /// Half the height along the bore.
    pub half_height: f64,
    /// The cone of a hole, if the screw's point has one.
    pub cone: Option<Cone>,
    /// Largest diameter of the screw that stands in the seat.
    pub body: f64,
    /// Least wall to another cut; infinite without one.
    pub wall: f64,
    /// Where the witness line begins, from the axis, and its depth in the faces
    /// of the low and the high end.
    pub line_from: f64,
    pub faces: (f64, f64),
}

impl Seat {
    /// # Errors
    /// The first thing that cannot be.
    pub(super) fn new(asked: &Asked) -> Result<Seat, Misfit> {
        let radius = asked.outside.fit.radius;
        let (low, high) = asked.ends_of_part();
        if high > asked.handle {
            return Err(Misfit::Long { high });
        }
        let depth = snap(asked.deep());
        let floor = snap(radius - depth);
        let (half_width, half_height) = (asked.half_width(), asked.half_height());
        if floor <= 0.0 || half_width >= radius {
            return Err(Misfit::Deep { radius });
        }
        let least = match asked.form {
            Form::Flat => dip(radius, 0.5 * asked.grub.tip + asked.clearance),
            Form::SlotAround => LEAST_DEPTH,
            Form::Dimple if !asked.grub.dog && half_width < radius => {
                Cone::new(asked, half_width).least(radius)
            }
            Form::Dimple | Form::SlotAlong => dip(radius, half_width) + LEAST_DEPTH,
        };
        if depth < least - GRID {
            return Err(Misfit::Shallow { least });
        }
        if asked.form == Form::SlotAround {
            let half = 0.5 * asked.angle_range + (half_width / floor).min(1.0).asin().to_degrees();
            if half > MOST_HALF {
                return Err(Misfit::Wide { half, most: MOST_HALF });
            }
        }
        let bored = matches!(asked.form, Form::Dimple | Form::SlotAlong);
        let least = 2.0 * (half_width + BESIDE);
        if bored && asked.core > 0.0 && asked.core < least {
            return Err(Misfit::Narrow { least });
        }
        let faces =
            (face_depth(asked.mark, asked.ends.low), face_depth(asked.mark, asked.ends.high));
        let keep = |face: f64, chamfer: f64| face.max(chamfer) + asked.wall;
        let (least, most) =
            (low + keep(faces.0, asked.ends.low), high - keep(faces.1, asked.ends.high));
        let (from, to) = (asked.screw_z - half_height, asked.screw_z + half_height);
        if from < least - ROUNDING || to > most + ROUNDING {
            return Err(Misfit::Ends { low: from - (least - low), high: to + (high - most) });
        }
        let mut seat = Seat {
            axes: Axes::new(direction(asked.clocking)),
            low,
            high,
            floor,
            half_width,
            half_height,
            cone: (asked.form == Form::Dimple && !asked.grub.dog)
                .then(|| Cone::new(asked, half_width))
                .filter(|cone| cone.outer > cone.inner),
            body: asked.grub.body(asked.deep() - asked.gap),
            wall: f64::INFINITY,
            line_from: floor.min(radius - LEAST_LINE).max(0.0),
            faces,
        };
        let mut cut = seat.section(asked);
        if asked.mark > 0.0 {
            cut = cut.union(&line(&seat.axes, asked.line, seat.line_from, radius + BEYOND));
        }
        cut = cut.intersection(&Region::disc(Vec2::zeros(), radius));
        for (to, other) in others(asked) {
            let left = apart(&cut, &other);
            if left < asked.wall {
                return Err(Misfit::Thin { left, to });
            }
            seat.wall = seat.wall.min(left);
        }
        Ok(seat)
    }

    /// The seat in the section at the screw's height, out to beyond the part.
    pub(super) fn section(&self, asked: &Asked) -> Region {
        let far = asked.outside.fit.radius + BEYOND;
        let half = self.half_width;
        match asked.form {
            Form::Flat => self.axes.quad((-far, far), (self.floor, far)),
            Form::Dimple | Form::SlotAlong => self.axes.quad((-half, half), (self.floor, far)),
            Form::SlotAround => {
                let core = Region::disc(Vec2::zeros(), self.floor);
                self.around(asked, far).difference(&core)
            }
        }
    }

    /// What a slot around sweeps from the axis outwards.
    fn around(&self, asked: &Asked, far: f64) -> Region {
        let half = 0.5 * asked.angle_range;
        let end = |turn: f64| Axes::new(direction(asked.clocking + turn));
        let strip = |turn: f64| end(turn).quad((-self.half_width, self.half_width), (0.0, far));
        // Wide enough that its far side lies beyond the outside.
        let reach = 2.0 * far / half.to_radians().cos();
        let corner = |turn: f64| end(turn).along * reach;
        let wedge = Region::polygon(&[Vec2::zeros(), corner(-half), corner(half)]);
        wedge.union(&strip(-half)).union(&strip(half))
    }
}

/// Steps of a depth that follows from the screw: a caliper's own.
const STEPS_PER_MM: f64 = 100.0;
/// Depths are on this grid, mm.
const GRID: f64 = 0.001;
/// What a passage behind a hole must be wider than it on each side, mm, so that
/// its wall goes on behind all of the hole.
const BESIDE: f64 = 0.1;

/// Float noise of a sum of lengths, mm.
const ROUNDING: f64 = 1e-9;

/// How far a chord of half length `half` lies below its circle, mm.
pub(super) fn dip(radius: f64, half: f64) -> f64 {
    radius - ((radius - half) * (radius + half)).max(0.0).sqrt()
}

const PASSAGE: &str = "the passage along the axis";

/// What else is cut, with its name.
fn others(asked: &Asked) -> Vec<(&'static str, Region)> {
    let outside = &asked.outside;
    let keel = Outside { groove: None, ..outside.clone() };
    let groove = Outside { keel: None, ..outside.clone() };
    let inside = Region::disc(Vec2::zeros(), outside.fit.radius);
    vec![
        (PASSAGE, Region::disc(Vec2::zeros(), 0.5 * asked.core)),
        ("the keel's flat", keel.cuts().intersection(&inside)),
        ("the wires' groove", groove.cuts().intersection(&inside)),
    ]
}

/// Least distances between the cuts that are there without the seat.
pub(super) fn cuts_apart(asked: &Asked) -> Option<(f64, &'static str, &'static str)> {
    let all = others(asked);
    for (i, (one, a)) in all.iter().enumerate() {
        for (other, b) in &all[i + 1..] {
            let left = apart(a, b);
            if left < asked.wall {
                return Some((left, one, other));
            }
        }
    }
    let left = asked.outside.fit.radius - 0.5 * asked.core;
    (left < asked.wall).then_some((left, PASSAGE, "the outside"))
}
