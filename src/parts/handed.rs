//! What the owner of a prop should know of a part once it is fitted, for the hand-over card.

/// What it is about, in the order of the card.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Topic {
    /// The cell: its ends, how it comes out.
    Cell,
    /// The switch that cuts the cell off.
    KillSwitch,
    /// What the owner presses; what that does, the job must say.
    Control,
    /// Screws that hold the chassis or the front tube.
    Screw,
    /// The stone and its pixel.
    Light,
    /// The speaker.
    Sound,
    /// What can hurt.
    Caution,
}

impl Topic {
    /// Its heading.
    pub fn words(self) -> &'static str {
        match self {
            Topic::Cell => "The cell",
            Topic::KillSwitch => "The kill switch",
            Topic::Control => "The plungers",
            Topic::Screw => "Screws",
            Topic::Light => "Light",
            Topic::Sound => "Sound",
            Topic::Caution => "Cautions",
        }
    }
}

/// One thing to know.
#[derive(Clone, Debug, PartialEq)]
pub struct Handed {
    /// What it is about.
    pub topic: Topic,
    /// Where along the bore, mm from the end cap.
    pub z: f64,
    /// What to know, as a sentence without its full stop.
    pub text: String,
}

impl Handed {
    pub(super) fn new(topic: Topic, z: f64, text: impl Into<String>) -> Handed {
        Handed { topic, z, text: text.into() }
    }
}

/// A clocking angle, for people.
pub(super) fn clocked(degrees: f64) -> String {
    let turn = degrees.rem_euclid(360.0);
    if !(ALIKE..=360.0 - ALIKE).contains(&turn) {
        return "on the switches' side".to_owned();
    }
    format!("{turn:.0} degrees counter-clockwise from the switches, seen from the front")
}

/// Angles that differ by less are one to a person, degrees. Common practice, no source.
const ALIKE: f64 = 0.5;
