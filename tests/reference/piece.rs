//! Sections and bores as the Python programs read them.

use borewright::section::{Region, Seg};
use borewright::solid::{BoreEnd, BoreProfile, CrossBore, Mouth};
use serde_json::{Value, json};

/// A region as loops of pieces: see exact.py.
pub fn region_value(region: &Region) -> Value {
    let piece = |s: &Seg| match s.arc {
        None => json!([s.a.x, s.a.y, s.b.x, s.b.y]),
        Some(c) => {
            let ccw = u8::from(c.ccw);
            json!([s.a.x, s.a.y, s.b.x, s.b.y, c.centre.x, c.centre.y, c.radius, ccw])
        }
    };
    region.loops().iter().map(|l| l.iter().map(piece).collect::<Value>()).collect()
}

/// A bore that is round or a slot along z.
pub fn bore_value(bore: &CrossBore) -> Value {
    let (radius, half) = match bore.profile {
        BoreProfile::Round { radius } => (radius, 0.0),
        BoreProfile::SlotAlongZ { radius, between } => (radius, 0.5 * between),
        BoreProfile::SlotAcross { .. } => unreachable!("not asked for"),
    };
    let mouth = match bore.mouth {
        Mouth::Plain => json!({ "kind": "plain" }),
        Mouth::Counterbore { radius, depth } => {
            json!({ "kind": "counterbore", "radius": radius, "depth": depth })
        }
        Mouth::Countersink { radius, angle, depth } => {
            json!({ "kind": "countersink", "radius": radius, "angle": angle, "depth": depth })
        }
    };
    json!({
        "direction": bore.direction.as_slice(),
        "z": bore.z,
        "offset": bore.offset,
        "start": bore.start.is_finite().then_some(bore.start),
        "radius": radius,
        "half": half,
        "mouth": mouth,
        "end": match bore.end {
            BoreEnd::NextWall => json!("next"),
            BoreEnd::AllWalls => json!("all"),
            BoreEnd::Depth(depth) => json!(depth),
        },
    })
}
