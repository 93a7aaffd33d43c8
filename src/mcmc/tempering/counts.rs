//! How often each move was tried and accepted.

/// One move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ProposalCount {
    /// Its name.
    pub name: &'static str,
    /// Times tried, also where there was nothing to propose.
    pub tried: u64,
    /// Times accepted.
    pub accepted: u64,
}

/// Proposals tried and accepted, in the order in which they were first tried.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    moves: Vec<ProposalCount>,
}

impl Counts {
    /// Notes one try of the move called `name`.
    pub fn note(&mut self, name: &'static str, accepted: bool) {
        self.add(ProposalCount { name, tried: 1, accepted: u64::from(accepted) });
    }

    /// Adds all that `other` counted.
    pub fn merge(&mut self, other: &Self) {
        other.moves.iter().for_each(|&count| self.add(count));
    }

    /// The moves.
    pub fn moves(&self) -> &[ProposalCount] {
        &self.moves
    }

    // A kernel has a handful of moves: looking along them costs less than hashing a name.
    fn add(&mut self, count: ProposalCount) {
        match self.moves.iter_mut().find(|known| known.name == count.name) {
            Some(known) => {
                known.tried += count.tried;
                known.accepted += count.accepted;
            }
            None => self.moves.push(count),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_kept_by_name() {
        let mut counts = Counts::default();
        counts.note("shift", true);
        counts.note("turn", false);
        counts.note("shift", false);
        let mut both = counts.clone();
        both.merge(&counts);
        let shift = ProposalCount { name: "shift", tried: 4, accepted: 2 };
        assert_eq!(both.moves(), [shift, ProposalCount { name: "turn", tried: 2, accepted: 0 }]);
    }
}
