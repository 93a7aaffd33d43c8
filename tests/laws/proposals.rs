//! Proposals over zonings keep the zoning prior: exact invariance, one move at a time (python/docs/model.md, 9.3;
//! Bouchard-Cote et al. 2022).
//!
//! A small site's zonings are enumerated with their weights at some beta. Zonings are drawn from that, one move is
//! made and accepted by its ratio, and the results are held against the law by chi-square: n = 40,000 a case, false alarm
//! 1e-5 a case (budget of the file below 2e-4). Chi-square sees a cell of 1 % that is off by a tenth of itself.

use rand::RngExt;
use serde_json::json;
use statrs::distribution::{ChiSquared, ContinuousCDF};
use underturf::inference::proposals::{Proposal, ProposalKind, Proposals, Zoning};
use underturf::model::{Part, ZoningPrior};
use underturf::rng;
use underturf::site::Site;
use underturf::site::io;
use underturf::spanning_tree::Scratch;

const STEPS: usize = 40_000;
const LEAST_P: f64 = 1e-5;

/// Six heads, one of another kind, one labelled, one seen in a station test.
fn two_in_a_box() -> Site {
    let head = |k: usize, x: f64, y: f64, kind: &str, zone: Option<&str>| {
        let mut head = json!({"id": format!("h{k}"), "x": x, "y": y, "kind": kind});
        if let Some(zone) = zone {
            head["zone"] = json!(zone);
        }
        head
    };
    let document = json!({
        "format": "underturf-site/2", "units": "m",
        "heads": [
            head(0, 0.0, 0.0, "spray", Some("1")), head(1, 3.2, 0.3, "spray", None), head(2, 6.1, 0.0, "rotor", None),
            head(3, 0.2, 3.1, "spray", None), head(4, 3.0, 3.0, "spray", None), head(5, 6.3, 3.2, "spray", None),
        ],
        "valve_boxes": [{"id": "v", "x": -1.0, "y": 1.0, "zones": ["1"], "valves": 3}],
        "station_tests": [{"valve": "v", "heads": ["h4", "h5"], "error": 0.2}],
        "settings": {"supply_flow_l_s": 0.5, "zone_error": 0.2}
    });
    io::from_value(document).expect("a good document")
}

/// Five heads and no box: one valve out of sight that must be there, one that may be; and a box that may hold more.
fn uncounted(boxed: bool) -> Site {
    let heads: Vec<_> = [(0.0, 0.0), (3.0, 0.2), (5.9, 0.0), (0.1, 3.3), (2.9, 3.0)]
        .iter()
        .enumerate()
        .map(|(k, (x, y))| json!({"id": format!("h{k}"), "x": x, "y": y, "kind": "rotor"}))
        .collect();
    let mut document = json!({
        "format": "underturf-site/2", "units": "m", "heads": heads,
        "settings": {"supply_flow_l_s": 0.5, "extra_valve_factor": 0.7}
    });
    if boxed {
        document["valve_boxes"] =
            json!([{"id": "a", "x": 0.0, "y": -2.0}, {"id": "b", "x": 5.0, "y": 5.0, "valves": 1}]);
    }
    io::from_value(document).expect("a good document")
}

struct Case {
    law: ZoningPrior,
    at: Vec<underturf::geometry::Point>,
    labellings: Vec<Vec<usize>>,
}

impl Case {
    fn new(site: &Site) -> Self {
        let law = ZoningPrior::new(site);
        let (heads, zones) = (site.heads.len(), law.zones());
        let labelling = |mut k: usize| -> Vec<usize> {
            (0..heads)
                .map(|_| {
                    let zone = k % zones;
                    k /= zones;
                    zone
                })
                .collect()
        };
        let all = (0..zones.pow(heads as u32)).map(labelling);
        let is_full = |z: &Vec<usize>| (0..zones).all(|zone| law.may_be_bare(zone) || z.contains(&zone));
        let labellings = all.filter(is_full).collect();
        Self { at: site.heads.iter().map(|head| head.at).collect(), law, labellings }
    }

    fn chances(&self, beta: f64) -> Vec<f64> {
        self.chances_where(beta, |part| part.log_trees)
    }

    /// The same where a zone's trees count like this.
    fn chances_where(&self, beta: f64, log_trees: impl Fn(&Part) -> f64) -> Vec<f64> {
        let scratch = &mut Scratch::default();
        let log = |z: &Vec<usize>| {
            let zoning = Zoning::new(&self.law, z.clone(), scratch);
            let trees: f64 = zoning.parts.iter().map(&log_trees).sum();
            trees + zoning.log_notes + beta * zoning.log_prior
        };
        let logs: Vec<f64> = self.labellings.iter().map(log).collect();
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let total: f64 = logs.iter().map(|log| (log - top).exp()).sum();
        logs.iter().map(|log| (log - top).exp() / total).collect()
    }

    /// p-value of chi-square between the law at `beta` and where one move leads from there, and the share of moves made.
    fn test(
        &self,
        kind: ProposalKind,
        beta: f64,
        ratio: impl Fn(&Proposal) -> f64,
        moved_at: f64,
    ) -> (f64, f64) {
        self.test_against(&self.chances(beta), kind, ratio, moved_at)
    }

    /// The same for any chances of the zonings.
    fn test_against(
        &self,
        chances: &[f64],
        kind: ProposalKind,
        ratio: impl Fn(&Proposal) -> f64,
        moved_at: f64,
    ) -> (f64, f64) {
        let moves = Proposals::new(&self.law, &self.at);
        let (scratch, rng) = (&mut Scratch::default(), &mut rng::stream(11, kind as u64));
        let starts: Vec<Zoning> =
            self.labellings.iter().map(|z| Zoning::new(&self.law, z.clone(), scratch)).collect();
        let mut seen = vec![0usize; chances.len()];
        let mut made = 0usize;
        for _ in 0..STEPS {
            let mut left = rng.random::<f64>();
            let start = chances.iter().position(|p| {
                left -= p;
                left < 0.0
            });
            let start = start.unwrap_or(chances.len() - 1);
            let zoning = &starts[start];
            let proposal = moves.propose(kind, zoning, moved_at, scratch, rng);
            let end = match proposal.filter(|p| rng.random::<f64>().ln() < ratio(p)) {
                None => start,
                Some(Proposal { change, .. }) => {
                    made += 1;
                    let mut after = zoning.clone();
                    after.change(&self.law, change, scratch);
                    self.labellings.iter().position(|z| *z == after.zone_of).expect("a labelling of the site")
                }
            };
            seen[end] += 1;
        }
        (chi_square(&seen, chances), made as f64 / STEPS as f64)
    }
}

/// Cells with fewer than ten expected are put together.
fn chi_square(seen: &[usize], chances: &[f64]) -> f64 {
    let (mut statistic, mut cells) = (0.0, 0);
    let (mut rest_seen, mut rest) = (0.0, 0.0);
    let mut add = |seen: f64, expected: f64| {
        statistic += (seen - expected).powi(2) / expected;
        cells += 1;
    };
    for (&seen, p) in seen.iter().zip(chances) {
        let expected = p * STEPS as f64;
        if expected < 10.0 {
            rest_seen += seen as f64;
            rest += expected;
        } else {
            add(seen as f64, expected);
        }
    }
    if rest > 0.0 {
        add(rest_seen, rest.max(1.0));
    }
    ChiSquared::new(f64::from(cells - 1)).expect("degrees").sf(statistic)
}

#[test]
fn each_move_keeps_the_label_law() {
    for site in [two_in_a_box(), uncounted(false), uncounted(true)] {
        let case = Case::new(&site);
        let possible = |kind: &ProposalKind| *kind != ProposalKind::Regroup || case.law.zones() > 2;
        for kind in ProposalKind::ALL.into_iter().filter(possible) {
            for beta in [1.0, 0.3] {
                let (p, made) = case.test(kind, beta, |p| p.log_ratio, beta);
                assert!(p > LEAST_P, "{}: p = {p:e} at beta {beta}, {:?}", kind.name(), site.zones);
                assert!(made > 0.01, "{}: {made} of the moves were made", kind.name());
            }
        }
    }
}

/// Planted faults: the ratio dropped, the ratio counted five times, a move made for another temperature.
#[test]
fn planted_faults_are_seen() {
    let case = Case::new(&two_in_a_box());
    for kind in [ProposalKind::Single, ProposalKind::Exchange, ProposalKind::Rename] {
        let (dropped, _) = case.test(kind, 1.0, |_| 0.0, 1.0);
        let (often, _) = case.test(kind, 1.0, |p| 5.0 * p.log_ratio, 1.0);
        assert!(dropped < LEAST_P && often < LEAST_P, "{}: {dropped:e}, {often:e}", kind.name());
    }
    let boxes = Case::new(&uncounted(true));
    for kind in ProposalKind::ALL {
        // Valves of one box are alike: a new name costs nothing there.
        let case = if kind == ProposalKind::Rename { &boxes } else { &case };
        let (p, _) = case.test(kind, 1.0, |p| p.log_ratio, -0.5);
        assert!(p < LEAST_P, "{}: {p:e} for another temperature", kind.name());
    }
    for kind in [ProposalKind::Recombine, ProposalKind::Tail] {
        // A draw from the law, hardly ever made where it leaves the first zone with many heads.
        let many = |p: &Proposal| p.change.iter().any(|(zone, heads)| *zone == 0 && heads.len() > 2);
        let (p, _) = case.test(kind, 0.3, |p| if many(p) { -5.0 } else { 0.0 }, 0.3);
        assert!(p < LEAST_P, "{}: {p:e} for a wrong ratio", kind.name());
    }
}

/// Six heads, two valves, nothing written.
fn bare() -> Site {
    let mut document = json!({
        "format": "underturf-site/2", "units": "m",
        "heads": [], "valve_boxes": [{"id": "v", "x": -1.0, "y": 1.0, "valves": 2}]
    });
    let heads =
        [(0.0, 0.0), (3.0, 0.2), (5.9, 0.0), (0.1, 3.3), (2.9, 3.0), (6.0, 3.1)].into_iter().enumerate();
    let head = |(k, (x, y))| json!({"id": format!("h{k}"), "x": x, "y": y, "kind": "rotor"});
    document["heads"] = heads.map(head).collect::<Vec<_>>().into();
    io::from_value(document).expect("a good document")
}

/// Planted: a law that lacks a normaliser. Without tau the sum over a zone's trees is taken for one, which every move that
/// gives heads to other zones sees. Counted with their roots, a zone's trees weigh as many times as it has heads: that changes
/// one zoning in ten here and is seen by the moves that draw new numbers of heads from the law.
#[test]
fn a_law_without_tau_or_with_rooted_trees_is_seen() {
    let (case, beta) = (Case::new(&bare()), 0.3);
    let without = case.chances_where(beta, |_| 0.0);
    let rooted = case.chances_where(beta, |part| part.log_trees + (part.heads.len() as f64).ln());
    let p = |chances: &[f64], kind: ProposalKind| case.test_against(chances, kind, |p| p.log_ratio, beta).0;
    for kind in [ProposalKind::Recombine, ProposalKind::Tail, ProposalKind::Single, ProposalKind::Exchange] {
        let p = p(&without, kind);
        assert!(p < LEAST_P, "{}: {p:e} without tau", kind.name());
    }
    for kind in [ProposalKind::Recombine, ProposalKind::Tail] {
        let p = p(&rooted, kind);
        assert!(p < LEAST_P, "{}: {p:e} for rooted trees", kind.name());
    }
}
