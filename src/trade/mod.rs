//! The trade's arithmetic: pure calculators with sources.
//!
//! Each calculator is a typed function (input struct to output struct, plain
//! `f64` fields whose names carry the unit) that parts call, and a row of
//! [`CALCULATORS`] that runs the same function on `key=value` texts and shows
//! the steps as a worked example.
//!
//! ```
//! use borewright::trade;
//!
//! let calculator = trade::calculator("iso-fit")?;
//! let pairs = [("size_mm", "30"), ("fit", "H7/g6")];
//! let worked = calculator.work(&pairs.map(|(k, v)| (k.to_owned(), v.to_owned())))?;
//! assert_eq!(worked.value("clearance_max_um"), Some(41.0));
//! # Ok::<(), trade::TradeError>(())
//! ```

mod error;
mod inputs;
mod worked;

pub mod bosses;
pub mod contact;
pub mod cost;
pub mod fit_odds;
pub mod fits_iso286;
pub mod glow;
pub mod growth;
pub mod hold;
pub mod iso2768;
pub mod light;
pub mod lip;
pub mod lip_choice;
pub mod plunger;
pub mod screws;
pub mod seat;
pub mod snap;
pub mod sound;
pub mod split_ring;
pub mod stack_up;
pub mod wire;

pub use error::TradeError;
pub use inputs::{Inputs, Value, read_inputs};
pub use worked::{Given, Quantity, Step, Worked, num};

use crate::measure::Param;

/// One row of the registry.
#[derive(Clone, Copy, Debug)]
pub struct Calculator {
    /// Name on the command line, lower case with hyphens.
    pub name: &'static str,
    /// One line of help.
    pub summary: &'static str,
    /// Keys, units, ranges and defaults.
    pub inputs: &'static [Param],
    /// Runs the typed function on read inputs and shows its steps.
    pub run: fn(&Inputs) -> Result<Worked, TradeError>,
}

impl Calculator {
    /// Reads `key=value` pairs and runs the calculator on them.
    pub fn work(&self, pairs: &[(String, String)]) -> Result<Worked, TradeError> {
        (self.run)(&read_inputs(self, pairs)?)
    }
}

/// All calculators, in the order of the help text.
pub const CALCULATORS: &[Calculator] = &[
    stack_up::STACK_UP,
    fit_odds::FIT_ODDS,
    plunger::PLUNGER,
    fits_iso286::ISO_FIT,
    iso2768::ISO_2768,
    snap::SNAP_CANTILEVER,
    snap::SNAP_ANNULAR,
    snap::SNAP_MATERIAL,
    split_ring::SPLIT_RING,
    lip::CURVED_LIP,
    lip_choice::CHOOSE_LIP,
    contact::LEAF_CONTACT,
    wire::WIRE,
    wire::WIRE_BUNDLE,
    screws::CLEARANCE_HOLE,
    screws::NUT_TRAP,
    screws::THREAD,
    bosses::SELF_TAP,
    bosses::HEAT_SET,
    seat::SEAT_HOLD,
    sound::SOUND_PORTS,
    light::LIGHT_BORE,
    light::REFRACTION,
    light::SELLMEIER,
    glow::GLOW,
    growth::GROWTH,
    cost::FILAMENT,
    cost::RESIN,
];

/// The calculator called `name`, or an error that suggests the nearest.
pub fn calculator(name: &str) -> Result<&'static Calculator, TradeError> {
    CALCULATORS.iter().find(|c| c.name == name).ok_or_else(|| TradeError::UnknownCalculator {
        name: name.to_owned(),
        hint: inputs::nearest(name, CALCULATORS.iter().map(|c| c.name)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Typed inputs find their calculator by the keys of their table.
    #[test]
    fn no_two_calculators_share_their_keys() {
        let keys = |c: &Calculator| c.inputs.iter().map(|p| p.key).collect::<Vec<_>>();
        for (i, a) in CALCULATORS.iter().enumerate() {
            for b in &CALCULATORS[..i] {
                assert_ne!(keys(a), keys(b), "{} and {}", a.name, b.name);
            }
        }
    }

    #[test]
    fn typed_inputs_work_like_written_ones() -> Result<(), TradeError> {
        let typed = bosses::InsertInput::from_inputs(&read_inputs(
            calculator("heat-set")?,
            &[("insert_mm", "4.4"), ("length_mm", "5.7"), ("hole_mm", "4.0")]
                .map(|(k, v)| (k.to_owned(), v.to_owned())),
        )?)?;
        let worked = typed.worked()?;
        assert_eq!(
            worked.source,
            calculator("heat-set")?
                .work(&[
                    ("insert_mm".to_owned(), "4.4".to_owned()),
                    ("length_mm".to_owned(), "5.7".to_owned()),
                    ("hole_mm".to_owned(), "4.0".to_owned()),
                ])?
                .source
        );
        assert!(typed.check().is_ok() && !worked.steps.is_empty());
        Ok(())
    }
}
