//! How the part stands on the plate.

use super::finding::short;
use super::{Check, CheckContext, Finding, Limit, Place, Severity};
use crate::measure::{Unit, Vec2, Vec3};
use crate::mesh::cut_at;

pub(super) const CHECK: Check = Check {
    name: "first_layer",
    summary: "too little on the plate, or tipping over",
    upright: true,
    run,
};

/// Area on the plate per height, mm2 per mm, and the least area, mm2: below
/// it prints come loose now and then. Common practice, no source.
const AREA_PER_HEIGHT: f64 = 1.0;
const LEAST_AREA: f64 = 10.0;

/// Least angle by which a part may be tilted before it falls, degrees: a
/// nozzle that catches a curled edge tilts it. Common practice, no source.
const LEAST_TILT: f64 = 10.0;

/// How a part stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Standing {
    /// Area in the middle of the first layer, mm2.
    pub(super) area: f64,
    /// Tilt at which it falls, degrees; negative if it falls at once.
    pub(super) tilt: f64,
    pub(super) height: f64,
}

pub(super) fn standing(context: &CheckContext<'_>) -> Option<Standing> {
    let analysis = context.analysis;
    let (low, high) = analysis.bounds();
    let z = low.z + 0.5 * context.printer.number("layer");
    let pieces = cut_at(analysis.soup(), z);
    let base = pieces.first()?[0];
    let cross = |a: Vec2, b: Vec2| a.x * b.y - a.y * b.x;
    let twice: f64 = pieces.iter().map(|[a, b]| cross(a - base, b - base)).sum();
    let (volume, centre) = analysis.mass();
    let hull = hull(pieces.into_iter().flatten().collect());
    if volume.is_nan() || volume <= 0.0 || hull.len() < 3 {
        return None;
    }
    let inside = (0..hull.len())
        .map(|i| {
            let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
            cross((b - a).normalize(), centre.xy() - a)
        })
        .fold(f64::INFINITY, f64::min);
    let tilt = inside.atan2(centre.z - low.z).to_degrees();
    Some(Standing { area: 0.5 * twice, tilt, height: high.z - low.z })
}

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    // Powder needs no plate; resin prints hang on rafts and supports.
    if context.process() != "fdm" {
        return Vec::new();
    }
    let Some(standing) = standing(context) else { return Vec::new() };
    let low = context.analysis.bounds().0.z;
    let place = || {
        let at = Vec3::new(context.analysis.mass().1.x, context.analysis.mass().1.y, low);
        Place::heights(at, low, low + context.printer.number("layer"))
    };
    let mut findings = Vec::new();
    let needed = (AREA_PER_HEIGHT * standing.height).max(LEAST_AREA);
    if standing.area < needed {
        let limit = Limit::own(needed, "1 mm2 on the plate for each mm of height; common practice");
        let text = format!(
            "only {} mm2 lie on the plate, for a height of {} mm",
            short(standing.area),
            short(standing.height)
        );
        findings.push(
            Finding::new(CHECK.name, Severity::Warning, text)
                .at(place())
                .measured(standing.area, Unit::Mm2)
                .limit(&limit)
                .hint("turn it onto a larger face, or print it with a brim"),
        );
    }
    if standing.tilt < LEAST_TILT {
        let limit = Limit::own(LEAST_TILT, "tilt at which a part may fall; common practice");
        let (severity, text) = if standing.tilt < 0.0 {
            (Severity::Error, "its centre of mass is not over what stands on the plate".to_owned())
        } else {
            let tilt = short(standing.tilt);
            (Severity::Warning, format!("it tips over when tilted by {tilt} deg"))
        };
        findings.push(
            Finding::new(CHECK.name, severity, text)
                .at(place())
                .measured(standing.tilt, Unit::Degrees)
                .limit(&limit)
                .hint("turn it onto a larger face, or print it with support or a brim"),
        );
    }
    findings
}

/// Convex hull, counter-clockwise: A. M. Andrew, "Another efficient algorithm
/// for convex hulls in two dimensions", Information Processing Letters 9
/// (1979) 216-219.
fn hull(mut points: Vec<Vec2>) -> Vec<Vec2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    let turn = |o: Vec2, a: Vec2, b: Vec2| (a.x - o.x) * (b.y - o.y) - (a.y - o.y) * (b.x - o.x);
    let mut chain: Vec<Vec2> = Vec::new();
    for pass in 0..2 {
        let start = chain.len();
        let ordered: Box<dyn Iterator<Item = &Vec2>> =
            if pass == 0 { Box::new(points.iter()) } else { Box::new(points.iter().rev()) };
        for p in ordered {
            while chain.len() >= start + 2
                && turn(chain[chain.len() - 2], chain[chain.len() - 1], *p) <= 0.0
            {
                chain.pop();
            }
            chain.push(*p);
        }
        chain.pop();
    }
    chain
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hull_has_the_corners_alone_counter_clockwise() {
        let grid = |x: u32, y: u32| Vec2::new(2.0 + f64::from(x), f64::from(y) - 3.0);
        let all = (0..5).flat_map(|x| (0..4).map(move |y| grid(x, y))).chain([grid(0, 0)]);
        let corners = [grid(0, 0), grid(4, 0), grid(4, 3), grid(0, 3)];
        assert_eq!(hull(all.collect()), corners);
        let slanted = [Vec2::new(5.0, 1.0), Vec2::new(1.0, 2.0), Vec2::new(4.0, 7.0)];
        let inside = (slanted[0] + slanted[1] + slanted[2]) / 3.0;
        let found = hull(vec![inside, slanted[2], slanted[1], slanted[0], inside]);
        assert_eq!(found, [slanted[1], slanted[0], slanted[2]]);
    }
}
