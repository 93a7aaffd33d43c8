//! Numbers of every draw, by chain: what convergence checks watch, and where draws are independent the same as one chain.

use super::convergence::{LATERALS, Watched, chance_of, laterals_m};
use super::layouts::Layouts;
use crate::mcmc::diagnostics::Kind;
use crate::strike::{Observation, RunIndex};

impl Layouts {
    /// Numbers of every draw, by chain: those that the convergence checks watch; where draws are independent the length of
    /// laterals and the strike chance of every dig of the site, as one chain.
    ///
    /// # Examples
    /// ```
    /// use underturf::inference::{SampleOptions, sample_layouts};
    /// use underturf::monitor::Unwatched;
    /// let site = underturf::example::lawn()?;
    /// let layouts = sample_layouts(&site, &SampleOptions { draws: 20, seed: 7 }, &Unwatched)?;
    /// assert_eq!(layouts.quantities()[0].chains[0].len(), 20);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn quantities(&self) -> Vec<Watched> {
        if let Some(convergence) = &self.convergence {
            return convergence.watched.clone();
        }
        let laterals = (0..self.pieces.draws()).map(|k| laterals_m(self.pieces.draw(k))).collect();
        let mut watched =
            vec![Watched { name: LATERALS.to_owned(), kind: Kind::Scalar, chains: vec![laterals] }];
        let index = RunIndex::new(&self.draws);
        for dig in &self.site.digs {
            let look = Observation::dig(dig.shape.footprint(), dig.depth_m);
            let chances = index.chances(self.prior(), &look, &self.findings);
            let (name, kind) = (chance_of(&dig.id), Kind::Probability);
            watched.push(Watched { name, kind, chains: vec![chances] });
        }
        watched
    }
}
