//! Documents drawn at random: nothing of one is lost on a round trip, in metres, in feet or as written.

use super::kept::round_trips;
use proptest::prelude::*;
use underturf::class::Class;
use underturf::planting::Setback;
use underturf::site::document::{
    BoxEntry, DigEntry, HeadEntry, HeadKind, MarkEntry, Method, ObstacleEntry, ObstacleKind, PlantEntry,
    PlantTable, ProbeEntry, QualityLevel, StationTestEntry, Tool, TreeSize, Vigour, Xy,
};
use underturf::site::io;
use underturf::site::length::Length;
use underturf::site::spelling::folded;
use underturf::site::{Document, Site, Units};

/// Any finite number in the range, with all its digits.
fn number(least: f64, greatest: f64) -> impl Strategy<Value = f64> + Clone {
    (0.0..1.0).prop_map(move |share: f64| least + share * (greatest - least))
}

fn point(least: f64, greatest: f64) -> impl Strategy<Value = Xy> {
    [number(least, greatest), number(least, greatest)]
}

fn head() -> impl Strategy<Value = HeadEntry> {
    let kind =
        prop::option::of(prop::sample::select(vec![HeadKind::Spray, HeadKind::Rotor, HeadKind::Other]));
    let size = prop::option::of(number(1e-6, 30.0));
    let arc = prop::option::of(number(1.0, 360.0));
    let zone = prop::option::of(prop::sample::select(vec!["1", "lawn \"west\"", "Süd 2"]));
    (point(0.0, 50.0), kind, zone, size.clone(), size, arc).prop_map(
        |([x, y], kind, zone, sd, radius, arc_deg)| {
            let zone = zone.map(str::to_owned);
            let (sd, accuracy_95) = if arc_deg.is_some() { (sd, None) } else { (None, sd) };
            HeadEntry { id: String::new(), x, y, kind, zone, sd, accuracy_95, radius, arc_deg, flow: radius }
        },
    )
}

fn tree() -> impl Strategy<Value = Option<PlantEntry>> {
    let size = prop::sample::select(TreeSize::ALL.to_vec());
    let vigour = prop::option::of(prop::sample::select(Vigour::ALL.to_vec()));
    let (stem, roots) = (number(1e-3, 1.0), prop::option::of(number(1e-3, 60.0)));
    let setback = prop::option::of(prop::sample::select(Setback::ALL.map(|row| row.name).to_vec()));
    let parts = (size, vigour, stem, roots, setback, 0..4);
    prop::option::of(parts.prop_map(|(size, vigour, stem, root_radius, setback, kind)| {
        let setback = setback.map(str::to_owned);
        let (caliper, container) = match kind {
            0 => return PlantEntry::Size(size),
            1 => (Some(stem), None),
            2 => (None, Some(stem)),
            _ => (None, None),
        };
        PlantEntry::Table(PlantTable { size, vigour, caliper, container, root_radius, setback })
    }))
}

fn dig() -> impl Strategy<Value = DigEntry> {
    let empty = |depth, method, tree| DigEntry {
        id: None,
        x: None,
        y: None,
        radius: None,
        path: None,
        width: None,
        outline: None,
        depth,
        method,
        tree,
    };
    let method = prop::option::of(prop::sample::select(vec![Method::Hand, Method::Machine]));
    let shape = (0..3, point(0.0, 50.0), number(1e-3, 4.0));
    (shape, number(1e-3, 6.0), method, tree()).prop_map(move |((kind, [x, y], size), depth, method, tree)| {
        let dig = empty(depth, method, tree);
        match kind {
            0 => DigEntry { x: Some(x), y: Some(y), radius: Some(size), ..dig },
            1 => DigEntry { path: Some(vec![[x, y], [x + size, y]]), width: Some(size), ..dig },
            _ => DigEntry { outline: Some(vec![[x, y], [x + size, y], [x, y + size]]), ..dig },
        }
    })
}

fn probe() -> impl Strategy<Value = ProbeEntry> {
    (point(0.0, 50.0), number(0.1, 1.0), any::<bool>(), number(0.0, 1.0)).prop_map(
        |([x, y], size, found, share)| ProbeEntry {
            x: Some(x),
            y: Some(y),
            radius: Some(size),
            path: None,
            width: None,
            depth: size,
            found,
            class: found.then_some(Class::Mainline),
            azimuth_deg: found.then_some(share * 360.0 - 180.0),
            cover: found.then_some(size * share),
            tool: Some(Tool::Rod),
            p_detect: Some(share),
            p_false: None,
        },
    )
}

fn document() -> impl Strategy<Value = Document> {
    let heads = prop::collection::vec(head(), 0..12);
    let digs = prop::collection::vec(dig(), 0..6);
    let probes = prop::collection::vec(probe(), 0..4);
    let settings = prop::collection::btree_map(
        prop::sample::select(vec!["align_gain", "offset_sd_m", "header_share"]).prop_map(str::to_owned),
        number(0.0, 0.45), // more would be a fault: the shares of families sum to one at most
        0..3,
    );
    // Names are kept trimmed, with single blanks; one without letters is none.
    let name = prop::option::of("\\PC{0,12}".prop_map(|name| folded(&name)));
    let name = name.prop_map(|name| name.filter(|name| !name.is_empty()));
    let path =
        prop::collection::vec(point(0.0, 50.0), 1..5).prop_map(|points| [points, vec![[50.0; 2]]].concat());
    (heads, digs, probes, settings, name, path, any::<bool>()).prop_map(
        |(heads, digs, probes, settings, name, path, in_feet)| {
            let mut document = Document::new(if in_feet { Units::Feet } else { Units::Metres });
            document.heads = heads;
            for (i, head) in document.heads.iter_mut().enumerate() {
                head.id = format!("h{i}");
            }
            let labelled = document.heads.first().filter(|head| head.zone.is_some());
            let box_of = |head: &HeadEntry| BoxEntry {
                id: "box".to_owned(),
                x: head.y,
                y: head.x,
                zones: head.zone.clone().map(|zone| vec![zone]),
                valves: None,
                spare: Some(2),
            };
            document.valve_boxes = labelled.map(box_of).into_iter().collect();
            let test_of = |head: &HeadEntry| StationTestEntry {
                zone: head.zone.clone(),
                valve: None,
                heads: vec![head.id.clone()],
                error: Some(0.1),
            };
            document.station_tests = labelled.map(test_of).into_iter().collect();
            document.obstacles = vec![ObstacleEntry {
                kind: ObstacleKind::Building,
                outline: vec![[60.0, 0.0], [61.0, 0.1], [60.7, 1.0 / 3.0]],
            }];
            let quality = Some(QualityLevel::C);
            document.marks = vec![MarkEntry {
                class: Class::Gas,
                path,
                sd: Some(0.1 + 0.2),
                accuracy_95: None,
                half_zone: None,
                quality,
                date: Some("2026-05-04".to_owned()),
            }];
            (document.digs, document.probes, document.settings, document.name) =
                (digs, probes, settings, name);
            document
        },
    )
}

proptest! {
    #[test]
    fn any_document_survives_a_round_trip(document in document()) {
        prop_assert!(Site::faults(&document).is_none(), "{:?}", Site::faults(&document));
        round_trips(&document);
    }

    /// Feet or metres: the same ground gives the same site, to the rounding of one product.
    #[test]
    fn units_do_not_change_the_site(document in document()) {
        let site = Site::new(Document { units: Units::Metres, ..document.clone() }).expect("sound");
        let mut feet = Document { units: Units::Feet, ..document };
        for head in &mut feet.heads {
            (head.x, head.y) = (head.x / 0.3048, head.y / 0.3048);
        }
        let again = Site::new(feet).expect("sound");
        for (a, b) in site.heads.iter().zip(&again.heads) {
            prop_assert!(a.at.distance(b.at) <= 50.0 * 4.5e-16, "{:?} {:?}", a.at, b.at);
        }
    }
}

/// A length as somebody may write it, with what it is in metres to a rounding or two.
fn written_length() -> impl Strategy<Value = (String, f64)> {
    let (feet, inches, eighths) = (0..40u32, 0..12u32, 0..8u32);
    (0..6, feet, inches, eighths, 1..40_000u32).prop_map(|(form, feet, inches, eighths, mm)| {
        let whole = f64::from(feet) * 0.3048 + f64::from(inches) * 0.0254 + f64::from(eighths) * 0.0254 / 8.0;
        let metres = f64::from(mm) / 1000.0;
        match form {
            0 => (format!("{feet}' {inches} {eighths}/8\""), whole),
            1 => (format!("{feet} ft {inches}-{eighths}/8 in."), whole),
            2 => (format!("{feet}\u{2032}{inches}"), whole - f64::from(eighths) * 0.0254 / 8.0),
            3 => (format!(" {mm}  MM"), metres),
            4 => (format!("{metres} m"), metres),
            _ => (format!("{}cm", f64::from(mm) / 10.0), metres),
        }
    })
}

proptest! {
    /// Lengths written as texts: read as what they say in either unit, and written back letter by letter. A text lost, moved to
    /// another key, or kept after its number was changed would show.
    #[test]
    fn texts_of_lengths_are_read_and_written_back_unchanged(
        (x, x_m) in written_length(), (y, y_m) in written_length(), (depth, depth_m) in written_length(), in_feet in any::<bool>()
    ) {
        let units = if in_feet { Units::Feet } else { Units::Metres };
        let places = serde_json::json!({
            "format": "underturf-site/2", "units": units.name(),
            "settings": { "tolerance_half_zone_m": "30 in" },
            "heads": [{ "id": "a", "x": x, "y": y }, { "id": "b", "x": -7.5, "y": 3 }],
            "marks": [{ "class": "gas", "path": [[x, y], [-5, "-2 ft"]] }],
        });
        let site = io::from_value(places.clone()).expect("sound");
        let near = |found: f64, metres: f64| (found - metres).abs() <= 1e-15 * (1.0 + metres.abs());
        prop_assert!(near(site.heads[0].at.x, x_m) && near(site.heads[0].at.y, y_m), "{:?} {x_m} {y_m}", site.heads[0].at);
        prop_assert!(near(site.marks[0].path[1].y, -0.6096));
        prop_assert!(near(site.settings.tolerance_half_zone_m, 0.762), "settings keep their own unit");
        round_trips(&site.document);
        let kept = io::to_value(&site.document).expect("a value");
        for place in ["/heads/0/x", "/heads/0/y", "/marks/0/path/0/0", "/marks/0/path/1/1", "/settings/tolerance_half_zone_m"] {
            prop_assert_eq!(kept.pointer(place), places.pointer(place), "{}", place);
        }
        let plain: serde_json::Value =
            serde_json::from_str(&io::to_plain_json(&site.document).expect("a text")).expect("JSON");
        prop_assert_eq!(plain.pointer("/heads/0/x").and_then(|x| x.as_f64()), Some(site.document.heads[0].x));

        // A number that was changed since is what counts, and so is one that moved to another place.
        let mut changed = site.document.clone();
        changed.heads[0].x += 1.0;
        changed.heads.swap(0, 1);
        let again = io::from_value(io::to_value(&changed).expect("a value")).expect("sound");
        prop_assert_eq!(&again.document.heads, &changed.heads);
        prop_assert!(Length::read(&depth).is_ok_and(|it| near(it.in_units(Units::Metres), depth_m)), "{depth}");
    }
}
