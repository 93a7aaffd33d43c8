//! Where a hole may go within reach, and how one picks a place who does not ask the engine: by drawn lines and a setback, or by
//! knowing what lies buried.

use crate::baseline::{self, Metric, edge_distance};
use crate::digs;
use crate::job::{Head, HeadKind, Hole, Job, Survey};
use crate::plane::{Xy, xy};
use crate::truth;

/// The grid of places, metres: that of the engine's own best shift.
pub const CELL_M: f64 = 0.1;

/// Places within reach where a hole may be dug, nearest first; the planned place is the first.
pub fn places(survey: &Survey, hole: &Hole, reach_m: f64) -> Vec<Xy> {
    let half = (reach_m / CELL_M).round() as i32;
    let steps = (-half..=half).flat_map(|i| (-half..=half).map(move |j| (i, j)));
    let mut steps: Vec<(i32, i32)> = steps.filter(|(i, j)| i * i + j * j <= half * half).collect();
    steps.sort_by_key(|(i, j)| (i * i + j * j, *i, *j));
    let at = |(i, j): (i32, i32)| hole.at + xy(f64::from(i), f64::from(j)) * CELL_M;
    let open = |at: &Xy| *at == hole.at || digs::may_dig(survey, *at, hole.radius_m);
    steps.into_iter().map(at).filter(open).collect()
}

/// The place of least value, the nearest among equals.
pub fn least(places: &[Xy], value: impl Fn(Xy) -> f64) -> Xy {
    let valued = places.iter().map(|&at| (value(at), at));
    valued.min_by(|a, b| a.0.total_cmp(&b.0)).expect("the planned place").1
}

/// The nearest place that strikes nothing, where there is one.
pub fn knowing(hole: &Hole, job: &Job, places: &[Xy]) -> Xy {
    least(places, |at| f64::from(u8::from(truth::strikes(&Hole { at, ..*hole }, job))))
}

/// The lines that one would draw by eye: a shortest tree through the heads and the valve box of each zone, and one through
/// meter, boxes and outlets.
pub fn drawn_lines(survey: &Survey) -> Vec<(Xy, Xy)> {
    let fixtures = survey.sources.iter().chain(&survey.outlets).map(|fixture| fixture.at);
    let node = |at| Head { at, zone: "main".into(), kind: HeadKind::Untold, radius_m: None };
    let mains = Survey {
        heads: survey.boxes.iter().map(|held| held.at).chain(fixtures).map(node).collect(),
        ..Survey::default()
    };
    let mut lines = baseline::tree_map(survey, Metric::Euclidean);
    lines.extend(baseline::tree_map(&mains, Metric::Euclidean));
    lines
}

/// The nearest place whose hole keeps its edge off the lines, else the one that keeps it farthest off.
pub fn keep_off(hole: &Hole, lines: &[(Xy, Xy)], setback_m: f64, places: &[Xy]) -> Xy {
    let kept = |at: Xy| edge_distance(&Hole { at, ..*hole }, lines);
    let first = places.iter().find(|&&at| kept(at) >= setback_m - 1e-9);
    first.copied().unwrap_or_else(|| least(places, |at| -kept(at)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Fixture, Obstacle, ValveBox};

    const REACH_M: f64 = 1.5;
    const HOLE: Hole = Hole { at: xy(0.0, 0.2), radius_m: 0.4, depth_m: 0.4 };

    /// A lawn of 20 m by 20 m round the hole, a lateral's head to either side of it.
    fn lawn() -> Survey {
        let head = |x| Head { at: xy(x, 0.0), zone: "1".into(), kind: HeadKind::Spray, radius_m: None };
        Survey {
            boundary: vec![xy(-10.0, -10.0), xy(10.0, -10.0), xy(10.0, 10.0), xy(-10.0, 10.0)],
            heads: vec![head(-4.0), head(4.0)],
            boxes: vec![ValveBox { at: xy(9.0, 0.0), zones: vec!["1".into()] }],
            sources: vec![Fixture { at: xy(9.0, 9.0), kind: "meter" }],
            ..Survey::default()
        }
    }

    /// Cells of 0.1 m with their middles within 1.5 m: 709 points of the square lattice in a circle of radius 15.
    #[test]
    fn places_lie_within_reach_on_open_ground_nearest_first() {
        let all = places(&lawn(), &HOLE, REACH_M);
        assert_eq!((all.len(), all[0]), (709, HOLE.at));
        assert!(all.iter().all(|at| at.to(HOLE.at) <= REACH_M + 1e-9));
        assert!(all.windows(2).all(|w| w[0].to(HOLE.at) <= w[1].to(HOLE.at) + 1e-9));
        let wall = vec![xy(-5.0, 1.0), xy(5.0, 1.0), xy(5.0, 2.0), xy(-5.0, 2.0)];
        let walled = Survey { obstacles: vec![Obstacle { kind: "building", outline: wall }], ..lawn() };
        let open = places(&walled, &HOLE, REACH_M);
        assert!(open.len() < all.len() && open.iter().all(|at| at.y < 0.6));
    }

    /// The hole's middle is 0.2 m off the drawn lateral. Edge 0.6 m off: the middle goes to 1.0 m, straight away. Edge
    /// 1.5 m off is out of reach: 1.7 m is as far as the middle gets. A setback that is kept already moves nothing.
    #[test]
    fn the_setback_by_hand() {
        let lines = drawn_lines(&lawn());
        assert_eq!(lines.len(), 3, "head to head, head to box, box to meter");
        let places = places(&lawn(), &HOLE, REACH_M);
        let to = |setback_m| keep_off(&HOLE, &lines, setback_m, &places);
        assert!(to(0.6).to(xy(0.0, 1.0)) < 1e-9, "{:?}", to(0.6));
        assert!(to(1.5).to(xy(0.0, 1.7)) < 1e-9 && to(f64::INFINITY) == to(1.5));
        let off = Hole { at: xy(0.0, 1.0), ..HOLE };
        assert_eq!(keep_off(&off, &lines, 0.6, &self::places(&lawn(), &off, REACH_M)), off.at);
        // Planted: a rule that keeps the middle off in place of the edge stays 0.4 m too near.
        let point = Hole { radius_m: 0.0, ..HOLE };
        assert!(keep_off(&point, &lines, 0.6, &places).to(to(0.6)) > 0.39);
    }
}
