//! The scale of wall thickness: a bar of its colours at the lower right.

use super::Scale;
use super::glyphs::cap_height;

/// Length of the bar as a share of the picture's width.
const LENGTH: f64 = 0.22;

/// The bar, pixels: left, right (not in it), top and bottom (not in it).
fn bar(width: usize, height: usize) -> (usize, usize, usize, usize) {
    let cap = cap_height(height);
    let right = (width as f64 - 3.2 * cap).max(1.0);
    let bottom = (height as f64 - 2.6 * cap).max(1.0);
    let left = (right - LENGTH * width as f64).max(0.0);
    (left as usize, right as usize, (bottom - 0.9 * cap).max(0.0) as usize, bottom as usize)
}

/// Paints the bar over pixels, RGB.
pub(super) fn paint(scale: &Scale, pixels: &mut [u8], width: usize, height: usize) {
    let (left, right, top, bottom) = bar(width, height);
    let long = (right - left).max(1) as f64;
    for y in top..bottom.min(height) {
        for x in left..right.min(width) {
            let thickness = scale.cap * ((x - left) as f64 + 0.5) / long;
            pixels[3 * (y * width + x)..][..3].copy_from_slice(&scale.colour(thickness));
        }
    }
}

/// The words below the bar: their middles, pixels.
pub(super) fn words(scale: &Scale, width: usize, height: usize) -> Vec<(String, f64, f64)> {
    let (left, right, _, bottom) = bar(width, height);
    let y = bottom as f64 + 1.3 * cap_height(height);
    let at = |thickness: f64| left as f64 + (right - left) as f64 * thickness / scale.cap;
    let word = |thickness: f64, after: &str| {
        (format!("{}{after}", crate::measure::number(thickness)), at(thickness), y)
    };
    vec![word(0.0, ""), word(scale.limit, ""), word(scale.cap, " mm")]
}
