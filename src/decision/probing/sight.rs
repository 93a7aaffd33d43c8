//! What every draw says: which digs it strikes and what they cost, and how likely each place for a probe is to find a line.
//!
//! A draw is taken with its marks (routes, offsets, covers), as a whole layout. A probe and a dig that meet the same run
//! share its marks, so that summing over marks for each of them apart and multiplying would count a clear probe beside a
//! hole for too little (python/docs/model.md, 3.3); given the whole layout the outcomes of probes are
//! independent, and their chances known. What no layout holds, the unmapped lines, is taken as independent
//! of place to place: a clear probe then lowers a dig's chance by slightly too little, and its gain is understated by
//! less than the unmapped lines's own chance.

use super::cut::{Cut, boxes_meet, loss, radii, strike, widened};
use super::dig_by_draw::DigByDraw;
use super::places::{ProbePlace, ProbePlaces};
use crate::class::Class;
use crate::decision::loss::Weights;
use crate::decision::tree_rules::TreeRules;
use crate::error::Error;
use crate::geometry::Point;
use crate::inference::{Layouts, in_batches};
use crate::layout::Piece;
use crate::monitor::Monitor;
use crate::site::Dig;
use crate::site::document::Method;
use crate::strike::{Moved, Observation, probability};

/// Chances and losses by draw.
#[derive(Clone, Debug, Default)]
pub struct Sight {
    /// For each place and draw, the chance that a probe there reports a find.
    pub finds: Vec<Vec<f64>>,
    /// For each place, what its own strikes would cost if it were an ordinary dig by hand, mean over the first half of the
    /// draws and over the second.
    pub own: Vec<[f64; 2]>,
    /// For each place, the chance that the dig for the probe meets a line.
    pub own_strike: Vec<f64>,
    /// For each dig and draw, the chance of a strike at the first of its places: 0 or 1 but for the unmapped lines.
    pub strikes: Vec<Vec<f64>>,
    /// For each dig, place of it and draw, the loss of digging there; with what conflicts of its tree cost, where there are
    /// several.
    pub losses: Vec<Vec<Vec<f64>>>,
    /// For each dig, what it costs to act (uncover by hand): the loss at which the limit of the verdict is indifferent,
    /// over all its places.
    pub costs: Vec<f64>,
}

impl Sight {
    /// Looks at all digs, at each of their places, and at all places for probes in all draws.
    pub fn new(
        layouts: &Layouts,
        digs: &[Vec<Dig>],
        places: &ProbePlaces,
        weights: &Weights,
        rules: &TreeRules,
        monitor: &dyn Monitor,
    ) -> Result<Self, Error> {
        let radii = radii(layouts.pieces().all());
        let limit = layouts.site().settings.verdict_limit;
        let of_digs = in_batches(digs.len(), monitor, |k| {
            let seen: Vec<DigByDraw> =
                digs[k].iter().map(|dig| DigByDraw::new(layouts, dig, weights, rules, &radii)).collect();
            let sum = |of: fn(&DigByDraw) -> &[f64]| seen.iter().flat_map(of).sum::<f64>();
            let (struck, lost) = (sum(|it| &it.strikes), sum(|it| &it.struck));
            let cost = if struck > 0.0 { limit * lost / struck } else { 0.0 };
            let strikes = seen.first().map(|it| it.strikes.clone()).unwrap_or_default();
            // What conflicts of a tree cost tells places apart; where a dig stays it is the same whatever is decided.
            let stays = seen.len() == 1;
            let losses = seen.into_iter().map(|it| if stays { it.struck } else { it.losses });
            Ok((strikes, losses.collect::<Vec<_>>(), cost))
        })?;
        let near = clipped(layouts, places);
        let clear = &layouts.findings().clear;
        let shapes: Vec<[Observation; 2]> = places.shapes.iter().map(|shape| places.looks(shape)).collect();
        let moved: Vec<[Moved<'_>; 2]> = shapes
            .iter()
            .map(|looks| {
                looks.each_ref().map(|look| Moved::new(layouts.prior().unmapped_lines(), look, clear))
            })
            .collect();
        let hand = weights.of(Method::Hand, layouts.assessed());
        let half = layouts.draws().len() / 2;
        let of_place = |k: usize| {
            let place = &places.all[k];
            let unmet = moved[place.turned].each_ref().map(|moved| (-moved.mean_at(place.at)).exp());
            Ok(of_place(places, place, &near, unmet, &hand, &radii, half))
        };
        let of_places = in_batches(places.all.len(), monitor, of_place)?;
        let mut sight = Self::default();
        for (strikes, losses, cost) in of_digs {
            sight.strikes.push(strikes);
            sight.losses.push(losses);
            sight.costs.push(cost);
        }
        for (finds, own, own_strike) in of_places {
            sight.finds.push(finds);
            sight.own.push(own);
            sight.own_strike.push(own_strike);
        }
        Ok(sight)
    }

    /// Number of draws.
    pub fn draws(&self) -> usize {
        self.strikes.first().map_or(0, Vec::len)
    }
}

/// Chance of a find in each draw, what own strikes cost in each half, and how likely they are.
fn of_place(
    places: &ProbePlaces,
    place: &ProbePlace,
    near: &[Vec<Piece>],
    unmet: [f64; 2],
    weights: &[f64; Class::ALL.len()],
    radii: &[f32],
    half: usize,
) -> (Vec<f64>, [f64; 2], f64) {
    let widened = widened(&places.footprint(place), radii);
    let cut = Cut::new(&widened, places.depth_m);
    let mut own = [0.0; 2];
    let mut struck = 0.0;
    let mut finds = Vec::with_capacity(near.len());
    for (k, pieces) in near.iter().enumerate() {
        let overlooked = (1.0 - places.p_detect).powi(cut.lines(pieces));
        finds.push(1.0 - (1.0 - places.p_false) * overlooked * unmet[0]);
        let hit = cut.classes(pieces);
        own[usize::from(k >= half)] += loss(&hit, unmet[1], weights);
        struck += strike(&hit, unmet[1]);
    }
    let (first, second) = (half.max(1) as f64, (near.len() - half).max(1) as f64);
    (finds, [own[0] / first, own[1] / second], probability(struck / near.len().max(1) as f64))
}

/// The pieces of each draw that come near any place at all.
fn clipped(layouts: &Layouts, places: &ProbePlaces) -> Vec<Vec<Piece>> {
    let (mut low, mut high) = (Point::new(f64::MAX, f64::MAX), Point::new(f64::MIN, f64::MIN));
    for place in &places.all {
        let (a, b) = places.shapes[place.turned].bounds();
        low = Point::new(low.x.min(place.at.x + a.x), low.y.min(place.at.y + a.y));
        high = Point::new(high.x.max(place.at.x + b.x), high.y.max(place.at.y + b.y));
    }
    let near = |piece: &&Piece| {
        let wide = f64::from(piece.radius_m);
        let margin = Point::new(wide, wide);
        f64::from(piece.cover_m) < places.depth_m && boxes_meet(low - margin, high + margin, piece)
    };
    let pieces = layouts.pieces();
    (0..pieces.draws()).map(|k| pieces.draw(k).iter().filter(near).copied().collect()).collect()
}
