//! Screenshots made small, and how far two of them are apart.

use std::fmt;
use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::Path;

/// Width of what is kept, pixels: shapes and colours show, the edges' smoothing does not.
const WIDTH: u32 = 88;

/// Mean difference of a channel, of 255, that drivers and versions may bring.
const MEAN: f64 = 1.5;

/// A pixel that differs by more than this, of 255, is another one.
const OTHER: u8 = 28;

/// Share of pixels that may be others.
const OTHERS: f64 = 0.006;

/// A picture of 8 bits RGB.
#[derive(Debug, PartialEq)]
pub struct Picture {
    width: u32,
    height: u32,
    pixels: Vec<u8>,
}

/// How far two pictures of one size are apart.
pub struct Difference {
    mean: f64,
    others: f64,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "mean {:.2} of 255, {:.2} % other pixels", self.mean, 100.0 * self.others)
    }
}

/// Reads a PNG of 8 bits; what is clear in it is left as it is.
pub fn read(path: &Path) -> Picture {
    let file = File::open(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let mut reader = png::Decoder::new(BufReader::new(file)).read_info().expect("a PNG");
    let mut bytes = vec![0; reader.output_buffer_size().expect("a size")];
    let info = reader.next_frame(&mut bytes).expect("a frame");
    assert_eq!(info.bit_depth, png::BitDepth::Eight);
    let samples = info.color_type.samples();
    assert!(samples >= 3, "a picture in colour");
    let pixels = bytes.chunks(samples).flat_map(|p| [p[0], p[1], p[2]]).collect();
    Picture { width: info.width, height: info.height, pixels }
}

/// A screenshot at the size that is kept: means over the boxes of its pixels.
pub fn small(path: &Path) -> Picture {
    let full = read(path);
    let height = (full.height * WIDTH / full.width).max(1);
    let span = |i: u32, of: u32, parts: u32| (i * of / parts)..((i + 1) * of / parts);
    let mut pixels = Vec::new();
    for y in 0..height {
        for x in 0..WIDTH {
            let mut sum = [0u64; 3];
            let (rows, columns) = (span(y, full.height, height), span(x, full.width, WIDTH));
            let cells = (rows.len() * columns.len()) as u64;
            for row in rows {
                for column in columns.clone() {
                    let at = 3 * (row * full.width + column) as usize;
                    (0..3).for_each(|k| sum[k] += u64::from(full.pixels[at + k]));
                }
            }
            pixels.extend(sum.map(|s| (s / cells) as u8));
        }
    }
    Picture { width: WIDTH, height, pixels }
}

/// Writes a PNG.
pub fn write(path: &Path, picture: &Picture) {
    std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
    let file = BufWriter::new(File::create(path).expect("writable"));
    let mut encoder = png::Encoder::new(file, picture.width, picture.height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_compression(png::Compression::High);
    let mut writer = encoder.write_header().expect("a header");
    writer.write_image_data(&picture.pixels).expect("written");
}

/// How far they are apart, or why that is too far.
pub fn difference(a: &Picture, b: &Picture) -> Result<Difference, String> {
    if (a.width, a.height) != (b.width, b.height) {
        return Err(format!("{} x {} for {} x {}", a.width, a.height, b.width, b.height));
    }
    let apart: Vec<u8> = a.pixels.iter().zip(&b.pixels).map(|(p, q)| p.abs_diff(*q)).collect();
    let mean = apart.iter().map(|d| f64::from(*d)).sum::<f64>() / apart.len() as f64;
    let others = apart.chunks(3).filter(|p| p.iter().any(|d| *d > OTHER)).count();
    let difference = Difference { mean, others: 3.0 * others as f64 / apart.len() as f64 };
    match difference.mean <= MEAN && difference.others <= OTHERS {
        true => Ok(difference),
        false => Err(difference.to_string()),
    }
}

#[test]
fn a_picture_that_lost_its_parts_is_told() {
    let grey = |parts: usize| {
        let pixel = |i: usize| if i < 3 * parts { 120 } else { 240 };
        Picture { width: 80, height: 40, pixels: (0..3 * 80 * 40).map(pixel).collect() }
    };
    assert!(difference(&grey(500), &grey(500)).is_ok());
    assert!(difference(&grey(500), &grey(510)).is_ok());
    assert!(difference(&grey(500), &grey(540)).is_err());
    assert!(difference(&grey(500), &grey(0)).is_err());
}
