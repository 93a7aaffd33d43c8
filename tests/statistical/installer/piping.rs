//! What goes below ground on a given site: habits, taps, trenches, cover, mains. Kept apart from the site, so that one site
//! can be piped again and again.

use super::cover;
use super::coverage::SetHead;
use super::dice::Dice;
use super::habits::{HABITS, Part, Pipe, WHEN_NOTHING_FITS, Zone};
use super::mains;
use super::site::Site;
use super::ways::{TrenchStyle, Ways};
use crate::job::{Carries, Line};
use crate::plane::{Xy, segment_enters, xy};

/// Outside diameters of 1/2, 3/4 and 1 in pipe, metres (python/docs/trade-values.md, 2.1b; swing pipe taken as 1/2 in).
const HALF_INCH: f64 = 0.02134;
const LATERAL_OD: [f64; 2] = [0.0267, 0.0334];

/// The buried lines of a site, and the habit of each zone.
pub struct Piping {
    pub lines: Vec<Line>,
    pub habits: Vec<&'static str>,
}

/// Pipes a site; nothing when some pipe finds no way round a wall, since no crew would have piped it so.
pub fn draw(site: &Site, dice: &mut Dice) -> Option<Piping> {
    let grounds = &site.grounds;
    let ways = Ways::new(grounds, TrenchStyle::draw(dice));
    let walks: Vec<Vec<Xy>> = grounds.outlines("paving").map(<[Xy]>::to_vec).collect();
    let of_site = draw_habit(dice);
    let one_habit = dice.chance(0.6);
    let mut lines = Vec::new();
    let mut habits = Vec::new();
    for (z, members) in site.zones.iter().enumerate() {
        let valve_box = site.boxes.iter().find(|b| b.zones.contains(&z)).expect("every zone has a box");
        let mut habit = if one_habit { of_site } else { draw_habit(dice) };
        let zone = Zone {
            valve: valve_box.at + dice.scatter(0.08),
            heads: members.iter().map(|&i| &site.heads[i]).collect(),
            taps: if HABITS[habit].swings {
                members.iter().map(|&i| site.heads[i].at).collect()
            } else {
                taps(members, &site.heads, &ways, dice)
            },
            panels: &grounds.panels,
            ways: &ways,
        };
        let pipes = (HABITS[habit].pipe)(&zone, dice).or_else(|| {
            habit = WHEN_NOTHING_FITS;
            (HABITS[habit].pipe)(&zone, dice)
        })?;
        lines.extend(bury_zone(&zone, pipes, &walks, dice));
        habits.push(HABITS[habit].name);
    }
    lines.extend(mains::lay(site, &ways, dice));
    let blocked =
        |l: &Line| grounds.walls().any(|w| l.path.windows(2).any(|p| segment_enters(p[0], p[1], w)));
    (!lines.iter().any(blocked)).then_some(Piping { lines, habits })
}

fn draw_habit(dice: &mut Dice) -> usize {
    dice.pick(&HABITS.map(|h| h.share))
}

/// Where the lateral is tapped for each head: under it, or beside it with a swing pipe of one common lean.
fn taps(members: &[usize], set: &[SetHead], ways: &Ways, dice: &mut Dice) -> Vec<Xy> {
    let lean = if dice.chance(0.5) { 0.0 } else { dice.uniform(0.15, 0.5) };
    let to = xy(lean, 0.0).turned(f64::from(dice.whole(0, 3) as u32) * std::f64::consts::FRAC_PI_2);
    members
        .iter()
        .map(|&i| {
            let head = set[i].at;
            let tap = head + to + dice.scatter(0.25 * lean);
            [tap, head - (tap - head)]
                .into_iter()
                .find(|&t| lean > 0.0 && ways.is_free(head, t))
                .unwrap_or(head)
        })
        .collect()
}

/// Buries the pipes of one zone and adds the swing pipes from tap to head.
fn bury_zone(zone: &Zone, pipes: Vec<Pipe>, walks: &[Vec<Xy>], dice: &mut Dice) -> Vec<Line> {
    let level = cover::zone_level(dice);
    let od = LATERAL_OD[dice.whole(0, 1)];
    let mut lines = Vec::new();
    for pipe in pipes {
        let (cover_m, diameter_m) = match pipe.part {
            Part::Swing => (vec![cover::swing(level, dice); pipe.path.len() - 1], HALF_INCH),
            Part::Header | Part::Link => (cover::bury(&pipe.path, level, walks, dice), LATERAL_OD[1]),
            Part::Run => (cover::bury(&pipe.path, level, walks, dice), od),
        };
        lines.push(Line { carries: Carries::Lateral, path: pipe.path, cover_m, diameter_m });
    }
    for (head, &tap) in zone.heads.iter().zip(&zone.taps) {
        if head.at.to(tap) > 1e-6 {
            let cover_m = vec![cover::swing(level, dice)];
            lines.push(Line {
                carries: Carries::Lateral,
                path: vec![tap, head.at],
                cover_m,
                diameter_m: HALF_INCH,
            });
        }
    }
    lines
}
