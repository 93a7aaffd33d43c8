//! What is left out of outlines and paths as survey noise, said of each.

use super::found::Found;
use crate::geometry::Point;
use crate::site::clean::{self, Cleaned};
use crate::site::document::{Document, Xy};
use crate::site::note::NoteKind;

pub(super) fn note(document: &Document, found: &mut Found) {
    let scale = document.units.metres_per_unit();
    let metres = |points: &[Xy]| -> Vec<Point> { points.iter().map(|&at| Point::from(at) * scale).collect() };
    let outline = |points: &[Xy]| clean::outline(&metres(points));
    let path = |points: &[Xy]| clean::path(&metres(points));
    let mut all: Vec<(String, Cleaned)> = Vec::new();
    all.extend(document.boundary.iter().map(|it| ("boundary".to_owned(), outline(it))));
    let obstacles = document.obstacles.iter().enumerate();
    all.extend(obstacles.map(|(i, it)| (format!("obstacles[{i}].outline"), outline(&it.outline))));
    let swept = document.swept.iter().enumerate();
    all.extend(swept.map(|(i, it)| (format!("swept[{i}].outline"), outline(&it.outline))));
    let marks = document.marks.iter().enumerate();
    all.extend(marks.map(|(i, it)| (format!("marks[{i}].path"), path(&it.path))));
    let sketches = document.sketches.iter().enumerate();
    all.extend(sketches.map(|(i, it)| (format!("sketches[{i}].path"), path(&it.path))));
    for (i, it) in document.digs.iter().enumerate() {
        all.extend(it.path.iter().map(|points| (format!("digs[{i}].path"), path(points))));
        all.extend(it.outline.iter().map(|corners| (format!("digs[{i}].outline"), outline(corners))));
    }
    all.into_iter().for_each(|(place, cleaned)| tell(document, place, &cleaned, found));
    (0..document.probes.len()).for_each(|i| probe(document, i, found));
}

/// The same of one probe.
pub(super) fn probe(document: &Document, index: usize, found: &mut Found) {
    let scale = document.units.metres_per_unit();
    let Some(path) = &document.probes[index].path else { return };
    let in_metres: Vec<Point> = path.iter().map(|&at| Point::from(at) * scale).collect();
    tell(document, format!("probes[{index}].path"), &clean::path(&in_metres), found);
}

fn tell(document: &Document, place: String, cleaned: &Cleaned, found: &mut Found) {
    let &Cleaned { closed, repeated, spikes, .. } = cleaned;
    if cleaned.is_changed() {
        found.note(document, place, NoteKind::Cleaned { closed, repeated, spikes });
    }
}
