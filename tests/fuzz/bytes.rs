//! Structure from bytes: every text of bytes means some shape.

use borewright::measure::Vec2;
use borewright::section::{Region, Seg};

/// How numbers are read.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Numbers {
    /// Multiples of half a millimetre: coincidences are common.
    Coarse,
    /// Multiples of the input grid, a thousandth.
    Fine,
    /// Multiples of half a millimetre, off by up to a power of ten.
    Near,
    /// Any bit pattern: infinities and not-a-numbers too.
    Wild,
}

impl Numbers {
    /// Whether they lie on the input grid.
    pub fn on_grid(self) -> bool {
        matches!(self, Numbers::Coarse | Numbers::Fine)
    }
}

/// Reads bytes from the front; beyond the end there are zeros.
pub struct Bytes<'a> {
    rest: &'a [u8],
    pub numbers: Numbers,
}

impl<'a> Bytes<'a> {
    pub fn new(all: &'a [u8]) -> Bytes<'a> {
        let mut bytes = Bytes { rest: all, numbers: Numbers::Coarse };
        bytes.numbers = match bytes.byte() % 8 {
            0..=2 => Numbers::Coarse,
            3 | 4 => Numbers::Fine,
            5 | 6 => Numbers::Near,
            _ => Numbers::Wild,
        };
        bytes
    }

    pub fn byte(&mut self) -> u8 {
        let Some((&first, rest)) = self.rest.split_first() else { return 0 };
        self.rest = rest;
        first
    }

    pub fn below(&mut self, n: u8) -> u8 {
        self.byte() % n
    }

    fn word(&mut self) -> u16 {
        u16::from_le_bytes([self.byte(), self.byte()])
    }

    /// A coordinate, mostly in -16..16 mm.
    pub fn number(&mut self) -> f64 {
        match self.numbers {
            Numbers::Coarse => f64::from(self.byte() as i8 / 4) * 0.5,
            Numbers::Fine => f64::from(self.word() as i16) * 1e-3,
            Numbers::Near => {
                let base = f64::from(self.byte() as i8 / 4) * 0.5;
                let digits = i32::from(self.below(14));
                base + f64::from(self.byte() as i8) / 128.0 * 10f64.powi(-digits)
            }
            Numbers::Wild => {
                let bits: [u8; 8] = std::array::from_fn(|_| self.byte());
                f64::from_le_bytes(bits)
            }
        }
    }

    /// A length, mostly positive.
    pub fn length(&mut self) -> f64 {
        let n = self.number();
        if self.numbers == Numbers::Wild { n } else { n.abs() }
    }

    pub fn point(&mut self) -> Vec2 {
        Vec2::new(self.number(), self.number())
    }

    fn points(&mut self) -> Vec<Vec2> {
        (0..3 + self.below(6)).map(|_| self.point()).collect()
    }

    /// One of the shapes to start from, or what outlines enclose.
    pub fn primitive(&mut self) -> Region {
        match self.below(8) {
            0 => {
                let p = self.point();
                Region::rectangle(p, p + self.point())
            }
            1 => Region::rectangle(self.point(), self.point()),
            2 => Region::disc(Vec2::zeros(), self.length()),
            3 => Region::disc(self.point(), self.length()),
            4 => Region::slot(self.point(), self.point(), self.length()),
            5 => Region::polygon(&self.points()),
            6 => Region::half_plane(self.point(), self.point(), 40.0),
            _ => self.outline(),
        }
    }

    /// An outline of lines and of arcs with their centres on the chord's
    /// bisector, unsnapped.
    fn outline(&mut self) -> Region {
        let points = self.points();
        let mut outline = Vec::new();
        for (i, &a) in points.iter().enumerate() {
            let b = points[(i + 1) % points.len()];
            let bulge = f64::from(self.byte() as i8) / 32.0;
            let d = b - a;
            if bulge.abs() < 0.1 || d.norm() == 0.0 {
                outline.push(Seg::line(a, b));
                continue;
            }
            let centre = (a + b) * 0.5 + Vec2::new(-d.y, d.x) * bulge;
            outline.push(Seg {
                a,
                b,
                arc: Some(borewright::section::Arc {
                    centre,
                    radius: (a - centre).norm(),
                    ccw: self.byte() < 128,
                }),
            });
        }
        Region::from_outlines(&[outline]).unwrap_or_default()
    }

    /// A shape made of up to `most` others.
    pub fn region(&mut self, most: u8) -> Region {
        let mut region = self.primitive();
        for _ in 0..self.below(most) {
            let other = self.primitive();
            region = match self.below(4) {
                0 => region.union(&other),
                1 => region.intersection(&other),
                2 => region.xor(&other),
                _ => region.difference(&other),
            };
        }
        region
    }
}

/// A count on a coarse scale, to tell one outcome from another.
pub fn size(n: usize) -> u64 {
    u64::from(usize::BITS - n.leading_zeros())
}
