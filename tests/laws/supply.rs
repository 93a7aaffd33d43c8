//! Supply lines and metal lines are one world: a flagged main is one pipe, whatever it is called by; what it does not reach is
//! routed beside it; outlets on walls may need no pipe at all.

use serde_json::{Value, json};
use std::sync::Arc;
use underturf::class::Class;
use underturf::decision::strike_probability;
use underturf::inference::{Layouts, SampleOptions, sample_layouts};
use underturf::layout::{Draw, Kind, OuterPrior};
use underturf::model::LayoutPrior;
use underturf::monitor::Unwatched;
use underturf::site::io;
use underturf::strike::{Findings, Form, Observation, RunIndex, Strike};

const MAIN: usize = Class::Mainline as usize;
const GAS: usize = Class::Gas as usize;
const POTABLE: usize = Class::Potable as usize;
const WIRE: usize = Class::ControlWire as usize;

/// A lot of 30 m by 20 m: the source in a corner, two boxes in a row with it, a third one aside.
fn lot() -> Value {
    json!({
        "format": "underturf-site/2", "units": "m",
        "boundary": [[0, 0], [30, 0], [30, 20], [0, 20]],
        "sources": [{"id": "s", "x": 1.0, "y": 4.0, "kind": "backflow"}],
        "valve_boxes": [
            {"id": "a", "x": 9.0, "y": 4.0, "valves": 1},
            {"id": "b", "x": 19.0, "y": 4.0, "valves": 1},
            {"id": "c", "x": 13.0, "y": 12.0, "valves": 1},
        ],
        "digs": [
            {"id": "on the main", "x": 6.0, "y": 4.0, "radius": 0.4, "depth": 0.4},
            {"id": "between the boxes", "x": 15.5, "y": 4.0, "radius": 0.4, "depth": 0.4},
            {"id": "on the branch", "x": 13.0, "y": 8.0, "radius": 0.6, "depth": 1.0},
            {"id": "far", "x": 25.0, "y": 17.0, "radius": 0.4, "depth": 1.0},
        ],
    })
}

/// Flags from the source past both boxes, with these keys.
fn flags(keys: &Value) -> Value {
    row(4.0, keys)
}

/// The same at a distance across.
fn row(y: f64, keys: &Value) -> Value {
    let flag = |k: i32| {
        let mut flag =
            json!({"x": 1.5 + 1.6 * f64::from(k), "y": y + 0.05 * f64::from(k % 3 - 1), "sd": 0.1});
        for (key, value) in keys.as_object().expect("keys") {
            flag[key] = value.clone();
        }
        flag
    };
    (0..12).map(flag).collect()
}

fn with(lists: &Value) -> Value {
    let mut document = lot();
    for (key, value) in lists.as_object().expect("lists") {
        document[key] = value.clone();
    }
    document
}

fn layouts(document: &Value) -> Layouts {
    let site = Arc::new(io::from_value(document.clone()).expect("a sound document"));
    sample_layouts(&site, &SampleOptions { draws: 600, seed: 3 }, &Unwatched).expect("layouts")
}

fn strikes(layouts: &Layouts, form: Form) -> Vec<Strike> {
    strike_probability(layouts, &layouts.site().digs.clone(), form, &Unwatched).expect("chances")
}

fn chance(strike: &Strike, class: usize) -> f64 {
    strike.by_class[class].map_or(0.0, |chance| chance.p)
}

fn look(layouts: &Layouts, dig: usize) -> Observation {
    let dig = &layouts.site().digs[dig];
    Observation::dig(dig.shape.footprint(), dig.depth_m)
}

/// For each draw, the chance that a dig misses the metal of a class.
fn metal_missed(layouts: &Layouts, dig: usize, class: Class) -> Vec<f64> {
    let look = look(layouts, dig);
    let of = |draw: &Draw| {
        draw.metal
            .iter()
            .filter(|line| line.class == class)
            .map(|line| 1.0 - look.meets_metal(line))
            .product()
    };
    layouts.draws().iter().map(of).collect()
}

/// A main that is flagged and named is one line: in each draw that calls it the main, the chance of striking a mainline on it is
/// that of the metal alone, to rounding; the box beside it is fed by a branch off it, and nothing else is routed. The control wire
/// lies with it in the share of the setting. Planted: the routed main of the same site without flags beside the metal breaks the
/// first in most draws.
#[test]
fn a_flagged_main_is_counted_once_and_feeds_the_box_beside_it() {
    let flagged = layouts(&with(&json!({"flags": flags(&json!({"line": "main", "class": "mainline"}))})));
    let seen = strikes(&flagged, Form::General);
    assert!(chance(&seen[2], MAIN) > 0.4, "the third box is fed by a branch: {}", chance(&seen[2], MAIN));
    assert!(chance(&seen[3], MAIN) < 0.01, "{}", chance(&seen[3], MAIN));
    let plain = layouts(&lot());
    let beside = |(own, routed): (&Draw, &Draw)| Draw { metal: own.metal.clone(), ..routed.clone() };
    let twice: Vec<Draw> = flagged.draws().iter().zip(plain.draws()).map(beside).collect();
    let once = |draws: &[Draw], prior: &dyn OuterPrior| {
        let index = RunIndex::new(draws);
        let by_dig = |dig: usize| {
            let all = index.by_draw(prior, &look(&flagged, dig), &Findings::default());
            let alone = metal_missed(&flagged, dig, Class::Mainline);
            all.into_iter().zip(alone).map(|(all, missed)| (all.by_class[MAIN] - 1.0 + missed).abs() < 1e-12)
        };
        let of_main = |k: &usize| draws[*k].metal.iter().any(|line| line.class == Class::Mainline);
        let both: Vec<bool> = by_dig(0).zip(by_dig(1)).map(|(a, b)| a && b).collect();
        let mains: Vec<usize> = (0..draws.len()).filter(of_main).collect();
        mains.iter().filter(|&&k| both[k]).count() as f64 / mains.len() as f64
    };
    // Draws of a rare case count as of the nearest: one in a hundred at most.
    assert!(once(flagged.draws(), flagged.prior()) > 0.98, "{}", once(flagged.draws(), flagged.prior()));
    assert!(once(&twice, plain.prior()) < 0.3, "planted: {}", once(&twice, plain.prior()));
    // Draws in which the metal is the main hold the branch alone, and it begins on the metal.
    let main = |k: usize| flagged.draws()[k].metal.iter().any(|line| line.class == Class::Mainline);
    let mains: Vec<usize> = (0..flagged.draws().len()).filter(|&k| main(k)).collect();
    assert!(mains.len() > 500, "{}", mains.len());
    let routed = |k: usize| {
        let supply = flagged.pieces().draw(k).iter().filter(|piece| piece.kind == Kind::Supply);
        supply.map(|piece| piece.a.distance(piece.b)).sum::<f64>()
    };
    let longest = mains.iter().map(|&k| routed(k)).sum::<f64>() / mains.len() as f64;
    assert!((8.0..11.0).contains(&longest), "8 m from the main to the box: {longest}");
    let wired = |k: &&usize| flagged.draws()[**k].metal.iter().any(|line| line.wire);
    let share = mains.iter().filter(wired).count() as f64 / mains.len() as f64;
    // 0.9 of 500 or more: five standard errors are 0.067.
    assert!((share - 0.9).abs() < 0.067, "{share}");
    assert!(chance(&seen[0], WIRE) > 0.4, "the wire is struck with the main: {}", chance(&seen[0], WIRE));
    let lines = |k: usize| flagged.draws()[k].trees.iter().map(|tree| tree.runs.len()).sum::<usize>();
    assert!(mains.iter().filter(|&&k| lines(k) > 1).count() < 10, "one branch, no second main");
}

/// Where metal beside the boxes may or may not be the main, chances by class are those of each case: both forms agree within four
/// of the general form's own errors plus 0.002 (four digs, three classes: false alarms below 1e-3). Planted: the main routed as if
/// the metal said nothing moves the chance of a mainline between the boxes by more than that.
#[test]
fn both_forms_agree_where_metal_may_or_may_not_be_the_main() {
    let doubtful = layouts(&with(&json!({"flags": row(6.5, &json!({}))})));
    let cases = doubtful.prior().bearings().len();
    let (general, exact) = (strikes(&doubtful, Form::General), strikes(&doubtful, Form::Determinant));
    let bearings = doubtful.bearings().len();
    assert!(cases > bearings, "the site has cases: {cases} {bearings}");
    let metal = doubtful.draws().iter().filter(|draw| draw.metal.iter().any(|l| l.class == Class::Mainline));
    let share = metal.count() as f64 / doubtful.draws().len() as f64;
    assert!((0.1..0.9).contains(&share), "{share}");
    for (g, e) in general.iter().zip(&exact) {
        assert!((g.p - e.p).abs() < 4.0 * g.mcse + 0.002, "{} {} {}", g.p, e.p, g.mcse);
        for class in [MAIN, GAS, POTABLE] {
            if let (Some(a), Some(b)) = (g.by_class[class], e.by_class[class]) {
                assert!((a.p - b.p).abs() < 4.0 * a.mcse + 0.002, "{class}: {a:?} {b:?}");
            }
        }
        assert!(e.by_class[WIRE].is_none(), "the wire does not factor over runs");
    }
    // Planted.
    let by_draw =
        RunIndex::new(doubtful.draws()).by_draw(doubtful.prior(), &look(&doubtful, 1), &Findings::default());
    let carries = |class: Class| matches!(class, Class::Mainline | Class::Reclaimed);
    let dry =
        by_draw.iter().zip(doubtful.draws()).filter(|(_, draw)| !draw.metal.iter().any(|l| carries(l.class)));
    let dry: Vec<f64> = dry.map(|(chances, _)| chances.by_class[MAIN]).collect();
    let alone = dry.iter().sum::<f64>() / dry.len() as f64;
    let (seen, mcse) = (chance(&general[1], MAIN), general[1].by_class[MAIN].expect("assessed").mcse);
    assert!(alone - seen > 4.0 * mcse + 0.002, "{alone} {seen} {mcse}");
}

/// Metal that is surely gas carries no water: the routed main is that of the site without flags. The grid is the boundary's in
/// both, so that what is left is Monte Carlo (five standard errors of 600 draws: 0.1) and the few draws in which the ends tell otherwise.
/// Planted: where the metal is called the main, one branch is routed and not three pipes.
#[test]
fn where_metal_is_surely_gas_the_routed_main_is_untouched() {
    let keys = json!({"line": "gas", "class": "gas"});
    let paint = json!([{"class": "gas", "path": [[2, 4.1], [18, 4.1]], "quality": "B"}]);
    let gas = layouts(&with(&json!({"flags": flags(&keys), "marks": paint})));
    let (seen, plain) = (strikes(&gas, Form::General), strikes(&layouts(&lot()), Form::General));
    let routed = |strikes: &[Strike]| chance(&strikes[1], MAIN);
    assert!(chance(&seen[1], GAS) > 0.15, "gas lies at 0.46 m: {}", chance(&seen[1], GAS));
    assert!((routed(&seen) - routed(&plain)).abs() < 0.12, "{} {}", routed(&seen), routed(&plain));
    let main = layouts(&with(&json!({"flags": flags(&json!({"line": "main", "class": "mainline"}))})));
    let fed = |layouts: &Layouts| {
        let lines =
            layouts.draws().iter().map(|draw| draw.trees.iter().map(|tree| tree.runs.len()).sum::<usize>());
        lines.sum::<usize>() as f64 / layouts.draws().len() as f64
    };
    assert!(fed(&gas) > 2.6 && fed(&main) < 1.3, "{} {}", fed(&gas), fed(&main));
}

/// A control wire that is flagged has the mainline in its trench in the share of the setting, else the main runs its own way. Five
/// standard errors of a share of 0.8 in 500 draws or more: 0.09. Planted: with a share of none no main lies there.
#[test]
fn the_mainline_lies_with_a_flagged_control_wire() {
    let keys = json!({"line": "wire", "class": "control_wire"});
    let along = |share: f64| {
        let wired =
            layouts(&with(&json!({"flags": row(6.5, &keys), "settings": {"main_with_wire_share": share}})));
        let wire = |k: &usize| wired.draws()[*k].metal.iter().all(|line| line.class == Class::ControlWire);
        let wires: Vec<usize> = (0..wired.draws().len()).filter(wire).collect();
        assert!(wires.len() > 500, "{}", wires.len());
        let shared = |k: &&usize| {
            let long = |piece: &&underturf::layout::Piece| {
                piece.kind == Kind::Supply
                    && piece.a.distance(piece.b) > 14.0
                    && (piece.a.y - 6.5).abs().max((piece.b.y - 6.5).abs()) < 1.0
            };
            wired.pieces().draw(**k).iter().any(|piece| long(&piece))
        };
        wires.iter().filter(shared).count() as f64 / wires.len() as f64
    };
    assert!((along(0.8) - 0.8).abs() < 0.09, "{}", along(0.8));
    assert_eq!(along(0.0), 0.0);
}

/// A find of a mainline on the flagged line is that line: it speaks for the metal being the main, not for a second main beside it.
/// Planted: finds that metal cannot explain speak against it (the odds of the main fall tenfold).
#[test]
fn a_find_on_the_metal_main_speaks_for_it() {
    let share = |probes: Value| {
        let told = layouts(&with(&json!({"flags": row(6.5, &json!({})), "probes": probes})));
        let main = told.draws().iter().filter(|draw| draw.metal.iter().any(|l| l.class == Class::Mainline));
        main.count() as f64 / told.draws().len() as f64
    };
    let slit = json!([{"path": [[12.0, 5.9], [12.0, 7.1]], "width": 0.2, "depth": 0.8, "tool": "slit",
        "found": true, "class": "mainline"}]);
    let (before, after) = (share(json!([])), share(slit));
    assert!(before < 0.3 && after > 0.45, "{before} {after}");
}

/// A house with a bib on its wall, the meter across the lawn, and three holes on the straight way between them.
fn house(outlet: &Value) -> Value {
    let mut bib = json!({"id": "bib", "x": 20.0, "y": 10.1, "kind": "hose_bib"});
    for (key, value) in outlet.as_object().expect("keys") {
        bib[key] = value.clone();
    }
    json!({
        "format": "underturf-site/2", "units": "m",
        "boundary": [[0, 0], [30, 0], [30, 20], [0, 20]],
        "obstacles": [{"kind": "building", "outline": [[12, 10.2], [28, 10.2], [28, 18], [12, 18]]}],
        "sources": [{"id": "m", "x": 20.0, "y": 1.0, "kind": "meter"}],
        "outlets": [bib],
        "digs": [{"id": "d", "x": 20.0, "y": 5.0, "radius": 0.5, "depth": 1.0}],
    })
}

/// A bib on a wall is fed through the ground in the share that the setting leaves: by determinants to 1e-9, by draws within five
/// of their errors. What a crew knows holds; a bib in the open is always fed through the ground. Planted: an outlet that is fed
/// across the lawn in every draw is six times as likely to be met.
#[test]
fn a_bib_on_a_wall_is_fed_through_the_ground_in_the_share_that_is_left() {
    let potable = |document: &Value, form: Form| chance(&strikes(&layouts(document), form)[0], POTABLE);
    let (open, ground) = (house(&json!({})), house(&json!({"fed": "ground"})));
    let always = potable(&ground, Form::Determinant);
    assert!(always > 0.3, "{always}");
    let exact = potable(&open, Form::Determinant);
    assert!((exact - 0.15 * always).abs() < 1e-9, "{exact} {always}");
    let drawn = &strikes(&layouts(&open), Form::General)[0].by_class[POTABLE].expect("assessed");
    assert!((drawn.p - exact).abs() < 5.0 * drawn.mcse + 1e-9, "{drawn:?} {exact}");
    let never = layouts(&house(&json!({"fed": "house"})));
    assert!(!never.assessed()[POTABLE] && never.pieces().all().is_empty());
    let in_the_open = house(&json!({"y": 9.8}));
    assert_eq!(
        potable(&in_the_open, Form::Determinant),
        potable(&house(&json!({"y": 9.8, "fed": "ground"})), Form::Determinant)
    );
}

/// A potable line that a slit found on the way says that the bib is fed through the ground: by Bayes its chance goes from 0.15 to
/// 0.85, in both forms. A clear slit across the way makes it less likely.
#[test]
fn finds_tell_how_a_bib_is_fed() {
    let slit = |found: bool| json!([{"path": [[18.5, 7.0], [21.5, 7.0]], "width": 0.3, "depth": 1.0, "tool": "slit", "found": found}]);
    let with_slit = |probes: Value| {
        let mut document = house(&json!({}));
        document["probes"] = probes;
        layouts(&document)
    };
    let mut found = slit(true);
    found[0]["class"] = json!("potable");
    let fed = |layouts: &Layouts| {
        let fed = layouts.draws().iter().filter(|draw| draw.trees.iter().any(|tree| !tree.runs.is_empty()));
        fed.count() as f64 / layouts.draws().len() as f64
    };
    let (before, after, clear) = (layouts(&house(&json!({}))), with_slit(found), with_slit(slit(false)));
    // Five standard errors of a share of 0.15 in 600 draws: 0.073.
    assert!((fed(&before) - 0.15).abs() < 0.073, "{}", fed(&before));
    // What else the slit may have met: an unmapped line (0.02) or nothing (0.01), beside 0.15 x 0.95.
    assert!((fed(&after) - 0.85).abs() < 0.08, "{}", fed(&after));
    assert!(fed(&clear) < 0.06, "{}", fed(&clear));
    for it in [&after, &clear] {
        let (general, exact) = (&strikes(it, Form::General)[0], &strikes(it, Form::Determinant)[0]);
        assert!((general.p - exact.p).abs() < 5.0 * general.mcse + 0.01, "{general:?} {exact:?}");
    }
}

/// A metal line of class potable that leads to the bib feeds it: no second line is routed, and none of its draws calls the bib
/// fed by the house alone. Planted: without the flags most draws hold no line at all.
#[test]
fn a_metal_line_to_the_bib_is_its_only_line() {
    let mut flagged = house(&json!({}));
    flagged["flags"] = (0..6)
        .map(|k| json!({"x": 20.0, "y": 1.6 + 1.6 * f64::from(k), "sd": 0.1, "line": "water", "class": "potable"}))
        .collect();
    let metal = layouts(&flagged);
    let potable = |k: &usize| metal.draws()[*k].metal.iter().any(|line| line.class == Class::Potable);
    let draws: Vec<usize> = (0..metal.draws().len()).filter(potable).collect();
    assert!(draws.len() > 500, "{}", draws.len());
    let routed = |k: &&usize| !metal.draws()[**k].trees.iter().all(|tree| tree.runs.is_empty());
    assert!(draws.iter().filter(routed).count() < 15, "{}", draws.iter().filter(routed).count());
    let plain = layouts(&house(&json!({})));
    assert!(plain.draws().iter().filter(|draw| draw.trees[0].runs.is_empty()).count() > 400);
}

/// With more outlets than are listed one by one, each keeps its chance: eight bibs along a wall, by determinants against one
/// alone, each fed by a pipe that the others' pipes are far from. To 1e-9: the bib of a hole is among the first six, or tied.
#[test]
fn many_outlets_keep_their_chances() {
    let many = |count: usize| {
        let mut document = house(&json!({}));
        document["outlets"] = (0..count)
            .map(|k| json!({"id": format!("bib{k}"), "x": 13.0 + 2.0 * k as f64, "y": 10.1, "kind": "hose_bib"}))
            .collect();
        let site = io::from_value(document).expect("a sound document");
        let prior = LayoutPrior::new(&site).expect("a prior");
        let states = prior.state_probabilities(0, 0).to_vec();
        assert!((states.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        states
    };
    assert_eq!(many(1).len(), 2);
    assert_eq!(many(6).len(), 64);
    assert_eq!(many(8).len(), 64);
    assert!((many(8)[63] - 0.15f64.powi(6)).abs() < 1e-12, "all through the ground comes last");
}
