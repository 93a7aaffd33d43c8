//! What a metal line may carry: prior shares, covers, and the fixtures that lines of a class lead to.
//!
//! Codes give the least cover; what is dug is a spread above it: of lines under a code about one in ten lies shallower than
//! it asks, left so or with the ground above taken away (common practice, no source).

use crate::class::Class;
use crate::settings::Settings;
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

/// Outside radii, metres, in the order of [`CLASSES`]: mainlines 1-1/4 in, sewers 4 in, services 3/4 to 1 in
/// (python/docs/trade-values.md, 2.1b); cables: practice.
const RADII_M: [f64; CLASSES.len()] = [0.021, 0.006, 0.021, 0.014, 0.014, 0.013, 0.008, 0.055, 0.014];

/// The laws that settings ask for, in the order of [`CLASSES`]; shares sum to one. Metal mainlines, reclaimed ones among them, lie
/// as deep as plastic ones.
pub(super) fn laws(settings: &Settings) -> [ClassLaw; CLASSES.len()] {
    let s = settings;
    let shares = [
        s.metal_share_mainline,
        s.metal_share_control_wire,
        s.metal_share_reclaimed,
        s.metal_share_potable,
        s.metal_share_gas,
        s.metal_share_electric,
        s.metal_share_communication,
        s.metal_share_sewer,
        s.metal_share_unknown,
    ];
    let mainline = (s.mainline_cover_m, s.mainline_cover_sd_m.max(LEAST_SD_M));
    let covers = [
        mainline,
        (s.metal_cover_control_wire_m, s.metal_cover_sd_control_wire_m),
        mainline,
        (s.metal_cover_potable_m, s.metal_cover_sd_potable_m),
        (s.metal_cover_gas_m, s.metal_cover_sd_gas_m),
        (s.metal_cover_electric_m, s.metal_cover_sd_electric_m),
        (s.metal_cover_communication_m, s.metal_cover_sd_communication_m),
        (s.metal_cover_sewer_m, s.metal_cover_sd_sewer_m),
        (s.metal_cover_unknown_m, s.metal_cover_sd_unknown_m),
    ];
    let sum: f64 = shares.iter().sum();
    let total = if (sum - 1.0).abs() < 1e-9 { 1.0 } else { sum }; // sums of shares round
    std::array::from_fn(|k| ClassLaw {
        share: shares[k] / total,
        cover_m: covers[k].0,
        cover_sd_m: covers[k].1,
        radius_m: RADII_M[k],
    })
}

/// Least spread of a cover, metres: nothing is laid to the millimetre. Practice.
const LEAST_SD_M: f64 = 0.01;

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
        let odd = Settings { metal_share_gas: 0.9, ..Settings::default() };
        for settings in [Settings::default(), odd] {
            assert!((laws(&settings).iter().map(|law| law.share).sum::<f64>() - 1.0).abs() < 1e-12);
        }
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
