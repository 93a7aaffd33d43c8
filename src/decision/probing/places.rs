//! Places for probes: cells of a grid within reach of the digs where an exploratory hand dig may go at all.

use super::plan::ProbePlan;
use crate::decision::bars::{bars, is_paved};
use crate::decision::dig::footprint;
use crate::error::{ArgumentError, Error, GridUse, MemoryUse};
use crate::geometry::{Footprint, Point};
use crate::inference::{Layouts, probe_look};
use crate::memory;
use crate::monitor::Monitor;
use crate::site::document::Tool;
use crate::site::{Dig, DigShape, Probe};
use crate::strike::Observation;
use crate::strike::raster::Grid;

/// A grid that nobody asked for is made coarser until it has no more places than this. Numerical choice: a few seconds.
const ENOUGH: usize = 2_000;

/// A grid that was asked for may have so many places: a chance for each place and draw is kept.
const MOST: usize = 20_000;

/// Side of the finest cell that is taken when nothing is said, metres: the radius of a pothole.
const FINE_M: f64 = 0.25;

/// Bytes of a cell of the grid that places are looked for on: whether it is barred, and the place.
const CELL_BYTES: usize = 30;

/// A place for a probe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProbePlace {
    /// Its middle, metres.
    pub at: Point,
    /// Which of the shapes.
    pub turned: usize,
}

/// All places, and what is dug there.
pub struct ProbePlaces {
    pub all: Vec<ProbePlace>,
    /// The probe's ground with its middle at zero: one for a pothole, two for a slit, along the grid and across.
    pub shapes: Vec<Footprint>,
    /// Directions of slits, radians; one entry, none, for a pothole.
    pub bearings: Vec<Option<f64>>,
    plan: ProbePlan,
    pub depth_m: f64,
    pub p_detect: f64,
    pub p_false: f64,
    /// Side of a cell, metres.
    pub cell_m: f64,
}

impl ProbePlaces {
    /// The places within reach of digs.
    pub fn new(
        layouts: &Layouts,
        digs: &[Dig],
        plan: &ProbePlan,
        depth_m: f64,
        monitor: &dyn Monitor,
    ) -> Result<Self, Error> {
        let bearing = layouts
            .bearings()
            .iter()
            .max_by(|a, b| a.probability.total_cmp(&b.probability))
            .map_or(0.0, |bearing| bearing.rad);
        let bearings = match plan.slit_m {
            None => vec![None],
            Some(_) => vec![Some(bearing), Some(bearing + 0.5 * std::f64::consts::PI)],
        };
        let mut places = Self {
            all: Vec::new(),
            shapes: Vec::new(),
            p_detect: plan.p_detect.unwrap_or(Probe::p_detect_of(plan.tool())),
            p_false: plan.p_false.unwrap_or(Probe::P_FALSE),
            plan: plan.clone(),
            bearings,
            depth_m,
            cell_m: plan.cell_m.unwrap_or(FINE_M),
        };
        let shape = |&bearing: &Option<f64>| places.shape_at(Point::default(), bearing).footprint();
        places.shapes = places.bearings.iter().map(shape).collect();
        loop {
            places.all = places.on_grid(layouts, digs, monitor)?;
            let count = places.all.len();
            if plan.cell_m.is_some() && count > MOST {
                let (cell_m, cells) = (places.cell_m, count as f64);
                return Err(
                    ArgumentError::TooManyCells { cell_m, cells, most: MOST, used: GridUse::Probes }.into()
                );
            }
            if plan.cell_m.is_some() || count <= ENOUGH {
                return Ok(places);
            }
            places.cell_m *= (count as f64 / ENOUGH as f64).sqrt().max(1.05);
        }
    }

    fn on_grid(
        &self,
        layouts: &Layouts,
        digs: &[Dig],
        monitor: &dyn Monitor,
    ) -> Result<Vec<ProbePlace>, Error> {
        let grounds: Vec<Footprint> = digs.iter().map(footprint).collect();
        let Some(grid) = self.grid(&grounds) else { return Ok(Vec::new()) };
        memory::check(monitor, MemoryUse::Cells, grid.rows.saturating_mul(grid.cols), CELL_BYTES, 0)?;
        let opened: Vec<Footprint> =
            layouts.site().probes.iter().map(|probe| probe.shape.footprint()).collect();
        let mut found = Vec::new();
        for (turned, shape) in self.shapes.iter().enumerate() {
            let barred = bars(&grid, layouts.site(), shape, monitor)?.barred;
            for ((row, col), barred) in barred.indexed_iter() {
                let at = grid.centre(row, col);
                let near = || grounds.iter().any(|g| g.distance_to_point(at) <= self.plan.reach_m + 1e-9);
                // Ground that is open already holds no news.
                let open = || opened.iter().any(|probe| probe.distance_to_point(at) < 0.5 * self.across_m());
                let paved = || is_paved(layouts.site(), &shape.translated(at));
                if !barred && near() && !open() && !paved() {
                    found.push(ProbePlace { at, turned });
                }
            }
        }
        Ok(found)
    }

    /// A grid over all ground within reach: the middle of the first dig is a place.
    fn grid(&self, grounds: &[Footprint]) -> Option<Grid> {
        let first = grounds.first()?.reference();
        let (mut low, mut high) = grounds[0].bounds();
        for (a, b) in grounds.iter().map(Footprint::bounds) {
            low = Point::new(low.x.min(a.x), low.y.min(a.y));
            high = Point::new(high.x.max(b.x), high.y.max(b.y));
        }
        let cells = |from: f64, to: f64| ((to - from + self.plan.reach_m) / self.cell_m).floor().max(0.0);
        let (west, south) = (cells(low.x, first.x), cells(low.y, first.y));
        let (east, north) = (cells(first.x, high.x), cells(first.y, high.y));
        Some(Grid {
            x0: first.x - west * self.cell_m,
            y0: first.y - south * self.cell_m,
            cell_m: self.cell_m,
            cols: (west + east) as usize + 1,
            rows: (south + north) as usize + 1,
        })
    }

    /// Width of a probe across, metres.
    fn across_m(&self) -> f64 {
        self.plan.slit_m.map_or(2.0 * self.plan.radius_m, |(_, width)| width)
    }

    fn shape_at(&self, at: Point, bearing: Option<f64>) -> DigShape {
        match (self.plan.slit_m, bearing) {
            (Some((length, width_m)), Some(bearing)) => {
                let half = Point::new(bearing.cos(), bearing.sin()) * (0.5 * length);
                DigShape::Trench { path: vec![at - half, at + half], width_m }
            }
            _ => DigShape::Disc { centre: at, radius_m: self.plan.radius_m },
        }
    }

    /// The ground of a probe at a place.
    pub fn footprint(&self, place: &ProbePlace) -> Footprint {
        self.shapes[place.turned].translated(place.at)
    }

    /// Whether two probes would share ground.
    pub fn overlap(&self, a: &ProbePlace, b: &ProbePlace) -> bool {
        match self.shape_at(b.at, self.bearings[b.turned]) {
            DigShape::Trench { path, width_m } => {
                self.footprint(a).inflated(0.5 * width_m).meets_segment(path[0], path[1])
            }
            _ => a.at.distance(b.at) < 2.0 * self.plan.radius_m,
        }
    }

    /// The probe at a place, not dug yet.
    pub fn probe(&self, place: &ProbePlace) -> Probe {
        Probe {
            shape: self.shape_at(place.at, self.bearings[place.turned]),
            depth_m: self.depth_m,
            found: false,
            class: None,
            angle_rad: None,
            cover_m: None,
            tool: self.plan.tool(),
            p_detect: self.p_detect,
            p_false: self.p_false,
        }
    }

    /// A shape as a look that may overlook a line, and as the dig that it is.
    pub fn looks(&self, shape: &Footprint) -> [Observation; 2] {
        let seen = Observation { detect: self.p_detect, ..Observation::dig(shape.clone(), self.depth_m) };
        [seen, Observation::dig(shape.clone(), self.depth_m)]
    }

    /// The probe at a place as a look.
    pub fn look(&self, place: &ProbePlace) -> Observation {
        probe_look(&self.probe(place))
    }
}

impl ProbePlan {
    /// What is dug with.
    pub const fn tool(&self) -> Tool {
        match (self.slit_m, self.rod) {
            (Some(_), _) => Tool::Slit,
            (None, true) => Tool::Rod,
            (None, false) => Tool::Pothole,
        }
    }
}
