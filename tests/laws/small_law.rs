//! A law small enough to enumerate every tree of it, made by hand: what strikes and probes are checked on.

use std::sync::Arc;
use underturf::class::Class;
use underturf::geometry::{Footprint, Point, ShiftedPath};
use underturf::layout::{
    CLEAR, Cover, HeaderLines, Kind, Offset, OuterPrior, OuterState, Route, Run, System, UnmappedLines,
};
use underturf::spanning_tree::{Edge, Network};
use underturf::strike::{Observation, Report};

pub const ASSESSED: [bool; 10] = [true, false, false, false, false, false, false, false, false, true];

/// A law of one system and two bearings: a `direct` state and a `header` state at each.
pub struct SmallLaw {
    pub bearings: Vec<f64>,
    pub systems: Vec<System>,
    pub probabilities: Vec<f64>,
    pub states: Vec<Vec<Arc<OuterState>>>,
    pub unmapped: UnmappedLines,
}

impl OuterPrior for SmallLaw {
    fn bearings(&self) -> &[f64] {
        &self.bearings
    }
    fn systems(&self) -> &[System] {
        &self.systems
    }
    fn state_probabilities(&self, _: usize, _: usize) -> &[f64] {
        &self.probabilities
    }
    fn state(&self, bearing: usize, _: usize, state: usize) -> Option<Arc<OuterState>> {
        Some(self.states[bearing][state].clone())
    }
    fn unmapped_lines(&self) -> &UnmappedLines {
        &self.unmapped
    }
}

fn run(kind: Kind, ways: &[(f64, Vec<Point>)], paved: bool) -> Run {
    let route = |(share, corners): &(f64, Vec<Point>)| Route {
        share: *share,
        path: ShiftedPath::new(corners),
        clear: if paved { (-0.25, 0.4) } else { CLEAR },
        paved: if paved { vec![vec![(0.3, 0.6)]; corners.len() - 1] } else { Vec::new() },
    };
    let offset = Offset::new(0.14, 0.1, 0.4, 0.05);
    let tied = [kind != Kind::Header, kind == Kind::Run];
    Run::new(kind, offset, ways.iter().map(route).collect(), tied)
}

/// Header and link of a straight header along x.
struct Comb {
    drops: Vec<usize>,
    at_x: Vec<f64>,
    y: f64,
    valve: Point,
}

impl HeaderLines for Comb {
    fn drops(&self) -> &[usize] {
        &self.drops
    }
    fn lines(&self, first: usize, last: usize) -> Vec<Run> {
        let (low, high) = (self.at_x[first], self.at_x[last]);
        let near = Point::new(self.valve.x.clamp(low, high), self.y);
        let end = Point::new(high, self.y);
        let link =
            run(Kind::HeaderLink, &[(0.7, vec![self.valve, near]), (0.3, vec![self.valve, end])], false);
        if low == high {
            return vec![link];
        }
        vec![
            run(Kind::Header, &[(1.0, vec![Point::new(low, self.y), Point::new(high, self.y)])], false),
            link,
        ]
    }
}

pub fn small_law() -> SmallLaw {
    small_law_at(Point::new(0.0, 0.0))
}

/// The same with every line moved by `shift`.
pub fn small_law_at(shift: Point) -> SmallLaw {
    let heads = [(0.0, 0.0), (4.0, 0.3), (8.0, 0.0), (4.0, 4.0)].map(|(x, y)| Point::new(x, y) + shift);
    let valve = Point::new(-2.0, 1.5) + shift;
    let pairs = [(0, 1, 0.9), (1, 2, 1.3), (1, 3, 0.8), (0, 3, 0.3), (2, 3, 0.4)];
    let direct = |turn: f64| {
        let (mut runs, mut edges) = (Vec::new(), Vec::new());
        for (a, b, w) in pairs {
            let corner = Point::new(heads[a].x, heads[b].y);
            let ways = [
                (0.6 + 0.1 * turn, vec![heads[a], heads[b]]),
                (0.4 - 0.1 * turn, vec![heads[a], corner, heads[b]]),
            ];
            runs.push(Arc::new(run(Kind::Run, &ways, a == 1 && b == 3)));
            edges.push(Edge { a, b, weight: w * (1.0 + turn) });
        }
        for (k, w) in [(0, 1.1), (3, 0.5)] {
            runs.push(Arc::new(run(Kind::ValveLink, &[(1.0, vec![valve, heads[k]])], false)));
            edges.push(Edge { a: k, b: 4, weight: w });
        }
        OuterState::new("direct", runs, Network::new(4, edges).expect("good"), None).expect("connected")
    };
    let header = |y: f64| {
        let y = y + shift.y;
        let (mut runs, mut edges, mut drops) = (Vec::new(), Vec::new(), Vec::new());
        for (a, b, w) in pairs {
            runs.push(Arc::new(run(Kind::Run, &[(1.0, vec![heads[a], heads[b]])], false)));
            edges.push(Edge { a, b, weight: 0.2 * w });
        }
        for (k, w) in [(0, 0.8), (1, 0.9), (3, 0.2), (2, 0.7)] {
            drops.push(runs.len());
            runs.push(Arc::new(run(Kind::Drop, &[(1.0, vec![heads[k], Point::new(heads[k].x, y)])], false)));
            edges.push(Edge { a: k, b: 4, weight: w });
        }
        let comb = Comb { drops, at_x: [0.0, 4.0, 4.0, 8.0].map(|x| x + shift.x).to_vec(), y, valve };
        let network = Network::new(4, edges).expect("good");
        OuterState::new("header", runs, network, Some(Box::new(comb))).expect("connected")
    };
    let half_fixed = |turn: f64| {
        let joint = Point::new(2.0 + turn, 0.1) + shift;
        let fixed = vec![
            run(Kind::ValveLink, &[(0.5, vec![valve, joint]), (0.5, vec![valve, heads[1]])], false),
            run(Kind::Run, &[(1.0, vec![heads[0], heads[1]])], false),
        ];
        let (mut runs, mut edges) = (Vec::new(), Vec::new());
        for (a, b, w) in [(0, 2, 1.3), (1, 2, 0.8), (0, 1, 0.4)] {
            runs.push(Arc::new(run(Kind::Run, &[(1.0, vec![heads[a + 1], heads[b + 1]])], false)));
            edges.push(Edge { a, b, weight: w });
        }
        let network = Network::new(2, edges).expect("good");
        OuterState::new("split", runs, network, None)
            .expect("connected")
            .with_fixed(fixed.into_iter().map(Arc::new).collect())
    };
    let cover = Cover {
        mean_m: 0.25,
        level_sd_m: 0.06,
        run_sd_m: 0.03,
        least_m: 0.05,
        greatest_m: 0.6,
        paving_m: 0.3,
    };
    SmallLaw {
        bearings: vec![0.7, 0.3],
        systems: vec![System { name: "zone 1".into(), class: Class::Lateral, radius_m: 0.0167, cover }],
        probabilities: vec![0.3, 0.5, 0.2],
        states: vec![
            vec![Arc::new(direct(0.0)), Arc::new(header(1.2)), Arc::new(half_fixed(0.0))],
            vec![Arc::new(direct(1.0)), Arc::new(header(2.2)), Arc::new(half_fixed(1.0))],
        ],
        unmapped: UnmappedLines { density_per_m: 0.01, cover_m: 0.35, cover_sd_m: 0.2, radius_m: 0.0167 },
    }
}

pub fn hole(x: f64, y: f64, radius: f64, depth: f64) -> Observation {
    Observation::dig(Footprint::disc(Point::new(x, y), radius), depth)
}

pub fn clear(x: f64, y: f64, radius: f64, depth: f64, detect: f64) -> Observation {
    Observation { detect, report: Report::default(), ..hole(x, y, radius, depth) }
}
