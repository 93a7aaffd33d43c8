//! Planted faults: each alone, many at once, and those that only follow from others.

use super::{faults, only, read, with};
use std::path::Path;
use underturf::site::io::{self, Node, ReadError};
use underturf::site::{Document, Fault, FaultKind, Site, SiteFaults, Units};

/// Each row plants one fault into a sound site: what is added, where it must be found, and how it must read.
const PLANTED: &[(&str, &str, &str)] = &[
    // what cannot be read
    ("digs = [{ x = 1, y = 2, radius = 1 }]", "digs[0].depth", "is missing"),
    ("obstacles = [{ kind = 'bed' }]", "obstacles[0].outline", "is missing"),
    ("colour = 'green'", "colour", "unknown key"),
    ("trees = [{ x = 1, y = 1, stem_diameter = 1, height = 9 }]", "trees[0].height", "unknown key"),
    ("frame = { lon = 1, lat = 2, datum = 3 }", "frame.datum", "unknown key"),
    ("trees = [{ x = 'one', y = 1, stem_diameter = 1 }]", "trees[0].x", "\"one\" is not a length"),
    ("trees = [{ x = true, y = 1, stem_diameter = 1 }]", "trees[0].x", "expected a length, found true"),
    ("name = [1]", "name", "expected a text"),
    ("trees = 5", "trees", "expected a list"),
    ("trees = [5]", "trees[0]", "expected a table"),
    ("probes = [{ x = 1, y = 1, radius = 1, depth = 1, found = 1 }]", "probes[0].found", "true or false"),
    ("valve_boxes = [{ id = 'B', x = 1, y = 2, valves = 1.5 }]", "valve_boxes[0].valves", "whole number"),
    ("valve_boxes = [{ id = 'B', x = 1, y = 2, valves = -1 }]", "valve_boxes[0].valves", "whole number"),
    (
        "marks = [{ class = 'gas', path = [[0, 0], [1, 1, 1]] }]",
        "marks[0].path[1]",
        "expected 2 values, found 3",
    ),
    ("marks = [{ class = 'gas', path = [[0, 0], 7] }]", "marks[0].path[1]", "expected a point"),
    (
        "marks = [{ class = 'steam', path = [[0, 0], [1, 1]] }]",
        "marks[0].class",
        "not one of: lateral, mainline",
    ),
    ("obstacles = [{ kind = 'lake', outline = [[0, 5], [1, 5], [1, 6]] }]", "obstacles[0].kind", "pool, bed"),
    ("outlets = [{ id = 'o', x = 1, y = 2, kind = 'tap' }]", "outlets[0].kind", "not one of: hose_bib"),
    (
        "outlets = [{ id = 'o', x = 1, y = 2, kind = 'quick_coupler', fed = 'ground' }]",
        "outlets[0].fed",
        "on the mainline",
    ),
    (
        "probes = [{ x = 1, y = 1, radius = 1, depth = 1, found = true, p_detect = 0, p_false = 0 }]",
        "probes[0]",
        "neither a line nor its absence",
    ),
    // numbers
    ("trees = [{ x = nan, y = 1, stem_diameter = 1 }]", "trees[0].x", "NaN is not a finite number"),
    ("marks = [{ class = 'gas', path = [[0, 0], [1, -inf]] }]", "marks[0].path[1][1]", "not a finite number"),
    ("settings = { offset_sd_m = inf }", "settings.offset_sd_m", "not a finite number"),
    ("settings = { offset_sd_m = 77 }", "settings.offset_sd_m", "77 is outside 0 to 2"),
    ("settings = { offset_sd_mm = 1 }", "settings.offset_sd_mm", "no setting of that name"),
    ("frame = { lon = 190, lat = 2 }", "frame.lon", "190 is outside -180 to 180"),
    ("trees = [{ x = 1, y = 1, stem_diameter = 0 }]", "trees[0].stem_diameter", "0 is not above 0"),
    ("flags = [{ x = 1, y = 1, sd = -0.1 }]", "flags[0].sd", "-0.1 is below 0"),
    (
        "sketches = [{ path = [[0, 0], [1, 1]], trust = 1.5 }]",
        "sketches[0].trust",
        "1.5 is not a probability",
    ),
    ("swept = [{ outline = [[0, 0], [1, 0], [1, 1]], p_detect = -1 }]", "swept[0].p_detect", "probability"),
    ("station_tests = [{ zone = 1, heads = ['a'], error = 2 }]", "station_tests[0].error", "probability"),
    ("digs = [{ x = 1, y = 2, radius = 1, depth = 0 }]", "digs[0].depth", "0 is not above 0"),
    ("digs = [{ x = 1, y = 2, radius = 1, depth = 18 }]", "digs[0].depth", "at most 6 m is expected"),
    ("digs = [{ x = 1, y = 2, radius = 0, depth = 1 }]", "digs[0].radius", "0 is not above 0"),
    ("digs = [{ path = [[1, 2], [3, 4]], width = -1, depth = 1 }]", "digs[0].width", "-1 is not above 0"),
    (
        "marks = [{ class = 'gas', path = [[0, 0], [1, 1]], half_zone = 0 }]",
        "marks[0].half_zone",
        "not above 0",
    ),
    // trees to be planted
    (
        "digs = [{ x = 1, y = 2, radius = 1, depth = 1, tree = 'tall' }]",
        "digs[0].tree",
        "\"tall\" is not one of: small, medium, large",
    ),
    ("digs = [{ x = 1, y = 2, radius = 1, depth = 1, tree = 5 }]", "digs[0].tree", "expected a text"),
    (
        "digs = [{ x = 1, y = 2, radius = 1, depth = 1, tree = { vigour = 'small' } }]",
        "digs[0].tree.size",
        "is missing",
    ),
    (
        "digs = [{ x = 1, y = 2, radius = 1, depth = 1, tree = { size = 'tall' } }]",
        "digs[0].tree.size",
        "not one of: small, medium, large",
    ),
    (
        "digs = [{ x = 1, y = 2, radius = 1, depth = 1, tree = { size = 'large', vigour = 'wild' } }]",
        "digs[0].tree.vigour",
        "not one of: aggressive, ordinary, small",
    ),
    (
        "digs = [{ x = 1, y = 2, radius = 1, depth = 1, tree = { size = 'large', height = 3 } }]",
        "digs[0].tree.height",
        "unknown key; known here: size, vigour, caliper",
    ),
    (
        "digs = [{ x = 1, y = 2, radius = 1, depth = 1, tree = { size = 'large', caliper = 0 } }]",
        "digs[0].tree.caliper",
        "0 is not above 0",
    ),
    (
        "digs = [{ x = 1, y = 2, radius = 1, depth = 1, tree = { size = 'large', caliper = 2 } }]",
        "digs[0].tree.caliper",
        "a caliper of 2 m is impossible: at most 1 m",
    ),
    (
        "digs = [{ x = 1, y = 2, radius = 1, depth = 1, tree = { size = 'large', container = -1 } }]",
        "digs[0].tree.container",
        "not above 0",
    ),
    (
        "digs = [{ x = 1, y = 2, radius = 1, depth = 1, tree = { size = 'large', caliper = 0.05, container = 5 } }]",
        "digs[0].tree",
        "at most one of: caliper; container",
    ),
    // names
    ("sources = [{ id = 'a', x = 1, y = 2, kind = 'pump' }]", "sources[0].id", "already used at heads[0].id"),
    (
        "digs = [{ x = 1, y = 2, radius = 1, depth = 1 }, { id = 'dig1', x = 1, y = 2, radius = 1, depth = 1 }]",
        "digs[1].id",
        "already used at digs[0].id",
    ),
    ("outlets = [{ id = '', x = 1, y = 2, kind = 'hose_bib' }]", "outlets[0].id", "is empty"),
    (
        "valve_boxes = [{ id = 'B', x = 1, y = 2, valves = 4000000000 }]",
        "valve_boxes[0].valves",
        "outside 0 to 100",
    ),
    (
        "valve_boxes = [{ id = 'B', x = 1, y = 2, zones = [1, 1] }]",
        "valve_boxes[0].zones[1]",
        "more than once",
    ),
    (
        "settings = { lateral_cover_least_m = 0.4, lateral_cover_greatest_m = 0.3 }",
        "settings.lateral_cover_least_m",
        "lateral_cover_least_m = 0.4 is more than lateral_cover_greatest_m = 0.3",
    ),
    (
        "settings = { header_share = 0.5, chain_share = 0.4 }",
        "settings",
        "header_share + chain_share + split_share + loose_share = 1.225 is outside 0 to 1",
    ),
    ("station_tests = [{ zone = 9, heads = ['a'] }]", "station_tests[0].zone", "has zone \"9\""),
    ("station_tests = [{ valve = 'V', heads = ['a'] }]", "station_tests[0].valve", "no valve box \"V\""),
    ("station_tests = [{ zone = 1, heads = ['a', 'z'] }]", "station_tests[0].heads[1]", "no head \"z\""),
    (
        "station_tests = [{ zone = 1, heads = ['a', 'a'] }]",
        "station_tests[0].heads[1]",
        "\"a\" is named more",
    ),
    ("station_tests = [{ heads = ['a'] }]", "station_tests[0]", "exactly one of: zone; valve"),
    (
        "probes = [{ x = 1, y = 1, radius = 1, depth = 1, found = false, cover = 0.2 }]",
        "probes[0].cover",
        "only beside found = true",
    ),
    (
        "probes = [{ x = 1, y = 1, radius = 1, depth = 0.3, found = true, cover = 0.4 }]",
        "probes[0].cover",
        "a cover of 0.4 is more than the probe's depth of 0.3",
    ),
    ("marks = [{ class = 'gas', path = [[0, 0], [1, 1]], date = 'May' }]", "marks[0].date", "not a day"),
    (
        "marks = [{ class = 'gas', path = [[0, 0], [1, 1]], date = '2026-02-31' }]",
        "marks[0].date",
        "not a day",
    ),
    // shapes
    ("digs = [{ x = 1, y = 2, radius = 1, width = 1, depth = 1 }]", "digs[0]", "exactly one of"),
    ("digs = [{ x = 1, y = 2, depth = 1 }]", "digs[0]", "x, y and radius; path and width; outline"),
    ("probes = [{ path = [[1, 2], [3, 4]], depth = 1, found = true }]", "probes[0]", "exactly one of"),
    (
        "digs = [{ outline = [[0, 0], [1, 0]], depth = 1 }]",
        "digs[0].outline",
        "needs 3 corners, this one has 2",
    ),
    ("swept = [{ outline = [[0, 0], [1, 0], [0, 0]] }]", "swept[0].outline", "this one has 2"),
    (
        "obstacles = [{ kind = 'bed', outline = [[0, 0], [2, 2], [2, 0], [0, 2]] }]",
        "obstacles[0].outline",
        "crosses itself at (1, 1): the edge from corner 0 (0, 0) to the next corner meets the one from corner 2 (2, 0)",
    ),
    ("swept = [{ outline = [[0, 0], [1, 0], [2, 0], [1, 1e-12]] }]", "swept[0].outline", "holds no ground"),
    ("sketches = [{ path = [[1, 1], [1, 1]], trust = 1 }]", "sketches[0].path", "has no length"),
    ("marks = [{ class = 'gas', path = [[1, 1]] }]", "marks[0].path", "has no length"),
    ("services = [{ class = 'gas', from = [1, 1], to = [1, 1] }]", "services[0]", "has no length"),
    // places
    (
        "obstacles = [{ kind = 'building', outline = [[4, 0], [6, 0], [6, 2], [4, 2]] }]",
        "heads[1]",
        "head b lies 1 m inside a building (obstacles[0])",
    ),
    (
        "obstacles = [{ kind = 'pool', outline = [[2, 5], [6, 5], [6, 9], [2, 9]] }]\n\
         valve_boxes = [{ id = 'B', x = 3, y = 6, valves = 1 }]",
        "valve_boxes[0]",
        "valve box B lies 1 m inside a pool (obstacles[0])",
    ),
    (
        "trees = [{ x = 6000, y = 1, stem_diameter = 1 }]",
        "",
        "6000 m wide, at most 5000 m is expected; a slip of a digit or of the units? It reaches from boundary to tree (trees[0])",
    ),
];

#[test]
fn each_planted_fault_is_reported_alone_and_with_its_place() {
    read(&with("")); // the soil they are planted in is sound
    for (more, place, words) in PLANTED {
        let (found, what) = only(&with(more));
        assert_eq!(found, *place, "{more}: {what}");
        assert!(what.to_string().contains(words), "{more}: {what:?} reads {what}");
    }
}

#[test]
fn faults_of_heads_and_of_the_whole_are_reported_with_their_place() {
    let head = |more: &str| format!("{}[[heads]]\nid = 'd'\n{more}\n", with(""));
    for (more, place, words) in [
        ("y = 1\nzone = 1", "heads[3].x", "is missing"),
        ("x = 5\ny = 5\nzone = true", "heads[3].zone", "expected a text, found true"),
        ("x = 5\ny = nan\nzone = 1", "heads[3].y", "NaN is not a finite number"),
        ("x = 5\ny = ''\nzone = 1", "heads[3].y", "is empty"),
        ("x = 5\ny = 5\nzone = 1.5", "heads[3].zone", "expected a text, found 1.5"),
        ("x = 5\ny = 5\nzone = 1\nkind = 'jet'", "heads[3].kind", "spray, rotor, bubbler, drip, other"),
        ("x = 5\ny = 5\nzone = 1\narc_deg = 400", "heads[3].arc_deg", "400 is outside 0 to 360"),
        ("x = 5\ny = 5\nzone = 1\narc_deg = 0", "heads[3].arc_deg", "not above 0"),
        (
            "x = 5\ny = 1.0000001\nzone = 2",
            "heads[3]",
            "head d on zone \"2\" lies on head b (heads[1]), which is on zone \"1\"",
        ),
        (
            "x = 30\ny = 5\nzone = 1",
            "heads[3]",
            "head d lies 10 m outside the boundary, more than 5 m is not believed",
        ),
    ] {
        let (found, what) = only(&head(more));
        assert_eq!(found, place, "{more}: {what}");
        assert!(what.to_string().contains(words), "{more}: {what:?} reads {what}");
    }
    let (place, what) = only("format = 'underturf-site/3'\nunits = 'm'");
    assert_eq!((place.as_str(), what.to_string().contains("underturf-site/2")), ("format", true));
    let (place, what) = only("format = 'underturf-site/2'\nunits = 'yards'");
    let units = FaultKind::UnknownName { found: "yards".into(), allowed: &["m", "ft"] };
    assert_eq!((place.as_str(), what), ("units", units));
    let places: Vec<String> = faults("").into_iter().map(|fault| fault.place).collect();
    assert_eq!(places, ["format", "units"]);
}

#[test]
fn many_faults_come_in_one_error() {
    let text = "
        format = 'underturf-site/2'
        units = 'm'
        colour = 3
        boundary = [[0, 0], [20, 0], [0, 10], [20, 10]]
        heads = [
          { id = 'a', x = 1, y = 'north', zone = 1 },
          { id = 'a', x = 3, y = 3, zone = 1, size = 3 },
          { id = 'c', x = nan, y = 3, zone = 1 },
          { id = 'd', x = 7, y = 7, zone = 2, kind = 'jet' },
        ]
        valve_boxes = [{ id = 'B', x = 0, y = 0, zones = [3] }, { x = 'one', y = 'two' }]
        obstacles = [{ kind = 'building', outline = [[6, 6], [8, 6], [8, 8], [6, 8]] }]
        marks = [{ class = 'steam', path = [[0, 0], [1]] }]
        digs = [{ x = 1, y = 1, radius = -1, depth = 9 }, { depth = 1 }]
        settings = { align_gain = -1, nonsense = 2 }
    ";
    let found = faults(text);
    let mut places: Vec<&str> = found.iter().map(|fault| fault.place.as_str()).collect();
    places.sort_unstable();
    let expected = [
        "boundary",
        "colour",
        "digs[0].depth",
        "digs[0].radius",
        "digs[1]",
        "heads[0].y",
        "heads[1].id",
        "heads[1].size",
        "heads[2].x",
        "heads[3]",
        "heads[3].kind",
        "marks[0].class",
        "marks[0].path[1]",
        "settings.align_gain",
        "settings.nonsense",
        "valve_boxes[1].id",
        "valve_boxes[1].x",
        "valve_boxes[1].y",
    ];
    assert_eq!(places, expected, "{found:#?}");
    let message = SiteFaults { faults: found }.to_string();
    assert!(message.starts_with("the site document has 18 faults:\n  colour: unknown key"), "{message}");
    assert_eq!(message.lines().count(), 19);
}

#[test]
fn consequences_of_what_could_not_be_read_are_not_reported() {
    // The only head of zone 1 has no readable zone; the test that ran it is not to blame.
    let text = "units = 'm'\nformat = 'underturf-site/2'\nheads = [{ id = 'a', x = 1, y = 1, zone = [1] }]\n\
                station_tests = [{ zone = 1, heads = [] }]";
    assert_eq!(only(text).0, "heads[0].zone");
    // Depths and distances mean nothing before the units are known.
    let text = "units = 'in'\nformat = 'underturf-site/2'\ndigs = [{ x = 1, y = 1, radius = 9, depth = 30 }]";
    assert_eq!(only(text).0, "units");
}

#[test]
fn repeated_keys_and_lost_numbers_of_other_sources_are_reported() {
    let text = r#"{"format": "underturf-site/2", "units": "m", "units": "ft"}"#;
    let Err(ReadError::Faults(found)) = io::parse_json(text) else { panic!("expected faults") };
    assert_eq!(found.faults, [Fault { place: "units".into(), what: FaultKind::RepeatedKey }]);

    let entry = |key: &str, value: Node| (key.to_owned(), value);
    let node = Node::Table(vec![
        entry("format", Node::Text("underturf-site/2".into())),
        entry("units", Node::Text("m".into())),
        entry("name", Node::Nothing),
        entry("boundary", Node::List(vec![Node::List(vec![Node::Number(f64::NAN), Node::Whole(0)]); 3])),
    ]);
    let found = io::from_node(&node).expect_err("not finite").faults;
    let places: Vec<&str> = found.iter().map(|fault| fault.place.as_str()).collect();
    assert_eq!(places, ["boundary[0][0]", "boundary[1][0]", "boundary[2][0]"]);
}

#[test]
fn syntax_errors_carry_line_and_column() {
    let Err(ReadError::Syntax(at)) = io::parse_toml("units = 'm'\nname == 3\n") else { panic!("TOML") };
    assert_eq!((at.language, at.line, at.column), ("TOML", 2, 7));
    let Err(ReadError::Syntax(at)) = io::parse_json("{\n  \"units\": oops }") else { panic!("JSON") };
    assert_eq!((at.language, at.line), ("JSON", 2));
    assert!(matches!(io::read_site(Path::new("site.txt")), Err(ReadError::Extension { .. })));
    assert!(matches!(io::read_site(Path::new("no/such.toml")), Err(ReadError::Io { .. })));
}

#[test]
fn documents_made_in_code_pass_the_same_checks() {
    let mut document = Document::new(Units::Metres);
    document.boundary = Some(vec![[0.0, 0.0], [f64::INFINITY, 0.0]]);
    let found = Site::new(document.clone()).expect_err("two corners").faults;
    assert_eq!(found[0].place, "boundary[1][0]");
    assert_eq!(found[1].what, FaultKind::TooFewCorners { found: 2 });
    assert!(io::to_json(&document).is_err(), "JSON would lose the infinite number");
}
