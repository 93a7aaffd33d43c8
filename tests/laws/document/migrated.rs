//! Documents of the first format, `underturf-site/1`, are read for good, and say what they said.
//!
//! `tests/data/site-1` holds what was shipped in that format, word for word. Generated documents are written back to the first
//! format here, by rules that share no code with the migration.

use super::{faults, only, read};
use crate::mutator::sites;
use serde_json::{Value, json};
use underturf::rng;
use underturf::site::io::{from_value, parse_json, parse_toml, to_toml};
use underturf::site::{FaultKind, NoteKind, Site};

/// Shipped in the first format, and the same now.
const SHIPPED: [(&str, &str); 5] = [
    (
        include_str!("../../data/site-1/green.toml"),
        include_str!("../../../python/underturf/examples/green.toml"),
    ),
    (
        include_str!("../../data/site-1/terrace.toml"),
        include_str!("../../../python/underturf/examples/terrace.toml"),
    ),
    (
        include_str!("../../data/site-1/unlabelled.toml"),
        include_str!("../../../python/underturf/examples/unlabelled.toml"),
    ),
    (include_str!("../../data/site-1/feet.toml"), include_str!("../../mistakes/bases/feet.toml")),
    (include_str!("../../data/site-1/plain.toml"), include_str!("../../mistakes/bases/plain.toml")),
];

/// The example of the page on documents, as it stood there.
const PAGE: (&str, &str) =
    (include_str!("../../data/site-1/page.toml"), include_str!("../../../python/docs/site-document.md"));

/// Directions of both sites agree: of a line without a forward end, to a hair.
fn same_directions(one: &Site, other: &Site) {
    assert_eq!(one.probes.len(), other.probes.len());
    for (a, b) in one.probes.iter().zip(&other.probes) {
        let turn = a.angle_rad.unwrap_or(0.0) - b.angle_rad.unwrap_or(0.0);
        assert_eq!(a.angle_rad.is_some(), b.angle_rad.is_some());
        assert!(turn.sin().abs() < 1e-12, "{:?} and {:?}", a.angle_rad, b.angle_rad);
    }
    let turn = (one.y_azimuth_deg() - other.y_azimuth_deg()).to_radians();
    assert!((1.0 - turn.cos()).abs() < 1e-15);
}

/// Two documents that say the same: all but directions equal, those to a hair.
fn say_the_same(one: &Site, other: &Site) {
    same_directions(one, other);
    let bare = |site: &Site| {
        let mut document = site.document.clone();
        document.probes.iter_mut().for_each(|probe| probe.azimuth_deg = None);
        document.frame = None;
        document
    };
    assert_eq!(bare(one), bare(other));
}

#[test]
fn every_shipped_document_of_the_first_format_says_what_it_said() {
    for (former, present) in SHIPPED {
        assert!(former.contains("underturf-site/1") && present.contains("underturf-site/2"));
        let (former, present) = (read(former), read(present));
        assert_eq!(former.document, present.document);
        assert!(former.heads.len() > 3);
    }
    let json = parse_json(include_str!("../../data/site-1/bare.json")).expect("reads");
    let present = parse_json(include_str!("../../../python/underturf/examples/bare.json")).expect("reads");
    assert_eq!(json, present);
}

#[test]
fn the_example_of_the_page_says_what_it_said() {
    let (former, page) = PAGE;
    let example =
        page.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).expect("an example");
    let (former, present) = (read(former), read(example));
    assert!(former.probes.iter().any(|probe| probe.angle_rad.is_some()) && former.frame.is_some());
    say_the_same(&former, &present);
    // Along x: what the page said of the find in both formats.
    assert!(former.probes.iter().filter_map(|probe| probe.angle_rad).all(|angle| angle.sin().abs() < 1e-12));
}

/// A document as it would have been written in the first format: directions from x, old names of settings.
fn as_first(mut document: Value) -> Value {
    document["format"] = json!("underturf-site/1");
    let mut x_from_east = 0.0;
    if let Some(frame) = document.get_mut("frame").and_then(Value::as_object_mut)
        && let Some(azimuth) = frame.remove("azimuth_deg")
    {
        x_from_east = 360.0 - azimuth.as_f64().expect("a number");
        frame.insert("bearing_deg".to_owned(), json!(x_from_east));
    }
    for probe in document.get_mut("probes").and_then(Value::as_array_mut).into_iter().flatten() {
        let probe = probe.as_object_mut().expect("a table");
        if let Some(azimuth) = probe.remove("azimuth_deg") {
            // From east counter-clockwise, then from x.
            let from_east = 90.0 - azimuth.as_f64().expect("a number");
            probe.insert("bearing_deg".to_owned(), json!(from_east - x_from_east));
        }
    }
    if let Some(settings) = document.get_mut("settings").and_then(Value::as_object_mut) {
        for (present, former) in [
            ("zone_error", "label_error"),
            ("grid_step_deg", "theta_step_deg"),
            ("grid_edge_share", "theta_edge_share"),
            ("unmapped_cover_m", "floor_cover_m"),
        ] {
            if let Some(value) = settings.remove(present) {
                settings.insert(former.to_owned(), value);
            }
        }
    }
    document
}

/// 400 generated documents, 100 or more with a direction: what the first format said is what is read.
#[test]
fn generated_documents_of_the_first_format_say_what_they_said() {
    let (mut compared, mut directed) = (0, 0);
    for seed in 0..400 {
        let rng = &mut rng::stream(seed, 0);
        let mut document = sites::any(rng);
        let turned = (seed % 8) as f64 * 45.0;
        document["frame"] = json!({"lon": 0.5, "lat": 50.0, "azimuth_deg": turned});
        document["settings"] = json!({
            "zone_error": 0.01, "grid_step_deg": 2.5, "grid_edge_share": 0.7, "unmapped_cover_m": 0.4, "verdict_limit": 0.1
        });
        let Ok(present) = from_value(document.clone()) else { continue };
        let former = from_value(as_first(document)).unwrap_or_else(|faults| panic!("seed {seed}: {faults}"));
        say_the_same(&former, &present);
        compared += 1;
        directed += usize::from(present.probes.iter().any(|probe| probe.angle_rad.is_some()));
    }
    assert!(compared > 300 && directed > 40, "{compared} compared, {directed} with a direction");
}

/// Planted fault: a frame turned the other way, or a bearing taken for an azimuth, does not say the same.
#[test]
fn a_direction_turned_the_wrong_way_is_noticed() {
    let with = |format: &str, key: &str, frame: f64, probe: f64| {
        let text = format!(
            "format = '{format}'\nunits = 'm'\nframe = {{ lon = 0, lat = 0, {key} = {frame} }}\n\
             probes = [{{ x = 1, y = 1, radius = 0.2, depth = 0.5, found = true, {key} = {probe} }}]\n\
             heads = [{{ id = 'a', x = 0, y = 0 }}, {{ id = 'b', x = 4, y = 0 }}, {{ id = 'c', x = 0, y = 4 }}]"
        );
        read(&text)
    };
    // x points 30 degrees north of east, and the line 20 degrees further to the north: 40 degrees from north.
    let former = with("underturf-site/1", "bearing_deg", 30.0, 20.0);
    same_directions(&former, &with("underturf-site/2", "azimuth_deg", 330.0, 40.0));
    let angle = former.probes[0].angle_rad.expect("noted");
    assert!((angle - 20f64.to_radians()).sin().abs() < 1e-12, "{angle}");
    for (frame, probe) in [(30.0, 40.0), (330.0, 20.0), (330.0, 70.0), (0.0, 40.0)] {
        let other = with("underturf-site/2", "azimuth_deg", frame, probe);
        let fails = std::panic::catch_unwind(|| same_directions(&former, &other)).is_err();
        assert!(fails, "{frame}, {probe} pass for the same");
    }
}

#[test]
fn faults_of_the_first_format_are_told_in_the_words_that_were_typed() {
    let first = "format = 'underturf-site/1'\nunits = 'm'\n";
    let probe = "probes = [{ x = 1, y = 1, radius = 0.2, depth = 0.5, found = true, ";
    let (place, _) = only(&format!("{first}{probe}bearing_deg = 'north' }}]"));
    assert_eq!(place, "probes[0].bearing_deg");
    let (place, what) = only(&format!("{first}{probe}azimuth_deg = 10 }}]"));
    assert_eq!(place, "probes[0].azimuth_deg");
    assert!(matches!(what, FaultKind::OfPresentFormat { former: "bearing_deg", .. }), "{what}");
    let (place, _) = only(&format!("{first}settings = {{ floor_cover_m = 99 }}"));
    assert_eq!(place, "settings.floor_cover_m");
    let (place, what) = only(&format!("{first}settings = {{ unmapped_cover_m = 0.3 }}"));
    assert!(
        place == "settings.unmapped_cover_m" && what.to_string().contains("write floor_cover_m"),
        "{what}"
    );
    let twice = faults(&format!("{first}{probe}azimuth_deg = 'n', bearing_deg = 1 }}]\nextra = 1"));
    assert_eq!(twice.len(), 2, "{twice:?}");
}

#[test]
fn words_of_the_first_format_in_a_present_document_are_told() {
    let present = "format = 'underturf-site/2'\nunits = 'm'\n";
    let (_, what) = only(&format!(
        "{present}probes = [{{ x = 1, y = 1, radius = 0.2, depth = 0.5, found = true, bearing_deg = 1 }}]"
    ));
    assert!(what.to_string().contains("write azimuth_deg, clockwise from north"), "{what}");
    let (_, what) = only(&format!("{present}settings = {{ theta_step_deg = 2 }}"));
    assert!(what.to_string().contains("\"grid_step_deg\""), "{what}");
}

#[test]
fn a_document_of_the_first_format_says_so_once_and_is_written_in_the_present_one() {
    let text = "format = 'underturf-site/1'\nunits = 'm'\nsettings = { label_error = 0.01 }\n";
    let site = read(text);
    let told = |site: &Site| {
        site.notes().iter().filter(|note| matches!(note.what, NoteKind::FormerWords { .. })).count()
    };
    assert_eq!(told(&site), 1);
    let written = to_toml(&site.document).expect("writes");
    assert!(written.contains("underturf-site/2") && written.contains("zone_error"));
    let again = parse_toml(&written).expect("reads");
    assert_eq!((told(&again), &again.document), (0, &site.document));
    assert_eq!(told(&read("format = 'underturf-site/1'\nunits = 'm'")), 0); // nothing was read under another name
}
