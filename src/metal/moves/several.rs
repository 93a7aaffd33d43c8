//! A few flags near each other are taken out and put back one by one.
//!
//! Each is put where a guess says (`guess`), given those before it. The way back puts the same flags in the same order to where they
//! were, so both ways pass through the explanation with all of them stray. Which flags, and in what order, depends on their places
//! and on how often flags are asked, never on the explanation. A leg of two flags comes and goes so, and one of three for one of two others.

use super::accept::{Tried, accept};
use super::guess::Guesses;
use super::left::{Left, Spot};
use super::rates::Rates;
use crate::metal::model::Model;
use crate::metal::state::State;
use rand::{Rng, RngExt};

/// So many flags at most are taken. Numerical choice.
const MOST: usize = 4;

pub(super) fn several(
    model: &Model,
    state: &mut State,
    beta: f64,
    rates: &Rates,
    counts: &mut Tried,
    rng: &mut impl Rng,
) {
    if model.evidence.flags < 2 {
        return;
    }
    let first = take(&mut (0..model.evidence.flags as u16).collect(), rates, rng);
    let mut near = rates.near[usize::from(first)].clone();
    let more = rng.random_range(1..MOST).min(near.len());
    let mut items = vec![first];
    items.extend((0..more).map(|_| take(&mut near, rates, rng)));
    for k in (1..items.len()).rev() {
        items.swap(k, rng.random_range(0..=k));
    }
    match again(model, state, &items, beta, rates, rng) {
        Some((to, log_ratio)) => accept(state, Some(to), log_ratio, beta, counts, rng),
        None => counts.count(false),
    }
}

/// Takes one of some flags, those that are often asked more often.
fn take(from: &mut Vec<u16>, rates: &Rates, rng: &mut impl Rng) -> u16 {
    let shares: Vec<f64> = from.iter().map(|flag| rates.item[usize::from(*flag)]).collect();
    from.swap_remove(crate::layout::pick(&shares, rng))
}

/// The explanation with the flags put back, and `ln` of the ratio of the chances to put them back and forth.
fn again(
    model: &Model,
    state: &State,
    items: &[u16],
    beta: f64,
    rates: &Rates,
    rng: &mut impl Rng,
) -> Option<(State, f64)> {
    let mut at = state.clone();
    let mut log_ratio = 0.0;
    for &item in items.iter().rev() {
        let left = Left::new(model, &at, &[item])?;
        let guesses = Guesses::new(model, &at, &left, &[item], rates.log_alone[item as usize]);
        log_ratio += beta * guesses.log_of(left.here)? - guesses.log_total(beta);
        if left.here != Spot::Stray {
            at = left.put(model, &at, &[item], Spot::Stray)?;
        }
    }
    for &item in items {
        let left = Left::new(model, &at, &[item])?;
        let guesses = Guesses::new(model, &at, &left, &[item], rates.log_alone[item as usize]);
        let (spot, log) = guesses.draw(beta, rng);
        log_ratio -= beta * log - guesses.log_total(beta);
        if spot != Spot::Stray {
            at = left.put(model, &at, &[item], spot)?;
        }
    }
    Some((at, log_ratio))
}
