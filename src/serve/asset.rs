//! The page's own files, compiled in.

use maud::{DOCTYPE, PreEscaped, html};

use crate::job::worksheet::sketches;
use crate::job::{VIEW_SCRIPTS, VIEW_STYLE, view_markup};

const STYLE: &str = include_str!("page/bench.css");

/// The page's own scripts by name, in their order, after those of the viewer.
const SCRIPTS: [(&str, &str); 5] = [
    ("texts.js", include_str!("page/texts.js")),
    ("form.js", include_str!("page/form.js")),
    ("folder.js", include_str!("page/folder.js")),
    ("saving.js", include_str!("page/saving.js")),
    ("bench.js", include_str!("page/bench.js")),
];

const SCRIPT_TYPE: &str = "text/javascript; charset=utf-8";
const STYLE_TYPE: &str = "text/css; charset=utf-8";

/// A file of the page by its path, with its content type.
pub(super) fn file(path: &str) -> Option<(&'static str, String)> {
    match path {
        "" => Some(("text/html; charset=utf-8", page())),
        "bench.css" => Some((STYLE_TYPE, [VIEW_STYLE, STYLE].concat())),
        _ => {
            let script = scripts().find(|(name, _)| *name == path);
            script.map(|(_, script)| (SCRIPT_TYPE, script.to_owned()))
        }
    }
}

/// All scripts by name, in their order.
fn scripts() -> impl Iterator<Item = (&'static str, &'static str)> {
    VIEW_SCRIPTS.into_iter().chain(SCRIPTS)
}

/// The page's skeleton: left to right as the work goes. Its words are in
/// `texts.js`, put in by the elements' `data-text`.
fn page() -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "borewright" }
                link rel="icon" href="data:,";
                link rel="stylesheet" href="bench.css";
                @for (script, _) in scripts() {
                    script src=(script) defer {}
                }
            }
            body {
                a.skip href="#result" data-text="skip" {}
                header {
                    h1 { span #job-name {} }
                    p #state role="status" aria-live="polite" {}
                    nav aria-label="Job" {
                        button type="button" id="undo" data-text="undo" {}
                        button type="button" id="redo" data-text="redo" {}
                        button type="button" id="save" data-text="save" {}
                        button type="button" id="save-as" data-text="saveAs" {}
                        button type="button" id="jobs" data-text="jobs" aria-haspopup="dialog" {}
                    }
                }
                main {
                    section id="handle" aria-labelledby="handle-title" {
                        h2 id="handle-title" data-text="handleTitle" {}
                        (axes())
                        div.form {}
                    }
                    section id="print" aria-labelledby="print-title" {
                        h2 id="print-title" data-text="printTitle" {}
                        div.form {}
                        div id="more" { div.form {} }
                    }
                    section id="parts" aria-labelledby="parts-title" {
                        h2 id="parts-title" data-text="partsTitle" {}
                        div.tabs role="tablist" id="part-tabs" aria-labelledby="parts-title" {}
                        div.form role="tabpanel" id="part-form" {}
                        div id="add-part" {}
                    }
                    section id="result" aria-labelledby="result-title" tabindex="-1" {
                        h2 id="result-title" data-text="resultTitle" {}
                        p id="verdict" role="status" {}
                        div id="faults" aria-live="polite" {}
                        (view_markup(None))
                        div id="shown" {}
                        div id="findings" aria-live="polite" {}
                        div id="outputs" {}
                    }
                }
                div id="measuring" hidden {
                    @for (method, drawing) in sketches() {
                        figure data-method=(method.words()) hidden {
                            (PreEscaped(drawing))
                            figcaption { b { (method.words()) } ". " (method.advice()) }
                        }
                    }
                }
                dialog id="dialog" aria-labelledby="dialog-title" {
                    h2 id="dialog-title" {}
                    div id="dialog-body" {}
                    p.row { button type="button" id="dialog-close" data-text="close" {} }
                }
                div id="drop" hidden { p data-text="drop" {} }
                noscript { "This page needs JavaScript." }
            }
        }
    };
    page.into_string()
}

/// The axes of the handle as a picture; the text beside it says the same.
fn axes() -> maud::Markup {
    html! {
        figure.axes {
            svg viewBox="0 0 320 96" role="img" aria-labelledby="axes-text" {
                rect.tube x="20" y="30" width="270" height="36" rx="2" {}
                line.axis x1="8" y1="48" x2="312" y2="48" {}
                path.axis d="M312 48l-8-4v8z" {}
                rect.cap x="12" y="28" width="8" height="40" {}
                line.axis x1="200" y1="48" x2="200" y2="8" {}
                path.axis d="M200 8l-4 8h8z" {}
                circle.plunger cx="180" cy="28" r="3" {}
                circle.plunger cx="220" cy="28" r="3" {}
                rect.keel x="40" y="60" width="220" height="4" {}
                text x="10" y="88" data-text="axisCap" {}
                text x="282" y="88" text-anchor="end" data-text="axisFront" {}
                text x="300" y="42" { "z" }
                text x="206" y="16" data-text="axisSwitches" {}
                text x="150" y="88" data-text="axisKeel" {}
            }
            figcaption id="axes-text" data-text="axes" {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXTS: &str = "texts.js";

    /// The page's own scripts, but for the texts.
    fn own() -> impl Iterator<Item = (&'static str, &'static str)> {
        SCRIPTS.into_iter().filter(|(name, _)| *name != TEXTS)
    }

    /// Keys of texts that the page and its scripts ask for.
    fn asked() -> Vec<String> {
        let mut out = Vec::new();
        let said = own().map(|(_, script)| (script.to_owned(), "say(\""));
        for (text, start) in said.chain([(page(), "data-text=\"")]) {
            let keys = text.split(start).skip(1).filter_map(|rest| rest.split_once('"'));
            out.extend(keys.map(|(key, _)| key.to_owned()));
        }
        out
    }

    #[test]
    fn every_text_is_there_and_none_is_needless() {
        let (_, texts) = SCRIPTS.into_iter().find(|(name, _)| *name == TEXTS).expect("there");
        let lines = texts.lines().map(str::trim);
        let known: Vec<&str> = lines
            .filter_map(|line| line.split_once(": ").map(|(key, _)| key))
            .filter(|key| !key.is_empty() && key.chars().all(|c| c.is_ascii_alphanumeric()))
            .collect();
        let asked = asked();
        for key in &asked {
            assert!(known.contains(&key.as_str()), "texts.js has no {key}");
        }
        for key in known {
            // Some keys are chosen before they are said.
            let chosen = own().any(|(_, script)| script.contains(&format!("\"{key}\"")));
            assert!(chosen || asked.iter().any(|a| a == key), "nothing says {key}");
        }
    }

    #[test]
    fn nothing_in_the_page_breaks_its_own_policy() {
        let page = page();
        for bad in [" style=", "<style", " onclick=", "http:", "https:", "<script>"] {
            assert!(!page.contains(bad), "{bad}");
        }
        for (_, script) in scripts() {
            for bad in ["innerHTML", "eval(", "https:", "document.write", "setAttribute(\"style\""]
            {
                assert!(!script.contains(bad), "{bad}");
            }
        }
    }
}
