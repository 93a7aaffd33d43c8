//! Branches that hang on a draw, by scripts and hand-worked outcomes: choice of an outer state, elbow or straight, offsets and
//! covers that are rejected, random spanning trees and the header's extent that follows from one, heads that a proposal names.

use super::Scripted;
use crate::small_law::small_law;
use rand::RngExt;
use serde_json::json;
use std::sync::Arc;
use underturf::geometry::{Point, ShiftedPath};
use underturf::inference::proposals::{Proposal, ProposalKind, Proposals, Zoning};
use underturf::layout::{
    CLEAR, Cover, HeaderLines, Kind, Offset, OuterPrior, OuterState, Route, Run, Tree, listed_state, pick,
};
use underturf::model::ZoningPrior;
use underturf::site::io;
use underturf::spanning_tree::{Edge, Network, Sampler, Scratch};

/// A share whose normal deviate is 0: the ziggurat (rand_distr 0.6) takes a word of zero low bits for x_0 (2 share - 1), where
/// that is nearer to 0 than x_1.
const NO_DEVIATE: f64 = 0.5;
/// The same, a quarter of x_0 = 3.910757959537090 either way.
const UP: f64 = 0.625;
const DOWN: f64 = 0.375;
const DEVIATE: f64 = 0.25 * 3.910_757_959_537_09;

#[test]
fn an_index_is_picked_where_the_share_falls() {
    for (share, expected) in [(0.0, 0), (0.249, 0), (0.25, 1), (0.749, 1), (0.75, 2), (0.999, 2)] {
        assert_eq!(pick(&[0.25, 0.5, 0.25], &mut Scripted::shares(&[share])), expected, "{share}");
    }
    // What has no probability is passed over, in the middle and at the end.
    assert_eq!(pick(&[1.0, 0.0, 3.0, 0.0], &mut Scripted::shares(&[0.25])), 2);
}

/// States of shares a quarter, a half and a quarter, the second allowing no layout: when it falls to that one, a second word
/// decides between the others, half and half.
#[test]
fn an_outer_state_without_layout_is_drawn_again_among_the_others() {
    let possible = |state: usize| (state != 1).then_some(state);
    let drawn = |script: &[f64]| listed_state(&[0.25, 0.5, 0.25], possible, &mut Scripted::shares(script));
    assert_eq!(drawn(&[0.2]), Some(0), "one word where the first is possible");
    assert_eq!(drawn(&[0.5, 0.499]), Some(0));
    assert_eq!(drawn(&[0.5, 0.5]), Some(2));
    let none = listed_state(&[0.25, 0.75], |_| None::<()>, &mut Scripted::shares(&[0.9, 0.1]));
    assert!(none.is_none(), "each possible state is tried once");
}

/// The small law has families direct, header and split in shares 0.3, 0.5 and 0.2.
#[test]
fn one_word_chooses_the_routing_family() {
    let law = small_law();
    for (share, family) in [(0.29, "direct"), (0.31, "header"), (0.79, "header"), (0.81, "split")] {
        let state = law.sample_state(0, 0, &mut Scripted::shares(&[share])).expect("possible");
        assert_eq!(state.family, family, "{share}");
    }
}

/// A run straight in half of cases, and by an elbow at either corner in a quarter each.
fn run(clear: (f64, f64)) -> Run {
    let (a, b) = (Point::new(0.0, 0.0), Point::new(4.0, 3.0));
    let way =
        |share, corners: &[Point]| Route { share, path: ShiftedPath::new(corners), clear, paved: Vec::new() };
    let routes = vec![
        way(0.5, &[a, b]),
        way(0.25, &[a, Point::new(4.0, 0.0), b]),
        way(0.25, &[a, Point::new(0.0, 3.0), b]),
    ];
    Run::new(Kind::Run, Offset::new(0.3, 0.25, 0.4, 0.0), routes, [false; 2])
}

#[test]
fn one_word_chooses_straight_or_an_elbow() {
    let run = run(CLEAR);
    for (share, bend) in
        [(0.499, None), (0.5, Some((4.0, 0.0))), (0.749, Some((4.0, 0.0))), (0.75, Some((0.0, 3.0)))]
    {
        let way = run.draw_route(&mut Scripted::shares(&[share])).expect("a way");
        let corners = way.path.at(0.0);
        assert_eq!((corners.len() == 3).then(|| (corners[1].x, corners[1].y)), bend, "{share}");
    }
}

/// An offset takes one word to be narrow (0.3 m, three quarters) or wide (0.4 m), and one for its deviate.
#[test]
fn an_offset_is_narrow_or_wide_by_its_first_word() {
    let offset = Offset::new(0.3, 0.25, 0.4, 0.0);
    for (first, sd_m) in [(0.0, 0.3), (0.749, 0.3), (0.75, 0.4), (0.999, 0.4)] {
        let drawn = offset.draw(&mut Scripted::shares(&[first, UP]));
        // one product and one sum: two ulps
        assert!((drawn - sd_m * DEVIATE).abs() < 1e-15, "{first}: {drawn}");
        assert_eq!(offset.draw(&mut Scripted::shares(&[first, NO_DEVIATE])), 0.0);
    }
}

/// Offsets of 0.293 m are refused where the way is clear to 0.2 m alone, and drawn again, both words of them; where it is clear
/// to 0.3 m the first is taken.
#[test]
fn an_offset_that_the_way_forbids_is_rejected_and_drawn_again() {
    let offset = |clear: f64, script: &[f64]| {
        let run = run((-clear, clear));
        run.draw_offset(&run.routes[0], &mut Scripted::shares(script))
    };
    assert_eq!(offset(0.2, &[0.1, UP, 0.1, DOWN, 0.9, NO_DEVIATE]), 0.0);
    assert!((offset(0.3, &[0.1, UP]) - 0.3 * DEVIATE).abs() < 1e-15);
    // wide, 0.391 m: refused by both
    assert_eq!(offset(0.3, &[0.9, UP, 0.1, NO_DEVIATE]), 0.0);
}

/// A run 0.3 m about a level of 0.25 m: a deviate of -0.98 would leave it above ground and is rejected.
#[test]
fn a_cover_out_of_range_is_rejected_and_drawn_again() {
    let cover = Cover {
        mean_m: 0.25,
        level_sd_m: 0.06,
        run_sd_m: 0.3,
        least_m: 0.05,
        greatest_m: 0.6,
        paving_m: 0.3,
    };
    assert_eq!(cover.draw_run(0.25, &mut Scripted::shares(&[DOWN, DOWN, NO_DEVIATE])), 0.25);
    let deep = cover.draw_run(0.25, &mut Scripted::shares(&[UP]));
    assert!((deep - (0.25 + 0.3 * DEVIATE)).abs() < 1e-15 && deep < 0.6);
}

/// Two heads, 0 and 1, a run between them (edge 0) and one from each to the root (edges 1 and 2), all of weight one: three
/// trees of a third each.
fn triangle() -> Network {
    let edges = [(0, 1), (0, 2), (1, 2)].map(|(a, b)| Edge { a, b, weight: 1.0 });
    Network::new(2, edges.to_vec()).expect("good")
}

/// By hand: head 0 is eliminated first, so the weight from head 1 to the root is 1 + 1 x 1 / 2, a third of it through head 0.
/// Words: the end of head 1's edge (the root alone); whether it goes through head 0 (below a third); where it does, one word
/// for each part that head 0 is joined to and one for the way of each; where it does not, the end of head 0's edge, half and
/// half, and its way. Last one word an edge for the choice among parallel ones.
const BY_HAND: [(&[f64], &[usize]); 5] = [
    (&[0.5, 0.33, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5], &[0, 1]),
    (&[0.5, 0.34, 0.49, 0.5, 0.5, 0.5], &[0, 2]),
    (&[0.5, 0.99, 0.0, 0.5, 0.5, 0.5], &[0, 2]),
    (&[0.5, 0.34, 0.5, 0.5, 0.5, 0.5], &[1, 2]),
    (&[0.5, 0.99, 0.99, 0.5, 0.5, 0.5], &[1, 2]),
];

#[test]
fn a_spanning_tree_is_the_one_worked_out_by_hand() {
    let sampler = Sampler::new(&triangle()).expect("connected");
    for (script, expected) in BY_HAND {
        let mut tree = sampler.draw(&mut Scripted::shares(script));
        tree.sort_unstable();
        assert_eq!(tree, expected, "{script:?}");
    }
}

/// Two pipes from one head to the root, of weights one and three: a quarter and three quarters.
#[test]
fn one_of_two_parallel_edges_is_drawn_by_weight() {
    let edges = [1.0, 3.0].map(|weight| Edge { a: 0, b: 1, weight });
    let sampler = Sampler::new(&Network::new(1, edges.to_vec()).expect("good")).expect("connected");
    for (last, edge) in [(0.249, 0), (0.25, 1)] {
        assert_eq!(sampler.draw(&mut Scripted::shares(&[0.5, 0.5, last])), [edge]);
    }
}

/// A header whose drops are edges 1 and 2 of the triangle.
struct Drops([usize; 2]);

impl HeaderLines for Drops {
    fn drops(&self) -> &[usize] {
        &self.0
    }
    fn lines(&self, _: usize, _: usize) -> Vec<Run> {
        Vec::new()
    }
}

/// Both heads drop to the header, or one of them does and the other hangs on it by the run between: the header then ends at the
/// drop that is there.
#[test]
fn the_extent_of_a_header_follows_from_the_tree_that_was_drawn() {
    let runs = (0..3).map(|_| Arc::new(run(CLEAR))).collect();
    let state =
        OuterState::new("header", runs, triangle(), Some(Box::new(Drops([1, 2])))).expect("connected");
    let state = Arc::new(state);
    for (script, edges) in BY_HAND {
        let tree = Tree::sample(state.clone(), &mut Scripted::shares(script));
        let expected = match edges {
            [0, 1] => (0, 0),
            [0, 2] => (1, 1),
            _ => (0, 1),
        };
        assert_eq!((tree.edges.as_slice(), tree.extent), (edges, Some(expected)));
    }
}

/// Four heads in a row, two on each of two zones. What a proposal of a kind changes, by its script.
fn proposed(kind: ProposalKind, script: &[f64]) -> Option<Vec<(usize, Vec<usize>)>> {
    let head =
        |k: usize| json!({"id": format!("h{k}"), "x": 4 * k, "y": 0, "zone": if k < 2 { "1" } else { "2" }});
    let document = json!({
        "format": "underturf-site/2", "units": "m", "heads": (0..4).map(head).collect::<Vec<_>>(),
        "valve_boxes": [{"id": "v", "x": 6, "y": -2, "zones": ["1", "2"]}],
    });
    let site = io::from_value(document).expect("a good document");
    let (law, scratch) = (ZoningPrior::new(&site), &mut Scratch::default());
    let at: Vec<Point> = site.heads.iter().map(|head| head.at).collect();
    let zoning = Zoning::new(&law, vec![0, 0, 1, 1], scratch);
    let proposals = Proposals::new(&law, &at);
    let proposal = proposals.propose(kind, &zoning, 1.0, scratch, &mut Scripted::shares(script));
    proposal.map(|Proposal { change, .. }| change)
}

/// Words: the first head; whether the second is any head (below a tenth); which, among the others or among the nearest, which
/// are here all three, nearest first.
#[test]
fn a_head_goes_to_the_zone_of_the_head_that_was_named_with_it() {
    let to_the_second = Some(vec![(0, vec![1]), (1, vec![0, 2, 3])]);
    assert_eq!(proposed(ProposalKind::Single, &[0.1, 0.5, 0.2]), None, "the nearest is on the same zone");
    assert_eq!(proposed(ProposalKind::Single, &[0.1, 0.5, 0.5]), to_the_second);
    assert_eq!(proposed(ProposalKind::Single, &[0.1, 0.05, 0.9]), to_the_second, "any head");
    let last_to_the_first = Some(vec![(1, vec![2]), (0, vec![0, 1, 3])]);
    assert_eq!(proposed(ProposalKind::Single, &[0.9, 0.5, 0.9]), last_to_the_first);
}

/// Words: the first zone, and how far on the second is. Of two zones it is the other one.
#[test]
fn renamed_zones_have_each_other_s_heads() {
    let exchanged = |first: usize| {
        Some(vec![(first, vec![2 - 2 * first, 3 - 2 * first]), (1 - first, vec![2 * first, 2 * first + 1])])
    };
    assert_eq!(proposed(ProposalKind::Rename, &[0.2, 0.5]), exchanged(0));
    assert_eq!(proposed(ProposalKind::Rename, &[0.7, 0.5]), exchanged(1));
}

/// Planted: a choice that takes shares from the wrong end, and one that draws a word too many, are both noticed.
#[test]
fn planted_choices_are_noticed() {
    let backwards = |script: &[f64]| 2 - pick(&[0.25, 0.5, 0.25], &mut Scripted::shares(script));
    assert_ne!(backwards(&[0.0]), 0);
    let wasteful = std::panic::catch_unwind(|| {
        let mut rng = Scripted::shares(&[0.5]);
        (pick(&[1.0, 1.0], &mut rng), rng.random::<f64>())
    });
    assert!(wasteful.is_err());
}
