//! Where nothing may be added to a body: beside its cross bores, and where its
//! components lie or pass.

use super::super::around::BORE;
use super::super::fixing::Axes;
use super::super::{Body, Component, Way};
use crate::measure::Vec2;
use crate::section::Region;
use crate::solid::{BoreEnd, CrossBore, Levels};

/// Room beside a bore's rim, and all around components, mm: more than a layer or a
/// line of any printer errs. Common practice, no source.
const ROOM: f64 = 0.4;

/// Longest way of a component that counts, mm: further out than any cavity.
const FAR: f64 = 100.0;

/// A column along z that is kept free.
#[derive(Clone, Debug)]
pub(super) struct KeepOut {
    /// Lower and upper end, mm.
    pub low: f64,
    pub high: f64,
    /// What is kept free between them.
    pub region: Region,
}

impl KeepOut {
    /// Of a cross bore: the strip that it comes in by, and leaves by if it goes
    /// through all walls.
    pub(super) fn bore(bore: &CrossBore, spare: f64) -> KeepOut {
        let (along, across) = bore.reach();
        let room = ROOM + spare;
        let axes = Axes::new(bore.direction);
        let (left, right) = (bore.offset - across - room, bore.offset + across + room);
        // One that begins inside leaves the walls before it alone.
        let from = if bore.start.is_finite() { bore.start } else { -FAR };
        let to = match bore.end {
            BoreEnd::AllWalls => FAR,
            BoreEnd::NextWall if bore.start.is_finite() => FAR,
            BoreEnd::NextWall | BoreEnd::Depth(_) => 0.0_f64.max(from),
        };
        KeepOut {
            low: bore.z - along - room,
            high: bore.z + along + room,
            region: axes.quad((left, right), (from, to)),
        }
    }

    /// Of what lies below the bed of a body that is printed lying.
    pub(super) fn bed(body: &Body) -> Option<KeepOut> {
        let up = body.declared.up.map(|up| up.xy()).filter(|up| up.norm() > 0.5)?;
        let axes = Axes::new(up);
        let (low, high) = body.solid.bounds();
        let corners = [low.x, high.x].map(|x| [low.y, high.y].map(|y| Vec2::new(x, y)));
        let bed = corners.as_flattened().iter().map(|p| p.dot(&axes.along));
        let bed = bed.fold(f64::INFINITY, f64::min);
        Some(KeepOut {
            low: f64::NEG_INFINITY,
            high: f64::INFINITY,
            region: axes.quad((-FAR, FAR), (-FAR, bed)),
        })
    }

    /// Of a component that reaches beyond `radius` mm from the axis where it sits
    /// or on its way; none of others, and none of the bore.
    pub(super) fn component(component: &Component, radius: f64, spare: f64) -> Option<KeepOut> {
        if component.name == BORE {
            return None;
        }
        let (least, most) = component.solid.bounds();
        let shadow = match Levels::new(&component.solid) {
            Ok(levels) => levels.shadow(least.z, most.z),
            Err(_) => Region::rectangle(least.xy(), most.xy()),
        };
        let (mut low, mut high, mut passed) = (least.z, most.z, shadow);
        match component.way {
            Some(Way::Across { along, travel, .. }) => {
                passed = passed.swept(-along * travel.min(FAR));
            }
            Some(Way::Along { up: true, travel }) => low -= travel,
            Some(Way::Along { up: false, travel }) => high += travel,
            None => {}
        }
        let beyond = passed.difference(&Region::disc(Vec2::zeros(), radius));
        let room = ROOM + spare;
        (!beyond.is_empty()).then(|| KeepOut {
            low: low - room,
            high: high + room,
            region: passed.offset(room),
        })
    }
}
