//! The report as one page for a browser: the bodies in 3D with what was found,
//! and all of the report. Nothing is fetched: style, script and shapes are in it.

mod scene;
mod view;

use std::collections::BTreeSet;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::digest::{
    LIGHT_MODEL, groups, kind_of, light_rows, look_first, made_up_for, verdict, word,
};
use super::{Checked, Job, Made, MadeBody};
use crate::checks::{Finding, FitRow, Severity as Grade, direction};
use crate::measure::frame::FRAME;
use crate::measure::number;
use crate::parts::{Calculation, Message};
use crate::sight::Shown;
use crate::trade::Worked;

pub(crate) use view::{SCRIPTS as VIEW_SCRIPTS, STYLE as VIEW_STYLE, markup as view_markup};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// The findings that a scene has pins of, in their order, each with its body.
pub(crate) fn placed_findings(made: &[Made]) -> Vec<(&str, &Finding)> {
    Pins::new(made).0
}

/// All that the viewer's script draws of made parts, as JSON, without the shapes
/// that a page holds already.
pub(crate) fn scene(job: &Job, made: &[Made], holds: &BTreeSet<String>) -> serde_json::Value {
    scene::json(job, made, &Pins::new(made), Some(holds))
}

/// The head of a page that needs nothing else.
pub(crate) fn head(title: &str, styles: &[&str]) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="generator" content=(concat!("borewright ", env!("CARGO_PKG_VERSION")));
            title { (title) }
            style { @for style in styles { (PreEscaped(style)) } }
        }
    }
}

/// The page of a job and its made parts, as HTML.
pub fn page(job: &Job, made: &[Made]) -> String {
    let name = job.handle().name();
    let pins = Pins::new(made);
    // Nothing in it may end the element that holds it.
    let scene = scene::json(job, made, &pins, None).to_string().replace('<', "\\u003c");
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            (head(&format!("{name} - report"), &[VIEW_STYLE, STYLE]))
            body {
                header {
                    h1 { (name) }
                    p.verdict data-blocked=(blocked(made)) { (verdict(job, made)) "." }
                }
                main {
                    (view_markup(Some(&scene::picture(made))))
                    (first(made))
                    (handle(job))
                    @for part in made {
                        @for body in &part.bodies {
                            (about(part.kind.name, body, &pins))
                        }
                    }
                    (calculations(made))
                    (sources(made))
                }
                script type="application/json" id="scene" { (PreEscaped(scene)) }
                @for script in VIEW_SCRIPTS { script { (PreEscaped(script.1)) } }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    page.into_string()
}

fn bodies(made: &[Made]) -> impl Iterator<Item = &MadeBody> {
    made.iter().flat_map(|part| &part.bodies)
}

fn blocked(made: &[Made]) -> bool {
    bodies(made).filter_map(|b| b.checked.as_ref()).any(Checked::blocks)
}

/// The findings that have a place, numbered over all bodies.
struct Pins<'a>(Vec<(&'a str, &'a Finding)>);

impl<'a> Pins<'a> {
    /// Errors and warnings; notes have no pin.
    fn new(made: &'a [Made]) -> Pins<'a> {
        let of = |body: &'a MadeBody| {
            let findings = body.checked.iter().flat_map(|c| &c.findings);
            let placed = findings.filter(|f| f.severity > Grade::Note && f.place.point.is_some());
            placed.map(|f| (body.body.name.as_str(), f))
        };
        Pins(bodies(made).flat_map(of).collect())
    }

    fn number(&self, finding: &Finding) -> Option<usize> {
        self.0.iter().position(|(_, f)| std::ptr::eq(*f, finding)).map(|i| i + 1)
    }
}

fn first(made: &[Made]) -> Markup {
    let items = look_first(made);
    html! {
        section {
            h2 { "Look at these first" }
            @if items.is_empty() { p { "Nothing asks for a look." } }
            ul.items {
                @for item in &items {
                    li data-kind=(item.kind.split(' ').next().unwrap_or_default()) {
                        strong { (item.kind) } " " (item.bodies.join(", ")) ": " (item.text)
                    }
                }
            }
        }
    }
}

fn handle(job: &Job) -> Markup {
    let bore = job.handle().bore();
    html! {
        section {
            h2 { "The handle" }
            p { "Bore " (number(bore.smallest())) " to " (number(bore.largest())) " mm as read, sure of "
                (number(bore.sure())) " mm." }
            @if let Some(chassis) = job.chassis() {
                p { "Every part is held against the chassis " (chassis.name()) "." }
            }
            details { summary { "Axes, angles and units" } pre { (FRAME.trim_end()) } }
        }
    }
}

fn about(kind: &str, made: &MadeBody, pins: &Pins<'_>) -> Markup {
    let body = &made.body;
    let size = made.bounds.1 - made.bounds.0;
    let up = body.declared.up.map_or_else(|| "+z".to_owned(), direction);
    html! {
        section id=(format!("body-{}", body.name)) {
            h2 { (body.name) " " small { (kind) } }
            p { (format!("{:.2} x {:.2} x {:.2} mm", size.x, size.y, size.z)) ", "
                (format!("{:.2} g printed solid, z = {:.2} to {:.2} mm", made.mass, made.bounds.0.z, made.bounds.1.z))
                ", printed with " (up) " up." }
            @if let Some((made_up, _)) = &made.made_up { p { (made_up_for(made_up)) } }
            @if !body.messages.is_empty() { (messages(&body.messages)) }
            @if let Some(checked) = &made.checked {
                @if !checked.fits.is_empty() { (fits(&checked.fits)) }
                @if let Some(shown) = &checked.sight { (light(shown)) }
                (checks(checked, pins))
            }
            @if !body.computed.is_empty() {
                details {
                    summary { "Computed sizes" }
                    table {
                        @for c in &body.computed {
                            tr {
                                th scope="row" { (c.what) }
                                td.number { (number((c.value * 1e3).round() / 1e3)) " " (c.unit.symbol()) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn messages(messages: &[Message]) -> Markup {
    let mut sorted: Vec<&Message> = messages.iter().collect();
    sorted.sort_by_key(|m| std::cmp::Reverse(m.severity));
    html! {
        ul.items {
            @for m in sorted {
                li data-kind=(word(m.severity)) {
                    strong { (word(m.severity)) } " " (m.text)
                    @if let Some(hint) = &m.hint { p.hint { (hint) } }
                }
            }
        }
    }
}

/// Every declared gap with a bar of its odds.
fn fits(rows: &[FitRow]) -> Markup {
    let odds = |odds: f64| match 100.0 * odds {
        none if none < 0.05 => "less than 0.1".to_owned(),
        some => format!("{some:.1}"),
    };
    html! {
        h3 { "Fits" }
        table.fits {
            thead { tr {
                th scope="col" { "what meets" } th scope="col" { "gap, mm" }
                th scope="col" { "at worst" } th scope="col" { "odds in 100" }
            } }
            @for row in rows {
                @let (binds, rattles) = (100.0 * row.binds, 100.0 * row.rattles);
                tr {
                    th scope="row" { (row.what) }
                    td.number data-label="gap, mm: " { (format!("{:.2}", row.nominal)) }
                    td.number data-label="at worst: " { (format!("{:.2} to {:.2}", row.worst[0], row.worst[1])) }
                    td {
                        span.odds aria-hidden="true" {
                            span.binds style=(format!("width:{binds:.2}%")) {}
                            span.right style=(format!("width:{:.2}%", (100.0 - binds - rattles).max(0.0))) {}
                            span.rattles style=(format!("width:{rattles:.2}%")) {}
                        }
                        @if row.binds_below.is_some() { "binds " (odds(row.binds)) }
                        @if row.binds_below.is_some() && row.rattles_above.is_some() { ", " }
                        @if row.rattles_above.is_some() { "rattles " (odds(row.rattles)) }
                    }
                }
            }
        }
    }
}

/// What shows of a lamp, and where its light goes.
fn light(shown: &Shown) -> Markup {
    html! {
        h3 { "Light" }
        table {
            @for (what, share) in light_rows(shown) {
                tr {
                    th scope="row" { (what) }
                    td.number { (format!("{:.2} % ({:.2})", share.percent, share.error)) }
                }
            }
        }
        p.hint { "By " (shown.rays) " rays, standard errors in brackets; " (LIGHT_MODEL) "." }
    }
}

/// All findings; those with a pin have its number.
fn checks(checked: &Checked, pins: &Pins<'_>) -> Markup {
    let mut all: Vec<Vec<&Finding>> = groups(&checked.findings).collect();
    all.sort_by_key(|group| std::cmp::Reverse(group[0].severity));
    html! {
        h3 { "Checks" }
        @if let Some(walls) = &checked.walls {
            p {
                @match walls.least {
                    Some(least) => { "Thinnest wall " (format!("{least:.3}")) " mm; " }
                    None => { "No wall below " (number(walls.cap)) " mm; " }
                }
                (format!("{:.1} % of the surface below {} mm.", 100.0 * walls.share_below.max(0.0) + 0.0, number(walls.limit)))
            }
        }
        @if all.is_empty() { p { "Nothing found." } }
        ul.items {
            @for group in &all {
                li data-kind=(group[0].severity.word()) {
                    strong { (kind_of(group[0])) }
                    @for f in group {
                        p {
                            @if let Some(n) = pins.number(f) {
                                button.pin type="button" data-pin=(n) aria-label=(format!("Show place {n}")) { (n) } " "
                            }
                            (f.text)
                        }
                    }
                    @if let Some(from) = &group[0].limit_from { p.hint { "limit: " (from) } }
                    @if let Some(hint) = &group[0].hint { p.hint { "hint: " (hint) } }
                    @if let Some(reason) = &group[0].allowed { p.hint { "allowed: " (reason) } }
                }
            }
        }
    }
}

/// The steps of a calculation with their formulas, the values put in, and the results.
fn worked(calculation: &Calculation) -> Markup {
    let Worked { given, steps, results, source, notes } = &calculation.worked;
    html! {
        @if !given.is_empty() {
            p.hint { "Given: " @for (i, g) in given.iter().enumerate() {
                @if i > 0 { ", " } span title=(g.what) { (g.key) " = " (g.text) }
            } }
        }
        table.steps {
            @for step in steps {
                tr {
                    th scope="row" { (step.what) }
                    td { code { (step.formula) } @if !step.numbers.is_empty() { br; code.put { (step.numbers) } } }
                    td.number { (step.text()) }
                }
            }
            @for result in results {
                tr.result {
                    th scope="row" { (result.what) }
                    td { code { (result.key) } }
                    td.number { (result.text()) }
                }
            }
        }
        @for note in notes { p { (note) } }
        p.hint { "Source: " (source) }
    }
}

fn calculations(made: &[Made]) -> Markup {
    let of = |body: &'_ MadeBody| -> Vec<Calculation> {
        body.body.worked.iter().chain(&body.estimates).cloned().collect()
    };
    html! {
        section {
            h2 { "How the sizes came about" }
            @for body in bodies(made) {
                @for calculation in of(body) {
                    details {
                        summary { (body.body.name) ": " (calculation.about) }
                        (worked(&calculation))
                    }
                }
            }
        }
    }
}

/// Where the limits of the findings are from, each once.
fn sources(made: &[Made]) -> Markup {
    let findings = bodies(made).filter_map(|b| b.checked.as_ref()).flat_map(|c| &c.findings);
    let mut cited: Vec<(&str, &str)> = Vec::new();
    for f in findings {
        if let (Some(from), Some(source)) = (&f.limit_from, &f.limit_source)
            && !cited.contains(&(from.as_str(), source.as_str()))
        {
            cited.push((from, source));
        }
    }
    html! {
        @if !cited.is_empty() {
            section {
                h2 { "Sources of limits" }
                dl { @for (from, source) in cited { dt { (from) } dd { (source) } } }
            }
        }
    }
}
