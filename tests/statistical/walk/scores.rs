//! Scores of one site: flags put right, bands of courses that hold, holes, crossings told from bends, classes. Pooled and judged in
//! `judge`.

use super::Site;
use super::crossings::{self, Told};
use super::forecaster::{CourseForecast, Forecast, Station};
use super::matching;
use super::truth::{End, Origin};
use crate::plane::{Xy, nearest_on_segment, segments_meet};

/// Way between stations along the true line, metres.
const STATION_M: f64 = 0.5;
/// A band is looked for this far to either side, metres.
const ASIDE_M: f64 = 3.0;
/// A band of no width holds its own course, metres.
const ROUNDING_M: f64 = 1e-6;
/// Flags this far apart have a gap between them: the longest step of the walk.
const GAP_M: f64 = 3.0;
/// An end tells where flags reach this near to it, metres.
const END_M: f64 = 3.0;

/// Scores of one site.
#[derive(Clone, Debug, Default)]
pub struct SiteScores {
    pub flags: usize,
    pub flags_right: usize,
    pub strays: usize,
    pub strays_right: usize,
    /// Chance of being stray, and whether it was, of each flag.
    pub stray: Vec<(f64, f64)>,
    /// Stations along the flagged parts of true lines.
    pub stations: usize,
    pub covered: usize,
    /// Of these: on lines that are matched and have a band.
    pub banded: usize,
    /// Of these: in gaps.
    pub in_gaps: usize,
    pub covered_in_gaps: usize,
    /// Full widths of the bands that were looked at, metres.
    pub widths_m: Vec<f64>,
    pub told: Told,
    /// For each matched line whose end tells: chance of the likeliest class, and whether it is right.
    pub classes: Vec<(f64, f64)>,
    /// Lines whose end tells, matched or not.
    pub telling: usize,
    /// Chance and truth of each hole.
    pub holes: Vec<(f64, f64)>,
}

/// Scores a forecast of one site.
pub fn score(site: &Site, forecast: &Forecast) -> SiteScores {
    let truth = &site.truth;
    assert_eq!(forecast.flags.len(), truth.flags.len(), "one answer per flag");
    assert_eq!(forecast.p_strike.len(), site.holes.len(), "one answer per hole");
    let is_chance = |p: &f64| (0.0..=1.0).contains(p);
    assert!(forecast.p_strike.iter().chain(forecast.flags.iter().map(|f| &f.p_stray)).all(is_chance));
    let match_of = matched(site, forecast);
    let mut s = SiteScores { told: crossings::told(site, forecast), ..SiteScores::default() };
    for (flag, origin) in forecast.flags.iter().zip(&truth.flags) {
        let stray = *origin == Origin::Stray;
        let right = match (flag.line, origin.line()) {
            (None, None) => true,
            (Some(f), Some(t)) => match_of[f] == Some(t),
            _ => false,
        };
        s.flags += 1;
        s.flags_right += usize::from(right);
        s.strays += usize::from(stray);
        s.strays_right += usize::from(stray && right);
        s.stray.push((flag.p_stray, f64::from(u8::from(stray))));
    }
    for k in 0..truth.lines.len() {
        let of = match_of.iter().position(|m| *m == Some(k));
        cover(site, k, of.map(|f| &forecast.lines[f].course), &mut s);
        if tells(site, k) {
            s.telling += 1;
            let Some(f) = of else { continue };
            let top = forecast.lines[f].class.iter().max_by(|a, b| a.1.total_cmp(&b.1));
            if let Some((name, p)) = top {
                s.classes.push((*p, f64::from(u8::from(name == truth.lines[k].class.name()))));
            }
        }
    }
    s.holes = (forecast.p_strike.iter().zip(&site.holes))
        .map(|(p, hole)| (*p, f64::from(u8::from(truth.strikes(hole)))))
        .collect();
    s
}

/// For each line of the forecast the true line that it stands for.
pub fn matched(site: &Site, forecast: &Forecast) -> Vec<Option<usize>> {
    let columns = site.truth.lines.len();
    let mut overlap = vec![vec![0; columns]; forecast.lines.len()];
    for (flag, origin) in forecast.flags.iter().zip(&site.truth.flags) {
        if let (Some(f), Some(t)) = (flag.line, origin.line()) {
            overlap[f][t] += 1;
        }
    }
    matching::best(&overlap, columns)
}

/// Looks at the band at every station along the flagged part of a true line. A line that no forecast line stands for is not
/// covered.
fn cover(site: &Site, k: usize, course: Option<&CourseForecast>, s: &mut SiteScores) {
    let Some((from, to)) = site.truth.flagged_part(k) else { return };
    let arcs: Vec<f64> = site.truth.flags_of(k).iter().map(|f| f.0).collect();
    let line = &site.truth.lines[k];
    for i in 0..=((to - from) / STATION_M) as usize {
        let arc = from + STATION_M * i as f64;
        let next = arcs.partition_point(|a| *a <= arc).clamp(1, arcs.len() - 1);
        let gap = arcs[next] - arcs[next - 1] > GAP_M + 1e-9;
        let band = course.and_then(|c| band_at(c, line.course.at(arc), line.course.direction(arc)));
        let holds = band.is_some_and(|(low, high)| low <= ROUNDING_M && high >= -ROUNDING_M);
        s.stations += 1;
        s.banded += usize::from(band.is_some());
        s.covered += usize::from(holds);
        s.in_gaps += usize::from(gap);
        s.covered_in_gaps += usize::from(gap && holds);
        s.widths_m.extend(band.map(|(low, high)| high - low));
    }
}

/// The band seen sideways from a true place: it holds the place when zero lies within.
fn band_at(course: &CourseForecast, at: Xy, along: Xy) -> Option<(f64, f64)> {
    match course {
        CourseForecast::Untold => None,
        CourseForecast::Band(stations) => beside_band(stations, at),
        CourseForecast::Draws(draws) => {
            let mut off: Vec<f64> = draws.iter().map(|path| aside(path, at, along)).collect();
            off.sort_by(f64::total_cmp);
            let quantile = |q: f64| {
                let x = q * (off.len() - 1) as f64;
                let i = (x as usize).min(off.len().saturating_sub(2));
                off[i] + (x - i as f64) * (off[(i + 1).min(off.len() - 1)] - off[i])
            };
            (!off.is_empty()).then(|| (quantile(0.05), quantile(0.95)))
        }
    }
}

/// By the nearest place of the mean course; its half-width is read off between stations.
fn beside_band(stations: &[Station], at: Xy) -> Option<(f64, f64)> {
    let (off, half) = stations
        .windows(2)
        .map(|w| {
            let q = nearest_on_segment(at, w[0].at, w[1].at);
            let span = w[0].at.to(w[1].at);
            let t = if span > 0.0 { w[0].at.to(q) / span } else { 0.0 };
            (at.to(q), w[0].half_width_m + t * (w[1].half_width_m - w[0].half_width_m))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some((off - half, off + half))
}

/// Signed sideways place of a sampled course: where it meets the square line through the true place, nearest first, or else
/// the nearest point of it.
fn aside(path: &[Xy], at: Xy, along: Xy) -> f64 {
    let n = along.left();
    let (a, b) = (at - n * ASIDE_M, at + n * ASIDE_M);
    let mut best: Option<f64> = None;
    for w in path.windows(2) {
        if segments_meet(w[0], w[1], a, b) {
            let d = (b - a).cross(w[1] - w[0]);
            if d != 0.0 {
                let t = (w[0] - a).cross(w[1] - w[0]) / d;
                let off = (2.0 * t - 1.0) * ASIDE_M;
                best = Some(best.map_or(off, |o: f64| if off.abs() < o.abs() { off } else { o }));
            }
        }
    }
    best.unwrap_or_else(|| {
        let q = path
            .windows(2)
            .map(|w| nearest_on_segment(at, w[0], w[1]))
            .min_by(|p, q| at.to(*p).total_cmp(&at.to(*q)));
        // a course that does not come by is off by all of its distance
        q.map_or(f64::INFINITY, |q| at.to(q) * if (q - at).dot(n) < 0.0 { -1.0 } else { 1.0 })
    })
}

/// Whether an end of the line tells its class: a fixture of one class that the document shows, with flags up to it.
pub fn tells(site: &Site, k: usize) -> bool {
    let line = &site.truth.lines[k];
    let Some((from, to)) = site.truth.flagged_part(k) else { return false };
    let reached = [from <= END_M, line.course.length() - to <= END_M];
    (0..2).any(|e| match line.ends[e] {
        End::At(f) => {
            let kind = site.survey.fixtures[f].kind;
            let written = kind.has_entry() || site.survey.services.iter().any(|s| s.from == f || s.to == f);
            reached[e] && written && kind.tells() == Some(line.class)
        }
        _ => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::xy;

    #[test]
    fn bands_by_hand() {
        let at = |x, half_width_m| Station { at: xy(x, 0.0), half_width_m };
        let band = CourseForecast::Band(vec![at(0.0, 0.2), at(10.0, 0.4)]);
        let near = |v: Option<(f64, f64)>, low: f64, high: f64| {
            let v = v.expect("a band");
            assert!((v.0 - low).abs() < 1e-9 && (v.1 - high).abs() < 1e-9, "{v:?}");
        };
        near(band_at(&band, xy(5.0, 0.25), xy(1.0, 0.0)), -0.05, 0.55);
        near(band_at(&band, xy(5.0, 0.35), xy(1.0, 0.0)), 0.05, 0.65);
        near(band_at(&band, xy(12.0, 0.0), xy(1.0, 0.0)), 1.6, 2.4); // it has ended 2 m before
        // 21 courses 0.1 m apart: the middle 90 % are the offsets -0.9 to 0.9
        let draws: Vec<Vec<Xy>> = (0..21)
            .map(|i| {
                let y = 0.1 * f64::from(i) - 1.0;
                vec![xy(0.0, y), xy(9.0, y)]
            })
            .collect();
        near(band_at(&CourseForecast::Draws(draws), xy(5.0, 0.0), xy(1.0, 0.0)), -0.9, 0.9);
        assert!(band_at(&CourseForecast::Untold, xy(0.0, 0.0), xy(1.0, 0.0)).is_none());
    }
}
