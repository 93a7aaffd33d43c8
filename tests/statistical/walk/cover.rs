//! How deep each line lies and how thick it is, by class. A source gives a least cover or a range; the triangular spread about
//! it, its mode and the lines left shallow are common practice, no source.

use super::survey::Class;
use crate::installer::Dice;

const INCH: f64 = 0.0254;

/// Least, most common and greatest cover of a class, inches.
fn spread(class: Class) -> [f64; 3] {
    match class {
        // 12 to 18 in: python/docs/trade-values.md, 1.5; shallower by home guides, 1.7
        Class::Mainline => [10.0, 15.0, 20.0],
        // least 6 in: NEC Table 300.5, column of circuits up to 30 V; beside the mainline, 1.9c
        Class::ControlWire => [5.0, 9.0, 16.0],
        // least 12 in below grade and 6 in below frost: IPC 305.4, mild climate
        Class::Potable => [10.0, 16.0, 30.0],
        // least 12 in, 18 in where damage is likely (IFGC 404.12, NFPA 54 7.1.2.1); 24 in for a utility in one state
        Class::Gas => [14.0, 20.0, 30.0],
        // 24 in direct burial, 18 in raceway: NEC Table 300.5
        Class::Electric => [15.0, 22.0, 30.0],
        // 3 to 18 in claimed, under 12 in common, one cut at 2 in: web pages and a surveyors' thread
        Class::Communication => [2.0, 8.0, 18.0],
    }
}

/// Cover at `n` points along a line `length_m` long: a level of its own and a slow drift of grade and trench floor. One line in
/// twenty was left shallow, or the ground above it was taken away later.
pub fn along(class: Class, arcs: &[f64], dice: &mut Dice) -> Vec<f64> {
    let [least, mode, most] = spread(class);
    let mut level = dice.triangular(least, mode, most) * INCH;
    if dice.chance(0.05) {
        level *= dice.uniform(0.45, 0.8);
    }
    let (swing, wave, at) = (dice.normal(0.06), dice.uniform(8.0, 30.0), dice.bearing());
    arcs.iter()
        .map(|s| (level * (1.0 + swing * (std::f64::consts::TAU * s / wave + at).sin())).clamp(0.03, 1.2))
        .collect()
}

/// Outside diameter, metres: steel pipe by ASME B36.10, copper by python/docs/trade-values.md, 2.10; cables and bundles are
/// common practice, no source.
pub fn diameter_m(class: Class, dice: &mut Dice) -> f64 {
    let sizes: &[f64] = match class {
        Class::Mainline => &[1.315, 1.66, 1.9, 2.375],
        Class::Potable => &[0.875, 1.125, 1.375],
        Class::Gas => &[1.05, 1.315, 1.66],
        Class::Electric => &[0.8, 1.3, 2.0],
        Class::Communication => &[0.25, 0.45],
        Class::ControlWire => &[0.3, 0.6],
    };
    sizes[dice.whole(0, sizes.len() - 1)] * INCH
}
