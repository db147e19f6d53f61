//! What a display plug reports and declares.

use super::super::around::{CLEAR, drawn};
use super::super::caliper::Caliper;
use super::super::declared::{Component, Declared, FitWords, Mating, Term, Way};
use super::super::mating::limits_of_fit;
use super::super::{Calculation, Computed, Message, PartContext, Severity};
use super::spec::Spec;
use crate::measure::{Unit, Values, Vec2, Vec3};
use crate::section::Region;

/// Wall of a handle whose outside is not given, mm: any will do.
const TUBE_WALL: f64 = 2.0;

/// From the end of a straight wall to where a caliper reads it, mm.
const NEAR: f64 = 0.05;

/// A plug that was made.
pub(super) struct Made<'a> {
    pub context: &'a PartContext<'a>,
    pub values: &'a Values,
    pub spec: &'a Spec,
}

impl Made<'_> {
    /// Values for the report.
    pub(super) fn computed(&self) -> Vec<Computed> {
        let spec = self.spec;
        let mm = |key: &str, what: &str, value: f64| Computed::new(key, what, value, Unit::Mm);
        let number = |key: &str, what: &str, value: f64| Computed::new(key, what, value, Unit::One);
        let mut rows = vec![
            mm("socket_sure", "smallest sure socket", spec.socket),
            mm("fit_clearance", "clearance on the diameter", spec.clearance),
            mm("stem", "diameter of the stem as printed", 2.0 * spec.stem),
            mm("stem_z", "the stem's end, towards the shoulder", spec.low),
            mm("front_z", "the handle's front face", spec.front),
            mm("stem_length", "how deep the stem stands in the socket", spec.front - spec.low),
            mm("stem_end_z", "where the stem's straight wall ends", spec.stem_end),
            mm("flange_diameter", "diameter of the flange", 2.0 * spec.flange),
            mm("flange_top_z", "upper side of the flange", spec.flange_top),
            mm("head_diameter", "diameter of the head", 2.0 * spec.head),
            mm("head_low_z", "where the head's straight wall begins", spec.head_low),
            mm("head_high_z", "where the head's straight wall ends", spec.head_high),
            mm("top_z", "the head's end", spec.top),
            mm("length", "length of the plug", spec.top - spec.low),
            mm("out", "how far it stands out of the handle", spec.top - spec.front),
            mm("chamfer_low", "chamfer of the stem's end", spec.chamfers.0),
            mm("chamfer_high", "chamfer of a flat head", spec.chamfers.1),
        ];
        if let Some(dome) = &spec.dome {
            rows.push(number(
                "dome_tapers",
                "tapers that the dome is made of",
                dome.tapers() as f64,
            ));
        }
        if let Some(g) = spec.retention {
            rows.push(mm("groove_z", "low end of the groove for the retention screw", g.low));
            rows.push(mm("groove_width", "width of that groove at the outside", g.width));
            rows.push(mm("groove_bottom", "width of its bottom", g.width - 2.0 * g.depth));
            rows.push(mm("groove_diameter", "diameter at its bottom", 2.0 * (spec.stem - g.depth)));
            let reach = 0.5 * spec.socket - spec.stem + g.depth;
            rows.push(mm("screw_reach", "from the socket's wall to the groove's bottom", reach));
            let pitch = self.values.maybe_component("retention").map(|s| s.number("pitch"));
            rows.extend(pitch.map(|pitch| {
                number("screw_turns", "turns from the socket's wall to that bottom", reach / pitch)
            }));
        }
        if let Some(g) = spec.grip {
            rows.push(mm("grip_low_z", "low end of the groove for fingers", g.low));
        }
        if let Some(bore) = spec.bore {
            rows.push(mm("light_bore", "diameter of the light bore", 2.0 * bore.radius));
            rows.push(mm("bore_straight_z", "where the light bore begins to close", bore.straight));
            rows.push(mm("bore_end_z", "its end", bore.end));
            rows.push(mm("bore_tip", "diameter of its flat end", 2.0 * bore.tip));
        }
        if let Some(w) = &spec.windows {
            rows.push(mm("window_low_z", "low end of the windows", w.low));
            rows.push(mm("window_high_z", "high end of the windows", w.high));
            rows.extend(
                w.bars.map(|bars| mm("bars", "wall between two windows, at the bore", bars)),
            );
        }
        Computed::gauged(rows, self.gauges())
    }

    /// Where a caliper reads the plug.
    fn gauges(&self) -> Vec<(&'static str, Caliper)> {
        let spec = self.spec;
        let (x, z) = (Vec3::x(), Vec3::z());
        let over = |height: f64| Caliper::over(z * height, x).round();
        // Between the stem's chamfer and its groove.
        let stem_to = spec.retention.map_or(spec.stem_end, |g| g.low);
        let stem = over(0.5 * (spec.low + spec.chamfers.0 + stem_to));
        // Before the flange, beside the stem, from its underside back to the stem's end.
        let beside = x * (0.5 * (spec.stem + spec.flange)) + z * (0.5 * (spec.low + spec.front));
        let mut out = vec![
            ("stem", stem),
            ("stem_length", Caliper::depth(beside, -z)),
            ("flange_diameter", over(spec.flange_top - NEAR)),
            ("head_diameter", over(spec.head_high - NEAR)),
        ];
        if let Some(g) = spec.retention {
            out.push(("groove_diameter", over(g.low + 0.5 * g.width)));
        }
        if let Some(bore) = spec.bore {
            let low = z * (spec.low + 0.25 * (bore.straight - spec.low));
            out.push(("light_bore", Caliper::between(low, x).round()));
        }
        out
    }

    /// The calculations behind it.
    pub(super) fn worked(&self) -> Vec<Calculation> {
        Calculation::list([("the stem in the socket", self.stem_in_socket().odds().worked())])
    }

    /// What a person should know.
    pub(super) fn messages(&self) -> Vec<Message> {
        let spec = self.spec;
        let mut out = Vec::new();
        let mut say = |severity, text: String, hint: Option<&str>| {
            out.push(Message { severity, text, hint: hint.map(str::to_owned) });
        };
        if !spec.head_down && !spec.cone {
            say(
                Severity::Warning,
                format!(
                    "the flange stands out {:.2} mm over the stem and needs support while it is printed",
                    spec.flange - spec.stem
                ),
                Some("give seat = \"cone\", which needs none, or head = \"flat\""),
            );
        }
        if let Some(g) = spec.retention {
            say(
                Severity::Note,
                format!(
                    "turn the retention screws in until they touch the groove's bottom, {:.2} mm inside \
                     the socket's wall, and no further: the plug is plastic",
                    0.5 * spec.socket - spec.stem + g.depth
                ),
                None,
            );
        } else {
            say(
                Severity::Warning,
                format!(
                    "only its fit, {:.2} mm on the diameter, holds the plug: it can fall out of a handle \
                     that is swung",
                    spec.clearance
                ),
                Some("give retention and retention_z, and a groove for the screw is cut"),
            );
        }
        if spec.bore.is_some() {
            say(
                Severity::Caution,
                "light that shines into the plug warms a closed space, and looking into it from near can \
                 dazzle"
                    .into(),
                Some("run it at display brightness, as the light's own data sheet allows without cooling, and feel the plug after ten minutes"),
            );
        }
        out
    }

    fn stem_in_socket(&self) -> Mating {
        let (spec, values, printer) = (self.spec, self.values, self.context.printer);
        let (binds, rattles) = limits_of_fit(printer, values);
        let at = Vec3::new(spec.stem, 0.0, 0.5 * (spec.low + spec.stem_end));
        let socket = values.number("socket_diameter");
        let coat = values.number("coat");
        let mut mating = Mating::new("stem in the socket", at, values.path_of("fit"))
            .term(Term::even("socket, caliper", socket, values.number("socket_tolerance")))
            .term(Term::printed(printer, "stem, printed", -2.0 * spec.stem))
            .limits(binds, rattles);
        if coat > 0.0 {
            mating = mating.term(Term::paint(coat));
        }
        mating.words = Some(FitWords::of(printer, values));
        mating
    }

    /// What the checker is told.
    pub(super) fn declared(&self) -> Declared {
        let (spec, values) = (self.spec, self.values);
        let mut declared = Declared {
            matings: vec![self.stem_in_socket()],
            up: Some(if spec.head_down { -Vec3::z() } else { Vec3::z() }),
            ..Declared::default()
        };
        let inner = 0.5 * spec.socket - values.number("coat");
        let outer = self.context.handle.outside().map_or(0.0, |d| 0.5 * d).max(inner + TUBE_WALL);
        let ring =
            Region::disc(Vec2::zeros(), outer).difference(&Region::disc(Vec2::zeros(), inner));
        let solid = drawn(&[(spec.shoulder, spec.front, ring)]);
        declared.add("socket", solid, |name, solid| Component {
            name,
            what: "the handle's socket, smallest".into(),
            solid,
            // Seen from the plug, the socket comes up around its stem.
            way: Some(Way::Along { up: true, travel: spec.front - spec.low + CLEAR }),
            press: (spec.stem - inner).max(0.0),
            field: values.path_of("socket_diameter"),
        });
        declared
    }
}
