//! What lies in a tray or around it, as solids.

use super::super::around::{CLEAR, bar, bore, drawn};
use super::super::{Component, Declared, Way};
use super::axial::PLAY;
use super::cover::Cover;
use super::report::Made;
use super::shape::SILL;
use super::spec::Opening;
use crate::measure::Vec2;
use crate::section::{Region, snap};
use crate::solid::Solid;

/// Radius of the bump of a tab, over that of the guard's window. From memory.
const BUMP_SHARE: f64 = 0.6;
/// Distance of sheets from the bore, mm.
const BELOW_BORE: f64 = 0.2;

impl Made<'_> {
    /// What belongs to the tray. `covering` is the cover's solid.
    pub(super) fn with_tray(&self, covering: Option<&Solid>) -> Declared {
        let mut declared = Declared::default();
        let opens = self.asked.spec.cell.radius()
            - self.asked.spec.trough() * self.lips.wrap.to_radians().cos();
        self.cell(&mut declared, Some(self.down(opens.max(0.0))));
        self.spring(&mut declared);
        self.tab(&mut declared);
        if let (Some(cover), Some(solid)) = (self.cover, covering) {
            // Its edges spread over what of the tray is wider than its mouth.
            let inner = self.asked.spec.outside - cover.spec.wall;
            let mouth = inner * cover.wrap.to_radians().cos();
            let aside = (self.asked.spec.covered() - mouth).max(0.0);
            declared.add("cover", Ok(solid.clone()), |name, solid| Component {
                name,
                what: "the cover".into(),
                solid,
                way: Some(self.down(aside)),
                press: 0.0,
                field: self.asked.values.path_of("cover"),
            });
        }
        self.bore(&mut declared);
        declared
    }

    /// What belongs to the cover.
    pub(super) fn with_cover(&self, cover: &Cover) -> Declared {
        let mut declared = Declared::default();
        let mouth = cover.spec.opening == Opening::Mouth;
        // Through an open mouth the cell comes in while the cover is on.
        self.cell(&mut declared, mouth.then(|| self.down(0.0)));
        self.bore(&mut declared);
        declared
    }

    fn bore(&self, declared: &mut Declared) {
        let high = self.asked.values.number("from_z") + self.axial.total;
        bore(declared, self.asked.context, self.asked.values, self.asked.fit, high);
    }

    /// From over the tray down to its place.
    fn down(&self, aside: f64) -> Way {
        let travel = 2.0 * self.asked.spec.outside + CLEAR;
        Way::Across { along: Vec2::new(0.0, -1.0), travel, aside }
    }

    /// A solid of slabs along the tray, from the negative end's outer face.
    fn laid(&self, slabs: Vec<(f64, f64, Region)>) -> Result<Solid, String> {
        let z = |z: f64| snap(self.place(z));
        let mut slabs: Vec<(f64, f64, Region)> = slabs
            .into_iter()
            .map(|(a, b, section)| (z(a).min(z(b)), z(a).max(z(b)), section))
            .collect();
        slabs.sort_by(|a, b| a.0.total_cmp(&b.0));
        drawn(&slabs)
    }

    fn cell(&self, declared: &mut Declared, way: Option<Way>) {
        let (cell, touch) = (&self.asked.spec.cell, self.axial.touch);
        let centre = Vec2::new(0.0, self.across.cell_y);
        let shoulder = touch - cell.button;
        let solid = self.laid(vec![
            (touch - cell.length.1, shoulder, Region::disc(centre, cell.radius())),
            (shoulder, touch, Region::disc(centre, 0.5 * cell.button_diameter)),
        ]);
        declared.add("cell", solid, |name, solid| Component {
            name,
            what: format!("the cell ({}), thickest and longest", cell.name),
            solid,
            way,
            press: 0.0,
            field: self.asked.values.path_of("cell"),
        });
    }

    /// The spring's plate, and the room of its leaf as the longest cell leaves
    /// it.
    fn spring(&self, declared: &mut Declared) {
        let (spring, contacts) = (&self.sprung.spring, self.contacts);
        let half = contacts.plate.0 - PLAY;
        let start = self.axial.spring_slot.0;
        let low = contacts.plate.1;
        let top = self.below_bore(low + spring.beam, half);
        let leaf = bar((-0.5 * spring.width, 0.5 * spring.width), (low + SILL, top));
        let solid = self.laid(vec![
            (start, start + spring.thickness, bar((-half, half), (low, top))),
            (start + spring.thickness, self.axial.touch - self.asked.spec.cell.length.1, leaf),
        ]);
        declared.add("spring", solid, |name, solid| Component {
            name,
            what: format!("the spring contact ({}), pressed by the longest cell", spring.name),
            solid,
            way: Some(self.down(0.0)),
            press: 0.0,
            field: self.asked.values.path_of("spring"),
        });
    }

    /// The positive contact's tab with its bump.
    fn tab(&self, declared: &mut Declared) {
        let (half, low) = (self.contacts.tab.0 - PLAY, self.contacts.tab.1);
        let cell_y = self.across.cell_y;
        let top = self.below_bore(2.0 * cell_y - low, half);
        let back = self.axial.tab_slot.1;
        let front = back - self.asked.spec.tab_thickness;
        let bump = Region::disc(Vec2::new(0.0, cell_y), BUMP_SHARE * self.contacts.button);
        let solid = self.laid(vec![
            (front - self.axial.bump, front, bump),
            (front, back, bar((-half, half), (low, top))),
        ]);
        declared.add("tab", solid, |name, solid| Component {
            name,
            what: "the positive contact's tab".into(),
            solid,
            way: Some(self.down(0.0)),
            press: 0.0,
            field: self.asked.values.path_of("tab_thickness"),
        });
    }

    /// How high a sheet of this half width may reach.
    fn below_bore(&self, top: f64, half: f64) -> f64 {
        let inside = self.asked.spec.covered() - BELOW_BORE;
        top.min((inside * inside - half * half).max(0.0).sqrt())
    }
}
