//! Maps: the strike chance of a dig moved over the site, and the best place for it within reach.

use super::bars::{Bars, bars};
use super::dig::footprint;
use super::fields::{Chances, Fields};
use super::shift::{Better, PlaceOptions, Search, TreeCells};
use super::sizes::{DEPTH, UP_TO_50_M};
use super::strike_map::StrikeMap;
use crate::error::{ArgumentError, Error, GridUse, MemoryUse};
use crate::geometry::{Footprint, Point, convex_hull};
use crate::inference::Layouts;
use crate::memory;
use crate::monitor::Monitor;
use crate::site::{Dig, Site};
use crate::strike::raster::{ClassMask, Grid};
use crate::strike::{RunIndex, probability};
use ndarray::{Array2, Zip};

/// At most this many cells in a map: 8 bytes each for chance, error and bound make 1.2 GB.
const MOST_CELLS: usize = 50_000_000;

/// Bytes of a cell while a map is worked out, and while it is kept: chance, error and bound, and what they are made from. As
/// measured.
pub(super) const CELL_BYTES: usize = 45;
const KEPT_BYTES: usize = 26;

/// Cells of a map that reaches so far to every side.
pub(super) fn cells_within(reach_m: f64, cell_m: f64) -> usize {
    let side = 2 * ((reach_m / cell_m).ceil() as usize).min(usize::MAX / 4) + 1;
    side.saturating_mul(side)
}

/// Room left around the heads of a site without a boundary, metres.
const MARGIN_M: f64 = 2.0;

/// The map around one dig and its best shift.
#[derive(Clone, Debug)]
pub struct DigMap {
    /// The map of this dig's own shape and depth.
    pub map: StrikeMap,
    /// Chance of a line within the setback of its tree at every cell, by counts; `None` where none counts.
    pub p_setback: Option<Array2<f64>>,
    /// What a search for a better place came to.
    pub better: Better,
}

/// Map of round holes over the whole site.
///
/// # Errors
/// [`Error::Argument`] for sizes out of range, [`Error::Interrupted`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::strike_map;
/// let layouts = underturf::example::layouts()?;
/// let (radius_m, depth_m, cell_m) = (0.3, 0.4, 0.5);
/// let map = strike_map(&layouts, radius_m, depth_m, cell_m, None, &Unwatched)?;
/// assert_eq!(map.p.dim(), (22, 24)); // 11 m by 12 m; row 0 is the north edge
/// assert!(map.p.iter().any(|p| p.is_nan()), "no hole may meet the shed");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn strike_map(
    layouts: &Layouts,
    radius_m: f64,
    depth_m: f64,
    cell_m: f64,
    classes: Option<ClassMask>,
    monitor: &dyn Monitor,
) -> Result<StrikeMap, Error> {
    UP_TO_50_M.check("radius_m", radius_m)?;
    DEPTH.check("depth_m", depth_m)?;
    UP_TO_50_M.check("cell_m", cell_m)?;
    let grid = site_grid(layouts.site(), cell_m)?;
    memory::check(monitor, MemoryUse::Cells, grid.rows * grid.cols, CELL_BYTES, 0)?;
    let hole = Footprint::disc(Point::default(), radius_m);
    let bars = bars(&grid, layouts.site(), &hole, monitor)?;
    let fields = Fields::new(layouts, &hole, depth_m, grid, monitor)?;
    map(&fields, grid, classes.unwrap_or_else(ClassMask::all), bars, monitor)
}

/// The cells of a site.
pub(super) fn site_grid(site: &Site, cell_m: f64) -> Result<Grid, Error> {
    let (low, high) = extent(site);
    let size = high - low;
    let (cols, rows) = ((size.x / cell_m).ceil().max(1.0), (size.y / cell_m).ceil().max(1.0));
    if cols * rows > MOST_CELLS as f64 {
        let cells = cols * rows;
        return Err(
            ArgumentError::TooManyCells { cell_m, cells, most: MOST_CELLS, used: GridUse::Map }.into()
        );
    }
    let (x0, y0) = (low.x + 0.5 * cell_m, low.y + 0.5 * cell_m);
    Ok(Grid { x0, y0, cell_m, rows: rows as usize, cols: cols as usize })
}

/// A map around each dig: its own shape and depth, moved by up to the reach.
///
/// # Errors
/// [`Error::Argument`] for sizes out of range, [`Error::Interrupted`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::{PlaceOptions, dig_maps};
/// let layouts = underturf::example::layouts()?;
/// let digs = &layouts.site().digs;
/// let maps = dig_maps(&layouts, digs, &PlaceOptions::within(1.0, 0.25), &Unwatched)?;
/// assert_eq!(maps[0].map.p.dim(), (9, 9)); // a metre to every side of each dig
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn dig_maps(
    layouts: &Layouts,
    digs: &[Dig],
    options: &PlaceOptions,
    monitor: &dyn Monitor,
) -> Result<Vec<DigMap>, Error> {
    options.check()?;
    // All maps are kept; one at a time is worked out.
    let cells = cells_within(options.reach_m, options.cell_m);
    memory::check(
        monitor,
        MemoryUse::Cells,
        cells.saturating_mul(digs.len()),
        KEPT_BYTES,
        cells.saturating_mul(CELL_BYTES),
    )?;
    let index = RunIndex::new(layouts.draws());
    let mut maps = Vec::with_capacity(digs.len());
    for (done, dig) in digs.iter().enumerate() {
        if !monitor.tick(done, digs.len()) {
            return Err(Error::Interrupted);
        }
        maps.push(dig_map(layouts, &index, dig, options, monitor)?);
    }
    Ok(maps)
}

/// The digs where their best shifts lead; one that is as well off where it is, or has no better place within reach, stays.
///
/// # Errors
/// Those of [`dig_maps`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::{PlaceOptions, shifted};
/// let layouts = underturf::example::layouts()?;
/// let digs = &layouts.site().digs;
/// let moved = shifted(&layouts, digs, &PlaceOptions::within(1.0, 0.25), &Unwatched)?;
/// assert_eq!(moved.len(), digs.len());
/// assert!(moved[0] != digs[0], "the post is better off beside the row of heads");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn shifted(
    layouts: &Layouts,
    digs: &[Dig],
    options: &PlaceOptions,
    monitor: &dyn Monitor,
) -> Result<Vec<Dig>, Error> {
    let maps = dig_maps(layouts, digs, options, monitor)?;
    let to = |(dig, map): (&Dig, DigMap)| {
        let shift = map.better.shift();
        shift.map_or_else(|| dig.clone(), |shift| dig.moved(Point::new(shift.dx_m, shift.dy_m)))
    };
    Ok(digs.iter().zip(maps).map(to).collect())
}

fn dig_map(
    layouts: &Layouts,
    index: &RunIndex,
    dig: &Dig,
    options: &PlaceOptions,
    monitor: &dyn Monitor,
) -> Result<DigMap, Error> {
    let whole = footprint(dig);
    let here = whole.reference();
    let cell_m = options.cell_m;
    let half = (options.reach_m / cell_m).ceil() as usize;
    let grid = Grid {
        x0: here.x - half as f64 * cell_m,
        y0: here.y - half as f64 * cell_m,
        cell_m,
        rows: 2 * half + 1,
        cols: 2 * half + 1,
    };
    let shape = whole.translated(-here);
    let bars = bars(&grid, layouts.site(), &shape, monitor)?;
    let fields = Fields::new(layouts, &shape, dig.depth_m, grid, monitor)?;
    let map = map(&fields, grid, ClassMask::all(), bars, monitor)?;
    let losses = fields.losses(&options.weights, dig.method, monitor)?;
    let tree = TreeCells::new(layouts, dig, &map, options, monitor)?;
    let search = Search { layouts, index, dig, map: &map, losses: &losses, tree: tree.as_ref(), options };
    let better = search.best();
    let p_setback = tree.and_then(|tree| tree.setback).map(|setback| setback.p.mapv(probability));
    Ok(DigMap { map, p_setback, better })
}

/// Chances, and the places where the dig may not go.
fn map(
    fields: &Fields<'_>,
    grid: Grid,
    classes: ClassMask,
    bars: Bars,
    monitor: &dyn Monitor,
) -> Result<StrikeMap, Error> {
    let Chances { mut p, mut mcse, mut upper } = fields.chances(classes, monitor)?;
    p.mapv_inplace(probability);
    upper.mapv_inplace(probability);
    for array in [&mut p, &mut mcse, &mut upper] {
        Zip::from(array).and(&bars.barred).for_each(|value, &barred| {
            if barred {
                *value = f64::NAN;
            }
        });
    }
    let Bars { in_tolerance_zone, on_flagged_metal, .. } = bars;
    Ok(StrikeMap { grid, p, mcse, upper, in_tolerance_zone, on_flagged_metal })
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
