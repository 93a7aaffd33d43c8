//! Changes to a zoning that are worth a look: one head, a lone head for another, a group that stands apart, and two
//! whole zones for each other.
//!
//! One head at a time cannot carry a group from zone to zone (the first to go leaves its company behind) and cannot
//! give a name that two zones share on paper to the other; hence the last two.

use super::score::{Judge, ProposalKind, State};
use crate::geometry::{Point, nearest};

/// A head may change to the zones of this many nearest heads, and to those that a note speaks of. Numerical choice: on
/// a square grid, every head within two spacings.
const NEAR: usize = 12;

/// A group stands apart where the run that ties it to its zone is longer than this many spacings. Numerical choice: on
/// a square grid, longer than a diagonal.
const APART: f64 = 1.5;

/// Where to look for moves on one site.
pub struct Proposals {
    /// For each head, its nearest heads.
    near: Vec<Vec<usize>>,
    /// For each head, the zones that some note speaks of.
    noted: Vec<Vec<usize>>,
    /// Runs below this log weight tie groups that stand apart.
    apart: f64,
}

impl Proposals {
    /// The moves on a site with heads at these places.
    pub fn new(judge: &Judge, at: &[Point], length_rate: f64) -> Self {
        let noted = |head: usize| {
            let raised =
                judge.prior.notes.tests.iter().filter(|test| test.up[head]).flat_map(|test| &test.zones);
            judge.prior.notes.written[head].iter().chain(raised).copied().collect()
        };
        Self {
            near: nearest(at, NEAR),
            noted: (0..at.len()).map(noted).collect(),
            apart: -length_rate * (APART - 1.0),
        }
    }

    /// Each head alone to each zone it may change to; a head that is alone on its zone changes places with another.
    pub fn singles(&self, state: &State) -> Vec<ProposalKind> {
        let mut moves = Vec::new();
        for (head, &from) in state.zone_of.iter().enumerate() {
            for to in self.open(state, &[head]) {
                if state.members[from].len() > 1 {
                    moves.push(vec![(head, to)]);
                } else {
                    moves.extend(state.members[to].iter().map(|&other| vec![(head, to), (other, from)]));
                }
            }
        }
        moves
    }

    /// Groups that stand apart, and pairs of whole zones.
    pub fn wholes(&self, judge: &Judge, state: &State) -> Vec<ProposalKind> {
        let mut moves = Vec::new();
        for members in &state.members {
            for group in self.groups(judge, members) {
                let open = self.open(state, &group);
                moves.extend(
                    open.into_iter().map(|to| group.iter().map(|&head| (head, to)).collect::<ProposalKind>()),
                );
            }
        }
        for b in 1..state.members.len() {
            for a in 0..b {
                let to = |from: usize, to: usize| state.members[from].iter().map(move |&head| (head, to));
                moves.push(to(a, b).chain(to(b, a)).collect());
            }
        }
        moves
    }

    /// Zones that heads of one zone may change to, ascending.
    fn open(&self, state: &State, heads: &[usize]) -> Vec<usize> {
        let near = heads.iter().flat_map(|&head| &self.near[head]).map(|&other| state.zone_of[other]);
        let noted = heads.iter().flat_map(|&head| &self.noted[head]).copied();
        let bare = (0..state.members.len()).filter(|&zone| state.members[zone].is_empty());
        let mut open: Vec<usize> = near.chain(noted).chain(bare).collect();
        open.sort_unstable();
        open.dedup();
        open.retain(|&zone| heads.iter().any(|&head| state.zone_of[head] != zone));
        open
    }

    /// Both sides of each long run of the zone's tree of shortest runs (Prim's algorithm).
    fn groups(&self, judge: &Judge, members: &[usize]) -> Vec<Vec<usize>> {
        let Some((&first, rest)) = members.split_first() else { return Vec::new() };
        let run = |a: usize, b: usize| judge.prior.fit.run(a, b);
        let mut order = vec![first];
        let mut parent: Vec<Option<usize>> = vec![None]; // by place in `order`
        let mut weak = Vec::new();
        // Heads not in the tree yet, each with its heaviest run to the tree and where in `order` that run ends.
        let mut fresh: Vec<(usize, f64, usize)> = rest.iter().map(|&b| (b, run(first, b), 0)).collect();
        while let Some(next) = (0..fresh.len()).max_by(|&x, &y| fresh[x].1.total_cmp(&fresh[y].1)) {
            let (head, heaviest, from) = fresh.remove(next);
            let place = order.len();
            if heaviest < self.apart {
                weak.push(place);
            }
            parent.push(Some(from));
            order.push(head);
            for (b, heaviest, from) in &mut fresh {
                let log = run(head, *b);
                if log >= *heaviest {
                    (*heaviest, *from) = (log, place);
                }
            }
        }
        let mut groups = Vec::new();
        for cut in weak {
            let mut beyond = vec![false; order.len()];
            for k in cut..order.len() {
                beyond[k] = k == cut || parent[k].is_some_and(|from| beyond[from]);
            }
            for side in [true, false] {
                groups.push((0..order.len()).filter(|&k| beyond[k] == side).map(|k| order[k]).collect());
            }
        }
        groups
    }
}
