//! What was called otherwise in the first format of site documents, `underturf-site/1`.
//!
//! Directions were counted counter-clockwise from x under the key `bearing_deg`; some settings had other names. `io::migrate`
//! reads the old format by this table, and a reader who meets an old word in a new document is told the new one.

/// The old key of directions, and the new one.
pub(super) const BEARING: &str = "bearing_deg";
pub(super) const AZIMUTH: &str = "azimuth_deg";

/// Settings: old name, new name.
pub(super) const SETTINGS: &[(&str, &str)] = &[
    ("floor_density_per_m", "unmapped_density_per_m"),
    ("floor_cover_m", "unmapped_cover_m"),
    ("floor_cover_sd_m", "unmapped_cover_sd_m"),
    ("theta_pair_sd_deg", "grid_pair_sd_deg"),
    ("theta_pair_share", "grid_pair_share"),
    ("theta_edge_sd_deg", "grid_edge_sd_deg"),
    ("theta_edge_share", "grid_edge_share"),
    ("theta_step_deg", "grid_step_deg"),
    ("label_error", "zone_error"),
];

/// What a key or setting of the old format is called now, in a sentence; empty for others.
pub(super) fn hint(word: &str) -> String {
    if word == BEARING {
        return format!(
            "; {BEARING} is a key of underturf-site/1, counter-clockwise from x: write {AZIMUTH}, clockwise from north"
        );
    }
    let renamed = SETTINGS.iter().find(|(old, _)| *old == word);
    renamed.map_or_else(String::new, |(_, new)| format!("; it is called {new:?} since underturf-site/2"))
}
