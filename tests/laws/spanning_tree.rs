//! Sums over spanning trees against enumeration, exact rational arithmetic and published counts; draws are in `forest_draws`.
#![allow(clippy::needless_range_loop)] // the oracles are written as the textbook writes them: by index

use crate::common::trees;
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};
use rand::RngExt;
use underturf::rng;
use underturf::spanning_tree::{Edge, Fault, Network, Sampler, Scratch};

/// A random multigraph; `spread` is the range of the natural logarithm of the weights.
pub fn random_network(nodes: usize, edges: usize, spread: f64, seed: u64) -> Network {
    let mut rng = rng::stream(seed, 0);
    let edge = |_| loop {
        let (a, b) = (rng.random_range(0..=nodes), rng.random_range(0..=nodes));
        if a != b {
            break Edge { a, b, weight: (spread * (rng.random::<f64>() - 0.5) * 2.0).exp() };
        }
    };
    Network::new(nodes, (0..edges).map(edge).collect()).expect("ends and weights are good")
}

pub fn complete(nodes: usize, roots: f64) -> Network {
    let mut edges = Vec::new();
    for a in 0..nodes {
        edges.push(Edge { a, b: nodes, weight: roots });
        edges.extend((a + 1..nodes).map(|b| Edge { a, b, weight: 1.0 }));
    }
    Network::new(nodes, edges).expect("ends and weights are good")
}

/// The grounded Laplacian's determinant in exact rationals (every f64 is one), by Gaussian elimination.
fn exact_z(network: &Network) -> BigRational {
    let n = network.nodes();
    let mut l = vec![vec![BigRational::zero(); n]; n];
    for e in network.edges() {
        let w = BigRational::from_float(e.weight).expect("finite");
        for (u, v) in [(e.a, e.b), (e.b, e.a)] {
            if u < n {
                l[u][u] += &w;
                if v < n {
                    l[u][v] -= &w;
                }
            }
        }
    }
    let mut z = BigRational::one();
    for k in 0..n {
        let pivot = l[k][k].clone();
        if pivot.is_zero() {
            return BigRational::zero(); // a grounded Laplacian is positive semidefinite: a zero pivot ends it
        }
        z *= &pivot;
        for i in k + 1..n {
            let share = &l[i][k] / &pivot;
            for j in k..n {
                let take = &share * &l[k][j];
                l[i][j] -= take;
            }
        }
    }
    z
}

/// Natural logarithm of a positive rational of any size.
fn ln(value: &BigRational) -> f64 {
    let ln_int = |x: &BigInt| {
        let shift = x.bits().saturating_sub(900);
        (x.abs() >> shift).to_f64().expect("at most 900 bits").ln() + shift as f64 * std::f64::consts::LN_2
    };
    ln_int(value.numer()) - ln_int(value.denom())
}

/// Cayley: n^(n-2) trees on n labelled nodes; k n^(n-k-1) forests rooted at k given ones of n.
#[test]
fn equal_weights_give_cayleys_counts() {
    for nodes in 1..=12usize {
        let n = nodes + 1; // the root counts
        let expected = (n as f64).powi(n as i32 - 2).ln();
        assert!((complete(nodes, 1.0).log_z() - expected).abs() < 1e-12 * expected.max(1.0), "n = {n}");
    }
    for k in 1..=4usize {
        let n = 9 + k; // contracting k roots gives each other node k edges to the root
        let expected = (k as f64 * (n as f64).powi((n - k - 1) as i32)).ln();
        assert!((complete(9, k as f64).log_z() - expected).abs() < 1e-12 * expected, "k = {k}");
    }
}

/// The triangle with a valve v and heads a, b: python/docs/model.md, 12.18 by hand; and with w_va=1, w_vb=2, w_ab=3, Z = 11.
#[test]
fn triangle_has_its_hand_computed_marginals() {
    let edges = [(0, 2, 1.0), (1, 2, 2.0), (0, 1, 3.0)].map(|(a, b, weight)| Edge { a, b, weight });
    let network = Network::new(2, edges.to_vec()).expect("good");
    assert!((network.log_z().exp() - 11.0).abs() < 1e-13);
    for (seen, expected) in network.marginals().iter().zip([5.0 / 11.0, 8.0 / 11.0, 9.0 / 11.0]) {
        assert!((seen - expected).abs() < 1e-15);
    }
}

/// Two valves r1, r2 and heads a, b in a row, unit weights: Z = 3 and P(a on r1) = 2/3 (python/docs/model.md, 12.17).
/// With both valves as one root, a hangs on r1 unless its tree holds (a-b, b-r2): the one tree without r1-a.
#[test]
fn chain_between_two_valves_is_harmonic() {
    let edges = [(0, 2), (0, 1), (1, 2)].map(|(a, b)| Edge { a, b, weight: 1.0 });
    let network = Network::new(2, edges.to_vec()).expect("good");
    assert!((network.log_z().exp() - 3.0).abs() < 1e-14);
    assert!((network.marginals()[0] - 2.0 / 3.0).abs() < 1e-15);
}

/// 40 random multigraphs with up to 6 nodes: Z, marginals (Foster's sum too), absences, contraction: 1e-12 relative.
#[test]
fn algebra_equals_enumeration() {
    for seed in 0..40 {
        let nodes = 2 + seed as usize % 5;
        let network = random_network(nodes, nodes * 2 + 2, 2.0, seed);
        let all = trees(&network);
        let z: f64 = all.iter().map(|(_, w)| w).sum();
        if z == 0.0 {
            assert_eq!(network.log_z(), f64::NEG_INFINITY);
            assert!(network.marginals().iter().all(|&p| p == 0.0));
            assert_eq!(Sampler::new(&network).err(), Some(Fault::Disconnected));
            continue;
        }
        assert!((network.log_z() - z.ln()).abs() < 1e-12);
        assert!((Sampler::new(&network).expect("connected").log_z() - z.ln()).abs() < 1e-12);
        let marginals = network.marginals();
        for (e, &p) in marginals.iter().enumerate() {
            let exact = all.iter().filter(|(t, _)| t.contains(&e)).map(|(_, w)| w).sum::<f64>() / z;
            assert!((p - exact).abs() < 1e-13, "seed {seed} edge {e}: {p} {exact}");
        }
        assert!((marginals.iter().sum::<f64>() - nodes as f64).abs() < 1e-12, "Foster");
        let mut scratch = Scratch::default();
        for mask in 1..32usize {
            let off = |e: usize| e < 5 && mask >> e & 1 == 1;
            let exact =
                all.iter().filter(|(t, _)| !t.iter().any(|&e| off(e))).map(|(_, w)| w).sum::<f64>() / z;
            let weight = |e: usize| if off(e) { 0.0 } else { network.edges()[e].weight };
            let p = (network.log_z_where(weight, &[], &mut scratch) - network.log_z()).exp();
            assert!((p - exact).abs() < 1e-12);
        }
        // A node contracted through one of its edges to the root: the trees that hold that edge.
        if let Some(e) = network.edges().iter().position(|e| e.a.max(e.b) == nodes) {
            let Edge { a, b, weight } = network.edges()[e];
            let inside = network.log_z_where(|e| network.edges()[e].weight, &[a.min(b)], &mut scratch);
            assert!((inside + weight.ln() - network.log_z() - marginals[e].ln()).abs() < 1e-11);
        }
    }
}

/// `P(S avoided) = det(I - K_S)` with K = B L^-1 B^T (Burton & Pemantle 1993): a plain dense inverse as the other side.
#[test]
fn absences_equal_the_transfer_current_determinant() {
    for seed in 100..120 {
        let network = random_network(5, 14, 1.0, seed);
        if network.log_z() == f64::NEG_INFINITY {
            continue;
        }
        let n = network.nodes();
        let mut l = ndarray::Array2::<f64>::zeros((n, n));
        let mut b = ndarray::Array2::<f64>::zeros((network.edges().len(), n));
        for (k, e) in network.edges().iter().enumerate() {
            for (node, sign) in [(e.a, 1.0), (e.b, -1.0)] {
                if node < n {
                    b[(k, node)] = sign * e.weight.sqrt();
                }
            }
        }
        l += &b.t().dot(&b);
        let k = b.dot(&inverse(&l)).dot(&b.t());
        let set = [0usize, 3, 7];
        let minor = ndarray::Array2::from_shape_fn((3, 3), |(i, j)| f64::from(i == j) - k[(set[i], set[j])]);
        let weight = |e: usize| if set.contains(&e) { 0.0 } else { network.edges()[e].weight };
        let p = (network.log_z_where(weight, &[], &mut Scratch::default()) - network.log_z()).exp();
        assert!((p - det3(&minor)).abs() < 1e-11, "{p} {}", det3(&minor));
    }
}

fn inverse(a: &ndarray::Array2<f64>) -> ndarray::Array2<f64> {
    let n = a.nrows();
    let mut m =
        ndarray::Array2::from_shape_fn(
            (n, 2 * n),
            |(i, j)| if j < n { a[(i, j)] } else { f64::from(j - n == i) },
        );
    for k in 0..n {
        let best = (k..n).max_by(|&i, &j| m[(i, k)].abs().total_cmp(&m[(j, k)].abs())).expect("rows");
        for j in 0..2 * n {
            m.swap((k, j), (best, j));
        }
        let pivot = m[(k, k)];
        m.row_mut(k).mapv_inplace(|x| x / pivot);
        for i in (0..n).filter(|&i| i != k) {
            let share = m[(i, k)];
            for j in 0..2 * n {
                m[(i, j)] -= share * m[(k, j)];
            }
        }
    }
    m.slice(ndarray::s![.., n..]).to_owned()
}

fn det3(m: &ndarray::Array2<f64>) -> f64 {
    let minor = |a: usize, b: usize| m[(1, a)] * m[(2, b)] - m[(1, b)] * m[(2, a)];
    m[(0, 0)] * minor(1, 2) - m[(0, 1)] * minor(0, 2) + m[(0, 2)] * minor(0, 1)
}

/// Weights over e^±200: log Z to 1e-13 relative and eight marginals of each to 1e-12 against exact rationals, 12 networks.
/// A determinant of the assembled matrix in f64 fails the same comparison (the positive control below).
#[test]
fn weights_over_e200_lose_no_digits() {
    for seed in 0..12 {
        let network = random_network(9, 34, 200.0, 1000 + seed);
        let exact = exact_z(&network);
        if exact.is_zero() {
            assert_eq!(network.log_z(), f64::NEG_INFINITY);
            continue;
        }
        let log_z = ln(&exact);
        assert!((network.log_z() - log_z).abs() < 1e-13 * log_z.abs().max(1.0), "seed {seed}");
        for (e, p) in network.marginals().into_iter().enumerate().take(8) {
            let without = network.edges().iter().enumerate().filter(|&(k, _)| k != e).map(|(_, edge)| *edge);
            let without = exact_z(&Network::new(9, without.collect()).expect("good"));
            let present = (BigRational::one() - without / &exact).to_f64().unwrap_or(0.0);
            assert!(
                (p - present).abs() <= 1e-12 * present + 1e-300,
                "seed {seed} edge {e}: {p:e} {present:e}"
            );
        }
    }
}

/// The planted fault of the test above: assemble the Laplacian in f64 and eliminate with its diagonal.
#[test]
fn assembled_laplacian_would_lose_digits() {
    let worst = (0..12).map(|seed| {
        let network = random_network(9, 34, 200.0, 1000 + seed);
        let n = network.nodes();
        let mut l = vec![vec![0.0f64; n]; n];
        for e in network.edges() {
            for (u, v) in [(e.a, e.b), (e.b, e.a)] {
                if u < n {
                    l[u][u] += e.weight;
                    if v < n {
                        l[u][v] -= e.weight;
                    }
                }
            }
        }
        let mut log_z = 0.0;
        for k in 0..n {
            log_z += l[k][k].abs().ln();
            for i in k + 1..n {
                let share = l[i][k] / l[k][k];
                for j in k..n {
                    l[i][j] -= share * l[k][j];
                }
            }
        }
        (log_z - network.log_z()).abs()
    });
    let lost = worst.filter(|error| error.is_nan() || *error > 1.0).count();
    assert!(lost >= 4, "only {lost} of 12 naive determinants were off by a factor e");
}

/// Bulk of a large square grid with equal weights: half of the edges are in the tree (python/docs/model.md, 12.16), here the
/// middle edges of a 15 x 15 grid rooted at its rim, within 0.003 (0.0022 seen: the rim's effect at a distance of 7, no noise).
#[test]
fn grid_bulk_holds_half_of_its_edges() {
    let (m, root) = (15usize, 225usize);
    let mut edges = Vec::new();
    for i in 0..m {
        for j in 0..m {
            let node = i * m + j;
            if i + 1 < m {
                edges.push(Edge { a: node, b: node + m, weight: 1.0 });
            }
            if j + 1 < m {
                edges.push(Edge { a: node, b: node + 1, weight: 1.0 });
            }
            for _ in 0..usize::from(i == 0)
                + usize::from(i + 1 == m)
                + usize::from(j == 0)
                + usize::from(j + 1 == m)
            {
                edges.push(Edge { a: node, b: root, weight: 1.0 });
            }
        }
    }
    let middle = 7 * m + 7;
    let network = Network::new(root, edges).expect("good");
    let marginals = network.marginals();
    let at_middle = network.edges().iter().zip(&marginals).filter(|(e, _)| e.a == middle || e.b == middle);
    for (_, p) in at_middle {
        assert!((p - 0.5).abs() < 0.003, "{p}");
    }
}

#[test]
fn bad_edges_are_refused_with_their_values() {
    let edge = |a, b, weight| vec![Edge { a, b, weight }];
    assert!(matches!(Network::new(1, edge(0, 2, 1.0)), Err(Fault::Ends { b: 2, .. })));
    assert!(matches!(Network::new(1, edge(0, 0, 1.0)), Err(Fault::Ends { .. })));
    assert!(matches!(Network::new(1, edge(0, 1, -1.0)), Err(Fault::Weight { weight, .. }) if weight == -1.0));
    assert!(matches!(Network::new(1, edge(0, 1, f64::NAN)), Err(Fault::Weight { .. })));
}
