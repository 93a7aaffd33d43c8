//! What a site says of its metal: items that lie on lines, fixtures where lines may end, ground that was swept.
//!
//! An item is a place with a sideways error on a line: a detector flag, a point along a mark, an end of a service, a line
//! that a probe met. Marks are taken every few metres; their paint has one error in common, so each of their points is given
//! the variance that makes the mean of all as uncertain as one.

use super::class_law::{self, ByClass, Fixture};
use super::law::Law;
use crate::class::Class;
use crate::geometry::{Point, Polygon};
use crate::site::document::ObstacleKind;
use crate::site::{DigShape, Mark, Service, Site};

/// Marks are taken at points so far apart, metres. Numerical choice.
const MARK_STEP_M: f64 = 3.0;

/// Least standard deviation of any item, metres: nobody reads a tape closer. Practice.
const LEAST_SD_M: f64 = 0.02;

/// Standard deviation of a service's end, metres: a meter or an entry in a wall, as seen. Practice.
const END_SD_M: f64 = 0.15;

/// What an item is, with its index in the document.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// A detector flag.
    Flag(usize),
    /// A point of a mark.
    Mark(usize),
    /// An end of a service.
    Service(usize),
    /// A place that a service is known to pass.
    Passed(usize),
    /// A line that a probe met.
    Probe(usize),
}

/// A place on a metal line.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Where it stands, metres.
    pub at: Point,
    /// Standard deviation of its sideways place, metres.
    pub sd_m: f64,
    /// What it is.
    pub origin: Origin,
    /// Index among the names that are written at flags.
    pub name: Option<usize>,
    /// Log likelihood of what is said of its class, for each class.
    pub class: Option<ByClass>,
    /// Depth of the line's top that was told, metres, and its standard deviation.
    pub depth: Option<(f64, f64)>,
}

impl Item {
    /// Whether it is a detector flag.
    pub fn is_flag(&self) -> bool {
        matches!(self.origin, Origin::Flag(_))
    }
}

/// All that bears on the metal of a site.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// Items: flags in the order of the list, then marks, services, probes.
    pub items: Vec<Item>,
    /// Number of flags.
    pub flags: usize,
    /// Number of names that are written at flags.
    pub names: usize,
    /// Fixtures where lines may end, with their places.
    pub fixtures: Vec<(Fixture, Point)>,
    /// Grid bearings with their probabilities before the metal is asked.
    pub bearings: Vec<(f64, f64)>,
    /// Area of the ground, m2.
    pub area_m2: f64,
    /// Buildings and pools: no line passes through.
    pub solid: Vec<Polygon>,
    /// Ground that was swept in silence where no flag stands, with the chance that a line under it would have sounded.
    pub swept: Vec<(Polygon, f64)>,
    /// For each mark of the document, the chance that it marks nothing where nothing else lies on it.
    pub false_marks: Vec<f64>,
    /// The constants.
    pub law: Law,
}

impl Evidence {
    /// What a site says; `None` where nothing on it tells of metal.
    pub fn of(site: &Site, bearings: &[(f64, f64)], law: Law) -> Option<Self> {
        let mut names: Vec<String> = Vec::new();
        let mut items = flags(site, &law, &mut names);
        let flags = items.len();
        for (index, mark) in site.marks.iter().enumerate() {
            match mark.by_probe {
                Some(probe) => items.push(met(site, mark, probe, &law)),
                None => items.extend(of_mark(mark, index, site)),
            }
        }
        for (index, service) in site.services.iter().enumerate() {
            items.extend(of_service(service, index, &law));
        }
        if items.is_empty() {
            return None;
        }
        let solid = |kind| matches!(kind, ObstacleKind::Building | ObstacleKind::Pool);
        Some(Self {
            area_m2: area_m2(site, &items),
            flags,
            names: names.len(),
            fixtures: fixtures(site),
            bearings: bearings.to_vec(),
            solid: site.obstacles.iter().filter(|o| solid(o.kind)).map(|o| o.outline.clone()).collect(),
            swept: site
                .swept
                .iter()
                .map(|it| (it.outline.clone(), it.p_detect.unwrap_or(site.settings.sweep_detect)))
                .collect(),
            false_marks: site.marks.iter().map(|mark| false_mark(mark, site, &law)).collect(),
            items,
            law,
        })
    }
}

impl Evidence {
    /// Whether something on the site names this class.
    pub fn says(&self, class: Class) -> bool {
        let likeliest = |said: &ByClass| (0..said.len()).max_by(|a, b| said[*a].total_cmp(&said[*b]));
        let place = class_law::place(class);
        place.is_some()
            && self.items.iter().filter_map(|item| item.class.as_ref()).any(|said| likeliest(said) == place)
    }
}

/// Log likelihood of a stated class for each true one.
fn said(class: Class, error: f64) -> Option<ByClass> {
    let stated = class_law::place(class).filter(|_| class != Class::Unknown)?;
    let others = class_law::CLASSES.len() - 1;
    Some(std::array::from_fn(|c| if c == stated { 1.0 - error } else { error / others as f64 }.ln()))
}

fn flags(site: &Site, law: &Law, names: &mut Vec<String>) -> Vec<Item> {
    let of = |(index, flag): (usize, &crate::site::Flag)| {
        let name = flag.line.as_ref().map(|line| {
            names.iter().position(|known| known == line).unwrap_or_else(|| {
                names.push(line.clone());
                names.len() - 1
            })
        });
        let by_name = flag.line.as_deref().and_then(class_law::named);
        Item {
            at: flag.at,
            sd_m: flag.sd_m.max(LEAST_SD_M),
            origin: Origin::Flag(index),
            name,
            // A name is one statement of the whole line: each flag repeats it, and only the first on a line counts.
            class: match flag.class {
                Some(class) => said(class, law.class_error),
                None => by_name.and_then(|place| said(class_law::CLASSES[place], law.class_error)),
            },
            depth: flag.depth_m.map(|depth| (depth, (law.depth_error * depth).max(0.05))),
        }
    };
    site.flags.iter().enumerate().map(of).collect()
}

/// A mark that ages is less exact, and may mark nothing any more; both grow by the life of a ticket (python/docs/model.md,
/// 14.5).
fn of_mark(mark: &Mark, index: usize, site: &Site) -> Vec<Item> {
    let lives = mark.age_days / site.settings.mark_life_days;
    let sd_m = mark.sd_m.max(LEAST_SD_M).hypot(site.settings.mark_drift_m * lives.sqrt());
    let length: f64 = mark.path.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let count = (length / MARK_STEP_M).ceil().max(1.0) as usize + 1;
    let sd_m = sd_m * (count as f64).sqrt();
    let item = |k: usize| Item {
        at: along(&mark.path, length * k as f64 / (count - 1) as f64),
        sd_m,
        origin: Origin::Mark(index),
        name: None,
        class: if k == 0 { said(mark.class, site.settings.metal_class_error) } else { None },
        depth: None,
    };
    (0..count).map(item).collect()
}

fn false_mark(mark: &Mark, site: &Site, law: &Law) -> f64 {
    let left = (1.0 - site.settings.mark_fade).powf(mark.age_days / site.settings.mark_life_days);
    1.0 - (1.0 - law.false_mark) * left
}

fn met(site: &Site, mark: &Mark, probe: usize, law: &Law) -> Item {
    let dug = &site.probes[probe];
    let at = mark.path.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / mark.path.len() as f64);
    let reach = match &dug.shape {
        DigShape::Disc { radius_m, .. } => 0.5 * radius_m,
        _ => mark.sd_m,
    };
    Item {
        at,
        sd_m: reach.max(LEAST_SD_M),
        origin: Origin::Probe(probe),
        name: None,
        class: said(mark.class, 0.2 * law.class_error),
        depth: dug.cover_m.map(|cover| (cover, 0.02)),
    }
}

fn of_service(service: &Service, index: usize, law: &Law) -> Vec<Item> {
    let ends = [service.from, service.to].map(|at| (at, Origin::Service(index)));
    let passed = service.path.iter().map(|at| (*at, Origin::Passed(index)));
    let item = |(at, origin)| Item {
        at,
        sd_m: END_SD_M,
        origin,
        name: None,
        class: if origin == Origin::Service(index) {
            said(service.class, 0.2 * law.class_error)
        } else {
            None
        },
        depth: None,
    };
    ends.into_iter().chain(passed).map(item).collect()
}

/// The point of a path so far from its start.
fn along(path: &[Point], mut left: f64) -> Point {
    for pair in path.windows(2) {
        let length = pair[0].distance(pair[1]);
        if left <= length && length > 0.0 {
            return pair[0].towards(pair[1], left / length);
        }
        left -= length;
    }
    path[path.len() - 1]
}

fn fixtures(site: &Site) -> Vec<(Fixture, Point)> {
    let sources = site.sources.iter().map(|it| (Fixture::Source(it.kind), it.at));
    let outlets = site.outlets.iter().map(|it| (Fixture::Outlet(it.kind), it.at));
    let boxes = site.valve_boxes.iter().map(|it| (Fixture::ValveBox, it.at));
    sources.chain(outlets).chain(boxes).collect()
}

/// The ground inside the boundary, else about the items, m2.
fn area_m2(site: &Site, items: &[Item]) -> f64 {
    if let Some(boundary) = &site.boundary {
        return boundary.signed_area().abs().max(1.0);
    }
    let span = |of: fn(Point) -> f64| {
        let (low, high) = items
            .iter()
            .map(|item| of(item.at))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        high - low + 4.0
    };
    span(|p| p.x) * span(|p| p.y)
}
