//! psi: a bounded factor on whole layouts, for what does not factor over runs.
//!
//! A head has two pipes, a third branch tees just before it (python/docs/trade-values.md, 3.18c): each further pipe at a head
//! costs
//! `third_branch_factor`. Trenches cross seldom: each crossing of pipes of two systems costs `pipe_crossing_factor`. Pipes of
//! different systems share a trench where they can (python/docs/trade-values.md, 3.18d): a layout gains
//! exp(`shared_trench_gain` times the share of its length that lies beside another system's). Each factor is off as shipped:
//! weighting 3,000 independent draws of each of 80 simulated sites changed the Brier score of 60 holes by -0.0001 (standard
//! error 0.0002) for a third branch at exp(-0.5), by -0.0005 (0.0002) for crossings at exp(-0.2), and made it worse with
//! shared trenches, which that simulator does not dig.

use crate::geometry::{Point, segments_meet};
use crate::layout::{Draw, Kind, Piece};
use crate::settings::Settings;

/// Pipes closer than this, and turned by no more than that (sine), lie in one trench. Common practice, no source: a trench
/// is a hand's width to a foot wide, and maps of both pipes err.
const TRENCH_M: f64 = 0.6;
const TURNED: f64 = 0.17;

/// Factors on whole layouts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Psi {
    log_branch: f64,
    log_crossing: f64,
    shared_gain: f64,
}

impl Psi {
    /// The factors that settings ask for.
    pub fn new(settings: &Settings) -> Self {
        Self {
            log_branch: settings.third_branch_factor.ln(),
            log_crossing: settings.pipe_crossing_factor.ln(),
            shared_gain: settings.shared_trench_gain,
        }
    }

    /// Whether it is one for every layout.
    pub fn is_one(&self) -> bool {
        self.log_branch == 0.0 && self.log_crossing == 0.0 && self.shared_gain == 0.0
    }

    /// Its logarithm for a layout: at most `shared_trench_gain`, never minus infinity.
    pub fn log(&self, draw: &Draw, pieces: &[Piece]) -> f64 {
        let pipes: Vec<&Piece> = pieces.iter().filter(|piece| piece.kind != Kind::Unknown).collect();
        let mut log = 0.0;
        if self.log_branch != 0.0 {
            log += self.log_branch * further_branches(draw) as f64;
        }
        if self.log_crossing != 0.0 {
            log += self.log_crossing * crossings(&pipes) as f64;
        }
        if self.shared_gain != 0.0 {
            log += self.shared_gain * shared(&pipes);
        }
        log
    }
}

/// Pipes at heads beyond two at each.
fn further_branches(draw: &Draw) -> usize {
    draw.trees.iter().map(|tree| tree.branches).sum()
}

/// Places where pipes of two systems cross.
fn crossings(pipes: &[&Piece]) -> usize {
    let cross = |p: &Piece, q: &Piece| p.system != q.system && segments_meet(p.a, p.b, q.a, q.b);
    pipes.iter().enumerate().map(|(k, p)| pipes[..k].iter().filter(|q| cross(p, q)).count()).sum()
}

/// Share of the length of all pipes that lies beside a pipe of another system.
fn shared(pipes: &[&Piece]) -> f64 {
    let length: f64 = pipes.iter().map(|pipe| pipe.a.distance(pipe.b)).sum();
    let beside = |pipe: &&Piece| -> f64 {
        let others = pipes.iter().filter(|other| other.system != pipe.system);
        let mut covered: Vec<(f64, f64)> = others.filter_map(|other| span_beside(pipe, other)).collect();
        crate::geometry::merge_intervals(&mut covered);
        covered.iter().map(|(from, to)| to - from).sum()
    };
    if length > 0.0 { (pipes.iter().map(beside).sum::<f64>() / length).min(1.0) } else { 0.0 }
}

/// The part of a pipe, in metres along it, that lies beside another.
fn span_beside(pipe: &Piece, other: &Piece) -> Option<(f64, f64)> {
    let (along, across) = ((pipe.b - pipe.a).direction()?, (other.b - other.a).direction()?);
    let off = |p: Point| (p - pipe.a).cross(along).abs();
    if along.cross(across).abs() > TURNED || off(other.a).min(off(other.b)) > TRENCH_M {
        return None;
    }
    let (from, to) = ((other.a - pipe.a).dot(along), (other.b - pipe.a).dot(along));
    let (from, to) = (from.min(to).max(0.0), from.max(to).min(pipe.a.distance(pipe.b)));
    (to > from).then_some((from, to))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::class::Class;
    use approx::assert_relative_eq;

    fn pipe(a: (f64, f64), b: (f64, f64), system: u16) -> Piece {
        let (a, b) = (Point::new(a.0, a.1), Point::new(b.0, b.1));
        let (class, kind) = (Class::Lateral, Kind::Run);
        Piece { a, b, cover_m: 0.2, radius_m: 0.02, class, kind, system, wire: false }
    }

    #[test]
    fn crossings_are_between_systems_and_shared_length_is_counted_once() {
        let (long, cross) = (pipe((0., 0.), (10., 0.), 0), pipe((5., -3.), (5., 3.), 1));
        let own = pipe((6., -3.), (6., 3.), 0);
        assert_eq!(crossings(&[&long, &cross, &own]), 1);
        assert_eq!(shared(&[&long, &cross]), 0.0);
        // Two metres of it beside each of two pipes that overlap by one: three metres of ten, and all four of theirs.
        let beside = [pipe((2., 0.3), (4., 0.3), 1), pipe((3., -0.2), (5., -0.2), 1)];
        assert_relative_eq!(shared(&[&long, &beside[0], &beside[1]]), (3.0 + 4.0) / 14.0, epsilon = 1e-12);
        assert_eq!(shared(&[&long, &pipe((2., 0.3), (4., 0.3), 0)]), 0.0);
    }

    #[test]
    fn one_as_shipped() {
        assert!(Psi::new(&Settings::default()).is_one());
        assert!(!Psi::new(&Settings { pipe_crossing_factor: 0.8, ..Settings::default() }).is_one());
    }
}
