//! A run: one candidate pipe between two nodes, with the routes it may take and the priors of its attributes.

use super::id::RunId;
use super::piece::{Kind, Piece};
use super::run_attributes::{Cover, Offset};
use crate::class::Class;
use crate::geometry::{Point, ShiftedPath};
use rand::{Rng, RngExt};

/// One way from end to end.
#[derive(Clone, Debug)]
pub struct Route {
    /// Share of the run's weight that goes this way; the shares of a run sum to one.
    pub share: f64,
    /// The way, at sideways offset zero.
    pub path: ShiftedPath,
    /// For each leg of the path, the parts under paving as intervals of the leg, 0 to 1. Empty: none at all.
    pub paved: Vec<Vec<(f64, f64)>>,
    /// The sideways offsets at which the way enters no building or pool and does not leave the site, metres: an interval
    /// about zero. Offsets beyond are not drawn.
    pub clear: (f64, f64),
}

/// No limit to the offset.
pub const CLEAR: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

/// An offset is drawn anew at most this often; then the nearer limit is taken (chance below 1e-9 at half the prior).
const OFFSET_TRIES: usize = 64;

/// A candidate pipe. It is shared, not cloned, so that its id stays its own.
#[derive(Debug)]
pub struct Run {
    id: RunId,
    /// What part it plays.
    pub kind: Kind,
    /// Prior of the sideways offset.
    pub offset: Offset,
    /// The ways it may take.
    pub routes: Vec<Route>,
    /// Whether its first and last end are tied to where they are drawn (a head, a valve, an outlet): a run that lies
    /// aside of its head reaches it by swing pipe (python/docs/trade-values.md, 3.17), which lies as deep as the run here.
    pub tied: [bool; 2],
    /// The cover where it is known, metres; else the prior of the system.
    pub cover_m: Option<f64>,
}

/// Ties shorter than this lie in the run's own trench, metres: no swing pipe is drawn.
const TIE_LEAST_M: f64 = 0.05;

/// What all pieces of one system share in one draw.
#[derive(Clone, Copy, Debug)]
pub struct Stock<'a> {
    /// What the line carries.
    pub class: Class,
    /// Outside radius of the pipe, metres.
    pub radius_m: f64,
    /// Index of the system.
    pub system: u16,
    /// Prior of the cover.
    pub cover: &'a Cover,
    /// The level of the cover in this draw, metres.
    pub level_m: f64,
}

impl Run {
    /// A run whose cover follows the prior of its system.
    pub fn new(kind: Kind, offset: Offset, routes: Vec<Route>, tied: [bool; 2]) -> Self {
        Self { id: RunId::new(), kind, offset, routes, tied, cover_m: None }
    }

    /// A run like this with its attributes known: which way it takes, how far aside it lies, how deep.
    pub fn known(&self, route: &Route, offset_m: f64, cover_m: f64) -> Self {
        let routes = vec![Route { share: 1.0, clear: CLEAR, ..route.clone() }];
        Self { cover_m: Some(cover_m), ..Self::new(self.kind, Offset::known(offset_m), routes, self.tied) }
    }

    /// What names it.
    pub fn id(&self) -> RunId {
        self.id
    }

    /// A way, by its share; `None` for a run without a way.
    pub fn draw_route(&self, rng: &mut impl Rng) -> Option<&Route> {
        let mut left = rng.random::<f64>();
        let pick = self.routes.iter().position(|route| {
            left -= route.share;
            left < 0.0
        });
        pick.map_or(self.routes.last(), |k| self.routes.get(k))
    }

    /// An offset that the way allows, metres.
    pub fn draw_offset(&self, route: &Route, rng: &mut impl Rng) -> f64 {
        let (low, high) = route.clear;
        let mut offset = self.offset.draw(rng);
        for _ in 0..OFFSET_TRIES {
            if (low..=high).contains(&offset) {
                return offset;
            }
            offset = self.offset.draw(rng);
        }
        offset.clamp(low, high)
    }

    /// Probability that the offset lies in an interval, given that the way allows it.
    pub fn offset_within(&self, route: &Route, low: f64, high: f64) -> f64 {
        let (least, greatest) = route.clear;
        let (low, high) = (low.max(least), high.min(greatest));
        let all = if route.clear == CLEAR { 1.0 } else { self.offset.within(least, greatest) };
        if high > low && all > 0.0 { (self.offset.within(low, high) / all).min(1.0) } else { 0.0 }
    }

    /// Draws route, offset and cover, and appends the run's pieces; `wire` says whether the control wire lies beside.
    pub fn draw(&self, stock: &Stock<'_>, wire: bool, rng: &mut impl Rng, pieces: &mut Vec<Piece>) {
        let Some(route) = self.draw_route(rng) else { return };
        let offset = self.draw_offset(route, rng);
        let cover = self.cover_m.unwrap_or_else(|| stock.cover.draw_run(stock.level_m, rng));
        let corners = route.path.at(offset);
        let mut push = |a: Point, b: Point, cover: f64| {
            pieces.push(Piece {
                a,
                b,
                cover_m: cover as f32,
                radius_m: stock.radius_m as f32,
                class: stock.class,
                kind: self.kind,
                system: stock.system,
                wire,
            });
        };
        if let [only] = corners[..] {
            push(only, only, cover);
        }
        if offset.abs() > TIE_LEAST_M {
            for (tied, drawn, shifted) in [
                (self.tied[0], route.path.first(), corners.first()),
                (self.tied[1], route.path.last(), corners.last()),
            ] {
                if let (true, Some(drawn), Some(&shifted)) = (tied, drawn, shifted) {
                    push(drawn, shifted, cover);
                }
            }
        }
        for (leg, ends) in corners.windows(2).enumerate() {
            let (a, b) = (ends[0], ends[1]);
            let mut from = 0.0;
            for &(start, end) in route.paved.get(leg).map_or(&[][..], Vec::as_slice) {
                if start > from {
                    push(a.towards(b, from), a.towards(b, start), cover);
                }
                push(a.towards(b, start), a.towards(b, end), cover.max(stock.cover.paving_m));
                from = end;
            }
            if from < 1.0 {
                push(a.towards(b, from), b, cover);
            }
        }
    }
}
