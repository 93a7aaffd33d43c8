//! Nothing is dug into the stem of a standing tree, and no spot, shift or probe is put there.

use serde_json::{Value, json};
use std::sync::Arc;
use underturf::decision::{
    Bar, PlaceOptions, ProbePlan, SpotOptions, TreeRules, assess, best_spots, footprint, plan_probes, shifted,
};
use underturf::inference::{Layouts, SampleOptions, sample_layouts};
use underturf::monitor::Unwatched;
use underturf::site::io;

/// Nine heads in three rows, a hole in the middle of one of the fields between them, and these trees.
fn layouts(trees: &Value) -> Layouts {
    let head = |k: u32| json!({"id": format!("h{k}"), "x": 5.0 * f64::from(k % 3), "y": 5.0 * f64::from(k / 3), "zone": "1"});
    let document = json!({
        "format": "underturf-site/2", "units": "m",
        "boundary": [[-1, -1], [11, -1], [11, 11], [-1, 11]],
        "heads": (0..9).map(head).collect::<Vec<_>>(),
        "valve_boxes": [{"id": "v", "x": -0.8, "y": 5.2, "zones": ["1"]}],
        "trees": trees,
        "digs": [{"id": "oak", "x": 2.5, "y": 3.9, "radius": 0.4, "depth": 0.4}],
    });
    let site = Arc::new(io::from_value(document).expect("a good document"));
    sample_layouts(&site, &SampleOptions { draws: 400, seed: 3 }, &Unwatched).expect("layouts")
}

/// A tree is put where the hole is drawn, where it would be shifted, where the best spot is and where the first probe would
/// go, one after another: each then goes elsewhere, its edge off the stem of 0.5 m. Planted fault: without the trees each lies
/// there.
#[test]
fn nothing_is_dug_into_a_stem() {
    // Stems alone are looked at: the protected roots of these trees would take the whole lawn.
    let spots = SpotOptions {
        rules: TreeRules { spare_roots: false, ..TreeRules::default() },
        ..SpotOptions::new(1, 0.4, 0.4)
    };
    let plan = ProbePlan { always: true, cell_m: Some(0.5), ..ProbePlan::new(1, 0.25) };
    let places = |layouts: &Layouts| {
        let digs = &layouts.site().digs;
        let to = shifted(layouts, digs, &PlaceOptions::within(1.5, 0.1), &Unwatched).expect("places");
        let spot = best_spots(layouts, &spots, &Unwatched).expect("a spot").spots[0].at;
        let probe = plan_probes(layouts, digs, &plan, &Unwatched).expect("a plan").rows[0].at;
        [footprint(&to[0]).reference(), spot, probe]
    };
    let bare = layouts(&json!([]));
    let before = places(&bare);
    assert_eq!(assess(&bare, &bare.site().digs, &Unwatched).expect("digs")[0].bar, None);
    let stems: Vec<Value> =
        before.iter().map(|at| json!({"x": at.x, "y": at.y, "stem_diameter": 0.5})).collect();
    let wooded = layouts(&json!(stems));
    for ((was, is), radius_m) in before.into_iter().zip(places(&wooded)).zip([0.4, 0.4, 0.25]) {
        assert!(was.distance(is) >= radius_m + 0.25 - 1e-9, "{was:?} {is:?}");
        for tree in &wooded.site().trees {
            assert!(tree.at.distance(is) >= radius_m + 0.25 - 1e-9, "{tree:?} {is:?}");
        }
    }
    let under = layouts(&json!([{"x": 2.6, "y": 3.6, "stem_diameter": 0.3}]));
    let found = assess(&under, &under.site().digs, &Unwatched).expect("digs");
    assert_eq!(found[0].bar, Some(Bar::Tree(0)));
}
