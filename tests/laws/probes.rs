//! What probes found, on a law small enough to enumerate: exact chances, draws that follow them, published figures.

use crate::strike::{ASSESSED, Fault, SmallLaw, clear, enumerated, exact_miss, hole, mean, small_law};
use rayon::prelude::*;
use underturf::class::Class;
use underturf::geometry::{Footprint, Point};
use underturf::layout::OuterLaw;
use underturf::posterior::Posterior;
use underturf::rng;
use underturf::strike::{Find, Findings, Look, Report, RunIndex, mean_beyond, strike_by_determinants};

fn find(x: f64, y: f64, report: Report) -> Find {
    let look = Look { detect: 0.97, report, ..hole(x, y, 0.2, 0.45) };
    Find { false_find: 0.01 * report.of_nothing(look.depth_m), look }
}

/// Cases: clear looks and finds, plain and with all that can be noted, two finds that may be one line, one that no line
/// explains.
fn cases() -> Vec<Findings> {
    let noted = Report { class: Some(Class::Lateral), bearing_rad: Some(0.15), cover_m: Some(0.22) };
    let turned = Report { bearing_rad: Some(1.5), ..Report::default() };
    vec![
        Findings { clear: vec![clear(2.0, 1.2, 0.3, 0.45, 0.97)], found: Vec::new() },
        Findings { clear: Vec::new(), found: vec![find(2.0, 0.3, Report::default())] },
        Findings {
            clear: vec![clear(6.0, 1.2, 0.25, 0.3, 0.7)],
            found: vec![find(2.2, 0.2, noted), find(6.0, 0.2, Report::default())],
        },
        Findings {
            clear: vec![clear(1.0, 2.2, 0.2, 0.4, 0.95)],
            found: vec![
                find(4.1, 2.0, turned),
                find(4.3, 3.4, Report::default()),
                find(1.0, 1.3, Report::default()),
            ],
        },
        Findings { clear: Vec::new(), found: vec![find(12.0, 9.0, Report::default())] },
    ]
}

fn digs() -> Vec<Look> {
    vec![
        hole(2.5, 0.4, 0.45, 0.4),
        hole(4.2, 2.6, 0.4, 0.3),
        hole(7.0, 1.2, 0.45, 0.5),
        hole(12.2, 9.2, 0.45, 0.5),
    ]
}

/// Chance of striking a lateral given findings, from trees enumerated one by one.
fn by_enumeration(law: &SmallLaw, dig: &Look, findings: &Findings) -> f64 {
    let miss = exact_miss(law);
    let (mut seen, mut missed) = (0.0, 0.0);
    for (set, coefficient) in findings.coefficients(law.floor()).into_iter().enumerate() {
        let looks = findings.looks(set);
        let with: Vec<Look> = looks.iter().chain([dig]).cloned().collect();
        let of = |looks: &[Look]| mean(law, &enumerated(law, looks, Fault::None, &miss));
        seen += coefficient * if looks.is_empty() { 1.0 } else { of(&looks) };
        missed += coefficient * of(&with);
    }
    1.0 - missed / seen
}

/// Determinants with finds equal enumeration of every tree, to 1e-9.
#[test]
fn determinants_with_finds_equal_enumeration() {
    let law = small_law();
    for (k, findings) in cases().iter().enumerate() {
        for dig in digs() {
            let exact = by_enumeration(&law, &dig, findings);
            let strike = strike_by_determinants(&law, &dig, findings, &ASSESSED);
            let lateral = strike.by_class[Class::Lateral as usize].expect("assessed").p;
            assert!((lateral - exact).abs() < 1e-9, "case {k}: {lateral} {exact}");
        }
    }
}

/// 6,000 draws given findings against the determinant form: |z| < 5 over 20 comparisons (false alarm 1e-5), plus 0.004
/// for the pool of outer states that the draws share. At a chance of 0.3 it catches an error of 0.03.
#[test]
fn draws_given_findings_follow_the_determinants() {
    let law = small_law();
    for (k, findings) in cases().iter().enumerate() {
        let draws = sampled(&law, findings, 6_000);
        let index = RunIndex::new(&draws);
        for (d, dig) in digs().iter().enumerate() {
            let exact = strike_by_determinants(&law, dig, findings, &ASSESSED);
            let seen = index.strike(&law, dig, findings, &ASSESSED);
            let off = (seen.p - exact.p).abs();
            assert!(
                off < 5.0 * seen.mcse + 0.004,
                "case {k}, dig {d}: {} +- {} for {}",
                seen.p,
                seen.mcse,
                exact.p
            );
        }
    }
}

/// Planted faults: finds taken as certain (no false find), finds left out, clear looks left out. Each moves some chance by
/// more than the test above allows.
#[test]
fn ignored_findings_are_noticed() {
    let law = small_law();
    let faults: [fn(&mut Findings); 3] = [
        |f| f.found.clear(),
        |f| f.clear.clear(),
        |f| f.found.iter_mut().for_each(|find| find.false_find = 0.5),
    ];
    for fault in faults {
        let worst = cases()
            .iter()
            .flat_map(|right| {
                let mut wrong = right.clone();
                fault(&mut wrong);
                let p = |f: &Findings, dig: &Look| strike_by_determinants(&small_law(), dig, f, &ASSESSED).p;
                digs()
                    .into_iter()
                    .map(move |dig| (p(right, &dig) - p(&wrong, &dig)).abs())
                    .collect::<Vec<_>>()
            })
            .fold(0.0, f64::max);
        assert!(worst > 0.03, "{worst}");
    }
    assert!(law.floor().density_per_m > 0.0);
}

fn sampled(law: &SmallLaw, findings: &Findings, draws: u64) -> Vec<underturf::layout::Draw> {
    let posterior = Posterior::new(law, findings, draws as usize, 5, &|| false).expect("not stopped");
    (0..draws).into_par_iter().map(|k| posterior.sample(&mut rng::stream(11, k)).expect("possible")).collect()
}

/// Every draw agrees with what was seen: no drawn piece would surely have been met by a clear look that misses nothing,
/// and where a find must be true each draw has a piece there.
#[test]
fn pieces_agree_with_what_was_seen() {
    let law = small_law();
    let mut findings = cases().swap_remove(3);
    findings.clear.iter_mut().for_each(|look| look.detect = 1.0);
    findings.found.iter_mut().for_each(|find| find.false_find = 0.0);
    for (k, draw) in sampled(&law, &findings, 400).iter().enumerate() {
        let pieces = draw.pieces(&law, &mut rng::stream(3, k as u64));
        let met = |look: &Look| {
            pieces.iter().any(|piece| {
                let footprint = look.footprint.inflated(f64::from(piece.radius_m) - 1e-6);
                f64::from(piece.cover_m) < look.depth_m && footprint.meets_segment(piece.a, piece.b)
            })
        };
        assert!(findings.clear.iter().all(|look| !met(look)), "draw {k} runs under a clear probe");
        let deeper =
            |find: &Find| Look { footprint: find.look.footprint.inflated(1e-5), ..find.look.clone() };
        assert!(findings.found.iter().all(|find| met(&deeper(find))), "draw {k} has nothing at a find");
    }
}

/// The same seed gives the same draws on 1 and 2 threads.
#[test]
fn threads_do_not_change_draws_given_findings() {
    let findings = cases().swap_remove(2);
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        let law = small_law();
        pool.install(|| sampled(&law, &findings, 64))
            .iter()
            .enumerate()
            .flat_map(|(k, draw)| draw.pieces(&law, &mut rng::stream(3, k as u64)))
            .collect::<Vec<_>>()
    };
    assert_eq!(run(1), run(2));
}

/// A clear look 0.6 m beside a hole under one long run (prior 0.9, offset sd 0.5 m, radius 0.45 m both): exact chances of
/// the run under the hole before and after, from the normal law of the offset (design section 4; methods J).
#[test]
fn an_unknown_line_found_goes_on_under_the_dig_beside_it() {
    let law = small_law();
    let findings = cases().swap_remove(4);
    let beside = hole(12.2, 9.2, 0.45, 0.5);
    let far = hole(-8.0, 9.0, 0.45, 0.5);
    let p = |dig: &Look| strike_by_determinants(&law, dig, &findings, &ASSESSED).p;
    let alone = -(-mean_beyond(law.floor(), &far, &[])).exp_m1();
    assert!((p(&far) - alone).abs() < 1e-9, "{} {alone}", p(&far));
    assert!(p(&beside) > 0.15, "{}", p(&beside));
    assert!(Footprint::disc(Point::new(12.0, 9.0), 0.2).contains(Point::new(12.1, 9.0)));
}
