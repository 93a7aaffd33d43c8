//! A dig's draws parted by what the probes that it listens to report, and what a decision costs in each part.
//!
//! The parts ("cells") hold weights: a draw belongs to a cell by the chance of those reports. With one probe more every
//! cell falls in two. Sums over so few draws flatter: the mean of p (1 - p) is too small by the variance of p, and the
//! least of two means is less than the mean of the better decision. Hence p (1 - p) is enlarged by n / (n - 1), n the
//! effective draws of the cell (unbiased where reports are certain), and losses are those of decisions made on other draws.
//!
//! A dig that may be shifted has several ways to be done, one for each place; the decision is for one of them, or to act.

use super::plan::Objective;

/// Cells a dig may have: 2^5, so that a thousand draws leave thirty to a cell. Numerical choice.
pub const MOST_CELLS: usize = 32;

/// Places that a dig may be at, at most. Numerical choice: each costs as much as the first.
pub const MOST_WAYS: usize = 8;

/// A cell with few draws leans on the one that it came from with the weight of one draw.
const LEAN: f64 = 1.0;

/// What is known of one dig.
#[derive(Clone, Copy)]
pub struct OfDig<'a> {
    /// Strike chance by draw.
    pub strikes: &'a [f64],
    /// For each place where it may be dug, the loss of digging there by draw; these start at an earlier draw.
    pub losses: &'a [Vec<f64>],
    /// The draw that is the first.
    pub from: usize,
    /// Cost of acting.
    pub cost: f64,
}

impl<'a> OfDig<'a> {
    /// For each place, the losses of the draws that count.
    fn ways(self) -> impl Iterator<Item = &'a [f64]> {
        self.losses.iter().map(move |losses| &losses[self.from..self.from + self.strikes.len()])
    }

    /// For each place, its mean loss over the draws that count.
    pub fn means(self) -> [f64; MOST_WAYS] {
        let mut means = [f64::INFINITY; MOST_WAYS];
        for (mean, losses) in means.iter_mut().zip(self.ways()) {
            *mean = losses.iter().sum::<f64>() / losses.len().max(1) as f64;
        }
        means
    }
}

/// The place of least loss, the first among equals; `None` where acting costs less than any.
pub fn decide(cost: f64, means: impl Iterator<Item = f64>) -> Option<usize> {
    let mut best = (cost, None);
    for (way, mean) in means.enumerate() {
        if mean < best.0 || (best.1.is_none() && mean <= best.0) {
            best = (mean, Some(way));
        }
    }
    best.1
}

/// Sums over the draws of a cell; losses and weights of the two halves of the draws apart.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sums {
    pub weight: [f64; 2],
    /// For each place.
    pub loss: [[f64; 2]; MOST_WAYS],
    pub ways: usize,
    pub strike: f64,
    pub square: f64,
}

/// A cell: the weights of the draws, and their products.
#[derive(Clone, Debug)]
pub struct Cell {
    pub weight: Vec<f64>,
    square: Vec<f64>,
    strike: Vec<f64>,
    /// For each place.
    loss: Vec<Vec<f64>>,
    pub sums: Sums,
    /// The sums of the cell that it came from.
    parent: Sums,
}

/// Sum of products, eight at a time: the same on every machine.
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sum = [0.0; 8];
    let (a8, b8) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f64 = a8.remainder().iter().zip(b8.remainder()).map(|(a, b)| a * b).sum();
    for (a, b) in a8.zip(b8) {
        for lane in 0..8 {
            sum[lane] += a[lane] * b[lane];
        }
    }
    sum.iter().sum::<f64>() + rest
}

impl Sums {
    pub fn mass(&self) -> f64 {
        self.weight[0] + self.weight[1]
    }

    fn less(&self, other: &Self, square: f64) -> Self {
        let rest = |all: [f64; 2], part: [f64; 2]| [all[0] - part[0], all[1] - part[1]].map(|x| x.max(0.0));
        Self {
            weight: rest(self.weight, other.weight),
            loss: std::array::from_fn(|way| rest(self.loss[way], other.loss[way])),
            ways: self.ways,
            strike: (self.strike - other.strike).max(0.0),
            square,
        }
    }

    /// Mass times p (1 - p), enlarged for the draws that p was made from.
    pub fn variance(&self, parent: &Self) -> f64 {
        let of = |sums: &Self| {
            let (mass, p) = (sums.mass(), (sums.strike / sums.mass()).clamp(0.0, 1.0));
            let effective = mass * mass / sums.square.max(f64::MIN_POSITIVE);
            (p * (1.0 - p), effective)
        };
        if self.mass() <= 0.0 {
            return 0.0;
        }
        match of(self) {
            (variance, effective) if effective >= 2.0 => {
                self.mass() * variance * effective / (effective - 1.0)
            }
            _ => self.mass() * of(parent).0,
        }
    }

    /// Mean loss at a place over one half of the draws, leaning on the mean of the parent.
    fn mean_loss(&self, way: usize, half: usize, parent: &Self) -> f64 {
        let before = parent.loss[way][half] / parent.weight[half].max(f64::MIN_POSITIVE);
        (self.loss[way][half] + LEAN * before) / (self.weight[half] + LEAN)
    }

    /// Mean loss at a place over all draws, leaning on a mean.
    pub fn leaning(&self, way: usize, mean: f64) -> f64 {
        (self.loss[way][0] + self.loss[way][1] + LEAN * mean) / (self.mass() + LEAN)
    }

    /// Loss of the decision that the other half of the draws suggests, in both halves.
    fn decided(&self, parent: &Self, cost: f64) -> f64 {
        let of = |half: usize| {
            let means = (0..self.ways).map(|way| self.mean_loss(way, 1 - half, parent));
            decide(cost, means).map_or(cost * self.weight[half], |way| self.loss[way][half])
        };
        of(0) + of(1)
    }

    /// What is to be made small.
    fn value(&self, parent: &Self, objective: Objective, cost: f64) -> f64 {
        match objective {
            Objective::Variance => self.variance(parent),
            Objective::Loss => self.decided(parent, cost),
        }
    }
}

/// The sums of both halves at each place.
fn by_way(losses: &[Vec<f64>], halves: impl Fn(&[f64]) -> [f64; 2]) -> [[f64; 2]; MOST_WAYS] {
    std::array::from_fn(|way| losses.get(way).map_or([0.0; 2], |losses| halves(losses)))
}

impl Cell {
    fn new(weight: Vec<f64>, dig: OfDig<'_>, parent: Option<Sums>) -> Self {
        let product = |with: &[f64]| weight.iter().zip(with).map(|(a, b)| a * b).collect::<Vec<f64>>();
        let (square, strike) = (product(&weight), product(dig.strikes));
        let loss: Vec<Vec<f64>> = dig.ways().map(product).collect();
        let half = weight.len() / 2;
        let halves = |of: &[f64]| [of[..half].iter().sum::<f64>(), of[half..].iter().sum()];
        let sums = Sums {
            weight: halves(&weight),
            loss: by_way(&loss, halves),
            ways: loss.len(),
            strike: strike.iter().sum(),
            square: square.iter().sum(),
        };
        Self { weight, square, strike, loss, sums, parent: parent.unwrap_or(sums) }
    }

    /// All draws.
    pub fn whole(dig: OfDig<'_>) -> Self {
        Self::new(vec![1.0; dig.strikes.len()], dig, None)
    }

    /// The two cells after one more report: found, clear.
    pub fn split(&self, finds: &[f64], dig: OfDig<'_>) -> [Self; 2] {
        let found: Vec<f64> = self.weight.iter().zip(finds).map(|(w, q)| w * q).collect();
        let clear = self.weight.iter().zip(finds).map(|(w, q)| w * (1.0 - q)).collect();
        [found, clear].map(|weight| Self::new(weight, dig, Some(self.sums)))
    }

    /// The sums of these two cells, without making them.
    fn split_sums(&self, finds: &[f64], objective: Objective) -> [Sums; 2] {
        let half = self.weight.len() / 2;
        let (first, second) = finds.split_at(half);
        let halves = |of: &[f64]| [dot(&of[..half], first), dot(&of[half..], second)];
        let mut found = Sums { weight: halves(&self.weight), ways: self.loss.len(), ..Sums::default() };
        let mut clear_square = 0.0;
        match objective {
            Objective::Loss => found.loss = by_way(&self.loss, halves),
            Objective::Variance => {
                found.strike = dot(&self.strike, finds);
                let once = dot(&self.square, finds);
                found.square = self.square.iter().zip(finds).map(|(w, q)| w * q * q).sum();
                clear_square = (self.sums.square - 2.0 * once + found.square).max(0.0);
            }
        }
        [found, self.sums.less(&found, clear_square)]
    }

    /// How much less is lost once a probe has reported, summed over draws.
    pub fn gain(&self, finds: &[f64], objective: Objective, cost: f64) -> f64 {
        let before = self.value(objective, cost);
        let after = self.split_sums(finds, objective).map(|sums| sums.value(&self.sums, objective, cost));
        before - after[0] - after[1]
    }

    /// What is lost as things stand, summed over draws.
    pub fn value(&self, objective: Objective, cost: f64) -> f64 {
        self.sums.value(&self.parent, objective, cost)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Ten draws in each half, `hits` of them struck, at weight one.
    fn draws(hits: usize) -> Vec<f64> {
        (0..20).map(|k| if k % 10 < hits { 1.0 } else { 0.0 }).collect()
    }

    /// The cells of three probes hold every draw exactly once, and each the product of its chances.
    #[test]
    fn cells_part_the_draws() {
        let strikes = draws(3);
        let dig = OfDig { strikes: &strikes, losses: std::slice::from_ref(&strikes), from: 0, cost: 0.05 };
        let chance = |j: usize, k: usize| [0.97, 0.01, 0.3][(j * 7 + k * 5) % 3];
        let finds: Vec<Vec<f64>> = (0..3).map(|j| (0..20).map(|k| chance(j, k)).collect()).collect();
        let mut cells = vec![Cell::whole(dig)];
        for finds in &finds {
            cells = cells.iter().flat_map(|cell| cell.split(finds, dig)).collect();
        }
        assert_eq!(cells.len(), 8);
        for k in 0..20 {
            assert_relative_eq!(cells.iter().map(|c| c.weight[k]).sum::<f64>(), 1.0, epsilon = 1e-12);
            // Cell 0: three finds; cell 5: clear, found, clear.
            assert_relative_eq!(
                cells[0].weight[k],
                chance(0, k) * chance(1, k) * chance(2, k),
                epsilon = 1e-12
            );
            let one = (1.0 - chance(0, k)) * chance(1, k) * (1.0 - chance(2, k));
            assert_relative_eq!(cells[5].weight[k], one, epsilon = 1e-12);
        }
        // Sums without making the cells are the sums of the cells made.
        for objective in [Objective::Loss, Objective::Variance] {
            let short = cells[5].split_sums(&finds[1], objective);
            for (short, long) in short.iter().zip(cells[5].split(&finds[1], dig)) {
                assert_relative_eq!(short.mass(), long.sums.mass(), epsilon = 1e-12);
                if objective == Objective::Variance {
                    assert_relative_eq!(short.square, long.sums.square, epsilon = 1e-12);
                    assert_relative_eq!(short.strike, long.sums.strike, epsilon = 1e-12);
                } else {
                    assert_relative_eq!(short.loss[0][1], long.sums.loss[0][1], epsilon = 1e-12);
                }
            }
        }
    }

    /// Value of information of one probe (python/docs/model.md, 5.6, closed form): p = 0.3, weight 1, acting costs 0.05. A
    /// perfect probe leaves 0.3 x 0.05, so it saves 0.05 x 0.7; with chances d and f of a find it saves
    /// (1 - p)(1 - f) x 0.05 - p (1 - d) x 0.95 where clear means dig.
    #[test]
    fn one_probe_is_the_closed_form() {
        // A weight of one draw towards the parent moves no decision here: many draws.
        let strikes: Vec<f64> = draws(3).repeat(50);
        let dig = OfDig { strikes: &strikes, losses: std::slice::from_ref(&strikes), from: 0, cost: 0.05 };
        let whole = Cell::whole(dig);
        let n = strikes.len() as f64;
        assert_relative_eq!(whole.gain(&strikes, Objective::Loss, 0.05) / n, 0.05 * 0.7, epsilon = 1e-9);
        let (d, f) = (0.97, 0.01);
        let finds: Vec<f64> = strikes.iter().map(|s| if *s > 0.0 { d } else { f }).collect();
        let exact = 0.7 * 0.99 * 0.05 - 0.3 * 0.03 * 0.95;
        assert_relative_eq!(whole.gain(&finds, Objective::Loss, 0.05) / n, exact, epsilon = 1e-9);
        // Where clear still is no reason to dig the probe is worth nothing: never less than nothing.
        let poor: Vec<f64> = strikes.iter().map(|s| 0.4 * s).collect();
        assert_relative_eq!(whole.gain(&poor, Objective::Loss, 0.05), 0.0, epsilon = 1e-9);
        // Variance: Cov^2 / Var of one yes or no, but for the correction of n draws.
        let (q, cov) = (0.3 * d + 0.7 * f, 0.3 * 0.7 * (d - f));
        let gain = whole.gain(&finds, Objective::Variance, 0.05) / n;
        assert_relative_eq!(gain, cov * cov / (q * (1.0 - q)), epsilon = 2e-3);
    }

    /// Reports that have nothing to do with the dig: over 400 tries the gain of a split into cells of few draws is zero
    /// within five of its errors. Planted fault: without n / (n - 1), and with decisions judged on the draws that made
    /// them, noise is taken for gain.
    #[test]
    fn noise_gains_nothing() {
        use crate::rng::stream;
        use rand::RngExt;
        let (mut corrected, mut plain, mut crossed, mut flattered) = (vec![], vec![], vec![], vec![]);
        for k in 0..400 {
            let mut rng = stream(3, k);
            let strikes: Vec<f64> = (0..64).map(|_| f64::from(u8::from(rng.random_bool(0.2)))).collect();
            let dig = OfDig { strikes: &strikes, losses: std::slice::from_ref(&strikes), from: 0, cost: 0.2 };
            let (mut cells, mut gain, mut loss) = (vec![Cell::whole(dig)], 0.0, 0.0);
            for _ in 0..3 {
                let finds: Vec<f64> = (0..64).map(|_| f64::from(u8::from(rng.random_bool(0.5)))).collect();
                gain += cells.iter().map(|c| c.gain(&finds, Objective::Variance, 0.2)).sum::<f64>();
                loss += cells.iter().map(|c| c.gain(&finds, Objective::Loss, 0.2)).sum::<f64>();
                cells = cells.iter().flat_map(|cell| cell.split(&finds, dig)).collect();
            }
            corrected.push(gain);
            crossed.push(loss);
            let p = strikes.iter().sum::<f64>() / 64.0;
            let within = |c: &Cell| c.sums.strike * (1.0 - c.sums.strike / c.sums.mass().max(1e-9));
            plain.push(64.0 * p * (1.0 - p) - cells.iter().map(within).sum::<f64>());
            let least = |c: &Cell| c.sums.strike.min(0.2 * c.sums.mass());
            flattered.push((64.0 * p).min(0.2 * 64.0) - cells.iter().map(least).sum::<f64>());
        }
        let z = |of: &[f64]| {
            let found = crate::decision::loss::Loss::of(of, 1.0);
            found.loss / found.error
        };
        assert!(z(&corrected).abs() < 5.0, "{}", z(&corrected));
        assert!(z(&crossed) < 5.0, "decisions on other draws gain nothing by noise: {}", z(&crossed));
        assert!(z(&plain) > 20.0 && z(&flattered) > 20.0, "{} {}", z(&plain), z(&flattered));
    }
}
