//! Lines cut in two, and two lines made one.
//!
//! Every cut and every pair of ends is weighed by the root of a guess of how much likelier it makes the explanation (locally
//! balanced proposals: Zanella, J. Am. Stat. Assoc. 115 (2020) 852-865), one of all is drawn, and the legs near the joint are drawn
//! from all ways to cut the new order (`part`), so that bends come and go with the joint. Metropolis and Hastings put the guess right.

use super::accept::{Tried, accept};
use super::learnt::{Joint as Told, Learnt};
use super::part::{Joint, Part, cut, in_order, oriented};
use crate::metal::leg::{Scatter, Sums};
use crate::metal::line::{Leg, Line};
use crate::metal::model::{LegKind, Model, log_sum};
use crate::metal::state::State;
use rand::Rng;

pub(super) fn split_or_merge(
    model: &Model,
    state: &mut State,
    beta: f64,
    learnt: &mut Learnt,
    counts: &mut Tried,
    rng: &mut impl Rng,
) {
    let choices = Choices::new(model, state, learnt, beta);
    if choices.of.is_empty() {
        return;
    }
    let k = crate::layout::pick(&choices.shares, rng);
    let proposed = match choices.of[k] {
        Choice::Cut(line, after) => split(model, state, beta, line, after, rng),
        Choice::Join(a, b) => merge(model, state, beta, a, b, rng),
    };
    let (told, [a, b]) = choices.of[k].joint(state);
    let gain = |to: &State, log: f64| to.log_density - state.log_density + log / beta;
    let too_low =
        proposed.as_ref().map_or(f64::NEG_INFINITY, |(to, _, log)| gain(to, *log) - choices.logs[k]);
    let proposed = proposed.and_then(|(to, back, log)| {
        let back = Choices::new(model, &to, learnt, beta).share_of(back)?;
        Some((back.ln() - choices.share(k).ln() + log, to))
    });
    learnt.tried(told, a, b, too_low);
    match proposed {
        Some((log_ratio, to)) => accept(state, Some(to), log_ratio, beta, counts, rng),
        None => counts.count(false),
    }
}

/// A line's end: the line, and whether it is its first item. A line of one item has only that one: joined at the other it would
/// be the same.
type End = (usize, bool);

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Choice {
    /// Behind so many items of a line.
    Cut(usize, usize),
    Join(End, End),
}

impl Choice {
    /// What is done, and the items at the joint.
    fn joint(self, state: &State) -> (Told, [u16; 2]) {
        match self {
            Self::Cut(line, after) => {
                let mut items = state.lines[line].items().skip(after - 1);
                let [a, b] =
                    [items.next(), items.next()].map(|item| item.expect("a cut lies between two items"));
                (Told::Cut, [a, b])
            }
            Self::Join(a, b) => (Told::Joined, [a, b].map(|end| end_item(state, end))),
        }
    }
}

fn end_item(state: &State, (line, first): End) -> u16 {
    let legs = &state.lines[line].legs;
    let items = if first { &legs[0].items } else { &legs[legs.len() - 1].items };
    items[if first { 0 } else { items.len() - 1 }]
}

/// Everything that may be cut or joined, with the guess from the legs and its weight.
struct Choices {
    of: Vec<Choice>,
    logs: Vec<f64>,
    shares: Vec<f64>,
}

/// A guess counts no more than this, so that nothing is tried for ever. Numerical choice.
const MOST: f64 = 16.0;

impl Choices {
    fn new(model: &Model, state: &State, learnt: &Learnt, beta: f64) -> Self {
        let (mut of, mut logs, mut shares) = (Vec::new(), Vec::new(), Vec::new());
        let mut add = |choice: Choice, told: Told, a: u16, b: u16, log: f64| {
            of.push(choice);
            logs.push(log);
            let log = log.clamp(-MOST, MOST) + learnt.log(told, a, b);
            shares.push((0.5 * beta * log.clamp(-MOST, MOST)).exp());
        };
        for (k, line) in state.lines.iter().enumerate() {
            let mut after = 0;
            for (at, leg) in line.legs.iter().enumerate() {
                let sums = Sums::new(leg.items.iter().map(|&item| model.weighted(item, state.shared.scale)));
                for own in 1..=leg.items.len() {
                    after += 1;
                    let a = leg.items[own - 1];
                    if own < leg.items.len() {
                        let log = -gain_within(model, state, line, at, own, &sums);
                        add(Choice::Cut(k, after), Told::Cut, a, leg.items[own], log);
                    } else if at + 1 < line.legs.len() {
                        let log = -gain_at_bend(model, state, line, at);
                        add(Choice::Cut(k, after), Told::Cut, a, line.legs[at + 1].items[0], log);
                    }
                }
            }
        }
        let ends =
            |k: usize| (0..if state.lines[k].len() > 1 { 2 } else { 1 }).map(move |side| (k, side == 0));
        for a in 0..state.lines.len() {
            for b in a + 1..state.lines.len() {
                let same = gain_of_lines(model, &state.lines[a], &state.lines[b]);
                for one in ends(a) {
                    for two in ends(b) {
                        let log = same + gain_of_ends(model, state, one, two);
                        let [from, to] = [one, two].map(|end| end_item(state, end));
                        add(Choice::Join(one, two), Told::Joined, from, to, log);
                    }
                }
            }
        }
        Self { of, logs, shares }
    }

    fn share(&self, k: usize) -> f64 {
        self.shares[k] / self.shares.iter().sum::<f64>()
    }

    fn share_of(&self, choice: Choice) -> Option<f64> {
        self.of.iter().position(|known| *known == choice).map(|k| self.share(k))
    }
}

/// `ln` of what one line saves over two: its own price and the stop of the flags.
fn price(model: &Model, flags: [bool; 2], gap: f64, state: &State) -> f64 {
    let law = &model.evidence.law;
    let steps = if flags == [true; 2] {
        model.guess_log_step(gap, state.shared.step) + (1.0 - law.stop).ln() - law.stop.ln()
    } else {
        -model.log_side
    };
    2.0 * model.log_side - law.lines.ln() + steps
}

fn is_flag(model: &Model, item: u16) -> bool {
    (item as usize) < model.evidence.flags
}

/// The gain of a leg's items as they are over a cut within the leg.
fn gain_within(model: &Model, state: &State, line: &Line, leg: usize, after: usize, sums: &Sums) -> f64 {
    let (own, fit) = (&line.legs[leg], &line.fits[leg]);
    let direction = model.direction(own.kind, state.shared.bearing);
    let of = |from: usize, to: usize| sums.between(from, to).log_evidence(direction);
    let evidence = fit.log_evidence - of(0, after) - of(after, own.items.len());
    let (a, b) = (own.items[after - 1], own.items[after]);
    let flags = parts_have_flags(model, line, leg, after);
    evidence - model.log_first(own.kind) + price(model, flags, distance(model, a, b), state)
}

fn gain_at_bend(model: &Model, state: &State, line: &Line, leg: usize) -> f64 {
    let (one, two) = (&line.legs[leg], &line.legs[leg + 1]);
    let (a, b) = (one.items[one.items.len() - 1], two.items[0]);
    let bend =
        model.evidence.law.bends_per_m.ln() + model.log_next(one.kind, two.kind) - model.log_first(two.kind);
    let flags = parts_have_flags(model, line, leg, one.items.len());
    bend + price(model, flags, distance(model, a, b), state)
}

fn parts_have_flags(model: &Model, line: &Line, leg: usize, after: usize) -> [bool; 2] {
    let flag = |item: &u16| is_flag(model, *item);
    let (before, behind) = (&line.legs[..leg], &line.legs[leg + 1..]);
    let any = |legs: &[Leg]| legs.iter().flat_map(|leg| &leg.items).any(flag);
    let own = &line.legs[leg].items;
    [any(before) || own[..after].iter().any(flag), any(behind) || own[after..].iter().any(flag)]
}

fn distance(model: &Model, a: u16, b: u16) -> f64 {
    model.evidence.items[a as usize].at.distance(model.evidence.items[b as usize].at)
}

/// The gain of two lines being one by their names and classes.
fn gain_of_lines(model: &Model, a: &Line, b: &Line) -> f64 {
    let both = std::array::from_fn::<f64, { crate::metal::model::CLASS_COUNT }, _>(|c| {
        a.log_class[c] + b.log_class[c] - model.log_share[c]
    });
    let class = log_sum(&both) - log_sum(&a.log_class) - log_sum(&b.log_class);
    let names = match (a.name, b.name) {
        (Some(one), Some(two)) if one == two => -model.evidence.law.same_name.ln(),
        (Some(_), Some(_)) => a.flags.min(b.flags).max(1) as f64 * model.evidence.law.name_error.ln(),
        _ => 0.0,
    };
    class + names
}

/// The gain of two lines being one by where their ends lie and how their end legs run: straight on, or by a bend.
fn gain_of_ends(model: &Model, state: &State, a: End, b: End) -> f64 {
    let end = |(k, first): End| {
        let line = &state.lines[k];
        let leg = if first { 0 } else { line.legs.len() - 1 };
        let items = &line.legs[leg].items;
        (line, leg, if first { items[0] } else { items[items.len() - 1] })
    };
    let ((one, i, from), (two, j, to)) = (end(a), end(b));
    let (kind, other) = (one.legs[i].kind, two.legs[j].kind);
    let bend = model.evidence.law.bends_per_m.ln() + model.log_next(kind, other) - model.log_first(other);
    let joined: Scatter = one.fits[i].scatter().joined(two.fits[j].scatter());
    let apart =
        one.fits[i].log_evidence + two.fits[j].log_evidence + model.log_first(kind) + model.log_first(other);
    let straight = |kind: LegKind| {
        joined.log_evidence(model.direction(kind, state.shared.bearing)) + model.log_first(kind) - apart
    };
    // Or by a leg between, which takes items of either. The same whichever of the two lines is written first, as all guesses are.
    let twice =
        2.0 * model.evidence.law.bends_per_m.ln() - 0.5 * (model.log_first(kind) + model.log_first(other));
    let ways = [straight(LegKind::First), straight(LegKind::Second), straight(LegKind::Any), bend, twice];
    log_sum(&ways) + price(model, [one.flags > 0, two.flags > 0], distance(model, from, to), state)
}

/// The explanation with a line cut, the choice that leads back, and `ln` of the ratio of the chances of legs.
fn split(
    model: &Model,
    state: &State,
    beta: f64,
    at: usize,
    after: usize,
    rng: &mut impl Rng,
) -> Option<(State, Choice, f64)> {
    let (head, tail, inside) = cut(&state.lines[at].legs, after);
    let (nothing, shared) = (Part::default(), state.shared);
    let (one, log_one) = Joint::new(model, shared, &head, &nothing, beta)?.draw(rng)?;
    let (two, log_two) = Joint::new(model, shared, &nothing, &tail, beta)?.draw(rng)?;
    let log_back = Joint::new(model, shared, &head, &tail, beta)?.log_chance(inside)?;
    let made = [in_order(model, shared, one)?, in_order(model, shared, two)?];
    let to = state.with(model, &[at], made);
    let n = to.lines.len();
    let first = to.lines[n - 2].len() == 1;
    Some((to, Choice::Join((n - 2, first), (n - 1, true)), log_back - log_one - log_two))
}

fn merge(
    model: &Model,
    state: &State,
    beta: f64,
    a: End,
    b: End,
    rng: &mut impl Rng,
) -> Option<(State, Choice, f64)> {
    let head = Part::head(oriented(&state.lines[a.0].legs, a.1));
    let tail = Part::tail(oriented(&state.lines[b.0].legs, !b.1));
    let (nothing, shared) = (Part::default(), state.shared);
    let (legs, log_to) = Joint::new(model, shared, &head, &tail, beta)?.draw(rng)?;
    let log_one = Joint::new(model, shared, &head, &nothing, beta)?.log_chance(false)?;
    let log_two = Joint::new(model, shared, &nothing, &tail, beta)?.log_chance(false)?;
    let after = state.lines[a.0].len();
    let to = state.with(model, &[a.0.min(b.0), a.0.max(b.0)], [in_order(model, shared, legs)?]);
    let back = Choice::Cut(to.lines.len() - 1, after);
    Some((to, back, log_one + log_two - log_to))
}
