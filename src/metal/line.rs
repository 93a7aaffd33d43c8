//! One line: its legs, its log density, and what it may carry.

use super::class_law::ByClass;
use super::ends::End;
use super::evidence::Origin;
use super::leg::{Fit, meeting};
use super::model::{CLASS_COUNT, LegKind, Model, Shared, log_sum};
use crate::geometry::Point;

/// Items on one straight leg.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Leg {
    /// How it runs.
    pub kind: LegKind,
    /// Its items, in order along it.
    pub items: Vec<u16>,
}

/// A line whose density is known.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its legs, in order.
    pub legs: Vec<Leg>,
    /// What the items of each leg say.
    pub fits: Vec<Fit>,
    /// Where legs meet.
    pub corners: Vec<Point>,
    /// `ln` of its density: items on it, steps, bends, ends, names, class.
    pub log_density: f64,
    /// `ln` of the joint density of each class with all that tells of it, up to a constant.
    pub log_class: ByClass,
    /// Number of flags on it.
    pub flags: usize,
    /// The name that most of its items bear, if they bear one.
    pub name: Option<usize>,
}

/// A service ends this near to the last item of its line, metres: paint and flags run past fixtures. Practice.
const END_M: f64 = 1.5;

/// A price for an end of a service inside a line: services end there.
const SERVICE_INSIDE: f64 = -6.0;

impl Line {
    /// A line of these legs, their items in any order within a leg; `None` where legs do not meet as bends do.
    /// Between two bends lie two items or more: a jog that one item tells of is scatter.
    pub fn new(model: &Model, mut legs: Vec<Leg>, shared: Shared) -> Option<Self> {
        let between = 1..legs.len().saturating_sub(1);
        if legs.get(between).is_some_and(|legs| legs.iter().any(|leg| leg.items.len() < 2)) {
            return None;
        }
        let fits: Vec<Fit> = legs.iter().map(|leg| fit(model, leg, shared)).collect();
        let corners = corners(model, &fits)?;
        let directions = directions(model, &legs, &fits, &corners);
        let slack = model.evidence.law.slack_m;
        let mut log = model.log_first(legs[0].kind) - 2.0 * model.log_side + model.evidence.law.lines.ln();
        log += fits.iter().map(|fit| fit.log_evidence).sum::<f64>();
        for (k, leg) in legs.iter_mut().enumerate() {
            let along =
                |item: &u16| (model.evidence.items[*item as usize].at - fits[k].centre).dot(directions[k]);
            leg.items.sort_by(|a, b| along(a).total_cmp(&along(b)).then(a.cmp(b)));
            let (first, last) = (along(&leg.items[0]), along(&leg.items[leg.items.len() - 1]));
            let before = k.checked_sub(1).map(|k| corners[k]);
            let off = |corner: Point, k: usize| (corner - fits[k].centre).dot(directions[k]);
            if before.is_some_and(|corner| off(corner, k) > first + slack)
                || corners.get(k).is_some_and(|corner| off(*corner, k) < last - slack)
            {
                return None;
            }
        }
        for pair in legs.windows(2) {
            log += model.evidence.law.bends_per_m.ln() + model.log_next(pair[0].kind, pair[1].kind);
        }
        if log == f64::NEG_INFINITY {
            return None;
        }
        for way in directions.windows(3) {
            let turn = |a: Point, b: Point| a.cross(b).atan2(a.dot(b));
            if (turn(way[0], way[1]) + turn(way[1], way[2])).abs() > 0.75 * std::f64::consts::PI {
                log += model.evidence.law.turn_back.ln();
            }
        }
        log += along_it(model, &legs, &corners, shared);
        let (names, name) = named(model, &legs);
        let log_class = classes(model, &legs, &fits, &directions);
        let log_density = log + names + torn(model, &legs) + log_sum(&log_class);
        let is_flag = |item: &&u16| (**item as usize) < model.evidence.flags;
        let flags = legs.iter().flat_map(|leg| &leg.items).filter(is_flag).count();
        Some(Self { flags, legs, fits, corners, log_density, log_class, name })
    }

    /// Its items in order.
    pub fn items(&self) -> impl Iterator<Item = u16> + '_ {
        self.legs.iter().flat_map(|leg| leg.items.iter().copied())
    }

    /// Number of its items.
    pub(super) fn len(&self) -> usize {
        self.legs.iter().map(|leg| leg.items.len()).sum()
    }

    /// Chance of each class.
    pub fn class_chances(&self) -> ByClass {
        let total = log_sum(&self.log_class);
        self.log_class.map(|log| (log - total).exp())
    }

    /// Its first and last item with the outward directions.
    pub(super) fn ends(&self, model: &Model) -> [End; 2] {
        let directions = self.directions(model);
        ends(model, &self.legs, &self.fits, &directions)
    }

    /// The direction of each leg.
    pub(super) fn directions(&self, model: &Model) -> Vec<Point> {
        directions(model, &self.legs, &self.fits, &self.corners)
    }
}

/// Distance from a place to the mean course of a leg between its bends, endless beyond the last ones, metres.
pub(super) fn distance_to_leg(fits: &[Fit], corners: &[Point], leg: usize, place: Point) -> f64 {
    let (centre, along) = (fits[leg].centre, fits[leg].along());
    let t = (place - centre).dot(along);
    let bends = leg.checked_sub(1).map(|k| corners[k]).into_iter().chain(corners.get(leg).copied());
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    for bend in bends.map(|bend| (bend - centre).dot(along)) {
        if bend < 0.0 { low = low.max(bend) } else { high = high.min(bend) }
    }
    place.distance(centre + along * t.clamp(low, high.max(low)))
}

pub(super) fn fit(model: &Model, leg: &Leg, shared: Shared) -> Fit {
    let items = leg.items.iter().map(|&item| model.weighted(item, shared.scale));
    Fit::new(items, model.direction(leg.kind, shared.bearing))
}

/// Where mean courses of neighbouring legs meet; `None` where some turn too little.
pub(super) fn corners(model: &Model, fits: &[Fit]) -> Option<Vec<Point>> {
    let least = model.evidence.law.least_turn_deg.to_radians().sin();
    let of = |fit: &Fit| (fit.centre, fit.angle_rad);
    fits.windows(2).map(|pair| meeting(of(&pair[0]), of(&pair[1]), least)).collect()
}

/// The way along each leg: from corner to corner, away from the only one, and of an only leg as its items are written.
fn directions(model: &Model, legs: &[Leg], fits: &[Fit], corners: &[Point]) -> Vec<Point> {
    let of = |k: usize| {
        let along = fits[k].along();
        if let [only] = legs {
            let at = |item: u16| model.evidence.items[item as usize].at;
            let written = at(only.items[only.items.len() - 1]) - at(only.items[0]);
            return if along.dot(written) < 0.0 { -along } else { along };
        }
        let from = if k == 0 { fits[k].centre } else { corners[k - 1] };
        let to = corners.get(k).copied().unwrap_or(fits[k].centre);
        if along.dot(to - from) < 0.0 { -along } else { along }
    };
    (0..fits.len()).map(of).collect()
}

/// `ln` of the density of places along the line: flags by the steps of the walk, other items anywhere; buildings in the way.
fn along_it(model: &Model, legs: &[Leg], corners: &[Point], shared: Shared) -> f64 {
    let items = &model.evidence.items;
    let law = &model.evidence.law;
    let (mut log, mut at, mut flag, mut flags) = (0.0, 0.0, None::<(f64, u16)>, 0usize);
    let mut others = 0.0;
    let (mut marks, mut services): (Vec<(usize, u16)>, Vec<f64>) = (Vec::new(), Vec::new());
    let mut last: Option<u16> = None;
    for (k, leg) in legs.iter().enumerate() {
        for (place, &item) in leg.items.iter().enumerate() {
            if let Some(before) = last {
                let (a, b) = (items[before as usize].at, items[item as usize].at);
                if place == 0 && k > 0 {
                    let corner = corners[k - 1];
                    at += a.distance(corner) + corner.distance(b);
                    if model.enters(a, corner) || model.enters(corner, b) {
                        log += law.through_building.ln();
                    }
                } else {
                    at += a.distance(b);
                    if model.is_blocked(before, item) {
                        log += law.through_building.ln();
                    }
                }
            }
            last = Some(item);
            match items[item as usize].origin {
                Origin::Flag(_) => {
                    if let Some((place_before, before)) = flag {
                        let straight = place > 0 && leg.items[place - 1] == before;
                        log += if straight {
                            model.log_step_between(before, item, shared.step)
                        } else {
                            model.log_step(at - place_before, shared.step)
                        };
                    }
                    flag = Some((at, item));
                    flags += 1;
                }
                Origin::Mark(mark) => match marks.iter_mut().find(|(known, _)| *known == mark) {
                    Some((_, before)) => {
                        // Paint runs along its line: points that do not follow each other tell of two lines.
                        let follows = before.abs_diff(item) == 1;
                        others += if follows { 0.0 } else { law.torn_mark.ln() } - MARK_GAP_M.ln();
                        *before = item;
                    }
                    None => {
                        marks.push((mark, item));
                        others -= model.log_side;
                    }
                },
                Origin::Service(_) => {
                    services.push(at);
                    others -= model.log_side;
                }
                Origin::Passed(_) | Origin::Probe(_) => others -= model.log_side,
            }
        }
    }
    // The first place of all is part of the line's own price.
    log += others + if flags == 0 { model.log_side } else { 0.0 };
    if flags > 0 {
        log += law.stop.ln() + (flags - 1) as f64 * (1.0 - law.stop).ln();
    }
    let inside = services.iter().filter(|place| **place > END_M && **place < at - END_M);
    log + inside.count() as f64 * SERVICE_INSIDE
}

/// Points of one mark follow each other at about this distance, metres.
pub(super) const MARK_GAP_M: f64 = 3.0;

/// `ln` of the factor for marks and services of which only some points lie on a line: paint and a service are one line.
fn torn(model: &Model, legs: &[Leg]) -> f64 {
    if model.blocks.is_empty() {
        return 0.0;
    }
    let mut counts = vec![0usize; model.blocks.len()];
    for &item in legs.iter().flat_map(|leg| &leg.items) {
        if let Some(block) = model.block_of[item as usize] {
            counts[block] += 1;
        }
    }
    let torn = counts.iter().zip(&model.blocks).filter(|(count, block)| **count > 0 && **count < block.len());
    torn.count() as f64 * model.evidence.law.torn_mark.ln()
}

/// `ln` of the chance of the names on a line, summed over what it is truly called, and the name that most of its items bear.
fn named(model: &Model, legs: &[Leg]) -> (f64, Option<usize>) {
    let names = model.evidence.names;
    if names == 0 {
        return (0.0, None);
    }
    let error = model.evidence.law.name_error;
    let mut counts: Vec<(usize, usize)> = Vec::new();
    let mut total = 0usize;
    for &item in legs.iter().flat_map(|leg| &leg.items) {
        if let Some(name) = model.evidence.items[item as usize].name {
            total += 1;
            match counts.iter_mut().find(|(known, _)| *known == name) {
                Some((_, count)) => *count += 1,
                None => counts.push((name, 1)),
            }
        }
    }
    let of = |count: usize| {
        count as f64 * (1.0 - error).ln() + (total - count) as f64 * (error / names as f64).ln()
    };
    // A name that none of its items bears, and each that some do.
    let mut parts = vec![((names + 1 - counts.len()) as f64).ln() + of(0)];
    parts.extend(counts.iter().map(|(_, count)| of(*count)));
    let most =
        counts.iter().max_by_key(|(name, count)| (*count, std::cmp::Reverse(*name))).map(|(name, _)| *name);
    (log_sum(&parts) - ((names + 1) as f64).ln(), most)
}

fn ends(model: &Model, legs: &[Leg], fits: &[Fit], directions: &[Point]) -> [End; 2] {
    let (first, last) = (&legs[0], legs.len() - 1);
    let at = |item: u16| model.evidence.items[item as usize].at;
    let is_service = |item: &u16| matches!(model.evidence.items[*item as usize].origin, Origin::Service(_));
    let end = |item: u16, leg: usize, outward: Point| {
        let on = fits[leg].centre + outward * (at(item) - fits[leg].centre).dot(outward);
        // Paint runs a little past the fixture that it leads to.
        let near = |other: &&u16| at(**other).distance(at(item)) <= END_M;
        let service = legs[leg].items.iter().filter(near).any(is_service);
        End { on, outward, fit: fits[leg], service }
    };
    let tail = &legs[last].items;
    [end(first.items[0], 0, -directions[0]), end(tail[tail.len() - 1], last, directions[last])]
}

/// `ln` of share, covers, statements and ends, for each class.
fn classes(model: &Model, legs: &[Leg], fits: &[Fit], directions: &[Point]) -> ByClass {
    let mut log = model.log_share;
    let items = || legs.iter().flat_map(|leg| &leg.items).map(|item| &model.evidence.items[*item as usize]);
    // What flags say of the class is one statement of whoever held the detector, however many flags repeat it.
    let (mut by_flags, mut flags) = ([0.0; CLASS_COUNT], 0.0);
    for item in items() {
        let Some(said) = &item.class else { continue };
        if item.is_flag() {
            flags += 1.0;
            by_flags.iter_mut().zip(said).for_each(|(sum, said)| *sum += said);
        } else {
            log.iter_mut().zip(said).for_each(|(log, said)| *log += said);
        }
    }
    if flags > 0.0 {
        log.iter_mut().zip(by_flags).for_each(|(log, sum)| *log += sum / flags);
    }
    for (c, log) in log.iter_mut().enumerate() {
        let law = &model.evidence.law.classes[c];
        *log += depths(items().filter_map(|item| item.depth), law.cover_m, law.cover_sd_m).2;
    }
    let [first, last] = ends(model, legs, fits, directions).map(|end| end.chances(model));
    for ((log, first), last) in log.iter_mut().zip(first).zip(last) {
        *log += (first * last).max(1e-300).ln();
    }
    log
}

/// Cover given told depths (mean, standard deviation), and `ln` of the likelihood of those over a flat one.
pub(super) fn depths(told: impl Iterator<Item = (f64, f64)>, mean: f64, sd: f64) -> (f64, f64, f64) {
    let (mut mean, mut variance, mut log) = (mean, sd * sd, 0.0);
    for (depth, sd) in told {
        let total = variance + sd * sd;
        log -= 0.5 * (depth - mean).powi(2) / total + 0.5 * total.ln();
        let gain = variance / total;
        mean += gain * (depth - mean);
        variance *= 1.0 - gain;
    }
    (mean, variance.sqrt(), log)
}
