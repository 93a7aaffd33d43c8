//! What a metal line may carry: prior shares, covers, and the fixtures that lines of a class lead to.
//!
//! Codes give the least cover; what is dug is a spread above it: of lines under a code about one in ten lies shallower than
//! it asks, left so or with the ground above taken away (common practice, no source).

use crate::class::Class;
use crate::site::document::{OutletKind, SourceKind};

/// Classes that a metal line may have; `unknown` is metal that nobody can name.
pub const CLASSES: [Class; 9] = [
    Class::Mainline,
    Class::ControlWire,
    Class::Reclaimed,
    Class::Potable,
    Class::Gas,
    Class::Electric,
    Class::Communication,
    Class::Sewer,
    Class::Unknown,
];

/// One number for each of [`CLASSES`].
pub type ByClass = [f64; CLASSES.len()];

/// What is known of the lines of a class before any is found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClassLaw {
    /// Share among metal lines on a lot. Practice.
    pub share: f64,
    /// Mean cover, metres.
    pub cover_m: f64,
    /// Standard deviation of the cover, metres.
    pub cover_sd_m: f64,
    /// Outside radius, metres.
    pub radius_m: f64,
}

const fn of(share: f64, cover_m: f64, cover_sd_m: f64, radius_m: f64) -> ClassLaw {
    ClassLaw { share, cover_m, cover_sd_m, radius_m }
}

/// The laws, in the order of [`CLASSES`]. Sources (python/docs/trade-values.md): mainline 1.5; control wire 1.9, 1.9c; water
/// service 1.10, 1.11; gas 1.14 to 1.18; power NEC 300.5 (24 in direct burial, 18 in raceway, 12 in protected branch);
/// communication 1.19 to 1.21; sewer 1.13. Shares and spreads: practice.
pub const LAWS: [ClassLaw; CLASSES.len()] = [
    of(0.22, 0.38, 0.075, 0.021),
    of(0.18, 0.28, 0.09, 0.006),
    of(0.02, 0.38, 0.08, 0.021),
    of(0.20, 0.45, 0.11, 0.014),
    of(0.14, 0.46, 0.11, 0.014),
    of(0.12, 0.57, 0.09, 0.013),
    of(0.06, 0.25, 0.10, 0.008),
    of(0.02, 0.68, 0.17, 0.055),
    of(0.04, 0.40, 0.16, 0.014),
];

/// Place of a class in [`CLASSES`]; a lateral is no metal.
pub fn place(class: Class) -> Option<usize> {
    CLASSES.iter().position(|known| *known == class)
}

/// What stands where a line may end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fixture {
    /// Where water enters.
    Source(SourceKind),
    /// End of an always-pressurised line.
    Outlet(OutletKind),
    /// A valve box.
    ValveBox,
}

impl Fixture {
    /// Kinds, for sharing out ends.
    pub(super) const KINDS: usize = 8;

    pub(super) fn kind(self) -> usize {
        match self {
            Self::Source(SourceKind::Meter) => 0,
            Self::Source(SourceKind::Backflow) => 1,
            Self::Source(SourceKind::Pump) => 2,
            Self::Source(SourceKind::Stub) => 3,
            Self::Outlet(OutletKind::HoseBib) => 4,
            Self::Outlet(OutletKind::YardHydrant) => 5,
            Self::Outlet(OutletKind::QuickCoupler) => 6,
            Self::ValveBox => 7,
        }
    }
}

/// For each class, the share of its ends that stand at a fixture of each kind: meter, backflow preventer, pump, stub, hose
/// bib, yard hydrant, quick coupler, valve box. The rest end elsewhere. Practice.
pub(super) const ENDS: [[f64; Fixture::KINDS]; CLASSES.len()] = [
    [0.15, 0.25, 0.03, 0.03, 0.01, 0.01, 0.05, 0.32],
    [0.01, 0.01, 0.02, 0.01, 0.01, 0.01, 0.01, 0.50],
    [0.25, 0.10, 0.02, 0.05, 0.01, 0.01, 0.03, 0.38],
    [0.30, 0.10, 0.01, 0.03, 0.25, 0.10, 0.01, 0.01],
    [0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01],
    [0.01, 0.01, 0.02, 0.01, 0.01, 0.01, 0.01, 0.01],
    [0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01],
    [0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01],
    [0.03, 0.03, 0.02, 0.03, 0.03, 0.03, 0.02, 0.04],
];

/// The class that a name tells of, by the words that people use (the colour code among them: APWA, by python/docs/
/// trade-values.md 4.1): `old gas`, `power to shed`, `main 2`.
pub(super) fn named(name: &str) -> Option<usize> {
    const WORDS: [(&str, Class); 22] = [
        ("gas", Class::Gas),
        ("electric", Class::Electric),
        ("power", Class::Electric),
        ("elec", Class::Electric),
        ("mainline", Class::Mainline),
        ("main", Class::Mainline),
        ("irrigation", Class::Mainline),
        ("wire", Class::ControlWire),
        ("control", Class::ControlWire),
        ("reclaimed", Class::Reclaimed),
        ("potable", Class::Potable),
        ("water", Class::Potable),
        ("bib", Class::Potable),
        ("service", Class::Unknown),
        ("phone", Class::Communication),
        ("telephone", Class::Communication),
        ("cable", Class::Communication),
        ("fibre", Class::Communication),
        ("fiber", Class::Communication),
        ("comm", Class::Communication),
        ("sewer", Class::Sewer),
        ("drain", Class::Sewer),
    ];
    let lower = name.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty());
    let class = words.find_map(|word| WORDS.iter().find(|(known, _)| *known == word))?.1;
    if class == Class::Unknown { None } else { place(class) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_shares() {
        assert!((LAWS.iter().map(|law| law.share).sum::<f64>() - 1.0).abs() < 1e-12);
        assert!(ENDS.iter().all(|ends| ends.iter().sum::<f64>() < 0.95), "some lines end elsewhere");
    }

    #[test]
    fn names_tell_of_classes() {
        let class = |name| named(name).map(|place| CLASSES[place]);
        assert_eq!(class("old Gas, 1"), Some(Class::Gas));
        assert_eq!(class("main-2"), Some(Class::Mainline));
        assert_eq!(class("a"), None);
        assert_eq!(class("remains"), None, "whole words only");
    }
}
