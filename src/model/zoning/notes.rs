//! What was written about heads and what was noted when valves ran, as likelihoods of a zoning.
//!
//! A written zone is right but for `zone_error`; if wrong, every other zone is as likely to have been written. In a
//! station test each head's note (came up, or not) is the truth but for the test's error, independently of the others;
//! a test that names a valve box ran one of the zones fed from there, each alike, so its likelihood is a mean over them.

use crate::site::{Site, StationTest};

/// No note and no written zone is more certain than this, so that evidence that contradicts itself has an answer:
/// numerical choice, below any error a crew would claim.
const LEAST_ERROR: f64 = 1e-6;

/// Logarithms of the chances that a note is right and that it is wrong.
#[derive(Clone, Copy)]
struct Odds {
    right: f64,
    wrong: f64,
}

impl Odds {
    fn new(error: f64) -> Self {
        let error = error.clamp(LEAST_ERROR, 1.0 - LEAST_ERROR);
        Self { right: (-error).ln_1p(), wrong: error.ln() }
    }
}

/// One station test.
pub struct Test {
    /// Zones that may have run.
    pub zones: Vec<usize>,
    /// For each head, whether it came up.
    pub up: Vec<bool>,
    raised: usize,
    odds: Odds,
}

impl Test {
    fn new(site: &Site, test: &StationTest) -> Self {
        let mut up = vec![false; site.heads.len()];
        for &head in &test.heads {
            up[head] = true;
        }
        Self {
            zones: may_have_run(site, test),
            raised: up.iter().filter(|&&up| up).count(),
            up,
            odds: Odds::new(test.error.unwrap_or(site.settings.station_error)),
        }
    }

    /// Log-likelihood of the test when zone z holds `on(z)` heads of which `up(z)` came up.
    pub fn log_likelihood(&self, on: impl Fn(usize) -> usize, up: impl Fn(usize) -> usize) -> f64 {
        let if_ran = |&zone: &usize| {
            let (up, on) = (up(zone), on(zone));
            let wrong = (on - up) + (self.raised - up);
            let right = self.up.len() - wrong;
            wrong as f64 * self.odds.wrong + right as f64 * self.odds.right
        };
        let each: Vec<f64> = self.zones.iter().map(if_ran).collect();
        log_sum(&each) - (each.len() as f64).ln()
    }

    /// Log-likelihood of one head's note if `ran` is the zone that ran and the head is on `zone`.
    pub fn of_head(&self, head: usize, zone: usize, ran: usize) -> f64 {
        if self.up[head] == (zone == ran) { self.odds.right } else { self.odds.wrong }
    }
}

/// All that was written and noted about the heads of a site.
pub struct Notes {
    /// Number of zones.
    pub zones: usize,
    /// The written zone of each head.
    pub written: Vec<Option<usize>>,
    /// The station tests.
    pub tests: Vec<Test>,
    zone_odds: Odds,
}

impl Notes {
    /// The notes of a site.
    pub fn new(site: &Site) -> Self {
        let zones = site.zones.len();
        let mut zone_odds = Odds::new(site.settings.zone_error);
        zone_odds.wrong -= (zones.saturating_sub(1).max(1) as f64).ln();
        Self {
            zones,
            written: site.heads.iter().map(|head| head.zone).collect(),
            tests: site.station_tests.iter().map(|test| Test::new(site, test)).collect(),
            zone_odds,
        }
    }

    /// Log-likelihood of what is written about a head that is on `zone`.
    pub fn of_written(&self, head: usize, zone: usize) -> f64 {
        match self.written[head] {
            None => 0.0,
            Some(written) if written == zone => self.zone_odds.right,
            Some(_) => self.zone_odds.wrong,
        }
    }
}

/// Zones that a test may have run: the named one, or those of the named box, and, if that box has a valve to spare for
/// them, the zones that no box lists. Where the document leaves none, any zone.
fn may_have_run(site: &Site, test: &StationTest) -> Vec<usize> {
    let every = || (0..site.zones.len()).collect();
    match (test.zone, test.valve_box) {
        (Some(zone), _) => vec![zone],
        (None, None) => every(),
        (None, Some(valve_box)) => {
            let mut zones = site.valve_boxes[valve_box].zones.clone();
            if site.valve_boxes[valve_box].room() > 0 {
                zones.extend((0..site.zones.len()).filter(|&zone| site.zones[zone].boxes.is_empty()));
            }
            if zones.is_empty() { every() } else { zones }
        }
    }
}

/// ln of the sum of exponentials; minus infinity for none.
pub fn log_sum(logs: &[f64]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY { top } else { top + logs.iter().map(|l| (l - top).exp()).sum::<f64>().ln() }
}
