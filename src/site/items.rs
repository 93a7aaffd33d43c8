//! The things on a checked site: metres, indices instead of names, defaults filled in.

use super::document::{
    HeadKind, Method, ObstacleKind, OutletFeed, OutletKind, QualityLevel, SourceKind, Tool, TreeSize, Vigour,
};
use super::shape::DigShape;
use crate::class::Class;
use crate::geometry::{Point, Polygon};
use crate::planting::Setback;

/// A sprinkler head.
#[derive(Clone, Debug, PartialEq)]
pub struct Head {
    /// Its name.
    pub id: String,
    /// Where it stands, metres.
    pub at: Point,
    /// How it throws water.
    pub kind: HeadKind,
    /// Index of its zone in the site's zones; `None`: not known.
    pub zone: Option<usize>,
    /// Standard deviation of x and of y, metres; [`Head::SD_M`] when nothing is said.
    pub sd_m: f64,
    /// Throw, metres.
    pub radius_m: Option<f64>,
    /// Angle of the watered sector, degrees.
    pub arc_deg: Option<f64>,
    /// Flow, litres per second.
    pub flow_l_s: Option<f64>,
}

impl Head {
    /// Standard deviation of a head's x and y when nothing is said, metres: a flag at the head against its true riser,
    /// and two-tape ties, both 0.05 (python/docs/trade-values.md, 6.12 and 6.8).
    pub const SD_M: f64 = 0.05;
}

/// A zone: the heads one valve feeds.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// Its name in the document.
    pub name: String,
    /// Indices of its heads; empty while some heads of the site carry no zone, or where its heads are out of sight.
    pub heads: Vec<usize>,
    /// Indices of the valve boxes that list it; empty when its valve is not known.
    pub boxes: Vec<usize>,
    /// Whether it may not be there at all: a valve that nobody has counted.
    pub optional: bool,
    /// Whether its valve is there but perhaps none of its heads: drip, heads that grass hides, a valve long unused. Then it
    /// may have none of the heads of the site, and none of its lines is known.
    pub unseen: bool,
    /// Whether the document does not name it: such zones with the same boxes cannot be told apart.
    pub nameless: bool,
}

/// A valve box.
#[derive(Clone, Debug, PartialEq)]
pub struct ValveBox {
    /// Its name.
    pub id: String,
    /// Where it lies, metres.
    pub at: Point,
    /// Indices of the zones fed from here; empty when only the number of valves is known.
    pub zones: Vec<usize>,
    /// Number of valves, spare ones included, where it is given.
    pub valves: Option<usize>,
    /// Number of valves that feed nothing.
    pub spare: usize,
}

impl ValveBox {
    /// Working valves beyond those of the zones fed from here: as many as may be there.
    pub fn room(&self) -> usize {
        room(self.valves, self.spare, self.zones.len())
    }
}

/// Most valves in a box whose document does not say how many it holds (python/docs/trade-values.md, 3.21c).
const MOST_IN_BOX: usize = 4;

/// Working valves of a box beyond those of the zones it lists: as many as may be there. A list without a count is complete.
pub(super) fn room(valves: Option<usize>, spare: usize, listed: usize) -> usize {
    match valves {
        Some(valves) => valves.saturating_sub(spare + listed),
        None if listed == 0 => MOST_IN_BOX.saturating_sub(spare),
        None => 0,
    }
}

/// Where water enters the system.
#[derive(Clone, Debug, PartialEq)]
pub struct Source {
    /// Its name.
    pub id: String,
    /// Where it is, metres.
    pub at: Point,
    /// What it is.
    pub kind: SourceKind,
}

/// The end of an always-pressurised line.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlet {
    /// Its name.
    pub id: String,
    /// Where it is, metres.
    pub at: Point,
    /// What it is.
    pub kind: OutletKind,
    /// What feeds it; `None`: not known.
    pub fed: Option<OutletFeed>,
}

/// A building, paving, pool or bed.
#[derive(Clone, Debug, PartialEq)]
pub struct Obstacle {
    /// What it is.
    pub kind: ObstacleKind,
    /// Its outline, metres.
    pub outline: Polygon,
    /// Its place in the document, for messages: `obstacles[2]`.
    pub place: String,
}

/// A standing tree.
#[derive(Clone, Debug, PartialEq)]
pub struct Tree {
    /// Where it stands, metres.
    pub at: Point,
    /// Diameter of its stem at breast height, metres.
    pub stem_diameter_m: f64,
}

/// A valve that was run, and the heads that came up.
#[derive(Clone, Debug, PartialEq)]
pub struct StationTest {
    /// Index of the zone that was run, where it is known.
    pub zone: Option<usize>,
    /// Index of the valve box one of whose valves was run, where that is what is known.
    pub valve_box: Option<usize>,
    /// Indices of the heads that came up.
    pub heads: Vec<usize>,
    /// Chance that one head was noted wrongly; `None`: the setting `station_error`.
    pub error: Option<f64>,
}

/// An exploratory hand dig.
#[derive(Clone, Debug, PartialEq)]
pub struct Probe {
    /// Its footprint: a disc or a trench.
    pub shape: DigShape,
    /// Depth reached, metres.
    pub depth_m: f64,
    /// Whether a line was met.
    pub found: bool,
    /// What the found line carries.
    pub class: Option<Class>,
    /// Direction of the found line, radians counter-clockwise from x.
    pub angle_rad: Option<f64>,
    /// Ground above the found line, metres.
    pub cover_m: Option<f64>,
    /// What it was dug with.
    pub tool: Tool,
    /// Chance that a line within the probe would be met; [`Probe::p_detect_of`] the tool when nothing is said.
    pub p_detect: f64,
    /// Chance of a find where there is no line; [`Probe::P_FALSE`] when nothing is said.
    pub p_false: f64,
}

impl Probe {
    /// Chance of a find where there is no line. Common practice, no source.
    pub const P_FALSE: f64 = 0.01;

    /// Chance that a line within a probe dug with that tool would be met: pothole 0.97, slit 0.95, rod 0.7. Common
    /// practice, no source.
    pub const fn p_detect_of(tool: Tool) -> f64 {
        match tool {
            Tool::Pothole => 0.97,
            Tool::Slit => 0.95,
            Tool::Rod => 0.7,
        }
    }
}

/// A detector flag.
#[derive(Clone, Debug, PartialEq)]
pub struct Flag {
    /// Where it stands, metres.
    pub at: Point,
    /// Standard deviation of x and of y, metres; [`Flag::SD_M`] when nothing is said.
    pub sd_m: f64,
    /// Name shared by the flags that were traced along one line.
    pub line: Option<String>,
    /// What the line was taken to carry.
    pub class: Option<Class>,
    /// Ground above the line as the detector read it, metres.
    pub depth_m: Option<f64>,
}

impl Flag {
    /// Standard deviation of a flag's x and y when nothing is said, metres: the middle of 0.05 to 0.15 for pinpointing
    /// a small shallow target (python/docs/trade-values.md, 6.10).
    pub const SD_M: f64 = 0.1;
}

/// Ground that was swept with a detector.
#[derive(Clone, Debug, PartialEq)]
pub struct Swept {
    /// The swept ground, metres.
    pub outline: Polygon,
    /// Chance that a metal line under it would have sounded; `None`: nothing is said.
    pub p_detect: Option<f64>,
}

/// A line marked by a utility locator.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What the line carries.
    pub class: Class,
    /// The marked line, metres: two points or more, but one where a probe met a line of unknown direction.
    pub path: Vec<Point>,
    /// Standard deviation of its sideways place, metres; [`Mark::SD_M`] when nothing is said.
    pub sd_m: f64,
    /// Half width of its tolerance zone, metres, where the mark names one; else the setting `tolerance_half_zone_m`.
    pub half_zone_m: Option<f64>,
    /// How it came about.
    pub quality: Option<QualityLevel>,
    /// Day it was set, `YYYY-MM-DD`.
    pub date: Option<String>,
    /// Days from then to the day of the site; zero where either is not known.
    pub age_days: f64,
    /// Index of the probe that met the line, if no locator set this mark.
    pub by_probe: Option<usize>,
}

impl Mark {
    /// Standard deviation of a mark's sideways place when nothing is said, metres: the band of a line detected by one
    /// method, 250 mm (python/docs/trade-values.md, 7.1).
    pub const SD_M: f64 = 0.25;

    /// The same by the quality level of the utility engineering standards (python/docs/trade-values.md, 4.6, 7.1): exposed and
    /// surveyed; detected by one method; seen at the surface, 500 mm; told by records alone (common practice, no source).
    pub const fn sd_m_of(quality: Option<QualityLevel>) -> f64 {
        match quality {
            Some(QualityLevel::A) => 0.05,
            None | Some(QualityLevel::B) => Self::SD_M,
            Some(QualityLevel::C) => 0.5,
            Some(QualityLevel::D) => 1.0,
        }
    }
}

/// A service line with both ends known.
#[derive(Clone, Debug, PartialEq)]
pub struct Service {
    /// What the line carries.
    pub class: Class,
    /// One end, metres.
    pub from: Point,
    /// The other end, metres.
    pub to: Point,
    /// Places between the ends that it is known to pass, metres.
    pub path: Vec<Point>,
}

/// A line of an old sketch or as-built drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Sketch {
    /// The drawn line, metres: two points or more.
    pub path: Vec<Point>,
    /// Chance that the drawing is right here.
    pub trust: f64,
}

/// A proposed dig, as it will be dug: see [`Dig::drawn`].
#[derive(Clone, Debug, PartialEq)]
pub struct Dig {
    /// Its name; `dig1`, `dig2`, ... by place in the list when the document gives none.
    pub id: String,
    /// Its footprint.
    pub shape: DigShape,
    /// Its depth, metres.
    pub depth_m: f64,
    /// How it is dug.
    pub method: Method,
    /// The tree it is dug for.
    pub tree: Option<Plant>,
    /// What was drawn, where the root ball of its tree needs a larger hole than that; `shape` and `depth_m` are then those of
    /// the hole that the ball needs.
    pub drawn: Option<Drawn>,
}

/// A dig as it was drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// Its footprint.
    pub shape: DigShape,
    /// Its depth, metres.
    pub depth_m: f64,
}

/// A tree to be planted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plant {
    /// Size at maturity.
    pub size: TreeSize,
    /// Vigour of the roots; [`Vigour::Ordinary`] when nothing is said.
    pub vigour: Vigour,
    /// Diameter of the stem as bought, metres.
    pub caliper_m: Option<f64>,
    /// Trade number of the container it is bought in.
    pub container: Option<f64>,
    /// Radius of the root zone at maturity, metres, where it is given.
    pub root_radius_m: Option<f64>,
    /// The setback that holds for it; `None`: the one that holds for all.
    pub setback: Option<Setback>,
}

impl Plant {
    /// A tree of which nothing but the size is known.
    pub const fn of_size(size: TreeSize) -> Self {
        Self {
            size,
            vigour: Vigour::Ordinary,
            caliper_m: None,
            container: None,
            root_radius_m: None,
            setback: None,
        }
    }
}
