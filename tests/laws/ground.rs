//! Trees, drawings and swept ground on whole sites: each moves the chances its way and leaves alone what it says
//! nothing about.

use serde_json::{Value, json};
use std::sync::Arc;
use underturf::class::Class;
use underturf::decision::strike_probability;
use underturf::inference::{SampleOptions, sample_layouts};
use underturf::monitor::Unwatched;
use underturf::site::io;
use underturf::strike::{Form, Strike};

/// Six heads in two rows, a valve box by the second row, a meter up the lawn; the settings keep one bearing in play.
fn document() -> Value {
    let mut heads = Vec::new();
    for (i, x) in [1.0, 5.0, 9.0].into_iter().enumerate() {
        for (j, y) in [1.0, 5.0].into_iter().enumerate() {
            heads.push(json!({"id": format!("h{i}{j}"), "x": x, "y": y, "zone": "1"}));
        }
    }
    json!({
        "format": "underturf-site/2", "units": "m",
        "boundary": [[0, 0], [14, 0], [14, 14], [0, 14]],
        "heads": heads,
        "valve_boxes": [{"id": "v", "x": 11.0, "y": 5.5, "zones": ["1"]}],
        "sources": [{"id": "m", "x": 5.0, "y": 12.0, "kind": "meter"}],
        "settings": {"grid_step_deg": 5.0, "header_step_m": 0.5},
        "digs": [
            {"id": "row", "x": 3.0, "y": 1.2, "radius": 0.3, "depth": 0.6},
            {"id": "between rows", "x": 3.0, "y": 3.0, "radius": 0.3, "depth": 0.6},
            {"id": "main", "x": 8.0, "y": 8.75, "radius": 0.3, "depth": 0.6}
        ]
    })
}

/// Chances of the three digs with one more key in the document: summed over outer states, so without sampling error.
fn chances(key: &str, value: &Value) -> Vec<Strike> {
    let mut document = document();
    document[key] = value.clone();
    let site = Arc::new(io::from_value(document).expect("a good document"));
    let layouts = sample_layouts(&site, &SampleOptions { draws: 2, seed: 1 }, &Unwatched).expect("layouts");
    assert!(layouts.warnings().iter().all(|warning| !warning.contains(key)));
    strike_probability(&layouts, &site.digs, Form::Determinant, &Unwatched).expect("strikes")
}

fn of(class: Class, strike: &Strike) -> f64 {
    strike.by_class[class as usize].expect("assessed").p
}

#[test]
fn chance_beside_a_drawn_line_rises_with_trust() {
    let none = chances("sketches", &json!([]));
    // A row that is drawn, and a header drawn where there are no heads.
    for (dig, path, gain) in [(0, [[1.0, 1.0], [9.0, 1.0]], 1.2), (1, [[1.0, 3.1], [9.0, 3.1]], 4.0)] {
        let mut before = none[dig].p;
        let drawn = |trust: f64| chances("sketches", &json!([{"path": path, "trust": trust}]));
        assert_eq!(drawn(0.0), none, "trust 0 changes no bit");
        for trust in [0.25, 0.5, 0.75, 1.0] {
            let p = drawn(trust)[dig].p;
            assert!(p > before + 1e-3, "dig {dig}: {p} at trust {trust} after {before}");
            before = p;
        }
        assert!(before > gain * none[dig].p && before < 1.0, "dig {dig}: {before} from {}", none[dig].p);
    }
}

#[test]
fn pipe_keeps_off_a_tree_in_its_row() {
    let without = chances("trees", &json!([]));
    let with = chances("trees", &json!([{"x": 3.0, "y": 1.5, "stem_diameter": 0.3}]));
    assert!(with[0].p < 0.8 * without[0].p, "{} {}", with[0].p, without[0].p);
    let far = chances("trees", &json!([{"x": 1.0, "y": 12.0, "stem_diameter": 0.3}]));
    assert_eq!(far, without, "a tree that no way passes");
}

#[test]
fn silent_ground_speaks_against_wire_and_leaves_laterals_alone() {
    let without = chances("swept", &json!([]));
    let outline = json!([[6, 7], [10, 7], [10, 10.5], [6, 10.5]]);
    let swept = |p_detect: f64| chances("swept", &json!([{"outline": outline, "p_detect": p_detect}]));
    assert_eq!(swept(0.0), without);
    let mut before = of(Class::Mainline, &without[2]);
    assert!(before > 0.2, "the straight way is the likeliest: {before}");
    for p_detect in [0.3, 0.6, 1.0] {
        let now = swept(p_detect);
        let mainline = of(Class::Mainline, &now[2]);
        assert!(mainline < 0.9 * before && mainline > 0.0, "{mainline} after {before}");
        before = mainline;
        for (now, without) in now.iter().zip(&without) {
            assert_eq!(of(Class::Lateral, now), of(Class::Lateral, without));
        }
    }
}

#[test]
fn a_flag_cancels_the_silence_and_a_coupler_has_no_wire() {
    let outline = json!([[7, 8], [9, 8], [9, 9.5], [7, 9.5]]);
    let swept = json!([{"outline": outline, "p_detect": 0.9}]);
    let chance = |flags: Value, swept: &Value, coupler: bool| {
        let mut document = document();
        document["flags"] = flags;
        document["swept"] = swept.clone();
        if coupler {
            document["valve_boxes"][0]["x"] = 1.0.into();
            document["outlets"] = json!([{"id": "q", "x": 11.0, "y": 5.5, "kind": "quick_coupler"}]);
        }
        let site = Arc::new(io::from_value(document).expect("a good document"));
        let options = SampleOptions { draws: 2, seed: 1 };
        let layouts = sample_layouts(&site, &options, &Unwatched).expect("layouts");
        let digs = &site.digs[2..];
        of(
            Class::Mainline,
            &strike_probability(&layouts, digs, Form::Determinant, &Unwatched).expect("strikes")[0],
        )
    };
    let (none, here, elsewhere) =
        (json!([]), json!([{"x": 8, "y": 8.7, "sd": 0.3}]), json!([{"x": 1, "y": 8.7}]));
    let heard = chance(none.clone(), &none, false);
    assert!(chance(none.clone(), &swept, false) < 0.6 * heard);
    assert_eq!(chance(here, &swept, false), heard);
    assert!(chance(elsewhere, &swept, false) < 0.6 * heard);
    assert_eq!(chance(none.clone(), &swept, true), chance(none.clone(), &none, true));
}
