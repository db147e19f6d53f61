//! Random sections and stacks on a coarse grid, where coincidences are common.

use borewright::measure::Vec2;
use borewright::section::{Region, Seg};
use borewright::solid::Stack;
use fastrand::Rng;

/// How a random primitive enters a section.
#[derive(Clone, Copy, PartialEq)]
#[allow(dead_code, reason = "each test binary that includes this uses its own part")]
pub enum Input {
    /// Through the snapping constructors.
    Snapped,
    /// Raw coordinates.
    Raw,
}

/// Numbers on a half-millimetre grid, then moved by up to `eps` mm.
pub struct Source {
    pub rng: Rng,
    pub eps: f64,
    pub input: Input,
}

impl Source {
    fn coordinate(&mut self, low: i32, high: i32) -> f64 {
        f64::from(self.rng.i32(low..=high)) * 0.5 + (self.rng.f64() * 2.0 - 1.0) * self.eps
    }

    fn point(&mut self) -> Vec2 {
        Vec2::new(self.coordinate(-16, 16), self.coordinate(-16, 16))
    }

    fn primitive(&mut self) -> Region {
        match self.rng.u8(0..4) {
            0 | 1 => {
                let p = self.point();
                let (w, h) = (self.coordinate(1, 20), self.coordinate(1, 20));
                self.rectangle(p, p + Vec2::new(w, h))
            }
            2 => {
                let (c, r) = (self.point(), self.coordinate(1, 14));
                self.disc(c, r)
            }
            _ => {
                let p = self.point();
                let d = if self.rng.bool() {
                    Vec2::new(self.coordinate(1, 12), 0.0)
                } else {
                    Vec2::new(0.0, self.coordinate(1, 12))
                };
                let r = self.coordinate(1, 6);
                match self.input {
                    Input::Snapped => Region::slot(p, p + d, r),
                    Input::Raw => self.disc(p, r).union(&self.disc(p + d, r)),
                }
            }
        }
    }

    fn rectangle(&self, p: Vec2, q: Vec2) -> Region {
        if self.input == Input::Snapped {
            return Region::rectangle(p, q);
        }
        let corners = [p, Vec2::new(q.x, p.y), q, Vec2::new(p.x, q.y)];
        let outline = (0..4).map(|i| Seg::line(corners[i], corners[(i + 1) % 4])).collect();
        Region::from_outlines(&[outline]).expect("a rectangle is a closed outline")
    }

    fn disc(&self, c: Vec2, r: f64) -> Region {
        if self.input == Input::Snapped {
            return Region::disc(c, r);
        }
        let (west, east) = (c - Vec2::new(r, 0.0), c + Vec2::new(r, 0.0));
        let mut outline = Seg::arc(c, r, west, east, true);
        outline.extend(Seg::arc(c, r, east, west, true));
        Region::from_outlines(&[outline]).expect("a disc is a closed outline")
    }

    pub fn section(&mut self) -> Region {
        // Mostly something large around the axis, so that pieces hang together.
        let mut region = match self.rng.u8(0..4) {
            0 => self.primitive(),
            1 | 2 => {
                let r = self.coordinate(14, 20);
                self.disc(Vec2::zeros(), r)
            }
            _ => {
                let (w, h) = (self.coordinate(10, 20), self.coordinate(10, 20));
                self.rectangle(Vec2::new(-w, -h), Vec2::new(w, h))
            }
        };
        for _ in 0..self.rng.u8(0..5) {
            let other = self.primitive();
            region = match self.rng.u8(0..5) {
                0 | 1 => region.union(&other),
                2 | 3 => region.difference(&other),
                _ => region.xor(&other),
            };
        }
        region
    }

    /// Slabs in order: bottom, top, section.
    pub fn slabs(&mut self) -> Vec<(f64, f64, Region)> {
        let mut slabs = Vec::new();
        let mut z = 0.0;
        let mut section = self.section();
        for _ in 0..self.rng.u8(1..=6) {
            let h = f64::from(self.rng.u8(1..=10)) * 0.5;
            if self.rng.u8(0..4) > 0 {
                let other = self.primitive();
                section = match self.rng.u8(0..4) {
                    0 => section.union(&other),
                    1 | 2 => section.difference(&other),
                    _ => self.section(),
                };
            }
            slabs.push((z, z + h, section.clone()));
            z += h;
        }
        slabs
    }

    pub fn stack(&mut self) -> Stack {
        stack_of(&self.slabs())
    }
}

pub fn stack_of(slabs: &[(f64, f64, Region)]) -> Stack {
    let mut stack = Stack::default();
    for (bottom, top, section) in slabs {
        stack.prism(*bottom, *top, section);
    }
    stack
}
