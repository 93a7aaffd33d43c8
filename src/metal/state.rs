//! A whole explanation of the items: which lie on which line, which flags are stray, and what all lines share.

use super::line::{Leg, Line};
use super::model::{LegKind, Model, Shared};
use std::sync::Arc;

/// An explanation.
#[derive(Clone, Debug)]
pub struct State {
    /// The lines; their order means nothing.
    pub lines: Vec<Arc<Line>>,
    /// What they share.
    pub shared: Shared,
    /// `ln` of the density of all, up to a constant.
    pub log_density: f64,
}

impl State {
    /// An explanation whose density is worked out.
    pub fn new(model: &Model, lines: Vec<Arc<Line>>, shared: Shared) -> Self {
        let log_density = log_density(model, &lines, shared);
        Self { lines, shared, log_density }
    }

    /// Every flag stray, every other item on a line of its own by mark and service.
    pub fn apart(model: &Model, shared: Shared) -> Self {
        let mut lines = Vec::new();
        let alone = |items: &[u16]| {
            let leg = Leg { kind: LegKind::Any, items: items.to_vec() };
            Line::new(model, vec![leg], shared).map(Arc::new)
        };
        for (item, it) in model.evidence.items.iter().enumerate() {
            let item = item as u16;
            if !it.is_flag() && !model.blocks.iter().any(|block| block.contains(&item)) {
                lines.extend(alone(&[item]));
            }
        }
        lines.extend(model.blocks.iter().filter_map(|block| alone(block)));
        Self::new(model, lines, shared)
    }

    /// The line that each item is on; `None`: stray.
    pub fn places(&self, items: usize) -> Vec<Option<usize>> {
        let mut places = vec![None; items];
        for (line, it) in self.lines.iter().enumerate() {
            it.items().for_each(|item| places[item as usize] = Some(line));
        }
        places
    }

    /// The same with these lines in the place of those with these indices (ascending).
    pub(super) fn with(
        &self,
        model: &Model,
        without: &[usize],
        lines: impl IntoIterator<Item = Line>,
    ) -> Self {
        let kept = self.lines.iter().enumerate().filter(|(k, _)| !without.contains(k));
        let mut all: Vec<Arc<Line>> = kept.map(|(_, line)| line.clone()).collect();
        all.extend(lines.into_iter().map(Arc::new));
        Self::new(model, all, self.shared)
    }

    /// The same lines where something that they share, the bearing apart, is another; `None` where legs then do not meet as
    /// bends do.
    pub(super) fn at(&self, model: &Model, shared: Shared) -> Option<Self> {
        let again = |line: &Arc<Line>| Line::new(model, line.legs.clone(), shared).map(Arc::new);
        let lines = self.lines.iter().map(again).collect::<Option<Vec<_>>>()?;
        Some(Self::new(model, lines, shared))
    }
}

/// `ln` of the density of an explanation: lines, strays, equal names, the order of the list, what is shared.
fn log_density(model: &Model, lines: &[Arc<Line>], shared: Shared) -> f64 {
    let evidence = &model.evidence;
    let mut log: f64 = lines.iter().map(|line| line.log_density).sum();
    for (k, line) in lines.iter().enumerate() {
        let same = |other: &Arc<Line>| line.name.is_some() && other.name == line.name;
        log += lines[..k].iter().filter(|other| same(other)).count() as f64 * evidence.law.same_name.ln();
    }
    log += strays(model, lines) + walk(model, lines);
    log + evidence.bearings[shared.bearing].1.ln()
}

/// Strays: a Poisson number whose mean has a gamma prior, summed over; each anywhere, under any name.
fn strays(model: &Model, lines: &[Arc<Line>]) -> f64 {
    let evidence = &model.evidence;
    let count = evidence.flags - lines.iter().map(|line| line.flags).sum::<usize>();
    let mut log = model.log_strays(count);
    if evidence.names > 0 {
        let is_named =
            |item: u16| (item as usize) < evidence.flags && evidence.items[item as usize].name.is_some();
        let on: usize = lines.iter().map(|line| line.items().filter(|item| is_named(*item)).count()).sum();
        let all = (0..evidence.flags as u16).filter(|item| is_named(*item)).count();
        log -= (all - on) as f64 * model.log_names;
    }
    log
}

/// How much likelier the list's order is where its flags may have been set in walking order, over any order: a walk goes on
/// to the next flag of its line unless it jumps, and meets strays on its way as if drawn from those that are left.
fn walk(model: &Model, lines: &[Arc<Line>]) -> f64 {
    let (flags, law) = (model.evidence.flags, &model.evidence.law);
    if flags < 3 || law.in_order == 0.0 {
        return 0.0;
    }
    const NONE: u32 = u32::MAX;
    let mut beside = vec![[NONE; 2]; flags];
    let mut on = vec![false; flags];
    for line in lines {
        let mut before = NONE;
        for item in line.items().filter(|item| (*item as usize) < flags).map(u32::from) {
            on[item as usize] = true;
            if before != NONE {
                beside[item as usize][0] = before;
                beside[before as usize][1] = item;
            }
            before = item;
        }
    }
    let (mut log, mut last) = (0.0, NONE);
    let mut left = on.iter().filter(|on| **on).count();
    for flag in (0..flags).filter(|flag| on[*flag]) {
        let anywhere = 1.0 / left as f64;
        if last != NONE {
            let open = beside[last as usize].iter().filter(|b| **b != NONE && **b >= flag as u32).count();
            let next = beside[last as usize].contains(&(flag as u32));
            let p = match (open, next) {
                (0, _) => anywhere,
                (open, true) => (1.0 - law.jump) / open as f64 + law.jump * anywhere,
                (_, false) => law.jump * anywhere,
            };
            log += (p / anywhere).ln();
        }
        last = flag as u32;
        left -= 1;
    }
    // Mixture of an ordered list and of any order.
    let (a, b) = (law.in_order.ln() + log, (1.0 - law.in_order).ln());
    let top = a.max(b);
    top + ((a - top).exp() + (b - top).exp()).ln()
}
