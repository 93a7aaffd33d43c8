//! Ground to keep off: where a detector heard metal, something is buried, whatever any probability says.
//!
//! Flags that bear the name of one line stand along it: the strip follows them in the order in which they are written, where
//! that is the order of a walk, else along their shortest connection (minimum spanning tree). A flag without a name, or the
//! only one of its line, makes a disc. Half of its width is twice the greatest standard deviation of the flags (19 in 20 flags
//! stand no further off, sideways) and the setting `flag_clearance_m`.

use super::items::Flag;
use crate::geometry::{Footprint, Point};

/// Flags count as written in walking order where the walk is no longer than so many times their shortest connection.
/// Numerical choice: two neighbours swapped in a straight row of four give five thirds.
const WALK: f64 = 1.5;

/// Ground to keep off.
#[derive(Clone, Debug, PartialEq)]
pub struct KeepOff {
    /// What it is called: the name of the line, or `flag 3` by place in the list.
    pub name: String,
    /// Whether the document names the line.
    pub named: bool,
    /// Indices of its flags.
    pub flags: Vec<usize>,
    /// Straight legs of its middle; a single flag is a leg without length.
    pub legs: Vec<[Point; 2]>,
    /// Half of its width, metres.
    pub half_width_m: f64,
    /// Greatest standard deviation of its flags, metres.
    pub sd_m: f64,
}

impl KeepOff {
    /// Distance from a footprint to its middle, metres; zero where they meet.
    pub fn distance_m(&self, footprint: &Footprint) -> f64 {
        let legs = self.legs.iter().map(|leg| footprint.distance_to_segment(leg[0], leg[1]));
        legs.fold(f64::INFINITY, f64::min)
    }

    /// Whether a footprint enters it.
    pub fn is_entered(&self, footprint: &Footprint) -> bool {
        self.distance_m(footprint) < self.half_width_m
    }

    /// Its middle as paths that follow each other's ends: one for a walk, more where its connection forks.
    pub fn paths(&self) -> Vec<Vec<Point>> {
        let mut paths: Vec<Vec<Point>> = Vec::new();
        for &[from, to] in &self.legs {
            match paths.last_mut().filter(|path| path.last() == Some(&from)) {
                Some(path) => path.push(to),
                None if from == to => paths.push(vec![from]),
                None => paths.push(vec![from, to]),
            }
        }
        paths
    }

    /// What it is called in a sentence: `flagged metal line iron-2`, `flagged metal (flag 3)`.
    pub fn in_words(&self) -> String {
        if self.named {
            format!("flagged metal line {}", self.name)
        } else {
            format!("flagged metal ({})", self.name)
        }
    }
}

/// The ground to keep off along flags.
pub(super) fn keep_offs(flags: &[Flag], clearance_m: f64) -> Vec<KeepOff> {
    let mut found: Vec<KeepOff> = Vec::new();
    for (index, flag) in flags.iter().enumerate() {
        let known =
            flag.line.as_ref().and_then(|line| found.iter_mut().find(|it| it.named && it.name == *line));
        match known {
            Some(line) => line.flags.push(index),
            None => found.push(KeepOff {
                name: flag.line.clone().unwrap_or_else(|| format!("flag {}", index + 1)),
                named: flag.line.is_some(),
                flags: vec![index],
                legs: Vec::new(),
                half_width_m: 0.0,
                sd_m: 0.0,
            }),
        }
    }
    for line in &mut found {
        let places: Vec<Point> = line.flags.iter().map(|&k| flags[k].at).collect();
        line.sd_m = line.flags.iter().map(|&k| flags[k].sd_m).fold(0.0, f64::max);
        line.half_width_m = 2.0 * line.sd_m + clearance_m;
        line.legs = course(&places);
    }
    found
}

/// The legs between flags of one line.
fn course(places: &[Point]) -> Vec<[Point; 2]> {
    if let [only] = places {
        return vec![[*only, *only]];
    }
    let length = |legs: &[[Point; 2]]| legs.iter().map(|leg| leg[0].distance(leg[1])).sum::<f64>();
    let walk: Vec<[Point; 2]> = places.windows(2).map(|pair| [pair[0], pair[1]]).collect();
    let shortest = shortest_connection(places);
    if length(&walk) <= WALK * length(&shortest) { walk } else { shortest }
}

/// The minimum spanning tree of places (Prim 1957).
fn shortest_connection(places: &[Point]) -> Vec<[Point; 2]> {
    // For each place not yet joined: its distance from the joined ones, and which of them is nearest.
    let mut open: Vec<(usize, f64, usize)> =
        (1..places.len()).map(|k| (k, places[0].distance(places[k]), 0)).collect();
    let mut legs = Vec::with_capacity(open.len());
    while let Some(next) = (0..open.len()).min_by(|&a, &b| open[a].1.total_cmp(&open[b].1)) {
        let (place, _, from) = open.swap_remove(next);
        legs.push([places[from], places[place]]);
        for (other, distance, nearest) in &mut open {
            let gap = places[place].distance(places[*other]);
            if gap < *distance {
                (*distance, *nearest) = (gap, place);
            }
        }
    }
    legs
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flag(x: f64, y: f64, line: Option<&str>) -> Flag {
        Flag { at: Point::new(x, y), sd_m: 0.1, line: line.map(str::to_owned), class: None, depth_m: None }
    }

    #[test]
    fn flags_of_one_line_make_a_strip_and_single_ones_discs() {
        let flags = [
            flag(0., 0., Some("iron")),
            flag(5., 5., None),
            flag(4., 0., Some("iron")),
            flag(9., 9., Some("b")),
        ];
        let found = keep_offs(&flags, 0.457);
        assert_eq!(found.len(), 3);
        assert_eq!(
            (found[0].in_words().as_str(), found[1].in_words().as_str()),
            ("flagged metal line iron", "flagged metal (flag 2)")
        );
        assert!((found[0].half_width_m - 0.657).abs() < 1e-12 && found[0].flags == [0, 2]);
        let hole = |x, y| Footprint::disc(Point::new(x, y), 0.3);
        // Between the flags, where none stands: 0.6 off the middle less the radius is inside, 1.0 is not.
        assert!(found[0].is_entered(&hole(2.0, 0.9)) && !found[0].is_entered(&hole(2.0, 1.0)));
        assert!(found[1].is_entered(&hole(5.0, 5.9)) && !found[1].is_entered(&hole(5.0, 6.0)));
    }

    /// A straight row written in disorder, and an out-and-back walk: the row is joined along itself, the walk as it was made.
    /// Planted fault: the row joined as written is twice as long.
    #[test]
    fn disorder_is_no_detour_and_a_bend_is_no_short_cut() {
        let length = |legs: &[[Point; 2]]| legs.iter().map(|leg| leg[0].distance(leg[1])).sum::<f64>();
        let row = [0., 3., 1., 4., 2.].map(|x| Point::new(x, 0.0));
        assert_eq!(length(&course(&row)), 4.0);
        assert_eq!(length(&row.windows(2).map(|p| [p[0], p[1]]).collect::<Vec<_>>()), 10.0);
        let walk = [[0., 0.], [2., 0.], [4., 0.], [4., 1.5], [2., 1.5], [0., 1.5]].map(Point::from);
        assert_eq!(length(&course(&walk)), 9.5, "the leg round the end is part of the walk");
    }
}
