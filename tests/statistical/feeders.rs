//! Found networks: real buried low-voltage cables with their take-off points (shared data, README there). A take-off point
//! plays a head, the supply plays the valve box, one zone; lines are hidden, take-offs are moved sideways by 0.1 to
//! 0.6 m so that they do not give away a point of the line, and no axis is told: the boundary is a round one.
//! What a pass shows: routes between real take-offs are coped with. It shows nothing of irrigation.

use crate::baseline::{Metric, tree_map};
use crate::installer::Dice;
use crate::job::{Carries, Head, HeadKind, Hole, Job, Line, Survey, ValveBox};
use crate::plane::{Xy, extent, point_to_segment, xy};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Cover of every cable; holes are dug deeper, so that depth plays no part.
const COVER_M: f64 = 0.3;
pub const HOLE_DEPTH_M: f64 = 0.9;
const CABLE_OD: f64 = 0.03;

/// One network as a job, with the measures the index gives.
pub struct Feeder {
    pub job: Job,
    /// Bearing of the network's own axis, for the rectilinear tree map only.
    pub axis_rad: f64,
    /// Share of length within five degrees of the axes at least 0.7, and at most 1.3 times the rectilinear tree.
    pub grid_like: bool,
}

/// Where the open network data lie: the folder `UNDERTURF_DATA`, else `shared/data` beside the checkout.
///
/// # Panics
/// If they are absent: a judgement on nothing must not pass.
pub fn data() -> PathBuf {
    let beside = concat!(env!("CARGO_MANIFEST_DIR"), "/../shared/data");
    let dir = std::env::var_os("UNDERTURF_DATA").map_or_else(|| PathBuf::from(beside), PathBuf::from);
    let there = dir.join("lv_feeders_index.json").exists();
    assert!(there, "no open network data in {}: set UNDERTURF_DATA to their folder", dir.display());
    dir
}

fn read(path: &Path) -> Value {
    let text = std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Every case of variant `tee`, in the order of the index.
pub fn take_off_cases(dir: &Path) -> Vec<Feeder> {
    let index = read(&dir.join("lv_feeders_index.json"));
    let rows = index.as_array().expect("the index is a list").iter().filter(|r| r["variant"] == "tee");
    rows.enumerate()
        .map(|(k, row)| {
            let name = row["name"].as_str().expect("a name");
            let net = Network::read(&read(&dir.join("lv_feeders").join(format!("{name}.json"))));
            let number = |key: &str| row[key].as_f64().unwrap_or_else(|| panic!("{name}: no {key}"));
            let group =
                name.split('_').find(|w| w.starts_with('n') && w.len() == 3).expect("a network number");
            Feeder {
                job: net.job(name, group, k as u64),
                axis_rad: number("axis_deg").to_radians(),
                grid_like: number("share5") >= 0.7 && number("len_over_rmst") <= 1.3,
            }
        })
        .collect()
}

/// The European feeder with its service cables taken off; terminals are the joints where they met the main.
pub fn european_take_offs(dir: &Path) -> Feeder {
    let mut net = Network::read(&read(&dir.join("european_lv_feeder.json")));
    net.take_off_services();
    let axis_rad = net.axis();
    Feeder { job: net.job("European feeder, take-offs", "n01", 1_000), axis_rad, grid_like: false }
}

/// Ground that holes are drawn from: within this distance of the shortest tree over what is seen, metres.
const NEAR_M: f64 = 8.0;

/// Holes of one radius at random round the network, as far as it can be guessed from what is seen.
pub fn holes(survey: &Survey, radius_m: f64, n: usize, seed: u64) -> Vec<Hole> {
    let mut dice = Dice::new(seed ^ 0x_fe3d_0000 ^ radius_m.to_bits());
    let tree = tree_map(survey, Metric::Euclidean);
    let (low, high) = extent(&tree.iter().flat_map(|&(a, b)| [a, b]).collect::<Vec<_>>());
    let reach = xy(NEAR_M, NEAR_M);
    let (low, high) = (low - reach, high + reach);
    let mut holes = Vec::with_capacity(n);
    while holes.len() < n {
        let at = xy(dice.uniform(low.x, high.x), dice.uniform(low.y, high.y));
        if tree.iter().any(|&(a, b)| point_to_segment(at, a, b) < NEAR_M) {
            holes.push(Hole { at, radius_m, depth_m: HOLE_DEPTH_M });
        }
    }
    holes
}

struct Network {
    nodes: BTreeMap<String, Xy>,
    supply: String,
    terminals: BTreeSet<String>,
    edges: Vec<(String, String, Vec<Xy>)>,
}

impl Network {
    fn read(doc: &Value) -> Self {
        let text = |v: &Value| v.as_str().expect("an id").to_owned();
        let point = |x: &Value, y: &Value| xy(x.as_f64().expect("a number"), y.as_f64().expect("a number"));
        let list = |key: &str| doc[key].as_array().unwrap_or_else(|| panic!("no list {key}"));
        let of_kind = |kind: &'static str| {
            list("nodes").iter().filter(move |n| n["kind"] == kind).map(|n| text(&n["id"]))
        };
        let edge = |e: &Value| {
            let path = e["path"].as_array().expect("a path").iter().map(|p| point(&p[0], &p[1])).collect();
            (text(&e["a"]), text(&e["b"]), path)
        };
        Network {
            nodes: list("nodes").iter().map(|n| (text(&n["id"]), point(&n["x"], &n["y"]))).collect(),
            supply: of_kind("supply").next().expect("one supply"),
            terminals: of_kind("terminal").collect(),
            edges: list("edges").iter().map(edge).collect(),
        }
    }

    fn degree(&self, id: &str) -> usize {
        self.edges.iter().filter(|(a, b, _)| a == id || b == id).count()
    }

    /// Removes each dead end as far as the joint it leaves from. Joints of customers' cables become terminals; dead ends
    /// without a customer go as well, since nobody could see that they exist.
    fn take_off_services(&mut self) {
        let customers = std::mem::take(&mut self.terminals);
        let mut joints: BTreeSet<String> = BTreeSet::new();
        for end in customers {
            joints.extend(self.cut_back(end, &joints.clone()));
        }
        loop {
            let ends: Vec<String> = self
                .nodes
                .keys()
                .filter(|id| **id != self.supply && !joints.contains(*id) && self.degree(id) == 1)
                .cloned()
                .collect();
            if ends.is_empty() {
                break;
            }
            for end in ends {
                self.cut_back(end, &joints);
            }
        }
        self.terminals = joints;
    }

    /// Removes the line from a dead end back to the first joint, kept node or supply, and names it.
    fn cut_back(&mut self, end: String, kept: &BTreeSet<String>) -> Option<String> {
        let mut here = end;
        loop {
            let at = self.edges.iter().position(|(a, b, _)| *a == here || *b == here)?;
            let (a, b, _) = self.edges.swap_remove(at);
            here = if a == here { b } else { a };
            // one edge of the joint is gone already: two or more left make it a joint still
            if here == self.supply || kept.contains(&here) || self.degree(&here) != 1 {
                return Some(here);
            }
        }
    }

    /// Bearing modulo a right angle that most of the line follows: the direction of the mean of fourth powers.
    fn axis(&self) -> f64 {
        let sum = self.edges.iter().flat_map(|e| e.2.windows(2)).fold(xy(0.0, 0.0), |s, w| {
            let d = w[1] - w[0];
            s + xy(d.norm(), 0.0).turned(4.0 * d.y.atan2(d.x))
        });
        sum.y.atan2(sum.x) / 4.0
    }

    fn job(&self, name: &str, group: &str, seed: u64) -> Job {
        let mut dice = Dice::new(seed ^ 0x_fe3d);
        let true_heads: Vec<Xy> = self.terminals.iter().map(|id| self.nodes[id]).collect();
        let heads = true_heads
            .iter()
            .map(|&p| {
                let aside =
                    self.across(p) * dice.uniform(0.1, 0.6) * if dice.chance(0.5) { 1.0 } else { -1.0 };
                Head { at: p + aside, zone: "1".into(), kind: HeadKind::Untold, radius_m: None }
            })
            .collect();
        let lines = self
            .edges
            .iter()
            .map(|(_, _, path)| Line {
                carries: Carries::Lateral,
                path: path.clone(),
                cover_m: vec![COVER_M; path.len() - 1],
                diameter_m: CABLE_OD,
            })
            .collect();
        let (low, high) = extent(&self.nodes.values().copied().collect::<Vec<_>>());
        let (centre, reach) = (low.between(high, 0.5), low.to(high) / 2.0 + 8.0);
        let boundary =
            (0..72).map(|k| centre + xy(reach, 0.0).turned(f64::from(k) * std::f64::consts::TAU / 72.0));
        let survey = Survey {
            name: name.into(),
            boundary: boundary.collect(),
            heads,
            boxes: vec![ValveBox { at: self.nodes[&self.supply], zones: vec!["1".into()] }],
            ..Survey::default()
        };
        Job { survey, lines, heads: true_heads, habits: Vec::new(), group: group.into() }
    }

    /// Unit vector across the line that passes nearest to `p`.
    fn across(&self, p: Xy) -> Xy {
        let pieces = self.edges.iter().flat_map(|e| e.2.windows(2));
        let near = pieces
            .filter(|w| w[0] != w[1])
            .min_by(|v, w| {
                let gap = |s: &[Xy]| point_to_segment(p, s[0], s[1]);
                gap(v).total_cmp(&gap(w))
            })
            .expect("a network has line");
        (near[1] - near[0]).unit().left()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::nearest_on_path;

    #[test]
    fn services_come_off_at_their_joints() {
        // supply 0 - 1 - 2 - 3, services 1-4-5 (customer 5), 3-6 and 3-7 (customers), dead end 2-8
        let at = |k: usize| xy(k as f64, (k % 3) as f64);
        let edge = |a: usize, b: usize| (a.to_string(), b.to_string(), vec![at(a), at(b)]);
        let mut net = Network {
            nodes: (0..9).map(|k| (k.to_string(), at(k))).collect(),
            supply: "0".into(),
            terminals: ["5", "6", "7"].map(String::from).into(),
            edges: [(0, 1), (1, 2), (2, 3), (1, 4), (4, 5), (3, 6), (3, 7), (2, 8)]
                .map(|(a, b)| edge(a, b))
                .into(),
        };
        net.take_off_services();
        assert_eq!(net.terminals, ["1", "3"].map(String::from).into());
        let mut left: Vec<String> = net.edges.iter().map(|(a, b, _)| format!("{a}{b}")).collect();
        left.sort();
        assert_eq!(left, ["01", "12", "23"]);
    }

    #[test]
    #[ignore = "reads the open network data"]
    fn take_offs_stand_aside_of_the_line_and_every_case_is_read() {
        let dir = data();
        let mut cases = take_off_cases(&dir);
        assert_eq!(cases.len(), 180, "the index lists 180 cases of variant tee");
        cases.push(european_take_offs(&dir));
        for case in &cases {
            for (head, truth) in case.job.survey.heads.iter().zip(&case.job.heads) {
                let moved = head.at.to(*truth);
                assert!((0.1 - 1e-9..=0.6 + 1e-9).contains(&moved));
                let on = case
                    .job
                    .lines
                    .iter()
                    .map(|l| nearest_on_path(*truth, &l.path).1)
                    .fold(f64::INFINITY, f64::min);
                assert!(on < 0.01, "{}: a take-off {on} m off its line", case.job.survey.name);
            }
        }
    }
}
