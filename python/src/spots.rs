//! Best spots: what is asked for, and the answer as columns.

use crate::decisions::{column, hole_m, hole_source, setback};
use crate::digs::PyDig;
use numpy::IntoPyArray;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use underturf::class::Class;
use underturf::decision::{Spot, SpotHole, SpotOptions, Spots, TreeRules};
use underturf::geometry::Polygon;
use underturf::planting::RootBall;
use underturf::site::{Dig, DigShape};

/// A hole as Python hands it over: name, radius, depth, a dig with its tree, and whether a setback counts without one.
pub type Hole<'py> = (Option<String>, f64, f64, Option<PyRef<'py, PyDig>>, bool);

/// Metres: spacing, gap, distance from the boundary, side of a cell.
pub type Margins = (f64, Option<f64>, f64, f64);

/// Setback, greatest chance of a line within it, the shares of conflicts with setback and roots, whether protected roots are
/// spared, and the distance from buildings.
pub type Rules = (String, f64, f64, f64, bool, f64);

/// What is asked for; weights, method and ground as the engine takes them where nothing is said.
pub fn options(holes: Vec<Hole<'_>>, margins_m: Margins, rules: &Rules) -> PyResult<SpotOptions> {
    let hole = |(id, radius_m, depth_m, tree, keeps): Hole<'_>| {
        let tree = tree.and_then(|dig| dig.0.tree);
        SpotHole { id, radius_m, depth_m, keeps_setback: keeps || tree.is_some(), tree }
    };
    let plain = SpotOptions::of(holes.into_iter().map(hole).collect());
    let &(ref name, setback_limit, setback_share, roots_share, spare_roots, from_building_m) = rules;
    let (spacing_m, gap_m, from_boundary_m, cell_m) = margins_m;
    Ok(SpotOptions {
        spacing_m,
        gap_m: gap_m.unwrap_or(plain.gap_m),
        from_boundary_m,
        cell_m,
        rules: TreeRules {
            setback: setback(name)?,
            setback_limit,
            setback_share,
            roots_share,
            spare_roots,
            from_building_m,
        },
        ..plain
    })
}

/// The outline of a pit.
pub fn outline(dig: &Dig) -> Option<Polygon> {
    match &dig.shape {
        DigShape::Pit { outline } => Some(outline.clone()),
        _ => None,
    }
}

/// Spots as columns.
pub fn columns<'py>(py: Python<'py>, found: &Spots) -> PyResult<Bound<'py, PyDict>> {
    let (rows, columns) = (&found.spots, PyDict::new(py));
    let numbers = |of: fn(&Spot) -> f64| column(py, rows, of);
    columns.set_item("x_m", numbers(|spot| spot.at.x))?;
    columns.set_item("y_m", numbers(|spot| spot.at.y))?;
    columns.set_item("p_strike", numbers(|spot| spot.p.loss))?;
    columns.set_item("mcse", numbers(|spot| spot.p.error))?;
    columns.set_item("p_upper95", numbers(|spot| spot.upper))?;
    columns.set_item("loss", numbers(|spot| spot.loss.loss))?;
    columns.set_item("loss_mcse", numbers(|spot| spot.loss.error))?;
    columns.set_item("setback_loss", numbers(|spot| spot.setback_loss))?;
    columns.set_item("p_setback", numbers(|spot| spot.p_setback.unwrap_or(f64::NAN)))?;
    columns.set_item("roots_loss", numbers(|spot| spot.roots_loss))?;
    for class in Class::ALL {
        let of_class = column(py, rows, |spot| spot.by_class[class as usize].unwrap_or(f64::NAN));
        columns.set_item(format!("p_{}", class.name()), of_class)?;
    }
    columns.set_item("total", found.total)?;
    columns.set_item("lower_bound", found.lower_bound)?;
    columns.set_item("exact", found.exact)?;
    columns.set_item("candidates", found.candidates)?;
    let holes: Vec<i64> = rows.iter().map(|spot| spot.hole as i64).collect();
    columns.set_item("hole", holes.into_pyarray(py))?;
    columns.set_item("radius_m", numbers(|spot| radius_m(&spot.dig)))?;
    columns.set_item("depth_m", numbers(|spot| spot.dig.depth_m))?;
    let ball = |of: fn(&RootBall) -> f64| column(py, rows, |spot| hole_m(spot.ball.as_ref(), of));
    columns.set_item("hole_width_m", ball(|ball| ball.hole_width_m))?;
    columns.set_item("hole_depth_m", ball(|ball| ball.hole_depth_m))?;
    let source = |spot: &Spot| hole_source(spot.ball.as_ref());
    columns.set_item("hole_source", rows.iter().map(source).collect::<Vec<_>>())?;
    let too_small: Vec<bool> = rows.iter().map(|spot| spot.dig.drawn.is_some()).collect();
    columns.set_item("hole_too_small", too_small.into_pyarray(py))?;
    Ok(columns)
}

/// Radius of a round hole, metres.
fn radius_m(dig: &Dig) -> f64 {
    match dig.shape {
        DigShape::Disc { radius_m, .. } => radius_m,
        _ => f64::NAN,
    }
}
