//! What is open about metal lines, as questions that every draw answers with yes or no, and the one that a pass settles best.

use super::passes::settles;
use crate::geometry::Footprint;
use crate::inference::Layouts;
use crate::layout::MetalLine;
use std::sync::Arc;

/// What a pass settles. Lines are numbered as in the table of lines that the engine gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    /// Whether a line runs here.
    RunsHere(usize),
    /// Whether a line leads to a fixture: its place among sources, outlets and valve boxes, in this order.
    LeadsTo(usize, usize),
    /// Whether two lines are one.
    AreOne(usize, usize),
    /// Whether a line is there at all.
    IsThere(usize),
    /// Whether any metal runs here.
    Metal,
}

/// The lines of every draw by the table's lines, and what is open about these.
pub struct Questions<'a> {
    draws: Vec<&'a [Arc<MetalLine>]>,
    /// For each of the table's lines and each draw, the drawn line that shares most of its items.
    matched: Vec<Vec<Option<usize>>>,
    fixtures: usize,
}

impl<'a> Questions<'a> {
    /// What is open about the metal of these layouts.
    pub fn new(layouts: &'a Layouts) -> Self {
        let draws: Vec<&[Arc<MetalLine>]> = layouts.draws().iter().map(|draw| &*draw.metal).collect();
        let lines = layouts.metal().map_or_else(Vec::new, |metal| metal.summary(&draws).lines);
        let shared = |items: &[usize], line: &MetalLine| {
            line.items.iter().filter(|item| items.contains(&usize::from(**item))).count()
        };
        let best = |items: &[usize], lines: &[Arc<MetalLine>]| {
            let counts = lines.iter().map(|line| shared(items, line)).enumerate();
            counts
                .filter(|(_, count)| *count > 0)
                .max_by_key(|(k, count)| (*count, usize::MAX - k))
                .map(|it| it.0)
        };
        let matched =
            lines.iter().map(|line| draws.iter().map(|drawn| best(&line.items, drawn)).collect()).collect();
        let site = layouts.site();
        let fixtures = site.sources.len() + site.outlets.len() + site.valve_boxes.len();
        Self { draws, matched, fixtures }
    }

    /// The question that a pass over this ground settles best, and the bits that it tells about it. Whether some line runs under
    /// the ground itself comes last: whatever else is settled says more.
    pub fn best(&self, ground: &Footprint, sounds: &[f64]) -> (Question, f64) {
        let lines = self.matched.len();
        let here = |line: &MetalLine| line.path.windows(2).any(|ends| ground.meets_segment(ends[0], ends[1]));
        let drawn = |k: usize, d: usize| self.matched[k][d].map(|line| &*self.draws[d][line]);
        let ask = |answer: &dyn Fn(usize) -> bool| {
            settles(sounds, &(0..self.draws.len()).map(answer).collect::<Vec<bool>>())
        };
        let mut best = (Question::Metal, 0.0);
        let mut tell = |question, bits: f64| {
            // A gain in rounding is none.
            if bits > best.1 + 1e-9 {
                best = (question, bits);
            }
        };
        for k in 0..lines {
            for fixture in 0..self.fixtures {
                let leads = |d: usize| drawn(k, d).is_some_and(|line| line.fixtures.contains(&fixture));
                tell(Question::LeadsTo(k, fixture), ask(&leads));
            }
            for other in k + 1..lines {
                let one =
                    |d: usize| self.matched[k][d].is_some() && self.matched[k][d] == self.matched[other][d];
                tell(Question::AreOne(k, other), ask(&one));
            }
            tell(Question::IsThere(k), ask(&|d| self.matched[k][d].is_some()));
        }
        // Of what runs here the pass tells most by its nature: it is named where nothing else is settled nearly as well.
        let mut under = (Question::Metal, 0.0);
        for k in 0..lines {
            let bits = ask(&|d| drawn(k, d).is_some_and(here));
            if bits > under.1 {
                under = (Question::RunsHere(k), bits);
            }
        }
        if best.1 < NEARLY * under.1 { under } else { best }
    }
}

/// A pass is said to settle more than what lies under it where it tells at least so much of the bits of that. Design.
const NEARLY: f64 = 0.5;
