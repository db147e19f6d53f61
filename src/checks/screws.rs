//! Screws too near to an edge of what they hold.

use super::finding::short;
use super::{ALLOWANCE, Check, CheckContext, Finding, Limit, Place, Region, Severity, cut};
use crate::measure::Unit;
use crate::parts::Screw;
use crate::trade::screws::EDGE_DIAMETERS;

pub(super) const CHECK: Check = Check {
    name: "screw_edge",
    summary: "screws of our own parts that sit too near to an edge",
    upright: false,
    run,
};

/// Directions around a screw that are looked in.
const DIRECTIONS: u32 = 72;

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let Some(known) = context.known else { return Vec::new() };
    let screws = known.declared.screws.iter();
    cut(screws.filter_map(|screw| finding(context, screw)).collect())
}

fn finding(context: &CheckContext<'_>, screw: &Screw) -> Option<Finding> {
    let (distance, at) = edge(context, screw)?;
    let limit = Limit::own(
        EDGE_DIAMETERS * screw.thread,
        format!("{EDGE_DIAMETERS} diameters of the thread; common practice"),
    );
    if distance >= limit.value - ALLOWANCE {
        return None;
    }
    let text = format!(
        "{} is {} mm from an edge, {} mm are needed: the plastic splits",
        screw.what,
        short(distance),
        short(limit.value)
    );
    Some(
        Finding::new(CHECK.name, Severity::Warning, text)
            .at(Place { point: Some(at), region: Region::Body })
            .measured(distance, Unit::Mm)
            .limit(&limit)
            .hint(format!("{}: a thinner screw, or one further inside", screw.field)),
    )
}

/// Least distance, mm, from a screw's axis to where the material around it
/// ends, and that place.
fn edge(context: &CheckContext<'_>, screw: &Screw) -> Option<(f64, [f64; 3])> {
    let analysis = context.analysis;
    let x = screw.axis.cross(&super::field::least_axis(screw.axis)).try_normalize(0.0)?;
    let y = screw.axis.cross(&x);
    // Just inside the hole's wall, whose facets lie within a chord.
    let wall = 0.5 * screw.hole + ALLOWANCE;
    let ways = (0..DIRECTIONS).filter_map(|k| {
        let (sin, cos) = (f64::from(k) * std::f64::consts::TAU / f64::from(DIRECTIONS)).sin_cos();
        let way = x * cos + y * sin;
        let hit = analysis.bvh().ray(screw.at, way, wall)?;
        Some((hit.reach, hit.at.into()))
    });
    ways.min_by(|p, q| p.0.total_cmp(&q.0))
}
