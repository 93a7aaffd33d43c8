//! Laws that hold for every polygon, dig and probe, tried on drawn ones (proptest). Each law is a function of a case and of the
//! part on trial, so that a planted fault can stand in for the part: the same law must then fail.

mod digs;
mod polygons;
mod probes;

use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use underturf::geometry::{Point, Polygon};

/// Whether a law fails on one of 200 drawn cases: what a planted fault must lead to. Always the same cases.
fn fails<S: Strategy>(cases: S, law: impl Fn(S::Value) -> Result<(), TestCaseError>) -> bool {
    let config = Config { cases: 200, failure_persistence: None, ..Config::default() };
    let rng = proptest::test_runner::TestRng::deterministic_rng(proptest::test_runner::RngAlgorithm::ChaCha);
    TestRunner::new_with_rng(config, rng).run(&cases, law).is_err()
}

fn point(reach_m: f64) -> impl Strategy<Value = Point> {
    (-reach_m..reach_m, -reach_m..reach_m).prop_map(|(x, y)| Point::new(x, y))
}

/// A simple polygon of three to twelve corners, counter-clockwise: a star round a centre within 20 m of the origin, its arms
/// 0.5 to 5 m long. Angles between arms stay below a half turn, so the ring never crosses itself.
fn star() -> impl Strategy<Value = Polygon> {
    let arms = prop::collection::vec((0.6f64..1.0, 0.5f64..5.0), 3..=12);
    (point(20.0), arms, 0.0..std::f64::consts::TAU).prop_map(|(centre, arms, turned_rad)| {
        let whole: f64 = arms.iter().map(|(angle, _)| angle).sum();
        let mut angle_rad = turned_rad;
        let corner = |&(angle, length_m): &(f64, f64)| {
            angle_rad += angle / whole * std::f64::consts::TAU;
            centre + Point::unit(angle_rad) * length_m
        };
        Polygon::new(arms.iter().map(corner).collect())
    })
}
