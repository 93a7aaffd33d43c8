//! Draws of metal as a table of lines: one partition of the flags stands for all, and every draw's lines are matched to its.
//!
//! The partition is the drawn one whose pairs of items agree best with the draws (least Binder loss: Binder, Biometrika 65
//! (1978) 31-38). A drawn line counts as the one whose items it shares most. Where it runs: `stations`.

use super::class_law::{self, CLASSES};
use super::evidence::Origin;
use super::model::{CLASS_COUNT, Model};
use super::stations::{Station, quantile, stations};
use crate::geometry::Point;
use crate::layout::MetalLine;
use std::sync::Arc;

/// One line over all draws.
#[derive(Clone, Debug, PartialEq)]
pub struct LineSummary {
    /// Share of draws that have it.
    pub probability: f64,
    /// Chance of each class, in the order of [`CLASSES`], where it is there.
    pub classes: [f64; CLASS_COUNT],
    /// Items on it in the partition.
    pub items: Vec<usize>,
    /// Along its course: where it lies, with the band that holds nine tenths of the draws.
    pub stations: Vec<Station>,
    /// Median ground above its top, metres.
    pub cover_m: f64,
    /// 5 % and 95 % points of the same.
    pub cover_band_m: [f64; 2],
    /// For each fixture, the share of its draws that lead there.
    pub fixtures: Vec<f64>,
}

/// One item over all draws.
#[derive(Clone, Debug, PartialEq)]
pub struct ItemSummary {
    /// What it is.
    pub origin: Origin,
    /// The line that it is most likely on, by its place among the lines; `None`: stray.
    pub line: Option<usize>,
    /// Chance of that.
    pub probability: f64,
    /// Chance that it is on no line.
    pub stray: f64,
}

/// Two lines that cross.
#[derive(Clone, Debug, PartialEq)]
pub struct Crossing {
    /// The two lines.
    pub lines: [usize; 2],
    /// Where, metres.
    pub at: Point,
    /// Share of draws in which they do.
    pub probability: f64,
}

/// All draws at one view.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    /// Lines, those with most items first.
    pub lines: Vec<LineSummary>,
    /// Items, in the order of the evidence.
    pub items: Vec<ItemSummary>,
    /// Where lines cross.
    pub crossings: Vec<Crossing>,
}

/// At most so many drawn partitions are weighed against all draws. Numerical choice.
const WEIGHED: usize = 200;

/// Crossings, and stations, in a smaller share of the draws than this are not listed.
const LEAST: f64 = 0.05;

const NONE: usize = usize::MAX;

impl Summary {
    /// Sums up the lines of every draw.
    pub fn new(model: &Model, draws: &[&[Arc<MetalLine>]]) -> Self {
        let n = model.evidence.items.len();
        let places: Vec<Vec<usize>> = draws.iter().map(|lines| placed(lines, n)).collect();
        let best = partition(&places, n);
        let mut groups: Vec<Vec<usize>> = Vec::new();
        let mut seen: Vec<usize> = best.iter().copied().filter(|line| *line != NONE).collect();
        seen.sort_unstable();
        seen.dedup();
        for line in seen {
            groups.push((0..n).filter(|item| best[*item] == line).collect());
        }
        groups.sort_by_key(|items| (std::cmp::Reverse(items.len()), items[0]));
        let matched: Vec<Vec<usize>> = places.iter().map(|places| matched(places, &groups)).collect();
        let total = draws.len().max(1) as f64;
        let lines: Vec<LineSummary> = groups
            .iter()
            .enumerate()
            .map(|(k, items)| {
                let own: Vec<&MetalLine> = draws
                    .iter()
                    .zip(&matched)
                    .filter(|(_, matched)| matched[k] != NONE)
                    .map(|(lines, matched)| &*lines[matched[k]])
                    .collect();
                line(model, items, &own, total)
            })
            .collect();
        let items = (0..n).map(|item| summed(model, item, &places, &matched, groups.len(), total)).collect();
        let crossings = crossings(draws, &matched, groups.len(), total);
        Self { lines, items, crossings }
    }
}

/// The line of each item in one draw.
fn placed(lines: &[Arc<MetalLine>], n: usize) -> Vec<usize> {
    let mut places = vec![NONE; n];
    for (k, line) in lines.iter().enumerate() {
        line.items.iter().for_each(|item| places[*item as usize] = k);
    }
    places
}

/// The drawn partition of least Binder loss, strays each by itself.
fn partition(places: &[Vec<usize>], n: usize) -> Vec<usize> {
    if places.is_empty() || n == 0 {
        return vec![NONE; n];
    }
    let together = |p: &[usize], i: usize, j: usize| p[i] != NONE && p[i] == p[j];
    let mut share = vec![0.0f64; n * n];
    for p in places {
        for i in 0..n {
            for j in i..n {
                if together(p, i, j) {
                    share[i * n + j] += 1.0 / places.len() as f64;
                }
            }
        }
    }
    let step = places.len().div_ceil(WEIGHED);
    let loss = |p: &&Vec<usize>| {
        let mut loss = 0.0;
        for i in 0..n {
            for j in i..n {
                let own = f64::from(u8::from(together(p, i, j)));
                loss += (own - share[i * n + j]).powi(2);
            }
        }
        loss
    };
    let best = places.iter().step_by(step).min_by(|a, b| loss(a).total_cmp(&loss(b)));
    best.cloned().unwrap_or_else(|| vec![NONE; n])
}

/// For each line of the partition the drawn one that shares most of its items, each drawn line at most once.
fn matched(places: &[usize], groups: &[Vec<usize>]) -> Vec<usize> {
    let mut shared: Vec<(usize, usize, usize)> = Vec::new();
    for (k, items) in groups.iter().enumerate() {
        for &item in items {
            let line = places[item];
            if line == NONE {
                continue;
            }
            match shared.iter_mut().find(|(_, group, drawn)| *group == k && *drawn == line) {
                Some((count, ..)) => *count += 1,
                None => shared.push((1, k, line)),
            }
        }
    }
    shared.sort_by_key(|&(count, group, line)| (std::cmp::Reverse(count), group, line));
    let mut matched = vec![NONE; groups.len()];
    let mut taken: Vec<usize> = Vec::new();
    for (_, group, line) in shared {
        if matched[group] == NONE && !taken.contains(&line) {
            matched[group] = line;
            taken.push(line);
        }
    }
    matched
}

fn summed(
    model: &Model,
    item: usize,
    places: &[Vec<usize>],
    matched: &[Vec<usize>],
    groups: usize,
    total: f64,
) -> ItemSummary {
    let (mut on, mut stray) = (vec![0.0; groups], 0.0);
    for (places, matched) in places.iter().zip(matched) {
        if places[item] == NONE {
            stray += 1.0 / total;
        } else if let Some(k) = matched.iter().position(|line| *line == places[item]) {
            on[k] += 1.0 / total;
        }
    }
    let best = (0..groups).max_by(|a, b| on[*a].total_cmp(&on[*b])).filter(|k| on[*k] > stray);
    let probability = best.map_or(stray, |k| on[k]);
    let [probability, stray] = [probability, stray].map(|p| p.clamp(0.0, 1.0)); // sums of shares round
    ItemSummary { origin: model.evidence.items[item].origin, line: best, probability, stray }
}

fn line(model: &Model, items: &[usize], own: &[&MetalLine], total: f64) -> LineSummary {
    let count = own.len().max(1) as f64;
    let mut classes = [0.0; CLASS_COUNT];
    let mut fixtures = vec![0.0; model.evidence.fixtures.len()];
    let mut covers: Vec<f64> = Vec::with_capacity(own.len());
    for line in own {
        if let Some(place) = class_law::place(line.class) {
            classes[place] += 1.0 / count;
        }
        line.fixtures.iter().for_each(|k| fixtures[*k] += 1.0 / count);
        covers.push(line.cover_m);
    }
    covers.sort_by(f64::total_cmp);
    LineSummary {
        probability: own.len() as f64 / total,
        classes,
        items: items.to_vec(),
        stations: stations(own, total, LEAST),
        cover_m: quantile(&covers, 0.5),
        cover_band_m: [quantile(&covers, 0.05), quantile(&covers, 0.95)],
        fixtures,
    }
}

fn crossings(
    draws: &[&[Arc<MetalLine>]],
    matched: &[Vec<usize>],
    groups: usize,
    total: f64,
) -> Vec<Crossing> {
    let mut found = Vec::new();
    for a in 0..groups {
        for b in a + 1..groups {
            let (mut count, mut sum) = (0.0, Point::default());
            for (lines, matched) in draws.iter().zip(matched) {
                if matched[a] == NONE || matched[b] == NONE {
                    continue;
                }
                if let Some(at) = meet(&lines[matched[a]].path, &lines[matched[b]].path) {
                    count += 1.0;
                    sum = sum + at;
                }
            }
            if count >= LEAST * total && count > 0.0 {
                found.push(Crossing { lines: [a, b], at: sum * (1.0 / count), probability: count / total });
            }
        }
    }
    found
}

/// Where two courses first cross.
fn meet(a: &[Point], b: &[Point]) -> Option<Point> {
    for p in a.windows(2) {
        for q in b.windows(2) {
            let (u, v) = (p[1] - p[0], q[1] - q[0]);
            let det = u.cross(v);
            if det.abs() > 1e-12 {
                let (t, s) = ((q[0] - p[0]).cross(v) / det, (q[0] - p[0]).cross(u) / det);
                if (0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&s) {
                    return Some(p[0] + u * t);
                }
            }
        }
    }
    None
}

/// Names of the classes, in the order of their chances.
pub fn class_names() -> [&'static str; CLASS_COUNT] {
    CLASSES.map(crate::class::Class::name)
}
