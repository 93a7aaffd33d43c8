//! What flags, paint and known ends tell of metal lines, as columns of tables.

use numpy::IntoPyArray;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::sync::Arc;
use underturf::inference::Layouts;
use underturf::layout::MetalLine;
use underturf::metal::{Evidence, ItemSummary, LineSummary, Origin, Station, Summary, class_names};
use underturf::site::Site;
use underturf::site::direction::{HALF_TURN_DEG, azimuth_deg};

/// The lines of every draw at one view; empty where nothing tells of metal.
pub fn summary(layouts: &Layouts) -> Option<Summary> {
    let draws: Vec<&[Arc<MetalLine>]> = layouts.draws().iter().map(|draw| &*draw.metal).collect();
    layouts.metal().map(|metal| metal.summary(&draws))
}

/// Tables of lines, of stations along them, of flags and of crossings; lines count from 0. Beside them sentences: every check
/// that the chains over metal did not pass.
pub fn tables<'py>(
    py: Python<'py>,
    layouts: &Layouts,
    found: Option<&Summary>,
) -> PyResult<Bound<'py, PyDict>> {
    let nothing = Summary { lines: Vec::new(), items: Vec::new(), crossings: Vec::new() };
    let found = found.unwrap_or(&nothing);
    let tables = PyDict::new(py);
    tables.set_item("lines", lines(py, layouts, &found.lines)?)?;
    tables.set_item("stations", stations(py, layouts, &found.lines)?)?;
    tables.set_item("flags", flags(py, layouts, &found.items)?)?;
    let crossings = PyDict::new(py);
    let of =
        |place: usize| found.crossings.iter().map(|it| it.lines[place]).collect::<Vec<_>>().into_pyarray(py);
    crossings.set_item("line", of(0))?;
    crossings.set_item("crosses", of(1))?;
    let numbers = |of: &dyn Fn(&underturf::metal::Crossing) -> f64| {
        found.crossings.iter().map(of).collect::<Vec<_>>().into_pyarray(py)
    };
    crossings.set_item("x_m", numbers(&|it| it.at.x))?;
    crossings.set_item("y_m", numbers(&|it| it.at.y))?;
    crossings.set_item("probability", numbers(&|it| it.probability))?;
    tables.set_item("crossings", crossings)?;
    let failures = layouts.metal().map(|metal| &metal.checked().failures[..]).unwrap_or_default();
    tables.set_item("failures", failures.iter().map(ToString::to_string).collect::<Vec<_>>())?;
    Ok(tables)
}

fn lines<'py>(py: Python<'py>, layouts: &Layouts, lines: &[LineSummary]) -> PyResult<Bound<'py, PyDict>> {
    let columns = PyDict::new(py);
    let numbers =
        |of: &dyn Fn(&LineSummary) -> f64| lines.iter().map(of).collect::<Vec<_>>().into_pyarray(py);
    columns.set_item("probability", numbers(&|line| line.probability))?;
    let names = class_names();
    let likeliest = |line: &LineSummary| {
        let best = (0..names.len()).max_by(|a, b| line.classes[*a].total_cmp(&line.classes[*b]));
        best.map_or("unknown", |k| names[k])
    };
    columns.set_item("class", lines.iter().map(likeliest).collect::<Vec<_>>())?;
    for (k, name) in names.iter().enumerate() {
        columns.set_item(format!("p_{name}"), numbers(&|line| line.classes[k]))?;
    }
    columns.set_item("cover_m", numbers(&|line| line.cover_m))?;
    columns.set_item("cover_low_m", numbers(&|line| line.cover_band_m[0]))?;
    columns.set_item("cover_high_m", numbers(&|line| line.cover_band_m[1]))?;
    let (site, evidence) = (layouts.site(), layouts.metal().map(|metal| metal.evidence()));
    let told = |line: &LineSummary| evidence.map_or_else(String::new, |evidence| told_by(evidence, line));
    columns.set_item("told_by", lines.iter().map(told).collect::<Vec<_>>())?;
    let leads = |line: &LineSummary| leads_to(site, line);
    columns.set_item("leads_to", lines.iter().map(leads).collect::<Vec<_>>())?;
    let flags = |line: &LineSummary| evidence.map_or(0, |evidence| flags_on(evidence, line)) as i64;
    columns.set_item("flags", lines.iter().map(flags).collect::<Vec<_>>().into_pyarray(py))?;
    Ok(columns)
}

/// Number of detector flags on a line.
fn flags_on(evidence: &Evidence, line: &LineSummary) -> usize {
    line.items.iter().filter(|item| evidence.items[**item].is_flag()).count()
}

/// What lies on a line, as a person would list it: `12 flags, mark 1, service 2`.
fn told_by(evidence: &Evidence, line: &LineSummary) -> String {
    let mut words: Vec<String> = Vec::new();
    let flags = flags_on(evidence, line);
    if flags > 0 {
        words.push(if flags == 1 { "1 flag".to_owned() } else { format!("{flags} flags") });
    }
    for &item in &line.items {
        let word = match evidence.items[item].origin {
            Origin::Flag(_) => continue,
            Origin::Mark(k) => format!("mark {}", k + 1),
            Origin::Service(k) | Origin::Passed(k) => format!("service {}", k + 1),
            Origin::Probe(k) => format!("probe {}", k + 1),
        };
        if !words.contains(&word) {
            words.push(word);
        }
    }
    words.join(", ")
}

/// The fixtures that a line leads to, the likeliest first, with their chances.
fn leads_to(site: &Site, line: &LineSummary) -> String {
    let sources = site.sources.iter().map(|it| it.id.as_str());
    let outlets = site.outlets.iter().map(|it| it.id.as_str());
    let boxes = site.valve_boxes.iter().map(|it| it.id.as_str());
    let mut found: Vec<(&str, f64)> = sources
        .chain(outlets)
        .chain(boxes)
        .zip(line.fixtures.iter().copied())
        .filter(|it| it.1 >= 0.1)
        .collect();
    found.sort_by(|a, b| b.1.total_cmp(&a.1));
    found.iter().map(|(id, p)| format!("{id} ({:.0} %)", 100.0 * p)).collect::<Vec<_>>().join(", ")
}

fn stations<'py>(py: Python<'py>, layouts: &Layouts, lines: &[LineSummary]) -> PyResult<Bound<'py, PyDict>> {
    let rows: Vec<(usize, &Station)> =
        lines.iter().enumerate().flat_map(|(k, line)| line.stations.iter().map(move |s| (k, s))).collect();
    let told: Vec<bool> = lines.iter().flat_map(|line| between(layouts, line)).collect();
    let columns = PyDict::new(py);
    let numbers = |of: &dyn Fn(&Station) -> f64| {
        rows.iter().map(|(_, station)| of(station)).collect::<Vec<_>>().into_pyarray(py)
    };
    columns.set_item("line", rows.iter().map(|(k, _)| *k).collect::<Vec<_>>().into_pyarray(py))?;
    columns.set_item("x_m", numbers(&|station| station.at.x))?;
    columns.set_item("y_m", numbers(&|station| station.at.y))?;
    let turned = layouts.site().y_azimuth_deg();
    columns.set_item(
        "azimuth_deg",
        numbers(&|station| azimuth_deg(station.along.y.atan2(station.along.x), turned, HALF_TURN_DEG)),
    )?;
    columns.set_item("half_width_m", numbers(&|station| station.band_m[1].max(-station.band_m[0])))?;
    columns.set_item("p_here", numbers(&|station| station.probability))?;
    columns.set_item("between", told.into_pyarray(py))?;
    Ok(columns)
}

/// For each station of a line, whether it lies between the first and the last of what tells of the line.
fn between(layouts: &Layouts, line: &LineSummary) -> Vec<bool> {
    let items = layouts.metal().map(|metal| &metal.evidence().items[..]).unwrap_or_default();
    let gap = |item: usize, k: usize| line.stations[k].at.distance(items[item].at);
    let nearest = |item: &usize| {
        (0..line.stations.len()).min_by(|a, b| gap(*item, *a).total_cmp(&gap(*item, *b))).unwrap_or(0)
    };
    let places: Vec<usize> = line.items.iter().map(nearest).collect();
    let (first, last) = (places.iter().min(), places.iter().max());
    (0..line.stations.len())
        .map(|k| first.is_some_and(|f| *f <= k) && last.is_some_and(|l| k <= *l))
        .collect()
}

fn flags<'py>(py: Python<'py>, layouts: &Layouts, items: &[ItemSummary]) -> PyResult<Bound<'py, PyDict>> {
    let flags: Vec<(usize, &ItemSummary)> = items
        .iter()
        .filter_map(|item| match item.origin {
            Origin::Flag(k) => Some((k, item)),
            _ => None,
        })
        .collect();
    let columns = PyDict::new(py);
    let at = |k: usize| layouts.site().flags[k].at;
    columns.set_item("x_m", flags.iter().map(|(k, _)| at(*k).x).collect::<Vec<_>>().into_pyarray(py))?;
    columns.set_item("y_m", flags.iter().map(|(k, _)| at(*k).y).collect::<Vec<_>>().into_pyarray(py))?;
    let named = |(k, _): &(usize, &ItemSummary)| layouts.site().flags[*k].line.clone();
    columns.set_item("written", flags.iter().map(named).collect::<Vec<_>>())?;
    columns.set_item("line", flags.iter().map(|(_, item)| item.line).collect::<Vec<_>>())?;
    let numbers = |of: &dyn Fn(&ItemSummary) -> f64| {
        flags.iter().map(|(_, item)| of(item)).collect::<Vec<_>>().into_pyarray(py)
    };
    columns.set_item("probability", numbers(&|item| item.probability))?;
    columns.set_item("p_stray", numbers(&|item| item.stray))?;
    Ok(columns)
}
