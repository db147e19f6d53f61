//! Where everything of a pocket lies: across the bore and above the print bed.

use super::super::build::Slab;
use super::super::hollow::Walls;
use super::mark::{Marks, heights};
use super::spec::Spec;
use crate::measure::Vec2;
use crate::section::{Region, snap};

/// Roundings to the grid may make a wall thinner by this, mm.
pub(super) const ROUNDING: f64 = 2e-3;

/// Why a pocket cannot be planned; lengths in mm.
#[derive(Clone, Debug)]
pub(super) enum Misfit {
    /// A wall of the sink to the bore is this thick.
    Bore { wall: f64 },
    /// A wall of the sink to the keel's flat.
    Keel { wall: f64 },
    /// A wall of the sink to the groove.
    Groove { wall: f64 },
    /// Nothing is left between the ledges for the terminals.
    Ledge { most: f64 },
    /// The wall beside a pilot hole, and what its boss needs.
    Pilot { wall: f64, needed: f64 },
    /// A pilot hole would be this wide.
    Narrow { hole: f64 },
    /// The face has no room for marks of this height.
    Mark { height: f64 },
}

/// The pilot holes of the ears' screws.
#[derive(Clone, Debug)]
pub(super) struct Pilots {
    pub middles: [Vec2; 2],
    /// Diameter and depth of hole and relief, mm.
    pub hole: (f64, f64),
    pub relief: (f64, f64),
    /// Thinnest wall beside a relief, mm.
    pub wall: f64,
}

/// A planned pocket. Heights are above the print bed, the front end.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub centre: Vec2,
    /// Half length and width of the sink, the case's pocket and the terminals'
    /// room, mm.
    pub sink: (f64, f64),
    pub pocket: (f64, f64),
    pub room: (f64, f64),
    /// Where the case's back lies, and the level that ears or case reach to.
    pub back: f64,
    pub level: f64,
    pub length: f64,
    pub walls: Walls,
    pub pilots: Option<Pilots>,
    pub marks: Option<Marks>,
    sections: [Region; 3],
}

/// A rectangle along and across the switch, around its middle.
pub(super) fn rectangle(spec: &Spec, centre: Vec2, half: (f64, f64)) -> Region {
    spec.axes.quad((-half.1, half.1), (-half.0, half.0)).moved(centre)
}

impl Plan {
    pub(super) fn new(spec: &Spec) -> Result<Plan, Misfit> {
        let switch = &spec.switch;
        let case = |half: f64| snap(half + 0.5 * spec.clearance);
        let pocket = (case(switch.half.0), case(switch.half.1));
        let swept = switch.swept();
        let ears = switch.ears.map_or(0.0, |(length, _)| 0.5 * length);
        let sink = (
            snap(pocket.0.max(swept.0).max(ears) + spec.finger),
            snap(pocket.1.max(swept.1) + spec.finger),
        );
        let room = match switch.ears {
            Some(_) => pocket,
            None => (snap(pocket.0 - spec.ledge), snap(pocket.1 - spec.ledge)),
        };
        if room.0.min(room.1) < 0.5 * LEAST_ROOM {
            let most = pocket.0.min(pocket.1) - 0.5 * LEAST_ROOM;
            return Err(Misfit::Ledge { most });
        }
        let at = |y: f64| Vec2::new(0.0, snap(y));
        let walls = |y: f64| Walls::new(&spec.outside, &rectangle(spec, at(y), sink));
        let y = match spec.switch_y {
            Some(asked) => asked,
            // As far above as the keel needs.
            None => walls(0.0).keel.map_or(0.0, |wall| (spec.wall - wall).max(0.0)),
        };
        let (centre, walls) = (at(y), walls(y));
        let thin = |wall: &f64| *wall < spec.wall - ROUNDING;
        if thin(&walls.bore) {
            return Err(Misfit::Bore { wall: walls.bore });
        }
        if let Some(wall) = walls.keel.filter(thin) {
            return Err(Misfit::Keel { wall });
        }
        if let Some(wall) = walls.groove.filter(thin) {
            return Err(Misfit::Groove { wall });
        }
        let mut back = switch.terminals + spec.rear;
        if let Some(pilot) = &spec.pilot {
            // Its end stays closed.
            back = back.max(pilot.depth + spec.wall - switch.height);
        }
        let (back, above) = (snap(back), switch.ear() + switch.lever.2 + spec.recess);
        let level = snap(back + switch.height);
        let pilots = pilots(spec, centre, pocket)?;
        let marks = marks(spec, centre, sink)?;
        let section = |half| rectangle(spec, centre, half);
        Ok(Plan {
            centre,
            sink,
            pocket,
            room,
            back,
            level,
            length: snap(level + above.max(spec.mark_depth + spec.wall)),
            walls,
            pilots,
            marks,
            sections: [section(room), section(pocket), section(sink)],
        })
    }

    /// Everything that is cut.
    pub(super) fn cuts(&self) -> Vec<Slab> {
        let slab = |bottom: f64, top: f64, section: &Region| Slab {
            bottom: snap(bottom),
            top: snap(top),
            section: section.clone(),
        };
        let [room, pocket, sink] = &self.sections;
        let mut cuts = vec![
            slab(0.0, self.back, room),
            slab(self.back, self.level, pocket),
            slab(self.level, self.length, sink),
        ];
        if let Some(pilots) = &self.pilots {
            for (diameter, depth) in [pilots.hole, pilots.relief] {
                for middle in pilots.middles {
                    let disc = Region::disc(middle, 0.5 * diameter);
                    cuts.push(slab(self.level - depth, self.level, &disc));
                }
            }
        }
        if let Some(marks) = &self.marks {
            cuts.push(slab(self.length - marks.depth, self.length, &marks.region));
        }
        cuts
    }
}

/// Narrowest room for terminals, mm. Common practice, no source.
const LEAST_ROOM: f64 = 1.5;

fn pilots(spec: &Spec, centre: Vec2, pocket: (f64, f64)) -> Result<Option<Pilots>, Misfit> {
    let Some((pilot, (pitch, _))) = spec.pilot.as_ref().zip(spec.switch.holes) else {
        return Ok(None);
    };
    if pilot.hole < spec.hole_min - ROUNDING {
        return Err(Misfit::Narrow { hole: pilot.hole });
    }
    let middles = [0.5, -0.5].map(|side| {
        let p = centre + spec.axes.point(0.0, side * pitch);
        Vec2::new(snap(p.x), snap(p.y))
    });
    // Around the hole its boss; around the relief the printer's wall.
    let reach = 0.5 * pilot.relief.0;
    let needed = spec.wall.max(0.5 * pilot.boss - reach);
    let body = spec.outside.region().difference(&rectangle(spec, centre, pocket));
    let off = |p: &Vec2| {
        let off = body.boundary_distance(*p);
        (if body.contains(*p) { off } else { -off }) - reach
    };
    let wall = middles.iter().map(off).fold(f64::INFINITY, f64::min);
    if wall < needed - ROUNDING {
        return Err(Misfit::Pilot { wall, needed });
    }
    Ok(Some(Pilots { middles, hole: (pilot.hole, pilot.depth), relief: pilot.relief, wall }))
}

fn marks(spec: &Spec, centre: Vec2, sink: (f64, f64)) -> Result<Option<Marks>, Misfit> {
    if spec.mark_depth == 0.0 {
        return Ok(None);
    }
    let tried = heights(spec);
    let found = tried.iter().find_map(|height| Marks::new(spec, centre, sink, *height));
    let least = tried.last().copied().or(spec.mark).unwrap_or(0.0);
    found.map(Some).ok_or(Misfit::Mark { height: least })
}
