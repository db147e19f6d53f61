//! What does not fit, each with the number that would.

use super::super::{PartContext, Refusal};
use super::cap::Cap;
use super::holder::{Holder, NOISE, Need, Outside};
use super::lips::Lips;
use super::opening::Opening;
use super::pixel::{BORE_SHARE, Pixel};
use super::seat::{Keep, Seat};
use super::stone::Stone;
use crate::measure::frame::direction;
use crate::measure::rounding::{down, up};
use crate::measure::{Values, Vec2};
use crate::section::snap;

/// Least walls under and beside the stone, and at a free edge, mm.
pub(super) fn walls(context: &PartContext<'_>, values: &Values) -> Result<(f64, f64), Refusal> {
    let supported = context.printer.number("wall_supported");
    let free = context.printer.number("wall_free");
    let Some(wall) = values.maybe_number("wall") else { return Ok((supported, free)) };
    if wall >= supported {
        return Ok((wall, free.max(wall)));
    }
    let thin = context.library.profiles("printers").iter();
    let names: Vec<String> = thin
        .filter(|p| p.number("wall_supported") <= wall)
        .filter_map(|p| p.profile())
        .map(|name| format!("\"{name}\""))
        .collect();
    let refusal = Refusal::new(format!(
        "a wall of {wall:.2} mm is thinner than the {supported:.2} mm that the printer holds: \
         short by {:.2}",
        supported - wall
    ))
    .at(values, "wall")
    .hint(format!("wall = {supported:.2}, or left out, would do"));
    Err(if names.is_empty() {
        refusal
    } else {
        refusal.hint(format!("printers that hold it: {}", names.join(", ")))
    })
}

/// Refuses a wall at the stone's far end that is thinner than the least.
pub(super) fn far_wall(values: &Values, thick: f64, least: f64) -> Result<(), Refusal> {
    if thick >= least {
        return Ok(());
    }
    Err(Refusal::new(format!(
        "a far wall of {thick:.2} mm is thinner than the least wall of {least:.2}: short by {:.2}",
        least - thick
    ))
    .at(values, "far_wall")
    .hint(format!("far_wall = {least:.2} would do")))
}

/// The lips, if they hold the stone and it gets under them.
pub(super) fn lips(
    values: &Values,
    stone: &Stone,
    holder: &Holder<'_>,
    keep: Keep,
    pixel_low: bool,
    wall: f64,
) -> Result<Option<Lips>, Refusal> {
    if values.choice("retention") != "lips" {
        return Ok(None);
    }
    let overlap = snap(values.number("overlap"));
    let length = stone.length();
    if length <= 2.0 * overlap {
        return Err(Refusal::new(format!(
            "two lips of {overlap:.2} mm cover the whole stone of {length:.2} mm"
        ))
        .at(values, "overlap")
        .hint(format!("overlap = {:.2} leaves half of it free", down(length / 4.0))));
    }
    let find = |overlap| Lips::find(stone, keep, overlap, pixel_low, (holder.outside.top(), wall));
    let Some(lips) = find(overlap) else {
        let refusal = Refusal::new(format!(
            "the stone of {length:.2} mm cannot tip under lips that overlap it by {overlap:.2} mm, \
             even if it may slide 20 mm"
        ))
        .at(values, "overlap");
        let smaller = [0.7, 0.4].map(|share| down(share * overlap));
        let found = smaller.into_iter().find(|o| *o >= 0.3 && find(*o).is_some());
        let refusal = match found {
            Some(overlap) => refusal.hint(format!("overlap = {overlap:.2} would do")),
            None => refusal,
        };
        return Err(refusal.hint("retention = \"cap\" holds a stone that does not tip"));
    };
    Ok(Some(Lips { seat: snap(lips.seat), near: snap(lips.near), far: snap(lips.far), ..lips }))
}

/// The refusal of a cradle that is longer than its place.
pub(super) fn too_long(
    context: &PartContext<'_>,
    values: &Values,
    holder: &Holder<'_>,
    total: f64,
    stone: f64,
) -> Refusal {
    let short = up(total - holder.room);
    let from_z = values.number("from_z");
    let (refusal, longer) = match holder.cavity {
        Some(cavity) => (
            Refusal::new(format!(
                "the cradle is {total:.2} mm long with its stone of {stone:.2} mm; the cavity has \
                 {:.2}: short by {short:.2}",
                holder.room
            ))
            .at(cavity, "length"),
            None,
        ),
        None => (
            Refusal::new(format!(
                "the cradle is {total:.2} mm long with its stone of {stone:.2} mm and starts at z \
                 = {from_z:.2}; the bore's usable length is {:.2}: short by {short:.2}",
                context.handle.length()
            ))
            .at(values, "from_z"),
            (from_z >= short).then_some(from_z - short),
        ),
    };
    let refusal = match longer {
        Some(z) => refusal.hint(format!("from_z = {:.2} would do", down(z))),
        None => refusal,
    };
    let spare = values.number("gap") - short;
    let web = context.printer.number("wall_supported") + values.number("clearance") + 0.1;
    if spare >= web { refusal.hint(format!("gap = {:.2} would do", down(spare))) } else { refusal }
}

/// Refuses a block whose top lies under the seat's rim.
pub(super) fn low_rim(
    values: &Values,
    holder: &Holder<'_>,
    floor: f64,
    cap: bool,
) -> Result<(), Refusal> {
    let (Outside::Block { top, .. }, Some(cavity)) = (holder.outside, holder.cavity) else {
        return Ok(());
    };
    let cover = if cap { values.number("cap_thickness") + values.number("glue_gap") } else { 0.0 };
    let rim = top - cover;
    if floor <= rim && rim > 0.5 {
        return Ok(());
    }
    let floor = floor.max(0.51);
    let short = up(floor - rim);
    let cover = if cap { format!(" less the cap's {cover:.2}") } else { String::new() };
    Err(Refusal::new(format!(
        "the walls must reach y = {floor:.2} mm, past the stone's widest place and the bore's \
         axis; the cavity's rim is at {top:.2}{cover}: short by {short:.2}"
    ))
    .at(cavity, "depth")
    .hint(format!("a stone that lies {short:.2} mm lower, or floor_y raised by as much, would do")))
}

/// Refuses a stone whose widest place lies too high for the ledges of a cap in
/// the bore.
pub(super) fn high_rim(
    values: &Values,
    holder: &Holder<'_>,
    opening: Option<&Opening>,
    buried: f64,
) -> Result<(), Refusal> {
    let (Outside::Bore { radius, .. }, Some(opening)) = (holder.outside, opening) else {
        return Ok(());
    };
    let most = opening.highest(&Outside::Bore { radius: radius - buried, keel: None });
    let rim = opening.rims.iter().copied().fold(0.0, f64::max);
    if rim < most {
        return Ok(());
    }
    let short = up(rim - most);
    Err(Refusal::new(format!(
        "walls that hold the stone reach y = {rim:.2} mm; the ledges of a cap leave them {most:.2}: \
         short by {short:.2}"
    ))
    .at(values, "retention")
    .hint(format!("a stone that lies {short:.2} mm lower, or a thinner cap, may fit"))
    .hint("retention = \"glue\" or \"lips\" needs no ledges"))
}

/// Refuses a wire groove that leaves too thin a floor.
pub(super) fn groove(
    values: &Values,
    pixel: &Pixel<'_>,
    seat: &Seat,
    top: f64,
    wall: f64,
) -> Result<(), Refusal> {
    // The lowest place over a strip may lie between two stations.
    const SAMPLES: i32 = 16;
    let half = pixel.exit / 2.0 + wall;
    let lowest = seat
        .nodes
        .windows(2)
        .flat_map(|n| {
            (0..=SAMPLES).map(move |k| n[0] + (n[1] - n[0]) * f64::from(k) / f64::from(SAMPLES))
        })
        .map(|z| lowest_above(seat, z, pixel.at.x, half) - wall)
        .fold(f64::INFINITY, f64::min);
    if lowest >= top {
        return Ok(());
    }
    let most = down(pixel.groove - (top - lowest));
    let refusal = Refusal::new(format!(
        "a wire groove of {:.2} mm leaves less than the least wall of {wall:.2} mm under the \
         stone: too deep by {:.2}",
        pixel.groove,
        up(top - lowest)
    ))
    .at(values, "wire_groove");
    Err(if most > 0.0 {
        refusal.hint(format!("wire_groove = {most:.2} would do"))
    } else {
        refusal.hint("wire_groove = 0 leaves it out")
    })
}

/// Lowest height of the seat over a strip of half width `half` about `x`.
fn lowest_above(seat: &Seat, z: f64, x: f64, half: f64) -> f64 {
    let corners = seat.corners(z);
    let mut lowest = f64::INFINITY;
    for pair in corners.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let (from, to) = (a.x.max(x - half), b.x.min(x + half));
        if from <= to && b.x > a.x {
            let at = |x: f64| a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x);
            lowest = lowest.min(at(from)).min(at(to));
        }
    }
    lowest
}

/// Refuses lips that come out too thin.
pub(super) fn thin_lips(
    context: &PartContext<'_>,
    holder: &Holder<'_>,
    closed: &[Vec<Vec2>; 2],
    wall: f64,
    values: &Values,
) -> Result<(), Refusal> {
    let corners: Vec<Need> = closed.iter().flatten().map(|&at| Need { at, wall }).collect();
    let margin = |n: &Need| holder.outside.margin_all_round(n.at);
    let least = corners.iter().map(margin).fold(f64::INFINITY, f64::min);
    if least >= wall - NOISE {
        return Ok(());
    }
    let refusal = if holder.short(&corners).is_some() {
        holder.too_small(context, values, &corners, "the stone with lips over its ends")
    } else {
        Refusal::new(format!(
            "the lips are {:.2} mm thick under the cavity's rim; the printer needs {wall:.2}: \
             short by {:.2}",
            least.max(0.0),
            up(wall - least)
        ))
    };
    Err(refusal
        .at(values, "retention")
        .hint(format!("a stone that lies {:.2} mm lower may fit", up(wall - least)))
        .hint("retention = \"glue\" or \"cap\" needs no walls over the ends"))
}

/// Refuses a stone that reaches into the cap.
pub(super) fn high_stone(
    values: &Values,
    holder: &Holder<'_>,
    stone: &Stone,
    keep: Keep,
    cap: &Cap,
) -> Result<(), Refusal> {
    let inside = holder.outside.top() - cap.thickness - keep.clearance;
    let round = matches!(holder.outside, Outside::Bore { .. });
    let points = stone.sections.iter().flat_map(|s| s.outline_points());
    let reach = |p: Vec2| if round { p.norm() } else { p.y };
    let most = points.map(reach).fold(0.0, f64::max);
    if most <= inside + NOISE {
        return Ok(());
    }
    let short = up(most - inside);
    let refusal = Refusal::new(format!(
        "the stone reaches {most:.2} mm from the bore's axis; the cap's inside less the clearance \
         is at {inside:.2}: short by {short:.2}"
    ))
    .at(values, "retention");
    let thinner = cap.thickness - short;
    let refusal = if thinner >= 0.6 {
        refusal.hint(format!("cap_thickness = {:.2} would let it in", down(thinner)))
    } else {
        refusal
    };
    Err(refusal.hint(format!("a stone that lies {short:.2} mm lower may fit")))
}

/// Refuses a stone that stands out of the bore.
pub(super) fn proud(
    context: &PartContext<'_>,
    values: &Values,
    holder: &Holder<'_>,
    stone: &Stone,
) -> Result<(), Refusal> {
    let bore = context.handle.bore().sure();
    let limit = holder.fit.map_or(bore / 2.0, |fit| fit.radius);
    let points = stone.sections.iter().flat_map(|s| s.outline_points());
    let most = points.map(|p| p.norm()).fold(0.0, f64::max);
    if most <= limit + NOISE {
        return Ok(());
    }
    let short = up(most - limit);
    Err(Refusal::new(format!(
        "the stone reaches {most:.2} mm from the bore's axis; {limit:.2} is free: it stands out \
         by {short:.2}, and would need a bore of at least {:.2} mm",
        bore + 2.0 * short
    ))
    .at(values, "station")
    .hint(format!("a stone that lies {short:.2} mm lower may fit"))
    .hint("proud = true if the handle has a window that it may stand out of"))
}

/// Refuses a light bore too near to the outside, or beside the stone.
pub(super) fn light_bore(
    values: &Values,
    holder: &Holder<'_>,
    pixel: &Pixel<'_>,
    stone: &Stone,
    top: f64,
    wall: f64,
    high: bool,
) -> Result<(), Refusal> {
    let round = matches!(holder.outside, Outside::Bore { .. });
    for p in pixel.bore_corners() {
        let above = if round { top - p.norm() } else { top - p.y };
        let margin = holder.outside.margin(p).min(above);
        if margin < wall - NOISE {
            return Err(Refusal::new(format!(
                "the light bore leaves a wall of {:.2} mm outside it; {wall:.2} is needed: short \
                 by {:.2}",
                margin.max(0.0),
                up(wall - margin)
            ))
            .at(values, "pixel")
            .hint("pixel_x = 0, pixel_y = 0 is the middle of the bore"));
        }
    }
    let around = widest_around(pixel.at, stone);
    if around <= pixel.bore / 2.0 {
        let narrower = down(BORE_SHARE * 2.0 * around);
        return Err(Refusal::new(format!(
            "a light bore of {:.2} mm, as drawn, lets the stone slip into it: the stone reaches \
             {around:.2} mm from the bore's middle at most",
            pixel.bore
        ))
        .at(values, if values.has("light_bore") { "light_bore" } else { "pixel" })
        .hint(format!("light_bore = {narrower:.2} holds it back, where the printer makes it")));
    }
    let beside = beside(pixel.at, stone, high);
    if beside > 0.0 {
        let middle = stone.end_middle(high);
        return Err(Refusal::new(format!(
            "the middle of the light bore lies {:.2} mm outside the stone's end",
            up(beside)
        ))
        .at(values, if values.has("pixel_x") { "pixel_x" } else { "pixel_y" })
        .hint(format!("pixel_x = {:.2}, pixel_y = {:.2} is its middle", middle.x, middle.y)));
    }
    Ok(())
}

/// How far the whole stone reaches from `p` across the bore at most, mm.
fn widest_around(p: Vec2, stone: &Stone) -> f64 {
    let length = stone.length();
    (0..72)
        .map(|k| direction(5.0 * f64::from(k)))
        .map(|n| stone.reach(0.0, length, n) - n.dot(&p))
        .fold(0.0, f64::max)
}

/// How far `p` lies outside the stone's end face, mm; 0 or less inside. A
/// pointed end counts as wide as it is a little way in.
pub(super) fn beside(p: Vec2, stone: &Stone, high: bool) -> f64 {
    let at = stone.look_in(high);
    (0..72)
        .map(|k| direction(5.0 * f64::from(k)))
        .map(|n| n.dot(&p) - stone.support(at, n))
        .fold(f64::NEG_INFINITY, f64::max)
}
