//! Lines that go on in one another become one chain: a row of heads is one line to whoever flags it.

use super::line::{LikelyLine, Station};
use crate::geometry::Point;

/// Ends closer than this may be one, metres: pieces of one row meet at a head, each moved aside on its own.
const GAP_M: f64 = 1.0;

/// And directions closer than this, radians.
const TURN_RAD: f64 = std::f64::consts::PI / 9.0;

/// An end of a line: where it is, and which way the line leaves it.
#[derive(Clone, Copy)]
struct End {
    at: Point,
    inward: Point,
}

/// Joins lines end to end, nearest ends first, and orders them: by class, then the longest first.
pub fn chains(mut lines: Vec<LikelyLine>) -> Vec<LikelyLine> {
    lines.iter_mut().for_each(orient);
    while let Some((a, b)) = nearest(&lines) {
        let second = lines.remove(b.0);
        let first = lines.remove(a.0); // a.0 < b.0
        lines.push(joined(first, a.1, second, b.1));
    }
    for line in &mut lines {
        orient(line);
    }
    lines.sort_by(|a, b| {
        (a.class as usize)
            .cmp(&(b.class as usize))
            .then(b.length_m().total_cmp(&a.length_m()))
            .then(a.stations[0].at.x.total_cmp(&b.stations[0].at.x))
            .then(a.stations[0].at.y.total_cmp(&b.stations[0].at.y))
    });
    lines
}

/// From west to east, or from south to north.
fn orient(line: &mut LikelyLine) {
    let (first, last) = (line.stations[0].at, line.stations[line.stations.len() - 1].at);
    if (last.x, last.y) < (first.x, first.y) {
        line.stations.reverse();
    }
}

/// The ends of a line, first and last.
fn ends(line: &LikelyLine) -> [End; 2] {
    let end = |station: &Station, next: Option<&Station>| {
        let along = Point::unit(station.angle_rad);
        let inward = match next {
            Some(next) if along.dot(next.at - station.at) < 0.0 => -along,
            _ => along,
        };
        End { at: station.at - inward * (0.5 * station.span_m), inward }
    };
    let count = line.stations.len();
    let first = end(&line.stations[0], line.stations.get(1));
    let last = if count == 1 {
        End { at: first.at + first.inward * line.stations[0].span_m, inward: -first.inward }
    } else {
        end(&line.stations[count - 1], line.stations.get(count - 2))
    };
    [first, last]
}

/// The two ends of different lines that go on in one another and are nearest; the first of the two lines comes first.
fn nearest(lines: &[LikelyLine]) -> Option<((usize, usize), (usize, usize))> {
    let all: Vec<[End; 2]> = lines.iter().map(ends).collect();
    let mut best = (f64::INFINITY, None);
    for a in 0..lines.len() {
        for b in a + 1..lines.len() {
            if lines[a].class != lines[b].class || lines[a].system != lines[b].system {
                continue;
            }
            for i in 0..2 {
                for j in 0..2 {
                    let (p, q) = (all[a][i], all[b][j]);
                    let gap = p.at.distance(q.at);
                    let straight = p.inward.dot(-q.inward) >= TURN_RAD.cos();
                    if gap <= GAP_M && straight && gap < best.0 {
                        best = (gap, Some(((a, i), (b, j))));
                    }
                }
            }
        }
    }
    best.1
}

/// One line of two: end `i` of the first goes on in end `j` of the second.
fn joined(mut first: LikelyLine, i: usize, mut second: LikelyLine, j: usize) -> LikelyLine {
    if i == 0 {
        first.stations.reverse();
    }
    if j == 1 {
        second.stations.reverse();
    }
    let weights = [first.length_m() * first.chance, second.length_m() * second.chance];
    let shares = [first.system_share, second.system_share];
    first.system_share = (weights[0] * shares[0] + weights[1] * shares[1]) / (weights[0] + weights[1]);
    first.stations.extend(second.stations);
    first.chance = mean_chance(&first.stations);
    first
}

/// Mean of the stations' chances, weighted by length.
pub fn mean_chance(stations: &[Station]) -> f64 {
    let length: f64 = stations.iter().map(|station| station.span_m).sum();
    stations.iter().map(|station| station.chance * station.span_m).sum::<f64>() / length
}
