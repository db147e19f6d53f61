//! What a part states of a body besides its shape, for the checker: where it
//! meets other things and how it should sit there, what is put into it, what
//! bends in use.

use std::sync::Arc;

use super::handed::Handed;
use super::sight::Sight;
use crate::measure::{Vec2, Vec3};
use crate::solid::Solid;
use crate::survey::Chassis;

/// All that a part states of one body.
#[derive(Clone, Debug, Default)]
pub struct Declared {
    /// The surfaces that meet something.
    pub matings: Vec<Mating>,
    /// What is put into the body or what it is put into, as solids.
    pub components: Vec<Component>,
    /// Those that could not be drawn.
    pub undrawn: Vec<Undrawn>,
    /// What bends in use.
    pub bends: Vec<Bend>,
    /// What gets warm beside it.
    pub heats: Vec<Heat>,
    /// The screws that pass it.
    pub screws: Vec<Screw>,
    /// What keeps loose things in it.
    pub kept: Vec<Kept>,
    /// What the owner should know of it.
    pub handed: Vec<Handed>,
    /// The lamp that it hides.
    pub sight: Option<Sight>,
    /// The chassis that somebody else made and that it goes into.
    pub chassis: Option<Arc<Chassis>>,
    /// Which way is up while it is printed, a unit vector; none: +z.
    pub up: Option<Vec3>,
}

impl Declared {
    /// All that either of the two states; the first one's way up counts.
    pub fn joined(mut self, other: Declared) -> Declared {
        self.matings.extend(other.matings);
        self.components.extend(other.components);
        self.undrawn.extend(other.undrawn);
        self.bends.extend(other.bends);
        self.heats.extend(other.heats);
        self.screws.extend(other.screws);
        self.kept.extend(other.kept);
        self.handed.extend(other.handed);
        self.sight = self.sight.or(other.sight);
        self.chassis = self.chassis.or(other.chassis);
        self.up = self.up.or(other.up);
        self
    }
}

/// A surface of the body that meets another thing, with the gap wanted there.
///
/// The gap is a chain of dimensions: positive when the two are apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Mating {
    /// What meets what, for people: "stone in its seat, across".
    pub what: String,
    /// Where to look, mm.
    pub at: Vec3,
    /// The chain that makes the gap.
    pub terms: Vec<Term>,
    /// Below this gap, mm, it binds, or presses harder than it may.
    pub binds_below: f64,
    /// Above this gap, mm, it rattles, or holds less than it must.
    pub rattles_above: Option<f64>,
    /// Path of the job's field that moves the gap, as `part[1].fit`.
    pub field: String,
    /// Where that field is a word: the clearances behind the words.
    pub words: Option<FitWords>,
}

/// The clearances, mm, that the words of a fit stand for.
#[derive(Clone, Debug, PartialEq)]
pub struct FitWords {
    /// Each word with its clearance and the path of the field that has it.
    pub words: Vec<(&'static str, f64, String)>,
    /// Which is chosen, by number.
    pub chosen: usize,
}

/// One dimension in the chain of a gap.
#[derive(Clone, Debug, PartialEq)]
pub struct Term {
    /// What it is, for people: "bore, caliper".
    pub what: String,
    /// Its nominal share of the gap, mm, with sign; 0 for a mere error.
    pub value: f64,
    /// Least and largest departure from `value` in the gap, mm.
    pub reach: (f64, f64),
    /// How its values are spread within the reach.
    pub spread: Spread,
    /// Path of the job's field by which one may be surer of it, as `handle.bore`;
    /// none for what no measuring helps.
    pub field: Option<String>,
}

/// How a term's values are spread within its reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spread {
    /// Anywhere within the reach alike: a limit of error (JCGM 100:2008, 4.3.7).
    Even,
    /// Normal about the middle, the reach being two standard deviations either way.
    Bell,
}

/// A thing that belongs to the body and is not printed with it.
#[derive(Clone, Debug)]
pub struct Component {
    /// Its name, lower case with underscores: `cell`, `stone`, `switch_1`.
    pub name: String,
    /// What it is, for people: "18650 cell, largest".
    pub what: String,
    /// Its solid where it sits, in the handle's frame, at its largest.
    pub solid: Solid,
    /// The way in, as it moves against the body; none for what is not put in
    /// straight, or not past this body.
    pub way: Option<Way>,
    /// How far it may overlap the body on purpose where it sits, mm, in
    /// section: a press fit.
    pub press: f64,
    /// Path of the job's field that moves it, as `part[1].cell`.
    pub field: String,
}

/// A straight way in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Way {
    /// Square to z.
    Across {
        /// The sense of its travel, a unit vector.
        along: Vec2,
        /// How far it travels before it sits, mm.
        travel: f64,
        /// How far the body, or the component, gives way on either side of the
        /// way, mm: what snap lips are bent for.
        aside: f64,
    },
    /// Along z.
    Along {
        /// Whether it travels towards the front.
        up: bool,
        /// How far it travels before it sits, mm.
        travel: f64,
    },
}

impl Way {
    /// The sense of its travel, a unit vector.
    pub fn direction(&self) -> Vec3 {
        match *self {
            Way::Across { along, .. } => Vec3::new(along.x, along.y, 0.0),
            Way::Along { up, .. } => {
                if up {
                    Vec3::z()
                } else {
                    -Vec3::z()
                }
            }
        }
    }

    /// How far it travels, mm.
    pub fn travel(&self) -> f64 {
        match *self {
            Way::Across { travel, .. } | Way::Along { travel, .. } => travel,
        }
    }
}

/// A component whose solid could not be drawn, so that nothing is known of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Undrawn {
    /// Its name.
    pub name: String,
    /// Why.
    pub reason: String,
}

/// A place that bends in use.
#[derive(Clone, Debug, PartialEq)]
pub struct Bend {
    /// What bends, for people: "left lip".
    pub what: String,
    /// Where, mm.
    pub at: Vec3,
    /// Unit direction along which its material is stretched.
    pub along: Vec3,
    /// Largest strain in use, as a share.
    pub strain: f64,
    /// Whether the body's outside in the bore bends with it: nothing may be added
    /// there.
    pub outside: bool,
    /// Path of the job's field that changes it.
    pub field: String,
}

/// A thing that gets warm and touches the body.
#[derive(Clone, Debug, PartialEq)]
pub struct Heat {
    /// What gets warm, for people: "18650 cell at work".
    pub what: String,
    /// Where, mm.
    pub at: Vec3,
    /// How warm it may get, degrees Celsius.
    pub celsius: f64,
    /// What goes wrong when the body gives way: "the lips can let go".
    pub risk: String,
    /// Where the temperature comes from.
    pub source: String,
}

/// A screw that passes the body.
#[derive(Clone, Debug, PartialEq)]
pub struct Screw {
    /// Which, for people: "screw 1".
    pub what: String,
    /// A point of its axis in the middle of what its head clamps, mm.
    pub at: Vec3,
    /// Unit direction of its axis.
    pub axis: Vec3,
    /// Nominal diameter of its thread, mm.
    pub thread: f64,
    /// Diameter of the hole as drawn, mm.
    pub hole: f64,
    /// Path of the job's field that moves it.
    pub field: String,
}

/// What keeps a loose thing in its place.
#[derive(Clone, Debug)]
pub struct Kept {
    /// What is kept, for people: "the stone".
    pub what: String,
    /// Where to look, mm.
    pub at: Vec3,
    /// What keeps it.
    pub hold: Hold,
    /// Path of the job's field that makes it hold better.
    pub field: String,
    /// What to do with it, for people: "a larger overlap".
    pub cure: &'static str,
}

/// How a loose thing is kept.
#[derive(Clone, Debug)]
pub enum Hold {
    /// By glue alone.
    Glue {
        /// Area that is glued, mm2.
        area: f64,
        /// Weight that hangs on it, g.
        grams: f64,
    },
    /// By what stands in its way out.
    Bars(Box<Bars>),
}

/// What stands in the way of a thing that would come out.
#[derive(Clone, Debug)]
pub struct Bars {
    /// The thing where it sits.
    pub solid: Solid,
    /// What holds it, each for people and as a solid: all of them must, for a
    /// thing that is held at one end tips out.
    pub bars: Vec<(String, Solid)>,
    /// The ways out, unit vectors square to z.
    pub out: Vec<Vec2>,
    /// How far it has to go to be out, mm.
    pub travel: f64,
    /// How far it can shift from where it sits, mm.
    pub play: f64,
    /// Its least width, any way it is held, less the narrower way of the opening,
    /// mm: above 0 it cannot pass the opening straight in any attitude.
    pub spare: f64,
    /// Tipped by this angle, degrees, it may come out past the bars, seen from the
    /// side; none if there is no such way.
    pub tips_out: Option<f64>,
}
