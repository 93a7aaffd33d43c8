//! Elimination of nodes from a grounded network by off-diagonals and slack alone.
//!
//! Node k with weights w to the nodes that remain (the root among them) and sum d is replaced by the star-mesh
//! transform `w_ij += w_ik w_kj / d`; the normaliser is the product of the sums. Nothing is subtracted, so each
//! sum has full relative accuracy whatever the spread of the weights.

/// Working memory for eliminations, reusable from call to call.
#[derive(Clone, Debug, Default)]
pub struct Scratch {
    /// Node -> row, the root's row being the last.
    row: Vec<usize>,
    size: usize,
    /// Symmetric matrix of weights, `(size + 1)^2`, row-major; the last row and column belong to the root.
    matrix: Vec<f64>,
}

impl Scratch {
    /// Log sum over the spanning trees of `count` nodes where every two are joined by a run of weight `weight(a, b)`.
    pub fn log_z_complete(&mut self, count: usize, weight: impl Fn(usize, usize) -> f64) -> f64 {
        let Some(root) = count.checked_sub(1) else { return 0.0 };
        self.label(root, &[]);
        for b in 1..count {
            for a in 0..b {
                self.add(a, b, weight(a, b));
            }
        }
        self.log_z()
    }

    /// Starts an empty network of `nodes` nodes, those in `contracted` being one with the root.
    pub(super) fn label(&mut self, nodes: usize, contracted: &[usize]) {
        self.row.clear();
        self.row.resize(nodes + 1, 0);
        for &node in contracted {
            self.row[node] = usize::MAX;
        }
        let mut size = 0;
        for row in &mut self.row[..nodes] {
            if *row == 0 {
                *row = size;
                size += 1;
            }
        }
        for row in &mut self.row {
            if *row == usize::MAX {
                *row = size;
            }
        }
        self.row[nodes] = size;
        self.size = size;
        self.matrix.clear();
        self.matrix.resize((size + 1) * (size + 1), 0.0);
    }

    /// Starts an empty network in which the nodes of a group are one; the last entry is the root.
    pub(super) fn label_groups(&mut self, group: &[usize]) {
        let root = group[group.len() - 1];
        self.row.clear();
        self.row.resize(group.len(), usize::MAX);
        let mut size = 0;
        for (node, &name) in group.iter().enumerate() {
            if name == node && name != root {
                self.row[node] = size;
                size += 1;
            }
        }
        for (node, &name) in group.iter().enumerate() {
            self.row[node] = if name == root { size } else { self.row[name] };
        }
        self.size = size;
        self.matrix.clear();
        self.matrix.resize((size + 1) * (size + 1), 0.0);
    }

    /// Adds an edge; one that joins a row with itself (both ends contracted) is dropped.
    pub(super) fn add(&mut self, a: usize, b: usize, weight: f64) {
        let (a, b) = (self.row[a], self.row[b]);
        if a != b {
            self.matrix[a * (self.size + 1) + b] += weight;
            self.matrix[b * (self.size + 1) + a] += weight;
        }
    }

    /// Eliminates every node and returns the sum of the logarithms of the pivots.
    pub(super) fn log_z(&mut self) -> f64 {
        let stride = self.size + 1;
        let mut log_z = 0.0;
        for k in 0..self.size {
            let (upper, lower) = self.matrix.split_at_mut((k + 1) * stride);
            let pivot_row = &upper[k * stride + k + 1..];
            let pivot: f64 = pivot_row.iter().sum();
            if pivot <= 0.0 {
                return f64::NEG_INFINITY;
            }
            log_z += pivot.ln();
            for (offset, &weight) in pivot_row[..self.size - k - 1].iter().enumerate() {
                if weight > 0.0 {
                    let share = weight / pivot;
                    let i = k + 1 + offset;
                    let row = &mut lower[offset * stride + i + 1..offset * stride + stride];
                    for (to, &via) in row.iter_mut().zip(&pivot_row[offset + 1..]) {
                        *to += share * via;
                    }
                }
            }
        }
        log_z
    }
}

/// A symmetric weight matrix whose nodes are eliminated one after the other; the root is the last row.
#[derive(Clone, Debug)]
pub(super) struct Mesh {
    /// Names of the rows but the last.
    pub nodes: Vec<usize>,
    /// Symmetric, `(nodes + 1)^2`, row-major.
    pub weight: Vec<f64>,
}

impl Mesh {
    /// The mesh of a list of `(a, b, weight)` on the nodes `0..nodes`, root `nodes`.
    pub fn new(nodes: usize, edges: impl Iterator<Item = (usize, usize, f64)>) -> Self {
        let stride = nodes + 1;
        let mut weight = vec![0.0; stride * stride];
        for (a, b, w) in edges {
            weight[a * stride + b] += w;
            weight[b * stride + a] += w;
        }
        Self { nodes: (0..nodes).collect(), weight }
    }

    /// Weight between two rows.
    pub fn at(&self, i: usize, j: usize) -> f64 {
        self.weight[i * (self.nodes.len() + 1) + j]
    }

    /// The mesh that keeps the rows `keep` (ascending, without the root) and eliminates the others.
    pub fn keeping(&self, keep: &[usize]) -> Self {
        let stride = self.nodes.len() + 1;
        let mut weight = self.weight.clone();
        let mut alive = vec![true; stride];
        let mut kept = vec![false; stride];
        for &row in keep {
            kept[row] = true;
        }
        for k in 0..stride - 1 {
            if kept[k] {
                continue;
            }
            alive[k] = false;
            let pivot: f64 = (0..stride).filter(|&j| alive[j]).map(|j| weight[k * stride + j]).sum();
            if pivot <= 0.0 {
                continue;
            }
            for i in (0..stride).filter(|&i| alive[i]) {
                let share = weight[k * stride + i] / pivot;
                if share > 0.0 {
                    for j in (0..stride).filter(|&j| alive[j] && j != i) {
                        weight[i * stride + j] += share * weight[k * stride + j];
                    }
                }
            }
        }
        let rows: Vec<usize> = keep.iter().copied().chain([stride - 1]).collect();
        let packed = rows.iter().flat_map(|&i| rows.iter().map(move |&j| (i, j)));
        Self {
            nodes: keep.iter().map(|&row| self.nodes[row]).collect(),
            weight: packed.map(|(i, j)| weight[i * stride + j]).collect(),
        }
    }
}
