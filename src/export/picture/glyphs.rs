//! The scale bar and labels, drawn as strokes.

use super::SAMPLES;
use super::edges::Line;
use crate::measure::Vec3;

/// Cap height of the label, pixels per pixel of picture height.
const CAP_HEIGHT: f64 = 0.021;

/// Least cap height, pixels.
const MIN_CAP: f64 = 9.0;

/// Stroke width as a share of the cap height.
const STROKE: f64 = 0.14;

/// The bar is at most this share of the picture's width.
const MAX_BAR: f64 = 0.16;

/// Polylines of a character on a grid 4 wide and 6 high, y upwards, and its
/// advance.
fn glyph(c: char) -> (&'static [&'static [(u8, u8)]], f64) {
    match c {
        '0' => (&[&[(1, 0), (0, 1), (0, 5), (1, 6), (3, 6), (4, 5), (4, 1), (3, 0), (1, 0)]], 5.6),
        '1' => (&[&[(1, 5), (2, 6), (2, 0)], &[(1, 0), (3, 0)]], 5.0),
        '2' => (&[&[(0, 5), (1, 6), (3, 6), (4, 5), (4, 4), (0, 0), (4, 0)]], 5.6),
        '5' => (&[&[(4, 6), (0, 6), (0, 3), (3, 3), (4, 2), (4, 1), (3, 0), (1, 0), (0, 1)]], 5.6),
        '3' => (
            &[
                &[
                    (0, 5),
                    (1, 6),
                    (3, 6),
                    (4, 5),
                    (4, 4),
                    (3, 3),
                    (4, 2),
                    (4, 1),
                    (3, 0),
                    (1, 0),
                    (0, 1),
                ],
                &[(2, 3), (3, 3)],
            ],
            5.6,
        ),
        '4' => (&[&[(3, 0), (3, 6), (0, 2), (4, 2)]], 5.6),
        '6' => (
            &[&[
                (4, 5),
                (3, 6),
                (1, 6),
                (0, 5),
                (0, 1),
                (1, 0),
                (3, 0),
                (4, 1),
                (4, 2),
                (3, 3),
                (0, 3),
            ]],
            5.6,
        ),
        '7' => (&[&[(0, 6), (4, 6), (1, 0)]], 5.6),
        '8' => (
            &[
                &[(1, 3), (0, 4), (0, 5), (1, 6), (3, 6), (4, 5), (4, 4), (3, 3), (1, 3), (0, 2)],
                &[(0, 2), (0, 1), (1, 0), (3, 0), (4, 1), (4, 2), (3, 3)],
            ],
            5.6,
        ),
        '9' => (
            &[&[
                (4, 3),
                (1, 3),
                (0, 4),
                (0, 5),
                (1, 6),
                (3, 6),
                (4, 5),
                (4, 1),
                (3, 0),
                (1, 0),
                (0, 1),
            ]],
            5.6,
        ),
        'A' => (&[&[(0, 0), (2, 6), (4, 0)], &[(1, 2), (3, 2)]], 5.6),
        'B' => (
            &[
                &[(0, 0), (0, 6), (3, 6), (4, 5), (4, 4), (3, 3), (0, 3)],
                &[(3, 3), (4, 2), (4, 1), (3, 0), (0, 0)],
            ],
            5.6,
        ),
        'C' => (&[&[(4, 5), (3, 6), (1, 6), (0, 5), (0, 1), (1, 0), (3, 0), (4, 1)]], 5.6),
        'D' => (&[&[(0, 0), (0, 6), (3, 6), (4, 5), (4, 1), (3, 0), (0, 0)]], 5.6),
        'E' => (&[&[(4, 6), (0, 6), (0, 0), (4, 0)], &[(0, 3), (3, 3)]], 5.6),
        'F' => (&[&[(4, 6), (0, 6), (0, 0)], &[(0, 3), (3, 3)]], 5.4),
        'G' => (
            &[&[(4, 5), (3, 6), (1, 6), (0, 5), (0, 1), (1, 0), (3, 0), (4, 1), (4, 3), (2, 3)]],
            5.6,
        ),
        'H' => (&[&[(0, 0), (0, 6)], &[(4, 0), (4, 6)], &[(0, 3), (4, 3)]], 5.6),
        'I' => (&[&[(1, 0), (1, 6)]], 3.2),
        'J' => (&[&[(0, 1), (1, 0), (2, 0), (3, 1), (3, 6)]], 4.8),
        'K' => (&[&[(0, 0), (0, 6)], &[(4, 6), (0, 2)], &[(1, 3), (4, 0)]], 5.6),
        'L' => (&[&[(0, 6), (0, 0), (4, 0)]], 5.4),
        'M' => (&[&[(0, 0), (0, 6), (2, 3), (4, 6), (4, 0)]], 5.8),
        'N' => (&[&[(0, 0), (0, 6), (4, 0), (4, 6)]], 5.6),
        'O' => (&[&[(1, 0), (0, 1), (0, 5), (1, 6), (3, 6), (4, 5), (4, 1), (3, 0), (1, 0)]], 5.6),
        'P' => (&[&[(0, 0), (0, 6), (3, 6), (4, 5), (4, 4), (3, 3), (0, 3)]], 5.6),
        'Q' => (
            &[
                &[(1, 0), (0, 1), (0, 5), (1, 6), (3, 6), (4, 5), (4, 1), (3, 0), (1, 0)],
                &[(2, 2), (4, 0)],
            ],
            5.6,
        ),
        'R' => {
            (&[&[(0, 0), (0, 6), (3, 6), (4, 5), (4, 4), (3, 3), (0, 3)], &[(2, 3), (4, 0)]], 5.6)
        }
        'S' => (
            &[&[
                (4, 5),
                (3, 6),
                (1, 6),
                (0, 5),
                (0, 4),
                (1, 3),
                (3, 3),
                (4, 2),
                (4, 1),
                (3, 0),
                (1, 0),
                (0, 1),
            ]],
            5.6,
        ),
        'T' => (&[&[(0, 6), (4, 6)], &[(2, 6), (2, 0)]], 5.6),
        'U' => (&[&[(0, 6), (0, 1), (1, 0), (3, 0), (4, 1), (4, 6)]], 5.6),
        'V' => (&[&[(0, 6), (2, 0), (4, 6)]], 5.6),
        'W' => (&[&[(0, 6), (1, 0), (2, 4), (3, 0), (4, 6)]], 5.8),
        'X' => (&[&[(0, 0), (4, 6)], &[(0, 6), (4, 0)]], 5.6),
        'Y' => (&[&[(0, 6), (2, 3), (4, 6)], &[(2, 3), (2, 0)]], 5.6),
        'Z' => (&[&[(0, 6), (4, 6), (0, 0), (4, 0)]], 5.6),
        '-' => (&[&[(0, 3), (3, 3)]], 4.6),
        '_' => (&[&[(0, 0), (4, 0)]], 5.2),
        '.' => (&[&[(1, 0), (1, 0)]], 2.6),
        'm' => (
            &[
                &[(0, 0), (0, 4)],
                &[(0, 3), (1, 4), (2, 4), (3, 3), (3, 0)],
                &[(3, 3), (4, 4), (5, 4), (6, 3), (6, 0)],
            ],
            7.6,
        ),
        _ => (&[], 3.0),
    }
}

/// A bar of 1, 2 or 5 times a power of ten mm at the lower left, with its
/// length written beside it; `mm` is the length of a sample.
pub(super) fn scale_bar(width: usize, height: usize, mm: f64) -> Vec<Line> {
    let samples = SAMPLES as f64;
    let Some((length, label)) = bar_length(MAX_BAR * width as f64 * samples * mm) else {
        return Vec::new();
    };
    let cap = cap_height(height);
    let stroke = STROKE * cap;
    // On whole samples, so that strokes of one width look alike.
    let at = |x: f64, y: f64| Vec3::new((x * samples).round(), (y * samples).round(), 0.0);
    let (x, y) = (1.6 * cap, height as f64 - 1.6 * cap);
    let long = length / (mm * samples);
    let mut out = vec![
        Line::new(at(x, y), at(x + long, y), stroke),
        Line::new(at(x, y - 0.5 * cap), at(x, y + 0.5 * cap), stroke),
        Line::new(at(x + long, y - 0.5 * cap), at(x + long, y + 0.5 * cap), stroke),
    ];
    out.extend(written(label, x + long + cap, y, cap));
    out
}

/// Cap height for a picture of so many pixels, pixels.
pub(super) fn cap_height(height: usize) -> f64 {
    (CAP_HEIGHT * height as f64).max(MIN_CAP)
}

/// A text on a line, from a pen's place and with its middle at `y`, pixels.
fn written(text: &str, pen: f64, y: f64, cap: f64) -> Vec<Line> {
    let samples = SAMPLES as f64;
    let at = |x: f64, y: f64| Vec3::new((x * samples).round(), (y * samples).round(), 0.0);
    let (unit, stroke) = (cap / 6.0, STROKE * cap);
    let mut pen = pen;
    let mut out = Vec::new();
    for c in text.chars() {
        let (polylines, advance) = glyph(c);
        for polyline in polylines {
            for w in polyline.windows(2) {
                let place = |(u, v): (u8, u8)| {
                    at(pen + unit * f64::from(u), y + unit * (3.0 - f64::from(v)))
                };
                out.push(Line::new(place(w[0]), place(w[1]), stroke));
            }
        }
        pen += unit * advance;
    }
    out
}

/// A text with its middle at a place, pixels.
pub(super) fn centred(text: &str, x: f64, y: f64, cap: f64) -> Vec<Line> {
    let wide: f64 = text.chars().map(|c| glyph(c).1 * cap / 6.0).sum();
    written(text, x - 0.5 * wide, y, cap)
}

/// Share of the scale bar's letters that those of labels have.
const LABEL_CAP: f64 = 1.25;

/// A label with its middle at a place, in samples, and a line to another.
pub(super) fn label(text: &str, at: Vec3, tick: Option<Vec3>, height: usize) -> Vec<Line> {
    let cap = LABEL_CAP * cap_height(height);
    let text = text.to_ascii_uppercase();
    let mut out = centred(&text, at.x / SAMPLES as f64, at.y / SAMPLES as f64, cap);
    if let Some(tick) = tick {
        // From below the letters, or above them, whichever is nearer.
        let side = (tick.y - at.y).signum() * cap * SAMPLES as f64;
        let from = Vec3::new(at.x, at.y + side, 0.0);
        out.push(Line::new(from, Vec3::new(tick.x, tick.y, 0.0), STROKE * cap));
    }
    out
}

/// The longest of 0.1, 0.2, 0.5, 1 ... 500 mm that is not over `most`.
fn bar_length(most: f64) -> Option<(f64, &'static str)> {
    const LENGTHS: [(f64, &str); 12] = [
        (500.0, "500 mm"),
        (200.0, "200 mm"),
        (100.0, "100 mm"),
        (50.0, "50 mm"),
        (20.0, "20 mm"),
        (10.0, "10 mm"),
        (5.0, "5 mm"),
        (2.0, "2 mm"),
        (1.0, "1 mm"),
        (0.5, "0.5 mm"),
        (0.2, "0.2 mm"),
        (0.1, "0.1 mm"),
    ];
    LENGTHS.into_iter().find(|l| l.0 <= most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_round_lengths_with_drawn_labels() {
        assert_eq!(bar_length(27.0), Some((20.0, "20 mm")));
        assert_eq!(bar_length(0.05), None);
        for most in [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0] {
            let (length, label) = bar_length(most).unwrap();
            assert_eq!(label, format!("{length} mm"));
            assert!(label.chars().all(|c| c == ' ' || !glyph(c).0.is_empty()), "{label}");
        }
    }
}
