//! The sheet as one page to print.

use maud::{DOCTYPE, Markup, html as markup};

use super::super::page::head;
use super::{Accuracy, Help, Method, Need, Sheet, Slot, sketch};

const STYLE: &str = include_str!("sheet.css");

/// The sheet as a page that needs nothing else.
pub fn html(sheet: &Sheet) -> String {
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            (head(&sheet.title, &[STYLE]))
            body {
                h1 { (sheet.title) }
                @for text in &sheet.intro { p { (text) } }
                @for caution in &sheet.cautions { p.caution { strong { "caution " } (caution) } }
                (methods(sheet))
                @if !sheet.helps.is_empty() { (helps(&sheet.helps)) }
                @for group in &sheet.groups {
                    section {
                        h2 { code { (group.path) } }
                        @if !group.doc.is_empty() { p { (group.doc) } }
                        table.sheet {
                            thead { tr {
                                th scope="col" { "key" } th scope="col" { "what" }
                                th scope="col" { "readings" } th scope="col" { "to write down" }
                            } }
                            @for slot in &group.slots { (row(slot)) }
                        }
                    }
                }
                @if let Some(accuracy) = &sheet.accuracy { (table(accuracy)) }
            }
        }
    };
    page.into_string()
}

/// The drawings of the methods that the sheet uses, with how each is done.
fn methods(sheet: &Sheet) -> Markup {
    let mut used: Vec<Method> =
        sheet.groups.iter().flat_map(|g| &g.slots).map(|slot| slot.method).collect();
    used.sort_unstable();
    used.dedup();
    markup! {
        section.methods {
            @for method in used {
                figure {
                    (sketch::svg(method))
                    figcaption { strong { (method.words()) } ": " (method.advice()) }
                }
            }
        }
    }
}

fn row(slot: &Slot) -> Markup {
    let name = slot.key.rsplit('.').next().unwrap_or(&slot.key);
    markup! {
        tr {
            th scope="row" { code title=(slot.key) { (name) } @if slot.need == Need::Must { " *" } }
            td { (slot.doc) p.hint { (slot.method.words()) "; " (slot.expects) } }
            td.boxes {
                @if slot.readings > 1 { @for _ in 0..slot.readings { span.box {} } }
            }
            td.boxes {
                @if slot.all { "all of them, as a list" } @else {
                    span.box.value data-key=(slot.key) {}
                    " " (slot.unit)
                }
                @if let Need::Given(value) = &slot.need { p.hint { "now " (value) } }
                @if slot.all { span data-key=(slot.key) {} }
            }
        }
    }
}

fn helps(helps: &[Help]) -> Markup {
    markup! {
        section {
            h2 { "What would make the fits surer" }
            p { "Odds in 100 that something binds or rattles, now and with half of the error." }
            table {
                thead { tr {
                    th scope="col" { "measure" } th scope="col" { "off by, mm" }
                    th scope="col" { "gains most" } th scope="col" { "now" } th scope="col" { "then" }
                    th scope="col" { "all gains" }
                } }
                @for Help { field, term, half, gain, most: (body, fit, now, then) } in helps {
                    tr {
                        th scope="row" { code { (field) } p.hint { (term) } }
                        td { (format!("{half:.3}")) }
                        td { (body) ": " (fit) }
                        td { (format!("{:.1}", 100.0 * now)) }
                        td { (format!("{:.1}", 100.0 * then)) }
                        td { (format!("{:.1}", 100.0 * gain)) }
                    }
                }
            }
        }
    }
}

fn table(accuracy: &Accuracy) -> Markup {
    markup! {
        section {
            h2 { "How the caliper's error changes the fit" }
            p { (accuracy.about()) }
            table {
                thead { tr {
                    th scope="col" { "error, mm" } th scope="col" { "gap drawn, mm" }
                    th scope="col" { "at worst, mm" } th scope="col" { "binds, in 100" }
                    th scope="col" { "rattles, in 100" }
                } }
                @for row in &accuracy.rows {
                    tr {
                        th scope="row" { (row.error) @if row.own { " (yours)" } }
                        td { (format!("{:.2}", row.gap)) }
                        td { (format!("{:.2} to {:.2}", row.worst[0], row.worst[1])) }
                        td { (format!("{:.1}", 100.0 * row.binds)) }
                        td { (format!("{:.1}", 100.0 * row.rattles)) }
                    }
                }
            }
        }
    }
}
