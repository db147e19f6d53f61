//! The legs of a cover and the hooks that grip a rail of the module below.

use super::super::{PartContext, Refusal};
use super::spec::{Cover, dip_to};
use crate::measure::rounding::down;
use crate::measure::{Values, number};
use crate::section::snap;
use crate::trade::snap::{Cantilever, CantileverInput, cantilever};

/// Longest hook that is made without being asked for, and shortest that grips,
/// mm. Common practice, no source.
const MOST_HOOK: f64 = 0.8;
const LEAST_HOOK: f64 = 0.2;
/// Angle of a hook's lower face to the way in, degrees. Common practice: 25 to 35.
const ENTRY: f64 = 30.0;
/// Hints try legs and rails in steps of this, mm.
const STEP: f64 = 0.1;
/// How many.
const STEPS: u32 = 120;

/// Two legs with hooks, in axes of the cover's middle: `u` to the left, `v`
/// from the bore's axis towards the cover. Lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Clips {
    /// Inner and outer face of the left leg; the right one is its mirror image.
    pub leg: (f64, f64),
    /// The hook's tip.
    pub tip: (f64, f64),
    /// Lower end of the leg, where the hook's lower face meets its inner one.
    pub end: f64,
    /// Where the upper face, carried on, meets the leg's outer face.
    pub back: f64,
    /// The rail: half its width, its top and its underside.
    pub rail: (f64, f64, f64),
    pub hook: f64,
    /// Free height of a leg, from the shell to the hook's tip.
    pub free: f64,
    pub input: CantileverInput,
    pub bent: Cantilever,
}

/// What the clips are made of, which hints vary. Lengths in mm.
#[derive(Clone, Copy)]
struct Asked {
    half: f64,
    depth: f64,
    top: Option<f64>,
    leg: f64,
    hook: Option<f64>,
    exit: f64,
    room: f64,
    inner: f64,
    thick: f64,
    /// Angle from the middle to an edge of the cover, radians.
    edge: f64,
    /// Least length of a piece.
    width: f64,
    modulus: f64,
    friction: f64,
    allowed: f64,
}

/// What cannot be.
enum Misfit {
    /// The leg's outer face does not lie under the shell: reach, room.
    Wide(f64, f64),
    /// The rail does not lie under the shell: its top, and the highest it may be.
    High(f64, f64),
    /// The legs reach the bore on the other side: how low, and how low they may.
    Low(f64, f64),
    /// The hook may reach only so far.
    Short(f64),
    /// The calculator refuses.
    Never(String),
}

impl Asked {
    fn clips(&self) -> Result<Clips, Misfit> {
        let inside = self.half + self.room;
        let (inside, outside) = (snap(inside), snap(inside + self.leg));
        let most = self.inner * self.edge.min(QUARTER).sin();
        if outside > most {
            return Err(Misfit::Wide(outside, most));
        }
        // Under the shell, the rail's corners come nearest to it.
        let highest = dip_to(self.inner, self.half) - self.room;
        let top = self.top.unwrap_or(highest);
        if top > highest + ROUNDING {
            return Err(Misfit::High(top, highest));
        }
        let under = top - self.depth - self.room;
        let exit = self.exit.to_radians().tan();
        let free_to = |hook: f64| dip_to(self.inner, inside) - (under - self.rise(hook, exit));
        let input = |hook: f64| CantileverInput {
            length_mm: free_to(hook),
            thickness_mm: self.leg,
            width_mm: self.width,
            deflection_mm: hook,
            tip_ratio: 1.0,
            modulus_mpa: self.modulus,
            friction: self.friction,
            entry_deg: ENTRY,
            exit_deg: self.exit,
            allowed_percent: self.allowed,
        };
        let never = |e: crate::trade::TradeError| Misfit::Never(e.to_string());
        // The leg that a longer hook makes longer is left out: on the safe side.
        let fits = cantilever(&input(LEAST_HOOK)).map_err(never)?.deflection_allowed_mm;
        let hook = snap(self.hook.unwrap_or(fits.min(MOST_HOOK)));
        if hook < LEAST_HOOK && self.hook.is_none() || hook > fits + ROUNDING_HOOK {
            return Err(Misfit::Short(fits));
        }
        let tip = (snap(self.half - hook), snap(under - self.rise(hook, exit)));
        let end = snap(tip.1 - (inside - tip.0) / ENTRY.to_radians().tan());
        let lowest = -dip_to(self.inner + self.thick, outside) + self.room;
        if end < lowest {
            return Err(Misfit::Low(end, lowest));
        }
        let input = CantileverInput { deflection_mm: hook, ..input(hook) };
        let bent = cantilever(&input).map_err(never)?;
        Ok(Clips {
            leg: (inside, outside),
            tip,
            end,
            back: snap(tip.1 + (outside - tip.0) / exit),
            rail: (self.half, top, top - self.depth),
            hook,
            free: input.length_mm,
            input,
            bent,
        })
    }

    /// How far a hook's tip lies below where its upper face meets the leg, mm.
    fn rise(&self, hook: f64, exit: f64) -> f64 {
        (hook + self.room) / exit
    }
}

/// A quarter turn: a leg hangs from what of the shell lies above it.
const QUARTER: f64 = std::f64::consts::FRAC_PI_2;
/// Float noise of lengths, mm, and the grid's of a hook.
const ROUNDING: f64 = 1e-9;
const ROUNDING_HOOK: f64 = 0.0006;

impl Clips {
    /// # Errors
    /// A rail that is not measured or lies elsewhere; legs that do not bend so far.
    pub(super) fn new(
        context: &PartContext<'_>,
        values: &Values,
        cover: &Cover,
    ) -> Result<Clips, Refusal> {
        let missing = |key: &str, what: &str| {
            Refusal::new(format!("clips grip a rail, but its {what} is not given (0 of 1)"))
                .at(values, key)
                .hint(format!("measure the rail's {what} and write {key}"))
                .hint("hold = \"glue\" needs no rail")
        };
        let width =
            values.maybe_number("rail_width").ok_or_else(|| missing("rail_width", "width"))?;
        let depth =
            values.maybe_number("rail_depth").ok_or_else(|| missing("rail_depth", "depth"))?;
        let (printer, material) = (context.printer, context.material);
        let least = printer.number("wall_free");
        let leg = snap(values.maybe_number("leg").unwrap_or(least));
        if leg < least {
            let what = format!(
                "legs {leg:.2} mm thick are thinner than the printer's {least:.2}: short by {:.2}",
                least - leg
            );
            let hint = format!("leg = {} works", number(least));
            return Err(Refusal::new(what).at(values, "leg").hint(hint));
        }
        let length = cover.pieces.iter().map(|(low, high)| high - low);
        let asked = Asked {
            half: 0.5 * width,
            depth,
            top: values.maybe_number("rail_top"),
            leg,
            hook: values.maybe_number("hook"),
            exit: values.number("exit_angle"),
            // Paint lies on the legs as on the outside.
            room: snap(0.5 * printer.number("fit_slide") + values.number("coat")),
            inner: cover.inner,
            thick: cover.fit.radius - cover.inner,
            edge: (0.5 * (cover.to - cover.from)).to_radians(),
            width: length.fold(f64::INFINITY, f64::min),
            modulus: material.number("modulus"),
            friction: material.number("friction"),
            allowed: material.number("strain_repeated"),
        };
        asked.clips().map_err(|misfit| refused(&asked, values, misfit))
    }
}

fn refused(asked: &Asked, values: &Values, misfit: Misfit) -> Refusal {
    let (what, key) = match misfit {
        Misfit::Wide(reach, room) => (
            format!(
                "legs beside a rail of {:.2} mm reach {reach:.2} mm from the middle; under the shell \
                 are {room:.2}: short by {:.2}",
                2.0 * asked.half,
                reach - room
            ),
            "rail_width",
        ),
        Misfit::High(top, most) => (
            format!(
                "the rail's top at {top:.2} mm from the axis meets the shell: {most:.2} at most, {:.2} \
                 less",
                top - most
            ),
            "rail_top",
        ),
        Misfit::Low(end, most) => (
            format!(
                "the legs end {end:.2} mm from the axis and meet the bore's other side: {most:.2} is \
                 the lowest, {:.2} mm higher",
                most - end
            ),
            "rail_depth",
        ),
        Misfit::Short(most) => (
            format!(
                "legs {:.2} mm thick that bend again and again let hooks reach {most:.2} mm; {:.2} mm \
                 {}: short by {:.2}",
                asked.leg,
                asked.hook.unwrap_or(LEAST_HOOK),
                if asked.hook.is_some() { "are asked for" } else { "are needed to grip" },
                asked.hook.unwrap_or(LEAST_HOOK) - most
            ),
            if asked.hook.is_some() { "hook" } else { "rail_depth" },
        ),
        Misfit::Never(ref text) => {
            (format!("the legs cannot be reckoned: {text} (0 hooks)"), "hold")
        }
    };
    let mut refusal = Refusal::new(what).at(values, key);
    let steps = || (1..=STEPS).map(|k| f64::from(k) * STEP);
    let works =
        |key: &str, found: Option<f64>| found.map(|v| format!("{key} = {} works", number(v)));
    let fits = |a: Asked| a.clips().is_ok();
    let round = |v: f64| (v * 100.0).round() / 100.0;
    let either = || steps().flat_map(|by| [by, -by]);
    let narrower = either().map(|by| round(2.0 * asked.half - 2.0 * by)).filter(|w| *w >= 2.0);
    let found = narrower.into_iter().find(|w| fits(Asked { half: 0.5 * w, ..*asked }));
    refusal.hints.extend(works("rail_width", found));
    let depths = either().map(|by| round(asked.depth + by)).filter(|d| *d >= 1.0);
    let found = depths.into_iter().find(|d| fits(Asked { depth: *d, ..*asked }));
    refusal.hints.extend(works("rail_depth", found));
    if let Some(top) = asked.top {
        let tops = either().map(|by| round(top + by)).filter(|t| *t >= 0.0);
        let found = tops.into_iter().find(|t| fits(Asked { top: Some(*t), ..*asked }));
        refusal.hints.extend(works("rail_top", found));
    }
    if let (Some(_), Misfit::Short(most)) = (asked.hook, misfit) {
        let shorter = down(most);
        let possible = shorter >= 0.1 && fits(Asked { hook: Some(shorter), ..*asked });
        refusal.hints.extend(works("hook", possible.then_some(shorter)));
    }
    refusal.hint("hold = \"glue\" needs no rail")
}
