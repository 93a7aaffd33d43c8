//! Metal lines in whole answers: flags, paint, services and probes of one site, its strikes, its grid, its draws.

use serde_json::{Value, json};
use std::sync::Arc;
use underturf::class::Class;
use underturf::decision::strike_probability;
use underturf::inference::{Layouts, SampleOptions, sample_layouts};
use underturf::layout::{Kind, MetalLine};
use underturf::metal::Summary;
use underturf::monitor::Unwatched;
use underturf::site::io;
use underturf::strike::Form;

/// A lot of 20 m by 12 m without heads, with what is told beside it and two holes: on the row of flags, and far from it.
fn site(told: &Value) -> Value {
    let mut document = json!({
        "format": "underturf-site/2", "units": "m",
        "boundary": [[0, 0], [20, 0], [20, 12], [0, 12]],
        "digs": [
            {"id": "on", "x": 8.0, "y": 4.0, "radius": 0.3, "depth": 1.2},
            {"id": "off", "x": 8.0, "y": 10.0, "radius": 0.3, "depth": 1.2},
        ],
    });
    for (key, value) in told.as_object().expect("lists") {
        document[key] = value.clone();
    }
    document.as_object_mut().expect("a table").retain(|_, value| !value.is_null());
    document
}

/// Nine flags in a row along y = 4, a little off it.
fn row() -> Vec<Value> {
    (0..9)
        .map(|k| json!({"x": 1.0 + 2.0 * f64::from(k), "y": 4.0 + 0.08 * f64::from(k % 3 - 1), "sd": 0.1}))
        .collect()
}

fn layouts(told: &Value) -> Layouts {
    let site = Arc::new(io::from_value(site(told)).expect("a sound document"));
    sample_layouts(&site, &SampleOptions { draws: 400, seed: 5 }, &Unwatched).expect("layouts")
}

fn summary(layouts: &Layouts) -> Summary {
    let draws: Vec<&[Arc<MetalLine>]> = layouts.draws().iter().map(|draw| &*draw.metal).collect();
    layouts.metal().expect("metal").summary(&draws)
}

fn chances(layouts: &Layouts, form: Form) -> Vec<f64> {
    let digs = layouts.site().digs.clone();
    strike_probability(layouts, &digs, form, &Unwatched).expect("chances").iter().map(|it| it.p).collect()
}

/// A row of flags is one line, struck where it is dug deep enough; far from it nothing is added to the unmapped lines. Both
/// forms agree to four of their own errors. Planted fault: without the flags nothing is struck at either place.
#[test]
fn a_row_of_flags_is_a_line() {
    let flagged = layouts(&json!({"flags": row()}));
    let found = summary(&flagged);
    assert_eq!(found.lines.len(), 1);
    assert!(found.items.iter().all(|item| item.line == Some(0) && item.stray < 0.05), "{:?}", found.items);
    let near = |at: f64| {
        let gap = |s: &&underturf::metal::Station| (s.at.x - at).abs();
        found.lines[0].stations.iter().min_by(|a, b| gap(a).total_cmp(&gap(b))).expect("stations")
    };
    let middle = near(9.0);
    assert!((middle.at.y - 4.0).abs() < 0.1, "{middle:?}");
    // 1.645 standard deviations of 0.1 / 3 and of the trench's wander, 0.07: 0.13; doubled by a scatter that is not known.
    assert!(middle.band_m[1] < 0.26 && middle.band_m[0] > -0.26, "{middle:?}");
    let [on, off] = chances(&flagged, Form::General)[..] else { panic!("two digs") };
    assert!(on > 0.9 && off < 0.1, "{on} {off}");
    let exact = chances(&flagged, Form::Determinant);
    assert!((exact[0] - on).abs() < 0.02 && (exact[1] - off).abs() < 0.02, "{exact:?}");
    let bare = chances(&layouts(&json!({})), Form::General);
    assert!(bare[0] < 0.1, "{bare:?}");
}

/// Paint beside the flags, a meter and a bib at the ends, a name: each tells the class. Without any of them none is sure.
#[test]
fn ends_paint_and_names_tell_the_class() {
    let likeliest = |told: &Value| {
        let found = summary(&layouts(told));
        let best = (0..found.lines[0].classes.len())
            .max_by(|a, b| found.lines[0].classes[*a].total_cmp(&found.lines[0].classes[*b]));
        let best = best.expect("classes");
        (underturf::metal::class_names()[best], found.lines[0].classes[best])
    };
    let (_, unsure) = likeliest(&json!({"flags": row()}));
    assert!(unsure < 0.5, "{unsure}");
    let marked = json!({"flags": row(), "marks": [{"class": "gas", "path": [[2, 4.2], [16, 4.2]]}]});
    let (class, p) = likeliest(&marked);
    assert!(class == "gas" && p > 0.85, "{class} {p}");
    let ended = json!({
        "flags": row(),
        "sources": [{"id": "m", "x": 0.3, "y": 4.0, "kind": "meter"}],
        "outlets": [{"id": "b", "x": 18.0, "y": 4.1, "kind": "hose_bib"}],
    });
    let (class, p) = likeliest(&ended);
    assert!(class == "potable" && p > 0.8, "{class} {p}");
    let mut named = row();
    named.iter_mut().for_each(|flag| flag["line"] = json!("old power line"));
    let (class, p) = likeliest(&json!({"flags": named}));
    assert!(class == "electric" && p > 0.8, "{class} {p}");
}

/// A service without any flag lies somewhere between its ends; a clear slit across the straight way makes it less likely there.
#[test]
fn a_service_is_told_of_and_a_clear_slit_counts() {
    let service = json!([{"class": "gas", "from": [1.0, 0.9], "to": [15.0, 7.1]}]);
    let told = chances(&layouts(&json!({"services": service})), Form::General)[0];
    assert!(told > 0.1, "{told}");
    let slit = json!([{"path": [[8.0, 2.5], [8.0, 5.5]], "width": 0.2, "depth": 1.5, "found": false, "tool": "slit"}]);
    let clear = layouts(&json!({"services": service, "probes": slit}));
    let clear_p = chances(&clear, Form::General)[0];
    assert!(clear_p < 0.6 * told, "{clear_p} {told}");
    assert!(clear.assessed()[Class::Gas as usize], "a service is evidence of its class");
}

/// A row of flags at 17 degrees turns a grid that nothing else is known of. Planted fault: without the flags no bearing is
/// likelier than another.
#[test]
fn flags_inform_the_grid() {
    let turned: Vec<Value> = (0..9)
        .map(|k| {
            let (sin, cos) = 17f64.to_radians().sin_cos();
            json!({"x": 1.0 + 2.0 * f64::from(k) * cos, "y": 1.0 + 2.0 * f64::from(k) * sin, "sd": 0.05})
        })
        .collect();
    let near = |layouts: &Layouts| -> f64 {
        let off = |rad: f64| (rad.to_degrees() - 17.0).abs();
        layouts.bearings().iter().filter(|b| off(b.rad) < 4.0).map(|b| b.probability).sum()
    };
    let no_edges = json!({"boundary": null, "flags": turned});
    assert!(near(&layouts(&no_edges)) > 0.5, "{}", near(&layouts(&no_edges)));
    assert!(near(&layouts(&json!({"boundary": null}))) < 0.2);
}

/// Draws do not depend on the number of threads, and what flags add leaves the other pieces of every draw as they were, where
/// edges leave the grid no choice.
#[test]
fn draws_are_the_same_with_any_number_of_threads() {
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| layouts(&json!({"flags": row()})).pieces().all().to_vec())
    };
    let (one, three) = (with(1), with(3));
    assert!(one == three && one.iter().any(|piece| piece.kind == Kind::Metal));
}

/// A find of no told class on the row of flags is the line of the flags: no unmapped line is drawn through it, though the find
/// far from any flag has one in many draws. Told as a lateral it is none of the metal. Planted fault: metal explains no find,
/// and an unmapped line lies beside the flags in as many draws.
#[test]
fn a_find_on_flagged_metal_is_that_line() {
    let unknown = |class: Option<&str>, x: f64, y: f64| {
        let mut probe = json!({"x": x, "y": y, "radius": 0.3, "depth": 1.0, "found": true});
        if let Some(class) = class {
            probe["class"] = json!(class);
        }
        let layouts = layouts(&json!({"flags": row(), "probes": [probe]}));
        let with = layouts.draws().iter().filter(|draw| !draw.unknown.is_empty()).count();
        (with as f64 / layouts.draws().len() as f64, layouts)
    };
    let (on, layouts) = unknown(None, 8.0, 4.0);
    assert!(on < 0.1, "{on}");
    let digs = &layouts.site().digs;
    let refused = strike_probability(&layouts, digs, Form::Determinant, &Unwatched);
    assert!(matches!(refused, Err(underturf::Error::DeterminantKnowsNoMetal)));
    assert!(chances(&layouts, Form::General)[0] > 0.9);
    let (off, layouts) = unknown(None, 8.0, 10.0);
    assert!(off > 0.3, "{off}");
    assert!(strike_probability(&layouts, &layouts.site().digs, Form::Determinant, &Unwatched).is_ok());
    let (plastic, _) = unknown(Some("lateral"), 8.0, 4.0);
    assert!(plastic > 0.3, "{plastic}");
}
