//! Run marginals `P(e in tree) = w_e R_eff(e)` without the subtraction that the resistance usually takes.
//!
//! Eliminate every node but the two ends u, v of an edge: with the conductance c left between them and g_u, g_v left
//! to the root, `Z` is proportional to `c (g_u + g_v) + g_u g_v` and the trees through e to `w_e (g_u + g_v)`.
//! All pairs at once: cut the nodes in four, keep each of the six pairs of quarters and go on inside;
//! T(n) = 6 T(n/2) + O(n^3) is O(n^3).

use super::eliminate::Mesh;
use super::network::Network;

impl Network {
    /// Probability that each edge is part of the tree, from effective conductances without a subtraction.
    ///
    /// All zero when there is no spanning tree.
    pub fn marginals(&self) -> Vec<f64> {
        let nodes = self.nodes();
        let stride = nodes + 1;
        let mut factor = vec![0.0; stride * stride];
        let mesh = Mesh::new(nodes, self.edges().iter().map(|e| (e.a, e.b, e.weight)));
        if self.log_z() > f64::NEG_INFINITY {
            descend(&mesh, stride, &mut factor);
        }
        self.edges().iter().map(|e| (e.weight * factor[e.a * stride + e.b]).min(1.0)).collect()
    }
}

/// Fills `factor[u, v] = P(e) / w_e` for all pairs of the mesh's nodes and for each node with the root.
fn descend(mesh: &Mesh, stride: usize, factor: &mut [f64]) {
    let size = mesh.nodes.len();
    match size {
        0 => {}
        1 => set(factor, stride, mesh.nodes[0], stride - 1, mesh.at(0, 1).recip()),
        2 => {
            let (c, g_u, g_v) = (mesh.at(0, 1), mesh.at(0, 2), mesh.at(1, 2));
            let (u, v) = (mesh.nodes[0], mesh.nodes[1]);
            set(factor, stride, u, v, (c + g_u * (g_v / (g_u + g_v))).recip());
            set(factor, stride, u, stride - 1, (g_u + series(c, g_v)).recip());
            set(factor, stride, v, stride - 1, (g_v + series(c, g_u)).recip());
        }
        _ => {
            let groups = size.min(4);
            let cut = |g: usize| g * size / groups;
            for first in 0..groups {
                for second in first + 1..groups {
                    let keep: Vec<usize> =
                        (cut(first)..cut(first + 1)).chain(cut(second)..cut(second + 1)).collect();
                    descend(&mesh.keeping(&keep), stride, factor);
                }
            }
        }
    }
}

/// Conductance of two conductors in series, scaled so that neither product nor sum can overflow.
fn series(a: f64, b: f64) -> f64 {
    if a + b > 0.0 { a * (b / (a + b)) } else { 0.0 }
}

fn set(factor: &mut [f64], stride: usize, u: usize, v: usize, value: f64) {
    factor[u * stride + v] = value;
    factor[v * stride + u] = value;
}
