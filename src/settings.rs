//! Every constant of the prior of layouts, in one documented place: default, allowed range, unit and source.
//!
//! A document may set any of them under `[settings]`, always in the units of this table; Python reads the table as data.

use serde::{Deserialize, Serialize};

/// One row of the table of settings.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Name in documents and in Python.
    pub name: &'static str,
    /// Value used when nothing is said.
    pub default: f64,
    /// Least allowed value.
    pub least: f64,
    /// Greatest allowed value.
    pub greatest: f64,
    /// Unit; `1` for pure numbers.
    pub unit: &'static str,
    /// What it means and where the default comes from.
    pub meaning: &'static str,
}

/// A setting outside its range.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("settings.{name}: {value} is outside {least} to {greatest}")]
pub struct OutOfRange {
    /// Name of the setting.
    pub name: &'static str,
    /// The value that was given.
    pub value: f64,
    /// Least allowed value.
    pub least: f64,
    /// Greatest allowed value.
    pub greatest: f64,
}

/// Two settings of which one may not exceed the other.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{least} = {low} is more than {greatest} = {high}")]
pub struct Fight {
    /// Name of the one that must not be greater.
    pub least: &'static str,
    /// Its value.
    pub low: f64,
    /// Name of the other.
    pub greatest: &'static str,
    /// Its value.
    pub high: f64,
}

macro_rules! settings {
    ($($name:ident = $default:literal in $least:literal .. $greatest:literal, $unit:literal, $meaning:literal;)*) => {
        /// The constants of the prior of layouts.
        ///
        /// # Units
        /// Metres, degrees and pure numbers as the table [`Settings::FIELDS`] says.
        #[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
        #[serde(default, deny_unknown_fields)]
        pub struct Settings {
            $(#[doc = $meaning] pub $name: f64,)*
        }

        impl Default for Settings {
            fn default() -> Self {
                Self { $($name: $default,)* }
            }
        }

        impl Settings {
            /// The table of settings: name, default, range, unit, meaning and source.
            pub const FIELDS: &'static [Field] = &[$(Field {
                name: stringify!($name),
                default: $default,
                least: $least,
                greatest: $greatest,
                unit: $unit,
                meaning: $meaning,
            },)*];

            /// Changes the setting of that name; a name that no setting has changes nothing.
            pub fn set(&mut self, name: &str, value: f64) {
                match name {
                    $(stringify!($name) => self.$name = value,)*
                    _ => {}
                }
            }

            /// Every setting that is outside its range (a value that is no number is outside), and every set of shares
            /// that sum to more than one.
            ///
            /// # Examples
            /// ```
            /// use underturf::settings::Settings;
            /// let mut settings = Settings::default();
            /// assert!(settings.faults().is_empty());
            /// settings.set("loose_share", 1.5);
            /// assert_eq!(settings.faults()[0].to_string(), "settings.loose_share: 1.5 is outside 0 to 1");
            /// # Ok::<(), Box<dyn std::error::Error>>(())
            /// ```
            pub fn faults(&self) -> Vec<OutOfRange> {
                let values = [$((stringify!($name), self.$name, $least, $greatest),)*];
                values
                    .into_iter()
                    .filter(|(_, value, least, greatest)| !(least..=greatest).contains(&value))
                    .map(|(name, value, least, greatest)| OutOfRange { name, value, least, greatest })
                    .chain(self.sums_above_one())
                    .collect()
            }
        }
    };
}

impl Settings {
    /// The sets of shares of one whole that sum to more than it.
    pub fn sums_above_one(&self) -> Vec<OutOfRange> {
        let above = self.sums().into_iter().filter(|(_, value)| *value > 1.0 + 1e-9);
        above.map(|(name, value)| OutOfRange { name, value, least: 0.0, greatest: 1.0 }).collect()
    }

    /// The pairs of settings of which one exceeds the other and may not.
    pub fn fights(&self) -> Vec<Fight> {
        [
            (
                ("lateral_cover_least_m", self.lateral_cover_least_m),
                ("lateral_cover_greatest_m", self.lateral_cover_greatest_m),
            ),
            (
                ("mainline_cover_least_m", self.mainline_cover_least_m),
                ("mainline_cover_greatest_m", self.mainline_cover_greatest_m),
            ),
        ]
        .into_iter()
        .filter(|((_, low), (_, high))| low > high)
        .map(|((least, low), (greatest, high))| Fight { least, low, greatest, high })
        .collect()
    }

    /// Shares of one whole: what they leave goes to the case that has no setting.
    fn sums(&self) -> [(&'static str, f64); 3] {
        [
            (
                "header_share + chain_share + split_share + loose_share",
                self.header_share + self.chain_share + self.split_share + self.loose_share,
            ),
            (
                "header_end_share + header_column_share + header_middle_share",
                self.header_end_share + self.header_column_share + self.header_middle_share,
            ),
            ("joint_nearest_share + joint_end_share", self.joint_nearest_share + self.joint_end_share),
        ]
    }
}

settings! {
    header_share = 0.225 in 0.0..1.0, "1", "Prior chance that a zone of three heads or more is piped from a straight header. python/docs/trade-values.md, 3.18 name four habits in use and no frequencies: each gets a quarter of what family loose leaves; the rest is the shortest route, family direct.";
    chain_share = 0.225 in 0.0..1.0, "1", "The same for a daisy chain from nearest head to nearest (python/docs/trade-values.md, 3.18 (a)).";
    split_share = 0.225 in 0.0..1.0, "1", "The same for a tee with half of the heads each way (python/docs/trade-values.md, 3.18 (c)).";
    loose_share = 0.1 in 0.0..1.0, "1", "The same for no fixed pattern, long detours among the ways: they occur, while the shortest route is usual (python/docs/trade-values.md, 3.18b). The figure is common practice, no source.";
    loose_rate = 1.0 in 0.0..50.0, "1", "Decay of a run's weight per effective length over the zone's spacing in family loose: a run twice as long is common there. Common practice, no source.";
    length_rate = 4.0 in 0.0..50.0, "1", "Decay of a run's weight per effective length over the zone's spacing: exp(-rate L / S). Common practice, no source.";
    valve_link_rate = 4.0 in 0.0..50.0, "1", "The same for a link from the valve to a head: length costs the same wherever it lies.";
    diagonal_ratio = 1.1 in 1.0..1.5, "1", "An off-axis run counts as at most this many times its straight length. Common practice, no source.";
    chain_rate = 10.0 in 0.0..100.0, "1", "The decay by which a chain prefers the nearest head: by eye, a crew tells a tenth of the spacing. Common practice, no source.";
    align_gain = 2.0 in 0.0..100.0, "1", "Extra weight of a run along a grid axis: 1 + gain exp(-(angle / width)^2 / 2). Common practice, no source.";
    align_width_deg = 3.4 in 0.1..20.0, "deg", "Width of that bonus. Common practice, no source.";
    pass_clearance_m = 0.35 in 0.0..2.0, "m", "A run that passes another head of its zone this closely would feed it. Common practice, no source.";
    pass_factor = 0.001 in 0.0..1.0, "1", "Weight factor of such a run. Common practice, no source.";
    elbow_share = 0.25 in 0.0..1.0, "1", "Share of off-axis runs laid with one elbow, either corner alike. The trade asks for few turns (python/docs/trade-values.md, 3.18e), found networks are square: between both; the figure has no source.";
    elbow_share_valve = 0.5 in 0.0..1.0, "1", "The same for links from the valve. Common practice, no source.";
    elbow_leg_m = 0.35 in 0.0..2.0, "m", "Both legs of an elbow are longer than this. Common practice, no source.";
    neighbours = 8.0 in 1.0..64.0, "1", "Each head may join this many nearest heads of its zone, and its Delaunay neighbours. Numerical choice.";
    row_tolerance_share = 0.12 in 0.0..1.0, "1", "Heads are of one row when their places along the header differ by less than this share of the spacing... Common practice, no source.";
    row_tolerance_m = 0.15 in 0.0..2.0, "m", "...plus this. Common practice, no source.";
    between_rows_factor = 0.02 in 0.0..1.0, "1", "Weight factor of runs between rows beside a header. Common practice, no source.";
    across_header_factor = 0.05 in 0.0..1.0, "1", "Weight factor of runs that cross the header. Common practice, no source.";
    header_middle_share = 0.25 in 0.0..1.0, "1", "Headers down the middle of the zone, the long way (python/docs/trade-values.md, 3.18 (b), 3.18f). Four places are in use and no frequencies known, so each gets a quarter.";
    header_middle_sd_m = 0.5 in 0.01..5.0, "m", "Sideways spread of those. Common practice, no source.";
    header_end_share = 0.25 in 0.0..1.0, "1", "Headers near the row end closer to the valve. Common practice, no source.";
    header_end_sd_m = 0.15 in 0.01..2.0, "m", "Sideways spread of those. Common practice, no source.";
    header_column_share = 0.25 in 0.0..1.0, "1", "Headers along a column of heads; the rest lies anywhere across the zone. Common practice, no source.";
    header_column_sd_m = 0.3 in 0.01..2.0, "m", "Sideways spread of those. Common practice, no source.";
    header_margin_m = 0.6 in 0.0..5.0, "m", "Headers anywhere begin this far outside the zone's heads. Common practice, no source.";
    header_step_m = 0.15 in 0.02..1.0, "m", "Grid step of the header's offset. Numerical choice: about the spread of a run's sideways offset.";
    joint_nearest_share = 0.7 in 0.0..1.0, "1", "The valve joins a header at its nearest point. Common practice, no source.";
    joint_end_share = 0.15 in 0.0..1.0, "1", "The valve joins a header at its nearer end; the rest joins anywhere along it. Common practice, no source.";
    grid_pair_sd_deg = 3.0 in 0.5..20.0, "deg", "Scatter of the bearing of pairs of neighbouring heads about the grid. Design, on simulated sites.";
    grid_pair_share = 0.7 in 0.0..1.0, "1", "Share of such pairs that follow the grid. Design, on simulated sites.";
    grid_edge_sd_deg = 2.0 in 0.2..20.0, "deg", "Scatter of the grid about edges of buildings, paving and boundary. Common practice, no source.";
    grid_edge_share = 0.8 in 0.0..1.0, "1", "Prior chance that the grid follows such an edge. Common practice, no source.";
    grid_step_deg = 0.5 in 0.05..5.0, "deg", "Grid step of the bearing. Numerical choice.";
    offset_sd_m = 0.14 in 0.0..2.0, "m", "Sideways offset of a whole run: trench wander, swing joints. Common practice, no source.";
    offset_stray_share = 0.5 in 0.0..1.0, "1", "Share of laterals that lie further from their heads than that, on swing pipe: mandatory in one city (python/docs/trade-values.md, 3.16), left to the crew elsewhere. The figure is common practice, no source.";
    offset_stray_sd_m = 0.32 in 0.0..3.0, "m", "Sideways offset of those. Swing pipe of typically 0.3 m and at most 1.2 m (python/docs/trade-values.md, 3.17) is half-normal with sd 0.45 m; laid in any direction, its sideways part has 0.45 / sqrt 2.";
    lateral_cover_m = 0.23 in 0.05..1.5, "m", "Mean cover of laterals: the middle of 0.10 to 0.36 m (python/docs/trade-values.md, 0 and 1.1 to 1.4).";
    lateral_cover_sd_m = 0.06 in 0.0..0.5, "m", "Spread of that between zones. Common practice, no source.";
    run_cover_sd_m = 0.03 in 0.001..0.5, "m", "Spread of the cover between runs of one zone. Common practice, no source.";
    lateral_cover_least_m = 0.05 in 0.0..0.5, "m", "Least cover of laterals (python/docs/trade-values.md, 0).";
    lateral_cover_greatest_m = 0.6 in 0.1..3.0, "m", "Greatest cover of laterals. Common practice, no source.";
    mainline_cover_m = 0.38 in 0.05..3.0, "m", "Mean cover of mainlines: 15 in (python/docs/trade-values.md, 1.5 to 1.7).";
    mainline_cover_sd_m = 0.08 in 0.0..1.0, "m", "Spread of that. Common practice, no source.";
    mainline_cover_least_m = 0.1 in 0.0..1.0, "m", "Least cover of mainlines. Common practice, no source.";
    mainline_cover_greatest_m = 0.91 in 0.1..5.0, "m", "Greatest cover of mainlines: 36 in, sleeved under vehicles (python/docs/trade-values.md, 1.6).";
    house_fed_share = 0.85 in 0.0..1.0, "1", "Chance that an outlet on or in the wall of a building is fed from inside it, and by no pipe through the ground, where the document does not say: most hose bibs are. Common practice, no source.";
    wire_with_metal_share = 0.9 in 0.0..1.0, "1", "Chance that the control wire lies with a mainline of metal that feeds a valve box: in its trench is usual (python/docs/trade-values.md, 1.9c), but wire is also laid anew by a way of its own. The figure is common practice, no source.";
    main_with_wire_share = 0.8 in 0.0..1.0, "1", "Chance that the mainline lies in the trench of a line of control wire that flags tell of: usual (python/docs/trade-values.md, 1.9c), but wire also runs alone from the controller, and to valves added later. The figure is common practice, no source.";
    paving_cover_m = 0.3 in 0.0..2.0, "m", "Pipe under paving lies at least this deep: 1 ft beneath the walk (python/docs/trade-values.md, 1.8).";
    lateral_diameter_m = 0.0334 in 0.005..0.5, "m", "Outside diameter of laterals: 1 in nominal (python/docs/trade-values.md, 2.1b).";
    mainline_diameter_m = 0.0422 in 0.005..1.0, "m", "Outside diameter of mainlines and potable lines: 1-1/4 in nominal (python/docs/trade-values.md, 2.1b).";
    obstacle_clearance_m = 0.45 in 0.0..3.0, "m", "Ways round a building or pool keep this far off. Common practice, no source.";
    crossing_factor = 0.2 in 0.0..1.0, "1", "Price of a sleeved way across paving, or of a way out of the site, as a weight factor. Common practice, no source.";
    tree_clearance_m = 1.5 in 0.0..5.0, "m", "A way that passes a standing tree's bark more closely than this is priced, and a way round is offered: 1.5 to 1.8 m asked for (python/docs/trade-values.md, 3.19), the lesser because many keep less.";
    tree_factor = 0.3 in 0.001..1.0, "1", "Price of passing one tree that closely, as a weight factor: roots are cut, but many crews keep less, and the pipe may be older than the tree. Common practice, no source.";
    tree_end_share = 0.6 in 0.0..0.9, "1", "A pipe to a head or valve under a tree must come near: its keep-off is at most this share of the distance from the stem to either end of the way. Common practice, no source.";
    sketch_tolerance_m = 0.5 in 0.05..5.0, "m", "A way keeps to a drawn line where it lies within this distance... Drawings are made to scale by hand: common practice, no source.";
    sketch_angle_deg = 20.0 in 1.0..45.0, "deg", "...and turns from it by no more than this. Common practice, no source.";
    sketch_trust_greatest = 0.99 in 0.0..0.999, "1", "Trust in a drawing counts as at most this, so that no drawing makes a line certain: a fully drawn way weighs (1 + trust) / (1 - trust) times an undrawn one. Design.";
    sweep_detect = 0.5 in 0.0..1.0, "1", "Chance that a control wire under swept ground would have sounded where the document says nothing: a small target is found to 0.23 m, wire bundles are larger and lie deeper (python/docs/trade-values.md, 7.2, 7.7). The figure has no source.";
    sweep_detect_greatest = 0.99 in 0.0..0.999, "1", "That chance counts as at most this, whatever is said, so that silence makes nothing impossible. Design.";
    sweep_length_m = 1.0 in 0.05..20.0, "m", "Length of wire under swept ground from which that chance holds in full; it rises in proportion from none. Common practice, no source.";
    sweep_flag_reach_m = 1.0 in 0.0..10.0, "m", "Ground this near to a detector flag, plus the flag's standard deviation, was not silent. Common practice, no source.";
    zone_error = 0.005 in 1e-6..0.5, "1", "Chance that the zone written at a head is wrong; any other zone is then as likely: heads are flagged while their zone runs, so few are misnamed. Common practice, no source.";
    station_error = 0.005 in 1e-6..0.5, "1", "Chance that one head of a station test was noted wrongly (came up, or not) where the test does not say. Common practice, no source.";
    third_branch_factor = 1.0 in 0.01..1.0, "1", "Price of each pipe at a head beyond two, as a weight factor: a third branch tees just before the head (python/docs/trade-values.md, 3.18c). Off as shipped: no gain on simulated sites; zones are then sampled by chains.";
    pipe_crossing_factor = 1.0 in 0.01..1.0, "1", "Price of each crossing of pipes of two systems, as a weight factor. Off as shipped: a gain of less than half a hundredth of the score on simulated sites. Common practice, no source.";
    shared_trench_gain = 0.0 in 0.0..20.0, "1", "Zones, and laterals and mainline, share a trench where they can (python/docs/trade-values.md, 3.18d): a layout weighs exp(gain times the share of its length beside another system's pipe). Off as shipped. The figure has no source.";
    supply_flow_l_s = 0.82 in 0.05..50.0, "L/s", "Usable flow of the supply, the most that one zone may draw, as a median: 13 gpm, the middle of 8 to 20 (python/docs/trade-values.md, 3.10c). Set it where it is known.";
    supply_flow_log_sd = 0.28 in 0.0..1.5, "1", "Standard deviation of its logarithm: 8 to 20 gpm hold nine in ten (python/docs/trade-values.md, 3.10c). Zero where the flow is known.";
    zone_fill = 0.7 in 0.05..1.5, "1", "A zone draws about this share of the supply's flow... Common practice, no source.";
    zone_fill_sd_below = 0.2 in 0.01..10.0, "1", "...falling short of it with this spread: as few zones as carry the flow fall short by up to one part in their number (0.13 for three, as a root mean square), and lawns come in pieces... Common practice, no source.";
    zone_fill_sd_above = 0.15 in 0.01..10.0, "1", "...and passing it with this one, since heads then lose their throw. Common practice, no source.";
    mixed_kinds_factor = 0.01 in 1e-6..1.0, "1", "Price of a zone with heads of two kinds, as a weight factor: never mixed, consistent application rate per valve (python/docs/trade-values.md, 3.5); systems grow all the same. Design.";
    extra_valve_factor = 0.05 in 1e-6..100.0, "1", "Price of a valve that no one has counted, as a weight factor: a valve, its wire and its station cost. Common practice, no source.";
    unmapped_density_per_m = 0.01 in 1e-6..1.0, "m/m2", "Length of unmapped lines per area (L0). Elicited, no source.";
    unmapped_cover_m = 0.35 in 0.05..3.0, "m", "Mean cover of unmapped lines. Common practice, no source.";
    unmapped_cover_sd_m = 0.2 in 0.01..2.0, "m", "Spread of that. Common practice, no source.";
    metal_lines = 2.0 in 0.01..100.0, "1", "Metal lines expected on a site with flags, marks or services. Common practice, no source.";
    metal_stray_share = 0.12 in 0.0..0.9, "1", "Share of detector flags expected to stand over junk or nothing; the number of strays has half a flag more. Common practice, no source.";
    metal_flags_end = 0.08 in 0.001..0.9, "1", "Chance that a line's flags end after each of them: about a dozen on a line. Common practice, no source.";
    metal_gap_share = 0.08 in 0.0..0.9, "1", "Share of steps between flags of a line that leave a stretch out. Common practice, no source.";
    metal_axis_sd_deg = 2.5 in 0.2..20.0, "deg", "Scatter of a metal line's legs about the site's axes: trenches follow walls and kerbs. Common practice, no source.";
    metal_axis_share = 0.8 in 0.01..0.99, "1", "Share of legs of metal lines that follow an axis. Common practice, no source.";
    metal_bends_per_m = 0.04 in 0.0001..1.0, "1/m", "Bends per metre of metal line: one or two on a lot. Common practice, no source.";
    metal_wander_m = 0.04 in 0.0..1.0, "m", "How far a metal line lies aside of straight: anywhere across a cut trench of 0.10 to 0.15 m, whose width over the root of 12 this is. Common practice, no source.";
    metal_name_error = 0.02 in 0.0001..0.5, "1", "Chance that a flag bears the name of another line. Common practice, no source.";
    metal_class_error = 0.05 in 0.001..0.8, "1", "Chance that a class stated by a flag or a mark is wrong; of a service or of a find it is a fifth of that. Common practice, no source.";
    metal_in_order = 0.5 in 0.0..0.99, "1", "Chance that flags are listed in the order of the walk, before the list is read. Set it near one where they are, to zero where they are not. Common practice, no source.";
    metal_jump = 0.1 in 0.001..0.9, "1", "Chance that such a walk goes elsewhere before its line ends. Common practice, no source.";
    metal_beyond_m = 4.0 in 0.2..50.0, "m", "How far a line goes on beyond its last flag, mark or find, in the mean. Common practice, no source.";
    metal_fixture_sd_m = 0.15 in 0.01..2.0, "m", "Scatter of where lines meet a meter, box or tap. Common practice, no source.";
    metal_false_mark = 0.05 in 0.0..0.9, "1", "Chance that a fresh mark on which nothing else lies marks nothing: locators err. Mismarks are a leading cause of damage in every DIRT report (python/docs/trade-values.md, 4.8). The figure is common practice, no source.";
    mark_life_days = 28.0 in 1.0..365.0, "d", "Days after which a mark counts as faded: a ticket holds for so long. California: 28 days (python/docs/trade-values.md, 4.4); other states 10 to 30. Common practice, no source.";
    mark_drift_m = 0.1 in 0.0..2.0, "m", "Sideways standard deviation that a mark gains in that time, as the root of its age: paint is renewed by eye, flags are put back after mowing. Common practice, no source.";
    mark_fade = 0.05 in 0.0..0.9, "1", "Chance, gained in that time, that a mark marks nothing any more: lines are moved, marks taken over from another ticket. Common practice, no source.";
    metal_depth_error = 0.25 in 0.01..1.0, "1", "Scatter of a depth read by a detector, as a share of it. Common practice, no source.";
    metal_share_mainline = 0.22 in 1e-06..1.0, "1", "Share of class mainline among the metal lines of a lot; the nine are taken in proportion. Common practice, no source.";
    metal_share_control_wire = 0.18 in 1e-06..1.0, "1", "Share of class control_wire among the metal lines of a lot; the nine are taken in proportion. Common practice, no source.";
    metal_share_reclaimed = 0.02 in 1e-06..1.0, "1", "Share of class reclaimed among the metal lines of a lot; the nine are taken in proportion. Common practice, no source.";
    metal_share_potable = 0.2 in 1e-06..1.0, "1", "Share of class potable among the metal lines of a lot; the nine are taken in proportion. Common practice, no source.";
    metal_share_gas = 0.14 in 1e-06..1.0, "1", "Share of class gas among the metal lines of a lot; the nine are taken in proportion. Common practice, no source.";
    metal_share_electric = 0.12 in 1e-06..1.0, "1", "Share of class electric among the metal lines of a lot; the nine are taken in proportion. Common practice, no source.";
    metal_share_communication = 0.06 in 1e-06..1.0, "1", "Share of class communication among the metal lines of a lot; the nine are taken in proportion. Common practice, no source.";
    metal_share_sewer = 0.02 in 1e-06..1.0, "1", "Share of class sewer among the metal lines of a lot; the nine are taken in proportion. Common practice, no source.";
    metal_share_unknown = 0.04 in 1e-06..1.0, "1", "Share of metal that nobody can name among the metal lines of a lot; the nine are taken in proportion. Common practice, no source.";
    metal_cover_control_wire_m = 0.28 in 0.05..3.0, "m", "Mean cover of control wires. Codes give the least cover (python/docs/trade-values.md, 1.9, 1.9c); the spread above it is common practice, no source.";
    metal_cover_sd_control_wire_m = 0.09 in 0.01..1.0, "m", "Spread of that. Common practice, no source.";
    metal_cover_potable_m = 0.45 in 0.05..3.0, "m", "Mean cover of potable metal lines. Codes give the least cover (python/docs/trade-values.md, 1.10, 1.11); the spread above it is common practice, no source.";
    metal_cover_sd_potable_m = 0.11 in 0.01..1.0, "m", "Spread of that. Common practice, no source.";
    metal_cover_gas_m = 0.46 in 0.05..3.0, "m", "Mean cover of gas lines. Codes give the least cover (python/docs/trade-values.md, 1.14 to 1.18); the spread above it is common practice, no source.";
    metal_cover_sd_gas_m = 0.11 in 0.01..1.0, "m", "Spread of that. Common practice, no source.";
    metal_cover_electric_m = 0.57 in 0.05..3.0, "m", "Mean cover of power lines. Codes give the least cover (python/docs/trade-values.md, 1.23); the spread above it is common practice, no source.";
    metal_cover_sd_electric_m = 0.09 in 0.01..1.0, "m", "Spread of that. Common practice, no source.";
    metal_cover_communication_m = 0.25 in 0.05..3.0, "m", "Mean cover of communication lines. Codes give the least cover (python/docs/trade-values.md, 1.19 to 1.21); the spread above it is common practice, no source.";
    metal_cover_sd_communication_m = 0.1 in 0.01..1.0, "m", "Spread of that. Common practice, no source.";
    metal_cover_sewer_m = 0.68 in 0.05..3.0, "m", "Mean cover of sewers and drains. Codes give the least cover (python/docs/trade-values.md, 1.13); the spread above it is common practice, no source.";
    metal_cover_sd_sewer_m = 0.17 in 0.01..1.0, "m", "Spread of that. Common practice, no source.";
    metal_cover_unknown_m = 0.4 in 0.05..3.0, "m", "Mean cover of metal lines of unknown class. Common practice, no source.";
    metal_cover_sd_unknown_m = 0.16 in 0.01..1.0, "m", "Spread of that. Common practice, no source.";
    tolerance_half_zone_m = 0.762 in 0.1..5.0, "m", "Half width of a tolerance zone where a mark names none: 30 in, the widest common US one (python/docs/trade-values.md, 4.2d).";
    flag_clearance_m = 0.457 in 0.0..5.0, "m", "Ground kept clear beside flagged metal, beyond two standard deviations of the flags: 18 in, the narrowest tolerance zone of a one-call law that was read (Mississippi).";
    tape_sd_m = 0.025 in 0.001..0.5, "m", "Standard deviation of one tape from a fixed point, 0.01 to 0.05 m (python/docs/trade-values.md, 6.8).";
    tape_length_m = 30.0 in 2.0..200.0, "m", "Longest distance that is taped: 30 m or 100 ft. Common practice, no source.";
    verdict_limit = 0.05 in 0.0001..0.5, "1", "Digs at or above this chance are probed or shifted first. Design; the user's to set.";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_of_one_whole_may_not_exceed_it() {
        assert_eq!(Settings::default().faults(), []);
        let greedy = Settings { chain_share: 0.55, ..Settings::default() };
        let faults = greedy.faults();
        assert_eq!(faults.len(), 1);
        assert!(faults[0].name.contains("chain_share") && (faults[0].value - 1.1).abs() < 1e-12);
    }

    /// Catches a least cover above the greatest, which no cover can satisfy: once a panic.
    #[test]
    fn a_least_cover_above_the_greatest_is_named_with_it() {
        let mut odd = Settings::default();
        assert_eq!(odd.fights(), []);
        odd.set("lateral_cover_least_m", 0.4);
        odd.set("lateral_cover_greatest_m", 0.3);
        odd.set("mainline_cover_least_m", 0.95);
        let said: Vec<String> = odd.fights().iter().map(ToString::to_string).collect();
        assert_eq!(
            said,
            [
                "lateral_cover_least_m = 0.4 is more than lateral_cover_greatest_m = 0.3",
                "mainline_cover_least_m = 0.95 is more than mainline_cover_greatest_m = 0.91"
            ]
        );
    }
}
