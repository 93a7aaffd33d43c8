//! Zones of heads: the listed posterior against every zoning counted one by one, and what it points out.

mod full_count;

use serde_json::{Value, json};
use underturf::Error;
use underturf::effort::Effort;
use underturf::layout::OuterPrior;
use underturf::model::{LayoutPrior, ListedZonings, WeightedZoning};
use underturf::site::Site;
use underturf::site::io;

fn site(document: Value) -> Site {
    io::from_value(document).unwrap_or_else(|error| panic!("{error}"))
}

/// Its likeliest zonings, whatever that takes.
fn listed(site: &Site) -> ListedZonings {
    ListedZonings::new(site, &Effort::unlimited()).expect("no limit")
}

fn settled(site: &Site) -> Option<ListedZonings> {
    ListedZonings::settled(site, &Effort::unlimited()).expect("no limit")
}

fn head(id: &str, x: f64, y: f64, zone: Option<&str>) -> Value {
    let mut head = json!({"id": id, "x": x, "y": y, "kind": "spray"});
    if let Some(zone) = zone {
        head["zone"] = zone.into();
    }
    head
}

/// A lawn of `columns` x 4 heads, 4 m apart: head `hij` in column i and row j, on the zone that `zone` names.
fn lawn(columns: usize, zone: impl Fn(usize, usize) -> Option<&'static str>) -> Value {
    let mut heads = Vec::new();
    for i in 0..columns {
        for j in 0..4 {
            heads.push(head(&format!("h{i}{j}"), 4.0 * i as f64, 4.0 * j as f64, zone(i, j)));
        }
    }
    json!({
        "format": "underturf-site/2", "units": "m", "heads": heads,
        "valve_boxes": [{"id": "v", "x": 7.0, "y": -2.0, "zones": ["1", "3"]}]
    })
}

fn halves(i: usize, _: usize) -> Option<&'static str> {
    Some(if i < 2 { "1" } else { "3" })
}

fn zone(site: &Site, name: &str) -> usize {
    site.zones.iter().position(|zone| zone.name == name).expect("a zone of that name")
}

fn place(site: &Site, id: &str) -> usize {
    site.heads.iter().position(|head| head.id == id).expect("a head of that name")
}

fn chance(site: &Site, id: &str, name: &str) -> f64 {
    let labels = listed(site);
    labels.marginals(site.zones.len())[place(site, id)][zone(site, name)]
}

/// A head amid the heads of zone 3 that is written as zone 1 is pointed out by name, and no other of the twenty.
#[test]
fn one_wrong_label_among_twenty_is_pointed_out_by_name() {
    let wrong = site(lawn(5, |i, j| if (i, j) == (4, 1) { Some("1") } else { halves(i, j) }));
    let labels = listed(&wrong);
    let sentences: Vec<String> = labels.flagged.iter().map(|s| s.sentence(&wrong)).collect();
    assert_eq!(sentences.len(), 1, "{sentences:?}");
    assert!(sentences[0].contains("h41 is more likely on zone 3 ("), "{sentences:?}");
    assert!(sentences[0].contains("than on zone 1 as written"), "{sentences:?}");
    assert!(!sentences[0].contains("100 %"), "{sentences:?}");
    assert_eq!(labels.flagged[0].written, Some(zone(&wrong, "1")));
}

/// Heads on the border of two zones keep their written zone: at most the label error, 2 %, and what geometry adds to
/// it, 5 % in all; and so does a head that reaches one step into the other zone.
#[test]
fn ordinary_border_heads_are_not_suspected() {
    let sound = site(lawn(5, halves));
    let labels = listed(&sound);
    assert_eq!(labels.flagged, []);
    for row in &labels.marginals(2) {
        assert!(row[0].max(row[1]) > 0.95, "{row:?}");
    }
    let notched = site(lawn(5, |i, j| if (i, j) == (2, 1) { Some("1") } else { halves(i, j) }));
    assert_eq!(listed(&notched).flagged, []);
}

/// One test with an error of 0.005 outweighs a wrong label where the heads around say nothing against it. Against a label
/// and the heads around, both zones' tests are needed: label and note have the same odds, 49 to 1.
#[test]
fn station_tests_outweigh_a_wrong_label() {
    let of = |columns: std::ops::Range<usize>| columns.flat_map(|i| (0..4).map(move |j| format!("h{i}{j}")));
    // h11 stands on the border, on zone 1, and is written as zone 3.
    let mut document = lawn(5, |i, j| if (i, j) == (1, 1) { Some("3") } else { halves(i, j) });
    let before = chance(&site(document.clone()), "h11", "1");
    let raised: Vec<String> = of(0..2).collect();
    document["station_tests"] = json!([{"zone": "1", "heads": raised, "error": 0.005}]);
    let tested = site(document);
    let labels = listed(&tested);
    let after = chance(&tested, "h11", "1");
    assert!(before < 0.5 && after > 0.85, "{before} {after}");
    assert_eq!(labels.flagged.iter().map(|s| s.head).collect::<Vec<_>>(), [place(&tested, "h11")]);

    // h21 stands on the border on the side of zone 3, is written as zone 3, but feeds from zone 1.
    let mut document = lawn(5, halves);
    let raised: Vec<String> = of(0..2).chain(["h21".to_owned()]).collect();
    let rest: Vec<String> = of(2..5).filter(|id| id != "h21").collect();
    let by_error = |error: f64| json!({"zone": "1", "heads": raised, "error": error});
    let mut with = |tests: Value| {
        document["station_tests"] = tests;
        chance(&site(document.clone()), "h21", "1")
    };
    let (none, once) = (with(json!([])), with(json!([by_error(0.005)])));
    let twice = with(json!([by_error(0.005), {"zone": "3", "heads": rest}]));
    assert!(none < 0.02 && (0.01..0.5).contains(&once) && twice > 0.85, "{none} {once} {twice}");
    assert!(with(json!([by_error(0.0)])) > 0.99, "a sure note is believed at once");
}

/// Notes that contradict each other beyond doubt still leave a posterior: errors of 0 in two tests that cannot both be.
#[test]
fn contradictions_leave_an_answer() {
    let mut document = lawn(5, halves);
    document["station_tests"] = json!([
        {"zone": "1", "heads": ["h00", "h41"], "error": 0.0}, {"zone": "3", "heads": ["h00", "h41"], "error": 0.0},
        {"zone": "3", "heads": [], "error": 1.0}
    ]);
    let site = site(document);
    let labels = listed(&site);
    assert!(labels.zonings.iter().all(|l| l.probability.is_finite() && l.zone_of.len() == 20));
    for labelling in &labels.zonings {
        assert!(labelling.members(2).iter().all(|members| !members.is_empty()));
        assert!(LayoutPrior::with_zoning(&site, labelling).is_ok());
    }
}

/// Heads without a label: one that came up gets the zone that ran, though it stands beyond
/// the border; those that no test raised get
/// the zone that was not run.
#[test]
fn unlabelled_heads_are_placed_by_tests() {
    let mut document = lawn(5, |i, j| if (i, j) == (2, 2) || i == 4 { None } else { halves(i, j) });
    let raised: Vec<String> = (0..2).flat_map(|i| (0..4).map(move |j| format!("h{i}{j}"))).collect();
    let raised: Vec<String> = raised.into_iter().chain(["h22".to_owned()]).collect();
    document["station_tests"] = json!([{"zone": "1", "heads": raised}]);
    let site = site(document);
    let labels = listed(&site);
    assert!(chance(&site, "h22", "1") > 0.85);
    for j in 0..4 {
        assert!(chance(&site, &format!("h4{j}"), "3") > 0.99);
    }
    let told: Vec<String> = labels.flagged.iter().map(|s| s.sentence(&site)).collect();
    assert_eq!(told.len(), 5, "{told:?}");
    assert!(told[0].contains("h22, without a zone in the document, is most likely on zone 1"), "{told:?}");
    let law = LayoutPrior::with_zoning(&site, &labels.zonings[0]).expect("a law");
    assert_eq!(law.systems().iter().filter(|system| system.name.starts_with("zone")).count(), 2);
}

/// Two tests that name only the box: which zone ran in which is open, both answers are listed, alike, and the heads
/// that came up together are together in each.
#[test]
fn tests_by_box_keep_heads_together_and_leave_names_open() {
    let mut document = lawn(5, |_, _| None);
    let of = |columns: std::ops::Range<usize>| -> Vec<String> {
        columns.flat_map(|i| (0..4).map(move |j| format!("h{i}{j}"))).collect()
    };
    document["station_tests"] = json!([{"valve": "v", "heads": of(0..2)}, {"valve": "v", "heads": of(2..5)}]);
    let site = site(document);
    let labels = listed(&site);
    let (first, second) = (&labels.zonings[0], &labels.zonings[1]);
    assert!((first.probability - second.probability).abs() < 1e-9 && first.probability > 0.4);
    for labelling in [first, second] {
        assert!(labelling.zone_of[..8].iter().all(|&z| z == labelling.zone_of[0]));
        assert!(labelling.zone_of[8..].iter().all(|&z| z == 1 - labelling.zone_of[0]));
    }
}

/// Two zones that only their box names, and two groups of 4 x 4 heads that nothing was noted of but that the test of zone
/// 1 did not raise them: each group is one zone, which of the two is open. Heads moved one at a time do not get there.
#[test]
fn zones_without_a_labelled_head_get_the_groups_that_stand_apart() {
    let mut document = lawn(3, |_, _| Some("1"));
    for k in 0..32 {
        let (x, y) = (30.0 + 4.0 * f64::from(k % 4) + 30.0 * f64::from(k / 16), 4.0 * f64::from(k / 4 % 4));
        document["heads"].as_array_mut().expect("a list").push(head(&format!("r{k}"), x, y, None));
    }
    document["valve_boxes"][0]["zones"] = json!(["1", "3", "4"]);
    let first: Vec<String> = (0..3).flat_map(|i| (0..4).map(move |j| format!("h{i}{j}"))).collect();
    document["station_tests"] = json!([{"zone": "1", "heads": first}]);
    let labels = listed(&site(document));
    for labelling in &labels.zonings[..2] {
        let zone_of = &labelling.zone_of;
        assert!(
            zone_of[12..28].iter().all(|&z| z == zone_of[12])
                && zone_of[28..].iter().all(|&z| z == zone_of[28])
        );
        assert!(zone_of[12] != zone_of[28] && zone_of[12] != 0 && zone_of[28] != 0);
        assert!(labelling.probability > 0.3, "{}", labelling.probability);
    }
}

#[test]
fn what_is_open_is_left_to_sampling_and_crowds_are_answered() {
    let settles = |document: &Value| settled(&site(document.clone())).is_some();
    assert!(settles(&lawn(5, halves)));
    let document = lawn(5, |i, j| if i == 4 { None } else { halves(i, j) });
    assert!(!settles(&document), "heads that nothing places");
    let mut tested = document.clone();
    let ran: Vec<String> = (2..5).flat_map(|i| (0..4).map(move |j| format!("h{i}{j}"))).collect();
    tested["station_tests"] = json!([{"zone": "3", "heads": ran}]);
    assert!(settles(&tested));
    tested["valve_boxes"][0]["valves"] = 3.into();
    let nameless = site(tested.clone());
    assert_eq!(nameless.zones.len(), 3);
    assert_eq!((nameless.zones[2].name.as_str(), nameless.zones[2].optional), ("v valve 3", false));
    // More zones than heads: the head is on the zone that its test names, and the other feeds what nobody saw.
    let crowded = json!({
        "format": "underturf-site/2", "units": "m", "heads": [head("a", 0.0, 0.0, None)],
        "valve_boxes": [{"id": "v", "x": 7.0, "y": -2.0, "zones": ["1", "3"]}],
        "station_tests": [{"zone": "3", "heads": ["a"]}]
    });
    let crowded = site(crowded);
    assert!(crowded.zones.iter().all(|zone| zone.unseen && !zone.optional));
    let labels = listed(&crowded);
    assert_eq!(labels.zonings[0].zone_of, [1]);
    assert!(labels.zonings[0].probability > 0.99, "{:?}", labels.zonings);
    let empty = listed(&site(json!({"format": "underturf-site/2", "units": "m"})));
    assert_eq!(empty.zonings, [WeightedZoning { zone_of: Vec::new(), probability: 1.0 }]);
}

/// The written labels make the same law whether given by the site or beside it, and another zoning another one.
#[test]
fn law_follows_the_labelling_beside_the_site() {
    let site = site(lawn(5, halves));
    let written = WeightedZoning::written(&site).expect("all are labelled");
    let zones: Vec<Vec<usize>> = site.zones.iter().map(|zone| zone.heads.clone()).collect();
    assert_eq!(written.members(2), zones);
    let reach = |law: &LayoutPrior| law.state(0, 0, 0).expect("a state").network.nodes();
    let (as_site, beside) =
        (LayoutPrior::new(&site).expect("a law"), LayoutPrior::with_zoning(&site, &written).expect("a law"));
    assert_eq!(reach(&as_site), reach(&beside));
    let mut other = written;
    other.zone_of[8] = other.zone_of[0];
    assert_eq!(reach(&LayoutPrior::with_zoning(&site, &other).expect("a law")), reach(&beside) + 1);
}

/// 200 heads on ten zones, 20 of them without a label, two wrongly labelled: the two are pointed out, none else.
#[test]
fn large_sites_are_judged_as_well() {
    let names = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "10"];
    let mut document = lawn(50, |i, j| match (i, j) {
        (2, 1) => Some("9"),
        (33, 2) => Some("2"),
        _ if j == 3 && i % 5 < 2 => None,
        _ => Some(names[i / 5]),
    });
    document["valve_boxes"] = json!([{"id": "v", "x": 100.0, "y": -2.0, "zones": names}]);
    let ran = |zone: usize| -> Vec<String> {
        (5 * zone..5 * zone + 5).flat_map(|i| (0..4).map(move |j| format!("h{i}{j}"))).collect()
    };
    let test = |zone: usize| json!({"zone": names[zone], "heads": ran(zone)});
    document["station_tests"] = (0..10).map(test).collect();
    let site = site(document);
    let labels = listed(&site);
    let doubted: Vec<&str> = labels
        .flagged
        .iter()
        .filter(|s| s.written.is_some())
        .map(|s| site.heads[s.head].id.as_str())
        .collect();
    assert_eq!(doubted, ["h21", "h332"]);
    for (k, &zone) in labels.zonings[0].zone_of.iter().enumerate() {
        assert_eq!(site.zones[zone].name, names[k / 20], "{}", site.heads[k].id);
    }
}

/// Where the tests leave most open, the list is a small part of the posterior and does not stand for it.
#[test]
fn open_zones_are_admitted() {
    let mut document = lawn(5, |_, _| None);
    document["valve_boxes"][0]["zones"] = json!(["1", "3", "4", "5"]);
    document["station_tests"] = json!([{"zone": "4", "heads": ["h00", "h01", "h02", "h03"]}]);
    let open = site(document);
    let labels = listed(&open);
    assert!(labels.coverage < 0.5 && labels.zonings.len() <= 32);
    assert_eq!(settled(&open), None);
}

/// A search that counted nothing would run on, whatever the effort allowed.
#[test]
fn the_search_stops_exactly_where_the_effort_is_spent() {
    let site = site(lawn(5, halves));
    let all = Effort::unlimited();
    let labels = ListedZonings::settled(&site, &all).expect("no limit");
    assert!(labels.is_some() && all.spent() > 10_000, "{}", all.spent());
    assert_eq!(ListedZonings::settled(&site, &Effort::new(all.spent())).expect("just enough"), labels);
    let short = ListedZonings::settled(&site, &Effort::new(all.spent() - 1));
    assert!(matches!(short, Err(Error::Interrupted)), "{short:?}");
}
