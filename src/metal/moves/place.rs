//! One item, or all points of a mark, is taken out and put back anywhere it may lie, each place by its share of the law (Gibbs).
//!
//! Places are worked out from what is left when the item is gone, so that they are the same whichever place it came from: it
//! may be stray, a line of its own, on a leg that runs near it, or on a new leg at an end of a line near it. An item alone on a
//! leg between two others stays: without it those would have to meet.

use super::{Rates, Tried, accept};
use crate::metal::line::{Leg, Line};
use crate::metal::model::{LegKind, Model};
use crate::metal::state::State;
use rand::{Rng, RngExt};

/// A leg is asked where the item lies no further aside than so many metres and standard deviations, or beyond its ends than
/// so many metres. Numerical choices: what lies further has a chance below exp(-8).
const ASIDE_M: f64 = 1.0;
const ASIDE_SD: f64 = 6.0;
const BEYOND_M: f64 = 20.0;
const NEAR_ENDS_M: f64 = 15.0;

/// Where an item may lie, and `ln` of the density of what is touched by it.
struct Place {
    /// The line of what is left that takes it, with what becomes of that line; `None`, `None`: stray.
    line: Option<usize>,
    made: Option<Line>,
    log: f64,
}

pub(super) fn items(
    model: &Model,
    state: &mut State,
    beta: f64,
    rates: &mut Rates,
    counts: &mut Tried,
    rng: &mut impl Rng,
) {
    for item in 0..model.evidence.items.len() {
        if rng.random::<f64>() < rates.item[item] {
            let before = counts.taken;
            place(model, state, &[item as u16], beta, counts, rng);
            rates.seen[item].0 += 1.0;
            rates.seen[item].1 += (counts.taken - before) as f64;
        }
    }
    // The points of a mark lie on one line: they are also taken together.
    for block in &model.blocks {
        if rng.random::<f64>() < BLOCKS {
            place(model, state, block, beta, counts, rng);
        }
    }
}

/// Items that lie nowhere near their leg are not asked above, since they would not be put back there: any item is taken off any
/// leg, or put on any, by Metropolis and Hastings.
pub(super) fn off_or_on(model: &Model, state: &mut State, beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    let single = model.evidence.items.len();
    let k = rng.random_range(0..single + model.blocks.len());
    let own = [k as u16];
    let items = if k < single { &own[..] } else { &model.blocks[k - single] };
    match moved(model, state, items, rng) {
        Some((to, log_ratio)) => accept(state, Some(to), log_ratio, beta, counts, rng),
        None => counts.count(false),
    }
}

fn moved(model: &Model, state: &State, items: &[u16], rng: &mut impl Rng) -> Option<(State, f64)> {
    let is_flag = model.evidence.items[items[0] as usize].is_flag();
    let left = Left::new(model, state, items)?;
    let legs =
        |left: &Left| -> usize { left.all(state).iter().map(|k| left.line(state, *k).legs.len()).sum() };
    let count = legs(&left);
    let kinds = LegKind::ALL.len();
    // Away: stray for a flag, a line of its own of any kind for others.
    let ways_away = if is_flag { 1.0 } else { kinds as f64 };
    let is_away = match left.from {
        None => true,
        Some(from) => !is_flag && left.rest.is_none() && state.lines[from].legs.len() == 1,
    };
    if is_away {
        if count == 0 {
            return None;
        }
        let mut chosen = rng.random_range(0..count);
        for k in left.all(state) {
            let line = left.line(state, k);
            if chosen < line.legs.len() {
                let mut legs = line.legs.clone();
                legs[chosen].items.extend(items);
                let made = Line::new(model, legs, state.shared)?;
                let to = left.state(model, state, Some(k), Some(made));
                return Some((to, (count as f64).ln() - ways_away.ln()));
            }
            chosen -= line.legs.len();
        }
        return None;
    }
    let from = left.from?;
    let rest = left.rest.as_ref()?;
    if rest.legs.len() != state.lines[from].legs.len() {
        return None; // alone on its leg: it would not come back to it
    }
    let made = if is_flag {
        None
    } else {
        let kind = LegKind::ALL[rng.random_range(0..kinds)];
        Some(Line::new(model, vec![Leg { kind, items: items.to_vec() }], state.shared)?)
    };
    let to = left.state(model, state, None, made);
    Some((to, ways_away.ln() - (count as f64).ln()))
}

/// Chance that a sweep asks a mark as a whole. Numerical choice.
const BLOCKS: f64 = 0.3;

fn place(model: &Model, state: &mut State, items: &[u16], beta: f64, counts: &mut Tried, rng: &mut impl Rng) {
    let Some(left) = Left::new(model, state, items) else { return };
    let mut places: Vec<Place> = Vec::new();
    let it = &model.evidence.items[items[0] as usize];
    if it.is_flag() {
        let log = model.log_strays(left.strays + 1) - if it.name.is_some() { model.log_names } else { 0.0 };
        places.push(Place { line: None, made: None, log });
    }
    let on = model.log_strays(left.strays);
    let mut add = |line: Option<usize>, legs: Vec<Leg>| {
        if let Some(made) = Line::new(model, legs, state.shared) {
            let before = line.map_or(0.0, |line| left.line(state, line).log_density);
            let log = on + made.log_density - before;
            places.push(Place { line, made: Some(made), log });
        }
    };
    for kind in LegKind::ALL {
        add(None, vec![Leg { kind, items: items.to_vec() }]);
    }
    for k in left.all(state) {
        for legs in with(model, left.line(state, k), items, state.shared.scale) {
            add(Some(k), legs);
        }
    }
    // The place that it came from must be among them, else the way back would be missing.
    let here = places.iter().position(|place| left.is_here(state, place));
    let Some(here) = here else { return };
    let top = places.iter().map(|place| place.log).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = places.iter().map(|place| (beta * (place.log - top)).exp()).collect();
    let chosen = crate::layout::pick(&weights, rng);
    if chosen == here {
        return counts.count(false);
    }
    let Place { line, made, log } = places.swap_remove(chosen);
    let from = if here == places.len() { chosen } else { here }; // `swap_remove` moved the last
    let log_from = places[from].log;
    let proposed = left.state(model, state, line, made);
    // The choice has weighed lines and strays; equal names and the list's order are left to Metropolis and Hastings.
    accept(state, Some(proposed), beta * (log_from - log), beta, counts, rng);
}

/// An explanation without an item.
struct Left {
    /// The line that it was taken from.
    from: Option<usize>,
    /// What is left of that line.
    rest: Option<Line>,
    /// Stray flags.
    strays: usize,
}

impl Left {
    /// `None` where the item is alone on a leg between two others, or the rest is no line.
    fn new(model: &Model, state: &State, items: &[u16]) -> Option<Self> {
        let on: usize = state.lines.iter().map(|line| line.flags).sum();
        let strays = model.evidence.flags - on;
        let holds = |line: &std::sync::Arc<Line>| line.items().any(|other| other == items[0]);
        let Some(at) = state.lines.iter().position(holds) else {
            return Some(Self { from: None, rest: None, strays: strays - 1 });
        };
        let mut legs = state.lines[at].legs.clone();
        legs.iter_mut().for_each(|leg| leg.items.retain(|other| !items.contains(other)));
        if legs.iter().map(|leg| leg.items.len()).sum::<usize>() + items.len() != state.lines[at].len() {
            return None; // not all of them are on this line
        }
        let last = legs.len() - 1;
        if legs.iter().enumerate().any(|(k, leg)| leg.items.is_empty() && k != 0 && k != last) {
            return None;
        }
        legs.retain(|leg| !leg.items.is_empty());
        let rest = if legs.is_empty() { None } else { Some(Line::new(model, legs, state.shared)?) };
        Some(Self { from: Some(at), rest, strays })
    }

    /// Places of the lines that are left.
    fn all(&self, state: &State) -> Vec<usize> {
        (0..state.lines.len()).filter(|k| self.from != Some(*k) || self.rest.is_some()).collect()
    }

    fn line<'a>(&'a self, state: &'a State, k: usize) -> &'a Line {
        match &self.rest {
            Some(rest) if self.from == Some(k) => rest,
            _ => &state.lines[k],
        }
    }

    fn is_here(&self, state: &State, place: &Place) -> bool {
        match (self.from, &place.made) {
            (None, None) => true,
            (Some(from), Some(made)) => {
                place.line.map_or(self.rest.is_none(), |line| line == from)
                    && (made.log_density - state.lines[from].log_density).abs() < 1e-6
                    && equal(&made.legs.iter().collect::<Vec<_>>(), &state.lines[from].legs)
            }
            _ => false,
        }
    }

    fn state(self, model: &Model, state: &State, line: Option<usize>, made: Option<Line>) -> State {
        let mut lines = state.lines.clone();
        match (line, made) {
            (Some(k), Some(made)) => lines[k] = std::sync::Arc::new(made),
            (None, Some(made)) => lines.push(std::sync::Arc::new(made)),
            _ => {}
        }
        if let Some(from) = self.from.filter(|from| line != Some(*from)) {
            match self.rest {
                Some(rest) => lines[from] = std::sync::Arc::new(rest),
                None => drop(lines.remove(from)),
            }
        }
        State::new(model, lines, state.shared)
    }
}

/// Whether two lines are the same, whichever way round they are written.
fn equal(a: &[&Leg], b: &[Leg]) -> bool {
    let set = |leg: &Leg| {
        let mut items = leg.items.clone();
        items.sort_unstable();
        items
    };
    let alike = |(x, y): (&&Leg, &Leg)| x.kind == y.kind && set(x) == set(y);
    a.len() == b.len() && (a.iter().zip(b).all(alike) || a.iter().zip(b.iter().rev()).all(alike))
}

/// The ways to put items on a line: all on one leg, or each on the nearest one.
fn with(model: &Model, line: &Line, items: &[u16], scale: usize) -> Vec<Vec<Leg>> {
    let place = |item: u16| model.evidence.items[item as usize].at;
    let mut ways = Vec::new();
    for (k, leg) in line.legs.iter().enumerate() {
        let (fit, along) = (&line.fits[k], line.fits[k].along());
        let on = |item: &u16| (place(*item) - fit.centre).dot(along);
        let (low, high) = leg
            .items
            .iter()
            .map(on)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        let near = |item: &u16| {
            let to = place(*item) - fit.centre;
            let (t, aside) = (to.dot(along), along.cross(to).abs());
            let sd = model.sd_m(*item, scale);
            let reach = ASIDE_M + ASIDE_SD * (fit.variance_m2(t) + sd * sd).sqrt();
            aside <= reach && t > low - BEYOND_M && t < high + BEYOND_M
        };
        if items.iter().all(near) {
            let mut legs = line.legs.clone();
            legs[k].items.extend(items);
            ways.push(legs);
        }
    }
    if items.len() > 1 && line.legs.len() > 1 {
        let mut legs = line.legs.clone();
        for &item in items {
            let far = |k: &usize| line.distance_to_leg(*k, place(item));
            let nearest = (0..legs.len()).min_by(|a, b| far(a).total_cmp(&far(b))).expect("a leg");
            legs[nearest].items.push(item);
        }
        if legs.iter().zip(&line.legs).filter(|(now, before)| now.items.len() > before.items.len()).count()
            > 1
        {
            ways.push(legs);
        }
    }
    let (first, last) = (&line.legs[0], &line.legs[line.legs.len() - 1]);
    let ends = [(first.items[0], first.kind, true), (last.items[last.items.len() - 1], last.kind, false)];
    let near = |end: u16| items.iter().any(|item| place(end).distance(place(*item)) <= NEAR_ENDS_M);
    for (end, kind, front) in ends {
        // A new leg before an only leg is the same line as one behind it, written the other way round.
        let only = line.legs.len() == 1;
        if (only && front) || !(near(end) || only && near(first.items[0])) {
            continue;
        }
        for turned in LegKind::ALL {
            if turned == kind && kind != LegKind::Any {
                continue;
            }
            let new = Leg { kind: turned, items: items.to_vec() };
            let mut legs = line.legs.clone();
            if front {
                legs.insert(0, new)
            } else {
                legs.push(new)
            }
            ways.push(legs);
        }
    }
    ways
}
