//! Disjoint sets.

/// Sets of numbers that are joined over time (Galler and Fischer 1964, with
/// path halving). The root of a set is its smallest number.
#[derive(Clone, Debug, Default)]
pub(super) struct Union {
    parents: Vec<u32>,
}

impl Union {
    /// Sets of one number each, from 0.
    pub(super) fn of(count: usize) -> Union {
        Union { parents: (0..count as u32).collect() }
    }

    /// A new set with one number, which is returned.
    pub(super) fn push(&mut self) -> u32 {
        let number = self.parents.len() as u32;
        self.parents.push(number);
        number
    }

    /// The root of a number's set.
    pub(super) fn find(&mut self, mut i: u32) -> u32 {
        while self.parents[i as usize] != i {
            let up = self.parents[self.parents[i as usize] as usize];
            self.parents[i as usize] = up;
            i = up;
        }
        i
    }

    /// Joins two sets and gives the root.
    pub(super) fn join(&mut self, a: u32, b: u32) -> u32 {
        let (a, b) = (self.find(a), self.find(b));
        let (root, other) = (a.min(b), a.max(b));
        self.parents[other as usize] = root;
        root
    }
}
