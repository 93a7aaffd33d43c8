//! Explanations and places of items from the law of both. Places are changed given the explanation by Metropolis steps, and the
//! explanation given the places is drawn from all there are, each with its exact chance. The truth given its places is thus an exact
//! draw, independent of all else, whatever course the places took: ranks among draws of a right sampler are uniform, and
//! independent from site to site, even where places are not.

use super::every::Courses;
use super::facts::{FACTS, Facts, again, facts};
use super::sites::{Kind, WINDOW_M};
use crate::installer::Dice;
use underturf::geometry::Point;
use underturf::metal::{Law, Model, State};

/// Steps of places between two draws of the explanation.
const STEPS: usize = 400;

/// A site with its true explanation, and what all explanations come to.
pub struct Case {
    pub kind: Kind,
    pub seed: u64,
    pub places: Vec<Point>,
    pub truth: Facts,
    /// What is exact of each measure.
    pub exact: [Exact; FACTS.len()],
    /// Number of explanations.
    pub count: usize,
}

/// A measure over all explanations.
#[derive(Clone, Copy, Debug)]
pub struct Exact {
    pub mean: f64,
    pub variance: f64,
    pub skewness: f64,
}

impl Case {
    /// The model of the site under some law.
    pub fn model(&self, law: &Law) -> Model {
        Model::new(self.kind.evidence(&self.places, law))
    }
}

/// So many sites of one kind from one chain, so many rounds apart; the first after three times as many.
pub fn chain(kind: Kind, sites: usize, between: usize, seed: u64) -> Vec<Case> {
    let (law, courses) = (Law::default(), Courses::of(kind.items()));
    let mut dice = Dice::new(seed);
    let model = |places: &[Point]| Model::new(kind.evidence(places, &law));
    let mut places: Vec<Point> = (0..kind.items()).map(|_| anywhere(&mut dice)).collect();
    let mut cases = Vec::new();
    let mut round = 0usize;
    while cases.len() < sites {
        let here = model(&places);
        let mut state = drawn(&courses, &here, &mut dice);
        round += 1;
        if round > 2 * between && round.is_multiple_of(between) {
            let (exact, count) = weighed(&courses, &here);
            let seed = seed + 1_000 * cases.len() as u64;
            cases.push(Case {
                kind,
                seed,
                places: places.clone(),
                truth: facts(&here, &state),
                exact,
                count,
            });
        }
        for _ in 0..STEPS {
            step(&model, &mut places, &mut state, &mut dice);
        }
    }
    cases
}

fn anywhere(dice: &mut Dice) -> Point {
    Point::new(dice.uniform(0.0, WINDOW_M.0), dice.uniform(0.0, WINDOW_M.1))
}

fn is_inside(at: &Point) -> bool {
    (0.0..=WINDOW_M.0).contains(&at.x) && (0.0..=WINDOW_M.1).contains(&at.y)
}

/// One Metropolis step of the places given the explanation: an item a little way or anywhere, two items' places exchanged, or a line
/// shifted as a whole.
fn step(model: &impl Fn(&[Point]) -> Model, places: &mut Vec<Point>, state: &mut State, dice: &mut Dice) {
    let n = places.len();
    let mut to = places.clone();
    let item = dice.whole(0, n - 1);
    match dice.whole(0, 5) {
        0 => to[item] = anywhere(dice),
        1 => to.swap(item, dice.whole(0, n - 1)),
        2 if !state.lines.is_empty() => {
            let line = &state.lines[dice.whole(0, state.lines.len() - 1)];
            let by = Point::new(dice.normal(1.0), dice.normal(1.0));
            line.items().for_each(|item| to[item as usize] = to[item as usize] + by);
        }
        _ => {
            let sd = [0.15, 0.5, 1.5][dice.whole(0, 2)];
            to[item] = to[item] + Point::new(dice.normal(sd), dice.normal(sd));
        }
    }
    if !to.iter().all(is_inside) {
        return;
    }
    let there = model(&to);
    let Some(proposed) = again(&there, state) else { return };
    if dice.uniform(0.0, 1.0).ln() < proposed.log_density - state.log_density {
        (*places, *state) = (to, proposed);
    }
}

/// An explanation by its exact chance: each in turn takes the place of the one that is held with its share of all so far.
fn drawn(courses: &Courses, model: &Model, dice: &mut Dice) -> State {
    let (mut held, mut log_sum) = (None, f64::NEG_INFINITY);
    courses.every(model, |state| {
        let log = state.log_density;
        let top = log_sum.max(log);
        log_sum = top + ((log_sum - top).exp() + (log - top).exp()).ln();
        if dice.uniform(0.0, 1.0) < (log - log_sum).exp() {
            held = Some(state);
        }
    });
    held.expect("an explanation")
}

/// What is exact of each measure, and the number of explanations.
fn weighed(courses: &Courses, model: &Model) -> ([Exact; FACTS.len()], usize) {
    let mut all = Vec::new();
    courses.every(model, |state| all.push((state.log_density, facts(model, &state))));
    let top = all.iter().fold(f64::NEG_INFINITY, |top, it| top.max(it.0));
    let total: f64 = all.iter().map(|it| (it.0 - top).exp()).sum();
    let mean = |of: &dyn Fn(&Facts) -> f64| {
        all.iter().map(|(log, facts)| (log - top).exp() * of(facts)).sum::<f64>() / total
    };
    let exact = std::array::from_fn(|k| {
        let m = mean(&|facts| facts[k]);
        let variance = mean(&|facts| (facts[k] - m).powi(2));
        Exact { mean: m, variance, skewness: mean(&|facts| (facts[k] - m).powi(3)) / variance.powf(1.5) }
    });
    (exact, all.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The number of lines in a hundred draws beside its exact mean, to 4.5 standard errors: a false alarm once in 100,000 seeds.
    #[test]
    fn draws_come_by_their_exact_chances() {
        let (courses, law) = (Courses::of(4), Law::default());
        let places = [(1.0, 1.0), (2.9, 1.2), (4.2, 1.05), (4.5, 2.9)].map(|(x, y)| Point::new(x, y));
        let model = Model::new(Kind::Open.evidence(&places, &law));
        let (exact, _) = weighed(&courses, &model);
        let mut dice = Dice::new(1);
        let n = 100;
        let lines: f64 =
            (0..n).map(|_| drawn(&courses, &model, &mut dice).lines.len() as f64).sum::<f64>() / f64::from(n);
        let [_, exact, ..] = exact;
        assert!(
            (lines - exact.mean).abs() < 4.5 * (exact.variance / f64::from(n)).sqrt(),
            "{lines} {exact:?}"
        );
    }
}
