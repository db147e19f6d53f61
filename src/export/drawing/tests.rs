use super::join::{Stroke, joined};
use super::*;
use crate::measure::{Vec2, Vec3};
use crate::section::Region;
use crate::solid::{Solid, Stack};

/// A block of 20 x 10 x 30 mm along z with a pocket 6 mm wide and 4 deep in its upper side,
/// from z = 5 to 15.
fn pocketed() -> Solid {
    let block = Region::rectangle(Vec2::new(-10.0, 0.0), Vec2::new(10.0, 10.0));
    let pocket = Region::rectangle(Vec2::new(-3.0, 6.0), Vec2::new(3.0, 12.0));
    let mut stack = Stack::default();
    stack.prism(0.0, 5.0, &block);
    stack.prism(5.0, 15.0, &block.difference(&pocket));
    stack.prism(15.0, 30.0, &block);
    stack.solid().expect("a plain block")
}

fn view(solid: &Solid, eye: Eye, cut: Option<f64>) -> ViewLines {
    let mesh = line_mesh(solid).expect("it meshes");
    view_lines(solid, &mesh, &eye, cut)
}

#[track_caller]
fn near(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-6, "{found} instead of {wanted}");
}

/// From the side, z to the right.
fn side() -> Eye {
    Eye::new(Vec3::z(), Vec3::y())
}

#[test]
fn a_pocket_is_hidden_from_the_side_and_seen_from_above() {
    let solid = pocketed();
    let lines = view(&solid, side(), None);
    // The outline, where the pocket's mouth lies in the upper edge.
    near(ViewLines::length(&lines.seen), 2.0 * (30.0 + 10.0));
    // Its two ends and its floor, each once though there are two of each behind one another.
    near(ViewLines::length(&lines.hidden), 4.0 + 4.0 + 10.0);
    let above = view(&solid, Eye::new(Vec3::z(), Vec3::x()), None);
    near(above.eye().toward().dot(&Vec3::y()), 1.0);
    near(ViewLines::length(&above.seen), 2.0 * (30.0 + 20.0) + 2.0 * (10.0 + 6.0));
    near(ViewLines::length(&above.hidden), 0.0);
    let below = view(&solid, Eye::new(Vec3::z(), -Vec3::x()), None);
    near(ViewLines::length(&below.hidden), 2.0 * (10.0 + 6.0));
    let inside = Vec3::new(0.0, 8.0, 10.0);
    assert!(above.sees(inside) && !below.sees(inside) && !lines.sees(inside));
}

#[test]
fn a_section_shows_what_is_behind_it_and_hatches_what_it_cuts() {
    let lines = view(&pocketed(), side(), Some(0.0));
    near(ViewLines::length(&lines.cut), 2.0 * (30.0 + 10.0) + 2.0 * 4.0);
    assert_eq!(lines.cut.len(), 1, "one closed outline");
    // The pocket's mouth on the far side, in front of nothing.
    near(ViewLines::length(&lines.seen), 10.0);
    assert!(lines.hidden.is_empty());
    let spacing = 0.1;
    let hatched: f64 = lines.hatched(spacing).iter().map(|[a, b]| (b - a).norm()).sum();
    let area = 30.0 * 10.0 - 10.0 * 4.0;
    assert!((hatched * spacing / area - 1.0).abs() < 0.01, "{}", hatched * spacing);
    assert!(lines.sees(Vec3::new(1.0, 8.0, 10.0)), "behind the cut");
    assert!(!lines.sees(Vec3::new(-1.0, 8.0, 10.0)), "taken away");
}

#[test]
fn round_edges_stay_round_and_have_one_axis() {
    let disc = |radius: f64| Region::disc(Vec2::zeros(), radius);
    let mut stack = Stack::default();
    stack.prism(0.0, 12.0, &disc(9.0).difference(&disc(4.0)));
    let solid = stack.solid().expect("a ring");
    let end = view(&solid, Eye::new(Vec3::x(), Vec3::y()), None);
    let around = std::f64::consts::TAU * (9.0 + 4.0);
    assert!((ViewLines::length(&end.seen) / around - 1.0).abs() < 1e-3);
    assert_eq!((end.seen.len(), end.hidden.len()), (2, 0), "the other end lies behind");
    let beside = view(&solid, side(), None);
    // The hole's two outlines, hidden.
    near(ViewLines::length(&beside.hidden), 24.0);
    let [axis] = round_axes(&solid)[..] else { panic!("one axis") };
    assert_eq!((axis.half, axis.radius, axis.along), (6.0, 9.0, Vec3::z()));
    near((axis.at - Vec3::z() * 6.0).norm(), 0.0);
}

#[test]
fn pieces_are_drawn_once_and_what_is_covered_is_not() {
    let stroke = |a: f64, b: f64| Stroke::new(Vec2::new(a, 1.0), Vec2::new(b, 1.0));
    let corner = Stroke::new(Vec2::new(7.0, 1.0), Vec2::new(7.0, 3.0));
    let runs = joined(&[stroke(0.0, 4.0), stroke(7.0, 3.0), corner], &[stroke(1.0, 2.0)]);
    let ends: Vec<(f64, f64)> = runs.iter().map(|run| (run[0].x, run[run.len() - 1].y)).collect();
    assert_eq!(runs.len(), 2, "{runs:?}");
    assert_eq!(ends, [(0.0, 1.0), (2.0, 3.0)], "before the gap, and after it round the corner");
    near(ViewLines::length(&runs), 1.0 + 5.0 + 2.0);
}

#[test]
fn dimensions_never_lie_on_one_another() {
    let body = Extent { low: Vec2::new(0.0, 0.0), high: Vec2::new(40.0, 25.0) };
    let mut random = fastrand::Rng::with_seed(7);
    let (mut wanted, mut found) = (0, 0);
    for _ in 0..200 {
        let count = random.usize(1..12);
        let dimensions: Vec<Dimension> = (0..count)
            .map(|i| {
                let mut end = || Vec2::new(random.f64() * 40.0, random.f64() * 25.0);
                let ends = [end(), end()];
                let way = if i % 2 == 0 { Way::Level } else { Way::Upright };
                let value = (ends[1] - ends[0]).norm();
                let text = format!("Ø{value:.2} ±0.15");
                Dimension { key: format!("d{i}"), what: String::new(), value, text, ends, way }
            })
            .collect();
        let placed = place(&dimensions, &body);
        let texts: Vec<Extent> = placed
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Text(text) => Some(text.extent()),
                _ => None,
            })
            .collect();
        assert_eq!(texts.len() + placed.left.len(), count);
        (wanted, found) = (wanted + count, found + texts.len());
        for (i, text) in texts.iter().enumerate() {
            assert!(!text.meets(&body), "{text:?} lies on the body");
            assert!(texts[..i].iter().all(|other| !other.meets(text)), "{text:?}");
            let crossed = placed.items.iter().any(|item| match item {
                Item::Line { points, .. } => Extent::around(points.iter().copied())
                    .is_some_and(|l| l.grown(0.01).meets(text)),
                _ => false,
            });
            assert!(!crossed, "a line runs through {text:?}");
        }
    }
    // Few drawings crowd a dozen into so small a view.
    assert!(4 * found > 3 * wanted, "{found} of {wanted} found room");
}

#[test]
fn texts_are_as_long_as_their_font_makes_them() {
    // 31.15: four figures of 556 and a point of 278, in a font of 10 mm.
    near(text_width("31.15", 7.18, false), 10.0 * (4.0 * 0.556 + 0.278));
    near(text_width("Ø", 7.18, false), 7.78);
    assert!(text_width("mast", 2.5, true) > text_width("mast", 2.5, false));
    assert_eq!(unprintable("Größe Ø31 ±0.2 – 5 €"), Vec::<char>::new());
    assert_eq!(unprintable("жезл ж"), vec!['е', 'ж', 'з', 'л']);
}

#[test]
fn files_are_the_same_twice_and_texts_cannot_break_them() {
    let text = Text::new(Vec2::new(10.0, 20.0), 2.5, "a < b & \"c\" \u{1b}[31m (\\)")
        .with("what", "\"/><script>");
    let sheet = Sheet {
        width: 297.0,
        height: 210.0,
        title: "a <b>".into(),
        group: LineGroup::Half,
        items: vec![Item::line(Pen::Hidden, Vec2::zeros(), Vec2::new(5.0, 5.0)), Item::Text(text)],
    };
    let drawn = svg(&sheet);
    assert_eq!(drawn, svg(&sheet));
    assert!(drawn.contains("data-what=\"&quot;/&gt;&lt;script&gt;\""), "{drawn}");
    assert!(drawn.contains(">a &lt; b &amp; &quot;c&quot; [31m (\\)<"), "{drawn}");
    let one = pdf(std::slice::from_ref(&sheet), "t");
    assert_eq!(one, pdf(std::slice::from_ref(&sheet), "t"));
    assert!(one.starts_with(b"%PDF-1.7") && one.ends_with(b"%%EOF"), "its ends");
    let two = pdf(&[sheet.clone(), sheet], "t");
    let pages = |bytes: &[u8]| bytes.windows(11).filter(|w| w == b"/Type /Page").count();
    assert_eq!((pages(&one), pages(&two)), (2, 3), "the tree of pages, and each page");
}

/// The texts of a PDF's pages, read back from their packed streams.
fn written(pdf: &[u8]) -> String {
    use std::io::Read;
    let find = |from: usize, what: &[u8]| {
        pdf[from..].windows(what.len()).position(|w| w == what).map(|at| from + at)
    };
    let (mut out, mut at) = (Vec::new(), 0);
    while let Some(start) = find(at, b"stream\n") {
        let end = find(start, b"\nendstream").expect("it ends");
        flate2::read::ZlibDecoder::new(&pdf[start + 7..end]).read_to_end(&mut out).expect("packed");
        at = end + 10;
    }
    out.iter().map(|byte| char::from(*byte)).collect()
}

#[test]
fn the_pdf_has_the_texts_and_lines_of_the_sheet() {
    let at = Vec2::new(30.0, 40.0);
    let up = Text::new(at, 2.5, "Ø31.15").upwards().anchored(Anchor::Middle);
    let sheet = Sheet {
        width: 100.0,
        height: 80.0,
        title: "t".into(),
        group: LineGroup::Third,
        items: vec![
            Item::line(Pen::Hidden, Vec2::new(1.0, 2.0), Vec2::new(3.5, 4.0)),
            Item::Text(Text::new(at, 2.5, "жезл 5")),
            Item::Text(up.clone()),
        ],
    };
    let text = written(&pdf(std::slice::from_ref(&sheet), "t"));
    for part in ["0.18 w", "[3 0.75] 0 d", "1 2 m", "3.5 4 l", "(???? 5) Tj"] {
        assert!(text.contains(part), "{part} in {text}");
    }
    // A turned text starts half its length below its middle.
    let start = up.start();
    near(start.y, 40.0 + 0.5 * up.width());
    let turned =
        text.lines().find_map(|line| line.strip_prefix("0 -1 -1 0 30 ")?.strip_suffix(" Tm"));
    let turned: f64 = turned.expect("a turned text").parse().expect("a number");
    assert!((turned - start.y).abs() < 1e-3, "{turned}, not {}", start.y);
}
