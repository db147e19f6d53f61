//! Does it fit the machine.

use super::finding::short;
use super::{Check, CheckContext, Finding, Limit, Severity};
use crate::measure::Unit;

pub(super) const CHECK: Check = Check {
    name: "machine",
    summary: "larger than the build space of the printer",
    upright: true,
    run,
};

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let (low, high) = context.analysis.bounds();
    let size = high - low;
    let limits = ["bed_x", "bed_y", "bed_z"].map(|key| Limit::of(context.printer, key));
    let [Some(x), Some(y), Some(z)] = limits else { return Vec::new() };
    // Turned by a quarter about z it may fit as well.
    let as_is = size.x <= x.value && size.y <= y.value;
    let turned = size.y <= x.value && size.x <= y.value;
    if (as_is || turned) && size.z <= z.value {
        return Vec::new();
    }
    let fits_on_side = {
        let mut sides = [size.x, size.y, size.z];
        let mut bed = [x.value, y.value, z.value];
        sides.sort_by(f64::total_cmp);
        bed.sort_by(f64::total_cmp);
        sides.iter().zip(&bed).all(|(s, b)| s <= b)
    };
    let (measured, limit) = if size.z > z.value {
        (size.z, z)
    } else if size.x.max(size.y) > x.value.max(y.value) {
        (size.x.max(size.y), if x.value > y.value { x } else { y })
    } else {
        (size.x.min(size.y), if x.value > y.value { y } else { x })
    };
    let text = format!(
        "{} x {} x {} mm do not fit the build space",
        short(size.x),
        short(size.y),
        short(size.z)
    );
    let hint = if fits_on_side {
        "lay it on another side, where it fits"
    } else {
        "check the unit of the file, cut the part in two, or choose a larger printer"
    };
    vec![
        Finding::new(CHECK.name, Severity::Error, text)
            .measured(measured, Unit::Mm)
            .limit(&limit)
            .hint(hint),
    ]
}
