//! All ways to cut an order of items into legs: summed over, and one drawn.
//!
//! Evidence of every stretch of the order as one leg, prices of bends, summed over the ways to cut the order (change points by
//! dynamic programming: Fearnhead, Stat. Comput. 16 (2006) 203-213). The sum runs over pairs of neighbouring legs, so that legs
//! which do not meet as bends do are left out. Steps round corners and turns back it leaves to Metropolis and Hastings.

use crate::geometry::Point;
use crate::metal::leg::{Scatter, Sums};
use crate::metal::line::Leg;
use crate::metal::model::{LegKind, Model, Shared, log_sum};
use rand::Rng;
use std::ops::Range;

const KINDS: usize = LegKind::ALL.len();

/// A stretch is no leg where its items cost so much more than on the best of lines, in `ln`. Numerical choice: of a line that has
/// such a leg the law holds less than exp(-50).
const MISFIT: f64 = 60.0;

/// Ways to cut an order of items into legs.
pub(super) struct Cuts {
    /// Places in the order where it may be cut, its start and its end among them.
    bounds: Vec<usize>,
    /// Stretches that may be legs, by where they end.
    legs: Vec<Stretch>,
    /// For each bound, those that end there.
    ending: Vec<Range<usize>>,
    /// For each of them: `ln` of the sum over all ways of what lies before, it included.
    sum: Vec<f64>,
    prices: Prices,
    /// The leg behind the order, which stays.
    after: Option<(LegKind, Course)>,
    log_total: f64,
}

/// A stretch between two bounds as a leg.
struct Stretch {
    from: usize,
    kind: LegKind,
    course: Course,
}

/// What bends cost and ask for.
struct Prices {
    first: [f64; KINDS],
    next: [[f64; KINDS]; KINDS],
    least_sine: f64,
    slack_m: f64,
}

/// Items in the order in which they lie, and where it may be cut.
pub(super) struct Order<'a> {
    pub(super) items: &'a [u16],
    /// Places where it may be cut, ascending, inside it.
    pub(super) free: &'a [usize],
    /// Legs that stay before it and behind it, if there are any.
    pub(super) beside: [Option<&'a Leg>; 2],
    /// Whether it is cut at all of these places: each leg keeps its items, in whatever order they lie along it then.
    pub(super) at_all: bool,
}

impl Cuts {
    /// All ways to cut an order.
    pub(super) fn new(model: &Model, shared: Shared, order: &Order<'_>, beta: f64) -> Self {
        let inside = order.free.iter().copied();
        let bounds: Vec<usize> = [0].into_iter().chain(inside).chain([order.items.len()]).collect();
        let fixed = |leg: &Leg| Some((leg.kind, Course::of_leg(model, leg, shared)?));
        let [before, after] = order.beside.map(|leg| leg.and_then(fixed));
        let mut cuts = Self {
            legs: Vec::new(),
            ending: vec![Range::default()],
            sum: Vec::new(),
            prices: Prices::new(model, beta),
            after,
            log_total: f64::NEG_INFINITY,
            bounds,
        };
        let sums = Sums::new(order.items.iter().map(|&item| model.weighted(item, shared.scale)));
        let n = cuts.bounds.len();
        let mut parts: Vec<f64> = Vec::with_capacity(n * KINDS);
        for end in 1..n {
            let start = cuts.legs.len();
            for from in if order.at_all { end - 1 } else { 0 }..end {
                let items = &order.items[cuts.bounds[from]..cuts.bounds[end]];
                // Between two bends lie two items or more.
                let [opens, closes] = [from == 0, end + 1 == n];
                let is_first = opens && order.beside[0].is_none();
                let is_last = closes && order.beside[1].is_none();
                if items.len() < 2 && !is_first && !is_last {
                    continue;
                }
                let scatter = sums.between(cuts.bounds[from], cuts.bounds[end]);
                for kind in LegKind::ALL {
                    let Some((log, mut course)) = Course::new(model, &scatter, items, kind, shared) else {
                        continue;
                    };
                    if order.at_all {
                        // So that the ways are those of the items, whatever their order.
                        course.is_anyhow = true;
                    } else if !course.is_in_order(model, items) {
                        continue;
                    }
                    let entry = match &before {
                        _ if !opens => {
                            parts.clear();
                            parts.extend(cuts.before(from, kind, &course).map(|(_, log)| log));
                            log_sum(&parts)
                        }
                        Some((other, beside)) => cuts.prices.turn((*other, beside), (kind, &course)),
                        None if is_first => cuts.prices.first[kind as usize],
                        None => f64::NEG_INFINITY,
                    };
                    if entry > f64::NEG_INFINITY {
                        cuts.legs.push(Stretch { from, kind, course });
                        cuts.sum.push(entry + beta * log);
                    }
                }
            }
            cuts.ending.push(start..cuts.legs.len());
        }
        if order.beside[1].is_none() || cuts.after.is_some() {
            parts.clear();
            parts.extend(cuts.last().map(|(_, log)| log));
            cuts.log_total = log_sum(&parts);
        }
        cuts
    }

    /// All ways to cut an order of items that are a line by themselves.
    pub(super) fn all(model: &Model, shared: Shared, items: &[u16], beta: f64) -> Self {
        let free: Vec<usize> = (1..items.len()).collect();
        Self::new(model, shared, &Order { items, free: &free, beside: [None; 2], at_all: false }, beta)
    }

    /// Ways that a line's legs may run, each with the items that it has; the items of the line in order.
    pub(super) fn kinds(model: &Model, shared: Shared, legs: &[Leg], beta: f64) -> (Vec<u16>, Self) {
        let items: Vec<u16> = legs.iter().flat_map(|leg| leg.items.iter().copied()).collect();
        let ends = legs.iter().scan(0, |at, leg| {
            *at += leg.items.len();
            Some(*at)
        });
        let free: Vec<usize> = ends.take(legs.len() - 1).collect();
        let order = Order { items: &items, free: &free, beside: [None; 2], at_all: true };
        let cuts = Self::new(model, shared, &order, beta);
        (items, cuts)
    }

    /// `ln` of the sum over all ways.
    pub(super) fn log_total(&self) -> f64 {
        self.log_total
    }

    /// Legs that may stand before one that begins at a bound, with `ln` of the sum over all ways up to the bend between.
    fn before<'a>(
        &'a self,
        bound: usize,
        kind: LegKind,
        course: &'a Course,
    ) -> impl Iterator<Item = (usize, f64)> + 'a {
        let price = move |k: usize| {
            let before = &self.legs[k];
            self.sum[k] + self.prices.turn((before.kind, &before.course), (kind, course))
        };
        self.ending[bound].clone().map(move |k| (k, price(k))).filter(|it| it.1 > f64::NEG_INFINITY)
    }

    /// Legs that may stand last, with `ln` of the sum over all ways.
    fn last(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        let price = |k: usize| {
            let last = (self.legs[k].kind, &self.legs[k].course);
            self.sum[k]
                + self.after.as_ref().map_or(0.0, |(kind, course)| self.prices.turn(last, (*kind, course)))
        };
        let last = self.ending[self.bounds.len() - 1].clone();
        last.map(move |k| (k, price(k))).filter(|it| it.1 > f64::NEG_INFINITY)
    }

    /// A way, from the last leg back, with `ln` of its chance; `None` where there is none.
    pub(super) fn draw(&self, order: &[u16], rng: &mut impl Rng) -> Option<(Vec<Leg>, f64)> {
        if self.log_total == f64::NEG_INFINITY {
            return None;
        }
        let (mut legs, mut log, mut end) = (Vec::new(), 0.0, self.bounds.len() - 1);
        let mut ways: Vec<(usize, f64)> = self.last().collect();
        loop {
            let top = ways.iter().fold(f64::NEG_INFINITY, |top, way| top.max(way.1));
            let shares: Vec<f64> = ways.iter().map(|way| (way.1 - top).exp()).collect();
            let drawn = crate::layout::pick(&shares, rng);
            log += (shares[drawn] / shares.iter().sum::<f64>()).ln();
            let leg = &self.legs[ways[drawn].0];
            let items = order[self.bounds[leg.from]..self.bounds[end]].to_vec();
            legs.push(Leg { kind: leg.kind, items });
            if leg.from == 0 {
                break;
            }
            end = leg.from;
            ways = self.before(end, leg.kind, &leg.course).collect();
        }
        legs.reverse();
        Some((legs, log))
    }

    /// `ln` of the chance of a given way; `None` where it is none of the ways.
    pub(super) fn log_chance(&self, legs: &[Leg]) -> Option<f64> {
        let mut at: usize = legs.iter().map(|leg| leg.items.len()).sum();
        let (mut log, mut next) = (0.0, None);
        for leg in legs.iter().rev() {
            let end = self.bounds.binary_search(&at).ok()?;
            at -= leg.items.len();
            let from = self.bounds.binary_search(&at).ok()?;
            let is_it = |k: &usize| self.legs[*k].from == from && self.legs[*k].kind == leg.kind;
            let own = self.ending[end].clone().find(is_it)?;
            let (mut log_own, mut parts) = (None, Vec::new());
            let mut see = |(k, log): (usize, f64)| {
                parts.push(log);
                log_own = log_own.or((k == own).then_some(log));
            };
            match next {
                None => self.last().for_each(&mut see),
                Some(next) => {
                    let next: &Stretch = &self.legs[next];
                    self.before(end, next.kind, &next.course).for_each(&mut see);
                }
            }
            log += log_own? - log_sum(&parts);
            next = Some(own);
        }
        Some(log)
    }
}

impl Prices {
    fn new(model: &Model, beta: f64) -> Self {
        let law = &model.evidence.law;
        let turn = |a: LegKind, b: LegKind| beta * (law.bends_per_m.ln() + model.log_next(a, b));
        Self {
            first: LegKind::ALL.map(|kind| beta * model.log_first(kind)),
            next: LegKind::ALL.map(|a| LegKind::ALL.map(|b| turn(a, b))),
            least_sine: law.least_turn_deg.to_radians().sin(),
            slack_m: law.slack_m,
        }
    }

    /// The price of a bend between two legs; minus infinity where they do not meet as bends do.
    fn turn(&self, (one, a): (LegKind, &Course), (two, b): (LegKind, &Course)) -> f64 {
        let sine = a.along.cross(b.along);
        if sine.abs() < self.least_sine {
            return f64::NEG_INFINITY;
        }
        let corner = a.centre + a.along * ((b.centre - a.centre).cross(b.along) / sine);
        let meets = (a.is_anyhow || (corner - a.centre).dot(a.along) >= a.last_m - self.slack_m)
            && (b.is_anyhow || (corner - b.centre).dot(b.along) <= b.first_m + self.slack_m);
        if meets { self.next[one as usize][two as usize] } else { f64::NEG_INFINITY }
    }
}

/// The mean course of a stretch, the way its items are written.
struct Course {
    centre: Point,
    along: Point,
    /// Where its first and last item lie along it from the centre, metres.
    first_m: f64,
    last_m: f64,
    /// Whether its corners may lie anywhere: one item has no way round.
    is_anyhow: bool,
}

impl Course {
    /// The course with `ln` of the evidence of its items; `None` where they lie too far off it.
    fn new(
        model: &Model,
        scatter: &Scatter,
        items: &[u16],
        kind: LegKind,
        shared: Shared,
    ) -> Option<(f64, Self)> {
        let prior = model.direction(kind, shared.bearing);
        let (log, along) = scatter.course(prior, MISFIT)?;
        let at = |item: u16| model.evidence.items[item as usize].at;
        let way = at(items[items.len() - 1]) - at(items[0]);
        let along = if way.dot(along) < 0.0 { -along } else { along };
        let centre = scatter.centre();
        let places = items.iter().map(|item| (at(*item) - centre).dot(along));
        let (first_m, last_m) =
            places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
        Some((log, Self { centre, along, first_m, last_m, is_anyhow: items.len() == 1 }))
    }

    fn is_in_order(&self, model: &Model, items: &[u16]) -> bool {
        items.windows(2).all(|pair| {
            let [a, b] = [pair[0], pair[1]].map(|item| model.evidence.items[item as usize].at);
            (b - a).dot(self.along) >= 0.0
        })
    }

    fn of_leg(model: &Model, leg: &Leg, shared: Shared) -> Option<Self> {
        let scatter = Scatter::new(leg.items.iter().map(|&item| model.weighted(item, shared.scale)));
        Self::new(model, &scatter, &leg.items, leg.kind, shared).map(|it| it.1)
    }
}
