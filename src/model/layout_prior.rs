//! The prior of layouts of one site for one zoning: its zones' priors and those of its supply lines, put together.

use super::bearing::Bearing;
use super::common::Common;
use super::system::SystemPrior;
use super::zoning::WeightedZoning;
use crate::error::Error;
use crate::layout::{OuterPrior, OuterState, System, UnmappedLines, listed_state};
use crate::site::Site;
use rand::Rng;
use std::sync::Arc;

/// The prior of layouts of one site.
pub struct LayoutPrior {
    common: Arc<Common>,
    /// Zones, then supply systems.
    system_priors: Vec<Arc<SystemPrior>>,
    systems: Vec<System>,
}

impl LayoutPrior {
    /// The prior of a site's layouts with the zones as written.
    ///
    /// # Errors
    /// [`Error::UnlabelledHeads`] if heads carry no zone, [`Error::NoLayout`] if some end of a system cannot be reached.
    pub fn new(site: &Site) -> Result<Self, Error> {
        Self::with_zoning(site, &WeightedZoning::written(site)?)
    }

    /// The prior of a site's layouts with the zones of a zoning: what is written at the heads is not looked at.
    ///
    /// # Errors
    /// [`Error::NoLayout`] if some end of a system cannot be reached.
    pub fn with_zoning(site: &Site, zoning: &WeightedZoning) -> Result<Self, Error> {
        let common = Arc::new(Common::new(site));
        let zones = common.zones(zoning);
        Self::assemble(common, zones)
    }

    /// The prior of these zones and of the site's supply systems. Zones and their states are shared, not copied.
    ///
    /// # Errors
    /// [`Error::NoLayout`] if some end of a system cannot be reached; each zone is looked at once in its life.
    ///
    /// # Panics
    /// If a zone is not of the site: made by another [`Common`].
    ///
    /// # Examples
    /// ```
    /// use std::sync::Arc;
    /// use underturf::layout::OuterPrior;
    /// use underturf::model::{Common, LayoutPrior};
    /// let document = r#"{"format": "underturf-site/2", "units": "m",
    ///     "heads": [{"id": "a", "x": 0, "y": 0, "zone": "1"}, {"id": "b", "x": 4, "y": 0, "zone": "2"}],
    ///     "valve_boxes": [{"id": "v", "x": 2, "y": 1, "zones": ["1", "2"]}]}"#;
    /// let site = underturf::site::io::parse_json(document)?;
    /// let common = Arc::new(Common::new(&site));
    /// let zone = |index: usize, heads: &[usize]| {
    ///     let (name, valve) = common.written(index);
    ///     Arc::new(common.zone(name, valve, heads))
    /// };
    /// let prior = LayoutPrior::assemble(common.clone(), vec![zone(0, &[1]), zone(1, &[0])])?;
    /// assert_eq!(prior.systems()[1].name, "zone 2");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn assemble(common: Arc<Common>, zones: Vec<Arc<SystemPrior>>) -> Result<Self, Error> {
        let mut system_priors = zones;
        assert!(system_priors.iter().all(|zone| zone.is_of(common.shared())), "a zone of another site");
        system_priors.extend(common.supplies().iter().cloned());
        for prior in &system_priors {
            prior.check_reach(|solid| common.solid_place(solid))?;
        }
        let systems = system_priors.iter().map(|prior| prior.system().clone()).collect();
        Ok(Self { common, system_priors, systems })
    }

    /// The grid bearings with their posterior probabilities.
    pub fn grid_bearings(&self) -> &[Bearing] {
        &self.common.shared().bearings
    }

    /// What it has in common with the priors of other zonings.
    pub fn common(&self) -> &Arc<Common> {
        &self.common
    }

    /// The priors of its systems: zones, then supply systems.
    pub fn system_priors(&self) -> &[Arc<SystemPrior>] {
        &self.system_priors
    }
}

impl OuterPrior for LayoutPrior {
    fn bearings(&self) -> &[f64] {
        self.common.bearing_probabilities()
    }

    fn systems(&self) -> &[System] {
        &self.systems
    }

    fn alike(&self, bearing: usize, system: usize) -> usize {
        self.system_priors[system].alike(bearing)
    }

    fn state_probabilities(&self, bearing: usize, system: usize) -> &[f64] {
        self.system_priors[system].state_probabilities(bearing)
    }

    fn state(&self, bearing: usize, system: usize, state: usize) -> Option<Arc<OuterState>> {
        self.system_priors[system].state(bearing, state)
    }

    fn sample_state(&self, bearing: usize, system: usize, mut rng: &mut dyn Rng) -> Option<Arc<OuterState>> {
        let prior = &self.system_priors[system];
        if prior.has_sketch() {
            return prior.sample_state(bearing, &mut rng); // listing would build every state
        }
        listed_state(prior.state_probabilities(bearing), |state| prior.state(bearing, state), rng)
    }

    fn unmapped_lines(&self) -> &UnmappedLines {
        self.common.unmapped_lines()
    }
}
