//! The checked site: what the engine reads, in metres.

use super::document::{Document, Frame};
use super::fault::SiteFaults;
use super::items::{
    Dig, Flag, Head, Mark, Obstacle, Outlet, Probe, Service, Sketch, Source, StationTest, Swept, Tree,
    ValveBox, Zone,
};
use super::units::Units;
use super::{check, convert};
use crate::geometry::Polygon;
use crate::settings::Settings;

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
    /// The constants of the law of layouts, with what the document sets.
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
}

impl Site {
    /// The site of a document.
    ///
    /// # Errors
    /// Every fault of the document at once.
    ///
    /// # Examples
    /// ```
    /// use underturf::evidence::{Document, Site, Units};
    /// let site = Site::new(Document::new(Units::Feet))?;
    /// assert!(site.heads.is_empty() && site.warning().is_none());
    /// # Ok::<(), underturf::evidence::SiteFaults>(())
    /// ```
    pub fn new(document: Document) -> Result<Self, SiteFaults> {
        let faults = check::faults(&document);
        if faults.is_empty() { convert::site(document) } else { Err(SiteFaults { faults }) }
    }

    /// The faults that [`Site::new`] would report.
    pub fn faults(document: &Document) -> Option<SiteFaults> {
        let faults = check::faults(document);
        (!faults.is_empty()).then_some(SiteFaults { faults })
    }

    /// Names, as in the document, of the kinds of evidence this site holds that take no part in the inference yet.
    ///
    /// `marks` are among them although their tolerance zones are tested: they say nothing yet about where lines run.
    pub fn unused(&self) -> Vec<&'static str> {
        [
            ("flags", self.flags.is_empty()),
            ("marks", self.document.marks.is_empty()),
            ("services", self.services.is_empty()),
        ]
        .into_iter()
        .filter(|(_, is_empty)| !is_empty)
        .map(|(name, _)| name)
        .collect()
    }

    /// One sentence that names the evidence not used, or `None` when all of it is.
    pub fn warning(&self) -> Option<String> {
        let unused = self.unused();
        if unused.is_empty() {
            return None;
        }
        let marks = if self.document.marks.is_empty() {
            ""
        } else {
            " (of marks, the tolerance zones and distances are reported all the same)"
        };
        Some(format!(
            "This evidence of the site was kept but takes no part in the probabilities yet: {}{marks}.",
            unused.join(", ")
        ))
    }

    /// Every sentence about the document that its reader must know.
    pub fn warnings(&self) -> Vec<String> {
        self.warning().into_iter().chain(self.valves_out_of_sight()).chain(self.utilities_met()).collect()
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

    /// One sentence where valves are taken to be out of sight although there are boxes.
    pub fn valves_out_of_sight(&self) -> Option<String> {
        let lost = self.zones.iter().filter(|zone| zone.boxes.is_empty() && !zone.heads.is_empty());
        let lost: Vec<String> = lost.map(|zone| format!("{:?}", zone.name)).collect();
        (!self.valve_boxes.is_empty() && !lost.is_empty() && self.boxes_with_room().is_empty()).then(|| {
            format!(
                "No valve box lists zone {}, and by their counts none has a valve left for it: its valve is taken to be out of \
                 sight, by the sources or buildings, along the edge of the site or beside one of its heads, and the mainline to \
                 it is not drawn.",
                lost.join(", ")
            )
        })
    }

    /// One sentence for each probe that met the line of a utility.
    pub fn utilities_met(&self) -> Vec<String> {
        let of = |mark: &Mark| {
            mark.by_probe.map(|probe| {
                format!(
                    "probes[{probe}] met a line of class {}: it is kept as a mark with its tolerance zone where it was met. Where \
                     it runs from there is not known and takes no part in any chance: call the one-call centre and have it \
                     marked.",
                    mark.class.name()
                )
            })
        };
        self.marks.iter().filter_map(of).collect()
    }
}
