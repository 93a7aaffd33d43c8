//! From a document that has passed every check to the site in metres.

use super::checked_site::Site;
use super::clean;
use super::day::days_between;
use super::direction::angle_rad;
use super::document::{
    Document, HeadEntry, HeadKind, Method, PlantTable, QualityLevel, Tool, Vigour, Xy, standard_deviation,
};
use super::fault::{Fault, FaultKind, SiteFaults};
use super::items::{
    Dig, Flag, Head, Mark, Obstacle, Outlet, Plant, Probe, Service, Sketch, Source, StationTest, Swept, Tree,
    ValveBox, Zone,
};
use super::keep_off;
use super::merge;
use super::nameless;
use super::shape::{self, DigShape, Written};
use super::walls::{OTHER_SD_M, Thing, Walls};
use crate::geometry::{Point, Polygon};
use crate::planting::Setback;
use crate::settings::Settings;
use serde::Deserialize;
use serde::de::value::{Error as ValueError, MapDeserializer};

/// The site of a checked document. A fault here means that a check was forgotten; it is still reported as one.
pub(super) fn site(document: Document) -> Result<Site, SiteFaults> {
    let scale = Scale(document.units.metres_per_unit());
    let flow = document.units.litres_per_second_per_unit();
    let walls = Walls::new(&document);
    let merged = merge::heads(&document);
    let mut zones = zones(&merged.entries, &document);
    let mut valve_boxes = valve_boxes(&document, &zones, scale, &walls);
    nameless::add(&merged.entries, &mut valve_boxes, &mut zones);
    nameless::mark_unseen(&merged.entries, &mut zones);
    let heads: Vec<Head> = merged
        .entries
        .iter()
        .map(|it| (it, scale.or(standard_deviation(it.sd, it.accuracy_95), Head::SD_M)))
        .map(|(it, sd_m)| Head {
            id: it.id.clone(),
            at: walls.put(scale.point([it.x, it.y]), sd_m, Thing::Head),
            kind: it.kind.unwrap_or(HeadKind::Other),
            zone: it.zone.as_ref().and_then(|name| index_of(&zones, name)),
            sd_m,
            radius_m: scale.optional(it.radius),
            arc_deg: it.arc_deg,
            flow_l_s: it.flow.map(|value| value * flow),
        })
        .collect();
    let settings = settings(&document)?;
    let flags = flags(&document, scale);
    let other = |at: Xy| walls.put(scale.point(at), OTHER_SD_M, Thing::Other);
    let probes =
        (0..document.probes.len()).map(|index| probe(&document, index)).collect::<Result<Vec<_>, _>>()?;
    let mut marks = marks(&document, scale);
    marks.extend(probes.iter().enumerate().filter_map(|(index, probe)| met_by(index, probe)));
    Ok(Site {
        bearing_evidence: Vec::new(),
        metal_supply: None,
        name: document.name.clone(),
        units: document.units,
        frame: document.frame.clone(),
        boundary: document.boundary.as_deref().map(|ring| scale.polygon(ring)),
        valve_boxes,
        sources: document
            .sources
            .iter()
            .map(|it| Source { id: it.id.clone(), at: other([it.x, it.y]), kind: it.kind })
            .collect(),
        outlets: document
            .outlets
            .iter()
            .map(|it| Outlet { id: it.id.clone(), at: other([it.x, it.y]), kind: it.kind, fed: it.fed })
            .collect(),
        obstacles: document
            .obstacles
            .iter()
            .enumerate()
            .map(|(i, it)| Obstacle {
                kind: it.kind,
                outline: scale.polygon(&it.outline),
                place: format!("obstacles[{i}]"),
            })
            .collect(),
        trees: document
            .trees
            .iter()
            .map(|it| Tree { at: scale.point([it.x, it.y]), stem_diameter_m: scale.length(it.stem_diameter) })
            .collect(),
        station_tests: station_tests(&document, &zones, &merged.index_of),
        probes,
        keep_offs: keep_off::keep_offs(&flags, settings.flag_clearance_m),
        flags,
        settings,
        swept: document
            .swept
            .iter()
            .map(|it| Swept { outline: scale.polygon(&it.outline), p_detect: it.p_detect })
            .collect(),
        marks,
        services: document
            .services
            .iter()
            .map(|it| Service {
                class: it.class,
                from: scale.point(it.from),
                to: scale.point(it.to),
                path: scale.path(it.path.as_deref().unwrap_or_default()),
            })
            .collect(),
        sketches: document
            .sketches
            .iter()
            .map(|it| Sketch { path: scale.path(&it.path), trust: it.trust })
            .collect(),
        digs: digs(&document, scale)?,
        heads,
        zones,
        notes: Vec::new(),
        document,
    })
}

/// Metres in one unit of the document.
#[derive(Clone, Copy)]
struct Scale(f64);

impl Scale {
    fn length(self, value: f64) -> f64 {
        value * self.0
    }

    fn optional(self, value: Option<f64>) -> Option<f64> {
        value.map(|value| self.length(value))
    }

    fn or(self, value: Option<f64>, default_m: f64) -> f64 {
        value.map_or(default_m, |value| self.length(value))
    }

    fn point(self, at: Xy) -> Point {
        Point::from(at) * self.0
    }

    /// A path without survey noise.
    fn path(self, points: &[Xy]) -> Vec<Point> {
        let points: Vec<Point> = points.iter().map(|&at| self.point(at)).collect();
        clean::path(&points).of(&points)
    }

    /// An outline without survey noise.
    fn polygon(self, corners: &[Xy]) -> Polygon {
        let corners: Vec<Point> = corners.iter().map(|&at| self.point(at)).collect();
        Polygon::new(clean::outline(&corners).of(&corners))
    }

    fn shape(self, written: Result<Written<'_>, FaultKind>, place: String) -> Result<DigShape, SiteFaults> {
        written
            .map(|shape| shape.in_metres(self.0))
            .map_err(|what| SiteFaults { faults: vec![Fault { place, what }] })
    }
}

fn settings(document: &Document) -> Result<Settings, SiteFaults> {
    let given = document.settings.iter().map(|(name, value)| (name.as_str(), *value));
    Settings::deserialize(MapDeserializer::new(given)).map_err(|error: ValueError| {
        let what = FaultKind::Refused { message: error.to_string() };
        SiteFaults { faults: vec![Fault { place: "settings".to_owned(), what }] }
    })
}

/// The zones in the order in which heads and then valve boxes first name them.
fn zones(heads: &[HeadEntry], document: &Document) -> Vec<Zone> {
    let mut zones: Vec<Zone> = Vec::new();
    let place_of = |name: &String, zones: &mut Vec<Zone>| {
        index_of(zones, name).unwrap_or_else(|| {
            zones.push(Zone {
                name: name.clone(),
                heads: Vec::new(),
                boxes: Vec::new(),
                optional: false,
                unseen: false,
                nameless: false,
            });
            zones.len() - 1
        })
    };
    for (i, head) in heads.iter().enumerate() {
        if let Some(name) = &head.zone {
            let zone = place_of(name, &mut zones);
            zones[zone].heads.push(i);
        }
    }
    for (i, valve_box) in document.valve_boxes.iter().enumerate() {
        for name in valve_box.zones.iter().flatten() {
            let zone = place_of(name, &mut zones);
            zones[zone].boxes.push(i);
        }
    }
    zones
}

fn index_of(zones: &[Zone], name: &str) -> Option<usize> {
    zones.iter().position(|zone| zone.name == name)
}

fn valve_boxes(document: &Document, zones: &[Zone], scale: Scale, walls: &Walls) -> Vec<ValveBox> {
    let count = |number: u32| number as usize;
    document
        .valve_boxes
        .iter()
        .map(|it| ValveBox {
            id: it.id.clone(),
            at: walls.put(scale.point([it.x, it.y]), OTHER_SD_M, Thing::Other),
            zones: it.zones.iter().flatten().filter_map(|name| index_of(zones, name)).collect(),
            valves: it.valves.map(count),
            spare: it.spare.map_or(0, count),
        })
        .collect()
}

/// Station tests; a head that was written twice came up if either did.
fn station_tests(document: &Document, zones: &[Zone], index_of_head: &[usize]) -> Vec<StationTest> {
    let head = |id: &String| document.heads.iter().position(|head| head.id == *id).map(|i| index_of_head[i]);
    let heads = |ids: &[String]| {
        let mut heads: Vec<usize> = Vec::with_capacity(ids.len());
        for index in ids.iter().filter_map(head) {
            if !heads.contains(&index) {
                heads.push(index);
            }
        }
        heads
    };
    let valve_box = |id: &String| document.valve_boxes.iter().position(|item| item.id == *id);
    document
        .station_tests
        .iter()
        .map(|it| StationTest {
            zone: it.zone.as_ref().and_then(|name| index_of(zones, name)),
            valve_box: it.valve.as_ref().and_then(valve_box),
            heads: heads(&it.heads),
            error: it.error,
        })
        .collect()
}

fn flags(document: &Document, scale: Scale) -> Vec<Flag> {
    let flag = |it: &super::document::FlagEntry| Flag {
        at: scale.point([it.x, it.y]),
        sd_m: scale.or(standard_deviation(it.sd, it.accuracy_95), Flag::SD_M),
        line: it.line.clone(),
        class: it.class,
        depth_m: scale.optional(it.depth),
    };
    document.flags.iter().map(flag).collect()
}

fn marks(document: &Document, scale: Scale) -> Vec<Mark> {
    let mark = |it: &super::document::MarkEntry| Mark {
        class: it.class,
        path: scale.path(&it.path),
        sd_m: scale.or(standard_deviation(it.sd, it.accuracy_95), Mark::sd_m_of(it.quality)),
        half_zone_m: scale.optional(it.half_zone),
        quality: it.quality,
        date: it.date.clone(),
        age_days: age_days(document, it),
        by_probe: None,
    };
    document.marks.iter().map(mark).collect()
}

fn age_days(document: &Document, mark: &super::document::MarkEntry) -> f64 {
    let days = mark.date.as_deref().zip(document.date.as_deref());
    days.and_then(|(set, now)| days_between(set, now)).map_or(0.0, |days| days.max(0) as f64)
}

/// A mark where a probe met a line of a utility. Whoever lays gas or power bare knows more of it than any mark tells (quality
/// level A of the utility engineering standards, python/docs/trade-values.md, 4.6); nobody digs beside it by probability.
pub(super) fn met_by(index: usize, probe: &Probe) -> Option<Mark> {
    let class = probe.class.filter(|class| probe.found && class.is_utility())?;
    let ground = probe.shape.footprint();
    let (middle, (low, high)) = (ground.reference(), ground.bounds());
    let half = 0.5 * (high - low).x.max((high - low).y);
    let path = match (&probe.shape, probe.angle_rad) {
        (_, Some(angle_rad)) => {
            let along = Point::unit(angle_rad) * half;
            vec![middle - along, middle + along]
        }
        (DigShape::Trench { path, .. }, None) => path.clone(),
        _ => vec![middle],
    };
    let (sd_m, quality) = (0.0, Some(QualityLevel::A));
    Some(Mark {
        class,
        path,
        sd_m,
        half_zone_m: None,
        quality,
        date: None,
        age_days: 0.0,
        by_probe: Some(index),
    })
}

/// The probe at that place of the document's list.
pub(super) fn probe(document: &Document, index: usize) -> Result<Probe, SiteFaults> {
    let (it, scale) = (&document.probes[index], Scale(document.units.metres_per_unit()));
    let turned = document.frame.as_ref().and_then(|frame| frame.azimuth_deg).unwrap_or(0.0);
    let tool = it.tool.unwrap_or(Tool::Pothole);
    Ok(Probe {
        shape: scale.shape(shape::of_probe(it), format!("probes[{index}]"))?,
        depth_m: scale.length(it.depth),
        found: it.found,
        class: it.class,
        angle_rad: it.azimuth_deg.map(|azimuth| angle_rad(azimuth, turned)),
        cover_m: scale.optional(it.cover),
        tool,
        p_detect: it.p_detect.unwrap_or(Probe::p_detect_of(tool)),
        p_false: it.p_false.unwrap_or(Probe::P_FALSE),
    })
}

fn digs(document: &Document, scale: Scale) -> Result<Vec<Dig>, SiteFaults> {
    let dig = |(i, it)| {
        let it: &super::document::DigEntry = it;
        Ok(Dig {
            id: document.dig_name(i),
            shape: scale.shape(shape::of_dig(it), format!("digs[{i}]"))?,
            depth_m: scale.length(it.depth),
            method: it.method.unwrap_or(Method::Hand),
            tree: it.tree.as_ref().map(|entry| plant(&entry.table(), scale)),
            drawn: None,
        }
        .into_dug())
    };
    document.digs.iter().enumerate().map(dig).collect()
}

fn plant(table: &PlantTable, scale: Scale) -> Plant {
    Plant {
        size: table.size,
        vigour: table.vigour.unwrap_or(Vigour::Ordinary),
        caliper_m: scale.optional(table.caliper),
        container: table.container,
        root_radius_m: scale.optional(table.root_radius),
        setback: table.setback.as_deref().and_then(Setback::named),
    }
}
