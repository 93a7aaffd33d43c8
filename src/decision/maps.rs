//! Maps: the strike chance of a dig moved over the site, and the best place for it within reach.

use super::dig::{distance_to_mark, footprint};
use crate::class::Class;
use crate::error::Error;
use crate::evidence::{Dig, Site};
use crate::geometry::{Footprint, Point, convex_hull};
use crate::infer::Layouts;
use crate::monitor::Monitor;
use crate::strike::raster::{ClassMask, Grid, Part, strike_counts};
use crate::strike::{Look, Moved};
use ndarray::{Array2, Zip};
use rayon::prelude::*;

/// At most this many cells in a map: 8 bytes each for chance, error and bound make 1.2 GB.
const MOST_CELLS: f64 = 5e7;

/// Room left around the heads of a site without a boundary, metres.
const MARGIN_M: f64 = 2.0;

/// Strike chance of one dig at every cell, the dig's reference point being at the cell's centre.
#[derive(Clone, Debug)]
pub struct StrikeMap {
    /// The cells; row 0 is the north edge.
    pub grid: Grid,
    /// Strike chance, `(rows, cols)`; NaN outside the boundary, where the dig would meet a building or pool, and
    /// inside tolerance zones, where no verdict goes by probability.
    pub p: Array2<f64>,
    /// Monte Carlo standard error of `p`.
    pub mcse: Array2<f64>,
    /// One-sided 95 % upper bound of `p`.
    pub upper: Array2<f64>,
    /// Whether the dig would enter the tolerance zone of a mark.
    pub in_tolerance_zone: Array2<bool>,
}

/// A better place for a dig.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shift {
    /// Metres east.
    pub dx_m: f64,
    /// Metres north.
    pub dy_m: f64,
    /// Strike chance there, from the map.
    pub p: f64,
}

/// The map around one dig and its best shift.
#[derive(Clone, Debug)]
pub struct DigMap {
    /// The map of this dig's own shape and depth.
    pub map: StrikeMap,
    /// The place of least chance within reach, nearer ones first among equals; `None` if staying is as good.
    pub shift: Option<Shift>,
}

/// Map of round holes over the whole site.
///
/// # Errors
/// [`Error::BadArgument`] for sizes out of range, [`Error::Interrupted`].
pub fn strike_map(
    layouts: &Layouts,
    radius_m: f64,
    depth_m: f64,
    cell_m: f64,
    classes: Option<ClassMask>,
    monitor: &dyn Monitor,
) -> Result<StrikeMap, Error> {
    positive("radius_m", radius_m, 50.0, "above 0, up to 50 m")?;
    positive("depth_m", depth_m, 6.0, "above 0, up to 6 m")?;
    positive("cell_m", cell_m, 50.0, "above 0, up to 50 m")?;
    let (low, high) = extent(layouts.site());
    let size = high - low;
    let (cols, rows) = ((size.x / cell_m).ceil().max(1.0), (size.y / cell_m).ceil().max(1.0));
    if cols * rows > MOST_CELLS {
        return Err(Error::BadArgument {
            name: "cell_m",
            value: cell_m,
            allowed: "at most 5e7 cells in a map",
        });
    }
    let grid = Grid {
        x0: low.x + 0.5 * cell_m,
        y0: low.y + 0.5 * cell_m,
        cell_m,
        rows: rows as usize,
        cols: cols as usize,
    };
    let hole = Footprint::disc(Point::default(), radius_m);
    map(layouts, &hole, depth_m, grid, classes.unwrap_or_else(ClassMask::all), monitor)
}

/// A map around each dig: its own shape and depth, moved by up to `reach_m`.
///
/// # Errors
/// [`Error::BadArgument`] for sizes out of range, [`Error::Interrupted`].
pub fn dig_maps(
    layouts: &Layouts,
    digs: &[Dig],
    reach_m: f64,
    cell_m: f64,
    monitor: &dyn Monitor,
) -> Result<Vec<DigMap>, Error> {
    positive("reach_m", reach_m, 50.0, "above 0, up to 50 m")?;
    positive("cell_m", cell_m, reach_m, "above 0, up to the reach")?;
    let mut maps = Vec::with_capacity(digs.len());
    for (done, dig) in digs.iter().enumerate() {
        if !monitor.tick(done, digs.len()) {
            return Err(Error::Interrupted);
        }
        maps.push(dig_map(layouts, dig, reach_m, cell_m, monitor)?);
    }
    Ok(maps)
}

fn dig_map(
    layouts: &Layouts,
    dig: &Dig,
    reach_m: f64,
    cell_m: f64,
    monitor: &dyn Monitor,
) -> Result<DigMap, Error> {
    let whole = footprint(dig);
    let here = whole.reference();
    let half = (reach_m / cell_m).ceil() as usize;
    let grid = Grid {
        x0: here.x - half as f64 * cell_m,
        y0: here.y - half as f64 * cell_m,
        cell_m,
        rows: 2 * half + 1,
        cols: 2 * half + 1,
    };
    let map = map(layouts, &whole.translated(-here), dig.depth_m, grid, ClassMask::all(), monitor)?;
    let shift = best_shift(&map, half, reach_m);
    Ok(DigMap { map, shift })
}

/// The least chance within reach; a move has to gain more than the error of the difference at most allows.
fn best_shift(map: &StrikeMap, half: usize, reach_m: f64) -> Option<Shift> {
    let here = map.p[(half, half)];
    let mut best: Option<(f64, f64, Shift)> = None;
    for ((row, col), &p) in map.p.indexed_iter() {
        let dx_m = (col as f64 - half as f64) * map.grid.cell_m;
        let dy_m = (half as f64 - row as f64) * map.grid.cell_m;
        let distance = dx_m.hypot(dy_m);
        if p.is_nan() || distance > reach_m + 1e-9 {
            continue;
        }
        let shift = Shift { dx_m, dy_m, p };
        if best.is_none_or(|(least, near, _)| p < least - 1e-12 || p <= least + 1e-12 && distance < near) {
            best = Some((p, distance, shift));
        }
    }
    let error = map.mcse[(half, half)];
    best.filter(|&(p, distance, _)| distance > 0.0 && (here.is_nan() || p < here - 2.0 * error)).map(|b| b.2)
}

/// Counts, floor and the places where the dig may not go. As for named digs, unknown lines that a clear probe would have
/// met do not count.
fn map(
    layouts: &Layouts,
    shape: &Footprint,
    depth_m: f64,
    grid: Grid,
    classes: ClassMask,
    monitor: &dyn Monitor,
) -> Result<StrikeMap, Error> {
    let parts: Vec<Part<'_>> =
        shape.parts().iter().map(|part| Part { corners: &part.corners, radius_m: part.radius }).collect();
    let cancel = || !monitor.tick(0, 1);
    let counts = strike_counts(layouts.pieces(), &grid, &parts, depth_m, classes, &cancel);
    let counts = counts.ok_or(Error::Interrupted)?;
    let floor = layouts.law().floor();
    let unmet = if classes.contains(Class::Unknown) {
        let dig = Look::dig(shape.clone(), depth_m);
        let moved = Moved::new(floor, &dig, &layouts.findings().clear);
        let of_row = |row: usize| {
            let unmet = |col: usize| (-moved.mean_at(grid.centre(row, col))).exp();
            if cancel() { None } else { Some((0..grid.cols).map(unmet).collect::<Vec<f64>>()) }
        };
        let rows: Option<Vec<Vec<f64>>> = (0..grid.rows).into_par_iter().map(of_row).collect();
        let cells = rows.ok_or(Error::Interrupted)?.concat();
        Array2::from_shape_vec((grid.rows, grid.cols), cells).expect("one value for each cell")
    } else {
        Array2::ones((grid.rows, grid.cols))
    };
    let n = layouts.draws().len() as f64;
    let wider = (n / layouts.effective_draws()).max(1.0).sqrt();
    // A count of draws proves no more than one in n + 1 on either side.
    let greatest = n / (n + 1.0);
    let none_seen = 1.0 - 0.05f64.powf(1.0 / (n + 1.0));
    let share = |count: u32| f64::from(count) / n;
    let error = |p: f64| (p * (1.0 - p) / n).sqrt() * wider;
    let with_floor = |p: f64, unmet: f64| 1.0 - (1.0 - p) * unmet;
    let each =
        |of: &dyn Fn(f64, f64) -> f64| Zip::from(&counts).and(&unmet).map_collect(|&c, &u| of(share(c), u));
    let p = each(&|p, unmet| with_floor(p.min(greatest), unmet));
    let mcse = each(&|p, unmet| error(p) * unmet);
    let upper = each(&|p, unmet| with_floor((p + 1.645 * error(p)).max(none_seen).min(greatest), unmet));
    let mut map = StrikeMap { in_tolerance_zone: Array2::from_elem(p.dim(), false), grid, p, mcse, upper };
    bar(&mut map, layouts.site(), shape, monitor)?;
    Ok(map)
}

/// Marks the cells where the dig would enter a tolerance zone, meet a building or pool, or leave the boundary.
fn bar(map: &mut StrikeMap, site: &Site, shape: &Footprint, monitor: &dyn Monitor) -> Result<(), Error> {
    let (low, high) = shape.bounds();
    let round = shape.parts().len() == 1 && shape.parts()[0].corners.len() == 1;
    let radius = if round { shape.parts()[0].radius } else { 0.0 };
    for row in 0..map.grid.rows {
        if row % 16 == 0 && !monitor.tick(0, 1) {
            return Err(Error::Interrupted);
        }
        for col in 0..map.grid.cols {
            let at = map.grid.centre(row, col);
            // Holes need only distances from their centre; other shapes are moved and tested whole.
            let moved = if round { Footprint::disc(at, radius) } else { shape.translated(at) };
            let zone = site.marks.iter().any(|mark| distance_to_mark(&moved, mark) < half_zone_m(site, mark));
            let outside = site.boundary.as_ref().is_some_and(|boundary| {
                if round {
                    !boundary.contains(at) || boundary.distance_to_boundary(at) < radius - 1e-9
                } else {
                    !moved.within(boundary)
                }
            });
            let solid = site.obstacles.iter().filter(|o| o.kind.blocks()).any(|o| {
                let (a, b) = o.outline.bounds();
                let near =
                    at.x + high.x > a.x && at.x + low.x < b.x && at.y + high.y > a.y && at.y + low.y < b.y;
                near && moved.meets_polygon_interior(&o.outline)
            });
            map.in_tolerance_zone[(row, col)] = zone;
            if zone || outside || solid {
                map.p[(row, col)] = f64::NAN;
                map.mcse[(row, col)] = f64::NAN;
                map.upper[(row, col)] = f64::NAN;
            }
        }
    }
    Ok(())
}

/// Half width of a mark's tolerance zone, metres.
pub fn half_zone_m(site: &Site, mark: &crate::evidence::Mark) -> f64 {
    mark.half_zone_m.unwrap_or(site.settings.tolerance_half_zone_m)
}

/// The ground that a map of the site covers: the boundary, or all that the document places.
fn extent(site: &Site) -> (Point, Point) {
    if let Some(boundary) = &site.boundary {
        return boundary.bounds();
    }
    let heads = site.heads.iter().map(|h| h.at).chain(site.valve_boxes.iter().map(|b| b.at));
    let digs = site.digs.iter().flat_map(|dig| {
        let (low, high) = footprint(dig).bounds();
        [low, high]
    });
    let points: Vec<Point> = heads.chain(digs).chain(site.sources.iter().map(|s| s.at)).collect();
    let hull = convex_hull(&points);
    let all = hull.iter().fold(None, |bounds: Option<(Point, Point)>, p| {
        let (low, high) = bounds.unwrap_or((*p, *p));
        let low = Point::new(low.x.min(p.x), low.y.min(p.y));
        Some((low, Point::new(high.x.max(p.x), high.y.max(p.y))))
    });
    let (low, high) = all.unwrap_or_default();
    let margin = Point::new(MARGIN_M, MARGIN_M);
    (low - margin, high + margin)
}

fn positive(name: &'static str, value: f64, most: f64, allowed: &'static str) -> Result<(), Error> {
    if value > 0.0 && value <= most { Ok(()) } else { Err(Error::BadArgument { name, value, allowed }) }
}
