//! What really lies in the ground, and where each flag and each mark came from. A hole strikes metal where the line, taken
//! as a swept disc of its diameter, meets the hole in plan and lies with its top above the bottom of the hole.

use super::course::Course;
use super::survey::Class;
use crate::job::Hole;
use crate::plane::{Xy, point_to_segment};

/// How a line ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// At the surveyed fixture of that index.
    At(usize),
    /// At something that the survey does not show: a controller behind a wall, an entry behind a hedge.
    Unseen,
    /// It runs on over the edge of the lot.
    Edge,
    /// It simply ends, or goes on in plastic.
    Bare,
}

/// A corner of a course.
#[derive(Clone, Copy, Debug)]
pub struct Bend {
    pub arc_m: f64,
    /// Change of direction, 0 to 180.
    pub turn_deg: f64,
}

/// One buried line of metal.
#[derive(Clone, Debug)]
pub struct Line {
    pub class: Class,
    pub course: Course,
    /// Ground above the line at each point of the course.
    pub cover_m: Vec<f64>,
    pub diameter_m: f64,
    pub bends: Vec<Bend>,
    pub ends: [End; 2],
}

/// Two courses that cross.
#[derive(Clone, Copy, Debug)]
pub struct Crossing {
    pub at: Xy,
    pub lines: [usize; 2],
    pub arc_m: [f64; 2],
    /// Between the lines, 0 to 90.
    pub angle_deg: f64,
}

/// Where a flag came from: a place along a line, or nothing that is a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Origin {
    On { line: usize, arc_m: f64 },
    Stray,
}

impl Origin {
    pub fn line(self) -> Option<usize> {
        match self {
            Origin::On { line, .. } => Some(line),
            Origin::Stray => None,
        }
    }
}

/// How right a mark is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkIs {
    Right,
    WrongClass,
    WrongPlace,
}

/// Where a mark came from.
#[derive(Clone, Copy, Debug)]
pub struct MarkOrigin {
    pub line: usize,
    pub is: MarkIs,
}

#[derive(Clone, Debug)]
pub struct Truth {
    pub lines: Vec<Line>,
    pub crossings: Vec<Crossing>,
    /// One for each flag of the survey, in its order.
    pub flags: Vec<Origin>,
    /// One for each mark of the survey, in its order.
    pub marks: Vec<MarkOrigin>,
}

impl Truth {
    /// Flags of a line with their places along it, in the order of the line.
    pub fn flags_of(&self, line: usize) -> Vec<(f64, usize)> {
        let mut of: Vec<(f64, usize)> = self
            .flags
            .iter()
            .enumerate()
            .filter_map(|(k, o)| match *o {
                Origin::On { line: l, arc_m } if l == line => Some((arc_m, k)),
                _ => None,
            })
            .collect();
        of.sort_by(|a, b| a.0.total_cmp(&b.0));
        of
    }

    /// The part of a line from its first flag to its last, where it has two.
    pub fn flagged_part(&self, line: usize) -> Option<(f64, f64)> {
        let of = self.flags_of(line);
        (of.len() >= 2).then(|| (of[0].0, of[of.len() - 1].0))
    }

    pub fn strikes(&self, hole: &Hole) -> bool {
        self.lines.iter().any(|line| strikes(hole, line))
    }
}

/// Whether a hole strikes a line.
pub fn strikes(hole: &Hole, line: &Line) -> bool {
    line.course.points().windows(2).zip(line.cover_m.windows(2)).any(|(w, c)| {
        (c[0] + c[1]) / 2.0 < hole.depth_m
            && point_to_segment(hole.at, w[0], w[1]) < hole.radius_m + line.diameter_m / 2.0
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::xy;

    #[test]
    fn a_hole_strikes_within_its_radius_and_the_lines_and_above_its_bottom() {
        let course = Course::new(vec![xy(0.0, 0.0), xy(4.0, 0.0), xy(8.0, 0.0)]);
        let line = Line {
            class: Class::Gas,
            course,
            cover_m: vec![0.4, 0.4, 0.6],
            diameter_m: 0.04,
            bends: vec![],
            ends: [End::Edge, End::Bare],
        };
        let hole = |x, y, depth_m| Hole { at: xy(x, y), radius_m: 0.3, depth_m };
        assert!(strikes(&hole(2.0, 0.319, 0.41), &line));
        assert!(!strikes(&hole(2.0, 0.321, 0.41), &line));
        assert!(!strikes(&hole(2.0, 0.0, 0.40), &line), "the bottom just reaches the top of the line");
        assert!(!strikes(&hole(7.0, 0.0, 0.49), &line), "the second piece lies at 0.5 m");
        assert!(strikes(&hole(7.0, 0.0, 0.51), &line));
        assert!(!strikes(&hole(8.33, 0.0, 0.9), &line), "it has ended");
    }
}
