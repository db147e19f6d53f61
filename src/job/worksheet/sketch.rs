//! Where the caliper goes, as drawings of a few lines.

use maud::{Markup, html};

use super::Method;

/// Every method that has a drawing, with its drawing as inline SVG.
pub(crate) fn sketches() -> impl Iterator<Item = (Method, String)> {
    let drawn = [Method::Inside, Method::Outside, Method::Depth, Method::Along, Method::Angle];
    drawn.into_iter().map(|method| (method, svg(method).into_string()))
}

/// Closed shapes of the thing measured, of the caliper, and the line of the size: paths of
/// a drawing 150 wide and 90 high, y downwards.
struct Sketch {
    thing: &'static str,
    caliper: &'static str,
    size: &'static str,
}

/// The drawing of a method, if it has one.
fn sketch(method: Method) -> Option<Sketch> {
    Some(match method {
        Method::Inside => Sketch {
            thing: "M20 18H130V26H20Z M20 64H130V72H20Z",
            caliper: "M62 28H70V62H62Z M70 41H140V49H70Z M62 28L70 34M62 62L70 56",
            size: "M44 26V64M41 30L44 26L47 30M41 60L44 64L47 60",
        },
        Method::Outside => Sketch {
            thing: "M58 34H96V72H58Z",
            caliper: "M20 10H140V22H20Z M48 22H58V62L52 54H48Z M96 22H106V54H102L96 62Z",
            size: "M58 82H96M62 79L58 82L62 85M92 79L96 82L92 85",
        },
        Method::Depth => Sketch {
            thing: "M24 34H62V76H90V34H128V84H24Z",
            caliper: "M58 6H94V34H58Z M73 34H79V76H73Z",
            size: "M110 34M102 36V76M99 40L102 36L105 40M99 72L102 76L105 72",
        },
        Method::Along => Sketch {
            thing: "M14 30H24V70H14Z M24 34H140V42H24Z M24 58H140V66H24Z",
            caliper: "M88 28V24H96V28L92 34Z",
            size: "M24 78H92M28 75L24 78L28 81M88 75L92 78L88 81M24 66V84M92 42V84",
        },
        Method::Angle => Sketch {
            thing: "M75 10A35 35 0 1 1 74.9 10Z M75 18A27 27 0 1 1 74.9 18Z",
            caliper: "M71 4H79V18H71Z",
            size: "M75 45V14M75 45L53 23M75 24A21 21 0 0 0 60 30M62 26L60 30L65 31",
        },
        Method::Sheet | Method::Word | Method::Judge => return None,
    })
}

/// The drawing of a method as inline SVG.
pub(super) fn svg(method: Method) -> Markup {
    let Some(Sketch { thing, caliper, size }) = sketch(method) else { return html! {} };
    html! {
        svg viewBox="0 0 150 90" role="img" aria-label=(method.words()) {
            path.thing d=(thing) fill-rule="evenodd" {}
            path.caliper d=(caliper) {}
            path.size d=(size) {}
        }
    }
}
