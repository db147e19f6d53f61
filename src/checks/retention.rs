//! What keeps a loose thing in its place: bars in all of its ways out, or glue
//! that takes a fall.

use super::finding::{direction, short};
use super::overlap::{CONTACT, Unclear, on_the_way};
use super::{Check, CheckContext, Finding, Limit, Place, Region, Severity, cut};
use crate::measure::{Unit, Vec3};
use crate::parts::{Bars, Hold, Kept, Way};
use crate::solid::Levels;
use crate::trade::hold::{BOND, KNOCK, area_needed};

pub(super) const CHECK: Check = Check {
    name: "retention",
    summary: "a stone that can fall out: of the opening, past its lips, or out of its glue",
    upright: false,
    run,
};

/// What stands in the way beyond the play and this, mm, holds: the edges of
/// prints and stones are rounded as far. Common practice, no source.
const EDGE: f64 = 0.2;

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let Some(known) = context.known else { return Vec::new() };
    let kept = known.declared.kept.iter();
    cut(kept
        .flat_map(|kept| match &kept.hold {
            Hold::Glue { area, grams } => vec![glued(kept, *area, *grams)],
            Hold::Bars(bars) => barred(kept, bars),
        })
        .collect())
}

fn glued(kept: &Kept, area: f64, grams: f64) -> Finding {
    let needed = area_needed(grams);
    let holds = area >= needed;
    let severity = if holds { Severity::Note } else { Severity::Warning };
    let text = format!(
        "{} of {} g hangs on {} mm2 of glue{}: a fall on a hard floor ({KNOCK} g) takes {} mm2 at \
         {BOND} MPa",
        kept.what,
        short(grams),
        short(area),
        if holds { "" } else { ", too little" },
        short(needed)
    );
    let limit = Limit::own(needed, format!("{KNOCK} g and {BOND} MPa; common practice"));
    let finding =
        at(kept, Finding::new(CHECK.name, severity, text)).measured(area, Unit::Mm2).limit(&limit);
    if holds {
        finding
    } else {
        finding.hint(format!("{}: bars that hold without glue", kept.field))
    }
}

/// How deep the shallowest bar stands in the way that it bars least.
struct Least<'k> {
    depth: f64,
    bar: &'k str,
    out: Vec3,
    at: Option<Vec3>,
}

fn barred(kept: &Kept, bars: &Bars) -> Vec<Finding> {
    let least = match least(bars) {
        Ok(Some(least)) => least,
        Ok(None) => return Vec::new(),
        Err(reason) => {
            let text = format!("{} was not looked at: {reason}", kept.what);
            let hint = "look yourself whether it is held";
            return vec![Finding::new(CHECK.name, Severity::Warning, text).hint(hint)];
        }
    };
    let mut findings = vec![straight(kept, bars, &least)];
    findings.extend(tipped(kept, bars));
    findings
}

fn least(bars: &Bars) -> Result<Option<Least<'_>>, String> {
    let thing = Levels::new(&bars.solid).map_err(|e| e.to_string())?;
    let mut least: Option<Least<'_>> = None;
    for (bar, solid) in &bars.bars {
        let body = Levels::new(solid).map_err(|e| e.to_string())?;
        for &out in &bars.out {
            let way = Way::Across { along: -out, travel: bars.travel, aside: 0.0 };
            let found = on_the_way(&body, &thing, way)
                .map_err(|Unclear(z)| format!("a section at z = {} mm is not defined", short(z)))?;
            let depth = found.map_or(0.0, |o| o.depth);
            if least.as_ref().is_none_or(|l| depth < l.depth) {
                let out = Vec3::new(out.x, out.y, 0.0);
                least = Some(Least { depth, bar, out, at: found.map(|o| o.at) });
            }
        }
    }
    Ok(least)
}

fn straight(kept: &Kept, bars: &Bars, least: &Least<'_>) -> Finding {
    let margin = least.depth - bars.play;
    let (severity, what) = if least.depth <= bars.play.max(CONTACT) {
        (Severity::Error, "lets it out")
    } else if margin < EDGE {
        (Severity::Warning, "hardly holds it")
    } else {
        (Severity::Note, "holds it")
    };
    let straight = if bars.spare > 0.0 {
        format!("; it is {} mm too thick to pass the opening in any attitude", short(bars.spare))
    } else {
        String::new()
    };
    let text = format!(
        "{}: {} {what} on its way along {}, {} mm deep, of which it can shift by {}{straight}",
        kept.what,
        least.bar,
        direction(least.out),
        short(least.depth),
        short(bars.play)
    );
    let limit = Limit::own(EDGE, "what rounded edges take; common practice");
    let finding =
        at(kept, Finding::new(CHECK.name, severity, text)).measured(margin, Unit::Mm).limit(&limit);
    let finding = match least.at {
        Some(p) => finding.at(Place { point: Some(p.into()), region: Region::Body }),
        None => finding,
    };
    if severity == Severity::Note { finding } else { finding.hint(cure(kept)) }
}

/// A way out past the bars by tipping; what no attitude lets through does not.
fn tipped(kept: &Kept, bars: &Bars) -> Option<Finding> {
    let angle = bars.tips_out.filter(|_| bars.spare <= 0.0)?;
    let text = format!(
        "{} may come out when it tips by {} degrees, past what holds it: seen from the side there \
         is room for that",
        kept.what,
        short(angle)
    );
    let hint = format!("{}; or foam in the room over it, or glue", cure(kept));
    Some(
        at(kept, Finding::new(CHECK.name, Severity::Warning, text))
            .measured(angle, Unit::Degrees)
            .hint(hint),
    )
}

fn cure(kept: &Kept) -> String {
    format!("{}: {}", kept.field, kept.cure)
}

fn at(kept: &Kept, finding: Finding) -> Finding {
    finding.at(Place { point: Some(kept.at.into()), region: Region::Body })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Vec2;
    use crate::section::Region;
    use crate::solid::{Solid, Stack};

    fn block(low: Vec3, high: Vec3) -> Solid {
        let mut stack = Stack::default();
        stack.prism(low.z, high.z, &Region::rectangle(low.xy(), high.xy()));
        stack.solid().expect("a block")
    }

    /// A block 20 mm long under two bars, of which the higher begins at `bar` mm.
    fn held(bar: f64, spare: f64, tips_out: Option<f64>) -> Vec<Finding> {
        let bars = vec![
            ("the low bar".to_owned(), block(Vec3::new(-9.0, 3.0, -2.0), Vec3::new(9.0, 5.0, 1.0))),
            (
                "the high bar".to_owned(),
                block(Vec3::new(-9.0, 3.0, bar), Vec3::new(9.0, 5.0, 25.0)),
            ),
        ];
        let bars = Bars {
            solid: block(Vec3::new(-2.0, -2.0, 0.0), Vec3::new(2.0, 2.0, 20.0)),
            bars,
            out: vec![Vec2::y(), Vec2::new(0.5, 0.75_f64.sqrt())],
            travel: 20.0,
            play: 0.3,
            spare,
            tips_out,
        };
        let kept = Kept {
            what: "the block".into(),
            at: Vec3::zeros(),
            hold: Hold::Bars(Box::new(bars.clone())),
            field: "part[1].overlap".into(),
            cure: "more of it",
        };
        barred(&kept, &bars)
    }

    #[test]
    fn the_shallower_bar_decides() {
        for (bar, severity) in [
            (19.2, Severity::Note),
            (19.6, Severity::Warning),
            (19.8, Severity::Error),
            (20.5, Severity::Error),
        ] {
            let found = held(bar, -1.0, None);
            let margin = (20.0 - bar).max(0.0) - 0.3;
            assert_eq!((found.len(), found[0].severity), (1, severity), "{found:?}");
            let measured = found[0].measured.expect("a margin");
            assert!((measured - margin).abs() < 1e-3, "{measured} is not {margin}");
            assert!(found[0].text.contains("the high bar"), "{found:?}");
        }
    }

    #[test]
    fn what_passes_in_no_attitude_does_not_tip_out() {
        assert_eq!(held(19.0, -1.0, Some(12.0)).len(), 2);
        let found = held(19.0, 0.5, Some(12.0));
        assert!(found.len() == 1 && found[0].text.contains("in any attitude"), "{found:?}");
    }
}
