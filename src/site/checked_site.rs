//! The checked site: what the engine reads, in metres.

use super::document::{Document, Frame};
use super::items::{
    Dig, Flag, Head, Mark, Obstacle, Outlet, Probe, Service, Sketch, Source, StationTest, Swept, Tree,
    ValveBox, Zone,
};
use super::keep_off::KeepOff;
use super::metal_supply::MetalSupply;
use super::note::Note;
use super::units::Units;
use crate::geometry::Polygon;
use crate::settings::Settings;
use std::sync::Arc;

/// A site whose document has passed every check: metres, indices instead of names, defaults filled in.
///
/// Made by [`Site::new`] only and not to be changed afterwards: to change a site, change its document and make a new one.
///
/// # Units
/// Metres, x east (or right), y north (or up); litres per second; angles in degrees where a name ends in `_deg`.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Site {
    /// The document it was made from.
    pub document: Document,
    /// Its name.
    pub name: Option<String>,
    /// The units of its document.
    pub units: Units,
    /// Where it lies on Earth.
    pub frame: Option<Frame>,
    /// The constants of the prior of layouts, with what the document sets.
    pub settings: Settings,
    /// Outline of the ground that is dealt with, where it is given.
    pub boundary: Option<Polygon>,
    /// Sprinkler heads, in the document's order.
    pub heads: Vec<Head>,
    /// Zones, in the order in which heads and then valve boxes first name them.
    pub zones: Vec<Zone>,
    /// Valve boxes, in the document's order.
    pub valve_boxes: Vec<ValveBox>,
    /// Where water enters the system.
    pub sources: Vec<Source>,
    /// Ends of always-pressurised lines.
    pub outlets: Vec<Outlet>,
    /// Buildings, paving, pools and beds.
    pub obstacles: Vec<Obstacle>,
    /// Standing trees.
    pub trees: Vec<Tree>,
    /// Valves that were run.
    pub station_tests: Vec<StationTest>,
    /// Exploratory hand digs.
    pub probes: Vec<Probe>,
    /// Detector flags.
    pub flags: Vec<Flag>,
    /// Ground to keep off along the metal that they stand on.
    pub keep_offs: Vec<KeepOff>,
    /// Ground swept with a detector.
    pub swept: Vec<Swept>,
    /// Marks set by utility locators.
    pub marks: Vec<Mark>,
    /// Service lines with both ends known.
    pub services: Vec<Service>,
    /// Old sketches and as-built drawings.
    pub sketches: Vec<Sketch>,
    /// Proposed digs.
    pub digs: Vec<Dig>,
    /// What flagged and marked lines say of the grid's bearing: factors on its probabilities, with the bearings in radians from
    /// 0 to a quarter turn that they hold at. Empty where nothing does.
    pub bearing_evidence: Vec<(f64, f64)>,
    /// What metal lines say of the supply; none where nothing does.
    pub metal_supply: Option<Arc<MetalSupply>>,
    /// What the document gives cause to say: see [`Site::notes`].
    pub(super) notes: Vec<Note>,
}

impl Site {
    /// The same site as if no probe had been dug: what its other evidence says by itself.
    pub fn without_probes(&self) -> Self {
        Self { probes: Vec::new(), ..self.clone() }
    }

    /// The same site with what metal lines say of the grid's bearing.
    pub fn with_bearing_evidence(&self, bearing_evidence: Vec<(f64, f64)>) -> Self {
        Self { bearing_evidence, ..self.clone() }
    }

    /// The same site with what metal lines say of the supply.
    pub fn with_metal_supply(&self, metal_supply: Option<Arc<MetalSupply>>) -> Self {
        Self { metal_supply, ..self.clone() }
    }

    /// Everything about the document that its reader must know although it is no fault: what counts as metal lines, what is
    /// taken otherwise than written, what is odd.
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }

    /// The same as sentences.
    pub fn warnings(&self) -> Vec<String> {
        self.notes.iter().map(ToString::to_string).collect()
    }

    /// Boxes that may hold the valve of a zone that no box lists, by their indices: those with room for it, else those whose
    /// valves nobody counted. None where there is no box, or where every valve there is feeds another zone or none: then the
    /// valve is out of sight.
    pub fn boxes_with_room(&self) -> Vec<usize> {
        let those = |fit: fn(&ValveBox) -> bool| -> Vec<usize> {
            (0..self.valve_boxes.len()).filter(|&index| fit(&self.valve_boxes[index])).collect()
        };
        let roomy = those(|held| held.room() > 0);
        if roomy.is_empty() { those(|held| held.valves.is_none()) } else { roomy }
    }

    /// Zones that heads name and no box lists, by their indices.
    pub fn zones_without_box(&self) -> Vec<usize> {
        let boxless = |zone: &Zone| zone.boxes.is_empty() && !zone.nameless;
        (0..self.zones.len()).filter(|&index| boxless(&self.zones[index])).collect()
    }

    /// Working valves that the boxes have left for these zones, where counts leave too few for all and some: each such zone is
    /// then fed from a box with that many chances in the number of these zones, else from out of sight. `None` where a box
    /// that nobody opened may hold any number.
    pub fn valves_short(&self) -> Option<usize> {
        if self.valve_boxes.iter().any(|held| held.valves.is_none() && held.zones.is_empty()) {
            return None;
        }
        let room: usize = self.valve_boxes.iter().map(ValveBox::room).sum();
        (1..self.zones_without_box().len()).contains(&room).then_some(room)
    }
}
