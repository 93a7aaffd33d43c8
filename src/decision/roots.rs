//! Root zones: the protected ground round standing trees, and what a planted tree will root through at maturity.

use super::dig::footprint;
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

/// Radius of the root protection area of a stem, metres (BS 5837:2012: 12 diameters, at most 15 m).
pub fn root_protection_m(stem_diameter_m: f64) -> f64 {
    (DIAMETERS * stem_diameter_m).min(GREATEST_M)
}

/// The diameter of one stem that stands for two to five: root of the sum of squares (BS 5837:2012).
pub fn combined_stem_m(stems_m: &[f64]) -> f64 {
    stems_m.iter().map(|stem| stem * stem).sum::<f64>().sqrt()
}

/// Radius of a critical root zone, metres: so many feet for each inch of stem (1, 1.25 or 1.5 in the ordinances read,
/// python/docs/trade-values.md,
/// 5.1 to 5.1d), at least 6 ft.
pub fn critical_root_zone_m(stem_diameter_m: f64, feet_per_inch: f64) -> f64 {
    (feet_per_inch * DIAMETERS * stem_diameter_m).max(LEAST_FT * M_PER_FT)
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
        protected_m: root_protection_m(standing.stem_diameter_m),
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
        let three = combined_stem_m(&[0.2, 0.15, 0.1]);
        assert_relative_eq!(three, 0.269_26, epsilon = 5e-6);
        for (stem, radius, area) in [
            (0.3, 3.6, 40.72),
            (0.6, 7.2, 162.86),
            (1.25, 15.0, 706.86),
            (1.5, 15.0, 706.86),
            (three, 3.231, 32.80),
        ] {
            let found = root_protection_m(stem);
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
                let found = critical_root_zone_m(inches * 0.0254, rate) / M_PER_FT;
                assert_relative_eq!(found, expected, max_relative = 1e-12);
            }
        }
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
