//! Weighted ways from one place to another, before and after it is known what a metre of detour costs.

use crate::geometry::Point;
use crate::layout::Route;

/// How one kind of run is laid.
#[derive(Clone, Copy, Debug)]
pub struct Manner {
    /// Share of elbowed ways, either corner alike.
    pub elbow_share: f64,
    /// Both legs of an elbow are longer than this, metres.
    pub elbow_leg_m: f64,
    /// Grid bearing, radians.
    pub angle_rad: f64,
    /// Whether a control wire surely rides along, so that a detector would hear it.
    pub wire: bool,
}

/// One weighted way.
pub struct Way {
    /// Corners from end to end.
    pub corners: Vec<Point>,
    /// Weight relative to an unhindered run.
    pub weight: f64,
    /// What drawings and silence make of the way: a factor that `weight` holds already.
    pub evidence: f64,
}

/// A way before its detour is priced: all that does not depend on what length costs.
#[derive(Clone, Debug)]
pub struct BareWay {
    /// Corners from end to end.
    pub corners: Vec<Point>,
    /// Share of the run that would go this way if nothing were in the way, or that turns to this way.
    pub share: f64,
    /// How much longer than the straight one it is, metres, where it goes round something.
    pub detour_m: Option<f64>,
    /// Price of crossings and of trees passed too near.
    pub price: f64,
    /// What drawings and silence make of it.
    pub evidence: f64,
}

impl BareWay {
    /// Weight where detours cost `exp(-rate)` per metre.
    pub fn weight(&self, detour_rate_per_m: f64) -> f64 {
        let decay = self.detour_m.map_or(1.0, |detour_m| (-detour_rate_per_m * detour_m).exp());
        self.share * decay * self.price * self.evidence
    }

    /// Whether it goes round something, so that its weight depends on what length costs.
    pub fn is_detour(&self) -> bool {
        self.detour_m.is_some()
    }
}

impl Way {
    /// A way without alternative.
    pub fn only(corners: Vec<Point>) -> Self {
        Self { corners, weight: 1.0, evidence: 1.0 }
    }

    /// Weight before drawings and silence.
    pub fn prior(&self) -> f64 {
        self.weight / self.evidence
    }
}

/// Routes with their shares of the total weight, and that weight; `None` if nothing is left.
pub fn shared_out<W: Copy>(
    weighted: impl Iterator<Item = (f64, W)> + Clone,
    route: impl Fn(W) -> Route,
) -> Option<(Vec<Route>, f64)> {
    let total: f64 = weighted.clone().map(|(weight, _)| weight).sum();
    if total <= 0.0 {
        return None;
    }
    let routes = weighted.filter(|(weight, _)| *weight > 0.0);
    Some((routes.map(|(weight, way)| Route { share: weight / total, ..route(way) }).collect(), total))
}
