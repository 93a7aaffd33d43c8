//! Root zones: the protected ground round standing trees, and what a planted tree will root through at maturity.

use super::dig::footprint;
use crate::error::{Allowed, ArgumentError};
use crate::site::document::{TreeSize, Vigour};
use crate::site::{Dig, Plant, Site};

const M_PER_FT: f64 = 0.3048;

/// Stem diameters in a radius of root protection (BS 5837:2012, 4.6 and annex D as quoted in tree reports; the critical
/// root zone of 1 ft per inch is the same; python/docs/trade-values.md, 5.1 and 5.2).
const DIAMETERS: f64 = 12.0;

/// Greatest radius of root protection, metres: an area of 707 m2 (BS 5837:2012 as quoted, python/docs/trade-values.md, 5.2).
const GREATEST_M: f64 = 15.0;

/// Least radius of a critical root zone, feet (NC Urban Forest Council, python/docs/trade-values.md, 5.1d).
const LEAST_FT: f64 = 6.0;

/// Most stems of one tree that the rule was read for (BS 5837:2012, python/docs/trade-values.md, 5.2).
const MOST_STEMS: usize = 5;

/// Diameters of stems, metres.
const STEM: Allowed = Allowed::positive().metres();

/// Radius of the root protection area of a standing tree, metres (BS 5837:2012: 12 diameters, at most 15 m), by the diameter of
/// its stem 1.5 m above ground, metres.
///
/// # Errors
/// [`ArgumentError::OutOfRange`] for a diameter that is not above 0 and finite.
///
/// # Examples
/// ```
/// use underturf::decision::root_protection_m;
/// assert!((root_protection_m(0.3)? - 3.6).abs() < 1e-12);
/// assert!(root_protection_m(0.0).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn root_protection_m(stem_diameter_m: f64) -> Result<f64, ArgumentError> {
    STEM.check("stem_diameter_m", stem_diameter_m)?;
    Ok(protection_m(stem_diameter_m))
}

/// The same for a stem of a checked site.
pub(super) fn protection_m(stem_diameter_m: f64) -> f64 {
    (DIAMETERS * stem_diameter_m).min(GREATEST_M)
}

/// The diameter of the one stem that stands for up to five, metres: root of the sum of squares (BS 5837:2012).
///
/// # Errors
/// [`ArgumentError::Stems`] for no stem and for more than five; [`ArgumentError::InList`] for a diameter that is not above 0 and
/// finite.
///
/// # Examples
/// ```
/// use underturf::decision::combined_stem_m;
/// assert!((combined_stem_m(&[0.3, 0.4])? - 0.5).abs() < 1e-12);
/// assert_eq!(combined_stem_m(&[]).unwrap_err().to_string(), "stems_m has 0 stems; the rule holds for 1 to 5");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn combined_stem_m(stems_m: &[f64]) -> Result<f64, ArgumentError> {
    if stems_m.is_empty() || stems_m.len() > MOST_STEMS {
        return Err(ArgumentError::Stems { stems: stems_m.len(), most: MOST_STEMS });
    }
    if let Some(index) = stems_m.iter().position(|stem| !STEM.contains(*stem)) {
        return Err(ArgumentError::InList { name: "stems_m", index, value: stems_m[index], allowed: STEM });
    }
    Ok(stems_m.iter().map(|stem| stem * stem).sum::<f64>().sqrt())
}

/// Radius of a critical root zone, metres: so many feet for each inch of stem (1, 1.25 or 1.5 in the ordinances read,
/// python/docs/trade-values.md,
/// 5.1 to 5.1d), at least 6 ft.
///
/// # Errors
/// [`ArgumentError::OutOfRange`] for a number that is not above 0 and finite.
///
/// # Examples
/// ```
/// use underturf::decision::critical_root_zone_m;
/// let (stem_diameter_m, feet_per_inch) = (10.0 * 0.0254, 1.5);
/// assert!((critical_root_zone_m(stem_diameter_m, feet_per_inch)? - 15.0 * 0.3048).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn critical_root_zone_m(stem_diameter_m: f64, feet_per_inch: f64) -> Result<f64, ArgumentError> {
    STEM.check("stem_diameter_m", stem_diameter_m)?;
    Allowed::positive().check("feet_per_inch", feet_per_inch)?;
    Ok((feet_per_inch * DIAMETERS * stem_diameter_m).max(LEAST_FT * M_PER_FT))
}

/// Radius of the root zone of a planted tree at maturity, metres; `None` for trees that stay small, which carry no root
/// conflict (ordinances exempt them, python/docs/trade-values.md, 5.8g).
///
/// As given with the tree, or so many diameters of its stem at maturity: 18 for aggressive roots, 12 for ordinary, 6 for
/// small ones (the span of multipliers of ANSI A300 part 5, from memory, python/docs/trade-values.md, 5.1e; 12 and 18 are in
/// ordinances,
/// 5.1 and 5.1c) of a stem of 0.3 m for medium and 0.6 m for large trees (common practice, no source).
pub fn mature_root_zone_m(plant: &Plant) -> Option<f64> {
    let stem_m = match plant.size {
        TreeSize::Small => return None,
        TreeSize::Medium => 0.3,
        TreeSize::Large => 0.6,
    };
    let diameters = match plant.vigour {
        Vigour::Aggressive => 18.0,
        Vigour::Ordinary => 12.0,
        Vigour::Small => 6.0,
    };
    Some(plant.root_radius_m.unwrap_or(diameters * stem_m))
}

/// How a dig lies to a standing tree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TreeNear {
    /// Index of the tree in the document.
    pub tree: usize,
    /// Distance from the dig's edge to the middle of the stem, metres.
    pub distance_m: f64,
    /// Radius of its root protection area, metres.
    pub protected_m: f64,
}

impl TreeNear {
    /// Whether the dig reaches into the root protection area.
    pub fn inside(&self) -> bool {
        self.distance_m < self.protected_m
    }
}

/// The standing tree whose root protection area a dig reaches into farthest, or comes nearest to; `None` without trees.
pub fn standing_tree(site: &Site, dig: &Dig) -> Option<TreeNear> {
    let taken = footprint(dig);
    let near = site.trees.iter().enumerate().map(|(tree, standing)| TreeNear {
        tree,
        distance_m: taken.distance_to_point(standing.at),
        protected_m: protection_m(standing.stem_diameter_m),
    });
    let outside = |near: &TreeNear| near.distance_m - near.protected_m;
    near.min_by(|a, b| outside(a).total_cmp(&outside(b)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use std::f64::consts::PI;

    /// python/docs/trade-values.md, 8.23: 300, 600, 1250, 1500 mm and three stems together, radius and area.
    #[test]
    fn root_protection_meets_the_worked_values() {
        let three = combined_stem_m(&[0.2, 0.15, 0.1]).expect("stems");
        assert_relative_eq!(three, 0.269_26, epsilon = 5e-6);
        for (stem, radius, area) in [
            (0.3, 3.6, 40.72),
            (0.6, 7.2, 162.86),
            (1.25, 15.0, 706.86),
            (1.5, 15.0, 706.86),
            (three, 3.231, 32.80),
        ] {
            let found = root_protection_m(stem).expect("a stem");
            assert_relative_eq!(found, radius, epsilon = 5e-4);
            assert_relative_eq!(PI * found * found, area, epsilon = 5e-3);
        }
    }

    /// python/docs/trade-values.md, 8.24: 10 in: 10, 12.5, 15 ft; 20 in: 20, 25, 30 ft; floor 6 ft.
    #[test]
    fn critical_root_zones_meet_the_worked_values() {
        for (inches, feet) in [(10.0, [10.0, 12.5, 15.0]), (20.0, [20.0, 25.0, 30.0]), (2.0, [6.0, 6.0, 6.0])]
        {
            for (rate, expected) in [1.0, 1.25, 1.5].into_iter().zip(feet) {
                let found = critical_root_zone_m(inches * 0.0254, rate).expect("a stem") / M_PER_FT;
                assert_relative_eq!(found, expected, max_relative = 1e-12);
            }
        }
    }

    #[test]
    fn stems_that_are_none_are_refused_with_their_value() {
        let said = |refused: Result<f64, ArgumentError>| refused.expect_err("refused").to_string();
        assert_eq!(said(root_protection_m(-0.3)), "stem_diameter_m is -0.3; it must be above 0 m and finite");
        assert_eq!(said(combined_stem_m(&[])), "stems_m has 0 stems; the rule holds for 1 to 5");
        assert_eq!(said(combined_stem_m(&[0.1; 6])), "stems_m has 6 stems; the rule holds for 1 to 5");
        assert_eq!(
            said(combined_stem_m(&[0.2, f64::NAN])),
            "stems_m[1] is NaN; it must be above 0 m and finite"
        );
        assert_eq!(said(critical_root_zone_m(0.3, 0.0)), "feet_per_inch is 0; it must be above 0 and finite");
    }

    #[test]
    fn small_plants_carry_no_root_conflict() {
        let plant = |size, vigour| Plant { vigour, ..Plant::of_size(size) };
        assert_eq!(mature_root_zone_m(&plant(TreeSize::Small, Vigour::Aggressive)), None);
        assert_eq!(mature_root_zone_m(&plant(TreeSize::Medium, Vigour::Ordinary)), Some(12.0 * 0.3));
        let reach = |vigour| mature_root_zone_m(&plant(TreeSize::Large, vigour)).expect("a zone");
        assert!(
            reach(Vigour::Aggressive) > reach(Vigour::Ordinary)
                && reach(Vigour::Ordinary) > reach(Vigour::Small)
        );
        let told = Plant { root_radius_m: Some(4.0), ..Plant::of_size(TreeSize::Large) };
        assert_eq!(mature_root_zone_m(&told), Some(4.0));
    }
}
