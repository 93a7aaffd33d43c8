//! What old sketches and drawings say of two heads being on one zone: pipe between them would lie where it is drawn.
//!
//! As in the prior of a zone's tree (`model::ground::sketches`), ways that keep to a drawn line gain weight by the trust
//! given. Which way a pipe between two heads takes is summed over by the shares of the prior, straight or with one elbow on
//! the likeliest grid, nothing being in the way. A header that is drawn between rows joins no two heads, so it says nothing
//! here.

use crate::geometry::Point;
use crate::model::bearing;
use crate::model::ground::sketches::Drawings;
use crate::site::Site;

/// The drawings of a site, and how pipe runs between heads.
pub struct Drawn {
    drawings: Drawings,
    along: Point,
    elbow_share: f64,
    elbow_leg_m: f64,
}

impl Drawn {
    /// What is drawn; `None` if nothing is.
    pub fn new(site: &Site) -> Option<Self> {
        let drawings = Drawings::new(&site.sketches, &site.settings);
        if drawings.is_empty() {
            return None;
        }
        let bearings = bearing::bearings(site);
        let likeliest = bearings.iter().max_by(|a, b| a.probability.total_cmp(&b.probability))?;
        let (elbow_share, elbow_leg_m) = (site.settings.elbow_share, site.settings.elbow_leg_m);
        Some(Self { drawings, along: Point::unit(likeliest.rad), elbow_share, elbow_leg_m })
    }

    /// The factor of the weight of pipe between two places: 1 where nothing is drawn, never less.
    pub fn likelihood_ratio(&self, a: Point, b: Point) -> f64 {
        let straight = self.drawings.likelihood_ratio(&[a, b]);
        let leg = self.along * (b - a).dot(self.along);
        let rest = (b - a) - leg;
        if leg.norm().min(rest.norm()) <= self.elbow_leg_m {
            return straight;
        }
        let elbows = [a + leg, a + rest].map(|corner| self.drawings.likelihood_ratio(&[a, corner, b]));
        (1.0 - self.elbow_share) * straight + self.elbow_share * f64::midpoint(elbows[0], elbows[1])
    }
}
