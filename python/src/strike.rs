//! Strikes and assessments as columns of a table; "not assessed" is NaN.

use crate::decisions::hole_m;
use crate::words::word;
use numpy::{IntoPyArray, PyArray1};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use underturf::class::Class;
use underturf::decision::{self, Assessment, Bar, Known, MarkNear, Shift, TreeConflict};
use underturf::planting::RootBall;
use underturf::site::direction::{TURN_DEG, azimuth_deg};
use underturf::site::{Dig, Site};
use underturf::strike::{Chance, Form, Strike};

/// The form of that name.
pub fn form(name: &str) -> PyResult<Form> {
    word("form", name, Form::ALL, Form::name)
}

/// What is known to lie where a dig is: `tolerance_zone`, the name of flagged metal, or nothing.
pub fn known_there(site: &Site, dig: &Dig) -> Option<String> {
    match decision::known(site, dig)? {
        Known::ToleranceZone => Some("tolerance_zone".to_owned()),
        Known::FlaggedMetal => {
            let near = decision::flags_near(site, dig).into_iter().find(|near| near.inside)?;
            Some(site.keep_offs[near.keep_off].in_words())
        }
    }
}

/// Columns of strikes.
pub fn strikes<'py>(py: Python<'py>, digs: &[Dig], found: &[Strike]) -> PyResult<Bound<'py, PyDict>> {
    let columns = PyDict::new(py);
    columns.set_item("dig", digs.iter().map(|dig| dig.id.as_str()).collect::<Vec<_>>())?;
    totals(&columns, found)?;
    chances(&columns, found, "p", |chance| chance.p)?;
    chances(&columns, found, "mcse", |chance| chance.mcse)?;
    columns.set_item("form", found.iter().map(|strike| strike.form.name()).collect::<Vec<_>>())?;
    reliable(&columns, found)?;
    Ok(columns)
}

/// Columns of assessments.
pub fn assessments<'py>(
    py: Python<'py>,
    site: &Site,
    digs: &[Dig],
    found: &[Assessment],
) -> PyResult<Bound<'py, PyDict>> {
    let strikes: Vec<Strike> = found.iter().map(|assessment| assessment.strike.clone()).collect();
    let columns = PyDict::new(py);
    columns.set_item("dig", digs.iter().map(|dig| dig.id.as_str()).collect::<Vec<_>>())?;
    totals(&columns, &strikes)?;
    chances(&columns, &strikes, "p", |chance| chance.p)?;
    let plain = |of: fn(&Assessment) -> f64| found.iter().map(of).collect::<Vec<_>>().into_pyarray(py);
    columns.set_item("loss", plain(|a| a.loss.loss))?;
    columns.set_item("loss_mcse", plain(|a| a.loss.error))?;
    let words = |of: &dyn Fn(&Assessment) -> Option<String>| found.iter().map(of).collect::<Vec<_>>();
    let numbers = |of: &dyn Fn(&Assessment) -> Option<f64>| {
        found.iter().map(|assessment| of(assessment).unwrap_or(f64::NAN)).collect::<Vec<_>>().into_pyarray(py)
    };
    columns.set_item("nearest_class", words(&|a| Some(a.nearest.as_ref()?.class.name().to_owned())))?;
    columns.set_item("nearest_zone", words(&|a| Some(a.nearest.as_ref()?.name.clone())))?;
    columns.set_item("nearest_m", numbers(&|a| Some(a.nearest.as_ref()?.median_m)))?;
    columns.set_item("nearest_m_q05", numbers(&|a| Some(a.nearest.as_ref()?.band_m.0)))?;
    columns.set_item("nearest_m_q95", numbers(&|a| Some(a.nearest.as_ref()?.band_m.1)))?;
    columns.set_item("nearest_share", numbers(&|a| Some(a.nearest.as_ref()?.share)))?;
    columns.set_item("mark_class", words(&|a| Some(mark(a)?.class.name().to_owned())))?;
    columns.set_item("mark_m", numbers(&|a| Some(mark(a)?.distance_m)))?;
    columns.set_item("mark_half_zone_m", numbers(&|a| Some(mark(a)?.half_zone_m)))?;
    let metal = |a: &Assessment| a.flags.first().map(|near| near.keep_off);
    columns.set_item("metal", words(&|a| Some(site.keep_offs[metal(a)?].name.clone())))?;
    columns.set_item("metal_m", numbers(&|a| Some(a.flags.first()?.distance_m)))?;
    columns.set_item("metal_half_width_m", numbers(&|a| Some(a.flags.first()?.half_width_m)))?;
    let on_metal: Vec<bool> = found.iter().map(|a| a.flags.iter().any(|near| near.inside)).collect();
    columns.set_item("on_flagged_metal", on_metal.into_pyarray(py))?;
    let inside: Vec<bool> = found.iter().map(|a| a.marks.iter().any(|mark| mark.inside)).collect();
    columns.set_item("in_tolerance_zone", inside.into_pyarray(py))?;
    columns.set_item(
        "blocked_by",
        found.iter().map(|a| a.bar.map_or_else(String::new, place_of)).collect::<Vec<_>>(),
    )?;
    let shift = |of: fn(Shift) -> f64| numbers(&|a: &Assessment| Some(of(a.better.shift()?)));
    columns.set_item("shift_dx_m", shift(|s| s.dx_m))?;
    columns.set_item("shift_dy_m", shift(|s| s.dy_m))?;
    columns.set_item("shift_m", shift(|s| s.dx_m.hypot(s.dy_m)))?;
    let turned = site.y_azimuth_deg();
    let azimuth =
        |a: &Assessment| a.better.shift().map(|s| azimuth_deg(s.dy_m.atan2(s.dx_m), turned, TURN_DEG));
    columns.set_item("shift_azimuth_deg", numbers(&azimuth))?;
    columns.set_item("p_shifted", shift(|s| s.p))?;
    columns.set_item("loss_shifted", shift(|s| s.loss))?;
    columns.set_item("shift_note", found.iter().map(|a| a.better.note()).collect::<Vec<_>>())?;
    columns.set_item("p_strike_drawn", numbers(&|a| Some(a.drawn.as_ref()?.p)))?;
    let there =
        |of: fn(&TreeConflict) -> Option<f64>| numbers(&|a: &Assessment| of(a.tree_there.as_ref()?));
    columns.set_item("p_setback_shifted", there(|t| t.p_setback()))?;
    columns.set_item("p_roots_shifted", there(|t| Some(t.roots.as_ref()?.any?.p)))?;
    columns.set_item("structure_m_shifted", there(|t| Some(t.structure?.distance_m)))?;
    let over: Vec<bool> = found.iter().map(|a| a.line_in_setback).collect();
    columns.set_item("line_in_setback", over.into_pyarray(py))?;
    let tree = |of: fn(&TreeConflict) -> Option<f64>| numbers(&|a: &Assessment| of(a.tree.as_ref()?));
    columns.set_item("p_setback", tree(|t| Some(t.setback.as_ref()?.any?.p)))?;
    columns.set_item("p_roots", tree(|t| Some(t.roots.as_ref()?.any?.p)))?;
    columns.set_item("structure_m", tree(|t| Some(t.structure?.distance_m)))?;
    let in_roots = |a: &Assessment| a.tree.as_ref().is_some_and(|tree| tree.structure_in_roots);
    columns
        .set_item("structure_in_roots", found.iter().map(in_roots).collect::<Vec<_>>().into_pyarray(py))?;
    let hole = |of: fn(&RootBall) -> f64| {
        numbers(&|a: &Assessment| Some(hole_m(a.tree.as_ref()?.hole.as_ref(), of)))
    };
    columns.set_item("hole_width_m", hole(|ball| ball.hole_width_m))?;
    columns.set_item("hole_depth_m", hole(|ball| ball.hole_depth_m))?;
    let too_small = |a: &Assessment| a.tree.as_ref().is_some_and(|tree| tree.hole_too_small);
    columns.set_item("hole_too_small", found.iter().map(too_small).collect::<Vec<_>>().into_pyarray(py))?;
    columns.set_item("standing_tree", words(&|a| Some(format!("trees[{}]", a.standing?.tree))))?;
    columns.set_item("standing_tree_m", numbers(&|a| Some(a.standing?.distance_m)))?;
    let protected = |a: &Assessment| a.standing.is_some_and(|tree| tree.inside());
    columns
        .set_item("in_root_protection", found.iter().map(protected).collect::<Vec<_>>().into_pyarray(py))?;
    columns.set_item("action", found.iter().map(|a| a.verdict.name()).collect::<Vec<_>>())?;
    columns.set_item("verdict", found.iter().map(|a| a.sentence.clone()).collect::<Vec<_>>())?;
    reliable(&columns, &strikes)?;
    Ok(columns)
}

/// What keeps a dig from being dug where it is drawn, by its place in the document.
pub fn place_of(bar: Bar) -> String {
    match bar {
        Bar::Obstacle(k) => format!("obstacles[{k}]"),
        Bar::Tree(k) => format!("trees[{k}]"),
        Bar::Boundary => "boundary".to_owned(),
    }
}

/// The mark to name: one whose tolerance zone the dig enters, else the nearest.
fn mark(assessment: &Assessment) -> Option<&MarkNear> {
    assessment.marks.iter().find(|mark| mark.inside).or(assessment.marks.first())
}

fn totals(columns: &Bound<'_, PyDict>, found: &[Strike]) -> PyResult<()> {
    columns.set_item("p_strike", column(columns.py(), found, |strike| strike.p))?;
    columns.set_item("mcse", column(columns.py(), found, |strike| strike.mcse))?;
    columns.set_item("p_upper95", column(columns.py(), found, |strike| strike.upper))
}

fn reliable(columns: &Bound<'_, PyDict>, found: &[Strike]) -> PyResult<()> {
    let rows: Vec<bool> = found.iter().map(|strike| strike.reliable).collect();
    columns.set_item("converged", rows.into_pyarray(columns.py()))
}

fn chances(
    columns: &Bound<'_, PyDict>,
    found: &[Strike],
    prefix: &str,
    of: fn(&Chance) -> f64,
) -> PyResult<()> {
    for class in Class::ALL {
        let values = column(columns.py(), found, |strike| {
            strike.by_class[class as usize].as_ref().map_or(f64::NAN, of)
        });
        columns.set_item(format!("{prefix}_{}", class.name()), values)?;
    }
    Ok(())
}

fn column<'py>(py: Python<'py>, found: &[Strike], of: impl Fn(&Strike) -> f64) -> Bound<'py, PyArray1<f64>> {
    found.iter().map(of).collect::<Vec<_>>().into_pyarray(py)
}
