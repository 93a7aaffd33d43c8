//! An explanation from which some items are taken out, and where they may be put back.

use super::part::{in_order, oriented};
use crate::metal::leg::{Fit, Scatter};
use crate::metal::line::{Leg, Line, corners, distance_to_leg, fit};
use crate::metal::model::{LegKind, Model};
use crate::metal::state::State;
use std::sync::Arc;

/// Where items may lie, all together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Spot {
    /// On no line.
    Stray,
    /// A line of their own on one leg.
    Alone(LegKind),
    /// A line of their own, bent anyhow: a mark or a service.
    Whole,
    /// On one leg of a line.
    On(usize, usize),
    /// Each on the leg of a line that it is nearest to, on several.
    Nearest(usize),
    /// On a new leg before the first of a line (`true`) or behind its last. A new leg before an only one is the same line as one
    /// behind it, written the other way round: it counts as behind.
    Turned(usize, bool, LegKind),
}

/// An explanation without some items.
pub(super) struct Left {
    /// Where they were.
    pub(super) here: Spot,
    /// The line that they were on.
    from: Option<usize>,
    /// The legs of what is left of that line; none where nothing is.
    rest: Vec<Leg>,
    fits: Vec<Fit>,
    /// Stray flags besides them.
    pub(super) strays: usize,
}

impl Left {
    /// Takes items out; `None` where they are not all in one place, or alone on a leg between two others: without them those would
    /// have to meet.
    pub(super) fn new(model: &Model, state: &State, items: &[u16]) -> Option<Self> {
        let on: usize = state.lines.iter().map(|line| line.flags).sum();
        let strays = model.evidence.flags - on;
        let holds = |line: &Arc<Line>| line.legs.iter().any(|leg| leg.items.contains(&items[0]));
        let Some(from) = state.lines.iter().position(holds) else {
            let (rest, fits) = (Vec::new(), Vec::new());
            return Some(Self { here: Spot::Stray, from: None, rest, fits, strays: strays - 1 });
        };
        let line = &state.lines[from];
        if items.len() > 1 && line.len() == items.len() && line.items().all(|item| items.contains(&item)) {
            return Some(Self {
                here: Spot::Whole,
                from: Some(from),
                rest: Vec::new(),
                fits: Vec::new(),
                strays,
            });
        }
        let (mut rest, mut fits) = (line.legs.clone(), line.fits.clone());
        let (mut taken, mut touched, mut several, mut emptied) = (0, 0, false, None);
        for (k, leg) in rest.iter_mut().enumerate() {
            let before = leg.items.len();
            leg.items.retain(|other| !items.contains(other));
            if leg.items.len() == before {
                continue;
            }
            several |= taken > 0;
            taken += before - leg.items.len();
            touched = k;
            if leg.items.is_empty() {
                emptied = Some((k, leg.kind));
            } else {
                fits[k] = fit(model, leg, state.shared);
            }
        }
        if taken < items.len() {
            return None;
        }
        let last = rest.len() - 1;
        let here = match emptied {
            Some(_) if several => return None,
            Some((_, kind)) if last == 0 => Spot::Alone(kind),
            Some((leg, kind)) if leg == 0 || leg == last => Spot::Turned(from, leg == 0 && last > 1, kind),
            Some(_) => return None,
            None if several => Spot::Nearest(from),
            None => Spot::On(from, touched),
        };
        if let Some((leg, _)) = emptied {
            rest.remove(leg);
            fits.remove(leg);
        }
        if several {
            let corners = corners(model, &fits)?;
            let nearest = |item: &u16| nearest(model, &fits, &corners, *item);
            let is_there = |item: &u16| line.legs[nearest(item)].items.contains(item);
            if !items.iter().all(is_there) {
                return None;
            }
        }
        Some(Self { here, from: Some(from), rest, fits, strays })
    }

    /// The legs of a line that is left, with what their items say; none where nothing of it is.
    pub(super) fn legs<'a>(&'a self, state: &'a State, line: usize) -> (&'a [Leg], &'a [Fit]) {
        if self.from == Some(line) {
            (&self.rest, &self.fits)
        } else {
            (&state.lines[line].legs, &state.lines[line].fits)
        }
    }

    /// For each item the leg of a line that it is nearest to, where these are several and meet.
    pub(super) fn spread(
        &self,
        model: &Model,
        state: &State,
        line: usize,
        items: &[u16],
    ) -> Option<Vec<usize>> {
        let fits = self.legs(state, line).1;
        let corners = corners(model, fits)?;
        let legs: Vec<usize> = items.iter().map(|item| nearest(model, fits, &corners, *item)).collect();
        legs.iter().any(|leg| *leg != legs[0]).then_some(legs)
    }

    /// The explanation with the items put somewhere; `None` where that is no line.
    pub(super) fn put(&self, model: &Model, state: &State, items: &[u16], spot: Spot) -> Option<State> {
        let made = |legs: Vec<Leg>| Line::new(model, legs, state.shared).map(Arc::new);
        let mut lines = state.lines.clone();
        let taker = match spot {
            Spot::Stray => None,
            Spot::Alone(kind) => {
                lines.push(made(vec![Leg { kind, items: items.to_vec() }])?);
                None
            }
            Spot::Whole => return None,
            Spot::On(line, leg) => {
                let mut legs = self.legs(state, line).0.to_vec();
                legs[leg].items.extend(items);
                lines[line] = made(legs)?;
                Some(line)
            }
            Spot::Nearest(line) => {
                let mut legs = self.legs(state, line).0.to_vec();
                let spread = self.spread(model, state, line, items)?;
                spread.iter().zip(items).for_each(|(leg, item)| legs[*leg].items.push(*item));
                lines[line] = made(legs)?;
                Some(line)
            }
            Spot::Turned(line, front, kind) => {
                let mut legs = self.legs(state, line).0.to_vec();
                let new = Leg { kind, items: items.to_vec() };
                if front {
                    legs.insert(0, new)
                } else {
                    legs.push(new)
                }
                lines[line] = made(legs)?;
                Some(line)
            }
        };
        self.close(model, state, lines, taker)
    }

    /// The explanation with the items on a line of their own, of these legs, in this order.
    pub(super) fn put_whole(&self, model: &Model, state: &State, legs: Vec<Leg>) -> Option<State> {
        let mut lines = state.lines.clone();
        lines.push(Arc::new(in_order(model, state.shared, legs)?));
        self.close(model, state, lines, None)
    }

    /// Lines with what is left in the place of the line that the items were on, unless that took them.
    fn close(
        &self,
        model: &Model,
        state: &State,
        mut lines: Vec<Arc<Line>>,
        taker: Option<usize>,
    ) -> Option<State> {
        if let Some(from) = self.from.filter(|from| taker != Some(*from)) {
            if self.rest.is_empty() {
                lines.remove(from);
            } else {
                lines[from] = Arc::new(Line::new(model, self.rest.clone(), state.shared)?);
            }
        }
        Some(State::new(model, lines, state.shared))
    }

    /// Whether the line that they were on has several legs.
    pub(super) fn is_bent(&self, state: &State) -> bool {
        self.from.is_some_and(|from| state.lines[from].legs.len() > 1)
    }

    /// The legs of the line that the items are on alone, in the order of the items; `None` where they lie in another order.
    pub(super) fn whole(&self, state: &State, items: &[u16]) -> Option<Vec<Leg>> {
        let legs = &state.lines[self.from?].legs;
        let is_so = |legs: &[Leg]| legs.iter().flat_map(|leg| &leg.items).eq(items);
        if is_so(legs) {
            return Some(legs.clone());
        }
        let back = oriented(legs, true);
        is_so(&back).then_some(back)
    }
}

fn nearest(model: &Model, fits: &[Fit], corners: &[crate::geometry::Point], item: u16) -> usize {
    let place = model.evidence.items[item as usize].at;
    let far = |k: &usize| distance_to_leg(fits, corners, *k, place);
    (0..fits.len()).min_by(|a, b| far(a).total_cmp(&far(b))).expect("a leg")
}

/// Sums over some items.
pub(super) fn scatter(model: &Model, items: &[u16], scale: usize) -> Scatter {
    Scatter::new(items.iter().map(|&item| model.weighted(item, scale)))
}
