//! Swept ground without a flag: the detector hears metal only, so silence speaks against the control wire, and with
//! it against the mainline that it rides with. Plastic laterals make no sound and are left alone.
//!
//! A way with wire, of which a length l lies under swept silent ground, stayed unheard with chance 1 - p c(l): p is
//! the chance that the wire would have sounded, and c rises in proportion to l up to one at `sweep_length_m`, since a
//! short end may escape the coil. Ground near a flag was not silent. Every sweep is a look of its own, so factors
//! multiply.

use crate::geometry::{Point, Polygon, merge_intervals, near_interval};
use crate::settings::Settings;
use crate::site::{Flag, Swept};

/// The silent ground of a site.
#[derive(Default)]
pub struct Silence {
    /// Swept ground, with the chance that a wire under it would have sounded.
    swept: Vec<(Polygon, f64)>,
    /// Places where it sounded, with how far that reaches, metres.
    heard: Vec<(Point, f64)>,
    full_length_m: f64,
}

impl Silence {
    /// The sweeps and flags of a site under its settings.
    pub fn new(swept: &[Swept], flags: &[Flag], settings: &Settings) -> Self {
        let sweep = |it: &Swept| {
            let chance = it.p_detect.unwrap_or(settings.sweep_detect).min(settings.sweep_detect_greatest);
            (it.outline.clone(), chance)
        };
        let flag = |it: &Flag| (it.at, settings.sweep_flag_reach_m + it.sd_m);
        Self {
            swept: swept.iter().map(sweep).collect(),
            heard: flags.iter().map(flag).collect(),
            full_length_m: settings.sweep_length_m,
        }
    }

    /// Chance that a wire along this path would have stayed unheard: 1 off the swept ground.
    pub fn unheard(&self, corners: &[Point]) -> f64 {
        let unheard = |(outline, chance): &(Polygon, f64)| {
            let legs = corners.windows(2);
            let length_m: f64 = legs.map(|leg| self.silent_length(outline, leg[0], leg[1])).sum();
            1.0 - chance * (length_m / self.full_length_m).min(1.0)
        };
        self.swept.iter().map(unheard).product()
    }

    /// Length of a leg inside the outline and away from all flags, metres.
    fn silent_length(&self, outline: &Polygon, a: Point, b: Point) -> f64 {
        let mut inside = outline.inside_intervals(a, b);
        if inside.is_empty() {
            return 0.0;
        }
        merge_intervals(&mut inside);
        let near = |&(at, reach_m): &(Point, f64)| near_interval(a, b, at, at, reach_m);
        let mut heard: Vec<_> = self.heard.iter().filter_map(near).collect();
        merge_intervals(&mut heard);
        let mut share = 0.0;
        for (from, to) in inside {
            let overlap = |&(low, high): &(f64, f64)| (high.min(to) - low.max(from)).max(0.0);
            share += to - from - heard.iter().map(overlap).sum::<f64>();
        }
        share.max(0.0) * a.distance(b)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(p_detect: Option<f64>) -> Swept {
        let ring = [[0., 0.], [10., 0.], [10., 10.], [0., 10.]].map(Point::from).to_vec();
        Swept { outline: Polygon::new(ring), p_detect }
    }

    #[test]
    fn silence_counts_by_length_and_flags_end_it() {
        let flag =
            |x: f64| Flag { at: Point::new(x, 5.5), sd_m: 0.1, line: None, class: None, depth_m: None };
        let silence = |swept: &[Swept], flags: &[Flag]| Silence::new(swept, flags, &Settings::default());
        let across = [Point::new(-5.0, 5.5), Point::new(0.0, 5.5), Point::new(15.0, 5.5)];
        let near = |seen: f64, expected: f64| assert!((seen - expected).abs() < 1e-12, "{seen} {expected}");
        let swept = [square(Some(0.8))];
        near(silence(&swept, &[]).unheard(&across), 0.2);
        near(silence(&swept, &[]).unheard(&[Point::new(9.4, 5.5), Point::new(15.0, 5.5)]), 1.0 - 0.8 * 0.6);
        near(silence(&swept, &[]).unheard(&[Point::new(11.0, 0.0), Point::new(11.0, 9.0)]), 1.0);
        near(silence(&[square(None)], &[]).unheard(&across), 0.5);
        near(silence(&[square(Some(1.0))], &[]).unheard(&across), 0.01); // never impossible
        near(silence(&[square(Some(0.8)), square(None)], &[]).unheard(&across), 0.2 * 0.5);
        // A flag 1.1 m round: the stretch from 8.6 to 10 m is left of the second way's 6.4 to 10 m.
        let short = [Point::new(7.0, 5.5), Point::new(9.0, 5.5)];
        near(silence(&swept, &[flag(7.5)]).unheard(&short), 1.0 - 0.8 * 0.4);
        near(silence(&swept, &[flag(7.5), flag(8.0), flag(20.0)]).unheard(&short), 1.0);
        near(Silence::default().unheard(&across), 1.0);
    }
}
