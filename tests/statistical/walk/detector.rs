//! The walk: flags along what was heard, at uneven steps; strays on swept ground; names, depths and tones as a detectorist
//! writes them down. Steps of 1 to 3 m, strays of 5 to 20 % and names wrong in 1 to 3 % were asked for; a pinpoint is
//! good to 0.05 to 0.15 m on small shallow targets (python/docs/trade-values.md, 6.10) and worse on lines; depths are read to a
//! quarter. Shares of names on strays, of depths and of tones are common practice, no source.

use super::survey::{Class, Flag};
use super::sweep::Sweep;
use super::truth::{Line, Origin};
use crate::installer::Dice;
use crate::plane::Xy;

/// Reads of depth scatter by this share, and tones mislead this often.
const DEPTH_SPREAD: f64 = 0.25;
const TONE_RIGHT: f64 = 0.8;
/// A stray this near to a flag of a line is taken for the line as often as not, metres.
const TAKEN_M: f64 = 1.5;

/// How one detectorist works on one site.
pub struct Walker {
    /// Base of the true standard deviation of a flag.
    sd_m: f64,
    /// Stated over true standard deviation.
    stated: f64,
    strays: f64,
    in_order: bool,
    depths: f64,
    tones: f64,
    wrong_names: f64,
}

impl Walker {
    pub fn draw(dice: &mut Dice) -> Self {
        Self {
            sd_m: dice.uniform(0.06, 0.18),
            stated: dice.uniform(0.7f64.ln(), 1.4f64.ln()).exp(),
            strays: dice.uniform(0.05, 0.20),
            in_order: dice.chance(0.5),
            depths: if dice.chance(0.6) { dice.uniform(0.1, 0.7) } else { 0.0 },
            tones: if dice.chance(0.4) { dice.uniform(0.1, 0.4) } else { 0.0 },
            wrong_names: dice.uniform(0.01, 0.03),
        }
    }

    pub fn in_order(&self) -> bool {
        self.in_order
    }

    /// Flags with their origins, in the order in which the survey lists them.
    pub fn walk(&self, lines: &[Line], sweep: &Sweep, dice: &mut Dice) -> Vec<(Flag, Origin)> {
        let mut flags = Vec::new();
        for k in shuffled((0..lines.len()).collect(), dice) {
            let mut stretches = sweep.heard(&lines[k].course, dice);
            let back = dice.chance(0.5);
            if back {
                stretches.reverse();
            }
            for (a, b) in stretches {
                let mut of = self.along(k, &lines[k], a, b, dice);
                if back {
                    of.reverse();
                }
                flags.extend(of);
            }
        }
        let strays = (flags.len() as f64 * self.strays / (1.0 - self.strays)).round() as usize;
        let mut stray = Vec::new();
        for _ in 0..strays {
            let r = &sweep.swept[dice.pick(&sweep.swept.iter().map(|r| r.area()).collect::<Vec<_>>())];
            stray.push(self.flag(
                r.anywhere(dice),
                dice.chance(self.depths).then(|| dice.uniform(0.05, 0.5)),
                dice,
            ));
        }
        for flag in stray {
            let at = dice.whole(0, flags.len());
            flags.insert(at, (flag, Origin::Stray));
        }
        self.tell_tones(lines, &mut flags, dice);
        if self.in_order { flags } else { shuffled(flags, dice) }
    }

    /// Flags along one heard stretch. The first stands up to a step within it.
    fn along(&self, k: usize, line: &Line, a: f64, b: f64, dice: &mut Dice) -> Vec<(Flag, Origin)> {
        let mut flags = Vec::new();
        let mut s = a + dice.uniform(0.0, 1.5);
        while s <= b {
            let i = line.course.arcs().partition_point(|&x| x < s).min(line.cover_m.len() - 1);
            let middle = line.cover_m[i] + line.diameter_m / 2.0;
            let depth = dice
                .chance(self.depths)
                .then(|| (middle * (1.0 + dice.normal(DEPTH_SPREAD))).clamp(0.05, 2.0));
            flags.push((self.flag(line.course.at(s), depth, dice), Origin::On { line: k, arc_m: s }));
            s += dice.uniform(1.0, 3.0);
        }
        flags
    }

    fn flag(&self, on: Xy, depth_m: Option<f64>, dice: &mut Dice) -> Flag {
        let sd = (self.sd_m * dice.uniform(0.7, 1.4)).clamp(0.05, 0.25);
        // a stated figure has two decimals
        let sd_m = ((sd * self.stated * 100.0).round() / 100.0).max(0.02);
        Flag { at: on + dice.scatter(sd), sd_m, name: None, depth_m, class: None }
    }

    fn tell_tones(&self, lines: &[Line], flags: &mut [(Flag, Origin)], dice: &mut Dice) {
        for (flag, origin) in flags {
            if !dice.chance(self.tones) {
                continue;
            }
            let any = Class::ALL[dice.whole(0, Class::ALL.len() - 1)];
            let right = dice.chance(TONE_RIGHT);
            flag.class = Some(origin.line().filter(|_| right).map_or(any, |k| lines[k].class));
        }
    }

    /// Writes names on the flags.
    pub fn name(&self, lines: usize, flags: &mut [(Flag, Origin)], dice: &mut Dice) {
        let name = |k: usize| format!("line {}", k + 1);
        let on: Vec<(Xy, usize)> =
            flags.iter().filter_map(|(f, o)| o.line().map(|line| (f.at, line))).collect();
        let mut named: Vec<usize> = on.iter().map(|o| o.1).collect();
        named.sort_unstable();
        named.dedup();
        for (flag, origin) in flags {
            flag.name = match origin.line() {
                Some(k) if named.len() > 1 && dice.chance(self.wrong_names) => {
                    let others: Vec<usize> = named.iter().copied().filter(|&o| o != k).collect();
                    Some(name(others[dice.whole(0, others.len() - 1)]))
                }
                Some(k) => (!dice.chance(0.02)).then(|| name(k)),
                None => {
                    let near = on.iter().min_by(|a, b| flag.at.to(a.0).total_cmp(&flag.at.to(b.0)));
                    match near {
                        Some(&(at, k)) if flag.at.to(at) < TAKEN_M => dice.chance(0.6).then(|| name(k)),
                        _ => dice.chance(0.15).then(|| name(dice.whole(0, lines - 1))),
                    }
                }
            };
        }
    }
}

/// Fisher and Yates.
pub fn shuffled<T>(mut items: Vec<T>, dice: &mut Dice) -> Vec<T> {
    for i in (1..items.len()).rev() {
        items.swap(i, dice.whole(0, i));
    }
    items
}
