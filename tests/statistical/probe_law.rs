//! The law of a probe as the engine states it, on layouts given as pieces: what is reported, and how likely a report is.
//! Every line whose pipe meets the footprint above its bottom is seen independently with chance d; one of those
//! seen, any of them alike, is reported; where none is seen there is a false find with chance p. Unknown lines come on top
//! as a Poisson number. Written apart from the engine's inference, which it judges.

use crate::installer::Dice;
use crate::job::{Hole, Noted, Probe};
use crate::plane::{Xy, point_to_segment, xy};
use crate::probes::{BEARING_SD_DEG, COVER_SD_M, FALSE_FIND, detection};
use underturf::layout::{Kind, Piece, UnmappedLines};

/// A straight bit of pipe.
#[derive(Clone, Copy, Debug)]
pub struct Bit {
    pub a: Xy,
    pub b: Xy,
    cover_m: f64,
    radius_m: f64,
}

/// One line of a layout: the pieces of one run, which are seen or missed together. A control wire beside it is not a
/// line of its own here.
#[derive(Clone, Debug)]
pub struct Run {
    pub class: &'static str,
    pub bits: Vec<Bit>,
    kind: Kind,
    system: u16,
}

impl Bit {
    pub fn meets(&self, hole: &Hole) -> bool {
        self.cover_m < hole.depth_m
            && point_to_segment(hole.at, self.a, self.b) < hole.radius_m + self.radius_m
    }

    pub fn cover_m(&self) -> f64 {
        self.cover_m
    }

    fn bearing_deg(&self) -> f64 {
        let d = self.b - self.a;
        d.y.atan2(d.x).to_degrees().rem_euclid(180.0)
    }
}

impl Run {
    pub fn meets(&self, hole: &Hole) -> bool {
        self.bits.iter().any(|b| b.meets(hole))
    }
}

/// The runs of one draw. Pieces come run by run; those of a run share its cover, but under paving, where they join on
/// to the piece before. Cover is drawn for each run from a continuous law, so no two runs share theirs.
pub fn runs(pieces: &[Piece]) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for piece in pieces {
        let bit = Bit {
            a: xy(piece.a.x, piece.a.y),
            b: xy(piece.b.x, piece.b.y),
            cover_m: f64::from(piece.cover_m),
            radius_m: f64::from(piece.radius_m),
        };
        let same = |run: &&mut Run| {
            (run.kind, run.system) == (piece.kind, piece.system)
                && run.bits.iter().any(|b| b.cover_m == bit.cover_m || b.b == bit.a)
        };
        match runs.last_mut().filter(same) {
            Some(run) => run.bits.push(bit),
            None => runs.push(Run {
                class: piece.class.name(),
                bits: vec![bit],
                kind: piece.kind,
                system: piece.system,
            }),
        }
    }
    runs
}

/// Chances of what is reported of `k` known lines met and a Poisson number of unknown ones with mean `unknown`.
struct Reported {
    /// One given known line.
    each: f64,
    /// An unknown line.
    unknown: f64,
    /// Nothing is seen.
    none: f64,
}

/// A line that is seen is reported with chance E 1 / (1 + N), N others seen; that is the integral of E t^N over 0 to 1,
/// and E t^N = (1 - d + d t)^(k - 1) exp(-unknown d (1 - t)).
fn reported(k: usize, unknown: f64, d: f64) -> Reported {
    let power = |t: f64, k: usize| (1.0 - d + d * t).powi(k as i32) * (-unknown * d * (1.0 - t)).exp();
    let integral = |k: usize| {
        // Simpson's rule on 32 strips: the integrand is a polynomial of degree k times nearly 1
        let sum: f64 = (0..=32)
            .map(|i| {
                let weight = [2.0, 4.0][i % 2] - f64::from(u8::from(i == 0 || i == 32));
                weight * power(i as f64 / 32.0, k)
            })
            .sum();
        sum / 96.0
    };
    Reported {
        each: if k == 0 { 0.0 } else { d * integral(k - 1) },
        unknown: unknown * d * integral(k),
        none: power(0.0, k),
    }
}

/// Mean number of unknown lines that a probe meets.
fn unknown_lines(probe: &Probe, unmapped: &UnmappedLines) -> f64 {
    unmapped.mean_hits(std::f64::consts::TAU * (probe.radius_m + unmapped.radius_m), probe.depth_m)
}

/// Digs: the same probe with its report. `note` says whether the crew writes down what it found.
pub fn dig(probe: Probe, note: bool, runs: &[Run], unmapped: &UnmappedLines, dice: &mut Dice) -> Probe {
    let (hole, d) = (probe.hole(), detection(probe.tool));
    let mut seen: Vec<Option<&Run>> =
        runs.iter().filter(|r| r.meets(&hole) && dice.chance(d)).map(Some).collect();
    seen.resize(seen.len() + poisson(d * unknown_lines(&probe, unmapped), dice), None);
    let noted = match seen.len() {
        0 if !dice.chance(FALSE_FIND) => return Probe { found: false, noted: None, ..probe },
        0 => nothing_known(dice.uniform(0.0, probe.depth_m), dice),
        n => match seen[dice.whole(0, n - 1)] {
            Some(run) => {
                let met: Vec<&Bit> = run.bits.iter().filter(|b| b.meets(&hole)).collect();
                let bit = met[dice.whole(0, met.len() - 1)];
                let cover_m = within(probe.depth_m, || bit.cover_m + dice.normal(COVER_SD_M));
                let bearing_deg = (bit.bearing_deg() + dice.normal(BEARING_SD_DEG)).rem_euclid(180.0);
                Noted { class: run.class, bearing_deg, cover_m }
            }
            None => nothing_known(
                within(probe.depth_m, || unmapped.cover_m + dice.normal(unmapped.cover_sd_m)),
                dice,
            ),
        },
    };
    Probe { found: true, noted: note.then_some(noted), ..probe }
}

/// The note on an unknown line or a false find.
fn nothing_known(cover_m: f64, dice: &mut Dice) -> Noted {
    Noted { class: "unknown", bearing_deg: dice.uniform(0.0, 180.0), cover_m }
}

/// The first value that a note may hold: not above ground, not below the probe. Next to the bottom of a probe this cuts
/// the law of the noted cover, which the density below does not know; it concerns finds within 0.04 m of it.
fn within(depth_m: f64, mut draw: impl FnMut() -> f64) -> f64 {
    std::iter::repeat_with(&mut draw).find(|c| (0.0..=depth_m).contains(c)).expect("draws for ever")
}

fn poisson(mean: f64, dice: &mut Dice) -> usize {
    let (mut n, mut left) = (0, dice.uniform(0.0, 1.0) - (-mean).exp());
    let mut term = (-mean).exp();
    while left > 0.0 && n < 100 {
        n += 1;
        term *= mean / n as f64;
        left -= term;
    }
    n
}

/// Natural logarithm of the chance of the reports given the known lines, a density where something is noted; minus
/// infinity where the class noted is that of no line met.
pub fn log_chance(probes: &[Probe], runs: &[Run], unmapped: &UnmappedLines) -> f64 {
    probes.iter().map(|p| chance(p, runs, unmapped).ln()).sum()
}

fn chance(probe: &Probe, runs: &[Run], unmapped: &UnmappedLines) -> f64 {
    let hole = probe.hole();
    let met: Vec<&Run> = runs.iter().filter(|r| r.meets(&hole)).collect();
    let reported = reported(met.len(), unknown_lines(probe, unmapped), detection(probe.tool));
    let clear = reported.none * (1.0 - FALSE_FIND);
    let Some(noted) = &probe.noted else { return if probe.found { 1.0 - clear } else { clear } };
    let known: f64 = met
        .iter()
        .filter(|run| run.class == noted.class)
        .map(|run| {
            let bits: Vec<f64> =
                run.bits.iter().filter(|b| b.meets(&hole)).map(|b| density(noted, b)).collect();
            bits.iter().sum::<f64>() / bits.len() as f64
        })
        .sum();
    // unknown lines and false finds: any bearing, and any cover (for unknown lines nearly so)
    let other = if noted.class == "unknown" { reported.unknown + reported.none * FALSE_FIND } else { 0.0 };
    reported.each * known + other / (180.0 * probe.depth_m)
}

fn density(noted: &Noted, bit: &Bit) -> f64 {
    let normal =
        |x: f64, sd: f64| (-0.5 * (x / sd) * (x / sd)).exp() / (sd * (2.0 * std::f64::consts::PI).sqrt());
    let turn = (noted.bearing_deg - bit.bearing_deg() + 90.0).rem_euclid(180.0) - 90.0;
    normal(turn, BEARING_SD_DEG) * normal(noted.cover_m - bit.cover_m, COVER_SD_M)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FLOOR: UnmappedLines =
        UnmappedLines { density_per_m: 0.2, cover_m: 0.35, cover_sd_m: 0.2, radius_m: 0.0167 };

    fn run(class: &'static str, y: f64, cover_m: f64) -> Run {
        let bit = Bit { a: xy(-3.0, y), b: xy(3.0, y), cover_m, radius_m: 0.02 };
        Run { class, bits: vec![bit], kind: Kind::Run, system: 0 }
    }

    fn probe(tool: &'static str) -> Probe {
        Probe { at: xy(0.0, 0.0), radius_m: 0.2, depth_m: 0.45, tool, found: false, noted: None }
    }

    /// Three lines of which two are met, and a dense floor: 40,000 reports against the chances stated, within 4.5
    /// standard errors (four rates, two tools: false alarm 6e-5). The chances sum to one.
    #[test]
    fn reports_come_as_often_as_their_chances_say() {
        let runs = [run("lateral", 0.1, 0.25), run("mainline", -0.15, 0.4), run("potable", 0.1, 0.5)];
        let n = 40_000;
        for tool in ["pothole", "rod"] {
            let (probe, mut dice) = (probe(tool), Dice::new(8));
            let r = reported(2, unknown_lines(&probe, &FLOOR), detection(tool));
            assert!((2.0 * r.each + r.unknown + r.none - 1.0).abs() < 1e-9);
            let reports: Vec<Probe> = (0..n).map(|_| dig(probe, true, &runs, &FLOOR, &mut dice)).collect();
            let noted = |class: &str| {
                reports.iter().filter(|r| r.noted.is_some_and(|n| n.class == class)).count() as f64
            };
            let clear = log_chance(&[probe], &runs, &FLOOR).exp();
            let rows = [
                (noted("lateral"), r.each),
                (noted("mainline"), r.each),
                (noted("unknown"), r.unknown + r.none * FALSE_FIND),
                (reports.iter().filter(|r| !r.found).count() as f64, clear),
            ];
            for (seen, p) in rows {
                let n = f64::from(n);
                assert!(
                    (seen - n * p).abs() < 4.5 * (n * p * (1.0 - p)).sqrt(),
                    "{tool}: {seen} of {n}, {p}"
                );
            }
            assert_eq!(noted("potable"), 0.0, "it lies below the probe");
        }
    }

    /// The density of notes sums to the chance of a find: over classes, bearing and cover.
    #[test]
    fn the_density_of_notes_sums_to_the_chance_of_a_find() {
        let runs = [run("lateral", 0.1, 0.2), run("lateral", 0.0, 0.3), run("mainline", -0.1, 0.25)];
        let base = probe("rod");
        let mut sum = 0.0;
        for class in ["lateral", "mainline", "unknown"] {
            for bearing in 0..180 {
                for mm in 0..450 {
                    let (bearing_deg, cover_m) = (f64::from(bearing) + 0.5, (f64::from(mm) + 0.5) / 1000.0);
                    let noted = Some(Noted { class, bearing_deg, cover_m });
                    sum += 0.001 * chance(&Probe { found: true, noted, ..base }, &runs, &FLOOR);
                }
            }
        }
        let found = chance(&Probe { found: true, ..base }, &runs, &FLOOR);
        let clear = chance(&base, &runs, &FLOOR);
        assert!((sum - found).abs() < 1e-6 && (found + clear - 1.0).abs() < 1e-12, "{sum} {found} {clear}");
    }
}
