//! Laws of zones made one by one from what a site's zonings have in common: the same law as made whole and alone, and
//! candidate runs shared between zones exactly where they are the same.

use rand::RngExt;
use serde_json::{Value, json};
use std::collections::HashMap;
use std::fmt::Write as _;
use std::sync::Arc;
use underturf::error::{Error, Unreachable};
use underturf::geometry::{Point, distance_to_segment};
use underturf::layout::{Kind, OuterPrior, OuterState, Run};
use underturf::model::{Common, LayoutPrior, SystemPrior, Valve, WeightedZoning};
use underturf::rng::stream;
use underturf::site::Site;
use underturf::site::io;

/// 6 x 4 heads about 4 m apart on three zones, two boxes.
pub fn document(wander_m: f64) -> Value {
    let head = |k: usize| {
        let (i, j) = (k % 6, k / 6);
        let wander = |s: usize| wander_m * ((k * 7 + s * 13) % 11) as f64 / 11.0;
        json!({"id": format!("h{k}"), "x": 1.0 + 4.0 * i as f64 + wander(1), "y": 1.0 + 4.0 * j as f64 + wander(2),
               "kind": "spray", "zone": (i / 2 + 1).to_string()})
    };
    json!({
        "format": "underturf-site/2", "units": "m",
        "heads": (0..24).map(head).collect::<Vec<_>>(),
        "valve_boxes": [
            {"id": "v", "x": 9.0, "y": -2.0, "zones": ["1", "2"]},
            {"id": "w", "x": 19.0, "y": 14.7, "zones": ["3"]}
        ],
        "sources": [{"id": "m", "x": 1.0, "y": 7.0, "kind": "meter"}],
        "settings": {"grid_step_deg": 3.0, "header_step_m": 0.5}
    })
}

pub fn site(document: Value) -> Site {
    io::from_value(document).unwrap_or_else(|error| panic!("{error}"))
}

/// Open ground; a lawn with a notch; the same with trees, a house, a pool and a walk; with a drawing; without boxes; with
/// boxes that do not say what they feed.
pub fn sites() -> Vec<Site> {
    let open = document(0.3);
    let mut lawn = open.clone();
    lawn["boundary"] =
        json!([[0, -3], [22.5, -3], [22.5, 5], [21.2, 5], [21.2, 8], [22.5, 8], [22.5, 15], [0, 15]]);
    let mut built = lawn.clone();
    built["trees"] =
        json!([{"x": 3.0, "y": 3.0, "stem_diameter": 0.4}, {"x": 12.0, "y": 9.5, "stem_diameter": 0.6}]);
    built["obstacles"] = json!([
        {"kind": "building", "outline": [[6.2, 6.2], [12.0, 6.2], [12.0, 8.1], [6.2, 8.1]]},
        {"kind": "pool", "outline": [[18.3, 2.1], [20.2, 2.1], [20.2, 4.2], [18.3, 4.2]]},
        {"kind": "paving", "outline": [[14.6, -3.0], [16.2, -3.0], [16.2, 15.0], [14.6, 15.0]]}
    ]);
    let mut drawn = built.clone();
    drawn["sketches"] = json!([{"path": [[1.0, 1.2], [9.0, 1.3], [9.0, 9.0]], "trust": 0.6}]);
    drawn["settings"] = json!({"grid_step_deg": 5.0, "header_step_m": 1.0});
    let mut hidden = lawn.clone();
    hidden["valve_boxes"] = json!([]);
    let mut unlisted = open.clone();
    unlisted["valve_boxes"] = json!([{"id": "v", "x": 9.0, "y": -2.0, "valves": 2}, {"id": "w", "x": 19.0, "y": 14.7, "valves": 1}]);
    [open, lawn, built, drawn, hidden, unlisted].map(site).into()
}

/// The written zoning, then others from it by exchanging or handing over heads.
pub fn labellings(site: &Site, count: usize) -> Vec<WeightedZoning> {
    let mut rng = stream(17, 0);
    let mut labelling = WeightedZoning::written(site).expect("all heads are labelled");
    let heads = labelling.zone_of.len();
    let mut found = vec![labelling.clone()];
    while found.len() < count {
        let (a, b) = (rng.random_range(0..heads), rng.random_range(0..heads));
        if rng.random_bool(0.7) {
            labelling.zone_of.swap(a, b);
        } else {
            labelling.zone_of[a] = labelling.zone_of[b];
        }
        found.push(labelling.clone());
    }
    found
}

/// All of a state that is computed, to the bit: `Debug` writes every digit that tells two numbers apart.
fn written_out(state: &OuterState) -> String {
    let mut text = format!("{} {} {:?}", state.family, state.log_z(), state.network.edges());
    let last = state.header.as_ref().map(|header| header.drops().len() - 1);
    let lines = last.map_or_else(|| state.fixed.clone(), |last| state.lines(last / 2, last));
    for run in state.runs.iter().chain(lines.iter()) {
        write!(text, "{run:?}").expect("text");
    }
    text
}

/// A system at one bearing: its probabilities, and every `step`th state and the last, which is the direct one.
fn law_at(law: &SystemPrior, bearing: usize, step: usize) -> (Vec<f64>, Vec<Option<String>>) {
    let probabilities = law.state_probabilities(bearing).to_vec();
    let states = (0..probabilities.len()).step_by(step).chain([probabilities.len() - 1]);
    let states = states.map(|state| law.state(bearing, state).map(|state| written_out(&state))).collect();
    (probabilities, states)
}

pub fn zones(common: &Common, labelling: &WeightedZoning, count: usize) -> Vec<Arc<SystemPrior>> {
    let members = labelling.members(count);
    let zone = |(index, mut heads): (usize, Vec<usize>)| {
        let (name, valve) = common.written(index);
        heads.reverse(); // the order in which they are named must not matter
        Arc::new(common.zone(name, valve, &heads))
    };
    members.into_iter().enumerate().map(zone).collect()
}

pub fn direct(law: &SystemPrior, bearing: usize) -> Arc<OuterState> {
    let last = law.state_probabilities(bearing).len() - 1;
    let state = law.state(bearing, last).expect("a direct state");
    assert_eq!(state.family, "direct");
    state
}

/// Six sites, five zonings each, made in a row from one common part that knows ever more runs, against laws that share
/// nothing: the same names, covers and bearings, and at three bearings every 7th state, to the bit.
#[test]
fn zones_made_apart_make_the_law_of_the_labelling() {
    let mut compared = 0;
    for site in sites() {
        let common = Arc::new(Common::new(&site));
        for labelling in labellings(&site, 5) {
            let alone = LayoutPrior::with_zoning(&site, &labelling).expect("a law");
            let zones = zones(&common, &labelling, site.zones.len());
            let law = LayoutPrior::assemble(common.clone(), zones.clone()).expect("a law");
            assert_eq!(format!("{:?}", law.systems()), format!("{:?}", alone.systems()));
            assert_eq!((law.bearings(), law.unmapped_lines()), (alone.bearings(), alone.unmapped_lines()));
            assert!(zones.iter().zip(law.system_priors()).all(|(zone, law)| Arc::ptr_eq(zone, law)));
            let bearings = law.bearings().len();
            let mut at = vec![0, bearings / 2, bearings - 1];
            at.dedup();
            for bearing in at {
                for (law, alone) in law.system_priors().iter().zip(alone.system_priors()) {
                    let (law, alone) = (law_at(law, bearing, 7), law_at(alone, bearing, 7));
                    assert_eq!(law, alone);
                    compared += law.1.iter().flatten().count();
                }
            }
        }
    }
    assert!(compared > 5_000, "only {compared} states were compared");
}

/// What the shares of a run's ways must be on open ground, from the settings as the design states them: an off-axis run
/// takes an elbow at either corner in `elbow_share` of cases, and a way within `pass_clearance_m` of another head of the
/// zone counts a thousandth. `None` where rounding might decide.
fn expected_shares(site: &Site, zone: &[usize], (a, b): (usize, usize), angle_rad: f64) -> Option<Vec<f64>> {
    let settings = &site.settings;
    let (from, to) = (site.heads[a].at, site.heads[b].at);
    let axis = Point::unit(angle_rad);
    let corner = from + axis * (to - from).dot(axis);
    let other = from + (to - corner);
    let mut ways = vec![(vec![from, to], 1.0)];
    if from.distance(corner).min(corner.distance(to)) > settings.elbow_leg_m {
        let elbow = 0.5 * settings.elbow_share;
        ways = vec![
            (vec![from, to], 1.0 - settings.elbow_share),
            (vec![from, corner, to], elbow),
            (vec![from, other, to], elbow),
        ];
    }
    for (way, weight) in &mut ways {
        let off = |head: &usize| -> f64 {
            let at = site.heads[*head].at;
            way.windows(2).map(|leg| distance_to_segment(at, leg[0], leg[1])).fold(f64::INFINITY, f64::min)
        };
        let others = zone.iter().filter(|head| **head != a && **head != b);
        let nearest = others.map(off).fold(f64::INFINITY, f64::min);
        if (nearest - settings.pass_clearance_m).abs() < 1e-9 {
            return None;
        }
        *weight *= if nearest < settings.pass_clearance_m { settings.pass_factor } else { 1.0 };
    }
    let total: f64 = ways.iter().map(|(_, weight)| weight).sum();
    Some(ways.into_iter().map(|(_, weight)| weight / total).collect())
}

/// Whether a run's shares are those expected in a zone of these heads.
fn is_of_zone(run: &Run, expected: &[f64]) -> bool {
    run.routes.len() == expected.len()
        && run.routes.iter().zip(expected).all(|(route, share)| (route.share - share).abs() < 1e-12)
}

/// Runs between heads in the direct states of many zones of one site, by the heads that they join.
type Joined = HashMap<(usize, usize), Vec<(Arc<SystemPrior>, Arc<Run>)>>;

fn joined(laws: &[Arc<SystemPrior>], bearing: usize) -> Joined {
    let mut joined = Joined::new();
    for law in laws {
        let state = direct(law, bearing);
        for (run, edge) in state.runs.iter().zip(state.network.edges()) {
            if run.kind == Kind::Run {
                let heads = (law.heads()[edge.a], law.heads()[edge.b]);
                joined.entry(heads).or_default().push((law.clone(), run.clone()));
            }
        }
    }
    joined
}

/// 40 zonings of 24 heads on open ground, heads 4 m apart to 0.3 m, so that long runs pass heads: in each zone the
/// shares are those of that zone. The planted fault, the run of a zone whose heads it does not pass in a zone where it
/// does, is noticed every time.
#[test]
fn a_run_has_the_shares_of_its_zone_whoever_made_it_first() {
    let site = site(document(0.3));
    let common = Arc::new(Common::new(&site));
    let laws: Vec<_> =
        labellings(&site, 40).iter().flat_map(|labelling| zones(&common, labelling, 3)).collect();
    let law = LayoutPrior::assemble(common.clone(), Vec::new()).expect("supply lines");
    let (mut judged, mut planted) = (0, 0);
    for bearing in [0, law.bearings().len() - 1] {
        let rad = law.grid_bearings()[bearing].rad;
        for (ends, held) in joined(&laws, bearing) {
            let expected: Vec<_> =
                held.iter().map(|(law, _)| expected_shares(&site, law.heads(), ends, rad)).collect();
            for ((_, run), of_zone) in held.iter().zip(&expected) {
                let Some(of_zone) = of_zone else { continue };
                assert!(is_of_zone(run, of_zone), "{ends:?}: {of_zone:?}");
                judged += 1;
                for ((_, other), of_other) in held.iter().zip(&expected) {
                    let differs =
                        |of_other: &Vec<f64>| of_other.iter().zip(of_zone).any(|(p, q)| (p - q).abs() > 1e-9);
                    if of_other.as_ref().is_some_and(differs) {
                        assert!(!is_of_zone(other, of_zone), "{ends:?}: the planted fault is not noticed");
                        planted += 1;
                    }
                }
            }
        }
    }
    assert!(judged > 2_000 && planted > 500, "{judged} runs, {planted} planted faults");
}

/// On open ground and among obstacles: two zones have the very same run wherever their runs between the same heads are
/// equal, spacings and passed heads and all, and not where they differ. Links from a box are shared alike.
#[test]
fn equal_runs_are_one_run() {
    for (index, site) in sites().into_iter().enumerate().take(3) {
        let common = Arc::new(Common::new(&site));
        let laws: Vec<_> = labellings(&site, 12)
            .iter()
            .flat_map(|labelling| zones(&common, labelling, site.zones.len()))
            .collect();
        let (mut same, mut apart) = (0, 0);
        for held in joined(&laws, 0).into_values() {
            let texts: Vec<String> = held.iter().map(|(_, run)| format!("{run:?}")).collect();
            for k in 0..held.len() {
                for j in 0..k {
                    let equal = texts[k] == texts[j];
                    assert_eq!(Arc::ptr_eq(&held[k].1, &held[j].1), equal, "{} {}", texts[k], texts[j]);
                    same += usize::from(equal);
                    apart += usize::from(!equal);
                }
            }
        }
        assert!(same > 1_000 && apart > 50, "site {index}: {same} shared, {apart} apart");
        // The first box feeds zones 1 and 2: a head that moves between them keeps its link where none is passed.
        let valve = Valve::Boxes(vec![0]);
        let link = |heads: &[usize]| {
            let state = direct(&common.zone("zone", &valve, heads), 0);
            state.runs.iter().find(|run| run.kind == Kind::ValveLink).expect("a link").clone()
        };
        let (one, other) = (link(&[2, 3, 8]), link(&[2, 3, 9]));
        assert_eq!(Arc::ptr_eq(&one, &other), format!("{one:?}") == format!("{other:?}"));
        assert!(index != 0 || Arc::ptr_eq(&one, &other), "open ground");
    }
}

/// Eight threads make the same zones of one common part in different orders, 6 zonings on a built-up site: the law is
/// that of laws made alone, and all threads hold the same runs.
#[test]
fn threads_share_runs_and_change_no_bit() {
    let site = sites().swap_remove(2);
    let labellings = labellings(&site, 6);
    let common = Arc::new(Common::new(&site));
    let work = |thread: usize| {
        let mut order: Vec<usize> = (0..labellings.len()).collect();
        order.rotate_left(thread % labellings.len());
        let mut made: Vec<Option<Vec<Arc<SystemPrior>>>> = vec![None; labellings.len()];
        for k in order {
            let zones = zones(&common, &labellings[k], site.zones.len());
            zones.iter().for_each(|zone| drop(law_at(zone, 0, 11)));
            made[k] = Some(zones);
        }
        made.into_iter().flatten().collect::<Vec<_>>()
    };
    let made: Vec<Vec<Vec<Arc<SystemPrior>>>> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..8).map(|thread| scope.spawn(move || work(thread))).collect();
        threads.into_iter().map(|thread| thread.join().expect("a thread that ends well")).collect()
    });
    for (k, labelling) in labellings.iter().enumerate() {
        let alone = LayoutPrior::with_zoning(&site, labelling).expect("a law");
        for zone in 0..site.zones.len() {
            let expected = law_at(&alone.system_priors()[zone], 0, 11);
            let runs = |thread: usize| direct(&made[thread][k][zone], 0).runs.clone();
            let first = runs(0);
            for (thread, made) in made.iter().enumerate() {
                assert_eq!(law_at(&made[k][zone], 0, 11), expected);
                assert!(runs(thread).iter().zip(&first).all(|(run, first)| Arc::ptr_eq(run, first)));
            }
        }
    }
}

/// A head in a closed yard makes no law for its zone, again and again, and leaves the other zones alone.
#[test]
fn a_zone_that_cannot_be_reached_is_named() {
    let mut document = document(0.0);
    document["obstacles"] = json!([
        {"kind": "building", "outline":
            [[3.0, 3.0], [7.0, 3.0], [7.0, 7.0], [6.0, 7.0], [6.0, 4.0], [4.0, 4.0], [4.0, 7.0], [3.0, 7.0]]},
        {"kind": "building", "outline": [[3.0, 6.0], [7.0, 6.0], [7.0, 7.5], [3.0, 7.5]]}
    ]);
    let site = site(document); // head 7, at (5, 5), of zone 1
    let common = Arc::new(Common::new(&site));
    let mut labelling = WeightedZoning::written(&site).expect("all heads are labelled");
    let made = zones(&common, &labelling, 3);
    for _ in 0..2 {
        let refused = LayoutPrior::assemble(common.clone(), made.clone()).err().expect("no layout");
        assert_eq!(refused.to_string(), LayoutPrior::new(&site).err().expect("no layout").to_string());
        let Error::NoLayout { system, obstacle: Some(_) } = refused else { panic!("{refused}") };
        assert_eq!(system, Unreachable::System("zone 1".to_owned()));
    }
    assert!(LayoutPrior::assemble(common.clone(), made[1..].to_vec()).is_ok());
    labelling.zone_of[7] = 1;
    let refused =
        LayoutPrior::assemble(common.clone(), zones(&common, &labelling, 3)).err().expect("no layout");
    let Error::NoLayout { system, .. } = refused else { panic!("{refused}") };
    assert_eq!(system, Unreachable::System("zone 2".to_owned()));
}
