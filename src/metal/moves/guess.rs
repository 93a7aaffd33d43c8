//! Guesses of where items lie that were taken out, each with its share of the law as nearly as little work tells.
//!
//! The evidence of a leg with the items on it is exact; steps and bends are by the nearest flags; of the class only what is
//! written at items counts; what ends lead to, buildings and silence are left out. All rests on what is left without the items,
//! taken as sets, so that a guess is the same whichever place they came from.

use super::left::{Left, Spot, scatter};
use crate::geometry::Point;
use crate::metal::class_law::ByClass;
use crate::metal::evidence::Origin;
use crate::metal::law::{SCALES, STEPS_M};
use crate::metal::leg::Scatter;
use crate::metal::line::{Leg, Line, MARK_GAP_M};
use crate::metal::model::{LegKind, Model, Shared, log_sum};
use crate::metal::state::State;
use rand::Rng;

/// A leg is asked where an item lies no further aside than so many metres and standard deviations, or from its nearest flag than so
/// many metres; an end, where it lies within so many metres. Numerical choices: what lies further has a chance below exp(-8).
const ASIDE_M: f64 = 0.3;
const ASIDE_SD: f64 = 5.0;
const BEYOND_M: f64 = 20.0;
const NEAR_ENDS_M: f64 = 15.0;

/// `ln` of the density of a line of these items alone, kind and evidence left out, at the likeliest bearing.
pub(super) fn log_alone(model: &Model, items: &[u16]) -> f64 {
    let bearings = &model.evidence.bearings;
    let bearing = (0..bearings.len()).max_by(|a, b| bearings[*a].1.total_cmp(&bearings[*b].1)).unwrap_or(0);
    let shared = Shared { bearing, step: STEPS_M.len() / 2, scale: SCALES.len() / 2 };
    let leg = Leg { kind: LegKind::Any, items: items.to_vec() };
    let line = Line::new(model, vec![leg], shared);
    line.map_or(f64::NEG_INFINITY, |line| {
        line.log_density - line.fits[0].log_evidence - model.log_first(LegKind::Any)
    })
}

/// Places with `ln` of the guess of their share.
pub(super) struct Guesses {
    pub(super) spots: Vec<(Spot, f64)>,
}

impl Guesses {
    /// Where items may lie: one, or all of a mark or service.
    /// `log_alone` is the guess of a line of them alone; of several it has all ways to bend in it.
    pub(super) fn new(model: &Model, state: &State, left: &Left, items: &[u16], log_alone: f64) -> Self {
        let (law, shared) = (&model.evidence.law, state.shared);
        let first = &model.evidence.items[items[0] as usize];
        let (name, is_flag) = (first.name, first.is_flag());
        let own = scatter(model, items, shared.scale);
        let evidence = |sums: &Scatter, kind| sums.log_evidence(model.direction(kind, shared.bearing));
        let mut spots = Vec::with_capacity(24);
        if is_flag {
            let unnamed = if name.is_some() { model.log_names } else { 0.0 };
            spots.push((Spot::Stray, model.log_strays(left.strays + 1) - unnamed));
        }
        let on = if is_flag { model.log_strays(left.strays) } else { 0.0 };
        if items.len() > 1 {
            spots.push((Spot::Whole, log_alone));
        } else {
            for kind in LegKind::ALL {
                spots.push((Spot::Alone(kind), on + log_alone + model.log_first(kind)));
            }
        }
        let torn = model.block_of[items[0] as usize].filter(|_| items.len() == 1);
        for line in 0..state.lines.len() {
            let (legs, fits) = left.legs(state, line);
            if legs.is_empty() {
                continue;
            }
            let beside =
                Beside { model, shared, items, legs, has_flags: flags(model, legs).next().is_some() };
            let mut known = on + beside.log_name(name) + beside.log_class();
            if let Some(block) = torn {
                let same = |item: &u16| model.block_of[*item as usize] == Some(block);
                known += if beside.all().any(|item| same(&item)) { 0.0 } else { law.torn_mark.ln() };
            }
            for (k, (leg, fit)) in legs.iter().zip(fits).enumerate() {
                let along = fit.along();
                let near = |item: &u16| {
                    let to = model.evidence.items[*item as usize].at - fit.centre;
                    let (t, aside, sd) = (to.dot(along), along.cross(to), model.sd_m(*item, shared.scale));
                    aside.abs() <= ASIDE_M + ASIDE_SD * (fit.variance_m2(t) + sd * sd).sqrt()
                };
                if !items.iter().all(near) {
                    continue;
                }
                let Some(steps) = beside.log_steps(k, along) else { continue };
                let evidence = evidence(&fit.scatter().joined(&own), leg.kind) - fit.log_evidence;
                spots.push((Spot::On(line, k), known + evidence + steps));
            }
            if items.len() > 1 && legs.len() > 1 {
                let Some(spread) = left.spread(model, state, line, items) else { continue };
                let of = |k: usize| -> Vec<u16> {
                    spread.iter().zip(items).filter(|(leg, _)| **leg == k).map(|(_, item)| *item).collect()
                };
                let gain = |k: usize| {
                    let own = of(k);
                    if own.is_empty() {
                        return 0.0;
                    }
                    let sums = fits[k].scatter().joined(&scatter(model, &own, shared.scale));
                    evidence(&sums, legs[k].kind) - fits[k].log_evidence
                };
                let evidence = (0..legs.len()).map(gain).sum::<f64>();
                spots.push((Spot::Nearest(line), known + evidence + beside.log_places()));
            }
            for front in [true, false] {
                let last = legs.len() - 1;
                let end = if front { 0 } else { last };
                // Between two bends lie two items or more.
                let nearest = beside.nearest(&legs[end]);
                if front && last == 0 || last > 0 && legs[end].items.len() < 2 || nearest > NEAR_ENDS_M {
                    continue;
                }
                let bend = known + law.bends_per_m.ln() + beside.log_onward(nearest);
                for kind in LegKind::ALL {
                    let next = model.log_next(legs[end].kind, kind);
                    if next > f64::NEG_INFINITY {
                        spots.push((Spot::Turned(line, front, kind), bend + next + evidence(&own, kind)));
                    }
                }
            }
        }
        Self { spots }
    }

    /// A place by its guess, raised to a power, with `ln` of it.
    pub(super) fn draw(&self, beta: f64, rng: &mut impl Rng) -> (Spot, f64) {
        let top = self.spots.iter().map(|it| it.1).fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = self.spots.iter().map(|it| (beta * (it.1 - top)).exp()).collect();
        self.spots[crate::layout::pick(&weights, rng)]
    }

    /// `ln` of the sum of all guesses, each raised to a power.
    pub(super) fn log_total(&self, beta: f64) -> f64 {
        log_sum(&self.spots.iter().map(|it| beta * it.1).collect::<Vec<f64>>())
    }

    /// The guess for a place, if it is one.
    pub(super) fn log_of(&self, spot: Spot) -> Option<f64> {
        self.spots.iter().find(|it| it.0 == spot).map(|it| it.1)
    }
}

/// Places of the flags on some legs.
fn flags<'a>(model: &'a Model, legs: &'a [Leg]) -> impl Iterator<Item = Point> + 'a {
    let items = legs.iter().flat_map(|leg| &leg.items);
    let flags = items.filter(|item| (**item as usize) < model.evidence.flags);
    flags.map(|item| model.evidence.items[*item as usize].at)
}

/// Items beside the legs of a line.
struct Beside<'a> {
    model: &'a Model,
    shared: Shared,
    items: &'a [u16],
    legs: &'a [Leg],
    has_flags: bool,
}

impl<'a> Beside<'a> {
    fn all(&self) -> impl Iterator<Item = u16> + 'a {
        self.legs.iter().flat_map(|leg| leg.items.iter().copied())
    }

    fn at(&self) -> Point {
        self.model.evidence.items[self.items[0] as usize].at
    }

    fn is_flag(&self) -> bool {
        (self.items[0] as usize) < self.model.evidence.flags
    }

    /// `ln` of the density of places along a line of items that are no flags.
    fn log_places(&self) -> f64 {
        let (side, mut marks) = (self.model.log_side, 0);
        let of = |item: &u16| match self.model.evidence.items[*item as usize].origin {
            Origin::Mark(_) if marks > 0 => -MARK_GAP_M.ln(),
            Origin::Mark(_) => {
                marks += 1;
                -side
            }
            _ => -side,
        };
        self.items.iter().map(of).sum()
    }

    /// How much likelier places along the line are with the items on a leg, by the nearest flags to either side; `None` where all
    /// are too far.
    fn log_steps(&self, leg: usize, along: Point) -> Option<f64> {
        if !self.is_flag() {
            return Some(self.log_places());
        }
        let see = |nearest: &mut [f64; 2], legs: &'a [Leg]| {
            for place in flags(self.model, legs) {
                let to = place - self.at();
                let side = usize::from(to.dot(along) > 0.0);
                nearest[side] = nearest[side].min(to.dot(to));
            }
        };
        let mut near = [f64::INFINITY; 2];
        see(&mut near, &self.legs[leg..=leg]);
        if near.contains(&f64::INFINITY) {
            // Round a corner, where the leg itself has none on that side.
            let mut beyond = [f64::INFINITY; 2];
            see(&mut beyond, &self.legs[leg.saturating_sub(1)..leg]);
            see(&mut beyond, &self.legs[leg + 1..(leg + 2).min(self.legs.len())]);
            let open = near.iter_mut().zip(beyond).filter(|(near, _)| near.is_infinite());
            open.for_each(|(near, beyond)| *near = beyond);
        }
        let [a, b] = near.map(f64::sqrt);
        if a.min(b) > BEYOND_M && self.has_flags {
            return None;
        }
        if a.is_infinite() || b.is_infinite() {
            return Some(self.log_onward(a.min(b)));
        }
        let step = |gap: f64| self.model.guess_log_step(gap, self.shared.step);
        Some(step(a) + step(b) - step(a + b) + (1.0 - self.model.evidence.law.stop).ln())
    }

    /// The same where the line goes on so far to the first of them.
    fn log_onward(&self, gap: f64) -> f64 {
        let stop = self.model.evidence.law.stop;
        match (self.is_flag(), self.has_flags) {
            (false, _) => self.log_places(),
            (true, true) => self.model.guess_log_step(gap, self.shared.step) + (1.0 - stop).ln(),
            (true, false) => stop.ln() - self.model.log_side,
        }
    }

    /// Distance between the nearest of the items and of a leg's, metres.
    fn nearest(&self, leg: &Leg) -> f64 {
        let place = |item: &u16| self.model.evidence.items[*item as usize].at;
        let far = |own: &u16| {
            let square = |item: &u16| {
                let to = place(item) - place(own);
                to.dot(to)
            };
            leg.items.iter().map(square).fold(f64::INFINITY, f64::min)
        };
        self.items.iter().map(far).fold(f64::INFINITY, f64::min).sqrt()
    }

    /// How likely the name is by the names on the line.
    fn log_name(&self, name: Option<usize>) -> f64 {
        let Some(name) = name else { return 0.0 };
        let (mut same, mut all) = (0.0, 0.0);
        for own in self.all().filter_map(|item| self.model.evidence.items[item as usize].name) {
            all += 1.0;
            same += f64::from(u8::from(own == name));
        }
        ((same + FEW) / (all + FEW * (self.model.evidence.names + 1) as f64)).ln()
    }

    /// How likely what is written of the items' class is by what is written at the line.
    fn log_class(&self) -> f64 {
        let said = |item: u16| self.model.evidence.items[item as usize].class.as_ref();
        if self.items.iter().all(|item| said(*item).is_none()) {
            return 0.0;
        }
        let log = |items: &mut dyn Iterator<Item = u16>| {
            let (mut log, mut by_flags, mut flags): (ByClass, ByClass, f64) =
                (self.model.log_share, [0.0; _], 0.0);
            for item in items {
                let Some(said) = said(item) else { continue };
                let is_flag = (item as usize) < self.model.evidence.flags;
                flags += f64::from(u8::from(is_flag));
                let sums = if is_flag { &mut by_flags } else { &mut log };
                sums.iter_mut().zip(said).for_each(|(sum, said)| *sum += said);
            }
            log.iter_mut().zip(by_flags).for_each(|(log, sum)| *log += sum / flags.max(1.0));
            log_sum(&log)
        };
        log(&mut self.all().chain(self.items.iter().copied())) - log(&mut self.all())
    }
}

/// Names that no flag of a line bears count as so many flags. Numerical choice.
const FEW: f64 = 0.05;
