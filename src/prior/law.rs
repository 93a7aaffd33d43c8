//! The law of layouts of one site: systems, bearings and outer states, each state built at its first use.

use super::bearing::{Bearing, posterior};
use super::direct;
use super::drawings::Drawings;
use super::explained::favours;
use super::ground::Ground;
use super::header;
use super::labels::Labelling;
use super::plan::{Node, PairRun, Plan};
use super::roots::{Start, hidden, one_of};
use super::silence::Silence;
use super::trees::Trees;
use super::zone::{Recipe, Zone};
use super::{chain, split};
use crate::class::Class;
use crate::error::Error;
use crate::evidence::Site;
use crate::evidence::document::{HeadKind, ObstacleKind, OutletKind};
use crate::geometry::{Point, Polygon};
use crate::layout::{Cover, Floor, Kind, OuterLaw, OuterState, System};
use crate::settings::Settings;
use std::sync::{Arc, OnceLock};

/// Zones with fewer heads than this are always piped `direct` (design section 2).
const SEVERAL_HEADS: usize = 3;

/// Survey error of boxes, sources and outlets, metres: a valve stands somewhere in a box of 0.43 x 0.30 m (trade
/// values 3.21c).
const BOX_SD_M: f64 = 0.1;

/// Which families a system may follow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Habit {
    Zone,
    Supply,
}

/// One system before its outer states are built.
struct Sketch {
    plan: Arc<Plan>,
    starts: Vec<Start>,
    habit: Habit,
}

/// The outer states of one system at one bearing.
struct Ready {
    recipes: Vec<Recipe>,
    probabilities: Vec<f64>,
    states: Vec<OnceLock<Option<Arc<OuterState>>>>,
}

/// The law of layouts of one site.
pub struct Law {
    settings: Arc<Settings>,
    ground: Arc<Ground>,
    bearings: Vec<Bearing>,
    bearing_probabilities: Vec<f64>,
    systems: Vec<System>,
    sketches: Vec<Sketch>,
    ready: Vec<OnceLock<Ready>>,
    floor: Floor,
}

impl Law {
    /// The law of a site's layouts with the zones as written.
    ///
    /// # Errors
    /// [`Error::UnlabelledHeads`] if heads carry no zone, [`Error::NoLayout`] if some end of a system cannot be reached.
    pub fn new(site: &Site) -> Result<Self, Error> {
        Self::with_labels(site, &Labelling::written(site)?)
    }

    /// The law of a site's layouts with the zones of a labelling: what is written at the heads is not looked at.
    ///
    /// # Errors
    /// [`Error::NoLayout`] if some end of a system cannot be reached.
    pub fn with_labels(site: &Site, labelling: &Labelling) -> Result<Self, Error> {
        let members = labelling.members(site.zones.len());
        let settings = Arc::new(site.settings.clone());
        let outlines = |kinds: &[ObstacleKind]| -> Vec<Polygon> {
            let chosen = site.obstacles.iter().filter(|o| kinds.contains(&o.kind));
            chosen.map(|o| o.outline.clone()).collect()
        };
        let solids = outlines(&[ObstacleKind::Building, ObstacleKind::Pool]);
        let ground = Ground::new(
            solids,
            outlines(&[ObstacleKind::Paving]),
            site.boundary.clone(),
            settings.obstacle_clearance_m,
            settings.crossing_factor,
        );
        let ground = Arc::new(ground.with_evidence(
            Trees::new(&site.trees, &settings),
            Drawings::new(&site.sketches, &settings),
            Silence::new(&site.swept, &site.flags, &settings),
        ));
        let bearings = posterior(&groups(site), &straight_edges(site), &settings);
        let (systems, sketches) =
            sketch_systems(site, &members, &outlines(&[ObstacleKind::Building]), &settings);
        let floor = Floor {
            density_per_m: settings.floor_density_per_m,
            cover_m: settings.floor_cover_m,
            cover_sd_m: settings.floor_cover_sd_m,
            radius_m: 0.5 * settings.lateral_diameter_m,
        };
        let law = Self {
            bearing_probabilities: bearings.iter().map(|b| b.probability).collect(),
            ready: (0..bearings.len() * systems.len()).map(|_| OnceLock::new()).collect(),
            settings,
            ground,
            bearings,
            systems,
            sketches,
            floor,
        };
        law.check_reach(site)?;
        Ok(law)
    }

    /// The grid bearings with their posterior probabilities.
    pub fn grid_bearings(&self) -> &[Bearing] {
        &self.bearings
    }

    /// Every end of every system can be reached: if at one bearing, then at all, since the ways round do not turn.
    fn check_reach(&self, site: &Site) -> Result<(), Error> {
        for (system, sketch) in self.sketches.iter().enumerate() {
            let possible = (0..self.state_probabilities(0, system).len())
                .any(|state| self.state(0, system, state).is_some());
            if !possible {
                let roots = sketch.starts.iter().flat_map(|start| &start.roots);
                let blocked = roots.flat_map(|root| {
                    sketch.plan.nodes.iter().filter_map(|node| self.ground.blocked_by(root.at, node.at))
                });
                let solids = site
                    .obstacles
                    .iter()
                    .filter(|o| matches!(o.kind, ObstacleKind::Building | ObstacleKind::Pool));
                let place = blocked.min().and_then(|k| solids.map(|o| o.place.clone()).nth(k));
                return Err(Error::NoLayout { system: self.systems[system].name.clone(), obstacle: place });
            }
        }
        Ok(())
    }

    fn ready(&self, bearing: usize, system: usize) -> &Ready {
        self.ready[bearing * self.systems.len() + system].get_or_init(|| {
            let sketch = &self.sketches[system];
            let bearing_rad = self.bearings[bearing].rad;
            let pairs: Arc<[PairRun]> =
                sketch.plan.pair_runs(&self.ground, bearing_rad, &self.settings).into();
            let (mut recipes, mut probabilities) = (Vec::new(), Vec::new());
            for Start { roots, probability } in &sketch.starts {
                let zone = Arc::new(Zone {
                    plan: sketch.plan.clone(),
                    pairs: pairs.clone(),
                    valve: roots[0],
                    ground: self.ground.clone(),
                    bearing_rad,
                    settings: self.settings.clone(),
                });
                for (share, family) in self.families(sketch, &zone, roots) {
                    for recipe in family {
                        probabilities.push(probability * share * recipe.share);
                        recipes.push(recipe);
                    }
                }
            }
            let mut states: Vec<_> = recipes.iter().map(|_| OnceLock::new()).collect();
            if !self.ground.drawings().is_empty() {
                let built: Vec<_> = recipes.iter().map(|recipe| (recipe.build)().map(Arc::new)).collect();
                let favours = favours(self.ground.drawings(), &built, sketch.plan.spacing_m);
                let before: f64 = probabilities.iter().sum();
                probabilities.iter_mut().zip(favours).for_each(|(p, favour)| *p *= favour);
                let after: f64 = probabilities.iter().sum();
                probabilities.iter_mut().for_each(|p| *p *= before / after);
                states = built.into_iter().map(OnceLock::from).collect();
            }
            Ready { recipes, probabilities, states }
        })
    }

    /// The routing families of a system with their shares.
    fn families(&self, sketch: &Sketch, zone: &Arc<Zone>, roots: &[Node]) -> Vec<(f64, Vec<Recipe>)> {
        let settings = &self.settings;
        let mut families = Vec::new();
        if sketch.habit == Habit::Zone && sketch.plan.nodes.len() >= SEVERAL_HEADS {
            families.push((settings.header_share, header::recipes(zone)));
            families.push((settings.split_share, split::recipes(zone)));
            families.push((settings.chain_share, chain::recipes(zone)));
        }
        let rest = 1.0 - families.iter().map(|(share, _)| share).sum::<f64>();
        let kind = if sketch.habit == Habit::Zone { Kind::ValveLink } else { Kind::Supply };
        let (zone, roots) = (zone.clone(), roots.to_vec());
        let direct = move || direct::state(&zone, &roots, kind);
        families.push((rest.max(0.0), vec![Recipe::new(1.0, direct)]));
        families
    }
}

impl OuterLaw for Law {
    fn bearings(&self) -> &[f64] {
        &self.bearing_probabilities
    }

    fn systems(&self) -> &[System] {
        &self.systems
    }

    fn state_probabilities(&self, bearing: usize, system: usize) -> &[f64] {
        &self.ready(bearing, system).probabilities
    }

    fn state(&self, bearing: usize, system: usize, state: usize) -> Option<Arc<OuterState>> {
        let ready = self.ready(bearing, system);
        ready.states[state].get_or_init(|| (ready.recipes[state].build)().map(Arc::new)).clone()
    }

    fn floor(&self) -> &Floor {
        &self.floor
    }
}

/// Heads of one kind were laid out together.
fn groups(site: &Site) -> Vec<Vec<Point>> {
    let kinds = [HeadKind::Spray, HeadKind::Rotor, HeadKind::Bubbler, HeadKind::Drip, HeadKind::Other];
    let of_kind =
        |kind| site.heads.iter().filter(move |head| head.kind == kind).map(|head| head.at).collect();
    kinds.into_iter().map(of_kind).collect()
}

/// Straight edges that a grid may follow.
fn straight_edges(site: &Site) -> Vec<(Point, Point)> {
    let lined =
        site.obstacles.iter().filter(|o| matches!(o.kind, ObstacleKind::Building | ObstacleKind::Paving));
    let outlines = lined.map(|o| &o.outline).chain(&site.boundary);
    outlines.flat_map(|outline| outline.edges().collect::<Vec<_>>()).collect()
}

/// The systems of a site: a zone's laterals each, the mainline, the potable line.
fn sketch_systems(
    site: &Site,
    members: &[Vec<usize>],
    buildings: &[Polygon],
    settings: &Settings,
) -> (Vec<System>, Vec<Sketch>) {
    let node = |at: Point, sd_m: f64| Node { at, sd_m };
    let boxes: Vec<Node> = site.valve_boxes.iter().map(|b| node(b.at, BOX_SD_M)).collect();
    let sources: Vec<Node> = site.sources.iter().map(|s| node(s.at, BOX_SD_M)).collect();
    let somewhere = |ends: &[Node]| hidden(ends, &sources, buildings, site.boundary.as_ref());
    let (mut systems, mut sketches) = (Vec::new(), Vec::new());
    for (index, zone) in site.zones.iter().enumerate() {
        let heads: Vec<Node> =
            members[index].iter().map(|&h| node(site.heads[h].at, site.heads[h].sd_m)).collect();
        let listed: Vec<Node> = zone.boxes.iter().map(|&b| boxes[b]).collect();
        let open: Vec<Node> = (0..boxes.len()).filter(|&b| has_room(site, b)).map(|b| boxes[b]).collect();
        let starts = match (listed.is_empty(), boxes.is_empty()) {
            (false, _) => one_of(&listed, &heads),
            (true, false) => one_of(if open.is_empty() { &boxes } else { &open }, &heads),
            (true, true) => somewhere(&heads),
        };
        systems.push(System {
            name: format!("zone {}", site.zones[index].name),
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
        });
        let root = starts.first().map(|start| start.roots[0].at);
        let plan = Arc::new(Plan::new(heads, root, Kind::Run, settings));
        sketches.push(Sketch { plan, starts, habit: Habit::Zone });
    }
    let outlet = |coupler: bool| {
        let chosen = site.outlets.iter().filter(move |o| (o.kind == OutletKind::QuickCoupler) == coupler);
        chosen.map(|o| node(o.at, BOX_SD_M)).collect::<Vec<_>>()
    };
    let couplers = outlet(true);
    let on_main: Vec<Node> = boxes.iter().chain(&couplers).copied().collect();
    let wired: Vec<bool> = (0..on_main.len()).map(|k| k < boxes.len()).collect();
    for (name, class, ends, wired) in [
        ("mainline", Class::Mainline, on_main, wired),
        ("potable", Class::Potable, outlet(false), Vec::new()),
    ] {
        if ends.is_empty() {
            continue;
        }
        let starts = if sources.is_empty() { somewhere(&ends) } else { Start::known(sources.clone()) };
        systems.push(System {
            name: name.to_owned(),
            class,
            radius_m: 0.5 * settings.mainline_diameter_m,
            cover: Cover {
                mean_m: settings.mainline_cover_m,
                level_sd_m: (settings.mainline_cover_sd_m.powi(2) - settings.run_cover_sd_m.powi(2))
                    .max(0.0)
                    .sqrt(),
                run_sd_m: settings.run_cover_sd_m,
                least_m: settings.mainline_cover_least_m,
                greatest_m: settings.mainline_cover_greatest_m,
                paving_m: settings.paving_cover_m,
            },
        });
        let root = starts.first().map(|start| start.roots[0].at);
        let plan = Arc::new(Plan::new(ends, root, Kind::Supply, settings).with_wire(wired));
        sketches.push(Sketch { plan, starts, habit: Habit::Supply });
    }
    (systems, sketches)
}

/// Whether a box may hold a valve for a zone that no box lists: a working valve more than zones listed, or nothing said.
pub(super) fn has_room(site: &Site, index: usize) -> bool {
    let held = &site.valve_boxes[index];
    match held.valves {
        Some(valves) => valves.saturating_sub(held.spare) > held.zones.len(),
        None => held.zones.is_empty(),
    }
}
