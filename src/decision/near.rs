//! The nearest likely line of a dig: how far it is in most draws, and what it most often is.
//!
//! # Votes
//! In each draw some line is nearest. The draws vote first for its class, then within that class for the line. Named zones
//! stand each for themselves. Valves that nobody has named are interchangeable (which of them is "valve 1" changes from
//! draw to draw), so all their laterals are counted as one line; counted one by one, eight of them could lose to a mainline
//! that is nearest in every fifth draw.

use super::dig::footprint;
use super::valves::valve_of;
use crate::class::Class;
use crate::inference::Layouts;
use crate::layout::Piece;
use crate::site::{Dig, Site};
use std::collections::HashSet;

/// The line that a dig most likely has nearest.
#[derive(Clone, Debug, PartialEq)]
pub struct Nearest {
    /// Class of line that comes nearest in most draws.
    pub class: Class,
    /// Share of draws in which a line of this class comes nearest.
    pub share: f64,
    /// The line of this class that comes nearest most often: `zone 1`, `mainline`, `a valve of box`.
    pub name: String,
    /// Median over draws of the distance from the dig's edge to the nearest line of any class, metres.
    pub median_m: f64,
    /// 5 % and 95 % quantiles of that distance over draws, metres.
    pub band_m: (f64, f64),
}

/// What the systems of a site are called when they are voted for.
pub struct Ballot {
    /// For each system and the unknown lines: its class and its place among the names.
    entries: Vec<(Class, usize)>,
    names: Vec<String>,
}

impl Ballot {
    /// The names of a site's systems, nameless valves together.
    pub fn new(layouts: &Layouts) -> Self {
        let site = layouts.site();
        let together = together(site);
        let mut names: Vec<String> = Vec::new();
        let place = |name: String, names: &mut Vec<String>| {
            names.iter().position(|known| *known == name).unwrap_or_else(|| {
                names.push(name);
                names.len() - 1
            })
        };
        let mut entries = Vec::new();
        for (k, name) in layouts.system_names().into_iter().enumerate() {
            let class = layouts.systems().get(k).map_or(Class::Unknown, |system| system.class);
            let nameless = site.zones.get(k).is_some_and(|zone| zone.nameless);
            let name = if nameless { together.clone() } else { name };
            entries.push((class, place(name, &mut names)));
        }
        Self { entries, names }
    }

    /// What the votes come to: for each draw, the system that is nearest; `None` without draws.
    fn count(&self, votes: &[usize]) -> Option<(Class, f64, String)> {
        let mut classes = [0usize; Class::ALL.len()];
        votes.iter().for_each(|&system| classes[self.entries[system].0 as usize] += 1);
        let class = Class::ALL.into_iter().rev().max_by_key(|&class| classes[class as usize])?;
        let mut lines = vec![0usize; self.names.len()];
        for (of, line) in votes.iter().map(|&system| self.entries[system]) {
            lines[line] += usize::from(of == class);
        }
        let line = (0..lines.len()).rev().max_by_key(|&line| lines[line])?;
        let share = classes[class as usize] as f64 / votes.len().max(1) as f64;
        Some((class, share, self.names[line].clone()))
    }
}

/// What nameless zones are called together: by their box where they share one.
fn together(site: &Site) -> String {
    let boxes: HashSet<&[usize]> =
        site.zones.iter().filter(|zone| zone.nameless).map(|zone| &zone.boxes[..]).collect();
    let mut boxes = boxes.into_iter();
    match (boxes.next(), boxes.next()) {
        (Some(held), None) => valve_of(site, held),
        _ => "a zone that nobody has named".to_owned(),
    }
}

/// The nearest likely line of a dig; `None` where some draw holds no line at all.
pub fn nearest(layouts: &Layouts, ballot: &Ballot, dig: &Dig) -> Option<Nearest> {
    let taken = footprint(dig);
    let pieces = layouts.pieces();
    let mut distances = Vec::with_capacity(pieces.draws());
    let mut votes = Vec::with_capacity(pieces.draws());
    for k in 0..pieces.draws() {
        let to_piece = |piece: &Piece| {
            let gap = taken.distance_to_segment(piece.a, piece.b) - f64::from(piece.radius_m);
            (gap.max(0.0), piece.system)
        };
        let (distance, system) = pieces.draw(k).iter().map(to_piece).min_by(|a, b| a.0.total_cmp(&b.0))?;
        distances.push(distance);
        votes.push(usize::from(system));
    }
    distances.sort_by(f64::total_cmp);
    let (class, share, name) = ballot.count(&votes)?;
    let at = |share: f64| quantile(&distances, share);
    Some(Nearest { class, share, name, median_m: at(0.5), band_m: (at(0.05), at(0.95)) })
}

/// Quantile of sorted numbers, linear between them (type 7 of Hyndman and Fan 1996, what numpy does unless told otherwise).
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let at = share * last as f64;
    let (below, above) = (sorted[at.floor() as usize], sorted[at.ceil() as usize]);
    below + (at - at.floor()) * (above - below)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Eight interchangeable valves are nearest in 80 of 100 draws, a mainline in 20: the lateral wins with 80 %.
    #[test]
    fn nameless_valves_do_not_split_their_votes() {
        let mut entries = vec![(Class::Lateral, 0); 8];
        entries.push((Class::Mainline, 1));
        let ballot = Ballot { entries, names: vec!["a valve of box".to_owned(), "mainline".to_owned()] };
        let votes: Vec<usize> = (0..80).map(|k| k % 8).chain([8; 20]).collect();
        let (class, share, name) = ballot.count(&votes).expect("votes");
        assert_eq!((class, name.as_str()), (Class::Lateral, "a valve of box"));
        assert_relative_eq!(share, 0.8);
        // Planted fault: counted one by one the mainline has the most votes, 20 against 10 each.
        let most = (0..9).max_by_key(|system| votes.iter().filter(|vote| *vote == system).count());
        assert_eq!(most, Some(8));
    }

    #[test]
    fn named_zones_stand_each_for_themselves_within_their_class() {
        let entries = vec![(Class::Lateral, 0), (Class::Lateral, 1), (Class::Mainline, 2)];
        let names = ["zone 1", "zone 2", "mainline"].map(str::to_owned).to_vec();
        let votes: Vec<usize> = [[0; 3].as_slice(), &[1; 4], &[2; 3]].concat();
        let (class, share, name) = Ballot { entries, names }.count(&votes).expect("votes");
        assert_eq!((class, share, name.as_str()), (Class::Lateral, 0.7, "zone 2"));
    }

    /// numpy.quantile([0, 1, 3, 7], [0.05, 0.5, 0.95]) is [0.15, 2, 6.4].
    #[test]
    fn quantiles_are_those_of_numpy() {
        let sorted = [0.0, 1.0, 3.0, 7.0];
        for (share, expected) in [(0.05, 0.15), (0.5, 2.0), (0.95, 6.4), (0.0, 0.0), (1.0, 7.0)] {
            assert_relative_eq!(quantile(&sorted, share), expected, epsilon = 1e-12);
        }
    }
}
