//! Crossings told from bends. Where two lines cross, the flags before and after the place must lie on the same line, and on
//! another than those of the other line: lines whose tails are swapped there, or that are made one, are wrong. Where a line
//! bends, the flags before and after must lie on one line, and no crossing may be listed there.

use super::Site;
use super::forecaster::Forecast;
use super::truth::{Crossing, Truth};
use crate::plane::Xy;

/// Flags that are asked on each side, at most this far along the line, metres.
const REACH_M: f64 = 8.0;
const ASKED: usize = 3;
/// A side with fewer flags settles nothing.
const LEAST: usize = 2;
/// Corners that turn less are slight, and no crossing is ever mistaken for them, degrees.
const LEAST_TURN_DEG: f64 = 20.0;
/// A bend this near to a true crossing is left out, metres.
const CLEAR_M: f64 = 2.0;
/// A crossing that is listed this near is meant for the place, metres.
const NEAR_M: f64 = 1.5;

/// What was asked and what was told right.
#[derive(Clone, Copy, Debug, Default)]
pub struct Told {
    pub crossings: usize,
    pub crossings_right: usize,
    /// Among the crossings: those below 65 degrees.
    pub oblique: usize,
    pub oblique_right: usize,
    /// Among the crossings: listed by the forecast within reach.
    pub listed: usize,
    pub bends: usize,
    pub bends_right: usize,
}

/// Asks a forecast at every crossing and bend that flags surround.
pub fn told(site: &Site, forecast: &Forecast) -> Told {
    let truth = &site.truth;
    let mut told = Told::default();
    for crossing in &truth.crossings {
        let Some([a, b]) = arms_of(truth, crossing) else { continue };
        let through = |arms: &[Vec<usize>; 2]| {
            let [before, after] = [0, 1].map(|k| line_of(&arms[k], forecast));
            before.filter(|_| before == after)
        };
        let right = matches!((through(&a), through(&b)), (Some(p), Some(q)) if p != q);
        told.crossings += 1;
        told.crossings_right += usize::from(right);
        if crossing.angle_deg < 65.0 {
            told.oblique += 1;
            told.oblique_right += usize::from(right);
        }
        told.listed += usize::from(listed(forecast, crossing.at));
    }
    for (k, line) in truth.lines.iter().enumerate() {
        for bend in line.bends.iter().filter(|b| b.turn_deg >= LEAST_TURN_DEG) {
            let at = line.course.at(bend.arc_m);
            let Some(arms) = arms(truth, k, bend.arc_m) else { continue };
            if truth.crossings.iter().any(|c| c.at.to(at) < CLEAR_M) {
                continue;
            }
            let [before, after] = [0, 1].map(|k| line_of(&arms[k], forecast));
            told.bends += 1;
            told.bends_right += usize::from(before.is_some() && before == after && !listed(forecast, at));
        }
    }
    told
}

fn listed(forecast: &Forecast, at: Xy) -> bool {
    forecast.crossings.iter().any(|c| c.at.to(at) < NEAR_M)
}

fn arms_of(truth: &Truth, crossing: &Crossing) -> Option<[[Vec<usize>; 2]; 2]> {
    let [a, b] = [0, 1].map(|k| arms(truth, crossing.lines[k], crossing.arc_m[k]));
    Some([a?, b?])
}

/// The nearest flags of a line before and after a place, nearest first.
fn arms(truth: &Truth, line: usize, arc_m: f64) -> Option<[Vec<usize>; 2]> {
    let of = truth.flags_of(line);
    let near = |s: &f64| (s - arc_m).abs() <= REACH_M;
    let before: Vec<usize> =
        of.iter().rev().filter(|(s, _)| *s < arc_m && near(s)).take(ASKED).map(|f| f.1).collect();
    let after: Vec<usize> =
        of.iter().filter(|(s, _)| *s >= arc_m && near(s)).take(ASKED).map(|f| f.1).collect();
    (before.len() >= LEAST && after.len() >= LEAST).then_some([before, after])
}

/// The line that most of these flags are put on; of equals that of the farther flag, since flags at the very place may be on
/// either.
fn line_of(flags: &[usize], forecast: &Forecast) -> Option<usize> {
    let on: Vec<usize> = flags.iter().filter_map(|&k| forecast.flags[k].line).collect();
    let count = |line: usize| on.iter().filter(|l| **l == line).count();
    on.iter().copied().max_by_key(|&line| (count(line), on.iter().rposition(|l| *l == line)))
}
