//! The constants of the law of metal lines: those that a site may know better are settings, the others stand here.

use super::class_law::{self, CLASSES, ClassLaw};
use crate::settings::Settings;

/// Constants of the law of metal lines, with the source of each. "Practice" is common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Law {
    /// Metal lines expected on a site that was walked. Practice.
    pub lines: f64,
    /// Share of flags expected to be stray. Practice: junk is found everywhere near houses.
    pub stray_share: f64,
    /// Shape of the gamma prior of the number of strays about that share: wide.
    pub stray_shape: f64,
    /// Chance that a line's flags end after each of them. Practice: about a dozen on a line.
    pub stop: f64,
    /// Standard deviation of a leg's direction about the site's axis, degrees. Practice: trenches follow walls and kerbs.
    pub axis_sd_deg: f64,
    /// Share of legs that follow an axis, either alike. Practice.
    pub axis_share: f64,
    /// Bends per metre of line. Practice: one or two on a lot.
    pub bends_per_m: f64,
    /// Least turn at a bend, degrees: less is wander.
    pub least_turn_deg: f64,
    /// Wander of a trench about straight, metres (python/docs/trade-values.md: nothing measured). Practice.
    pub wander_m: f64,
    /// Factor where a line turns back: two turns to the same side that make more than three eighths of a circle. Practice:
    /// lines lead somewhere.
    pub turn_back: f64,
    /// How far before the last item of a leg its bend may lie, metres: flags cut corners.
    pub slack_m: f64,
    /// Spread of the logarithm of steps between flags about the walk's step.
    pub step_spread: f64,
    /// Share of steps that leave a stretch out.
    pub gap_share: f64,
    /// Chance that a flag bears a wrong name.
    pub name_error: f64,
    /// Chance that a stated class (of a flag, a mark, a find) is wrong.
    pub class_error: f64,
    /// Factor for each line that only some points of a mark or of a service lie on.
    pub torn_mark: f64,
    /// Factor where two lines bear the same name.
    pub same_name: f64,
    /// Chance, before the list is read, that flags are listed in walking order.
    pub in_order: f64,
    /// Chance that a walk in order jumps elsewhere though its line goes on.
    pub jump: f64,
    /// How far lines go on beyond their last flag where nothing is known, metres, in the mean. Practice.
    pub beyond_m: f64,
    /// Scatter of where lines meet a fixture, metres: fittings lie beside what they serve.
    pub fixture_sd_m: f64,
    /// Factor for a course through a building.
    pub through_building: f64,
    /// Chance that a fresh mark without anything else on it marks nothing (python/docs/trade-values.md, 4.8: mismarks are a leading
    /// cause of damage; the share itself is practice).
    pub false_mark: f64,
    /// Scatter of a detector's depth, as a share of it.
    pub depth_error: f64,
    /// What is known of the lines of each class, in the order of [`CLASSES`](super::CLASSES).
    pub classes: [ClassLaw; CLASSES.len()],
}

impl Default for Law {
    fn default() -> Self {
        Self::of(&Settings::default())
    }
}

impl Law {
    /// The law that settings ask for. What no one on a site could know better stays as it is.
    pub fn of(settings: &Settings) -> Self {
        Self {
            lines: settings.metal_lines,
            stray_share: settings.metal_stray_share,
            stray_shape: 2.0,
            stop: settings.metal_flags_end,
            axis_sd_deg: settings.metal_axis_sd_deg,
            axis_share: settings.metal_axis_share,
            bends_per_m: settings.metal_bends_per_m,
            least_turn_deg: 15.0,
            wander_m: settings.metal_wander_m,
            turn_back: 0.05,
            slack_m: 0.6,
            step_spread: 0.5,
            gap_share: settings.metal_gap_share,
            name_error: settings.metal_name_error,
            class_error: settings.metal_class_error,
            torn_mark: 1e-3,
            same_name: 0.1,
            in_order: settings.metal_in_order,
            jump: settings.metal_jump,
            beyond_m: settings.metal_beyond_m,
            fixture_sd_m: settings.metal_fixture_sd_m,
            through_building: 1e-4,
            false_mark: settings.metal_false_mark,
            depth_error: settings.metal_depth_error,
            classes: class_law::laws(settings),
        }
    }
}

/// Steps that a walk may have in the median, metres.
pub(super) const STEPS_M: [f64; 7] = [0.6, 1.0, 1.5, 2.2, 3.3, 5.0, 7.5];

/// Factors by which flags may scatter more or less than stated.
pub(super) const SCALES: [f64; 5] = [0.6, 0.8, 1.0, 1.4, 2.0];
