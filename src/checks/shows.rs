//! A lamp that shows through the window, past the stone or in it.

use super::finding::{point, short};
use super::{Check, CheckContext, Finding, Limit, Place, Region, Severity, direction};
use crate::measure::{Unit, Vec3};
use crate::mesh::{Bvh, Soup};
use crate::parts::Sight;
use crate::sight::{Counts, Shown, Sightline};

pub(super) const CHECK: Check = Check {
    name: "pixel_shows",
    summary: "pixels of our own parts that show through the window, past the stone or in it, or \
              that the chassis covers",
    upright: false,
    run,
};

/// Lines whose surroundings are looked at to find where a wall is missing.
const LOOKED_AT: usize = 64;
/// Places along a line that are looked at.
const PLACES: u32 = 40;
/// How far off walls are sought, mm: more than the widest bore.
const FURTHEST: f64 = 100.0;

/// What shows of the lamp that the body states, if it states one; looked at
/// once for each [`super::Analysis`].
pub fn shown<'a>(context: &CheckContext<'a>) -> Option<&'a Shown> {
    let sight = context.known?.declared.sight.as_ref()?;
    if context.analysis.beyond_measure() {
        return None;
    }
    context.analysis.shown(|| sight.see(context.analysis.soup(), Counts::default()))
}

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let sight = context.known.and_then(|known| known.declared.sight.as_ref());
    let (Some(sight), Some(shown)) = (sight, shown(context)) else { return Vec::new() };
    let through = shown.lines.partition_point(|line| !line.through_stone);
    let (past, through) = shown.lines.split_at(through);
    let none = Limit::own(0.0, format!("nothing of the pixel may show along {} rays", shown.rays));
    let hint = hint(sight, &shown.lines);
    let mut out: Vec<Finding> = covered(sight, shown).into_iter().collect();
    if let Some((at, room)) = widest(context, sight, past) {
        let text = format!(
            "{:.2} % of the pixel's surface shows past the stone: a wall is missing at {}, where \
             such a line is {} mm from the nearest one",
            shown.past_stone.percent,
            point(at),
            short(room)
        );
        out.push(finding(text, at, shown.past_stone.percent, &none).hint(hint.clone()));
    }
    if let Some(line) = through.first() {
        let (percent, at) = (shown.through_stone.percent, Vec3::from(line.window));
        let text = format!(
            "through a clear stone {percent:.2} % of the pixel's surface shows, brightest along {} \
             from the window at {}",
            direction(-Vec3::from(line.out)),
            point(at)
        );
        out.push(finding(text, at, percent, &none).hint(hint));
    }
    out
}

fn finding(text: String, at: Vec3, percent: f64, limit: &Limit) -> Finding {
    Finding::new(CHECK.name, Severity::Warning, text)
        .at(Place { point: Some(at.into()), region: Region::Body })
        .measured(percent, Unit::Percent)
        .limit(limit)
}

/// A pixel whose light the chassis takes: where that is so, nothing shows, and nothing
/// is lit.
fn covered(sight: &Sight, shown: &Shown) -> Option<Finding> {
    let (chassis, covered) = (sight.chassis.as_ref()?, shown.in_chassis?.percent);
    let dark = shown.to_stone.percent == 0.0;
    let light = if dark {
        "none of its light reaches the stone".to_owned()
    } else {
        format!("{:.1} % of its light reaches the stone", shown.to_stone.percent)
    };
    let at = sight.lamp.middle;
    let name = chassis.name();
    let (text, measured, limit) = if covered > 0.0 {
        let text = format!(
            "{covered:.1} % of the pixel's surface, at {}, lies in the material of the chassis \
             {name}: {light}",
            point(at)
        );
        (text, covered, "no material of the chassis on the pixel")
    } else if dark {
        let around = format!("with the chassis {name} around it");
        let text = format!("{light}, {around}: the pixel at {} is dark", point(at));
        (text, shown.to_stone.percent, "more than this of the light reaches the stone")
    } else {
        return None;
    };
    let hint = format!(
        "cut the chassis free there, or move or turn it ([chassis] shift_x, shift_y, shift_z, turn); \
         that the pixel does not show says nothing as long as {name} covers it"
    );
    Some(finding(text, at, measured, &Limit::own(0.0, limit)).hint(hint))
}

fn hint(sight: &Sight, lines: &[Sightline]) -> String {
    let frost = "frost the stone's lit end, or lay a thin white film in the light bore";
    match sight.hiding(lines) {
        Some(width) => format!("{} = {width:.2} hides it; or {frost}", sight.field),
        None => format!(
            "{frost}: no light bore of {:.2} mm or more hides it here",
            sight.least_hole - sight.shrinks
        ),
    }
}

/// Of lines past the stone the one with most room around it at its narrowest
/// place, among walls of the part and of the chassis: that place and the room, mm.
fn widest(context: &CheckContext<'_>, sight: &Sight, all: &[Sightline]) -> Option<(Vec3, f64)> {
    let lines = &all[..all.len().min(LOOKED_AT)];
    let ends = |line: &Sightline| [Vec3::from(line.from), Vec3::from(line.window)];
    let start = Vec3::from(all.first()?.from);
    let (low, high) = lines
        .iter()
        .flat_map(ends)
        .fold((start, start), |(low, high), p| (low.inf(&p), high.sup(&p)));
    let around = sight.chassis.as_ref().map(|chassis| {
        let wide = Vec3::repeat(FURTHEST);
        let near = chassis.near(low - wide, high + wide);
        Bvh::new(&Soup::welded(near.triangles().iter().copied()))
    });
    let nearest = |bvh: &Bvh, p: Vec3| bvh.nearest(p, FURTHEST, |_| true).map(|t| t.reach);
    let room = |p: Vec3| {
        let walls =
            [nearest(context.analysis.bvh(), p), around.as_ref().and_then(|b| nearest(b, p))];
        (p, walls.into_iter().flatten().fold(FURTHEST, f64::min))
    };
    let narrowest = |line: &Sightline| {
        let [from, to] = ends(line);
        let places = (1..PLACES).map(|k| from + (to - from) * (f64::from(k) / f64::from(PLACES)));
        places.map(room).min_by(|a, b| a.1.total_cmp(&b.1))
    };
    lines.iter().filter_map(narrowest).max_by(|a, b| a.1.total_cmp(&b.1))
}
