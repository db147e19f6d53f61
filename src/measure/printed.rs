//! Sizes of a print that a caliper can read.

/// An axis of the printer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// Along x of the bed.
    X,
    /// Along y of the bed.
    Y,
    /// Upright.
    Z,
}

impl Axis {
    /// All three, in order.
    pub const ALL: [Axis; 3] = [Axis::X, Axis::Y, Axis::Z];
    /// Their words, in order.
    pub const WORDS: &'static [&'static str] = &["x", "y", "z"];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }

    /// The axis of a word.
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|axis| axis.word() == word)
    }
}

/// What was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measured {
    /// From outside to outside.
    Outside,
    /// From inside to inside of a slot or pocket.
    Gap,
    /// Diameter of an upright round hole.
    Hole,
    /// From outside to outside, on the layer that lay on the bed.
    FirstLayer,
}

impl Measured {
    /// All of them, in order.
    pub const ALL: [Measured; 4] =
        [Measured::Outside, Measured::Gap, Measured::Hole, Measured::FirstLayer];
    /// Their words, in order.
    pub const WORDS: &'static [&'static str] = &["outside", "gap", "hole", "first_layer"];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }

    /// The thing of a word.
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|what| what.word() == word)
    }

    /// Whether the jaws of the caliper that open outwards read it.
    pub fn inside_jaws(self) -> bool {
        matches!(self, Measured::Gap | Measured::Hole)
    }
}

/// How a size of a print is read.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// What is read.
    pub what: Measured,
    /// Along which axis of the printer, the body standing as it is printed; none
    /// for what is round and read across both x and y.
    pub axis: Option<Axis>,
    /// Where the jaws go, for people.
    pub at: String,
}
