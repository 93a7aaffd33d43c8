//! Site documents as TOML, JSON or any value serde knows: read with every fault reported, written back without loss.

mod collect;
mod migrate;
mod node;
mod read;
mod values;
mod write;

pub use node::Node;
pub use read::{ReadError, Syntax, from_node, from_value, parse_json, parse_toml, read_site, with_probe};
pub use write::{WriteError, to_json, to_plain_json, to_toml, to_value};
