//! The sampler held against every explanation of a few flags, one by one.

use super::model::LegKind;
use super::moves::{Move, sweep};
use super::*;
use crate::geometry::Point;
use crate::rng::stream;
use statrs::distribution::{ChiSquared, ContinuousCDF};
use std::collections::HashMap;

fn flag(index: usize, x: f64, y: f64) -> Item {
    let at = Point::new(x, y);
    Item { at, sd_m: 0.15, origin: Origin::Flag(index), name: None, class: None, depth: None }
}

fn evidence(items: Vec<Item>) -> Evidence {
    Evidence {
        flags: items.iter().filter(|item| item.is_flag()).count(),
        items,
        names: 0,
        fixtures: Vec::new(),
        bearings: vec![(0.05, 1.0)],
        area_m2: 60.0,
        solid: Vec::new(),
        swept: Vec::new(),
        false_marks: Vec::new(),
        law: Law::default(),
    }
}

/// A name for an explanation that does not depend on the order of lines or on which way round they are written.
fn key(state: &State) -> String {
    let mut lines: Vec<String> = state
        .lines
        .iter()
        .map(|line| {
            let mut legs: Vec<String> = line
                .legs
                .iter()
                .map(|leg| {
                    let mut items = leg.items.clone();
                    items.sort_unstable();
                    format!("{:?}{items:?}", leg.kind)
                })
                .collect();
            let back: Vec<String> = legs.iter().rev().cloned().collect();
            if back < legs {
                legs = back;
            }
            legs.concat()
        })
        .collect();
    lines.sort_unstable();
    format!("{:?} {}", state.shared, lines.join(" | "))
}

/// Every way to write some items as legs in order, up to the way round, with every kind.
fn courses(items: &[u16]) -> Vec<Vec<Leg>> {
    fn ordered(items: &[u16]) -> Vec<Vec<Vec<u16>>> {
        if items.is_empty() {
            return vec![vec![]];
        }
        let mut all = Vec::new();
        for set in 1u32..(1 << items.len()) {
            let of = |inside: bool| -> Vec<u16> {
                (0..items.len()).filter(|k| (set >> k & 1 == 1) == inside).map(|k| items[k]).collect()
            };
            for rest in ordered(&of(false)) {
                let mut legs = vec![of(true)];
                legs.extend(rest);
                all.push(legs);
            }
        }
        all
    }
    let mut all = Vec::new();
    for sets in ordered(items) {
        for mut code in 0..3usize.pow(sets.len() as u32) {
            let leg = |items: &Vec<u16>| {
                let kind = LegKind::ALL[code % 3];
                code /= 3;
                Leg { kind, items: items.clone() }
            };
            all.push(sets.iter().map(leg).collect());
        }
    }
    all
}

/// Every explanation of the items under what they share, by its name.
fn every(model: &Model, shared: Shared) -> HashMap<String, State> {
    fn partitions(items: &[u16]) -> Vec<Vec<Vec<u16>>> {
        let Some((&first, rest)) = items.split_first() else { return vec![vec![]] };
        let mut all = Vec::new();
        for set in 0u32..(1 << rest.len()) {
            let inside: Vec<u16> = (0..rest.len()).filter(|k| set >> k & 1 == 1).map(|k| rest[k]).collect();
            let outside: Vec<u16> = (0..rest.len()).filter(|k| set >> k & 1 == 0).map(|k| rest[k]).collect();
            for mut others in partitions(&outside) {
                let mut block = vec![first];
                block.extend(&inside);
                others.push(block);
                all.push(others);
            }
        }
        all
    }
    let items: Vec<u16> = (0..model.evidence.items.len() as u16).collect();
    let mut found = HashMap::new();
    for strays in 0u32..(1 << items.len()) {
        let stray = |k: &u16| strays >> k & 1 == 1;
        if items.iter().any(|k| stray(k) && !model.evidence.items[*k as usize].is_flag()) {
            continue;
        }
        let on: Vec<u16> = items.iter().copied().filter(|k| !stray(k)).collect();
        for blocks in partitions(&on) {
            let mut ways: Vec<Vec<std::sync::Arc<Line>>> = vec![vec![]];
            for block in &blocks {
                let lines: Vec<_> = courses(block)
                    .into_iter()
                    .filter_map(|legs| Line::new(model, legs, shared).map(std::sync::Arc::new))
                    .collect();
                ways = ways
                    .into_iter()
                    .flat_map(|way| {
                        lines.iter().map(move |line| {
                            let mut way = way.clone();
                            way.push(line.clone());
                            way
                        })
                    })
                    .collect();
            }
            for way in ways {
                let state = State::new(model, way, shared);
                found.insert(key(&state), state);
            }
        }
    }
    found
}

/// How far apart the sampler's frequencies and the exact chances are, as half the sum of absolute differences over explanations
/// of a thousandth or more, and the share that such explanations hold.
fn distance(model: &Model, sweeps: usize, flaw: impl Fn(&mut f64, &str)) -> (f64, f64) {
    let mut exact: HashMap<String, f64> = HashMap::new();
    for shared in all_shared(model) {
        let states = every(model, shared);
        exact.extend(states.into_iter().map(|(key, state)| (key, state.log_density)));
    }
    let top = exact.values().fold(f64::NEG_INFINITY, |top, v| top.max(*v));
    for (key, log) in &mut exact {
        *log = (*log - top).exp();
        flaw(log, key);
    }
    let total: f64 = exact.values().sum();
    // What is shared is summed out: its chances are spread thin.
    let short = |key: &str| key.split_once("} ").expect("shared first").1.to_owned();
    let mut of_lines: HashMap<String, f64> = HashMap::new();
    for (key, p) in &exact {
        *of_lines.entry(short(key)).or_default() += p / total;
    }
    let mut rng = stream(11, 0);
    let mut state = State::apart(model, Shared { bearing: 0, step: 2, scale: 2 });
    let mut counts = [Tried::default(); moves::NAMES.len()];
    let mut rates = moves::Rates::new(model);
    let mut seen: HashMap<String, f64> = HashMap::new();
    for k in 0..sweeps + 500 {
        sweep(model, &mut state, 1.0, &mut rates, &mut counts, &mut rng);
        if k >= 500 {
            *seen.entry(short(&key(&state))).or_default() += 1.0 / sweeps as f64;
        }
    }
    let (mut far, mut held) = (0.0, 0.0);
    for (key, p) in of_lines.iter().filter(|(_, p)| **p > 1e-3) {
        far += 0.5 * (p - seen.get(key).copied().unwrap_or(0.0)).abs();
        held += p;
    }
    (far, held)
}

/// Two named flags, one of them by another name, a mark of two points, a box, a building, swept ground, two bearings: what a
/// site may hold beside flags. Planted fault: a mark may be torn for nothing.
#[test]
fn sampler_equals_every_explanation_with_marks_and_names() {
    let mut items = vec![flag(0, 1.0, 1.0), flag(1, 3.1, 1.1)];
    (items[0].name, items[1].name) = (Some(0), Some(1));
    for (x, y) in [(1.2, 1.5), (4.0, 1.4)] {
        let at = Point::new(x, y);
        let class = Some([-3.0, -3.0, -3.0, -3.0, -0.2, -3.0, -3.0, -3.0, -3.0]);
        items.push(Item { at, sd_m: 0.4, origin: Origin::Mark(0), name: None, class, depth: None });
    }
    let mut evidence = evidence(items);
    evidence.names = 2;
    evidence.bearings = vec![(0.02, 0.6), (0.4, 0.4)];
    evidence.fixtures = vec![(Fixture::ValveBox, Point::new(5.5, 1.2))];
    let square = |x: f64, y: f64, side: f64| {
        let corners = [[0., 0.], [side, 0.], [side, side], [0., side]];
        crate::geometry::Polygon::new(corners.map(|[u, v]| Point::new(x + u, y + v)).to_vec())
    };
    evidence.swept = vec![(square(4.5, 0.0, 3.0), 0.8)];
    evidence.solid = vec![square(1.8, 1.2, 0.4)];
    let model = Model::new(evidence);
    let (far, held) = distance(&model, 40_000, |_, _| ());
    assert!(held > 0.6, "{held}");
    assert!(far < 0.04, "{far} of {held}");
    let (flawed, _) = distance(&model, 10_000, |p, key| {
        let whole = key.split(" | ").any(|line| line.contains('2') && line.contains('3'));
        *p *= if whole { 1.0 } else { 1.0 / model.evidence.law.torn_mark.powi(2) };
    });
    assert!(flawed > 0.04, "{flawed}");
}

/// Four flags, three in a row and one aside: 30,000 sweeps against every explanation. The distance of independent draws of that
/// number over some hundred explanations is about 0.01; 0.03 allows for sweeps that are not independent. Planted fault: bends
/// twice as dear in the sum are told apart.
#[test]
fn sampler_equals_every_explanation() {
    let items = vec![flag(0, 1.0, 1.0), flag(1, 2.9, 1.2), flag(2, 4.2, 1.05), flag(3, 4.5, 2.9)];
    let model = Model::new(evidence(items));
    let (far, held) = distance(&model, 30_000, |_, _| ());
    assert!(held > 0.6, "{held}");
    assert!(far < 0.03, "{far} of {held}");
    let (flawed, _) = distance(&model, 10_000, |p, key| {
        let bends = key.split('|').map(|line| line.matches('[').count().saturating_sub(1)).sum::<usize>();
        *p *= 0.5f64.powi(bends as i32);
    });
    assert!(flawed > 0.03, "{flawed}");
}

/// Independent draws from the law of all explanations, raised to a power.
struct Exact<'a> {
    model: &'a Model,
    states: Vec<State>,
    sums: Vec<f64>,
}

/// What lines may share.
fn all_shared(model: &Model) -> Vec<Shared> {
    let bearings = 0..model.evidence.bearings.len();
    let of = |bearing| (0..35).map(move |k| Shared { bearing, step: k / 5, scale: k % 5 });
    bearings.flat_map(of).collect()
}

impl<'a> Exact<'a> {
    fn new(model: &'a Model, shared: &[Shared], beta: f64, tilt: impl Fn(&str) -> f64) -> Self {
        let every = |shared: &Shared| every(model, *shared);
        let mut states: Vec<(String, State)> = shared.iter().flat_map(every).collect();
        states.sort_by(|a, b| a.0.cmp(&b.0)); // maps have no order
        let top = states.iter().map(|it| it.1.log_density).fold(f64::NEG_INFINITY, f64::max);
        let mut sum = 0.0;
        let add = |(key, state): &(String, State)| {
            sum += (beta * (state.log_density - top)).exp() * tilt(key);
            sum
        };
        let sums = states.iter().map(add).collect();
        Self { model, states: states.into_iter().map(|it| it.1).collect(), sums }
    }

    fn draw(&self, rng: &mut crate::rng::Stream) -> State {
        let at = rand::RngExt::random::<f64>(rng) * self.sums[self.sums.len() - 1];
        let mut state = self.states[self.sums.partition_point(|sum| *sum <= at)].clone();
        // A line is written either way round, both alike.
        for line in &mut state.lines {
            if rand::RngExt::random::<bool>(rng) {
                let turned =
                    |leg: &Leg| Leg { kind: leg.kind, items: leg.items.iter().rev().copied().collect() };
                let legs = line.legs.iter().rev().map(turned).collect();
                *line = Line::new(self.model, legs, state.shared).expect("the same line").into();
            }
        }
        state
    }
}

/// What flows into each explanation less what flows out of it, over many steps that begin with draws from the law: the chance of
/// squares as great as these where the law stays as it is. Explanations with fewer than 20 moves are one.
fn chance(moves: &[(String, String)]) -> f64 {
    let mut flows: HashMap<&str, (f64, f64)> = HashMap::new();
    for (from, to) in moves.iter().filter(|(from, to)| from != to) {
        flows.entry(from).or_default().1 += 1.0;
        flows.entry(to).or_default().0 += 1.0;
    }
    let (mut sum, mut freedom, mut rare) = (0.0, 0.0, (0.0, 0.0));
    for (into, out) in flows.into_values() {
        if into + out < 20.0 {
            rare = (rare.0 + into, rare.1 + out);
        } else {
            sum += (into - out).powi(2) / (into + out);
            freedom += 1.0;
        }
    }
    if rare.0 + rare.1 >= 20.0 {
        sum += (rare.0 - rare.1).powi(2) / (rare.0 + rare.1);
        freedom += 1.0;
    }
    ChiSquared::new(f64::max(freedom, 1.0)).expect("freedom").sf(sum)
}

/// Exact draws, in the tests of what is shared and of exchanges.
const DRAWS: usize = 20_000;

/// Flags in a row and one aside; two flags beside a mark of three points. What each kind of move may meet.
fn small_sites() -> [Model; 2] {
    let flags = vec![flag(0, 1.0, 1.0), flag(1, 2.9, 1.2), flag(2, 4.2, 1.05), flag(3, 4.5, 2.9)];
    let mut marked = vec![flag(0, 1.0, 1.0), flag(1, 3.1, 1.1)];
    for (x, y) in [(1.2, 1.3), (3.6, 1.2), (4.1, 3.0)] {
        let at = Point::new(x, y);
        marked.push(Item { at, sd_m: 0.4, origin: Origin::Mark(0), name: None, class: None, depth: None });
    }
    let mut marked = evidence(marked);
    marked.fixtures = vec![(Fixture::ValveBox, Point::new(5.5, 1.2))];
    [Model::new(evidence(flags)), Model::new(marked)]
}

const SHARED: Shared = Shared { bearing: 0, step: 2, scale: 2 };

/// That chance for a kind of move, so many steps of it from each of so many exact draws, and how many moved.
fn chance_of(kind: Move, exact: &Exact<'_>, beta: f64, draws: usize, steps: usize) -> (f64, usize) {
    let mut rng = stream(23, kind as u64);
    let (mut rates, mut counts) = (moves::Rates::new(exact.model), [Tried::default(); moves::NAMES.len()]);
    // As when chains are kept: rates are tuned, joints are known, and both stay as they are.
    rates.learn(true);
    let mut state = exact.draw(&mut rng);
    for _ in 0..200 {
        sweep(exact.model, &mut state, beta, &mut rates, &mut counts, &mut rng);
    }
    rates.tune();
    rates.learn(false);
    let mut walk = || {
        let mut state = exact.draw(&mut rng);
        let from = key(&state);
        for _ in 0..steps {
            kind.make(exact.model, &mut state, beta, &mut rates, &mut counts, &mut rng);
        }
        (from, key(&state))
    };
    let walks: Vec<(String, String)> = (0..draws).map(|_| walk()).collect();
    (chance(&walks), walks.iter().filter(|(from, to)| from != to).count())
}

/// Each kind of move by itself, made a few times from exact draws, on each of two small sites, at the law and at its square root. A
/// false alarm once in 30,000 runs: 1e-6 in each of 32 checks. Planted fault: explanations are drawn by a law that takes some three
/// times as often as they should be, told by their names, so that a leg along the first axis and one in any direction differ; seen
/// wherever a thousand draws moved.
fn each_move_leaves_the_law(draws: usize) {
    for (site, model) in small_sites().iter().enumerate() {
        for beta in [1.0, 0.5] {
            let exact = Exact::new(model, &[SHARED], beta, |_| 1.0);
            let is_taken = |key: &str| (key.len() + key.matches("Any").count()).is_multiple_of(2);
            let flawed = Exact::new(model, &[SHARED], beta, |key| if is_taken(key) { 3.0 } else { 1.0 });
            for kind in Move::ALL.into_iter().filter(|kind| *kind != Move::Shared) {
                let steps = match kind {
                    Move::Place => 1,
                    Move::Kinds | Move::Tails => 40,
                    _ => 10,
                };
                let (right, moved) = chance_of(kind, &exact, beta, draws, steps);
                println!("{site} {beta} {kind:?}: {right:.1e}, {moved} of {draws} moved");
                assert!(right > 1e-6, "{site} {beta} {kind:?}: {right}");
                if beta == 1.0 && moved >= 1_000 {
                    let planted = chance_of(kind, &flawed, beta, draws, steps).0;
                    assert!(planted < 1e-6, "{site} {kind:?}: planted {planted}");
                }
            }
        }
    }
}

#[test]
fn each_move_by_itself_leaves_the_law_as_it_is() {
    each_move_leaves_the_law(5_000);
}

/// A faulty weight of lines of several items in the exchange of tails was found by this and not by the sampler as a whole.
#[test]
#[ignore = "minutes: run with --ignored --nocapture"]
fn each_move_by_itself_leaves_the_law_as_it_is_in_depth() {
    each_move_leaves_the_law(100_000);
}

/// The same for what lines share: three flags, two bearings. Planted fault: the second bearing is drawn half as often again.
#[test]
fn what_lines_share_is_moved_by_the_law() {
    let mut evidence = evidence(vec![flag(0, 1.0, 1.0), flag(1, 2.9, 1.2), flag(2, 4.2, 2.1)]);
    evidence.bearings = vec![(0.05, 0.6), (0.4, 0.4)];
    let model = Model::new(evidence);
    let shared = all_shared(&model);
    let tilted = |key: &str| if key.contains("bearing: 1") { 1.5 } else { 1.0 };
    let right = chance_of(Move::Shared, &Exact::new(&model, &shared, 1.0, |_| 1.0), 1.0, DRAWS, 1).0;
    let planted = chance_of(Move::Shared, &Exact::new(&model, &shared, 1.0, tilted), 1.0, DRAWS, 1).0;
    assert!(right > 1e-6 && planted < 1e-6, "{right}, planted {planted}");
}

/// An exchange leaves both laws as they are, the law and its square root: 20,000 from exact draws. Planted fault: the powers are
/// taken the wrong way round.
#[test]
fn an_exchange_leaves_both_laws_as_they_are() {
    for model in &small_sites() {
        let betas = [1.0, 0.5];
        let [one, two] = betas.map(|beta| Exact::new(model, &[SHARED], beta, |_| 1.0));
        let chance_with = |powers: [f64; 2]| -> f64 {
            let (mut rng, mut counts) = (stream(29, 0), Tried::default());
            let (mut firsts, mut seconds) = (Vec::new(), Vec::new());
            for _ in 0..DRAWS {
                let (mut a, mut b) = (one.draw(&mut rng), two.draw(&mut rng));
                let from = (key(&a), key(&b));
                moves::exchange(model, [&mut a, &mut b], powers, &mut counts, &mut rng);
                firsts.push((from.0, key(&a)));
                seconds.push((from.1, key(&b)));
            }
            assert!(counts.taken > DRAWS as u64 / 20, "{counts:?}");
            chance(&firsts).min(chance(&seconds))
        };
        let (right, planted) = (chance_with(betas), chance_with([0.5, 1.0]));
        assert!(right > 1e-6 && planted < 1e-6, "{right}, planted {planted}");
    }
}
