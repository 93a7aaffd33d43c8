//! The map to beat: lines drawn through the flags, and a curve that turns the distance from a hole's edge to the nearest of
//! them into a chance. Named flags are joined within their name, in the order of the walk where there is one and else by a
//! shortest tree; flags without names by a shortest tree with long links cut. The cut and the curves, one for each third of
//! depths, are fitted on the very truths that are scored, which flatters the map.

use super::Site;
use super::forecaster::{CourseForecast, FlagForecast, Forecast, LineForecast, MetalForecaster, Station};
use super::survey::Survey;
use crate::baseline::edge_distance;
use crate::job::Hole;
use crate::pav;
use crate::plane::Xy;
use crate::scores::{brier_of, mean};

/// Cuts that are tried, metres: from the longest step of a walk to none at all.
pub const CUTS_M: [f64; 6] = [2.5, 3.2, 4.0, 5.5, 9.0, f64::INFINITY];

/// Flags joined: links between them, and the group of each, numbered from 0.
pub struct Joined {
    pub links: Vec<(usize, usize)>,
    pub groups: Vec<usize>,
}

/// Joins the flags of a survey.
pub fn join(survey: &Survey, cut_m: f64) -> Joined {
    let mut names: Vec<&str> = survey.flags.iter().filter_map(|f| f.name.as_deref()).collect();
    names.sort_unstable();
    names.dedup();
    let mut links = Vec::new();
    let of = |name: Option<&str>| -> Vec<usize> {
        (0..survey.flags.len()).filter(|&k| survey.flags[k].name.as_deref() == name).collect()
    };
    for name in &names {
        let members = of(Some(name));
        if survey.in_walking_order {
            links.extend(members.windows(2).map(|w| (w[0], w[1])));
        } else {
            links.extend(tree(survey, &members));
        }
    }
    if names.is_empty() {
        links = tree(survey, &of(None));
    }
    let at = |k: usize| survey.flags[k].at;
    links.retain(|&(a, b)| at(a).to(at(b)) <= cut_m);
    let mut groups: Vec<usize> = (0..survey.flags.len()).collect();
    for &(a, b) in &links {
        let (from, to) = (groups[a], groups[b]);
        groups.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
    }
    Joined { links, groups }
}

/// Shortest tree over some flags (Prim 1957).
fn tree(survey: &Survey, members: &[usize]) -> Vec<(usize, usize)> {
    let far = |a: usize, b: usize| survey.flags[a].at.to(survey.flags[b].at);
    let Some((&first, rest)) = members.split_first() else { return Vec::new() };
    let mut outside: Vec<(usize, usize)> = rest.iter().map(|&k| (first, k)).collect();
    let mut links = Vec::new();
    while let Some(k) = (0..outside.len())
        .min_by(|&a, &b| far(outside[a].0, outside[a].1).total_cmp(&far(outside[b].0, outside[b].1)))
    {
        let link = outside.swap_remove(k);
        links.push(link);
        for entry in &mut outside {
            if far(link.1, entry.1) < far(entry.0, entry.1) {
                entry.0 = link.1;
            }
        }
    }
    links
}

/// The map as straight pieces. A flag that is joined to nothing is a piece of no length.
fn pieces(survey: &Survey, cut_m: f64) -> Vec<(Xy, Xy)> {
    let at = |k: usize| survey.flags[k].at;
    let links = join(survey, cut_m).links;
    let alone = (0..survey.flags.len()).filter(|k| links.iter().all(|l| l.0 != *k && l.1 != *k));
    links.iter().map(|&(a, b)| (at(a), at(b))).chain(alone.map(|k| (at(k), at(k)))).collect()
}

/// Chances of all holes of all sites, by the best cut.
pub struct Fitted {
    pub p: Vec<f64>,
    pub cut_m: f64,
}

pub fn fitted(sites: &[Site]) -> Fitted {
    let y: Vec<f64> =
        sites.iter().flat_map(|s| s.holes.iter().map(|h| f64::from(u8::from(s.truth.strikes(h))))).collect();
    let thirds: Vec<usize> = sites
        .iter()
        .flat_map(|s| s.holes.iter().map(|h| ((h.depth_m - 0.3) / 0.2).clamp(0.0, 2.0) as usize))
        .collect();
    let by = |cut_m: f64| {
        let distance: Vec<f64> = sites
            .iter()
            .flat_map(|s| {
                let map = pieces(&s.survey, cut_m);
                s.holes.iter().map(move |h| edge_distance(h, &map)).collect::<Vec<_>>()
            })
            .collect();
        let mut p = vec![0.0; y.len()];
        for third in 0..3 {
            let of: Vec<usize> = (0..y.len()).filter(|&i| thirds[i] == third).collect();
            let pick = |v: &[f64]| of.iter().map(|&i| v[i]).collect::<Vec<_>>();
            let curve = pav::falling(&pick(&distance), &pick(&y));
            of.iter().zip(curve).for_each(|(&i, c)| p[i] = c);
        }
        p
    };
    CUTS_M
        .iter()
        .map(|&cut_m| Fitted { p: by(cut_m), cut_m })
        .min_by(|a, b| mean(brier_of, &a.p, &y).total_cmp(&mean(brier_of, &b.p, &y)))
        .expect("a cut")
}

/// The same joining as an answer about flags: a group of fewer than `least` flags is stray. Bands are those of one flag.
pub struct Polyline {
    pub cut_m: f64,
    pub least: usize,
}

impl MetalForecaster for Polyline {
    fn forecast(&self, survey: &Survey, holes: &[Hole]) -> Result<Forecast, String> {
        let joined = join(survey, self.cut_m);
        let size = |g: usize| joined.groups.iter().filter(|x| **x == g).count();
        let mut kept: Vec<usize> = joined.groups.iter().copied().filter(|&g| size(g) >= self.least).collect();
        kept.sort_unstable();
        kept.dedup();
        let line = |k: usize| kept.iter().position(|&g| g == joined.groups[k]);
        let flags: Vec<FlagForecast> = (0..survey.flags.len())
            .map(|k| FlagForecast { line: line(k), p_stray: if line(k).is_some() { 0.05 } else { 0.6 } })
            .collect();
        let station =
            |k: usize| Station { at: survey.flags[k].at, half_width_m: 1.645 * survey.flags[k].sd_m };
        let lines = (0..kept.len()).map(|g| {
            let links = joined.links.iter().filter(|l| joined.groups[l.0] == kept[g]);
            // a tree is no path: each link goes there and back, so that neighbours in the list are neighbours on the ground
            let path = walk_round(&links.copied().collect::<Vec<_>>());
            let course = CourseForecast::Band(path.into_iter().map(station).collect());
            LineForecast { course, class: Vec::new() }
        });
        let map = pieces(survey, self.cut_m);
        let p_strike = holes.iter().map(|h| if edge_distance(h, &map) < 0.0 { 0.6 } else { 0.05 }).collect();
        Ok(Forecast { lines: lines.collect(), flags, crossings: Vec::new(), p_strike })
    }
}

/// A walk along every link of a tree, there and back.
fn walk_round(links: &[(usize, usize)]) -> Vec<usize> {
    fn on(at: usize, from: Option<usize>, links: &[(usize, usize)], path: &mut Vec<usize>) {
        path.push(at);
        for &(a, b) in links {
            let next = if a == at {
                b
            } else if b == at {
                a
            } else {
                continue;
            };
            if Some(next) != from {
                on(next, Some(at), links, path);
                path.push(at);
            }
        }
    }
    let mut path = Vec::new();
    if let Some(&(a, _)) = links.first() {
        on(a, None, links, &mut path);
    }
    path
}
