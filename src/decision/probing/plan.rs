//! What is asked of a plan of probes, and what the plan says.

use crate::decision::loss::{Loss, Weights};
use crate::decision::sizes::{DEPTH, UP_TO_50_M};
use crate::decision::tree_rules::TreeRules;
use crate::decision::verdict::Verdict;
use crate::error::{Allowed, ArgumentError};
use crate::geometry::Point;
use crate::site::Probe;
use crate::strike::Chance;

/// Most probes in one plan.
const MOST: usize = 64;

/// Hands dig no deeper for a probe than this unless told to, metres. Common practice, no source.
pub(super) const DEEPEST_M: f64 = 0.9;

/// What probes are chosen for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Objective {
    /// Least expected loss of the decisions that follow.
    #[default]
    Loss,
    /// Least expected Brier score: the sum over digs of p (1 - p).
    Variance,
}

impl Objective {
    /// Every one.
    pub const ALL: [Self; 2] = [Self::Loss, Self::Variance];

    /// The name used in Python.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Loss => "loss",
            Self::Variance => "variance",
        }
    }
}

/// What may be dug, and how it is chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct ProbePlan {
    /// Most probes, 1 to 64.
    pub n: usize,
    /// What for.
    pub objective: Objective,
    /// Radius of a pothole, metres.
    pub radius_m: f64,
    /// Length and width of a slit, metres, if slits are dug instead: along the likeliest grid bearing or across it.
    pub slit_m: Option<(f64, f64)>,
    /// Whether a rod is pushed down instead of digging a pothole.
    pub rod: bool,
    /// Depth, metres; that of the deepest dig, at most 0.9 m, when nothing is said.
    pub depth_m: Option<f64>,
    /// Chance that a line within the probe is met; that of the tool when nothing is said.
    pub p_detect: Option<f64>,
    /// Chance of a find where there is no line; [`Probe::P_FALSE`] when nothing is said.
    pub p_false: Option<f64>,
    /// How far from the edge of a dig the middle of a probe may lie, metres.
    pub reach_m: f64,
    /// Side of a cell of the grid of places, metres; as fine as some two thousand places allow when nothing is said.
    pub cell_m: Option<f64>,
    /// How far each dig may be shifted once probes have reported, metres; 0: digs stay where they are drawn.
    pub shift_m: f64,
    /// Consequence weights.
    pub weights: Weights,
    /// What trees ask of their places.
    pub rules: TreeRules,
    /// What a line met by the probe itself costs, as a share of a strike by ordinary hand digging.
    pub careful: f64,
    /// What each probe costs besides, in units of the weights.
    pub probe_cost: f64,
    /// Whether to plan on where no probe is worth what it costs.
    pub always: bool,
}

impl ProbePlan {
    /// Hands that look for a line with trowel or vacuum break few of those they meet (common practice, no source).
    pub const CAREFUL: f64 = 0.02;

    /// So many potholes of this radius, everything else as shipped.
    pub fn new(n: usize, radius_m: f64) -> Self {
        Self {
            n,
            objective: Objective::Loss,
            radius_m,
            slit_m: None,
            rod: false,
            depth_m: None,
            p_detect: None,
            p_false: None,
            reach_m: 3.0,
            cell_m: None,
            shift_m: 0.0,
            weights: Weights::default(),
            rules: TreeRules::default(),
            careful: Self::CAREFUL,
            probe_cost: 0.0,
            always: false,
        }
    }

    pub(super) fn check(&self) -> Result<(), ArgumentError> {
        if self.n == 0 || self.n > MOST {
            return Err(ArgumentError::Count { name: "n", count: self.n, least: 1, most: MOST });
        }
        Allowed::above(0.0, 5.0).metres().check("radius_m", self.radius_m)?;
        if let Some((length_m, width_m)) = self.slit_m {
            let allowed = Allowed::above(0.0, 20.0).metres();
            if !allowed.contains(length_m) {
                return Err(ArgumentError::SlitLength { length_m, allowed });
            }
            if !(width_m > 0.0 && width_m <= length_m) {
                return Err(ArgumentError::SlitWidth { width_m, length_m });
            }
        }
        self.depth_m.map_or(Ok(()), |depth_m| DEPTH.check("depth_m", depth_m))?;
        UP_TO_50_M.check("reach_m", self.reach_m)?;
        self.cell_m.map_or(Ok(()), |cell_m| UP_TO_50_M.check("cell_m", cell_m))?;
        Allowed::within(0.0, 50.0).metres().check("shift_m", self.shift_m)?;
        self.p_detect.map_or(Ok(()), |p| Allowed::above(0.0, 1.0).check("p_detect", p))?;
        self.p_false.map_or(Ok(()), |p| Allowed::below(0.0, 1.0).check("p_false", p))?;
        Allowed::within(0.0, 1.0).check("careful", self.careful)?;
        Allowed::from(0.0).check("probe_cost", self.probe_cost)?;
        self.rules.check()
    }
}

/// A dig before and after one probe, nothing else being dug: where it would go, if it may be shifted, and what it meets there.
#[derive(Clone, Debug, PartialEq)]
pub struct After {
    /// Index of the dig.
    pub dig: usize,
    /// From where it is drawn to where it would go as things stand, metres.
    pub to_now: Point,
    /// If the probe finds a line.
    pub to_if_found: Point,
    /// If it finds nothing.
    pub to_if_clear: Point,
    /// Chance of a strike as things stand, with its Monte Carlo error.
    pub p_now: Chance,
    /// Chance of a strike if the probe finds a line, of whatever kind.
    pub p_if_found: Chance,
    /// Chance of a strike if it finds nothing.
    pub p_if_clear: Chance,
    /// The verdicts that go with these; whether a line is likely within the setback is taken as it stands now.
    pub verdict_now: Verdict,
    /// If found.
    pub verdict_if_found: Verdict,
    /// If clear.
    pub verdict_if_clear: Verdict,
    /// The chances at which verdicts change.
    pub limits: [f64; 2],
}

/// What an outcome does to the decision about a dig.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// The same verdict at the same place.
    None,
    /// The verdict by these draws differs, by less than the errors of its chances.
    Unsure,
    /// Another verdict or another place.
    Sure,
}

/// One probe of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedProbe {
    /// The probe, not dug yet.
    pub probe: Probe,
    /// Its middle, metres.
    pub at: Point,
    /// Direction of a slit, radians counter-clockwise from x.
    pub angle_rad: Option<f64>,
    /// Chance that it reports a find.
    pub p_found: f64,
    /// Chance that the dig for it meets a line.
    pub p_strike: f64,
    /// What it takes off the expected loss of decisions, after the probes before it; judged on draws that had no part in the
    /// choice. Zero or less: nothing that these draws can see.
    pub gain: Loss,
    /// The same for the sum over digs of p (1 - p), the expected Brier score.
    pub variance_gain: Loss,
    /// What it costs itself: its chance to strike, weighted, times the share for careful hands, and the fixed cost.
    pub own_cost: f64,
    /// Whether it pays by itself, or the plan is worth less without it because later ones need it. Under the objective loss
    /// gains are held against costs, under variance against their errors.
    pub worth: bool,
    /// Bits that it is expected to tell about whether each dig strikes, summed over digs.
    pub information_bits: f64,
    /// What becomes of every dig by this probe alone.
    pub after: Vec<After>,
    /// What will be decided differently after each outcome.
    pub decides: String,
}

/// A plan: probes in the order to dig them.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The probes; fewer than asked for where no more are worth it.
    pub rows: Vec<PlannedProbe>,
    /// Expected loss of decisions as things stand.
    pub loss_before: f64,
    /// Sum over digs of p (1 - p) as things stand.
    pub variance_before: f64,
    /// Places there were to choose from.
    pub candidates: usize,
    /// Side of a cell of their grid, metres.
    pub cell_m: f64,
    /// Depth of the probes, metres.
    pub depth_m: f64,
    /// What the reader must know, a sentence each.
    pub notes: Vec<String>,
}
