//! Looks into the ground: where, how deep, how surely a line in the way would be met, and what was noted of it.

use crate::class::Class;
use crate::geometry::{Footprint, Point};
use crate::layout::{MetalLine, Piece};
use std::f64::consts::TAU;

/// Scatter of a bearing read in a hole, radians (10 deg; python/docs/model.md, 4.3).
const ANGLE_SD_RAD: f64 = 10.0 * std::f64::consts::PI / 180.0;

/// Scatter of a cover read in a hole, metres (python/docs/model.md, 4.3).
pub(super) const COVER_SD_M: f64 = 0.02;

/// A dig, or an exploratory hand dig.
#[derive(Clone, Debug)]
pub struct Observation {
    /// Ground covered.
    pub footprint: Footprint,
    /// Depth, metres.
    pub depth_m: f64,
    /// Chance that a line in the way is met: one for a dig.
    pub detect: f64,
    /// What was noted of the line that was met: only lines that answer to it count. Empty for digs and clear probes.
    pub report: Report,
}

/// What was noted of a line.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Report {
    /// What it carries.
    pub class: Option<Class>,
    /// Its direction, radians, modulo a half turn.
    pub angle_rad: Option<f64>,
    /// Ground above it, metres.
    pub cover_m: Option<f64>,
}

impl Observation {
    /// A dig: whatever is in its way is struck.
    pub fn dig(footprint: Footprint, depth_m: f64) -> Self {
        Self { footprint, depth_m, detect: 1.0, report: Report::default() }
    }

    /// Chance that a straight piece of unknown line is met and answers to the report.
    pub(super) fn meets_piece(&self, piece: &Piece) -> f64 {
        let cover = f64::from(piece.cover_m);
        let widened = || self.footprint.inflated(f64::from(piece.radius_m));
        if cover < self.depth_m && widened().meets_segment(piece.a, piece.b) {
            self.detect * self.report.of_bearing(piece.b - piece.a) * self.report.of_cover(cover)
        } else {
            0.0
        }
    }

    /// Chance that a drawn metal line is met and answers to the report, its cover summed over.
    pub fn meets_metal(&self, line: &MetalLine) -> f64 {
        let answers = self.crosses(line);
        if answers == 0.0 {
            return 0.0;
        }
        let reached = match self.report.cover_m {
            Some(_) if line.cover_m < self.depth_m => self.report.of_cover(line.cover_m),
            Some(_) => 0.0,
            None => line.shallower(self.depth_m),
        };
        reached * self.detect * answers
    }

    /// The same at the cover that was drawn: what two looks at one line have in common.
    pub fn meets_drawn(&self, line: &MetalLine) -> f64 {
        if line.cover_m >= self.depth_m {
            return 0.0;
        }
        self.detect * self.crosses(line) * self.report.of_cover(line.cover_m)
    }

    /// Chance that a line which lies above the floor of the look is met.
    pub fn meets_at_any_cover(&self, line: &MetalLine) -> f64 {
        self.detect * self.crosses(line)
    }

    /// Likelihood of the noted bearing at the best leg of a line that passes; zero where none does, or none may have been
    /// reported so.
    fn crosses(&self, line: &MetalLine) -> f64 {
        if !self.report.allows(line.class) {
            return 0.0;
        }
        let widened = self.footprint.inflated(line.radius_m);
        let legs = line.path.windows(2).filter(|ends| widened.meets_segment(ends[0], ends[1]));
        legs.map(|ends| self.report.of_bearing(ends[1] - ends[0])).fold(0.0, f64::max)
    }
}

impl Report {
    /// Whether a line of this class may have been reported so. Control wire rides with the mainline.
    pub fn allows(&self, class: Class) -> bool {
        match self.class {
            None | Some(Class::Unknown) => true,
            Some(Class::ControlWire) => class == Class::Mainline,
            Some(reported) => reported == class,
        }
    }

    /// Likelihood of the noted bearing for a line in this direction, over the likelihood of the true one.
    pub fn of_bearing(&self, along: Point) -> f64 {
        let Some(noted) = self.angle_rad else { return 1.0 };
        let off = (along.y.atan2(along.x) - noted).rem_euclid(0.5 * TAU);
        let off = off.min(0.5 * TAU - off);
        (-0.5 * (off / ANGLE_SD_RAD).powi(2)).exp()
    }

    /// The same for the noted cover.
    pub fn of_cover(&self, cover_m: f64) -> f64 {
        self.cover_m.map_or(1.0, |noted| (-0.5 * ((cover_m - noted) / COVER_SD_M).powi(2)).exp())
    }

    /// Likelihood of all that was noted where bearing and cover tell nothing, over that for a line which answers to it
    /// fully: a false find has any bearing, and any cover down to the depth of the look.
    pub fn of_nothing(&self, depth_m: f64) -> f64 {
        let peak = |sd: f64| 1.0 / (sd * TAU.sqrt());
        let bearing = self.angle_rad.map_or(1.0, |_| 2.0 / TAU / peak(ANGLE_SD_RAD));
        let cover = self.cover_m.map_or(1.0, |_| (1.0 / depth_m.max(0.01) / peak(COVER_SD_M)).min(1.0));
        bearing * cover
    }
}
