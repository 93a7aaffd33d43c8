//! What cuts and joins turned out to gain, by the two items at the joint: kept while warming up, and used by the guesses of both.
//!
//! A guess from the legs beside a joint knows nothing of where ends lead, of bends further back, of names in the list. The same few
//! joints are asked about again and again, so what came of them puts the guess right. It is a figure for two items, fixed once chains
//! are kept, so the choice of a joint leaves the law as it is.

/// Figures for joints; of cuts, and of joins.
#[derive(Clone, Debug)]
pub(super) struct Learnt {
    items: usize,
    /// For each pair of items, and for a cut between them or a join of them: trials, and the sum over them of the factor by which the
    /// guess was too low.
    seen: Vec<[(f64, f64); 2]>,
    /// The same of all that were pooled with it before.
    others: Vec<[(f64, f64); 2]>,
    /// `ln` of the mean over both.
    log: Vec<[f64; 2]>,
    /// Whether more is learnt.
    pub(super) goes_on: bool,
}

/// A joint is cut, or joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Joint {
    Cut,
    Joined,
}

/// So many trials count as many as what is known before any. Numerical choice.
const PRIOR: f64 = 0.5;

/// No trial puts a guess up by more, in `ln`. Numerical choice.
const MOST: f64 = 20.0;

impl Learnt {
    pub(super) fn new(items: usize) -> Self {
        let pairs = items * items;
        let none = vec![[(0.0, 0.0); 2]; pairs];
        Self { items, seen: none.clone(), others: none, log: vec![[0.0; 2]; pairs], goes_on: false }
    }

    fn at(&self, a: u16, b: u16) -> usize {
        usize::from(a.min(b)) * self.items + usize::from(a.max(b))
    }

    /// `ln` of the factor on a guess.
    pub(super) fn log(&self, joint: Joint, a: u16, b: u16) -> f64 {
        self.log[self.at(a, b)][joint as usize]
    }

    /// A trial, and by how much its guess was too low, in `ln`; minus infinity where nothing could be made.
    pub(super) fn tried(&mut self, joint: Joint, a: u16, b: u16, log: f64) {
        if !self.goes_on {
            return;
        }
        let at = self.at(a, b);
        let seen = &mut self.seen[at][joint as usize];
        *seen = (seen.0 + 1.0, seen.1 + log.min(MOST).exp());
        self.log[at][joint as usize] = mean(sum(*seen, self.others[at][joint as usize]));
    }

    /// What all of them learnt together.
    pub(super) fn pool<'a>(all: impl Iterator<Item = &'a Self>) -> Option<Vec<[(f64, f64); 2]>> {
        let mut pooled: Option<Vec<[(f64, f64); 2]>> = None;
        for one in all {
            let pooled = pooled.get_or_insert_with(|| one.others.clone());
            for (all, own) in pooled.iter_mut().zip(&one.seen) {
                *all = [sum(all[0], own[0]), sum(all[1], own[1])];
            }
        }
        pooled
    }

    /// What was pooled is known from now on.
    pub(super) fn adopt(&mut self, pooled: &[[(f64, f64); 2]]) {
        self.others.clone_from_slice(pooled);
        self.seen.fill([(0.0, 0.0); 2]);
        self.log = pooled.iter().map(|seen| seen.map(mean)).collect();
    }
}

fn sum(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0 + b.0, a.1 + b.1)
}

fn mean((count, sum): (f64, f64)) -> f64 {
    ((sum + PRIOR) / (count + PRIOR)).ln()
}
