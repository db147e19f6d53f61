//! Which side down.

use std::collections::BTreeMap;

use super::finding::direction;
use super::topology::Topology;
use super::{Analysis, Check, CheckContext, Finding, Severity};
use crate::measure::{Unit, Vec3};
use crate::parts::Bend;

pub(super) const CHECK: Check = Check {
    name: "orientation",
    summary: "the best side to print on, with reasons",
    upright: true,
    run,
};

/// Large flat faces that are tried besides the six sides.
const FACES: usize = 6;

/// Normals are the same within this step of a coordinate.
const SAME: f64 = 0.02;

/// Lean of what rests on the plate, cosine of 5 degrees.
const FLAT: f64 = 0.996;

/// Weights of the score. Support is what costs time and leaves marks, so it
/// comes first; bending across layers is as bad, since it breaks the part;
/// height is time. Common practice, no source.
const SUPPORT: f64 = 2.0;
const BENDING: f64 = 2.0;
const HEIGHT: f64 = 0.5;
const CONTACT: f64 = 0.5;

/// A side must be better by this share of the score to be worth turning.
const WORTH: f64 = 0.1;

/// How one side down would print.
#[derive(Clone, Copy, Debug)]
struct Side {
    up: Vec3,
    /// Area that needs support, seen from above, mm2.
    support: f64,
    /// Share of the surface's area that leans too far, 0 to 1.
    overhang: f64,
    height: f64,
    contact: f64,
    score: f64,
}

/// How the body stands, and the side that is worth turning it to: the same
/// unless another is clearly better.
fn choice(context: &CheckContext<'_>) -> (Side, Side) {
    let analysis = context.analysis;
    let current = side(context, Vec3::z());
    let others = candidates(analysis.topology()).into_iter().map(|up| side(context, up));
    let best = others.fold(current, |best, side| if side.score < best.score { side } else { best });
    let keep = current.score - best.score <= WORTH * current.score.max(f64::MIN_POSITIVE);
    (current, if keep { current } else { best })
}

/// The direction of the body, in the frame of the file, that should point up on
/// the plate: as the part states, unless another side is clearly better.
pub fn best_up(context: &CheckContext<'_>) -> Vec3 {
    let turned = context.analysis.turned(context.up());
    turned.home(choice(&CheckContext { analysis: &turned, ..*context }).1.up)
}

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let (current, best) = choice(context);
    let keep = current.up == best.up;
    let reasons = |s: &Side| {
        let mut text = String::new();
        // What breaks a part comes before what it costs to print.
        if let Some(known) = context.known.filter(|k| !k.declared.bends.is_empty()) {
            let across = |b: &&Bend| b.along.dot(&context.analysis.home(s.up)).abs();
            if let Some(bend) =
                known.declared.bends.iter().max_by(|a, b| across(a).total_cmp(&across(b)))
            {
                text = format!(
                    "{} stretched {:.0} % across layers, ",
                    bend.what,
                    100.0 * across(&bend)
                );
            }
        }
        text.push_str(&format!(
            "{:.0} mm2 over support, {:.1} % leaning too far, {:.1} mm high, {:.0} mm2 on the plate",
            s.support,
            100.0 * s.overhang,
            s.height,
            s.contact
        ));
        text
    };
    let (text, severity) = if keep {
        (format!("as it stands is the best side: {}", reasons(&current)), Severity::Note)
    } else {
        let text = format!(
            "better printed with {} up: {}; as it stands: {}",
            direction(context.analysis.home(best.up)),
            reasons(&best),
            reasons(&current)
        );
        (text, Severity::Note)
    };
    let mut finding = Finding::new(CHECK.name, severity, text).measured(best.score, Unit::One);
    if !keep {
        finding = finding.hint("turn the part in the slicer");
    }
    vec![finding]
}

/// The other sides of the box and large flat faces.
fn candidates(topology: &Topology) -> Vec<Vec3> {
    let mut ups = vec![Vec3::z(), -Vec3::z(), Vec3::x(), -Vec3::x(), Vec3::y(), -Vec3::y()];
    let mut flats: BTreeMap<[i64; 3], (f64, Vec3)> = BTreeMap::new();
    for (n, area) in topology.normals.iter().zip(&topology.areas) {
        let slot = flats.entry([0, 1, 2].map(|k| (n[k] / SAME).round() as i64)).or_default();
        slot.0 += area;
        slot.1 += n * *area;
    }
    let mut flats: Vec<(f64, Vec3)> = flats.into_values().collect();
    flats.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (_, sum) in flats.into_iter().take(FACES) {
        let Some(n) = sum.try_normalize(0.0) else { continue };
        if ups.iter().all(|up| (up + n).norm() > 2.0 * SAME) {
            ups.push(-n);
        }
    }
    ups
}

fn side(context: &CheckContext<'_>, up: Vec3) -> Side {
    let analysis: &Analysis = context.analysis;
    let topology = analysis.topology();
    let heights = analysis.soup().vertices().iter().map(|p| p.dot(&up));
    let (low, high) =
        heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| (l.min(z), h.max(z)));
    let limit = context.printer.number("overhang").to_radians().sin();
    let plate = low + context.printer.number("layer");
    let (mut support, mut hanging, mut contact, mut total) = (0.0, 0.0, 0.0, 0.0);
    for (i, n) in topology.normals.iter().enumerate() {
        let area = topology.areas[i];
        total += area;
        let down = -n.dot(&up);
        if down <= 0.0 {
            continue;
        }
        let rests = analysis.soup().corners(i).iter().all(|p| p.dot(&up) <= plate);
        if rests {
            if down > FLAT {
                contact += area;
            }
        } else if down > limit {
            support += area * down;
            hanging += area;
        }
    }
    let bends = context.known.map_or(&[][..], |k| k.declared.bends.as_slice());
    let bending = bends.iter().map(|b| b.along.dot(&analysis.home(up)).abs()).fold(0.0, f64::max);
    // Bends matter as far as the material is weaker across its layers.
    let weakness = 1.0 - context.material.number("across_layers");
    let (low_box, high_box) = analysis.bounds();
    let size = (high_box - low_box).norm().max(f64::MIN_POSITIVE);
    let overhang = if total > 0.0 { hanging / total } else { 0.0 };
    let shares = |area: f64| if total > 0.0 { area / total } else { 0.0 };
    let score = SUPPORT * shares(support)
        + BENDING * bending * weakness
        + HEIGHT * (high - low) / size
        + CONTACT * (1.0 - (10.0 * shares(contact)).min(1.0));
    Side { up, support, overhang, height: high - low, contact, score }
}
