//! How much a vector of yes or no can tell at most, from its pairs.
//!
//! Which heads come up is a vector of as many bits as there are heads; of two thousand draws nearly every one shows another
//! vector, so that counting vectors measures the number of draws and nothing else. The entropy of the best tree-shaped law
//! with the same pairs is an upper bound: the sum of the entropies of the bits less the mutual information along the tree
//! that has most of it (Chow & Liu, IEEE Transactions on Information Theory 14 (1968) 462-467).

use crate::decision::information::entropy;

/// Chances of heads to come up, alone and in pairs: `pairs[i][j]` that both do, `pairs[i][i]` that it does.
#[derive(Clone, Debug, PartialEq)]
pub struct Pairs {
    pub pairs: Vec<Vec<f64>>,
}

impl Pairs {
    /// From weighted vectors; weights sum to one.
    pub fn new<'a>(heads: usize, vectors: impl Iterator<Item = (f64, &'a [bool])>) -> Self {
        let mut pairs = vec![vec![0.0; heads]; heads];
        for (weight, vector) in vectors {
            let on: Vec<usize> = (0..heads).filter(|&h| vector[h]).collect();
            for &a in &on {
                for &b in &on {
                    pairs[a][b] += weight;
                }
            }
        }
        Self { pairs }
    }

    /// The same once each head is noted wrongly with this chance, independently.
    pub fn noted(&self, error: f64) -> Self {
        let heads = self.pairs.len();
        let alone = |h: usize| error + (1.0 - 2.0 * error) * self.pairs[h][h];
        let both = |a: usize, b: usize| {
            if a == b {
                return alone(a);
            }
            let covariance = self.pairs[a][b] - self.pairs[a][a] * self.pairs[b][b];
            alone(a) * alone(b) + (1.0 - 2.0 * error).powi(2) * covariance
        };
        Self { pairs: (0..heads).map(|a| (0..heads).map(|b| both(a, b)).collect()).collect() }
    }

    /// Mutual information of two heads, bits.
    fn mutual(&self, a: usize, b: usize) -> f64 {
        let (p, q, both) = (self.pairs[a][a], self.pairs[b][b], self.pairs[a][b]);
        let cells = [both, p - both, q - both, 1.0 - p - q + both];
        let joint: f64 = cells.iter().filter(|c| **c > 0.0).map(|c| -c * c.log2()).sum();
        (entropy(p) + entropy(q) - joint).max(0.0)
    }

    /// Upper bound of the entropy of the vector, bits: Prim's tree of most mutual information.
    pub fn entropy_at_most(&self) -> f64 {
        let heads = self.pairs.len();
        let alone: f64 = (0..heads).map(|h| entropy(self.pairs[h][h].clamp(0.0, 1.0))).sum();
        let mut near: Vec<f64> = (0..heads).map(|h| if h == 0 { 0.0 } else { self.mutual(0, h) }).collect();
        let mut open: Vec<usize> = (1..heads).collect();
        let mut shared = 0.0;
        while let Some(k) = (0..open.len()).max_by(|&a, &b| near[open[a]].total_cmp(&near[open[b]])) {
            let next = open.swap_remove(k);
            shared += near[next];
            for &h in &open {
                near[h] = near[h].max(self.mutual(next, h));
            }
        }
        (alone - shared).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use std::collections::HashMap;

    fn counted(vectors: &[(f64, Vec<bool>)]) -> f64 {
        let mut shares: HashMap<&[bool], f64> = HashMap::new();
        for (weight, vector) in vectors {
            *shares.entry(vector).or_default() += weight;
        }
        shares.values().map(|p| -p * p.log2()).sum()
    }

    fn bound(vectors: &[(f64, Vec<bool>)]) -> f64 {
        let each = vectors.iter().map(|(weight, vector)| (*weight, vector.as_slice()));
        Pairs::new(vectors[0].1.len(), each).entropy_at_most()
    }

    /// A chain of heads, each like the one before with chance 0.8: the law is a tree, the bound is its entropy, exactly:
    /// 1 + 4 h(0.8).
    #[test]
    fn a_chain_is_exact() {
        let vector = |set: usize| (0..5).map(|h| set >> h & 1 == 1).collect::<Vec<bool>>();
        let weight =
            |v: &[bool]| v.windows(2).map(|w| if w[0] == w[1] { 0.8 } else { 0.2 }).product::<f64>() / 2.0;
        let all: Vec<(f64, Vec<bool>)> = (0..32).map(vector).map(|v| (weight(&v), v)).collect();
        assert_relative_eq!(bound(&all), 1.0 + 4.0 * entropy(0.8), epsilon = 1e-9);
        assert_relative_eq!(bound(&all), counted(&all), epsilon = 1e-9);
        // Planted fault: heads taken one by one, as if they did not go together, come to more.
        assert!(5.0 > bound(&all) + 0.5);
        // Noted with errors: the joint law through the channel, pair by pair.
        let error = 0.1;
        let pairs = Pairs::new(5, all.iter().map(|(w, v)| (*w, v.as_slice()))).noted(error);
        let flip = |a: bool, b: bool| if a == b { 1.0 - error } else { error };
        let both: f64 = all.iter().map(|(w, v)| w * flip(v[1], true) * flip(v[3], true)).sum();
        assert_relative_eq!(pairs.pairs[1][3], both, epsilon = 1e-12);
    }

    /// Never below the entropy by counting: two hundred made-up laws over groupings of six heads.
    #[test]
    fn the_bound_is_never_below_the_entropy() {
        use crate::rng::stream;
        use rand::RngExt;
        let mut tight = 0;
        for seed in 0..200 {
            let mut rng = stream(seed, 0);
            let vectors: Vec<Vec<bool>> =
                (0..5).map(|_| (0..6).map(|_| rng.random_bool(0.5)).collect()).collect();
            let weights: Vec<f64> = (0..5).map(|_| rng.random::<f64>()).collect();
            let sum: f64 = weights.iter().sum();
            let all: Vec<(f64, Vec<bool>)> = weights.iter().map(|w| w / sum).zip(vectors).collect();
            let (bound, exact) = (bound(&all), counted(&all));
            assert!(bound >= exact - 1e-9, "{bound} {exact}");
            tight += usize::from(bound < exact + 0.5);
        }
        assert!(tight > 20, "a bound that is never near bounds nothing: {tight}");
    }
}
