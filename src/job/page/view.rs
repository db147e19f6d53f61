//! The 3D view that the report and the bench page have in common.

use maud::{Markup, html};

/// Its style, with the colours that the rest of a page takes.
pub(crate) const STYLE: &str = include_str!("view.css");

/// Its scripts by name, in their order: `startView(scene)` draws a scene into the elements of
/// [`markup`] and returns how to show another one.
pub(crate) const SCRIPTS: [(&str, &str); 2] =
    [("drawing.js", include_str!("drawing.js")), ("view.js", include_str!("view.js"))];

/// The 3D view with its controls; a picture where there is no WebGL, and on paper.
pub(crate) fn markup(still: Option<&str>) -> Markup {
    html! {
        section id="view" aria-label="The parts in 3D" {
            div id="stage" class="still" {
                canvas tabindex="0" role="img" aria-describedby="keys"
                    aria-label="Parts in 3D; arrow keys turn, plus and minus zoom" {}
                div id="scale" hidden {
                    p { "wall thickness, mm" }
                    div id="ramp" {}
                    span { "0" } span id="scale-limit" {} span id="scale-cap" {}
                }
                div id="pins" {}
                @if let Some(still) = still { img id="still" src=(still) alt="The parts side by side"; }
            }
            div id="controls" hidden {
                fieldset {
                    legend { "Look from" }
                    @for (key, label) in [
                        ("oblique", "oblique"), ("switches", "switches"), ("side", "side"),
                        ("front", "front"), ("below", "below"),
                    ] {
                        button type="button" data-look=(key) { (label) }
                    }
                }
                fieldset {
                    legend { "Show" }
                    label { input type="checkbox" id="pins-on" checked; " findings" }
                    label { input type="checkbox" id="heat-on"; " wall thickness" }
                    label { input type="checkbox" id="edges-on" checked; " edges" }
                }
                fieldset {
                    legend { "Cut across at z" }
                    label { input type="checkbox" id="cut-on"; " cut" }
                    input type="range" id="cut" aria-label="Where it is cut, mm from the end cap" step="0.1";
                    output id="cut-at" {}
                }
                fieldset id="apart-set" {
                    legend { "Pull apart" }
                    input type="range" id="apart" min="0" max="1" step="0.01" value="0"
                        aria-label="How far the bodies are pulled apart";
                }
                fieldset id="bodies" { legend { "Bodies" } }
                fieldset id="components" { legend { "What belongs to them" } }
            }
            p id="keys" hidden { "Drag to turn, wheel or two fingers to zoom, Shift and drag to move. Keys: \
                           arrows turn, + and - zoom, 0 starts again, c cuts, [ and ] move the cut, \
                           h shows wall thickness, x pulls apart." }
        }
    }
}
