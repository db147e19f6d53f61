//! Where everything of a cup lies: across the bore and above the print bed.

use super::super::hollow::Walls;
use super::ports::Ports;
use super::spec::{LEADS, Leads, RingSpec, Spec};
use crate::measure::Vec2;
use crate::measure::frame::direction;
use crate::section::{Region, snap};
use crate::trade::wire::{BundleInput, bundle};

/// Roundings to the grid may make a wall thinner by this, mm.
pub(super) const ROUNDING: f64 = 2e-3;
/// Room between basket and ring, mm. Common practice, no source.
pub(super) const BASKET_PLAY: f64 = 0.15;
/// Furthest outside that is looked for, mm.
const WIDEST: f64 = 100.0;
/// Halvings of a range until it is far below the grid.
const HALVINGS: u32 = 40;

/// Why a cup cannot be planned; lengths in mm.
#[derive(Clone, Debug)]
pub(super) enum Misfit {
    /// The outside's radius must be this large.
    Bore { radius: f64 },
    /// The speaker's middle must lie between these.
    Off { asked: f64, low: f64, high: f64 },
    /// The groove for passing wires leaves a wall of this.
    Groove { wall: f64 },
    /// The land may be this wide at most.
    Land { land: f64, most: f64 },
    /// The gasket may be this thick at most.
    Gasket { most: f64 },
    /// Ports of a diameter (second) reach this share, percent, at most.
    Ports { most: Option<(f64, f64)> },
    /// The channel past the rim leaves walls of these: to the opening before
    /// the cone, and to what is cut from the outside.
    Channel { inner: f64, outer: f64, width: f64 },
    /// Wires past the rim have this much room beside the seat, and need that.
    Pinched { room: f64, needed: f64 },
    /// The wires cannot be reckoned.
    Bundle { why: String },
    /// The ring would be this wide.
    Ring { wide: f64 },
}

/// The channel that the speaker's wires pass its rim in.
#[derive(Clone, Debug)]
pub(super) struct Channel {
    pub middle: Vec2,
    pub radius: f64,
    /// Walls to the opening before the cone and to the outside's cuts, mm.
    pub walls: (f64, f64),
    pub input: BundleInput,
    /// Free area beside the wires, mm2.
    pub leak: f64,
}

/// The ring behind the rim.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ring {
    /// Half its width, outside and inside, mm.
    pub outer: f64,
    pub inner: f64,
    /// Heights above the bed, mm.
    pub low: f64,
    pub high: f64,
    /// Clearance on its diameter, mm.
    pub clearance: f64,
}

/// A planned cup. Heights are above the print bed.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub centre: Vec2,
    /// Half the straight part of an oval, mm.
    pub straight: f64,
    /// Half the width of seat and of the opening before the cone, mm.
    pub seat: f64,
    pub opening: f64,
    pub land: f64,
    /// Walls from the seat.
    pub walls: Walls,
    pub grille: f64,
    pub shoulder: f64,
    /// Where the rim's face lies.
    pub rim: f64,
    pub length: f64,
    pub ports: Ports,
    pub channel: Option<Channel>,
    pub ring: Option<Ring>,
}

/// A disc, or a slot along x, around a centre.
pub(super) fn oval(centre: Vec2, straight: f64, half: f64) -> Region {
    let off = Vec2::new(straight, 0.0);
    Region::slot(centre - off, centre + off, half)
}

/// Half the seat's width, mm.
fn seat(spec: &Spec) -> f64 {
    snap(spec.speaker.half + 0.5 * spec.clearance)
}

/// Between which heights the seat's middle may lie in an outside of `radius`
/// mm; none if there is no room.
pub(super) fn room(spec: &Spec, radius: f64) -> Option<(f64, f64)> {
    let half = seat(spec);
    let reach = radius - spec.wall - half;
    if reach < spec.speaker.straight {
        return None;
    }
    let high = (reach * reach - spec.speaker.straight.powi(2)).sqrt();
    let keel = spec.outside.keel.map(|(depth, _)| depth - radius + spec.wall + half);
    let low = keel.unwrap_or(-high).max(-high);
    (low <= high).then_some((low, high))
}

/// The smallest radius of the outside that has room, mm.
pub(super) fn radius_needed(spec: &Spec) -> f64 {
    let (mut low, mut high) = (0.0, WIDEST);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        match room(spec, middle) {
            Some(_) => high = middle,
            None => low = middle,
        }
    }
    high
}

impl Plan {
    pub(super) fn new(spec: &Spec) -> Result<Plan, Misfit> {
        let radius = spec.outside.fit.radius;
        let (speaker, half) = (&spec.speaker, seat(spec));
        let Some((low, high)) = room(spec, radius) else {
            return Err(Misfit::Bore { radius: radius_needed(spec) });
        };
        let y = match spec.speaker_y {
            Some(asked) if asked < low - ROUNDING || asked > high + ROUNDING => {
                return Err(Misfit::Off { asked, low, high });
            }
            Some(asked) => asked,
            None if low <= 0.0 => 0.0,
            // As much wall below as above.
            None => 0.5 * (low + high),
        };
        let centre = Vec2::new(0.0, snap(y));
        let around = oval(centre, speaker.straight, half);
        let walls = Walls::new(&spec.outside, &around);
        if let Some(wall) = walls.groove.filter(|wall| *wall < spec.wall - ROUNDING) {
            return Err(Misfit::Groove { wall });
        }
        let most = speaker.half - 0.5 * speaker.cone;
        let land = spec.land.unwrap_or(speaker.rim.0.min(most));
        if land > most + ROUNDING {
            return Err(Misfit::Land { land, most });
        }
        let opening = snap(speaker.half - land);
        let face = spec.front_gap + speaker.crest;
        if spec.gasket > face - spec.layer {
            return Err(Misfit::Gasket { most: face - spec.layer });
        }
        let shoulder = snap(spec.grille + face - spec.gasket);
        let rim = snap(spec.grille + face);
        let mut end = rim + speaker.depth + spec.rear;
        let ring = match spec.ring {
            None => None,
            Some(asked) => {
                let ring = ring(spec, half, rim, asked)?;
                end = end.max(ring.high);
                Some(ring)
            }
        };
        let ports = Ports::new(spec, centre, opening)?;
        let channel = match &spec.leads {
            None => None,
            Some(leads) => Some(channel(spec, leads, centre, opening)?),
        };
        Ok(Plan {
            centre,
            straight: speaker.straight,
            seat: half,
            opening,
            land: half.min(speaker.half) - opening,
            walls,
            grille: spec.grille,
            shoulder,
            rim,
            length: snap(end),
            ports,
            channel,
            ring,
        })
    }

    /// An oval around the speaker's axis of half the width `half` mm.
    pub(super) fn oval(&self, half: f64) -> Region {
        oval(self.centre, self.straight, half)
    }
}

fn ring(spec: &Spec, seat: f64, rim: f64, asked: RingSpec) -> Result<Ring, Misfit> {
    let outer = snap(seat - 0.5 * asked.clearance);
    let inner = snap(spec.speaker.basket() + BASKET_PLAY);
    if outer - inner < spec.wall_free - ROUNDING {
        return Err(Misfit::Ring { wide: outer - inner });
    }
    let low = snap(rim + spec.speaker.rim.1);
    Ok(Ring { outer, inner, low, high: snap(low + asked.height), clearance: asked.clearance })
}

/// The channel as near to the bore as its wall allows.
fn channel(spec: &Spec, leads: &Leads, centre: Vec2, opening: f64) -> Result<Channel, Misfit> {
    let input = BundleInput {
        wires: LEADS,
        wire_mm: leads.outer,
        slack_percent: leads.slack,
        flat_depth_mm: None,
    };
    let out = bundle(&input).map_err(|e| Misfit::Bundle { why: e.to_string() })?;
    let width = out.duct_mm.max(spec.hole_min + spec.hole_shrink);
    let half = snap(0.5 * width);
    let along = direction(leads.at) * (spec.outside.fit.radius - spec.wall - half - ROUNDING);
    let middle = Vec2::new(snap(along.x), snap(along.y));
    let before = oval(centre, spec.speaker.straight, opening);
    let off = before.boundary_distance(middle);
    let inner = (if before.contains(middle) { -off } else { off }) - half;
    let body = spec.outside.region();
    let off = body.boundary_distance(middle);
    let mut outer = (if body.contains(middle) { off } else { -off }) - half;
    if let Some(groove) = &spec.outside.groove {
        // The channel is open towards the seat, beside the groove.
        let slit = Region::slot(middle, centre, half);
        outer = outer.min(slit.boundary_distance(groove.middle) - groove.radius);
    }
    if inner < spec.wall - ROUNDING || outer < spec.wall - ROUNDING {
        return Err(Misfit::Channel { inner, outer, width: 2.0 * half });
    }
    // The frame covers what lies within the seat.
    let frame = oval(centre, spec.speaker.straight, seat(spec));
    let off = frame.boundary_distance(middle);
    let room = (if frame.contains(middle) { -off } else { off }) + half;
    if room < leads.outer {
        return Err(Misfit::Pinched { room: room.max(0.0), needed: leads.outer });
    }
    let disc = |d: f64| 0.25 * std::f64::consts::PI * d * d;
    let leak = disc(2.0 * half) - LEADS as f64 * disc(leads.outer);
    Ok(Channel { middle, radius: half, walls: (inner, outer), input, leak: leak.max(0.0) })
}
