//! What the referee hands round: a `Job` is a surveyed site (`Survey`, all that a crew can see) and, apart from it,
//! the buried truth. Forecasters are given the survey alone, so the types keep the truth out of their reach.

use crate::plane::Xy;

/// What a buried line carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Carries {
    Lateral,
    Mainline,
    ControlWire,
    Potable,
    /// Old pipe that no longer serves anything and that nobody remembers.
    Abandoned,
}

/// One buried line. `cover_m[i]` is the depth to the top of the pipe along the piece from `path[i]` to `path[i + 1]`.
#[derive(Clone, Debug)]
pub struct Line {
    pub carries: Carries,
    pub path: Vec<Xy>,
    pub cover_m: Vec<f64>,
    pub diameter_m: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeadKind {
    Spray,
    Rotor,
    /// A terminal of a network that is not irrigation; no kind is told.
    Untold,
}

/// A head as surveyed.
#[derive(Clone, Debug)]
pub struct Head {
    pub at: Xy,
    pub zone: String,
    pub kind: HeadKind,
    /// Throw, metres; the head's own spacing on a head-to-head layout.
    pub radius_m: Option<f64>,
}

/// A valve box as surveyed, and the zones whose valves stand in it.
#[derive(Clone, Debug)]
pub struct ValveBox {
    pub at: Xy,
    pub zones: Vec<String>,
}

/// A point of supply or an outlet, with its kind in the words of the site document.
#[derive(Clone, Debug)]
pub struct Fixture {
    pub at: Xy,
    pub kind: &'static str,
}

/// Ground that pipe or heads avoid, with its kind in the words of the site document.
#[derive(Clone, Debug)]
pub struct Obstacle {
    pub kind: &'static str,
    pub outline: Vec<Xy>,
}

#[derive(Clone, Debug)]
pub struct Tree {
    pub at: Xy,
    pub stem_m: f64,
}

/// An exploratory hand dig, round, and what came of it.
#[derive(Clone, Copy, Debug)]
pub struct Probe {
    pub at: Xy,
    pub radius_m: f64,
    pub depth_m: f64,
    /// In the words of the site document.
    pub tool: &'static str,
    pub found: bool,
    /// What the crew wrote down of the line it found; nothing beside a clear report.
    pub noted: Option<Noted>,
}

/// A found line as the crew wrote it down.
#[derive(Clone, Copy, Debug)]
pub struct Noted {
    /// In the words of the site document.
    pub class: &'static str,
    /// Direction, degrees counter-clockwise from x, 0 to 180.
    pub bearing_deg: f64,
    pub cover_m: f64,
}

impl Probe {
    /// The ground it opens.
    pub fn hole(&self) -> Hole {
        Hole { at: self.at, radius_m: self.radius_m, depth_m: self.depth_m }
    }
}

/// All that a crew can see or measure on a site.
#[derive(Clone, Debug, Default)]
pub struct Survey {
    pub name: String,
    pub boundary: Vec<Xy>,
    pub heads: Vec<Head>,
    pub boxes: Vec<ValveBox>,
    pub sources: Vec<Fixture>,
    pub outlets: Vec<Fixture>,
    pub obstacles: Vec<Obstacle>,
    pub trees: Vec<Tree>,
    pub probes: Vec<Probe>,
}

impl Survey {
    /// Zone labels in order of their first head.
    pub fn zones(&self) -> Vec<&str> {
        let mut zones: Vec<&str> = Vec::new();
        for head in &self.heads {
            if !zones.contains(&head.zone.as_str()) {
                zones.push(&head.zone);
            }
        }
        zones
    }
    pub fn outlines(&self, kind: &str) -> impl Iterator<Item = &[Xy]> {
        self.obstacles.iter().filter(move |o| o.kind == kind).map(|o| o.outline.as_slice())
    }
}

/// A surveyed site with its buried truth.
#[derive(Clone, Debug)]
pub struct Job {
    pub survey: Survey,
    pub lines: Vec<Line>,
    /// True positions of the heads, in the order of `survey.heads`.
    pub heads: Vec<Xy>,
    /// Habit by which each zone was piped, in the order of `survey.zones()`; empty for found networks.
    pub habits: Vec<&'static str>,
    /// Resampling unit: jobs of one group are never split.
    pub group: String,
}

/// A proposed round hole, metres; `depth_m` is measured from finished grade.
#[derive(Clone, Copy, Debug)]
pub struct Hole {
    pub at: Xy,
    pub radius_m: f64,
    pub depth_m: f64,
}
