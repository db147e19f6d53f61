//! truck's view of the solids: topology, geometry at the joints, and a mesh
//! made by its own tessellation.

use borewright::solid::Solid;
use truck_meshalgo::prelude::*;

use crate::build;

/// Of truck's tessellation, mm.
const CHORD: f64 = 0.01;

/// Relative volume error allowed for a wall with a hole in it. truck-meshalgo
/// 0.4 puts no points inside a turned line, so its triangles reach from the
/// hole to the rims right across the curved wall.
const HOLED_WALL: f64 = 0.02;

#[test]
fn truck_finds_every_solid_closed_and_meshes_it_watertight() {
    for (name, brep) in build::gallery() {
        let solid = Solid::new(brep).expect(name);
        let truck = solid.to_truck().expect(name);
        assert_eq!(truck.boundaries().len(), solid.shells().len(), "{name}");
        assert!(truck.is_geometric_consistent(), "{name}: ends of edges lie off the vertices");

        let mut mesh = truck.triangulation(CHORD).to_polygon();
        mesh.put_together_same_attrs(TOLERANCE).remove_degenerate_faces().remove_unused_attrs();
        assert_eq!(mesh.shell_condition(), ShellCondition::Closed, "{name}");
        let p = solid.properties();
        let error = (mesh.volume() - p.volume).abs();
        println!("{name}: {} triangles, volume off by {error:.4}", mesh.tri_faces().len());
        let allowed = if name.contains("bored") { HOLED_WALL * p.volume } else { CHORD * p.area };
        assert!(error < allowed, "{name}: {} is not {}", mesh.volume(), p.volume);
    }
}
