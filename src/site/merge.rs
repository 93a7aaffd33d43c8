//! Two heads at one place are one head written twice: they are merged in the site, and the document stays as written.
//!
//! Nothing that only one of them says is lost: the label, kind, flow, throw, arc and error of the second fill what the first
//! leaves open, and a station test that names either counts for the head. Heads at one place on different zones contradict
//! each other: that is a fault, and nobody chooses between them here.

use super::clean::SAME_PLACE_M;
use super::document::{Document, HeadEntry, standard_deviation};
use crate::geometry::Point;

/// For each head of the document, the index of the first head at its place: its own for nearly all.
pub(super) fn first_at_place(document: &Document) -> Vec<usize> {
    let scale = document.units.metres_per_unit();
    let at: Vec<Point> = document.heads.iter().map(|head| Point::new(head.x, head.y) * scale).collect();
    let mut first: Vec<usize> = (0..at.len()).collect();
    // Sorted by x, heads at one place are neighbours or nearly so.
    let mut order: Vec<usize> =
        (0..at.len()).filter(|&i| at[i].x.is_finite() && at[i].y.is_finite()).collect();
    order.sort_by(|&i, &j| at[i].x.total_cmp(&at[j].x));
    for (k, &i) in order.iter().enumerate() {
        for &j in order[k + 1..].iter().take_while(|&&j| at[j].x - at[i].x < SAME_PLACE_M) {
            if at[i].distance(at[j]) < SAME_PLACE_M {
                let (least, gone) = (first[i].min(first[j]), first[i].max(first[j]));
                if least == gone {
                    continue;
                }
                first.iter_mut().filter(|f| **f == gone).for_each(|f| *f = least);
            }
        }
    }
    first
}

/// The heads of a site as entries, and where each head of the document went.
pub(super) struct Heads {
    /// One entry a place.
    pub entries: Vec<HeadEntry>,
    /// For each head of the document, its index among them.
    pub index_of: Vec<usize>,
}

/// Merges the heads of a checked document.
pub(super) fn heads(document: &Document) -> Heads {
    let first = first_at_place(document);
    let mut heads = Heads { entries: Vec::with_capacity(first.len()), index_of: vec![0; first.len()] };
    for (i, head) in document.heads.iter().enumerate() {
        if first[i] == i {
            heads.index_of[i] = heads.entries.len();
            heads.entries.push(head.clone());
        } else {
            let index = heads.index_of[first[i]];
            heads.index_of[i] = index;
            fill(&mut heads.entries[index], head);
        }
    }
    heads
}

/// What one head leaves open the other says.
fn fill(head: &mut HeadEntry, other: &HeadEntry) {
    let HeadEntry { id: _, x: _, y: _, kind, zone, sd, accuracy_95, radius, arc_deg, flow } = other.clone();
    head.kind = head.kind.or(kind);
    head.zone = head.zone.take().or(zone);
    if head.accuracy_95.is_none() && head.sd.is_none() {
        (head.sd, head.accuracy_95) = (sd, accuracy_95);
    }
    head.radius = head.radius.or(radius);
    head.arc_deg = head.arc_deg.or(arc_deg);
    head.flow = head.flow.or(flow);
}

/// The keys of which two merged heads say different things: what the first says is kept.
pub(super) fn contradictions(head: &HeadEntry, other: &HeadEntry) -> Vec<&'static str> {
    fn differ<T: PartialEq>(a: Option<&T>, b: Option<&T>) -> bool {
        a.zip(b).is_some_and(|(a, b)| a != b)
    }
    let sd = |it: &HeadEntry| standard_deviation(it.sd, it.accuracy_95);
    [
        ("kind", differ(head.kind.as_ref(), other.kind.as_ref())),
        ("sd", differ(sd(head).as_ref(), sd(other).as_ref())),
        ("radius", differ(head.radius.as_ref(), other.radius.as_ref())),
        ("arc_deg", differ(head.arc_deg.as_ref(), other.arc_deg.as_ref())),
        ("flow", differ(head.flow.as_ref(), other.flow.as_ref())),
    ]
    .into_iter()
    .filter(|(_, differ)| *differ)
    .map(|(key, _)| key)
    .collect()
}
