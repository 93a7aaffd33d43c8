//! Facts of the trade that simulated sites must agree with, whatever their habits: how much pipe a head takes, how deep it
//! lies, how many heads a zone has. Wide bands, since no survey of installed systems was found (python/docs/trade-values.md,
//! 9).

use super::job;
use crate::job::{Carries, Line};
use crate::plane::{area, length};

fn quantile(values: &mut [f64], q: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values[((values.len() - 1) as f64 * q).round() as usize]
}

fn laterals(lines: &[Line]) -> impl Iterator<Item = &Line> {
    lines.iter().filter(|l| l.carries == Carries::Lateral)
}

#[test]
fn sites_agree_with_the_trade_in_pipe_cover_and_zones() {
    let jobs: Vec<_> = (0..300).map(job).collect();
    let mut pipe_per_head: Vec<f64> = jobs
        .iter()
        .map(|j| {
            let throws: f64 = j.survey.heads.iter().filter_map(|h| h.radius_m).sum();
            laterals(&j.lines).map(|l| length(&l.path)).sum::<f64>() / throws
        })
        .collect();
    // a tree over a square grid takes one spacing of pipe a head, and equal division of an edge makes the spacing 0.55 to
    // 1.1 throws; rows, detours and remote valves take more
    assert!((0.7..1.2).contains(&quantile(&mut pipe_per_head, 0.5)), "{}", quantile(&mut pipe_per_head, 0.5));
    assert!(quantile(&mut pipe_per_head, 0.95) < 2.5, "{}", quantile(&mut pipe_per_head, 0.95));

    let mut cover: Vec<f64> =
        jobs.iter().flat_map(|j| laterals(&j.lines).flat_map(|l| l.cover_m.clone())).collect();
    let [low, mid, high] = [0.05, 0.5, 0.95].map(|q| quantile(&mut cover, q));
    // rows 1.1 to 1.4: 6 to 12 in, with a tail above and below
    assert!(
        (0.10..0.17).contains(&low) && (0.20..0.28).contains(&mid) && (0.28..0.42).contains(&high),
        "{low} {mid} {high}"
    );

    let zones: Vec<usize> = jobs.iter().map(|j| j.habits.len()).collect();
    assert!((1..=4).all(|k| zones.contains(&k)));
    let heads = jobs.iter().map(|j| j.heads.len()).sum::<usize>() as f64 / zones.iter().sum::<usize>() as f64;
    assert!((5.0..12.0).contains(&heads), "{heads} heads a zone");

    let mut density: Vec<f64> = jobs
        .iter()
        .map(|j| j.lines.iter().map(|l| length(&l.path)).sum::<f64>() / area(&j.survey.boundary).abs())
        .collect();
    println!(
        "pipe per head {:.2} throws (95 %: {:.2}); cover {low:.3} {mid:.3} {high:.3} m; {heads:.1} heads a zone; line {:.3} {:.3} {:.3} m/m2",
        quantile(&mut pipe_per_head, 0.5),
        quantile(&mut pipe_per_head, 0.95),
        quantile(&mut density, 0.05),
        quantile(&mut density, 0.5),
        quantile(&mut density, 0.95)
    );
}
