//! What a person wants to know of a scanned stone.

use super::super::super::{Computed, Message, Severity};
use super::{Facts, SPARE, STATIONS};
use crate::measure::Unit;

/// Turns that differ by less, degrees, are one.
const SAME_TURN: f64 = 1.0;

impl Facts {
    /// Rows of the report.
    pub fn computed(&self) -> Vec<Computed> {
        let mut out = Vec::new();
        let mut row = |key: &str, what: &str, value: f64, unit| {
            out.push(Computed::new(key, what, value, unit));
        };
        row("scan_triangles", "triangles of the scanned stone", self.triangles as f64, Unit::One);
        row("scan_volume", "volume of the scanned stone", self.volume, Unit::Mm3);
        for (name, axis, middle) in [
            ("x", self.axis.x, self.middle.x),
            ("y", self.axis.y, self.middle.y),
            ("z", self.axis.z, self.middle.z),
        ] {
            let what = format!("stone's axis towards the front, {name} in the file");
            row(&format!("scan_axis_{name}"), &what, axis, Unit::One);
            let what = format!("stone's centre of mass, {name} in the file");
            row(&format!("scan_middle_{name}"), &what, middle, Unit::Mm);
        }
        row("scan_turn", "how far the stone is turned", self.turn, Unit::Degrees);
        row("deepest_turn", "turn in which it seats deepest", self.deepest.0, Unit::Degrees);
        row("deepest_below", "its lowest place under its axis then", self.deepest.1, Unit::Mm);
        row("widest_turn", "turn that shows its widest facet", self.widest.0, Unit::Degrees);
        row("widest_facet", "mean width of that facet", self.widest.1, Unit::Mm);
        for (k, [at, across, upright]) in self.stations.iter().enumerate() {
            let k = k + 1;
            let what = format!("station {k} of {}: from the stone's low end", STATIONS.len());
            row(&format!("scan_{k}_at"), &what, *at, Unit::Mm);
            row(&format!("scan_{k}_width"), "its width across", *across, Unit::Mm);
            row(&format!("scan_{k}_height"), "its height", *upright, Unit::Mm);
        }
        row("scan_excess", "what fitted sections have beyond the scan", self.excess, Unit::Mm);
        row("scan_spare", "what the seat has beyond the clearance for it", SPARE, Unit::Mm);
        out
    }

    /// What the person should know.
    pub fn messages(&self) -> Vec<Message> {
        let mut out = Vec::new();
        let mut say = |severity, text: String, hint: &str| {
            out.push(Message { severity, text, hint: Some(hint.into()) });
        };
        if self.left_out > 0 {
            say(
                Severity::Note,
                format!(
                    "{} of the scan's triangles are no part of the stone's own surface, and were \
                     left out",
                    self.left_out
                ),
                "look at the scan: only the largest closed piece of it is held",
            );
        }
        if self.turned_over {
            say(
                Severity::Note,
                "the scan was inside out and was turned over".into(),
                "compare the stations with the caliper",
            );
        }
        let [at, across, upright] = self.stations[self.stations.len() / 2];
        say(
            Severity::Note,
            format!(
                "the scan is {across:.2} mm across and {upright:.2} mm high in the middle, {at:.2} \
                 mm from its low end"
            ),
            "measure the stone there before you print: a scan in the wrong unit or scale looks right",
        );
        if (self.widest.0 - self.turn).abs() > SAME_TURN {
            say(
                Severity::Note,
                format!(
                    "turned by {:.1} degrees the stone seats deepest; by {:.1} it shows its widest \
                     facet, {:.2} mm wide; it is turned by {:.1}",
                    self.deepest.0, self.widest.0, self.widest.1, self.turn
                ),
                "scan_turn chooses the turn",
            );
        }
        out
    }
}
