//! The courses that pipe takes in the draws: where to look for likely lines.
//!
//! Runs are told apart by class, the places of their ends and the side to which they bend. A drop counts by its head and
//! direction, since headers wander and one header is told from the next by its place alone. A course needs only be near the
//! pipe: stations measure how far aside the draws lie.

use crate::class::Class;
use crate::geometry::Point;
use crate::inference::Layouts;
use crate::layout::{Kind, Run, RunId};
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// One way that pipe may take.
#[derive(Clone, Debug)]
pub struct Course {
    /// What it carries.
    pub class: Class,
    /// Its corners, metres.
    pub corners: Vec<Point>,
}

/// Ends in the same cell of this side are the same end, metres: heads are surveyed and the same in every draw; bends and
/// starts that the law places move with the grid bearing.
const CELL_M: f64 = 0.25;

/// Headers whose places differ by less than this share a course, and drops less apart in direction, metres and radians.
const HEADER_M: f64 = 0.5;
const DIRECTION_RAD: f64 = std::f64::consts::PI / 12.0;

/// A course is looked at from this share of the least chance on: several courses may carry one line.
const LOOKED_AT: f64 = 0.2;

type Key = (usize, u8, [i64; 4], Vec<i8>);

/// Weight of a course, that of its heaviest way, and that way.
struct Found {
    total: f64,
    most: f64,
    corners: Vec<Point>,
}

/// Every course that enough draws take, in an order that depends on the draws alone.
pub fn courses(layouts: &Layouts, least_chance: f64) -> Vec<Course> {
    // Draws share most runs: each is looked at once.
    let mut times: HashMap<(usize, RunId), (usize, Arc<Run>)> = HashMap::new();
    for draw in layouts.draws() {
        for (system, tree) in draw.trees.iter().enumerate() {
            for run in tree.runs.iter().chain(tree.lines.iter()) {
                times.entry((system, run.id())).or_insert_with(|| (0, run.clone())).0 += 1;
            }
        }
    }
    let systems = layouts.systems();
    let mut found: BTreeMap<Key, Found> = BTreeMap::new();
    for ((system, _), (count, run)) in times {
        let class = systems[system].class;
        for route in &run.routes {
            let weight = count as f64 * route.share;
            for (key, corners) in ways(class, &run, route.path.at(0.0)) {
                let entry =
                    found.entry(key).or_insert_with(|| Found { total: 0.0, most: -1.0, corners: Vec::new() });
                entry.total += weight;
                if (weight, sum(&corners)) > (entry.most, sum(&entry.corners)) {
                    entry.most = weight;
                    entry.corners = corners;
                }
            }
        }
    }
    let least = LOOKED_AT * least_chance * layouts.draws().len() as f64;
    let taken = found.into_iter().filter(|(_, course)| course.total >= least);
    taken.map(|((class, ..), course)| Course { class: Class::ALL[class], corners: course.corners }).collect()
}

/// Breaks ties of weight without a look at the order of a hash table.
fn sum(corners: &[Point]) -> f64 {
    corners.iter().map(|p| p.x + std::f64::consts::E * p.y).sum()
}

/// The ways of a run's route with what tells them apart.
fn ways(class: Class, run: &Run, mut corners: Vec<Point>) -> Vec<(Key, Vec<Point>)> {
    let (Some(&first), Some(&last)) = (corners.first(), corners.last()) else { return Vec::new() };
    if corners.len() < 2 {
        return Vec::new();
    }
    match run.kind {
        Kind::Header => corners.windows(2).filter_map(|leg| header_leg(class, leg[0], leg[1])).collect(),
        Kind::Drop => {
            if run.tied[1] && !run.tied[0] {
                corners.reverse();
            }
            let away = corners[1] - corners[0];
            let key = [cell(corners[0].x, CELL_M), cell(corners[0].y, CELL_M), direction(away), 0];
            vec![((class as usize, 1, key, bends(&corners)), corners)]
        }
        _ => {
            if (last.x, last.y) < (first.x, first.y) {
                corners.reverse();
            }
            let (a, b) = (corners[0], corners[corners.len() - 1]);
            let key = [a.x, a.y, b.x, b.y].map(|x| cell(x, CELL_M));
            vec![((class as usize, 0, key, bends(&corners)), corners)]
        }
    }
}

/// A header counts by its direction and its distance from the origin.
fn header_leg(class: Class, a: Point, b: Point) -> Option<(Key, Vec<Point>)> {
    let (a, b) = if (b.x, b.y) < (a.x, a.y) { (b, a) } else { (a, b) };
    let along = (b - a).direction()?;
    let middle = a.towards(b, 0.5);
    // Headers of one column end at many heads: those with the same middle metre are one course.
    let key = [direction(along), cell(along.cross(middle), HEADER_M), cell(along.dot(middle), 2.0), 0];
    Some(((class as usize, 2, key, Vec::new()), vec![a, b]))
}

fn cell(x: f64, side: f64) -> i64 {
    (x / side).round() as i64
}

fn direction(along: Point) -> i64 {
    cell(along.y.atan2(along.x).rem_euclid(std::f64::consts::TAU), DIRECTION_RAD)
}

/// The side to which each bend turns.
fn bends(corners: &[Point]) -> Vec<i8> {
    let turn = |w: &[Point]| (w[1] - w[0]).cross(w[2] - w[1]);
    corners.windows(3).map(|w| if turn(w) > 0.0 { 1 } else { -1 }).collect()
}
