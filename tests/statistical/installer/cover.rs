//! How deep each piece lies. A zone has a level (the day's trencher setting and the soil), runs differ from it, and grade
//! shifts along a run. Levels are triangular over the 6 to 12 in of the guides with a mode near the designer's 10 in
//! (python/docs/trade-values.md, 1.1 to 1.4); mainlines 12 to 18 in (1.5 to 1.7); under walks at least 12 in below the slab
//! (1.8); shallow ends by erosion or haste, and the gamma spread, are common practice, no source.

use super::dice::Dice;
use crate::plane::{Xy, grown, segment_enters};

const INCH: f64 = 0.0254;

/// Cover level of one zone, metres.
pub fn zone_level(dice: &mut Dice) -> f64 {
    if dice.chance(0.15) {
        // pulled in by a vibrating blade, about 8 in
        dice.triangular(6.0 * INCH, 8.0 * INCH, 9.0 * INCH)
    } else {
        dice.triangular(6.0 * INCH, 10.0 * INCH, 13.0 * INCH)
    }
}

/// Cover level of a mainline, metres.
pub fn mainline_level(dice: &mut Dice) -> f64 {
    dice.triangular(9.0 * INCH, 15.0 * INCH, 19.0 * INCH)
}

/// Cover level of a potable line, metres: row 1.11 and the frost rule of 1.10 in a mild climate.
pub fn potable_level(dice: &mut Dice) -> f64 {
    dice.triangular(10.0 * INCH, 14.0 * INCH, 24.0 * INCH)
}

/// Cover level of a line nobody remembers, metres.
pub fn forgotten_level(dice: &mut Dice) -> f64 {
    dice.triangular(4.0 * INCH, 9.0 * INCH, 18.0 * INCH)
}

/// Cover of every piece of a path laid at `level`.
pub fn bury(path: &[Xy], level: f64, walks: &[Vec<Xy>], dice: &mut Dice) -> Vec<f64> {
    let run = level * dice.gamma_about_one(0.09);
    let sleeves: Vec<Vec<Xy>> = walks.iter().map(|w| grown(w, 0.2)).collect();
    let shallow = dice.chance(0.05).then(|| dice.uniform(0.45, 0.75));
    let mut drift = 1.0;
    path.windows(2)
        .map(|w| {
            // grade and trench floor differ by a few per cent from one piece to the next
            drift = 1.0 + 0.7 * (drift - 1.0) + 0.04 * dice.normal(1.0);
            let cover = run * drift * shallow.unwrap_or(1.0);
            if sleeves.iter().any(|s| segment_enters(w[0], w[1], s)) {
                cover.max(dice.uniform(0.38, 0.5))
            } else {
                cover.clamp(0.03, 0.9)
            }
        })
        .collect()
}

/// Cover of a swing pipe, which climbs from the lateral towards the head's inlet.
pub fn swing(level: f64, dice: &mut Dice) -> f64 {
    (level * dice.uniform(0.55, 0.95)).max(0.06)
}
