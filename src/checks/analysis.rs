//! What all checks want to know about one mesh, computed once and when asked.

use std::cell::OnceCell;

use super::field::{Field, Side};
use super::layers::Layers;
use super::topology::Topology;
use crate::measure::{Mat3, Vec3};
use crate::mesh::{Bvh, SlicePlan, Soup};
use crate::sight::Shown;

/// Distance of the lines in a layer, mm: a quarter of the usual nozzle's
/// width. Coarser on large parts, see [`SlicePlan`].
const LINE_SPACING: f64 = 0.1;

/// Most triangles whose thickness is measured with a cap of several limits;
/// a mesh beyond this is no chassis part, see [`crate::mesh::MAX_TRIANGLES`].
const MAX_SIZE: f64 = 5_000.0;

/// A mesh with lazily built knowledge. Inside out, it is turned over first, so
/// that checks besides the sound-mesh one see material inside.
pub struct Analysis {
    soup: Soup,
    topology: Topology,
    turned_over: bool,
    /// From the frame of the file to that of the plate.
    turn: Mat3,
    bvh: OnceCell<Bvh>,
    walls: OnceCell<(f64, Field)>,
    gaps: OnceCell<(f64, Field)>,
    layers: OnceCell<(f64, Option<Layers>)>,
    shown: OnceCell<Option<Shown>>,
}

impl Analysis {
    /// Looks at how the triangles hang together.
    pub fn new(soup: Soup) -> Analysis {
        let topology = Topology::new(&soup);
        let volume: f64 = topology.volumes.iter().sum();
        let turned_over = volume < 0.0;
        let (soup, topology) = if turned_over {
            let turned = soup.reversed();
            let topology = Topology::new(&turned);
            (turned, topology)
        } else {
            (soup, topology)
        };
        Analysis {
            soup,
            topology,
            turned_over,
            turn: Mat3::identity(),
            bvh: OnceCell::new(),
            walls: OnceCell::new(),
            gaps: OnceCell::new(),
            layers: OnceCell::new(),
            shown: OnceCell::new(),
        }
    }

    /// The same mesh turned so that `up`, a unit vector, is +z: as it stands on
    /// the plate.
    pub fn turned(&self, up: Vec3) -> Analysis {
        let turn = turn_up(up);
        let mut turned = Analysis::new(self.soup.mapped(|p| turn * p));
        turned.turned_over = self.turned_over;
        turned.turn = turn;
        turned
    }

    /// A place of the turned mesh where it is in the frame of the file.
    pub fn home(&self, p: Vec3) -> Vec3 {
        self.turn.transpose() * p
    }

    /// The triangles, turned over if they were inside out.
    pub fn soup(&self) -> &Soup {
        &self.soup
    }

    /// How they hang together.
    pub fn topology(&self) -> &Topology {
        &self.topology
    }

    /// Whether the mesh was inside out as a whole.
    pub fn turned_over(&self) -> bool {
        self.turned_over
    }

    /// Whether it is so large that only its soundness and size are checked.
    pub fn beyond_measure(&self) -> bool {
        let (low, high) = self.soup.bounds();
        (high - low).max() > MAX_SIZE
    }

    /// The tree over the triangles.
    pub fn bvh(&self) -> &Bvh {
        self.bvh.get_or_init(|| Bvh::new(&self.soup))
    }

    /// Wall thickness up to `cap` mm. The first cap asked for is kept.
    pub fn walls(&self, cap: f64) -> &Field {
        let field = || Field::new(&self.soup, &self.topology, self.bvh(), Side::Inside, cap);
        &self.walls.get_or_init(|| (cap, field())).1
    }

    /// Width of gaps up to `cap` mm. The first cap asked for is kept.
    pub fn gaps(&self, cap: f64) -> &Field {
        let field = || Field::new(&self.soup, &self.topology, self.bvh(), Side::Outside, cap);
        &self.gaps.get_or_init(|| (cap, field())).1
    }

    /// What shows in layers of height `layer` mm. The first height is kept.
    pub fn layers(&self, layer: f64) -> Option<&Layers> {
        let build = || {
            let plan = SlicePlan::new(self.soup.bounds(), layer, LINE_SPACING)?;
            Layers::new(&self.soup, plan)
        };
        self.layers.get_or_init(|| (layer, build())).1.as_ref()
    }

    /// What of a lamp shows: by `look`, the first time.
    pub(super) fn shown(&self, look: impl FnOnce() -> Option<Shown>) -> Option<&Shown> {
        self.shown.get_or_init(look).as_ref()
    }

    /// Lowest and highest coordinates, mm.
    pub fn bounds(&self) -> (Vec3, Vec3) {
        self.soup.bounds()
    }

    /// Volume, mm3, and centre of mass, mm, as if closed.
    pub fn mass(&self) -> (f64, Vec3) {
        let base = self.soup.bounds().0;
        let (mut six, mut moment) = (0.0, Vec3::zeros());
        for i in 0..self.soup.triangles().len() {
            let [a, b, c] = self.soup.corners(i).map(|p| p - base);
            let part = a.dot(&b.cross(&c));
            six += part;
            moment += (a + b + c) * part;
        }
        let centre = if six.abs() > 0.0 { moment / (4.0 * six) } else { Vec3::zeros() };
        (six / 6.0, base + centre)
    }

    /// The centre of a triangle, mm.
    pub fn centre(&self, triangle: u32) -> Vec3 {
        let [a, b, c] = self.soup.corners(triangle as usize);
        (a + b + c) / 3.0
    }
}

/// The turn that takes `up`, a unit vector, to +z, exact where `up` is one of
/// the axes: rows are the images' directions.
fn turn_up(up: Vec3) -> Mat3 {
    // Beside `up`: x where it can be, so that a turn about x keeps x.
    let beside = if up.x.abs() < 0.9 { Vec3::x() } else { Vec3::y() };
    let x = (beside - up * beside.dot(&up)).normalize();
    let y = up.cross(&x);
    Mat3::from_rows(&[x.transpose(), y.transpose(), up.transpose()])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns_are_turns_and_take_up_to_z() {
        for up in [
            Vec3::x(),
            -Vec3::x(),
            Vec3::y(),
            -Vec3::y(),
            Vec3::z(),
            -Vec3::z(),
            Vec3::new(0.6, -0.48, 0.64),
        ] {
            let turn = turn_up(up);
            assert!((turn * up - Vec3::z()).norm() < 1e-12, "{up}");
            assert!((turn.determinant() - 1.0).abs() < 1e-12, "{up}");
            assert!((turn * turn.transpose() - Mat3::identity()).norm() < 1e-12, "{up}");
        }
        assert_eq!(turn_up(Vec3::z()), Mat3::identity());
    }
}
