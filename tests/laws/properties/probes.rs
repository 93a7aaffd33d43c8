//! Probes: laws of the determinant form, which has no Monte Carlo error. A dig that would meet whatever a probe can meet cannot
//! become likelier by a clear probe, nor less likely by a find without a report: if the dig meets nothing, the probe was bound
//! to be clear.

use super::{fails, point};
use crate::small_law::{ASSESSED, SmallLaw, hole, small_law};
use proptest::prelude::*;
use std::sync::LazyLock;
use underturf::geometry::Point;
use underturf::strike::{Find, Findings, Observation, Report, Strike, strike_by_determinants};

/// Ratios of determinants that are multiplied out over sets of finds lose some digits where finds are improbable.
const ROUNDING: f64 = 1e-9;

/// Signed sums over sixteen sets of finds lose digits: three in a billion were seen.
const DIGITS: f64 = 1e-6;

static PRIOR: LazyLock<SmallLaw> = LazyLock::new(small_law);

/// The same without unmapped lines.
static BARE: LazyLock<SmallLaw> = LazyLock::new(|| {
    let mut law = small_law();
    law.unmapped.density_per_m = 0.0;
    law
});

/// A probe: where, how wide and deep, how surely it sees, and what was seen.
#[derive(Clone, Copy, Debug)]
struct Probe {
    at: Point,
    radius_m: f64,
    depth_m: f64,
    detect: f64,
    found: bool,
    report: Report,
}

impl Probe {
    fn look(&self) -> Observation {
        let dig = hole(self.at.x, self.at.y, self.radius_m, self.depth_m);
        let report = if self.found { self.report } else { Report::default() };
        Observation { detect: self.detect, report, ..dig }
    }
}

fn findings(probes: &[Probe]) -> Findings {
    let find = |probe: &Probe| Find { look: probe.look(), false_find: 0.01 };
    Findings {
        clear: probes.iter().filter(|probe| !probe.found).map(Probe::look).collect(),
        found: probes.iter().filter(|probe| probe.found).map(find).collect(),
    }
}

fn strike(dig: &Observation, findings: &Findings) -> Strike {
    strike_by_determinants(&*PRIOR, dig, findings, &ASSESSED)
}

fn strike_known(dig: &Observation, findings: &Findings) -> Strike {
    strike_by_determinants(&*BARE, dig, findings, &ASSESSED)
}

/// Among the heads of the small law.
fn place() -> impl Strategy<Value = Point> {
    (-1.0..8.0f64, -0.5..4.0f64).prop_map(|(x, y)| Point::new(x, y))
}

fn probe() -> impl Strategy<Value = Probe> {
    // A line that was found lies no deeper than its probe: documents that say otherwise are refused.
    let noted = (prop::option::of(0.0..3.1), prop::option::of(0.2..1.0f64));
    (place(), 0.05..0.4, 0.1..0.6, 0.5..1.0, any::<bool>(), noted).prop_map(
        |(at, radius_m, depth_m, detect, found, (angle_rad, share))| {
            let cover_m = share.map(|share| share * depth_m);
            let report = Report { class: None, angle_rad, cover_m };
            Probe { at, radius_m, depth_m, detect, found, report }
        },
    )
}

type Posterior = dyn Fn(&Observation, &Findings) -> Strike;

/// One probe in a dig that contains it: centre, radius and depth as shares of what the dig leaves room for.
fn within_law(
    posterior: &Posterior,
    (at, radius_m, depth_m, probe, (share, toward_rad)): (Point, f64, f64, Probe, (f64, f64)),
) -> Result<(), TestCaseError> {
    let dig = hole(at.x, at.y, radius_m, depth_m);
    let inner = Probe {
        at: at + Point::unit(toward_rad) * (radius_m * (1.0 - share) * 0.999),
        radius_m: radius_m * share,
        depth_m: probe.depth_m.min(depth_m),
        report: Report::default(),
        ..probe
    };
    let (before, after) = (posterior(&dig, &Findings::default()).p, posterior(&dig, &findings(&[inner])).p);
    if inner.found {
        prop_assert!(after >= before - ROUNDING, "a find within lowers {} to {}", before, after);
    } else {
        prop_assert!(after <= before + ROUNDING, "a clear probe within raises {} to {}", before, after);
    }
    Ok(())
}

fn one_within() -> impl Strategy<Value = (Point, f64, f64, Probe, (f64, f64))> {
    (place(), 0.2..0.6, 0.1..0.6, probe(), (0.2..0.9, 0.0..6.2))
}

/// Everything given, in any order, is a probability for every class, and the order of probes is nothing.
fn order_law(
    posterior: &Posterior,
    rounding: f64,
    (at, probes, turn): (Point, Vec<Probe>, usize),
) -> Result<(), TestCaseError> {
    let dig = hole(at.x, at.y, 0.4, 0.4);
    let mut turned = probes.clone();
    turned.rotate_left(turn % probes.len());
    let (one, other) = (posterior(&dig, &findings(&probes)), posterior(&dig, &findings(&turned)));
    for chance in one.by_class.iter().flatten().map(|chance| chance.p).chain([one.p, one.upper]) {
        prop_assert!(chance > 0.0 && chance < 1.0, "{}", chance);
    }
    prop_assert!((one.p - other.p).abs() < rounding, "{} {}", one.p, other.p);
    Ok(())
}

/// Up to four probes: sixteen sets of finds. Some near the dig, some far.
fn several() -> impl Strategy<Value = (Point, Vec<Probe>, usize)> {
    let near = (probe(), point(0.6));
    (place(), prop::collection::vec(near, 1..=4), 1usize..4).prop_map(|(at, probes, turn)| {
        let placed = |(k, (probe, off)): (usize, (Probe, Point))| {
            if k % 2 == 0 { Probe { at: at + off, ..probe } } else { probe }
        };
        (at, probes.into_iter().enumerate().map(placed).collect(), turn)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_clear_probe_within_a_dig_never_raises_its_chance_and_a_find_never_lowers_it(case in one_within()) {
        within_law(&strike, case)?;
    }

    #[test]
    fn whatever_was_found_chances_are_probabilities_and_order_is_nothing(case in several()) {
        order_law(&strike_known, DIGITS, case.clone())?;
        order_law(&strike, DIGITS, case)?;
    }
}

#[test]
fn planted_faults_of_probes_are_caught() {
    let misread = |dig: &Observation, findings: &Findings| {
        let found = findings.clear.iter().map(|look| Find { look: look.clone(), false_find: 0.01 }).collect();
        let clear = findings.found.iter().map(|find| find.look.clone()).collect();
        strike(dig, &Findings { clear, found })
    };
    assert!(fails(one_within(), |case| within_law(&misread, case)), "clear for found");
    let first = |dig: &Observation, findings: &Findings| {
        let clear = findings.clear.iter().take(1).cloned().collect();
        strike(dig, &Findings { clear, found: findings.found.iter().take(1).cloned().collect() })
    };
    assert!(fails(several(), |case| order_law(&first, DIGITS, case)), "the first of each alone");
    // Finds counted as certain strikes and clear probes as certain misses of all ground: no probabilities any more.
    let certain = |dig: &Observation, findings: &Findings| {
        let p = if findings.found.is_empty() { 0.0 } else { 1.0 };
        Strike { p, ..strike(dig, findings) }
    };
    assert!(fails(several(), |case| order_law(&certain, DIGITS, case)), "certainty");
}
