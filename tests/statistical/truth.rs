//! What really happens when ground is opened: a hole or a trench strikes a line when the pipe, taken as a swept disc of its
//! outside diameter, meets the footprint in plan and lies with its top above the bottom of the dig. Exact for straight pieces.

use crate::job::{Carries, Hole, Job, Line};
use crate::plane::{Xy, inside, point_to_segment, segment_to_segment, xy};

/// A straight-sided cut: `path` with flat ends, `width_m` wide, `depth_m` deep. Bends are filled round.
#[derive(Clone, Debug)]
pub struct Cut {
    pub path: Vec<Xy>,
    pub width_m: f64,
    pub depth_m: f64,
}

/// The ground a dig opens.
pub trait Footprint {
    fn depth_m(&self) -> f64;
    /// Distance in plan from the footprint to the segment `a b`; zero when they meet.
    fn gap(&self, a: Xy, b: Xy) -> f64;
}

impl Footprint for Hole {
    fn depth_m(&self) -> f64 {
        self.depth_m
    }
    fn gap(&self, a: Xy, b: Xy) -> f64 {
        (point_to_segment(self.at, a, b) - self.radius_m).max(0.0)
    }
}

impl Footprint for Cut {
    fn depth_m(&self) -> f64 {
        self.depth_m
    }
    fn gap(&self, a: Xy, b: Xy) -> f64 {
        let half = self.width_m / 2.0;
        let slabs = self.path.windows(2).map(|w| {
            let aside = (w[1] - w[0]).unit().left() * half;
            let slab = [w[0] - aside, w[1] - aside, w[1] + aside, w[0] + aside];
            if inside(a, &slab) || inside(b, &slab) {
                return 0.0;
            }
            (0..4).map(|i| segment_to_segment(a, b, slab[i], slab[(i + 1) % 4])).fold(f64::INFINITY, f64::min)
        });
        let bends =
            self.path.iter().skip(1).rev().skip(1).map(|&p| (point_to_segment(p, a, b) - half).max(0.0));
        slabs.chain(bends).fold(f64::INFINITY, f64::min)
    }
}

/// Whether the dig strikes this line.
pub fn strikes_line(dig: &impl Footprint, line: &Line) -> bool {
    line.path
        .windows(2)
        .zip(&line.cover_m)
        .any(|(w, &cover)| cover < dig.depth_m() && dig.gap(w[0], w[1]) < line.diameter_m / 2.0)
}

/// Whether the dig strikes anything buried on the job.
pub fn strikes(dig: &impl Footprint, job: &Job) -> bool {
    job.lines.iter().any(|l| strikes_line(dig, l))
}

/// Whether the dig strikes a line of one use.
pub fn strikes_a(dig: &impl Footprint, job: &Job, carries: Carries) -> bool {
    job.lines.iter().any(|l| l.carries == carries && strikes_line(dig, l))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line() -> Line {
        Line {
            carries: Carries::Lateral,
            path: vec![xy(0.0, 0.0), xy(10.0, 0.0), xy(10.0, 5.0)],
            cover_m: vec![0.25, 0.40],
            diameter_m: 0.04,
        }
    }

    #[test]
    fn a_hole_strikes_within_its_radius_and_the_pipes_and_above_its_bottom() {
        let hole = |x, y, depth_m| Hole { at: xy(x, y), radius_m: 0.3, depth_m };
        assert!(strikes_line(&hole(5.0, 0.319, 0.3), &line()));
        assert!(!strikes_line(&hole(5.0, 0.321, 0.3), &line()));
        assert!(!strikes_line(&hole(5.0, 0.0, 0.25), &line()), "the bottom just reaches the pipe's top");
        assert!(!strikes_line(&hole(10.0, 3.0, 0.3), &line()), "the second piece lies deeper");
        assert!(strikes_line(&hole(10.0, 3.0, 0.41), &line()));
    }

    #[test]
    fn a_cut_has_flat_ends() {
        let cut = Cut { path: vec![xy(5.0, 0.5), xy(5.0, 3.0)], width_m: 0.3, depth_m: 0.5 };
        assert!(!strikes_line(&cut, &line()), "it ends 0.5 m short of the pipe");
        let longer = Cut { path: vec![xy(5.0, 0.019), xy(5.0, 3.0)], ..cut.clone() };
        assert!(strikes_line(&longer, &line()));
        let bent = Cut { path: vec![xy(5.0, 3.0), xy(9.8, 3.0), xy(9.8, 4.0)], ..cut };
        assert!(!strikes_line(&bent, &line()));
        let wide = Cut { width_m: 0.37, ..bent };
        assert!(strikes_line(&wide, &line()), "half of 0.37 m and the pipe's 0.02 m pass 0.2 m");
    }
}
