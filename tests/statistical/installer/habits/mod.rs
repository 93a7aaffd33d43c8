//! Piping habits. Each file is one way in which crews join the heads of a zone to its valve; each says what practice it
//! stands for and whether it lies outside both routing families of the engine (`direct`, a random tree along heads, and
//! `header`, one straight header on a grid axis with drops). Shares are common practice, no source:
//! python/docs/trade-values.md,
//! 3.18 names daisy chain, centre spine and split as in use and gives no frequencies (section 9, gaps).

mod beside;
mod comb;
mod daisy;
mod detour;
mod lazy;
mod rows;
mod spine;
mod split;
mod tees;
mod two_headers;

use super::coverage::SetHead;
use super::dice::Dice;
use super::ways::Ways;
use crate::plane::{Xy, nearest_on_path};

/// What a crew has before it when it starts to trench one zone.
pub struct Zone<'a> {
    pub valve: Xy,
    pub heads: Vec<&'a SetHead>,
    /// Where the pipe is tapped for each head: at the head, or a little aside of it (swing pipe).
    pub taps: Vec<Xy>,
    pub panels: &'a [Vec<Xy>],
    pub ways: &'a Ways,
}

impl Zone<'_> {
    /// The throw most heads have: what "one spacing" means in this zone.
    pub fn spacing(&self) -> f64 {
        self.heads.iter().map(|h| h.radius_m).sum::<f64>() / self.heads.len() as f64
    }
    pub fn trench(&self, a: Xy, b: Xy, dice: &mut Dice) -> Pipe {
        Pipe { path: self.ways.trench(a, b, dice), part: Part::Run }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Pipe between heads, or from a header to a head.
    Run,
    /// The larger pipe that others branch from.
    Header,
    /// Pipe from the valve to the rest, or between headers, of the larger size too.
    Link,
    /// Flexible pipe from the lateral up to one head.
    Swing,
}

/// One trenched pipe of a lateral.
pub struct Pipe {
    pub path: Vec<Xy>,
    pub part: Part,
}

/// A habit: its name, its share among crews, whether it lies outside both families, and how it is done. `pipe` gives
/// nothing where the ground does not allow the habit.
pub struct Habit {
    pub name: &'static str,
    pub share: f64,
    pub outside: bool,
    /// Whether the habit brings its own swing pipes.
    pub swings: bool,
    pub pipe: fn(&Zone, &mut Dice) -> Option<Vec<Pipe>>,
}

const fn habit(
    name: &'static str,
    share: f64,
    outside: bool,
    pipe: fn(&Zone, &mut Dice) -> Option<Vec<Pipe>>,
) -> Habit {
    Habit { name, share, outside, swings: false, pipe }
}

/// What a crew does where its habit does not fit the ground: the shortest way.
pub const WHEN_NOTHING_FITS: usize = 3;

pub const HABITS: [Habit; 9] = [
    habit("daisy chain", 0.15, false, daisy::pipe),
    habit("centre spine", 0.14, false, spine::pipe),
    habit("row comb", 0.12, false, comb::pipe),
    habit("shortest, with detours", 0.10, false, detour::pipe),
    habit("split at the valve", 0.12, true, split::pipe),
    Habit { swings: true, ..habit("beside the heads", 0.14, true, beside::pipe) },
    habit("two headers", 0.08, true, two_headers::pipe),
    habit("tees in the open", 0.07, true, tees::pipe),
    habit("lazy diagonals", 0.08, true, lazy::pipe),
];

/// The nearest point of pipe laid so far.
pub fn nearest_pipe(p: Xy, laid: &[Pipe]) -> Option<Xy> {
    laid.iter().map(|l| nearest_on_path(p, &l.path)).min_by(|a, b| a.1.total_cmp(&b.1)).map(|(q, _)| q)
}

/// Links of a minimal tree over `n` nodes at given distances, grown from node 0 (Prim's method).
pub fn shortest_tree(n: usize, distance: impl Fn(usize, usize) -> f64) -> Vec<(usize, usize)> {
    let mut best: Vec<(f64, usize)> = (0..n).map(|i| (distance(0, i), 0)).collect();
    let mut left: Vec<usize> = (1..n).collect();
    let mut links = Vec::new();
    while let Some(k) = (0..left.len()).min_by(|&a, &b| best[left[a]].0.total_cmp(&best[left[b]].0)) {
        let v = left.swap_remove(k);
        links.push((best[v].1, v));
        for &u in &left {
            let d = distance(v, u);
            if d < best[u].0 {
                best[u] = (d, v);
            }
        }
    }
    links
}
