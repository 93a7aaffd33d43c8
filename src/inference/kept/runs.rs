//! Runs as columns: each distinct run once, with its ways.

use super::columns::Columns;
use crate::error::KeptFault;
use crate::geometry::{Point, ShiftedPath};
use crate::layout::{Kind, Offset, Route, Run, RunId};
use std::collections::HashMap;
use std::sync::Arc;

/// Mean, and the share and standard deviation of each part.
type OffsetParts = (f64, [(f64, f64); 2]);

/// The distinct runs of draws, numbered as they are met.
#[derive(Default)]
pub(super) struct Numbered {
    runs: Vec<Arc<Run>>,
    known: HashMap<RunId, usize>,
}

impl Numbered {
    /// The number of a run.
    pub(super) fn number(&mut self, run: &Arc<Run>) -> usize {
        *self.known.entry(run.id()).or_insert_with(|| {
            self.runs.push(run.clone());
            self.runs.len() - 1
        })
    }

    /// Puts the runs in.
    pub(super) fn keep(&self, columns: &mut Columns) {
        let runs = || self.runs.iter();
        let parts =
            |of: fn(OffsetParts) -> f64| -> Vec<f64> { runs().map(|run| of(run.offset.parts())).collect() };
        columns.put_whole("runs/kind", runs().map(|run| run.kind as usize));
        columns.put("runs/offset_mean_m", parts(|(mean, _)| mean));
        columns.put("runs/offset_share_1", parts(|(_, [one, _])| one.0));
        columns.put("runs/offset_sd_1_m", parts(|(_, [one, _])| one.1));
        columns.put("runs/offset_share_2", parts(|(_, [_, two])| two.0));
        columns.put("runs/offset_sd_2_m", parts(|(_, [_, two])| two.1));
        columns.put_flags("runs/tied_first", runs().map(|run| run.tied[0]));
        columns.put_flags("runs/tied_last", runs().map(|run| run.tied[1]));
        let covers: Vec<f64> = runs().map(|run| run.cover_m.unwrap_or(f64::NAN)).collect();
        columns.put("runs/cover_m", covers);
        columns.put_whole("runs/ways", runs().map(|run| run.routes.len()));
        keep_ways(&runs().flat_map(|run| &run.routes).collect::<Vec<_>>(), columns);
    }
}

fn keep_ways(ways: &[&Route], columns: &mut Columns) {
    let numbers = |of: &dyn Fn(&Route) -> f64| -> Vec<f64> { ways.iter().map(|way| of(way)).collect() };
    columns.put("ways/share", numbers(&|way| way.share));
    columns.put("ways/least_offset_m", numbers(&|way| way.clear.0));
    columns.put("ways/greatest_offset_m", numbers(&|way| way.clear.1));
    let paths: Vec<Vec<Point>> = ways.iter().map(|way| way.path.at(0.0)).collect();
    columns.put_whole("ways/points", paths.iter().map(Vec::len));
    columns.put("way_points/x_m", paths.iter().flatten().map(|at| at.x).collect::<Vec<f64>>());
    columns.put("way_points/y_m", paths.iter().flatten().map(|at| at.y).collect::<Vec<f64>>());
    columns.put_whole("ways/paved_legs", ways.iter().map(|way| way.paved.len()));
    let legs = || ways.iter().flat_map(|way| &way.paved);
    columns.put_whole("paved_legs/parts", legs().map(Vec::len));
    columns.put("paved_parts/from_share", legs().flatten().map(|part| part.0).collect::<Vec<f64>>());
    columns.put("paved_parts/to_share", legs().flatten().map(|part| part.1).collect::<Vec<f64>>());
}

/// The runs that columns hold.
pub(super) fn taken_up(columns: &Columns) -> Result<Vec<Arc<Run>>, KeptFault> {
    let ways = ways(columns)?;
    let kinds = columns.indices("runs/kind", Kind::ALL.len())?;
    let part = |name: &str| columns.floats(&format!("runs/offset_{name}"));
    let (mean, shares, sds) =
        (part("mean_m")?, [part("share_1")?, part("share_2")?], [part("sd_1_m")?, part("sd_2_m")?]);
    let tied = [columns.flags("runs/tied_first")?, columns.flags("runs/tied_last")?];
    let covers = columns.floats("runs/cover_m")?;
    let own = columns.ranges("runs/ways", ways.len())?;
    let run = |(k, own): (usize, std::ops::Range<usize>)| {
        let offset = Offset::of_parts(mean[k], [0, 1].map(|part: usize| (shares[part][k], sds[part][k])));
        let mut run = Run::new(Kind::ALL[kinds[k]], offset, ways[own].to_vec(), [tied[0][k], tied[1][k]]);
        run.cover_m = Some(covers[k]).filter(|cover| !cover.is_nan());
        Arc::new(run)
    };
    Ok(own.into_iter().enumerate().map(run).collect())
}

fn ways(columns: &Columns) -> Result<Vec<Route>, KeptFault> {
    let share = columns.floats("ways/share")?;
    let (least, greatest) =
        (columns.floats("ways/least_offset_m")?, columns.floats("ways/greatest_offset_m")?);
    let points = points(columns, "way_points")?;
    let own_points = columns.ranges("ways/points", points.len())?;
    let own_legs = columns.ranges("ways/paved_legs", columns.rows("paved_legs/parts")?)?;
    let (from, to) = (columns.floats("paved_parts/from_share")?, columns.floats("paved_parts/to_share")?);
    let own_parts = columns.ranges("paved_legs/parts", from.len())?;
    let paved = |leg: usize| own_parts[leg].clone().map(|part| (from[part], to[part])).collect();
    let way = |k: usize| Route {
        share: share[k],
        path: ShiftedPath::new(&points[own_points[k].clone()]),
        paved: own_legs[k].clone().map(paved).collect(),
        clear: (least[k], greatest[k]),
    };
    Ok((0..share.len()).map(way).collect())
}

/// Points of a group.
pub(super) fn points(columns: &Columns, group: &str) -> Result<Vec<Point>, KeptFault> {
    let (x, y) = (columns.floats(&format!("{group}/x_m"))?, columns.floats(&format!("{group}/y_m"))?);
    Ok(x.iter().zip(y).map(|(x, y)| Point::new(*x, *y)).collect())
}
