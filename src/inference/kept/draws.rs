//! Draws as columns: the trees of every system, the pieces, and what belongs to no system.

use super::columns::Columns;
use super::metal_lines;
use super::runs::{self, Numbered};
use crate::class::Class;
use crate::error::KeptFault;
use crate::geometry::Point;
use crate::layout::{Draw, FAMILIES, Kind, LEVELS, Lines, Piece, Pieces, Tree};
use std::sync::Arc;

/// Puts draws and their pieces in.
pub(super) fn keep(draws: &[Draw], pieces: &Pieces, columns: &mut Columns) {
    let mut runs = Numbered::default();
    let trees = || draws.iter().flat_map(|draw| &draw.trees);
    columns.put_whole("draws/bearing", draws.iter().map(|draw| draw.bearing));
    columns.put_whole("draws/trees", draws.iter().map(|draw| draw.trees.len()));
    columns.put_whole("draws/unknown_lines", draws.iter().map(|draw| draw.unknown.len()));
    columns.put_whole("draws/metal_chain", draws.iter().map(|draw| usize::from(draw.metal_chain)));
    columns.put_whole("draws/pieces", (0..pieces.draws()).map(|k| pieces.draw(k).len()));
    let family =
        |tree: &Tree| FAMILIES.iter().position(|name| *name == tree.family).unwrap_or(FAMILIES.len());
    columns.put_whole("trees/family", trees().map(family));
    columns.put_whole("trees/branches", trees().map(|tree| tree.branches));
    let maybe = |of: &dyn Fn(&Tree) -> Option<usize>| -> Vec<i64> {
        trees().map(|tree| of(tree).map_or(-1, |known| known as i64)).collect()
    };
    columns.put("trees/cover_level", maybe(&|tree| tree.level));
    columns.put("trees/first_drop", maybe(&|tree| tree.extent.map(|extent| extent.0)));
    columns.put("trees/last_drop", maybe(&|tree| tree.extent.map(|extent| extent.1)));
    columns.put_flags("trees/has_wire", trees().map(|tree| !tree.wired.is_empty()));
    columns.put_whole("trees/runs", trees().map(|tree| tree.runs.len()));
    columns.put_whole("trees/lines", trees().map(|tree| tree.lines.len()));
    let (mut of_trees, mut edges, mut wired, mut lines) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for tree in trees() {
        of_trees.extend(tree.runs.iter().map(|run| runs.number(run)));
        edges.extend(&tree.edges);
        wired.extend((0..tree.runs.len()).map(|k| tree.wired.get(k).copied().unwrap_or(false)));
        lines.extend(tree.lines.iter().map(|run| runs.number(run)));
    }
    columns.put_whole("tree_runs/run", of_trees);
    columns.put_whole("tree_runs/edge", edges);
    columns.put_flags("tree_runs/has_wire", wired);
    columns.put_whole("tree_lines/run", lines);
    runs.keep(columns);
    keep_pieces("unknown_lines", draws.iter().flat_map(|draw| &draw.unknown), columns);
    keep_pieces("pieces", pieces.all().iter(), columns);
    metal_lines::keep(draws, columns);
}

fn keep_pieces<'a>(group: &str, pieces: impl Iterator<Item = &'a Piece> + Clone, columns: &mut Columns) {
    let mut put = |name: &str, of: &dyn Fn(&Piece) -> f64| {
        columns.put(format!("{group}/{name}"), pieces.clone().map(of).collect::<Vec<f64>>());
    };
    put("x0_m", &|piece| piece.a.x);
    put("y0_m", &|piece| piece.a.y);
    put("x1_m", &|piece| piece.b.x);
    put("y1_m", &|piece| piece.b.y);
    let singles = |of: &dyn Fn(&Piece) -> f32| pieces.clone().map(of).collect::<Vec<f32>>();
    columns.put(format!("{group}/cover_m"), singles(&|piece| piece.cover_m));
    columns.put(format!("{group}/radius_m"), singles(&|piece| piece.radius_m));
    columns.put_whole(&format!("{group}/class"), pieces.clone().map(|piece| piece.class as usize));
    columns.put_whole(&format!("{group}/kind"), pieces.clone().map(|piece| piece.kind as usize));
    columns.put_whole(&format!("{group}/system"), pieces.clone().map(|piece| usize::from(piece.system)));
    columns.put_flags(&format!("{group}/has_wire"), pieces.map(|piece| piece.wire));
}

/// The draws and pieces that columns hold, on a grid of so many bearings and cases, of so many systems.
pub(super) fn taken_up(
    columns: &Columns,
    bearings: usize,
    systems: usize,
) -> Result<(Vec<Draw>, Pieces), KeptFault> {
    let trees = trees(columns)?;
    let at = columns.indices("draws/bearing", bearings)?;
    let own_trees = columns.ranges("draws/trees", trees.len())?;
    if let Some(other) = own_trees.iter().find(|own| own.len() != systems) {
        return Err(KeptFault::Length { column: "draws/trees".into(), found: other.len(), wanted: systems });
    }
    let unknown = pieces(columns, "unknown_lines")?;
    let own_unknown = columns.ranges("draws/unknown_lines", unknown.len())?;
    let metal = metal_lines::taken_up(columns, at.len())?;
    let chains = columns.indices("draws/metal_chain", usize::from(u8::MAX) + 1)?;
    let drawn = pieces(columns, "pieces")?;
    let own_pieces = columns.ranges("draws/pieces", drawn.len())?;
    let draw = |k: usize| Draw {
        bearing: at[k],
        trees: trees[own_trees[k].clone()].to_vec(),
        unknown: unknown[own_unknown[k].clone()].to_vec(),
        metal: metal[k].clone(),
        metal_chain: chains[k] as u8,
    };
    let packed = Pieces::pack(own_pieces.into_iter().map(|own| drawn[own].iter().copied()));
    Ok(((0..at.len()).map(draw).collect(), packed))
}

fn trees(columns: &Columns) -> Result<Vec<Tree>, KeptFault> {
    let runs = runs::taken_up(columns)?;
    let of_trees = columns.indices("tree_runs/run", runs.len())?;
    let (edges, wired) =
        (columns.indices("tree_runs/edge", usize::MAX)?, columns.flags("tree_runs/has_wire")?);
    let own_runs = columns.ranges("trees/runs", of_trees.len())?;
    let lines = columns.indices("tree_lines/run", runs.len())?;
    let own_lines = columns.ranges("trees/lines", lines.len())?;
    let family = columns.indices("trees/family", FAMILIES.len())?;
    let branches = columns.indices("trees/branches", usize::MAX)?;
    let level = columns.maybe_indices("trees/cover_level", LEVELS)?;
    let first = columns.maybe_indices("trees/first_drop", usize::MAX)?;
    let last = columns.maybe_indices("trees/last_drop", usize::MAX)?;
    let wires = columns.flags("trees/has_wire")?;
    let tree = |k: usize| {
        let own = own_runs[k].clone();
        let lines: Lines = own_lines[k].clone().map(|at| runs[lines[at]].clone()).collect();
        Tree {
            family: FAMILIES[family[k]],
            edges: edges[own.clone()].to_vec(),
            branches: branches[k],
            runs: own.clone().map(|at| Arc::clone(&runs[of_trees[at]])).collect(),
            level: level[k],
            extent: first[k].zip(last[k]),
            lines,
            wired: if wires[k] { wired[own].to_vec() } else { Vec::new() },
        }
    };
    Ok((0..family.len()).map(tree).collect())
}

fn pieces(columns: &Columns, group: &str) -> Result<Vec<Piece>, KeptFault> {
    let name = |column: &str| format!("{group}/{column}");
    let [x0, y0, x1, y1] = ["x0_m", "y0_m", "x1_m", "y1_m"].map(|column| columns.floats(&name(column)));
    let (x0, y0, x1, y1) = (x0?, y0?, x1?, y1?);
    let (cover, radius) = (columns.singles(&name("cover_m"))?, columns.singles(&name("radius_m"))?);
    let class = columns.indices(&name("class"), Class::ALL.len())?;
    let kind = columns.indices(&name("kind"), Kind::ALL.len())?;
    let system = columns.indices(&name("system"), usize::from(u16::MAX) + 1)?;
    let wire = columns.flags(&name("has_wire"))?;
    let piece = |k: usize| Piece {
        a: Point::new(x0[k], y0[k]),
        b: Point::new(x1[k], y1[k]),
        cover_m: cover[k],
        radius_m: radius[k],
        class: Class::ALL[class[k]],
        kind: Kind::ALL[kind[k]],
        system: system[k] as u16,
        wire: wire[k],
    };
    Ok((0..x0.len()).map(piece).collect())
}
