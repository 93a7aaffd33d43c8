//! Metal lines of draws as columns: each distinct line once, each distinct set of them once.

use super::columns::Columns;
use super::runs::points;
use crate::class::Class;
use crate::error::KeptFault;
use crate::layout::{Draw, MetalLine};
use std::collections::HashMap;
use std::sync::Arc;

/// Puts the metal lines of draws in.
pub(super) fn keep(draws: &[Draw], columns: &mut Columns) {
    let (mut lines, mut sets): (Vec<&MetalLine>, Vec<Vec<usize>>) = (Vec::new(), Vec::new());
    let mut known_lines: HashMap<*const MetalLine, usize> = HashMap::new();
    let mut known_sets: HashMap<(*const Arc<MetalLine>, usize), usize> = HashMap::new();
    let mut of_draw = Vec::with_capacity(draws.len());
    for draw in draws {
        let set = *known_sets.entry((draw.metal.as_ptr(), draw.metal.len())).or_insert_with(|| {
            let numbered = draw.metal.iter().map(|line| {
                *known_lines.entry(Arc::as_ptr(line)).or_insert_with(|| {
                    lines.push(line);
                    lines.len() - 1
                })
            });
            sets.push(numbered.collect());
            sets.len() - 1
        });
        of_draw.push(set);
    }
    columns.put_whole("draws/metal_set", of_draw);
    columns.put_whole("metal_sets/lines", sets.iter().map(Vec::len));
    columns.put_whole("metal_set_lines/line", sets.into_iter().flatten());
    let numbers = |of: &dyn Fn(&MetalLine) -> f64| lines.iter().map(|line| of(line)).collect::<Vec<f64>>();
    columns.put("metal_lines/cover_m", numbers(&|line| line.cover_m));
    columns.put("metal_lines/cover_mean_m", numbers(&|line| line.cover_law_m.0));
    columns.put("metal_lines/cover_sd_m", numbers(&|line| line.cover_law_m.1));
    columns.put("metal_lines/radius_m", numbers(&|line| line.radius_m));
    columns.put_whole("metal_lines/class", lines.iter().map(|line| line.class as usize));
    columns.put_flags("metal_lines/has_wire", lines.iter().map(|line| line.wire));
    columns.put_whole("metal_lines/points", lines.iter().map(|line| line.path.len()));
    columns.put_whole("metal_lines/items", lines.iter().map(|line| line.items.len()));
    columns.put_whole("metal_lines/fixtures", lines.iter().map(|line| line.fixtures.len()));
    let path = || lines.iter().flat_map(|line| &line.path);
    columns.put("metal_points/x_m", path().map(|at| at.x).collect::<Vec<f64>>());
    columns.put("metal_points/y_m", path().map(|at| at.y).collect::<Vec<f64>>());
    let items = lines.iter().flat_map(|line| &line.items);
    columns.put_whole("metal_items/item", items.map(|item| usize::from(*item)));
    columns.put_whole("metal_fixtures/fixture", lines.iter().flat_map(|line| line.fixtures.iter().copied()));
}

/// The metal lines of each of so many draws.
pub(super) fn taken_up(columns: &Columns, draws: usize) -> Result<Vec<Arc<[Arc<MetalLine>]>>, KeptFault> {
    let class = columns.indices("metal_lines/class", Class::ALL.len())?;
    let wire = columns.flags("metal_lines/has_wire")?;
    let cover = columns.floats("metal_lines/cover_m")?;
    let (mean, sd) = (columns.floats("metal_lines/cover_mean_m")?, columns.floats("metal_lines/cover_sd_m")?);
    let radius = columns.floats("metal_lines/radius_m")?;
    let path = points(columns, "metal_points")?;
    let own_path = columns.ranges("metal_lines/points", path.len())?;
    let items = columns.indices("metal_items/item", usize::from(u16::MAX) + 1)?;
    let own_items = columns.ranges("metal_lines/items", items.len())?;
    let fixtures = columns.indices("metal_fixtures/fixture", usize::MAX)?;
    let own_fixtures = columns.ranges("metal_lines/fixtures", fixtures.len())?;
    let line = |k: usize| MetalLine {
        class: Class::ALL[class[k]],
        path: path[own_path[k].clone()].to_vec(),
        cover_m: cover[k],
        cover_law_m: (mean[k], sd[k]),
        radius_m: radius[k],
        items: items[own_items[k].clone()].iter().map(|item| *item as u16).collect(),
        fixtures: fixtures[own_fixtures[k].clone()].to_vec(),
        wire: wire[k],
    };
    let lines: Vec<Arc<MetalLine>> = (0..class.len()).map(|k| Arc::new(line(k))).collect();
    let of_sets = columns.indices("metal_set_lines/line", lines.len())?;
    let own_lines = columns.ranges("metal_sets/lines", of_sets.len())?;
    let set = |own: std::ops::Range<usize>| own.map(|at| lines[of_sets[at]].clone()).collect();
    let sets: Vec<Arc<[Arc<MetalLine>]>> = own_lines.into_iter().map(set).collect();
    let of_draws = columns.indices("draws/metal_set", sets.len())?;
    if of_draws.len() == draws {
        return Ok(of_draws.into_iter().map(|set| sets[set].clone()).collect());
    }
    Err(KeptFault::Length { column: "draws/metal_set".into(), found: of_draws.len(), wanted: draws })
}
