//! What the checker needs to see whether the pixel shows.

use super::super::{Declared, PartContext, Sight};
use super::holder::Outside;
use super::pixel::BORE_SHARE;
use super::plan::{Plan, Retention};
use super::stone::turned;
use crate::measure::{Vec2, Vec3};
use crate::section::snap;
use crate::sight::{Hole, Lamp, Shell};
use crate::solid::Solid;

/// Index of a stone of which nothing is said: quartz, about 1.54.
const QUARTZ: f64 = 1.544;
/// A light bore narrower than this share of the usual one is not worth making:
/// it passes a quarter of the light. Common practice, no source.
const LEAST_SHARE: f64 = 0.5;
/// How far into the stone its lit end reaches where it is blunt, mm.
const END: f64 = 0.01;

impl Plan<'_> {
    /// The pixel and what hides it; none where the stone could not be drawn.
    pub fn sight(
        &self,
        context: &PartContext<'_>,
        declared: &Declared,
        capping: Option<&Solid>,
    ) -> Option<Sight> {
        let stone = declared.components.iter().find(|c| c.name == "stone")?.solid.clone();
        let pixel = self.pixel_solid(0.0).ok()?;
        let printer = context.printer;
        let package = self.pixel.values;
        let smaller = package.number("package_width").min(package.number("package_length"));
        let shrinks = if self.pixel.round { printer.number("hole_shrink") } else { 0.0 };
        let least = (LEAST_SHARE * BORE_SHARE * smaller).max(printer.number("hole_min"));
        Some(Sight {
            lamp: self.lamp(),
            around: [pixel].into_iter().chain(capping.cloned()).collect(),
            chassis: context.chassis.cloned(),
            stone,
            index: self.values.maybe_number("stone_index").unwrap_or(QUARTZ),
            end: self.lit_end(),
            shell: self.shell(context),
            hole: self.hole(),
            least_hole: snap(least + shrinks),
            shrinks,
            field: self.values.path_of("light_bore"),
        })
    }

    fn lamp(&self) -> Lamp {
        let (pixel, turn) = (&self.pixel, self.values.number("pixel_turn"));
        let half = |key: &str, d: Vec2| {
            let v = turned(d * (pixel.values.number(key) / 2.0), turn);
            Vec3::new(v.x, v.y, 0.0)
        };
        let depth = pixel.values.number("package_height");
        let face = pixel.ledge + depth;
        let (z, ahead) = if self.pixel_low {
            (self.ends.0 + face, Vec3::z())
        } else {
            (self.ends.1 - face, -Vec3::z())
        };
        Lamp {
            middle: Vec3::new(pixel.at.x, pixel.at.y, z),
            halves: [half("package_width", Vec2::x()), half("package_length", Vec2::y())],
            ahead,
            depth,
        }
    }

    /// Where the stone's lit end lies, z mm: its tip, or its face.
    fn lit_end(&self) -> (f64, f64) {
        let sections = &self.stone.sections;
        let last = sections.len() - 1;
        let (low, high) = (self.stone_low, self.stone_low + self.stone.length());
        if self.pixel_low {
            let tip = if self.stone.pointed[0] { sections[1].at } else { 0.0 };
            (low - END, low + tip + END)
        } else {
            let tip = if self.stone.pointed[1] { sections[last - 1].at } else { sections[last].at };
            (low + tip - END, high + END)
        }
    }

    /// The light bore through its web.
    fn hole(&self) -> Hole {
        let (pixel, (low, high)) = (&self.pixel, self.ends);
        let (near, far) = (pixel.web, pixel.web + pixel.web_thickness);
        let ends = if self.pixel_low { (low + near, low + far) } else { (high - far, high - near) };
        Hole { middle: pixel.at, width: pixel.bore, round: pixel.round, ends }
    }

    /// The handle at its widest, with a window as wide as the cradle's opening
    /// and as long as the cradle; of a chassis, its whole cavity.
    fn shell(&self, context: &PartContext<'_>) -> Shell {
        let bore = context.handle.bore();
        match self.holder.outside {
            Outside::Bore { radius, .. } => {
                let widest = 0.5 * (bore.largest() + bore.caliper());
                let trimmed = self.trimmed.as_ref().map_or(0.0, |o| o.degrees);
                let capped = matches!(self.retention, Retention::Cap(_));
                let degrees = if capped { trimmed } else { trimmed.max(self.window.degrees) };
                Shell::Tube {
                    radius: widest.max(radius),
                    half_angle: degrees.to_radians() / 2.0,
                    window: self.ends,
                }
            }
            Outside::Block { half, top, .. } => Shell::Trough { half, rim: top, window: self.ends },
        }
    }
}
