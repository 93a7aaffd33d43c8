//! The ground that is swept, and what sounds on it. The lot is swept but for buildings, whole yards that nobody asked for, and
//! patches that cannot be walked: beds, parked cars, piles. Patches fall where they will, so that their places tell nothing of
//! lines. On each swept outline each line that crosses it sounds or stays silent; the chance is told, and it is the true one.

use super::course::Course;
use super::lot::{Lot, Rect};
use crate::installer::Dice;

/// Narrower strips are not told as swept, metres.
const LEAST_M: f64 = 1.0;
/// Outlines that hold less of a line sound in proportion.
const FULL_M: f64 = 1.0;

pub struct Sweep {
    pub swept: Vec<Rect>,
    pub patches: Vec<Rect>,
    pub p_detect: f64,
}

impl Sweep {
    pub fn draw(lot: &Lot, dice: &mut Dice) -> Self {
        let patches: Vec<Rect> = (0..dice.pick(&[0.05, 0.15, 0.25, 0.30, 0.25]))
            .map(|_| {
                let p = lot.ground.anywhere(dice);
                let (w, d) = (dice.uniform(2.5, 6.5), dice.uniform(2.5, 6.5));
                Rect::new(p.x - w / 2.0, p.y - d / 2.0, p.x + w / 2.0, p.y + d / 2.0)
            })
            .collect();
        let (g, h) = (lot.ground, lot.house);
        let yards = [
            Rect::new(g.x0, g.y0, g.x1, h.y0),
            Rect::new(g.x0, h.y1, g.x1, g.y1),
            Rect::new(g.x0, h.y0, h.x0, h.y1),
            Rect::new(h.x1, h.y0, g.x1, h.y1),
        ];
        let asked = [0.95, 0.85, 0.85, 0.85].map(|p| dice.chance(p));
        let closed: Vec<Rect> =
            patches.iter().copied().chain(lot.shed.iter().map(|s| s.grown(0.2))).chain(lot.drive).collect();
        let mut swept: Vec<Rect> = yards.into_iter().zip(asked).filter_map(|(y, a)| a.then_some(y)).collect();
        for hole in &closed {
            swept = swept.iter().flat_map(|r| r.minus(hole)).collect();
        }
        swept.retain(|r| r.x1 - r.x0 >= LEAST_M && r.y1 - r.y0 >= LEAST_M);
        // two decimals, as it will be told
        let p_detect = (dice.uniform(0.85, 0.95) * 100.0).round() / 100.0;
        Self { swept, patches, p_detect }
    }

    /// Stretches of a line along which flags are set, as arc lengths. Where it sounds on swept ground the detectorist follows
    /// it on over ground that was not asked for, for some metres and both ways, but into no patch.
    pub fn heard(&self, course: &Course, dice: &mut Dice) -> Vec<(f64, f64)> {
        let step = 0.1;
        let n = (course.length() / step).ceil() as usize;
        let at = |i: usize| course.at(course.length() * i as f64 / n as f64);
        let on: Vec<Option<usize>> =
            (0..=n).map(|i| self.swept.iter().position(|r| r.holds(at(i)))).collect();
        let mut below = vec![0.0; self.swept.len()];
        on.iter().flatten().for_each(|&k| below[k] += step);
        let sounds: Vec<bool> =
            below.iter().map(|m| dice.chance(self.p_detect * (m / FULL_M).min(1.0))).collect();
        let mut heard: Vec<bool> = on.iter().map(|k| k.is_some_and(|k| sounds[k])).collect();
        let barred: Vec<bool> =
            (0..=n).map(|i| on[i].is_some() || self.patches.iter().any(|r| r.holds(at(i)))).collect();
        let found = heard.clone();
        for back in [false, true] {
            // metres that the line is still followed
            let mut left = 0.0;
            for i in 0..=n {
                let i = if back { n - i } else { i };
                if found[i] {
                    left = dice.gamma_about_one(1.0) * 3.5;
                } else if barred[i] || left <= 0.0 {
                    left = 0.0;
                } else {
                    left -= step;
                    heard[i] = true;
                }
            }
        }
        let mut stretches: Vec<(f64, f64)> = Vec::new();
        for i in (0..=n).filter(|&i| heard[i]) {
            let s = course.length() * i as f64 / n as f64;
            match stretches.last_mut() {
                Some(last) if i > 0 && heard[i - 1] => last.1 = s,
                _ => stretches.push((s, s)),
            }
        }
        stretches
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::xy;

    /// One swept box of 10 m with a certain or an impossible detector, and a line that runs on for 20 m.
    #[test]
    fn a_line_is_heard_on_swept_ground_and_followed_from_there_alone() {
        let course = Course::new(vec![xy(-20.0, 1.0), xy(30.0, 1.0)]);
        let mut sweep = Sweep { swept: vec![Rect::new(0.0, 0.0, 10.0, 2.0)], patches: vec![], p_detect: 1.0 };
        let mut dice = Dice::new(5);
        let (mut before, mut after) = (0.0, 0.0);
        for _ in 0..300 {
            let heard = sweep.heard(&course, &mut dice);
            assert_eq!(heard.len(), 1);
            assert!(heard[0].0 <= 20.1 && heard[0].1 >= 29.8, "{heard:?}");
            before += 20.0 - heard[0].0;
            after += heard[0].1 - 30.0;
        }
        // exponential of mean 3.5 m: standard error 0.2 m
        assert!((before / 300.0 - 3.5).abs() < 0.8 && (after / 300.0 - 3.5).abs() < 0.8, "{before} {after}");
        sweep.patches = vec![Rect::new(10.0, 0.0, 12.0, 2.0)];
        assert!((0..50).all(|_| sweep.heard(&course, &mut dice)[0].1 < 30.2), "no walk into a patch");
        sweep.p_detect = 0.0;
        assert!(sweep.heard(&course, &mut dice).is_empty());
    }
}
