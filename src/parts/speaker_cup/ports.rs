//! The sound ports: which diameter, how many, where.

use super::plan::Misfit;
use super::spec::Spec;
use crate::measure::Vec2;
use crate::section::Region;
use crate::trade::TradeError;
use crate::trade::sound::{SoundInput, SoundPorts, sound_ports};

/// Diameters that are tried where none is asked for, mm, best first. Common
/// practice, no source.
const PORTS: [f64; 9] = [2.0, 1.5, 2.5, 3.0, 1.0, 3.5, 4.0, 5.0, 6.0];

/// The ports in the wall.
#[derive(Clone, Debug)]
pub(super) struct Ports {
    pub input: SoundInput,
    pub out: SoundPorts,
    /// Diameter as drawn, mm: what the printer takes off is added.
    pub drawn: f64,
    /// Their middles, mm.
    pub centres: Vec<Vec2>,
}

impl Ports {
    /// Ports around `centre` in a wall before an opening that is `2 half` mm
    /// wide and as much longer than wide as the speaker.
    pub(super) fn new(spec: &Spec, centre: Vec2, half: f64) -> Result<Ports, Misfit> {
        let tried: Vec<f64> = match spec.port {
            Some(port) => vec![port],
            None => PORTS.into_iter().filter(|p| *p >= spec.hole_min).collect(),
        };
        let mut most: Option<(f64, f64)> = None;
        for port in tried {
            match placed(spec, half, port, spec.open_share) {
                Ok((input, out)) => {
                    let drawn = port + spec.hole_shrink;
                    let centres =
                        out.centres_mm.iter().map(|[x, y]| centre + Vec2::new(*x, *y)).collect();
                    return Ok(Ports { input, out, drawn, centres });
                }
                Err(TradeError::Refused { max, .. }) if most.is_none_or(|m| max > m.0) => {
                    most = Some((max, port));
                }
                Err(_) => {}
            }
        }
        Err(Misfit::Ports { most })
    }

    /// The section of all ports.
    pub(super) fn region(&self) -> Region {
        let disc = |c: &Vec2| Region::disc(*c, 0.5 * self.drawn);
        self.centres.iter().fold(Region::empty(), |all, c| all.union(&disc(c)))
    }
}

/// The pattern for ports of a diameter and a share, mm and percent. The printer
/// makes drawn holes smaller: walls are as wide as asked for beside drawn ones.
fn placed(
    spec: &Spec,
    half: f64,
    port: f64,
    share: f64,
) -> Result<(SoundInput, SoundPorts), TradeError> {
    let oval = spec.speaker.straight > 0.0;
    let input = SoundInput {
        speaker_mm: spec.speaker.cone,
        plate_mm: Some(2.0 * half),
        oval_mm: oval.then_some(2.0 * spec.speaker.straight),
        open_percent: share,
        port_mm: port,
        web_mm: spec.web + spec.hole_shrink,
    };
    sound_ports(&input).map(|out| (input, out))
}
