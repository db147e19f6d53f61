//! What lies in a cradle or around it, as solids.

use super::super::around::{CLEAR, bar, bore, drawn};
use super::super::handed::{Handed, Topic};
use super::super::{Component, Declared, PartContext, Way};
use super::holder::Outside;
use super::plan::{Plan, Retention};
use super::stone::turned;
use crate::measure::frame::direction;
use crate::measure::{Values, Vec2};
use crate::section::Region;
use crate::solid::Solid;

/// Wall of the chassis around a cavity, mm: any will do.
const CHASSIS: f64 = 2.0;

impl Plan<'_> {
    /// What belongs to the cradle; `capping` is its cap's solid.
    pub fn with_cradle(&self, context: &PartContext<'_>, capping: Option<&Solid>) -> Declared {
        let mut declared = Declared::default();
        // Under two lips a stone goes in tipped: that way is worked out with
        // the lips themselves, in the side view.
        let tipped = matches!(self.retention, Retention::Lips(..));
        self.stone(&mut declared, (!tipped).then(|| self.down()));
        self.pixel(&mut declared);
        let end = if self.pixel_low { "end cap" } else { "front" };
        let (from, to) = (self.stone_low, self.stone_low + self.stone.length());
        let text = format!(
            "the stone lies {from:.0} to {to:.0} mm from the end cap, lit from its end towards \
             the {end}"
        );
        declared.handed.push(Handed::new(Topic::Light, from, text));
        declared.sight = self.sight(context, &declared, capping);
        if let Some(solid) = capping {
            declared.add("cap", Ok(solid.clone()), |name, solid| Component {
                name,
                what: "the cap".into(),
                solid,
                way: Some(self.down()),
                press: 0.0,
                field: self.values.path_of("glue_gap"),
            });
        }
        self.around(&mut declared, context);
        declared
    }

    /// What belongs to the cap, which lies over the stone before it slides in.
    pub fn with_cap(&self, context: &PartContext<'_>) -> Declared {
        let mut declared = Declared::default();
        self.stone(&mut declared, None);
        self.around(&mut declared, context);
        declared
    }

    fn down(&self) -> Way {
        let outside = self.holder.outside;
        let travel = outside.top() - outside.bottom() + CLEAR;
        Way::Across { along: Vec2::new(0.0, -1.0), travel, aside: 0.0 }
    }

    fn stone(&self, declared: &mut Declared, way: Option<Way>) {
        let solid = self.stone.solid(self.stone_low).map_err(|e| e.to_string());
        declared.add("stone", solid, |name, solid| Component {
            name,
            what: "the stone".into(),
            solid,
            way,
            press: 0.0,
            field: self.values.path_of("clearance"),
        });
    }

    /// Package and board, put in from the outside face of their wall.
    fn pixel(&self, declared: &mut Declared) {
        let pixel = &self.pixel;
        let more = pixel.values.number("package_tolerance");
        declared.add("pixel", self.pixel_solid(more), |name, solid| Component {
            name,
            what: "the pixel with its board, largest".into(),
            solid,
            way: Some(Way::Along { up: self.pixel_low, travel: pixel.web + CLEAR }),
            press: 0.0,
            field: self.values.path_of("pixel"),
        });
    }

    /// Package and board where they sit, the package `more` mm larger than
    /// nominal each way.
    pub fn pixel_solid(&self, more: f64) -> Result<Solid, String> {
        let (pixel, at) = (&self.pixel, self.pixel.at);
        let turn = self.values.number("pixel_turn");
        let rectangle = |size: Vec2| {
            let half = size / 2.0;
            let corners = [-half, Vec2::new(half.x, -half.y), half, Vec2::new(-half.x, half.y)];
            Region::polygon(&corners.map(|p| at + turned(p, turn)))
        };
        let v = pixel.values;
        let package =
            Vec2::new(v.number("package_width"), v.number("package_length")) + Vec2::repeat(more);
        let face = pixel.ledge + v.number("package_height") + more;
        let mut slabs = vec![(pixel.ledge, face, rectangle(package))];
        if let Some(width) = v.maybe_number("board_width").filter(|_| pixel.has_board()) {
            let board = match v.maybe_number("board_length") {
                Some(length) if v.choice("board") == "rectangle" => {
                    rectangle(Vec2::new(width, length))
                }
                _ => Region::disc(at, width / 2.0),
            };
            slabs.insert(0, (pixel.back, pixel.ledge, board));
        }
        if !self.pixel_low {
            let high = self.ends.1;
            slabs.reverse();
            slabs.iter_mut().for_each(|s| (s.0, s.1) = (high - s.1, high - s.0));
        } else {
            let low = self.ends.0;
            slabs.iter_mut().for_each(|s| (s.0, s.1) = (low + s.0, low + s.1));
        }
        drawn(&slabs)
    }

    /// The bore or the cavity.
    fn around(&self, declared: &mut Declared, context: &PartContext<'_>) {
        match (&self.holder.fit, self.holder.cavity) {
            (Some(fit), _) => bore(declared, context, self.values, fit, self.ends.1),
            (None, Some(cavity)) => self.cavity(declared, cavity),
            (None, None) => {}
        }
    }

    fn cavity(&self, declared: &mut Declared, cavity: &Values) {
        let Outside::Block { top, trough, .. } = self.holder.outside else { return };
        let coat = self.values.number("coat");
        let half = cavity.number("width") / 2.0 - coat;
        let lowest = cavity.maybe_number("floor_y").unwrap_or(-cavity.number("depth") / 2.0);
        let inside = match trough {
            None => bar((-half, half), (lowest + coat, top + CLEAR)),
            Some((middle, _)) => {
                // As wide as the cavity, round below.
                let radius = middle - lowest - coat;
                let round = Region::disc(Vec2::new(0.0, middle), radius);
                let y = middle - (radius * radius - half * half).max(0.0).sqrt();
                let below = round.intersection(&bar((-half, half), (lowest - CLEAR, y)));
                below.union(&bar((-half, half), (y, top + CLEAR)))
            }
        };
        let block = bar((-half - CHASSIS, half + CHASSIS), (lowest - CHASSIS, top));
        let low = self.ends.0 - cavity.number("clearance");
        let high = low + cavity.number("length");
        let solid = drawn(&[
            (low - CHASSIS, low, block.clone()),
            (low, high, block.difference(&inside)),
            (high, high + CHASSIS, block),
        ]);
        let travel = top - lowest + CLEAR;
        declared.add("cavity", solid, |name, solid| Component {
            name,
            what: "the chassis around its cavity".into(),
            solid,
            // Seen from the cradle, the chassis comes up around it.
            way: Some(Way::Across { along: Vec2::new(0.0, 1.0), travel, aside: 0.0 }),
            press: 0.0,
            field: self.values.path_of("cavity"),
        });
    }
}

/// Corners of the polygon drawn about an ellipse with half axes along and
/// across `along`, mm.
pub(super) fn about_ellipse(half: Vec2, along: Vec2, corners: usize) -> Vec<Vec2> {
    let across = Vec2::new(-along.y, along.x);
    let out = 1.0 / (std::f64::consts::PI / corners as f64).cos();
    (0..corners)
        .map(|k| {
            let d = direction(360.0 * k as f64 / corners as f64) * out;
            along * (half.x * d.x) + across * (half.y * d.y)
        })
        .collect()
}
