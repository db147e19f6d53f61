//! The picture of a layout, from the side.

use std::path::Path;

use super::super::Stop;
use super::mark;
use crate::export::{BODY_COLOURS, Label, PictureBody, View, picture_labelled};
use crate::job::{Arrangement, Job, Layout as Planned, Staged};
use crate::measure::{Vec2, Vec3};
use crate::mesh::{ChordTolerance, Mesh, tessellate};
use crate::section::Region;
use crate::solid::Stack;

/// Colour of the bore in pictures.
const GLASS: [u8; 3] = [150, 170, 185];
/// Width and height of the picture, pixels.
const SIZE: (u32, u32) = (1600, 420);
/// Free lengths below this are not written, mm.
const LEAST_SHOWN: f64 = 0.5;
/// How far labels stand from the bore, mm.
const OFF: f64 = 6.0;

/// The proposal from the side, the front to the right.
pub(super) fn draw(
    job: &Job,
    planned: &Planned,
    found: &Arrangement,
    (folder, name): (&Path, &str),
) -> Result<(), Stop> {
    let radius = 0.5 * job.handle().bore().sure();
    let length = planned.row.room.0 + planned.row.room.1;
    let mut stack = Stack::default();
    stack.prism(0.0, length, &Region::disc(Vec2::zeros(), radius));
    let bore: Option<Mesh> =
        stack.solid().ok().and_then(|s| tessellate(&s, &ChordTolerance::default()).ok());
    let mut bodies = Vec::new();
    let (mut labels, mut gaps) = (Vec::new(), Vec::new());
    let order = planned.order(found);
    let mut free = |from: f64, to: f64| {
        if to - from > LEAST_SHOWN {
            let at = Vec3::new(0.0, -radius - OFF, 0.5 * (from + to));
            gaps.push(Label { at, text: format!("{:.1}", to - from), tick: None });
        }
    };
    free(0.0, order.first().map_or(length, |&i| found.at[i]));
    for (n, &i) in order.iter().enumerate() {
        let module = &planned.modules[i];
        let by = found.at[i] - module.ends.0;
        for mesh in &module.meshes {
            let colour = BODY_COLOURS[n % BODY_COLOURS.len()];
            let mut body = PictureBody::new(mesh, colour);
            body.shift = Vec3::new(0.0, 0.0, by);
            bodies.push(body);
        }
        let middle = found.at[i] + 0.5 * planned.row.pieces[i].length;
        let text = format!("{} {}", mark(n), module.name);
        let row = if n % 2 == 0 { OFF } else { 1.9 * OFF };
        labels.push(Label { at: Vec3::new(0.0, radius + row, middle), text, tick: None });
        let high = found.at[i] + planned.row.pieces[i].length;
        let next = order.get(n + 1).map_or(length, |&j| found.at[j]);
        free(high, next);
        for (what, z) in &module.points {
            let at = Vec3::new(0.0, radius + 2.8 * OFF, *z);
            let tick = Some(Vec3::new(0.0, radius, *z));
            labels.push(Label { at, text: what.replace(" z", ""), tick });
        }
    }
    if let Some(mesh) = &bore {
        bodies.push(PictureBody::new(mesh, GLASS).glassy());
    }
    labels.extend(gaps);
    let view = View {
        direction: Vec3::new(1.0, 0.0, 0.0),
        up: Vec3::y(),
        width: SIZE.0,
        height: SIZE.1,
        ..View::default()
    };
    let bytes = picture_labelled(&bodies, &labels, &view);
    let mut staged = Staged::new(folder)?;
    staged.write(name, &bytes)?;
    staged.commit()?;
    Ok(())
}
