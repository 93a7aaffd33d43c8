//! A detector-walk simulator and its scores: the referee of lines of metal. A seed makes a site, that is a survey and, apart
//! from it, the truth. Nothing here is the engine's: no code, no law, no figure. Sizes and shares were fixed before any default
//! of the engine for metal was looked at, and are never tuned to it.

mod course;
mod cover;
mod crossings;
mod detector;
mod document;
mod engine;
#[cfg(test)]
mod export;
#[cfg(test)]
mod facts;
mod forecaster;
mod holes;
mod judge;
mod lines;
mod lot;
mod marks;
mod matching;
mod oracle;
#[cfg(test)]
mod planted;
mod polyline;
mod routes;
mod scores;
mod survey;
mod sweep;
mod truth;

use crate::installer::Dice;
use crate::job::Hole;
use crate::plane::{Xy, xy};
use detector::Walker;
use lines::{Plan, Tip};
use lot::Lot;
use survey::{Fixture, Kind, Service, Survey, Swept};
use sweep::Sweep;
use truth::{Crossing, End, Line, Truth};

/// Streams of one seed: what lies below, what is seen, what is written on flags, which holes are asked about.
const GROUND: u64 = 0x_a11c_0000_0000;
const SURVEY: u64 = 0x_5a4b_0000_0000;
const NAMES: u64 = 0x_4a3e_0000_0000;
const HOLES: u64 = 0x_4013_0000_0000;

/// Whether flags carry the names of lines. Flags and holes of a seed are the same both ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Names {
    Given,
    NotGiven,
}

/// One site: what is known of it, what is true, and the holes that are asked about.
#[derive(Clone, Debug)]
pub struct Site {
    pub survey: Survey,
    pub truth: Truth,
    pub holes: Vec<Hole>,
}

/// Site number `seed`: the same for ever.
pub fn site(seed: u64, names: Names) -> Site {
    let (mut below, mut seen) = (Dice::new(seed ^ GROUND), Dice::new(seed ^ SURVEY));
    let mut site = loop {
        let lot = Lot::draw(&mut below);
        let plans = lines::set_out(&lot, &mut below);
        if plans.is_empty() {
            continue;
        }
        let mut lines: Vec<Line> = plans.iter().map(|plan| lines::lay(plan, &mut below)).collect();
        if let Some(survey) = survey(seed, &lot, &plans, &mut lines, names, &mut seen) {
            break survey;
        }
    };
    turn(&mut site, Dice::new(seed ^ SURVEY ^ 1 << 40).bearing());
    site.holes = holes::ask(&site.survey, &mut Dice::new(seed ^ HOLES));
    site
}

/// Walks the lot. A walk that finds next to nothing is no evidence and no site: fewer than eight flags, or no line with four.
fn survey(
    seed: u64,
    lot: &Lot,
    plans: &[Plan],
    lines: &mut [Line],
    names: Names,
    dice: &mut Dice,
) -> Option<Site> {
    let (fixtures, services) = fixtures(lot, plans, lines, dice);
    let sweep = Sweep::draw(lot, dice);
    if sweep.swept.is_empty() {
        return None;
    }
    let walker = Walker::draw(dice);
    let mut flags = walker.walk(lines, &sweep, dice);
    if names == Names::Given {
        walker.name(lines.len(), &mut flags, &mut Dice::new(seed ^ NAMES));
    }
    let on = |k: usize| flags.iter().filter(|(_, o)| o.line() == Some(k)).count();
    if flags.len() < 8 || (0..lines.len()).all(|k| on(k) < 4) {
        return None;
    }
    let (marks, mark_origins): (Vec<_>, Vec<_>) = marks::paint(lot, lines, dice).into_iter().unzip();
    let (flags, origins): (Vec<_>, Vec<_>) = flags.into_iter().unzip();
    let survey = Survey {
        seed,
        boundary: lot.ground.outline(),
        obstacles: lot.obstacles(),
        fixtures,
        services,
        flags,
        in_walking_order: walker.in_order(),
        swept: sweep.swept.iter().map(|r| Swept { outline: r.outline(), p_detect: sweep.p_detect }).collect(),
        marks,
    };
    let truth =
        Truth { lines: lines.to_vec(), crossings: crossings_of(lines), flags: origins, marks: mark_origins };
    Some(Site { survey, truth, holes: Vec::new() })
}

/// Surveyed fixtures, services with two known ends, and the ends of the lines. A few fixtures lead to no metal: bibs fed from
/// inside the house, boxes and meters on plastic.
fn fixtures(lot: &Lot, plans: &[Plan], lines: &mut [Line], dice: &mut Dice) -> (Vec<Fixture>, Vec<Service>) {
    let mut fixtures = Vec::new();
    let mut services = Vec::new();
    let sd_m = (dice.uniform(0.05, 0.15) * 100.0).round() / 100.0;
    let mut put = |at: Xy, kind: Kind, dice: &mut Dice| {
        fixtures.push(Fixture { at: at + dice.scatter(sd_m), sd_m, kind });
        fixtures.len() - 1
    };
    for (plan, line) in plans.iter().zip(lines) {
        let places = [line.course.at(0.0), line.course.at(line.course.length())];
        line.ends = [0, 1].map(|k| match plan.tips[k] {
            Tip::Fixture(kind) => End::At(put(places[k], kind, dice)),
            Tip::Unseen => End::Unseen,
            Tip::Edge => End::Edge,
            Tip::Bare => End::Bare,
        });
        for &at in &plan.boxes {
            put(line.course.at(line.course.nearest(at).0) + dice.scatter(0.12), Kind::ValveBox, dice);
        }
        if let ([Tip::Fixture(a), Tip::Fixture(b)], [End::At(from), End::At(to)]) = (plan.tips, line.ends)
            && !(a.has_entry() && b.has_entry())
        {
            services.push(Service { class: plan.class, from, to });
        }
    }
    for (kind, share) in [(Kind::HoseBib, 0.4), (Kind::ValveBox, 0.3), (Kind::WaterMeter, 0.25)] {
        let there = plans.iter().any(|p| p.tips.contains(&Tip::Fixture(kind)));
        if there || !dice.chance(share) {
            continue;
        }
        let at = match kind {
            Kind::HoseBib => lot.on_wall(lot::Side::Back, dice).at,
            Kind::ValveBox => {
                xy(dice.uniform(1.0, lot.ground.x1 - 1.0), dice.uniform(0.5, lot.house.y0 - 0.5))
            }
            _ => xy(dice.uniform(0.5, lot.ground.x1 - 0.5), dice.uniform(0.3, 1.2)),
        };
        put(at, kind, dice);
    }
    (fixtures, services)
}

/// Places where two courses cross, a metre or more from the ends of both.
fn crossings_of(lines: &[Line]) -> Vec<Crossing> {
    let mut found = Vec::new();
    for a in 0..lines.len() {
        for b in a + 1..lines.len() {
            let (one, two) = (&lines[a].course, &lines[b].course);
            for (s, t) in one.crossings(two) {
                let inner = |s: f64, length: f64| s >= 1.0 && s <= length - 1.0;
                if inner(s, one.length()) && inner(t, two.length()) {
                    let (u, v) = (one.direction(s), two.direction(t));
                    let angle_deg = u.cross(v).abs().atan2(u.dot(v).abs()).to_degrees();
                    found.push(Crossing { at: one.at(s), lines: [a, b], arc_m: [s, t], angle_deg });
                }
            }
        }
    }
    found
}

/// Turns the whole site.
fn turn(site: &mut Site, angle_rad: f64) {
    let t = |p: &mut Xy| *p = p.turned(angle_rad);
    let survey = &mut site.survey;
    survey.boundary.iter_mut().for_each(t);
    survey.obstacles.iter_mut().flat_map(|o| &mut o.outline).for_each(t);
    survey.fixtures.iter_mut().for_each(|f| t(&mut f.at));
    survey.flags.iter_mut().for_each(|f| t(&mut f.at));
    survey.swept.iter_mut().flat_map(|s| &mut s.outline).for_each(t);
    survey.marks.iter_mut().flat_map(|m| &mut m.path).for_each(t);
    for line in &mut site.truth.lines {
        line.course = course::Course::new(line.course.points().iter().map(|p| p.turned(angle_rad)).collect());
    }
    site.truth.crossings.iter_mut().for_each(|c| t(&mut c.at));
}
