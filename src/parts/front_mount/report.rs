//! What a front mount reports and declares.

use super::super::around::{CLEAR, drawn};
use super::super::build::Ends;
use super::super::caliper::Caliper;
use super::super::declared::{Component, Declared, Mating, Screw, Term, Way};
use super::super::handed::{Handed, Topic};
use super::super::{Calculation, Computed, Message, PartContext, Severity};
use super::socket::{LEAST_ENGAGEMENT, Socket};
use super::spec::Spec;
use crate::measure::{Unit, Values, Vec2, Vec3, number};
use crate::section::Region;

/// Length of the front tube that is drawn, mm: any will do.
const TUBE_DRAWN: f64 = 20.0;

/// A mount that was made.
pub(super) struct Made<'a> {
    pub context: &'a PartContext<'a>,
    pub values: &'a Values,
    pub spec: &'a Spec,
    pub socket: &'a Socket,
    pub chamfers: Ends,
}

fn row(key: &str, what: &str, value: f64, unit: Unit) -> Computed {
    Computed::new(key, what, value, unit)
}

impl Made<'_> {
    /// How much the pins are pressed in, as a chain: the room for them between
    /// the board and the tube's contacts. More room is less pressure.
    fn room_for_pins(&self) -> Mating {
        let (spec, values, printer) = (self.spec, self.values, self.context.printer);
        let board = values.component("contacts");
        let even = |what: &str, value: f64, key: &str| {
            Term::even(what, value, values.number(key)).by(values.path_of(key))
        };
        let own = |what: &str, value: f64, key: &str| {
            Term::even(what, value, board.number(key)).by(board.path_of(key))
        };
        let at = Vec3::new(0.0, 0.0, spec.face);
        Mating::new("pins on the front tube's contacts", at, values.path_of("compression"))
            .term(even("shoulder, read", spec.shoulder, "shoulder_tolerance"))
            .term(even(
                "tube's contacts, read",
                spec.contact - spec.shoulder,
                "tube_recess_tolerance",
            ))
            .term(even("mount's place in the bore", -spec.low, "place_tolerance"))
            .term(Term::printed(printer, "seat's height, printed", spec.low - spec.seat))
            .term(own("board, thickness", spec.seat - spec.face, "thickness_tolerance"))
            .term(own("pins, height", 0.0, "pin_tolerance"))
            .limits(spec.pin_height - spec.allowed.1, Some(spec.pin_height - spec.allowed.0))
    }

    /// Values for the report.
    pub(super) fn computed(&self) -> Vec<Computed> {
        let spec = self.spec;
        let mm = |key, what, value| row(key, what, value, Unit::Mm);
        let mut rows = spec.outside.computed();
        rows.extend([
            mm("from_z", "where the mount begins", spec.low),
            mm("floor_z", "floor of the recess for solder joints", spec.floor),
            mm("seat_z", "where the board lies", spec.seat),
            mm("face_z", "the board's face", spec.face),
            mm("top_z", "the mount's front end", spec.top),
            mm("shoulder_z", "the shoulder that the front tube stands on", spec.shoulder),
            mm("contact_z", "the front tube's contacts", spec.contact),
            mm("length", "length of the mount", spec.top - spec.low),
            mm(
                "depth",
                "from the shoulder down to the mount's front end",
                spec.shoulder - spec.top,
            ),
            mm("compression", "how far the pins are pressed in", spec.compression),
        ]);
        let chain = self.room_for_pins();
        // More room is less pressure.
        let least = spec.compression - chain.terms.iter().map(|t| t.reach.1).sum::<f64>();
        let most = spec.compression - chain.terms.iter().map(|t| t.reach.0).sum::<f64>();
        rows.extend([
            mm("compression_least", "the same, all tolerances at once, least", least),
            mm("compression_most", "the same, all tolerances at once, most", most),
            mm("seat", "diameter of the seat", 2.0 * spec.pocket),
            mm("seat_depth", "from the front end down to the seat", spec.top - spec.seat),
            mm("recess", "diameter of the recess behind the board", 2.0 * spec.recess),
            mm("exit", "diameter of the hole for the board's wires", 2.0 * spec.exit),
        ]);
        if let Some(key) = &spec.key {
            rows.push(mm("key_width", "width of the key", 2.0 * key.half));
            rows.push(mm("key_inner", "distance of the key's inner face from the axis", key.inner));
        }
        if let Some(pilots) = &spec.pilots {
            rows.extend([
                mm("pilot", "diameter of the screws' holes", 2.0 * pilots.radii.0),
                mm("pilot_depth", "depth of the screws' holes below the board", pilots.depths.0),
                mm("pilot_mouth", "diameter of their mouths", 2.0 * pilots.radii.1),
                mm("pilot_mouth_depth", "depth of their mouths", pilots.depths.1),
            ]);
        }
        rows.extend([
            mm("chamfer_low", "chamfer at the low end", self.chamfers.low),
            mm("chamfer_high", "chamfer at the front end", self.chamfers.high),
        ]);
        self.socket_rows(&mut rows);
        Computed::gauged(rows, self.gauges())
    }

    /// Where a caliper reads the mount.
    fn gauges(&self) -> [(&'static str, Caliper); 4] {
        let spec = self.spec;
        let (x, z) = (Vec3::x(), Vec3::z());
        let amid = |low: f64, high: f64| z * (0.5 * (low + high));
        let seat = amid(spec.seat, spec.top);
        let land = seat + x * (0.5 * (spec.recess + spec.pocket));
        let exit = amid(spec.low, spec.floor);
        [
            ("seat", Caliper::between(seat, x).round()),
            ("seat_depth", Caliper::depth(land, z)),
            ("recess", Caliper::between(amid(spec.floor, spec.seat), x).round()),
            ("exit", Caliper::between(exit, x).round()),
        ]
    }

    fn socket_rows(&self, rows: &mut Vec<Computed>) {
        if let Some((socket, tube)) = self.socket.fit {
            rows.push(row(
                "tube_gap",
                "play of the tube in its socket, on the diameter",
                socket - tube,
                Unit::Mm,
            ));
        }
        let Some(screw) = &self.socket.screw else { return };
        rows.push(row("retention_at", "the retention screw's middle", screw.z, Unit::Mm));
        rows.push(row(
            "retention_engaged",
            "length of its thread in the wall",
            screw.engaged,
            Unit::Mm,
        ));
        let turns = screw.engaged / screw.pitch;
        rows.push(row("retention_threads", "turns of thread in the wall", turns, Unit::One));
        rows.push(row(
            "retention_clear",
            "from the mount to the screw's thread",
            screw.clear,
            Unit::Mm,
        ));
        let past = "how far its tip reaches past the wall's inside, its end flush outside";
        rows.push(row("retention_through", past, screw.through, Unit::Mm));
        if let Some((middle, most)) = screw.gap {
            let what = "turns from the wall's inside to a tube in the middle of its play";
            rows.push(row("retention_turns", what, middle / screw.pitch, Unit::One));
            let what = "the same to a tube that lies on the far side";
            rows.push(row("retention_turns_most", what, most / screw.pitch, Unit::One));
        }
    }

    /// The calculations behind it.
    pub(super) fn worked(&self) -> Vec<Calculation> {
        let spec = self.spec;
        let chain = self.room_for_pins();
        let mut list = Calculation::list([(
            "the pins' pressure: room before the board",
            chain.chain().worked(),
        )]);
        list.extend(Calculation::list([(
            "odds of no contact, and of pins that bottom out",
            chain.odds().worked(),
        )]));
        list.extend(Calculation::list([("the hole for the board's wires", spec.leads.worked())]));
        list.extend(spec.outside.worked());
        let fit = self.socket.mating(self.values, spec.shoulder);
        list.extend(Calculation::list(
            fit.iter().map(|m| ("the front tube in its socket", m.odds().worked())),
        ));
        let thread = self.socket.screw.as_ref().and_then(|s| s.input());
        list.extend(Calculation::list(
            thread.iter().map(|t| ("the retention screw's thread", t.worked())),
        ));
        list
    }

    /// What a person should know.
    pub(super) fn messages(&self) -> Vec<Message> {
        let (spec, values) = (self.spec, self.values);
        let mut out = Vec::new();
        let mut say = |severity, text: String, hint: Option<&str>| {
            out.push(Message { severity, text, hint: hint.map(str::to_owned) });
        };
        say(
            Severity::Note,
            format!(
                "the mount's front end belongs {:.2} mm below the shoulder: set it with a depth gauge \
                 before it is fixed, then the pins are pressed in by {:.2} mm",
                spec.shoulder - spec.top,
                spec.compression
            ),
            None,
        );
        say(
            Severity::Caution,
            format!(
                "the {} pins stay live while the front tube is off: metal across them shorts the cell",
                spec.leads.wires
            ),
            Some(
                "fuse the supply as its data sheet says, and cover the pins in store and on transport",
            ),
        );
        if spec.key.is_none() {
            say(
                Severity::Warning,
                "nothing but its fixing keeps the board from turning: it has no notch".into(),
                Some("mark its place, or file a notch and give notch_width and notch_depth"),
            );
        }
        if spec.pilots.is_none() {
            let ring = std::f64::consts::PI * (spec.board.powi(2) - spec.recess.powi(2));
            let what = format!("the board is glued on its ledge of {ring:.0} mm2");
            for said in Message::glued(&what, "keep it off the pins") {
                say(said.severity, said.text, said.hint.as_deref());
            }
        } else {
            say(
                Severity::Note,
                format!(
                    "the board's screws cut their own threads in holes of {:.2} mm, {:.2} deep",
                    2.0 * spec.pilots.as_ref().map_or(0.0, |p| p.radii.0),
                    spec.pilots.as_ref().map_or(0.0, |p| p.depths.0)
                ),
                Some("heads must stay clear of pins and tube; turn them in by hand, once"),
            );
        }
        let joints = values.component("contacts").number("joint_height");
        if spec.seat - spec.floor < joints {
            say(
                Severity::Warning,
                format!(
                    "the room behind the board is {:.2} mm; its solder joints stand out {joints:.2}",
                    spec.seat - spec.floor
                ),
                Some("trim the joints, or give more solder_room"),
            );
        }
        if let Some(screw) = &self.socket.screw
            && screw.engaged < LEAST_ENGAGEMENT * screw.thread
        {
            say(
                Severity::Warning,
                format!(
                    "the retention screw has {:.2} mm of thread in the wall, {:.1} turns; {:.2} are \
                     usual",
                    screw.engaged,
                    screw.engaged / screw.pitch,
                    LEAST_ENGAGEMENT * screw.thread
                ),
                Some("take a thinner screw or two, and turn them no tighter than by fingers"),
            );
        }
        out
    }

    /// What the checker is told.
    pub(super) fn declared(&self) -> Declared {
        let (spec, values, printer) = (self.spec, self.values, self.context.printer);
        let side = Vec3::new(spec.outside.fit.radius, 0.0, 0.5 * (spec.low + spec.floor));
        let mut declared = spec.outside.declared(self.context, values, side, spec.top);
        declared.matings.push(self.room_for_pins());
        declared.matings.extend(self.socket.mating(values, spec.shoulder));
        let board = values.component("contacts");
        let (diameter, off) = (board.number("diameter"), board.number("diameter_tolerance"));
        declared.matings.push(
            Mating::new(
                "board in its seat",
                Vec3::new(spec.pocket, 0.0, spec.seat),
                values.path_of("clearance"),
            )
            .term(Term::printed(printer, "seat, printed", 2.0 * spec.pocket))
            .term(
                Term::even("board, diameter", -diameter, off)
                    .by(board.path_of("diameter_tolerance")),
            ),
        );
        self.board(&mut declared);
        self.tube(&mut declared);
        declared.screws.extend(self.screws());
        declared.handed.extend(self.socket.screw.as_ref().map(|screw| {
            let text = format!(
                "the front tube is held by a screw M{} at {:.0} mm from the end cap: turn it out \
                 until the tube pulls free, and back in until it just bears",
                number(screw.thread),
                screw.z
            );
            Handed::new(Topic::Screw, screw.z, text)
        }));
        declared
    }

    fn board(&self, declared: &mut Declared) {
        let spec = self.spec;
        let board = self.values.component("contacts");
        let disc = Region::disc(Vec2::zeros(), spec.board);
        let section = match &spec.key {
            None => disc,
            Some(key) => {
                let half = 0.5 * board.number("notch_width");
                let inner = key.inner - spec.clearance;
                disc.difference(&key.axes.quad((-half, half), (inner, 2.0 * spec.pocket)))
            }
        };
        let thick = board.number("thickness") + board.number("thickness_tolerance");
        let travel = (spec.top - spec.seat).max(0.0) + CLEAR;
        declared.add("board", drawn(&[(spec.seat, spec.seat + thick, section)]), |name, solid| {
            Component {
                name,
                what: "contact board, largest".into(),
                solid,
                way: Some(Way::Along { up: false, travel }),
                press: 0.0,
                field: self.values.path_of("contacts"),
            }
        });
    }

    /// The front tube as a plug, where its contacts do not stand out of it.
    fn tube(&self, declared: &mut Declared) {
        let spec = self.spec;
        let Some((_, tube)) = self.socket.fit.filter(|_| spec.contact >= spec.shoulder) else {
            return;
        };
        let disc = Region::disc(Vec2::zeros(), 0.5 * tube);
        let solid = drawn(&[(spec.shoulder, spec.shoulder + TUBE_DRAWN, disc)]);
        declared.add("front_tube", solid, |name, solid| Component {
            name,
            what: "front tube, home on its shoulder".into(),
            solid,
            way: Some(Way::Along { up: false, travel: TUBE_DRAWN }),
            press: 0.0,
            field: self.values.path_of("tube_diameter"),
        });
    }

    fn screws(&self) -> Vec<Screw> {
        let spec = self.spec;
        let Some(pilots) = &spec.pilots else { return Vec::new() };
        let z = spec.seat - 0.5 * (pilots.depths.0 + pilots.depths.1);
        let screw = |(i, at): (usize, &Vec2)| Screw {
            what: format!("screw {}", i + 1),
            at: Vec3::new(at.x, at.y, z),
            axis: -Vec3::z(),
            thread: pilots.thread,
            hole: 2.0 * pilots.radii.0,
            field: self.values.path_of("screw"),
        };
        pilots.at.iter().enumerate().map(screw).collect()
    }
}
