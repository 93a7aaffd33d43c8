//! From a survey to a site document in the format `underturf-site/2`: what the crew sees and nothing else. No truth, no
//! forgotten lines, no bearings, no survey errors told.

use crate::job::{Fixture, HeadKind, Hole, Probe, Survey};
use crate::plane::Xy;
use serde_json::{Map, Value, json};

/// The site document of a survey with its proposed holes, metres.
pub fn document(survey: &Survey, digs: &[Hole]) -> Value {
    let mut doc = Map::new();
    let mut put = |key: &str, value: Value| {
        if value.as_array().is_none_or(|a| !a.is_empty()) {
            doc.insert(key.into(), value);
        }
    };
    put("format", json!("underturf-site/2"));
    put("units", json!("m"));
    put("name", json!(survey.name));
    put("boundary", outline(&survey.boundary));
    put(
        "heads",
        each(&survey.heads, |k, h| {
            let mut head = json!({"id": format!("h{k}"), "x": h.at.x, "y": h.at.y, "zone": h.zone});
            match h.kind {
                HeadKind::Spray => head["kind"] = json!("spray"),
                HeadKind::Rotor => head["kind"] = json!("rotor"),
                HeadKind::Untold => {}
            }
            if let Some(r) = h.radius_m {
                head["radius"] = json!(r);
            }
            head
        }),
    );
    put(
        "valve_boxes",
        each(
            &survey.boxes,
            |k, b| json!({"id": format!("box{k}"), "x": b.at.x, "y": b.at.y, "zones": b.zones}),
        ),
    );
    let fixture = |name: &'static str| move |k: usize, f: &Fixture| json!({"id": format!("{name}{k}"), "x": f.at.x, "y": f.at.y, "kind": f.kind});
    put("sources", each(&survey.sources, fixture("source")));
    put("outlets", each(&survey.outlets, fixture("outlet")));
    put("obstacles", each(&survey.obstacles, |_, o| json!({"kind": o.kind, "outline": outline(&o.outline)})));
    put("trees", each(&survey.trees, |_, t| json!({"x": t.at.x, "y": t.at.y, "stem_diameter": t.stem_m})));
    put("probes", each(&survey.probes, |_, p| probe(p)));
    put(
        "digs",
        each(
            digs,
            |k, d| json!({"id": format!("dig{k}"), "x": d.at.x, "y": d.at.y, "radius": d.radius_m, "depth": d.depth_m}),
        ),
    );
    Value::Object(doc)
}

fn probe(p: &Probe) -> Value {
    let mut probe = json!({"x": p.at.x, "y": p.at.y, "radius": p.radius_m, "depth": p.depth_m, "tool": p.tool, "found": p.found});
    if let Some(noted) = p.noted {
        probe["class"] = json!(noted.class);
        probe["azimuth_deg"] = json!((90.0 - noted.bearing_deg).rem_euclid(180.0));
        probe["cover"] = json!(noted.cover_m);
    }
    probe
}

fn each<T>(items: &[T], to: impl Fn(usize, &T) -> Value) -> Value {
    items.iter().enumerate().map(|(k, item)| to(k + 1, item)).collect()
}

fn outline(points: &[Xy]) -> Value {
    points.iter().map(|p| json!([p.x, p.y])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{digs, installer};

    #[test]
    fn a_document_says_what_the_crew_sees_and_no_more() {
        let known = [
            "format",
            "units",
            "name",
            "boundary",
            "heads",
            "valve_boxes",
            "sources",
            "outlets",
            "obstacles",
            "trees",
            "digs",
        ];
        for seed in 0..20 {
            let job = installer::job(seed);
            let holes = digs::propose(&job.survey, 60, seed);
            let doc = document(&job.survey, &holes);
            assert!(doc.as_object().expect("a table").keys().all(|k| known.contains(&k.as_str())));
            assert_eq!(doc["heads"].as_array().expect("heads").len(), job.heads.len());
            assert_eq!(doc["digs"].as_array().expect("digs").len(), 60);
            let text = doc.to_string();
            for line in &job.lines {
                // a shared corner to full precision would be a leak; ends at the true heads must not be told either
                let leaks = |p: &&crate::plane::Xy| {
                    text.contains(&format!("{},", p.x)) && text.contains(&format!("{}", p.y))
                };
                assert!(
                    line.path.iter().find(leaks).is_none(),
                    "seed {seed}: a point of a buried line is in the document"
                );
            }
        }
    }
}
