//! Digs: what a wider, deeper or moved dig does to the chance of a strike, draw by draw. The draws are the same for both digs,
//! and run attributes are integrated exactly, so the laws hold for every draw and not only on the mean.

use super::{fails, point};
use crate::small_law::{SmallLaw, small_law, small_law_at};
use proptest::prelude::*;
use std::sync::LazyLock;
use underturf::geometry::{Footprint, Point, Polygon};
use underturf::layout::Draw;
use underturf::rng;
use underturf::strike::{Findings, Observation, RunIndex};

/// Chances are sums of some hundred products of differences of normal distribution functions, each good to 1e-15 or so.
const ROUNDING: f64 = 1e-9;
const DRAWS: u64 = 40;

/// A prior and draws of it.
struct Drawn {
    prior: SmallLaw,
    index: RunIndex,
}

impl Drawn {
    fn of(prior: SmallLaw) -> Self {
        let draw = |k| Draw::sample(&prior, &mut rng::stream(21, k)).expect("possible");
        let index = RunIndex::new(&(0..DRAWS).map(draw).collect::<Vec<Draw>>());
        Self { prior, index }
    }

    fn chances(&self, dig: &Observation) -> Vec<f64> {
        self.index.chances(&self.prior, dig, &Findings::default())
    }

    /// For each draw, the chance that one of the digs or more strikes a line.
    fn any(&self, digs: &[Observation]) -> Vec<f64> {
        self.index.missed(&self.prior, digs, &Findings::default()).iter().map(|missed| 1.0 - missed).collect()
    }
}

static DRAWN: LazyLock<Drawn> = LazyLock::new(|| Drawn::of(small_law()));

/// A place among the heads of the small law or a little off them.
fn place() -> impl Strategy<Value = Point> {
    (-3.0..9.0f64, -2.0..5.0f64).prop_map(|(x, y)| Point::new(x, y))
}

/// A hole, a trench or a pit that can be grown: its footprint for a growth of 0 to 1.
fn grown(shape: u8, at: Point, to: Point, growth: f64) -> Footprint {
    match shape {
        0 => Footprint::disc(at, 0.1 + 0.6 * growth),
        1 => Footprint::trench(&[at, to], 0.1 + 0.5 * growth),
        _ => {
            let (w, h) = (0.2 + 1.5 * growth, 0.3 + growth);
            let corners = [(-w, -h), (w, -h), (w, h), (-w, h)].map(|(x, y)| at + Point::new(x, y));
            Footprint::polygon(&Polygon::new(corners.to_vec()))
        }
    }
}

type Chances<'a> = dyn Fn(&Observation) -> Vec<f64> + 'a;

/// More ground or more depth never lowers the chance in any draw.
fn growth_law(
    chances: &Chances<'_>,
    (shape, at, to, growths, depths_m): (u8, Point, Point, (f64, f64), (f64, f64)),
) -> Result<(), TestCaseError> {
    prop_assume!(at.distance(to) > 0.05);
    let sorted = |(a, b): (f64, f64)| if a <= b { (a, b) } else { (b, a) };
    let ((small, large), (shallow, deep)) = (sorted(growths), sorted(depths_m));
    let dig = |growth, depth_m| chances(&Observation::dig(grown(shape, at, to, growth), depth_m));
    let least = dig(small, shallow);
    for (what, more) in [("wider", dig(large, shallow)), ("deeper", dig(small, deep))] {
        for (a, b) in least.iter().zip(&more) {
            prop_assert!(b >= &(a - ROUNDING), "{}: {} after {}", what, b, a);
        }
    }
    Ok(())
}

fn growing() -> impl Strategy<Value = (u8, Point, Point, (f64, f64), (f64, f64))> {
    (0u8..3, place(), place(), (0.0..1.0, 0.0..1.0), (0.05..0.7, 0.05..0.7))
}

type Any<'a> = dyn Fn(&[Observation]) -> Vec<f64> + 'a;

/// Two digs together strike at least as often as either and at most as often as both counted apart, in each draw.
fn union_law(
    any: &Any<'_>,
    (places, radii_m, depth_m): ([Point; 2], (f64, f64), f64),
) -> Result<(), TestCaseError> {
    let [a, b] = [(places[0], radii_m.0), (places[1], radii_m.1)]
        .map(|(at, radius_m)| Observation::dig(Footprint::disc(at, radius_m), depth_m));
    let (of_a, of_b) = (DRAWN.chances(&a), DRAWN.chances(&b));
    for ((both, a), b) in any(&[a, b]).iter().zip(of_a).zip(of_b) {
        prop_assert!(
            *both >= a.max(b) - ROUNDING && *both <= a + b + ROUNDING,
            "{} of {} and {}",
            both,
            a,
            b
        );
    }
    Ok(())
}

fn two_holes() -> impl Strategy<Value = ([Point; 2], (f64, f64), f64)> {
    // The second is near the first or far from it: near ones share run attributes.
    let places = (place(), point(1.5)).prop_map(|(first, off)| [first, first + off]);
    (places, (0.1..0.6, 0.1..0.6), 0.1..0.7)
}

/// Site and dig moved together: nothing changes. Coordinates of 1,000 m carry 1e-13 m of rounding, and densities of offsets and
/// covers are below 15 per metre, so chances of some twenty runs move by less than 1e-9.
fn motion_law(dig_follows: bool, (at, radius_m, shift): (Point, f64, Point)) -> Result<(), TestCaseError> {
    let moved = Drawn::of(small_law_at(shift));
    let hole = |at| Observation::dig(Footprint::disc(at, radius_m), 0.4);
    let there = if dig_follows { at + shift } else { at };
    for (here, there) in DRAWN.chances(&hole(at)).iter().zip(moved.chances(&hole(there))) {
        prop_assert!((here - there).abs() < ROUNDING, "{} {}", here, there);
    }
    Ok(())
}

fn moved() -> impl Strategy<Value = (Point, f64, Point)> {
    (place(), 0.1..0.6, point(1_000.0))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn wider_or_deeper_digs_never_lower_the_chance_in_any_draw(case in growing()) {
        growth_law(&|dig| DRAWN.chances(dig), case)?;
    }

    #[test]
    fn two_digs_strike_as_often_as_a_union_may(case in two_holes()) {
        union_law(&|digs| DRAWN.any(digs), case)?;
    }

    #[test]
    fn moving_site_and_dig_together_changes_nothing(case in moved()) {
        motion_law(true, case)?;
    }
}

#[test]
fn planted_faults_of_digs_are_caught() {
    // A trench or hole that is taken for its outline: wide ones lose what lies in their middle.
    let rim = |dig: &Observation| {
        let core = Observation { footprint: dig.footprint.inflated(-0.1), ..dig.clone() };
        DRAWN.chances(dig).iter().zip(DRAWN.chances(&core)).map(|(all, core)| all - core).collect()
    };
    assert!(fails(growing(), |case| growth_law(&rim, case)), "the rim for the whole");
    let fixed_cover =
        |dig: &Observation| DRAWN.chances(&Observation { depth_m: 0.7 - dig.depth_m, ..dig.clone() });
    assert!(fails(growing(), |case| growth_law(&fixed_cover, case)), "depth from the wrong end");
    // Chances of digs multiplied as those of missing: two digs are then safer than one.
    let both = |digs: &[Observation]| {
        DRAWN.chances(&digs[0]).iter().zip(DRAWN.chances(&digs[1])).map(|(a, b)| a * b).collect()
    };
    assert!(fails(two_holes(), |case| union_law(&both, case)), "all for any");
    assert!(fails(moved(), |case| motion_law(false, case)), "a dig that stays while the site moves");
}
