//! From a survey to a site document in the format `underturf-site/2`: what was seen and nothing else. Lengths to the millimetre.

use super::survey::{Fixture, Kind, Survey};
use crate::job::Hole;
use crate::plane::Xy;
use serde_json::{Map, Value, json};

/// Which keys of flags are written. Depth and class are keys that a reader may not know yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keys {
    Old,
    WithDepthAndClass,
}

/// The site document of a survey with its holes, metres.
pub fn document(survey: &Survey, holes: &[Hole], keys: Keys) -> Value {
    let mut doc = Map::new();
    let mut put = |key: &str, value: Value| {
        if value.as_array().is_none_or(|a| !a.is_empty()) {
            doc.insert(key.into(), value);
        }
    };
    put("format", json!("underturf-site/2"));
    put("units", json!("m"));
    put("name", json!(survey.name()));
    put("boundary", outline(&survey.boundary));
    put(
        "sources",
        fixtures(survey, "source", |k| match k {
            Kind::WaterMeter => Some("meter"),
            Kind::Backflow => Some("backflow"),
            _ => None,
        }),
    );
    put(
        "outlets",
        fixtures(survey, "outlet", |k| match k {
            Kind::HoseBib => Some("hose_bib"),
            Kind::YardHydrant => Some("yard_hydrant"),
            Kind::QuickCoupler => Some("quick_coupler"),
            _ => None,
        }),
    );
    put("valve_boxes", fixtures(survey, "box", |k| (k == Kind::ValveBox).then_some("")));
    put("obstacles", each(&survey.obstacles, |_, o| json!({"kind": o.kind, "outline": outline(&o.outline)})));
    put(
        "flags",
        each(&survey.flags, |_, f| {
            let mut flag = json!({"x": mm(f.at.x), "y": mm(f.at.y), "sd": f.sd_m});
            if let Some(name) = &f.name {
                flag["line"] = json!(name);
            }
            if keys == Keys::WithDepthAndClass {
                if let Some(depth) = f.depth_m {
                    flag["depth"] = json!(mm(depth));
                }
                if let Some(class) = f.class {
                    flag["class"] = json!(class.name());
                }
            }
            flag
        }),
    );
    put("swept", each(&survey.swept, |_, s| json!({"outline": outline(&s.outline), "p_detect": s.p_detect})));
    put(
        "marks",
        each(&survey.marks, |_, m| {
            let mut mark = json!({"class": m.class.name(), "path": outline(&m.path)});
            if let Some(sd) = m.sd_m {
                mark["sd"] = json!(sd);
            }
            if let Some(quality) = m.quality {
                mark["quality"] = json!(quality);
            }
            if let Some(date) = &m.date {
                mark["date"] = json!(date);
            }
            mark
        }),
    );
    let at = |k: usize| point(survey.fixtures[k].at);
    put(
        "services",
        each(&survey.services, |_, s| json!({"class": s.class.name(), "from": at(s.from), "to": at(s.to)})),
    );
    put(
        "digs",
        each(
            holes,
            |k, d| json!({"id": format!("dig{k}"), "x": mm(d.at.x), "y": mm(d.at.y), "radius": mm(d.radius_m), "depth": mm(d.depth_m)}),
        ),
    );
    Value::Object(doc)
}

/// Fixtures of one list; the kind is left out where it is empty.
fn fixtures(survey: &Survey, id: &str, kind: impl Fn(Kind) -> Option<&'static str>) -> Value {
    let of: Vec<(&Fixture, &str)> =
        survey.fixtures.iter().filter_map(|f| kind(f.kind).map(|kind| (f, kind))).collect();
    each(&of, |k, (f, kind)| {
        let mut entry = json!({"id": format!("{id}{k}"), "x": mm(f.at.x), "y": mm(f.at.y)});
        if !kind.is_empty() {
            entry["kind"] = json!(kind);
        }
        entry
    })
}

fn each<T>(items: &[T], to: impl Fn(usize, &T) -> Value) -> Value {
    items.iter().enumerate().map(|(k, item)| to(k + 1, item)).collect()
}

fn mm(x: f64) -> f64 {
    (x * 1_000.0).round() / 1_000.0
}

fn point(p: Xy) -> Value {
    json!([mm(p.x), mm(p.y)])
}

fn outline(points: &[Xy]) -> Value {
    points.iter().map(|&p| point(p)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::walk::{Names, site};

    /// The one place where the reader of the project looks at what the simulator wrote.
    #[test]
    fn documents_are_read_without_a_fault() {
        for seed in 0..30 {
            for names in [Names::Given, Names::NotGiven] {
                let site = site(seed, names);
                let text = document(&site.survey, &site.holes, Keys::Old).to_string();
                if let Err(error) = underturf::site::io::parse_json(&text) {
                    panic!("site {seed}, {names:?}: {error}");
                }
            }
        }
    }

    #[test]
    fn a_document_says_what_is_seen_and_no_more() {
        let known = [
            "format",
            "units",
            "name",
            "boundary",
            "sources",
            "outlets",
            "valve_boxes",
            "obstacles",
            "flags",
            "swept",
            "marks",
            "services",
            "digs",
        ];
        let (mut names, mut depths) = (0, 0);
        for seed in 0..30 {
            let site = site(seed, Names::NotGiven);
            let old = document(&site.survey, &site.holes, Keys::Old);
            assert!(old.as_object().expect("a table").keys().all(|k| known.contains(&k.as_str())));
            let flags = old["flags"].as_array().expect("flags").clone();
            assert_eq!(flags.len(), site.truth.flags.len());
            assert!(flags.iter().all(|f| f.get("line").or(f.get("depth")).or(f.get("class")).is_none()));
            let new = document(&site.survey, &site.holes, Keys::WithDepthAndClass);
            depths +=
                new["flags"].as_array().expect("flags").iter().filter(|f| f.get("depth").is_some()).count();
            let named = document(&super::super::site(seed, Names::Given).survey, &site.holes, Keys::Old);
            names +=
                named["flags"].as_array().expect("flags").iter().filter(|f| f.get("line").is_some()).count();
        }
        assert!(names > 100 && depths > 100, "{names} names, {depths} depths: the switches do nothing");
    }
}
