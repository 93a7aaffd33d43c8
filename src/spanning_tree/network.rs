//! A weighted multigraph with a root: what a spanning tree is drawn from.

use super::eliminate::Scratch;

/// One candidate edge between two nodes; the root is node number [`Network::root`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// One end.
    pub a: usize,
    /// The other end.
    pub b: usize,
    /// Weight: the tree's probability is proportional to the product of its edges' weights.
    pub weight: f64,
}

/// Why edges do not make a network.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum Fault {
    /// An edge names a node that does not exist, or joins a node with itself.
    #[error("edge {edge} joins nodes {a} and {b} of {nodes}")]
    Ends {
        /// Index of the edge.
        edge: usize,
        /// One end.
        a: usize,
        /// The other end.
        b: usize,
        /// Number of nodes without the root.
        nodes: usize,
    },
    /// A weight is negative or no number.
    #[error("edge {edge} has weight {weight}")]
    Weight {
        /// Index of the edge.
        edge: usize,
        /// The weight.
        weight: f64,
    },
    /// No spanning tree has a positive weight.
    #[error("no spanning tree reaches every node")]
    Disconnected,
}

/// A weighted multigraph on the nodes `0..nodes` and a root; parallel edges are allowed.
///
/// ```
/// use underturf::spanning_tree::{Edge, Network};
/// // The triangle of a valve (the root, node 2) and two heads, weights 1, 2 and 3: Z = 1*2 + 1*3 + 2*3.
/// let edges = vec![
///     Edge { a: 0, b: 2, weight: 1.0 },
///     Edge { a: 1, b: 2, weight: 2.0 },
///     Edge { a: 0, b: 1, weight: 3.0 },
/// ];
/// let network = Network::new(2, edges)?;
/// assert!((network.log_z().exp() - 11.0).abs() < 1e-12);
/// assert!((network.marginals()[2] - 9.0 / 11.0).abs() < 1e-15);
/// # Ok::<(), underturf::spanning_tree::Fault>(())
/// ```
#[derive(Clone, Debug)]
pub struct Network {
    nodes: usize,
    edges: Vec<Edge>,
}

impl Network {
    /// A network of `nodes` nodes and a root.
    ///
    /// # Errors
    /// [`Fault::Ends`] and [`Fault::Weight`]. A network without a spanning tree is allowed: its log Z is minus infinity.
    pub fn new(nodes: usize, edges: Vec<Edge>) -> Result<Self, Fault> {
        for (edge, &Edge { a, b, weight }) in edges.iter().enumerate() {
            if a > nodes || b > nodes || a == b {
                return Err(Fault::Ends { edge, a, b, nodes });
            }
            if !(weight >= 0.0 && weight.is_finite()) {
                return Err(Fault::Weight { edge, weight });
            }
        }
        Ok(Self { nodes, edges })
    }

    /// Number of nodes without the root.
    pub fn nodes(&self) -> usize {
        self.nodes
    }

    /// The number that stands for the root in an edge.
    pub fn root(&self) -> usize {
        self.nodes
    }

    /// The candidate edges.
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// Natural logarithm of the sum over spanning trees of the product of weights; minus infinity if there is none.
    pub fn log_z(&self) -> f64 {
        self.log_z_where(|edge| self.edges[edge].weight, &[], &mut Scratch::default())
    }

    /// The same with other weights, and with some nodes contracted into the root.
    ///
    /// `weight(edge)` gives each edge's weight (zero forbids it), `contracted` lists the nodes that count as the root.
    /// Since absence is a weight of zero, `P(no edge of S) = exp(log_z_where(w off S) - log_z)`.
    pub fn log_z_where(
        &self,
        weight: impl Fn(usize) -> f64,
        contracted: &[usize],
        scratch: &mut Scratch,
    ) -> f64 {
        scratch.label(self.nodes, contracted);
        for (index, edge) in self.edges.iter().enumerate() {
            scratch.add(edge.a, edge.b, weight(index));
        }
        scratch.log_z()
    }

    /// The same with nodes merged: `group[i]` names the group of node i, the root being node [`Network::root`]; edges
    /// within a group are dropped.
    ///
    /// # Panics
    /// If `group` is shorter than the number of nodes and the root, or a group is named by a node that is not part of it.
    pub fn log_z_merged(&self, weight: impl Fn(usize) -> f64, group: &[usize], scratch: &mut Scratch) -> f64 {
        scratch.label_groups(&group[..=self.nodes]);
        for (index, edge) in self.edges.iter().enumerate() {
            scratch.add(edge.a, edge.b, weight(index));
        }
        scratch.log_z()
    }
}
