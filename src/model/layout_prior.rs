//! The prior of layouts of one site for one zoning: its zones' laws and those of its supply lines, put together.

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
    laws: Vec<Arc<SystemPrior>>,
    systems: Vec<System>,
}

impl LayoutPrior {
    /// The law of a site's layouts with the zones as written.
    ///
    /// # Errors
    /// [`Error::UnlabelledHeads`] if heads carry no zone, [`Error::NoLayout`] if some end of a system cannot be reached.
    pub fn new(site: &Site) -> Result<Self, Error> {
        Self::with_labels(site, &WeightedZoning::written(site)?)
    }

    /// The law of a site's layouts with the zones of a zoning: what is written at the heads is not looked at.
    ///
    /// # Errors
    /// [`Error::NoLayout`] if some end of a system cannot be reached.
    pub fn with_labels(site: &Site, labelling: &WeightedZoning) -> Result<Self, Error> {
        let common = Arc::new(Common::new(site));
        let zones = common.zones(labelling);
        Self::assemble(common, zones)
    }

    /// The law of these zones and of the site's supply systems. Zones and their states are shared, not copied.
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
    /// let document = r#"{"format": "underturf-site/1", "units": "m",
    ///     "heads": [{"id": "a", "x": 0, "y": 0, "zone": "1"}, {"id": "b", "x": 4, "y": 0, "zone": "2"}],
    ///     "valve_boxes": [{"id": "v", "x": 2, "y": 1, "zones": ["1", "2"]}]}"#;
    /// let site = underturf::site::io::parse_json(document)?;
    /// let common = Arc::new(Common::new(&site));
    /// let zone = |index: usize, heads: &[usize]| {
    ///     let (name, valve) = common.written(index);
    ///     Arc::new(common.zone(name, valve, heads))
    /// };
    /// let law = LayoutPrior::assemble(common.clone(), vec![zone(0, &[1]), zone(1, &[0])])?;
    /// assert_eq!(law.systems()[1].name, "zone 2");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn assemble(common: Arc<Common>, zones: Vec<Arc<SystemPrior>>) -> Result<Self, Error> {
        let mut laws = zones;
        assert!(laws.iter().all(|zone| zone.is_of(common.shared())), "a zone of another site");
        laws.extend(common.supplies().iter().cloned());
        for law in &laws {
            law.check_reach(|solid| common.solid_place(solid))?;
        }
        let systems = laws.iter().map(|law| law.system().clone()).collect();
        Ok(Self { common, laws, systems })
    }

    /// The grid bearings with their posterior probabilities.
    pub fn grid_bearings(&self) -> &[Bearing] {
        &self.common.shared().bearings
    }

    /// What it has in common with the laws of other zonings.
    pub fn common(&self) -> &Arc<Common> {
        &self.common
    }

    /// The laws of its systems: zones, then supply systems.
    pub fn laws(&self) -> &[Arc<SystemPrior>] {
        &self.laws
    }
}

impl OuterPrior for LayoutPrior {
    fn bearings(&self) -> &[f64] {
        self.common.bearing_probabilities()
    }

    fn systems(&self) -> &[System] {
        &self.systems
    }

    fn state_probabilities(&self, bearing: usize, system: usize) -> &[f64] {
        self.laws[system].state_probabilities(bearing)
    }

    fn state(&self, bearing: usize, system: usize, state: usize) -> Option<Arc<OuterState>> {
        self.laws[system].state(bearing, state)
    }

    fn sample_state(&self, bearing: usize, system: usize, mut rng: &mut dyn Rng) -> Option<Arc<OuterState>> {
        let law = &self.laws[system];
        if law.has_sketch() {
            return law.sample_state(bearing, &mut rng); // listing would build every state
        }
        listed_state(law.state_probabilities(bearing), |state| law.state(bearing, state), rng)
    }

    fn unmapped_lines(&self) -> &UnmappedLines {
        self.common.unmapped_lines()
    }
}
