//! What is believed of a document and what is not: one table of rules, each with its limits and the reason for them.
//!
//! Beyond a refusing limit the document has a fault: nobody digs or plants so, and a slip of a digit or of the units is
//! certain enough. Beyond a warning limit it is read, and a note says what is odd. Where a reason names no source it is common
//! practice.

/// One rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Its name.
    pub name: &'static str,
    /// What is asked.
    pub asks: &'static str,
    /// Below this it is odd or refused.
    pub least: Option<f64>,
    /// Above this it is.
    pub greatest: Option<f64>,
    /// Unit of the limits; `1` for pure numbers.
    pub unit: &'static str,
    /// Whether the document is refused; else a note is made.
    pub refuses: bool,
    /// Why, and the source.
    pub reason: &'static str,
}

impl Rule {
    /// The reason without its source, for sentences that a crew reads.
    pub fn why(&self) -> &'static str {
        let sources = [" Common practice, no source.", " Numerical choice."];
        sources.into_iter().find_map(|source| self.reason.strip_suffix(source)).unwrap_or(self.reason)
    }

    /// The limit that a value passes, if it passes one. No number passes none.
    pub fn passed(&self, value: f64) -> Option<f64> {
        self.least.filter(|least| value < *least).or(self.greatest.filter(|greatest| value > *greatest))
    }
}

macro_rules! rules {
    ($($constant:ident = $name:literal, $least:expr, $greatest:expr, $unit:literal, $refuses:literal, $asks:literal, $reason:literal;)*) => {
        $(#[doc = $asks] pub(crate) const $constant: Rule = Rule {
            name: $name,
            asks: $asks,
            least: $least,
            greatest: $greatest,
            unit: $unit,
            refuses: $refuses,
            reason: $reason,
        };)*

        /// Every rule.
        pub const RULES: &[Rule] = &[$($constant,)*];
    };
}

rules! {
    SITE_LIMIT = "site_limit", None, Some(5000.0), "m", true, "Greatest extent of all that is written",
        "A large golf course is some 2 km across. Common practice, no source.";
    SITE_EXTENT = "site_extent", Some(2.0), Some(2000.0), "m", false, "Lesser side of the boundary's box, and greatest extent of all that is written",
        "Narrower than a planting strip, or wider than a golf course: a slip of the units is likely. Common practice, no source.";
    DEGREES = "degrees", Some(0.05), None, "1", true, "Extent of coordinates that could be longitude and latitude, most with more than four decimals",
        "No site is a twentieth of a metre or foot wide: such coordinates are degrees. Numerical choice.";
    HEAD_OUTSIDE_LIMIT = "head_outside_limit", None, Some(5.0), "m", true, "How far outside the boundary a head lies",
        "A head on the far side of a walk is nearer. Common practice, no source.";
    HEADS_OUTSIDE = "heads_outside", None, Some(0.0), "1", false, "Whether all heads lie outside the boundary",
        "Heads water the ground that is dealt with: boundary and heads have different origins or units. Common practice, no source.";
    SPACING_BY_THROW = "spacing_by_throw", Some(0.25), Some(2.0), "1", false, "Median way from a head of a zone to its nearest neighbour, in throws",
        "Heads stand about one throw apart (head-to-head coverage); beyond two throws ground stays dry. Common practice, no source.";
    HEAD_THROW = "head_throw", Some(0.3), Some(30.0), "m", false, "Throw of a head",
        "From strip nozzles to the largest rotors. Common practice, no source.";
    HEAD_SPACING = "head_spacing", Some(0.3), Some(40.0), "m", false, "Median way from a spray head or rotor to the nearest head",
        "Spray heads stand 1 m apart or more, large rotors 25 m or less. Common practice, no source.";
    HEAD_GROUND = "head_ground", Some(0.5), None, "m2", false, "Ground within the boundary for each spray head, rotor or head of no known kind",
        "Heads a metre apart have a square metre each: a lawn of 3 m with 20 heads is a slip of the units. Common practice, no source.";
    ONE_HEAD_ZONE = "one_head_zone", Some(2.0), None, "1", false, "Heads of a zone that no box lists, beside zones of several heads",
        "A valve for one head is rare; a mistyped zone is not. Common practice, no source.";
    NEARLY_SAME = "nearly_same_place", Some(0.01), None, "m", false, "Way between two heads",
        "No two heads fit a centimetre apart: one was measured twice. Common practice, no source.";
    BOX_VALVES = "box_valves", None, Some(100.0), "1", true, "Valves in one box",
        "A box holds four or six, a vault some dozens. Common practice, no source.";
    STEM_LIMIT = "stem_limit", None, Some(12.0), "m", true, "Stem diameter of a standing tree",
        "The thickest stem known measures some 11.6 m (from memory).";
    STEM = "stem", None, Some(2.0), "m", false, "Stem diameter of a standing tree",
        "Thicker garden trees are rare; a diameter in inches or centimetres, or a girth, is not. Common practice, no source.";
    CALIPER_LIMIT = "caliper_limit", None, Some(1.0), "m", true, "Stem diameter of a tree to be planted",
        "No thicker stem is planted: inches were read as feet or metres. Common practice, no source.";
    CALIPER = "caliper", Some(0.005_08), Some(0.1524), "m", false, "Stem diameter of a tree to be planted",
        "Nurseries sell half an inch to five inches (1 to 13 cm). Common practice, no source.";
    CONTAINER = "container", Some(1.0), Some(300.0), "1", false, "Trade number of a container",
        "Trade numbers are 1, 2, 3, 5, 7, 10, 15, 20, 25, 30, 35, 45, 50, 65, 95, 100, 150, 200 and 300. Common practice, no source.";
    ROOTS_LIMIT = "roots_limit", None, Some(60.0), "m", true, "Radius of the roots at maturity",
        "Twice the widest crowns: a slip of the units. Common practice, no source.";
    DEPTH_LIMIT = "depth_limit", None, Some(6.0), "m", true, "Depth of a dig or probe",
        "Deeper trenches are engineered works; inches or centimetres were read as another unit. Common practice, no source.";
    DEPTH = "depth", None, Some(1.524), "m", false, "Depth of a dig or probe",
        "Beyond 5 ft trenches need shoring (29 CFR 1926.652), and no irrigation line lies there.";
    DIG_RADIUS_LIMIT = "dig_radius_limit", None, Some(50.0), "m", true, "Radius of a dig, or half of its width",
        "Wider excavations are engineered works; the chance of a strike is then no question. Common practice, no source.";
    DIG_RADIUS = "dig_radius", Some(0.02), Some(5.0), "m", false, "Radius of a dig, or half of its width",
        "From an auger to the hole of the largest tree: beyond, a diameter or another unit is likely. Common practice, no source.";
    DIG_LENGTH_LIMIT = "dig_length_limit", None, Some(10_000.0), "m", true, "Length of a trench",
        "Twice the greatest extent of a site. Numerical choice.";
    DIG_OUTSIDE = "dig_outside", None, Some(0.0), "m", false, "How far outside the boundary a whole dig lies",
        "Nothing is known of the ground there. Common practice, no source.";
    HOUSE_FED_FAR = "house_fed_far", None, Some(3.0), "m", false, "How far from every building an outlet stands that its house feeds",
        "Pipe inside a building does not reach a tap in the open: beyond a porch or a measure that is off, it runs through the ground. Common practice, no source.";
    SAME_DIG = "same_dig", Some(0.01), None, "m", false, "Way between two digs of one shape",
        "One dig was written twice. Common practice, no source.";
    PROBE_RADIUS_LIMIT = "probe_radius_limit", None, Some(3.0), "m", true, "Radius of a probe, or half of a slit's width",
        "A probe is dug by hand, all of it down to its depth: nobody clears more ground by hand to look. Common practice, no source.";
    PROBE_RADIUS = "probe_radius", None, Some(1.0), "m", false, "Radius of a probe, or half of a slit's width",
        "A pothole is 0.15 to 0.3 m (6 to 12 in) in radius. Common practice, no source.";
    PROBE_LENGTH_LIMIT = "probe_length_limit", None, Some(200.0), "m", true, "Length of a slit",
        "Nobody cuts a longer slit by hand to look. Common practice, no source.";
    PROBE_LENGTH = "probe_length", None, Some(30.0), "m", false, "Length of a slit",
        "A day's work for two. Common practice, no source.";
    FIND_COVER = "find_cover", None, Some(0.91), "m", false, "Cover of a found line that is no utility's; the settings mainline_cover_greatest_m and lateral_cover_greatest_m move it",
        "No mainline lies deeper than 36 in, no lateral deeper than 0.6 m (settings of those names). Another kind of line was met, or the cover is a slip.";
    MARK_OUTSIDE = "mark_outside", None, Some(20.0), "m", false, "How far outside the boundary a whole mark lies",
        "Marks are asked for the ground where digs are: another origin or unit is likely. Common practice, no source.";
}

/// Trade numbers of containers (rule `container`).
pub(crate) const CONTAINERS: [f64; 19] = [
    1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 45.0, 50.0, 65.0, 95.0, 100.0, 150.0, 200.0,
    300.0,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// A refusing limit within its warning one would refuse what is only odd.
    #[test]
    fn what_is_refused_is_odd_first() {
        for (refuses, warns) in [
            (SITE_LIMIT, SITE_EXTENT),
            (STEM_LIMIT, STEM),
            (CALIPER_LIMIT, CALIPER),
            (DEPTH_LIMIT, DEPTH),
            (DIG_RADIUS_LIMIT, DIG_RADIUS),
            (PROBE_RADIUS_LIMIT, PROBE_RADIUS),
            (PROBE_LENGTH_LIMIT, PROBE_LENGTH),
        ] {
            assert!(
                refuses.refuses && !warns.refuses && refuses.greatest > warns.greatest,
                "{}",
                refuses.name
            );
        }
    }

    #[test]
    fn names_are_unique_and_limits_ordered() {
        for (k, rule) in RULES.iter().enumerate() {
            assert!(RULES[..k].iter().all(|other| other.name != rule.name), "{}", rule.name);
            assert!(rule.least.is_some() || rule.greatest.is_some(), "{}", rule.name);
            assert!(rule.least.zip(rule.greatest).is_none_or(|(least, greatest)| least < greatest));
            assert!(rule.reason.ends_with('.'));
        }
        assert_eq!(
            (CALIPER.passed(0.2), CALIPER.passed(0.001), CALIPER.passed(0.05)),
            (Some(0.1524), Some(0.005_08), None)
        );
        assert_eq!(CALIPER.passed(f64::NAN), None);
        assert_eq!(CALIPER.why(), "Nurseries sell half an inch to five inches (1 to 13 cm).");
    }
}
