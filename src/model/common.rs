//! What is known of a site's layouts before it is known which head is on which zone, and the making of zones from it.

use super::bearing::{self, Bearing};
use super::ground::sketches::Drawings;

use super::ground::Ground;
use super::ground::silence::Silence;
use super::ground::standing_trees::Trees;
use super::node::Node;
use super::plan::Plan;
use super::routing::supply::{MetalMain, Supply};
use super::shared::Shared;
use super::supply_roots::{Start, hidden, one_of};
use super::system::SystemPrior;
use super::zoning::WeightedZoning;
use crate::class::Class;
use crate::geometry::{Point, Polygon};
use crate::layout::{Cover, Kind, System, UnmappedLines};
use crate::settings::Settings;
use crate::site::document::{ObstacleKind, OutletFeed, OutletKind};
use crate::site::{Outlet, Site, SupplyLine};
use std::sync::Arc;

/// Survey error of boxes, sources and outlets, metres: a valve stands somewhere in a box of 0.43 x 0.30 m
/// (python/docs/trade-values.md,
/// 3.21c).
const BOX_SD_M: f64 = 0.1;

/// An outlet hangs on a wall that it stands no further from than this, metres: three standard deviations of its place.
const ON_WALL_M: f64 = 3.0 * BOX_SD_M;

/// Where the valve of a zone may stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Valve {
    /// In one of these valve boxes, by their indices in the site; nearer ones are more probable.
    Boxes(Vec<usize>),
    /// In one of these boxes with so many chances in so many: they have room for some of the valves that no box lists. Else
    /// hidden.
    BoxesOrHidden {
        /// The boxes.
        boxes: Vec<usize>,
        /// Valves that they have room for.
        valves: usize,
        /// Zones that want one.
        zones: usize,
    },
    /// Nobody knows: by the sources or buildings, along the edge of the site, or beside a head.
    Hidden,
}

/// What the priors of all zonings of one site have in common: settings, ground, grid bearings, unknown lines, heads and
/// boxes, the supply systems, and the runs between heads, each made at its first use and then shared by all zones.
pub struct Common {
    shared: Arc<Shared>,
    bearing_probabilities: Vec<f64>,
    unmapped: UnmappedLines,
    /// The system of a zone, without a name.
    lateral: System,
    zones: Vec<(String, Valve)>,
    boxes: Vec<Node>,
    sources: Vec<Node>,
    buildings: Vec<Polygon>,
    boundary: Option<Polygon>,
    supplies: Vec<Arc<SystemPrior>>,
    /// Places in the document of solid obstacles.
    solid_places: Vec<String>,
}

impl Common {
    /// What is known of a site without its zones: what is written at the heads is not looked at.
    pub fn new(site: &Site) -> Self {
        let settings = site.settings.clone();
        let buildings = outlines(site, &[ObstacleKind::Building]);
        let bearings = bearing::with_cases(bearing::bearings(site), site);
        let bearing_probabilities = bearings.iter().map(|b| b.probability).collect();
        let unmapped = UnmappedLines {
            density_per_m: settings.unmapped_density_per_m,
            cover_m: settings.unmapped_cover_m,
            cover_sd_m: settings.unmapped_cover_sd_m,
            radius_m: 0.5 * settings.lateral_diameter_m,
        };
        let leaving = |at: Point| node(leaving(at, &buildings));
        let boxes: Vec<Node> = site.valve_boxes.iter().map(|b| leaving(b.at)).collect();
        let (open, short, wanting) =
            (site.boxes_with_room(), site.valves_short(), site.zones_without_box().len());
        let valve = |listed: &[usize]| match (listed.is_empty(), open.is_empty(), short) {
            (false, _, _) => Valve::Boxes(listed.to_vec()),
            (true, true, _) => Valve::Hidden,
            (true, false, None) => Valve::Boxes(open.clone()),
            (true, false, Some(valves)) => {
                Valve::BoxesOrHidden { boxes: open.clone(), valves, zones: wanting }
            }
        };
        let zones = site.zones.iter().map(|zone| (format!("zone {}", zone.name), valve(&zone.boxes)));
        let zones = zones.collect();
        let solid_places = site.obstacles.iter().filter(|o| SOLID.contains(&o.kind));
        let solid_places = solid_places.map(|o| o.place.clone()).collect();
        let heads = site.heads.iter().map(|head| Node { at: head.at, sd_m: head.sd_m }).collect();
        let lateral = lateral(&settings);
        let mut common = Self {
            shared: Arc::new(Shared::new(settings, ground(site), bearings, heads)),
            bearing_probabilities,
            unmapped,
            lateral,
            zones,
            boxes,
            sources: site.sources.iter().map(|s| leaving(s.at)).collect(),
            buildings,
            boundary: site.boundary.clone(),
            supplies: Vec::new(),
            solid_places,
        };
        common.supplies = common.supply_systems(site);
        common
    }

    /// Number of the site's heads.
    pub fn heads(&self) -> usize {
        self.shared.heads().len()
    }

    /// Name of the system of a zone, by the zone's index in the site, and where its valve may stand as far as the
    /// document says: in the boxes that list it, else where [`Site::boxes_with_room`] has room for it; hidden where no box has.
    pub fn written(&self, zone: usize) -> (&str, &Valve) {
        let (name, valve) = &self.zones[zone];
        (name, valve)
    }

    /// The prior of one zone of these heads, by their indices in the site in any order, with this name and valve.
    ///
    /// It may be used in any number of priors of this site; [`super::LayoutPrior::assemble`] says whether all heads can be
    /// reached.
    ///
    /// # Panics
    /// If a head or a box is not of the site.
    pub fn zone(&self, name: &str, valve: &Valve, heads: &[usize]) -> SystemPrior {
        let mut heads = heads.to_vec();
        heads.sort_unstable();
        heads.dedup();
        let nodes: Vec<Node> = heads.iter().map(|&head| self.shared.heads()[head]).collect();
        let starts = match valve {
            _ if nodes.is_empty() => Start::known(Vec::new()), // a valve that is not there has no pipe
            Valve::Boxes(boxes) => one_of(&self.boxes_at(boxes), &nodes),
            Valve::BoxesOrHidden { boxes, valves, zones } => {
                let share = *valves as f64 / *zones as f64;
                let scaled = |starts: Vec<Start>, by: f64| {
                    starts.into_iter().map(move |it| Start { probability: by * it.probability, ..it })
                };
                let boxed = scaled(one_of(&self.boxes_at(boxes), &nodes), share);
                boxed.chain(scaled(self.somewhere(&nodes), 1.0 - share)).collect()
            }
            Valve::Hidden => self.somewhere(&nodes),
        };
        let plan = Plan::new(nodes, first_root(&starts), Kind::Run, &self.shared.settings).with_heads(heads);
        let system = System { name: name.to_owned(), ..self.lateral.clone() };
        SystemPrior::new(system, self.shared.clone(), plan, starts, None)
    }

    /// The priors of the site's zones with the heads of a zoning.
    pub fn zones(&self, zoning: &WeightedZoning) -> Vec<Arc<SystemPrior>> {
        let members = zoning.members(self.zones.len());
        let zone = |((name, valve), heads): (&(String, Valve), Vec<usize>)| self.zone(name, valve, &heads);
        self.zones.iter().zip(members).map(zone).map(Arc::new).collect()
    }

    /// The supply systems: the mainline and the potable line, where the site has ends of them.
    pub fn supplies(&self) -> &[Arc<SystemPrior>] {
        &self.supplies
    }

    pub(super) fn shared(&self) -> &Arc<Shared> {
        &self.shared
    }

    /// The grid bearings with their posterior probabilities.
    pub fn bearings(&self) -> &[Bearing] {
        &self.shared.bearings
    }

    pub(super) fn bearing_probabilities(&self) -> &[f64] {
        &self.bearing_probabilities
    }

    /// The prior of unmapped lines.
    pub fn unmapped_lines(&self) -> &UnmappedLines {
        &self.unmapped
    }

    /// The place of a solid obstacle in the document.
    pub(super) fn solid_place(&self, index: usize) -> Option<String> {
        self.solid_places.get(index).cloned()
    }

    fn boxes_at(&self, boxes: &[usize]) -> Vec<Node> {
        boxes.iter().map(|&b| self.boxes[b]).collect()
    }

    fn somewhere(&self, ends: &[Node]) -> Vec<Start> {
        hidden(ends, &self.sources, &self.buildings, self.boundary.as_ref())
    }

    fn supply_systems(&self, site: &Site) -> Vec<Arc<SystemPrior>> {
        let settings = &self.shared.settings;
        let outlets = |coupler: bool| -> Vec<usize> {
            let chosen = |k: &usize| (site.outlets[*k].kind == OutletKind::QuickCoupler) == coupler;
            (0..site.outlets.len()).filter(chosen).collect()
        };
        let lines = [
            ("mainline", Class::Mainline, (0..self.boxes.len()).collect(), outlets(true)),
            ("potable", Class::Potable, Vec::new(), outlets(false)),
        ];
        let system = |(name, class, boxes, outlets): (&str, Class, Vec<usize>, Vec<usize>)| {
            let outlet = |k: &usize| node(leaving(site.outlets[*k].at, &self.buildings));
            let ends: Vec<Node> =
                boxes.iter().map(|&k| self.boxes[k]).chain(outlets.iter().map(outlet)).collect();
            let on_wall = |k: &usize| {
                if class == Class::Potable { self.indoors(&site.outlets[*k]) } else { 0.0 }
            };
            let known = || Start::known(self.sources.clone());
            let hidden = self.sources.is_empty();
            let starts = if hidden { self.somewhere(&ends) } else { known() };
            let wire = class == Class::Mainline;
            let wired = (0..ends.len()).filter(|_| wire).map(|k| k < boxes.len()).collect();
            let plan = Plan::new(ends, first_root(&starts), Kind::Supply, settings).with_wire(wired);
            let beside = Supply {
                indoors: boxes.iter().map(|_| 0.0).chain(outlets.iter().map(on_wall)).collect(),
                hidden,
                metal: metal_mains(site, class, &boxes, &outlets),
            };
            let system = supply(name, class, settings);
            Arc::new(SystemPrior::new(system, self.shared.clone(), plan, starts, Some(beside)))
        };
        let any = |(_, _, boxes, outlets): &(_, _, Vec<usize>, Vec<usize>)| {
            !boxes.is_empty() || !outlets.is_empty()
        };
        lines.into_iter().filter(any).map(system).collect()
    }

    /// Chance that an outlet is fed by the building it hangs on.
    fn indoors(&self, outlet: &Outlet) -> f64 {
        indoors(outlet, &self.buildings, &self.shared.settings)
    }
}

/// Chance of each outlet of the site to be fed by the building it hangs on: 1 or 0 where the document says.
///
/// # Examples
/// ```
/// use underturf::model::house_fed_chances;
/// use underturf::site::io::parse_toml;
/// let text = underturf::example::LAWN.to_owned()
///     + "outlets = [{ id = 'bib', x = 8, y = -1.9, kind = 'hose_bib' }, { id = 'post', x = 0, y = 3, kind = 'hose_bib' }]";
/// assert_eq!(house_fed_chances(&parse_toml(&text)?), [0.85, 0.0], "on a wall, and in the open");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn house_fed_chances(site: &Site) -> Vec<f64> {
    let buildings = outlines(site, &[ObstacleKind::Building]);
    site.outlets.iter().map(|outlet| indoors(outlet, &buildings, &site.settings)).collect()
}

fn indoors(outlet: &Outlet, buildings: &[Polygon], settings: &Settings) -> f64 {
    let on_wall = buildings
        .iter()
        .any(|outline| outline.contains(outlet.at) || outline.distance_to_boundary(outlet.at) <= ON_WALL_M);
    match (on_wall, outlet.fed) {
        _ if outlet.kind == OutletKind::QuickCoupler => 0.0,
        (_, Some(OutletFeed::Ground)) | (false, None) => 0.0,
        (_, Some(OutletFeed::House)) => 1.0,
        (true, None) => settings.house_fed_share,
    }
}

/// By case, the metal lines that carry the water of a system with these boxes and outlets as its nodes.
fn metal_mains(site: &Site, class: Class, boxes: &[usize], outlets: &[usize]) -> Vec<Vec<MetalMain>> {
    let place = |own: &[usize], ends: &[usize]| -> Vec<usize> {
        ends.iter().filter_map(|end| own.iter().position(|own| own == end)).collect()
    };
    let main = |line: &SupplyLine| MetalMain {
        course: line.course.clone(),
        wire: line.wire,
        fed: line.fed,
        sources: line.sources.clone(),
        nodes: place(boxes, &line.boxes)
            .into_iter()
            .chain(place(outlets, &line.outlets).into_iter().map(|k| boxes.len() + k))
            .collect(),
    };
    let of_case =
        |lines: &Vec<SupplyLine>| lines.iter().filter(|line| line.class == class).map(main).collect();
    site.metal_supply.iter().flat_map(|metal| &metal.cases).map(of_case).collect()
}

/// Obstacles that no pipe passes through.
const SOLID: [ObstacleKind; 2] = [ObstacleKind::Building, ObstacleKind::Pool];

fn node(at: Point) -> Node {
    Node { at, sd_m: BOX_SD_M }
}

/// Where pipe from a valve, meter or outlet comes out of the ground's buildings: at the nearest point of the wall, if it stands
/// inside one (in a basement, or a hose bib that was measured a hand's breadth behind the wall it hangs on). Nobody digs under
/// a building, so how pipe runs there does not matter.
fn leaving(at: Point, buildings: &[Polygon]) -> Point {
    let inside = buildings.iter().find(|outline| outline.contains(at));
    inside.map_or(at, |outline| outline.nearest_on_boundary(at))
}

fn first_root(starts: &[Start]) -> Option<Point> {
    starts.first().and_then(|start| start.roots.first()).map(|root| root.at)
}

fn lateral(settings: &Settings) -> System {
    System {
        name: String::new(),
        class: Class::Lateral,
        radius_m: 0.5 * settings.lateral_diameter_m,
        cover: Cover {
            mean_m: settings.lateral_cover_m,
            level_sd_m: settings.lateral_cover_sd_m,
            run_sd_m: settings.run_cover_sd_m,
            least_m: settings.lateral_cover_least_m,
            greatest_m: settings.lateral_cover_greatest_m,
            paving_m: settings.paving_cover_m,
        },
    }
}

fn supply(name: &str, class: Class, settings: &Settings) -> System {
    let run_sd_m = settings.run_cover_sd_m;
    System {
        name: name.to_owned(),
        class,
        radius_m: 0.5 * settings.mainline_diameter_m,
        cover: Cover {
            mean_m: settings.mainline_cover_m,
            level_sd_m: (settings.mainline_cover_sd_m.powi(2) - run_sd_m.powi(2)).max(0.0).sqrt(),
            run_sd_m,
            least_m: settings.mainline_cover_least_m,
            greatest_m: settings.mainline_cover_greatest_m,
            paving_m: settings.paving_cover_m,
        },
    }
}

fn outlines(site: &Site, kinds: &[ObstacleKind]) -> Vec<Polygon> {
    let chosen = site.obstacles.iter().filter(|o| kinds.contains(&o.kind));
    chosen.map(|o| o.outline.clone()).collect()
}

fn ground(site: &Site) -> Ground {
    let settings = &site.settings;
    let ground = Ground::new(
        outlines(site, &SOLID),
        outlines(site, &[ObstacleKind::Paving]),
        site.boundary.clone(),
        settings.obstacle_clearance_m,
        settings.crossing_factor,
    );
    ground.with_evidence(
        Trees::new(&site.trees, settings),
        Drawings::new(&site.sketches, settings),
        Silence::new(&site.swept, &site.flags, settings),
    )
}
