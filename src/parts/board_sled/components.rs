//! What sits in a sled, as solids at their largest.

use super::super::around::{CLEAR, bar, drawn};
use super::super::{Component, Declared, Way};
use super::report::Facts;
use super::room::reach;
use super::shape::ports;
use super::spec::{Edge, Hold, PLUG_ROOM, Plug, Port, Span};
use crate::measure::{Vec2, Vec3};
use crate::solid::{Placing, Solid, Stack};

/// How far beside what it may not meet a component is drawn, mm.
const PLAY: f64 = 0.01;

impl Facts<'_> {
    /// Everything that goes into the sled.
    pub(super) fn with_sled(&self, gate: Option<&Solid>) -> Declared {
        let mut declared = Declared::default();
        let (way, field) = (self.way(), self.values.path_of("width"));
        declared.add("board", self.board(), |name, solid| Component {
            name,
            what: "the bare board, largest".into(),
            solid,
            way: Some(way),
            press: 0.0,
            field,
        });
        self.keep_outs(&mut declared);
        self.plugs(&mut declared);
        if let (Some(solid), Some(gate)) = (gate, self.gate) {
            let travel = self.plan.top.max(gate.y.1) - gate.y.0 + CLEAR;
            declared.components.push(Component {
                name: "gate".into(),
                what: "the gate that locks the board".into(),
                solid: solid.clone(),
                way: Some(Way::Across { along: -Vec2::y(), travel, aside: 0.0 }),
                press: 0.0,
                field: self.values.path_of("lock"),
            });
        }
        declared
    }

    /// How the board comes in.
    fn way(&self) -> Way {
        let along = &self.plan.along;
        match self.spec.hold {
            Hold::Rails { .. } => Way::Along { up: true, travel: along.room.1 - along.low + CLEAR },
            Hold::Posts { .. } => {
                let h = &self.plan.heights;
                let lowest = self.spec.keep_outs.iter().filter(|k| !k.up);
                let lowest = lowest.map(|k| reach(k, h.faces).0).fold(h.board, f64::min);
                let travel = self.plan.top.max(h.bar) - lowest + CLEAR;
                Way::Across { along: -Vec2::y(), travel, aside: 0.0 }
            }
        }
    }

    /// The bare board, its outline at its largest in the middle of its play.
    fn board(&self) -> Result<Solid, String> {
        let (spec, plan) = (self.spec, self.plan);
        let outline = spec.board.outline.offset(0.5 * spec.tolerance);
        let mut stack = Stack::default();
        stack.prism(0.0, spec.thickest, &outline);
        let solid = stack.solid().map_err(|e| e.to_string())?;
        // The component side is the solid's far end, or its near one.
        let up = spec.mirror < 0.0;
        let y = if up { plan.heights.board } else { plan.heights.board + spec.thickest };
        let placing = Placing {
            origin: Vec3::new(0.0, y, plan.along.board),
            x: Vec3::new(spec.mirror, 0.0, 0.0),
            y: Vec3::z(),
        };
        solid.placed(&placing).ok_or_else(|| "it could not be turned".to_owned())
    }

    fn keep_outs(&self, declared: &mut Declared) {
        let (spec, plan) = (self.spec, self.plan);
        for k in &spec.keep_outs {
            let n = k.index + 1;
            let at = plan.along.board;
            let z = (at + k.z.0, at + k.z.1);
            let solid = drawn(&[(z.0, z.1, bar(k.x, reach(k, plan.heights.faces)))]);
            let way = self.way();
            let field = self.values.list("keep_out")[k.index].path_of("height");
            declared.add(format!("keep_out_{n}"), solid, |name, solid| Component {
                name,
                what: format!("what stands off the board, keep-out {n}"),
                solid,
                way: Some(way),
                press: 0.0,
                field,
            });
        }
    }

    fn plugs(&self, declared: &mut Declared) {
        for (port, cut) in self.spec.ports.iter().zip(ports(self.spec, self.plan)) {
            let Some(plug) = port.plug else { continue };
            let n = port.index + 1;
            let (solid, way) = self.plug(port, &plug, (cut.low.x, cut.z));
            let field = self.values.list("port")[port.index].path_of("plug");
            declared.add(format!("plug_{n}"), solid, |name, solid| Component {
                name,
                what: format!("the plug in port {n}"),
                solid,
                way: Some(way),
                press: 0.0,
                field,
            });
        }
    }

    /// The body of a plug where it sits, and its way in.
    fn plug(&self, port: &Port, plug: &Plug, (x, z): (Span, Span)) -> (Result<Solid, String>, Way) {
        let plan = self.plan;
        let faces = plan.heights.faces;
        let middle = port.middle(faces);
        let (mut low, mut high) = (middle - 0.5 * plug.height, middle + 0.5 * plug.height);
        if let Some(bend) = plug.bend {
            if port.up {
                high = high.max(middle + bend);
            } else {
                low = low.min(middle - bend);
            }
        }
        let centre = |s: Span| 0.5 * (s.0 + s.1);
        let about = |c: f64| (c - 0.5 * plug.width, c + 0.5 * plug.width);
        let long = plug.length.max(PLUG_ROOM);
        let board = plan.along.board;
        let side = 0.5 * self.spec.board.width + PLAY;
        let travel = long + CLEAR;
        match port.edge {
            Edge::Cap | Edge::Front => {
                let front = port.edge == Edge::Front;
                let from = if front { board + self.spec.board.length } else { board - long };
                let solid = drawn(&[(from, from + long, bar(about(centre(x)), (low, high)))]);
                (solid, Way::Along { up: !front, travel })
            }
            Edge::PlusX | Edge::MinusX => {
                let plus = port.edge == Edge::PlusX;
                let x = if plus { (side, side + long) } else { (-side - long, -side) };
                let z = about(centre(z));
                let along = if plus { -Vec2::x() } else { Vec2::x() };
                let reach = self.spec.outside.fit.radius + CLEAR;
                let travel = travel.max(reach);
                (
                    drawn(&[(z.0, z.1, bar(x, (low, high)))]),
                    Way::Across { along, travel, aside: 0.0 },
                )
            }
        }
    }
}
