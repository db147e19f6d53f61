//! Random stacks with cross bores, built anew by other programs' booleans.

use std::fmt::Write;

use borewright::measure::Vec2;
use borewright::solid::{BoreEnd, BoreProfile, CrossBore, Mouth};
use fastrand::Rng;
use serde_json::json;

use crate::piece::{bore_value, region_value};
use crate::random::{Input, Source, stack_of};
use crate::{expected, folder, refereed, write_step};

/// Stacks that are built both ways.
const STACKS: usize = 150;

fn bore(rng: &mut Rng, height: f64) -> CrossBore {
    let quarter = std::f64::consts::FRAC_PI_4;
    let turn = if rng.bool() { f64::from(rng.u8(0..8)) * quarter } else { rng.f64() * 6.0 };
    let radius = f64::from(rng.u8(1..=6)) * 0.25;
    let rim = radius + f64::from(rng.u8(1..=3)) * 0.25;
    let depth = f64::from(rng.u8(1..=8)) * 0.25;
    let profile = match rng.u8(0..4) {
        0 => BoreProfile::SlotAlongZ { radius, between: f64::from(rng.u8(1..=4)) * 0.25 },
        _ => BoreProfile::Round { radius },
    };
    let mouth = match (profile, rng.u8(0..4)) {
        (BoreProfile::Round { .. }, 0) => Mouth::Counterbore { radius: rim, depth },
        (BoreProfile::Round { .. }, 1) => {
            Mouth::Countersink { radius: rim, angle: 2.0 * quarter, depth }
        }
        _ => Mouth::Plain,
    };
    CrossBore {
        direction: Vec2::new(turn.cos(), turn.sin()),
        z: (rng.f64() * height * 100.0).round() / 100.0,
        offset: f64::from(rng.i32(-10..=10)) * 0.5,
        start: if rng.u8(0..4) == 0 { 0.0 } else { f64::NEG_INFINITY },
        profile,
        mouth,
        end: match rng.u8(0..3) {
            0 => BoreEnd::NextWall,
            1 => BoreEnd::Depth(2.0 + depth),
            _ => BoreEnd::AllWalls,
        },
    }
}

#[test]
fn stacks_built_by_other_booleans_are_the_same() {
    let folder = folder("rebuilt");
    let mut lines = String::new();
    let mut made = 0;
    for seed in 0.. {
        if made == STACKS {
            break;
        }
        let eps = if seed % 2 == 0 { 0.0 } else { 0.3 };
        let mut source = Source { rng: Rng::with_seed(seed), eps, input: Input::Snapped };
        let slabs = source.slabs();
        let stack = stack_of(&slabs);
        if stack.solid().is_err() {
            continue;
        }
        // Bores that fit, of many tried.
        let height = slabs.last().map_or(0.0, |s| s.1);
        let mut bores = Vec::new();
        for _ in 0..30 {
            bores.push(bore(&mut source.rng, height));
            if bores.len() > 3 || stack.bored(&bores).is_err() {
                bores.pop();
            }
        }
        if bores.is_empty() {
            continue;
        }
        let solid = stack.bored(&bores).expect("tried just now");
        let mut case = expected(&format!("stack{seed}"), &solid);
        write_step(&folder, &mut case, &solid);
        case["slabs"] = slabs.iter().map(|(z0, z1, s)| json!([z0, z1, region_value(s)])).collect();
        case["bores"] = bores.iter().map(bore_value).collect();
        writeln!(lines, "{case}").expect("memory");
        made += 1;
    }
    let path = folder.join("cases.jsonl");
    std::fs::write(&path, lines).expect("target is writable");
    let (passed, text) = refereed("stack_referee.py", &path);
    println!("{text}");
    assert!(passed, "{text}");
}
