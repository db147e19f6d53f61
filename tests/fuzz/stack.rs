//! Stacks with tapers and cross bores: a closed solid of the right volume, or
//! a named refusal; now and then a mesh and a STEP file of it.

use std::f64::consts::PI;

use borewright::export::{StepHeader, StepProduct, step};
use borewright::mesh::{ChordTolerance, tessellate};
use borewright::section::Region;
use borewright::solid::{
    BoreEnd, BoreError, BoreProfile, BrepError, CrossBore, Mouth, RuledSection, Solid, Stack,
    StackError,
};

use super::bytes::{Bytes, size};

/// Relative difference of the volumes by the boundary and by the sections.
const NOISE: f64 = 1e-8;

pub fn run(input: &[u8]) -> u64 {
    let mut bytes = Bytes::new(input);
    let stack = stack(&mut bytes);
    let plain = stack.solid();
    let mut kind = bytes.numbers as u64;
    let mut note = |n: u64| kind = kind.wrapping_mul(131).wrapping_add(n);
    match &plain {
        Err(e) => {
            refusal(e, bytes.numbers.on_grid());
            note(name(e));
            return kind;
        }
        Ok(solid) => {
            let (got, expected) = (solid.properties().volume, stack.volume());
            assert!((got - expected).abs() <= NOISE * expected, "volume {got} is not {expected}");
            note(size(solid.faces().len()) * 8 + solid.shells().len().min(7) as u64);
            let counts = solid.face_counts();
            note(u64::from(counts.cones > 0));
            look(solid, &mut bytes);
        }
    }
    let bores = bores(&mut bytes);
    if bores.is_empty() {
        return kind;
    }
    match stack.bored(&bores) {
        Err(e) => {
            refusal(&e, bytes.numbers.on_grid());
            note(name(&e));
        }
        Ok(solid) => {
            let (got, whole) = (solid.properties().volume, stack.volume());
            assert!(got > 0.0 && got < whole * (1.0 + NOISE), "{got} of {whole} is left");
            note(size(solid.faces().len()) * 8 + bores.len() as u64);
            note(solid.shells().len() as u64);
            look(&solid, &mut bytes);
        }
    }
    kind
}

/// Every so often, what is made of a solid.
fn look(solid: &Solid, bytes: &mut Bytes) {
    if bytes.below(16) == 1 {
        let tolerance = ChordTolerance { chord: 0.05, ..ChordTolerance::default() };
        if let Ok(mesh) = tessellate(solid, &tolerance) {
            let p = solid.properties();
            let gap = (mesh.volume() - p.volume).abs();
            assert!(gap <= 0.06 * p.area, "mesh volume {} of {}", mesh.volume(), p.volume);
        }
        let header = StepHeader { file_name: "f", time_stamp: "t", description: "" };
        assert!(!step(&[StepProduct { name: "p", solid }], &header).contains("NaN"));
    }
}

fn stack(bytes: &mut Bytes) -> Stack {
    let mut stack = Stack::default();
    let mut z = if bytes.numbers.on_grid() { 0.0 } else { bytes.number() };
    let mut section = bytes.region(5);
    for _ in 0..1 + bytes.below(5) {
        let top = z + bytes.length();
        match bytes.below(12) {
            0..=2 => drop(stack.prism(z, top, &section)),
            3 => {
                section = section.union(&bytes.primitive());
                stack.prism(z, top, &section);
            }
            4 | 5 => {
                section = section.difference(&bytes.primitive());
                stack.prism(z, top, &section);
            }
            6 => {
                section = bytes.region(4);
                stack.prism(z, top, &section);
            }
            7 => {
                let by = small(bytes);
                chamfer(&mut stack, z, top, &section, -by.abs(), 0.0);
            }
            8 => {
                let by = small(bytes);
                chamfer(&mut stack, z, top, &section, 0.0, by);
            }
            9 => {
                let next = section.offset(small(bytes));
                let ruled = RuledSection::between(&section, &next);
                stack.ruled(z, top, ruled.unwrap_or_else(|_| RuledSection::prism(&section)));
                section = next;
            }
            10 => {
                let next = bytes.region(2);
                let ruled = RuledSection::between(&section, &next);
                stack.ruled(z, top, ruled.unwrap_or_else(|_| RuledSection::prism(&section)));
                section = next;
            }
            _ => {}
        }
        z = top;
    }
    stack
}

fn chamfer(stack: &mut Stack, z: f64, top: f64, section: &Region, low: f64, high: f64) {
    let ruled = RuledSection::chamfer(section, low, high);
    stack.ruled(z, top, ruled.unwrap_or_else(|_| RuledSection::prism(section)));
}

fn small(bytes: &mut Bytes) -> f64 {
    f64::from(bytes.byte() as i8) * 0.0125
}

fn bores(bytes: &mut Bytes) -> Vec<CrossBore> {
    (0..bytes.below(4)).map(|_| bore(bytes)).collect()
}

fn bore(bytes: &mut Bytes) -> CrossBore {
    let direction = match bytes.below(3) {
        0 => bytes.point(),
        n => {
            let step = if n == 1 { PI / 4.0 } else { PI / 180.0 };
            let turn = f64::from(bytes.byte()) * step;
            borewright::measure::Vec2::new(turn.cos(), turn.sin())
        }
    };
    let (z, offset) = (bytes.length(), bytes.number());
    let radius = bytes.length() * 0.2;
    let profile = match bytes.below(4) {
        0 | 1 => BoreProfile::Round { radius },
        2 => BoreProfile::SlotAlongZ { radius, between: bytes.length() },
        _ => BoreProfile::SlotAcross { radius, between: bytes.length() },
    };
    let mouth = match bytes.below(4) {
        0 | 1 => Mouth::Plain,
        2 => Mouth::Counterbore { radius: radius + bytes.length() * 0.2, depth: bytes.length() },
        _ => Mouth::Countersink {
            radius: radius + bytes.length() * 0.2,
            angle: f64::from(bytes.below(181)).to_radians(),
            depth: if bytes.byte() < 64 { bytes.length() } else { 0.0 },
        },
    };
    let end = match bytes.below(3) {
        0 => BoreEnd::AllWalls,
        1 => BoreEnd::NextWall,
        _ => BoreEnd::Depth(bytes.length()),
    };
    let start = if bytes.byte() < 192 { f64::NEG_INFINITY } else { bytes.number() };
    CrossBore { direction, z, offset, start, profile, mouth, end }
}

/// On the grid a boundary that does not close is a fault of ours.
fn refusal(error: &StackError, on_grid: bool) {
    assert!(!error.to_string().is_empty());
    let StackError::Boundary(e) = error else { return };
    let ours = matches!(e, BrepError::PinchedVertex { .. } | BrepError::Pieces { .. });
    assert!(ours || !on_grid, "does not close: {error}");
}

fn name(error: &StackError) -> u64 {
    match error {
        StackError::Empty => 1,
        StackError::Height { .. } => 2,
        StackError::Pinch { .. } => 3,
        StackError::Sliver { .. } => 4,
        StackError::Bore(BoreError::NoWall { .. }) => 5,
        StackError::Bore(BoreError::CrossesEdge { .. }) => 6,
        StackError::Bore(BoreError::Grazes { .. }) => 7,
        StackError::Bore(BoreError::Depth { what, .. }) => 8 + what.len() as u64,
        StackError::Bore(BoreError::Shape { what, .. }) => 20 + what.len() as u64,
        StackError::Boundary(BrepError::Pieces { .. }) => 60,
        StackError::Boundary(BrepError::PinchedVertex { .. }) => 61,
        StackError::Boundary(BrepError::EdgeUse { .. }) => 62,
        StackError::Boundary(BrepError::BrokenLoop { .. }) => 63,
        StackError::Boundary(BrepError::ShellVolume { .. }) => 64,
        _ => 65,
    }
}
