//! One item, or all points of a mark, is taken out and put back where it may lie.
//!
//! Places are drawn by guesses of their shares of the law (`guess`); Metropolis and Hastings put the guess right.

use super::accept::{Tried, accept};
use super::cuts::Cuts;
use super::guess::Guesses;
use super::left::{Left, Spot};
use super::rates::Rates;
use crate::metal::line::Leg;
use crate::metal::model::{LegKind, Model};
use crate::metal::state::State;
use rand::{Rng, RngExt};

/// Chance that a sweep asks a mark as a whole. Numerical choice.
const BLOCKS: f64 = 0.3;

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
            place(model, state, item as u16, rates.log_alone[item], beta, counts, rng);
            rates.seen[item].0 += 1.0;
            rates.seen[item].1 += (counts.taken - before) as f64;
        }
    }
    // The points of a mark lie on one line: they are also taken together.
    for (items, log_alone) in model.blocks.iter().zip(&rates.log_block_alone) {
        if rng.random::<f64>() < BLOCKS {
            block(model, state, items, *log_alone, beta, counts, rng);
        }
    }
}

/// One item.
fn place(
    model: &Model,
    state: &mut State,
    item: u16,
    log_alone: f64,
    beta: f64,
    counts: &mut Tried,
    rng: &mut impl Rng,
) {
    let items = [item];
    let Some(left) = Left::new(model, state, &items) else { return };
    let guesses = Guesses::new(model, state, &left, &items, log_alone);
    // The place that it came from must be among them, else the way back would be missing.
    let Some(log_from) = guesses.log_of(left.here) else { return counts.count(false) };
    let (spot, log_to) = guesses.draw(beta, rng);
    if spot == left.here {
        return counts.count(false);
    }
    let proposed = left.put(model, state, &items, spot);
    accept(state, proposed, beta * (log_from - log_to), beta, counts, rng);
}

/// All points of a mark or of a service; on a line of their own they are bent in any way, drawn from all ways.
fn block(
    model: &Model,
    state: &mut State,
    items: &[u16],
    log_alone: f64,
    beta: f64,
    counts: &mut Tried,
    rng: &mut impl Rng,
) {
    let Some(left) = Left::new(model, state, items) else { return };
    let cuts = Cuts::all(model, state.shared, items, beta);
    let guesses = Guesses::new(model, state, &left, items, log_alone + cuts.log_total() / beta);
    let log_chance = |legs: &[Leg]| cuts.log_chance(legs);
    let log_from = guesses.log_of(left.here).and_then(|log| match left.here {
        Spot::Whole => Some(beta * log + log_chance(&left.whole(state, items)?)?),
        _ => Some(beta * log),
    });
    let Some(log_from) = log_from else { return counts.count(false) };
    let (spot, log_to) = guesses.draw(beta, rng);
    let (proposed, log_to) = match spot {
        Spot::Whole => {
            let Some((legs, log)) = cuts.draw(items, rng) else { return counts.count(false) };
            (left.put_whole(model, state, legs), beta * log_to + log)
        }
        spot if spot == left.here => return counts.count(false),
        spot => (left.put(model, state, items, spot), beta * log_to),
    };
    accept(state, proposed, log_from - log_to, beta, counts, rng);
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
    let legs = (0..state.lines.len()).flat_map(|k| (0..left.legs(state, k).0.len()).map(move |leg| (k, leg)));
    let legs: Vec<(usize, usize)> = legs.collect();
    // Away: stray for a flag, a line of its own of any kind for others.
    let ways_away = if is_flag { 1 } else { LegKind::ALL.len() };
    let log_back = (legs.len() as f64).ln() - (ways_away as f64).ln();
    match left.here {
        Spot::Alone(_) if is_flag => None,
        Spot::Whole if left.is_bent(state) => None,
        Spot::Stray | Spot::Alone(_) | Spot::Whole if !legs.is_empty() => {
            let (line, leg) = legs[rng.random_range(0..legs.len())];
            Some((left.put(model, state, items, Spot::On(line, leg))?, log_back))
        }
        Spot::On(..) => {
            let spot =
                if is_flag { Spot::Stray } else { Spot::Alone(LegKind::ALL[rng.random_range(0..ways_away)]) };
            Some((left.put(model, state, items, spot)?, -log_back))
        }
        _ => None,
    }
}
