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
    for (i, it) in document.probes.iter().enumerate() {
        all.extend(it.path.iter().map(|points| (format!("probes[{i}].path"), path(points))));
    }
    for (i, it) in document.digs.iter().enumerate() {
        all.extend(it.path.iter().map(|points| (format!("digs[{i}].path"), path(points))));
        all.extend(it.outline.iter().map(|corners| (format!("digs[{i}].outline"), outline(corners))));
    }
    for (place, Cleaned { closed, repeated, spikes, .. }) in all.into_iter().filter(|(_, it)| it.is_changed())
    {
        found.note(document, place, NoteKind::Cleaned { closed, repeated, spikes });
    }
}
