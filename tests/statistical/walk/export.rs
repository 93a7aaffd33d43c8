//! Slow looks at the simulator: baselines and ceilings in a table, sites written out for libraries of other languages, plans to
//! look at.

use super::judge::{FLAGS, JUDGED, Judged, sites};
use super::oracle::{KnowsCourses, KnowsPieces};
use super::polyline::{self, CUTS_M, Polyline};
use super::truth::{MarkIs, Origin};
use super::{Names, Site};
use crate::plane::{Xy, extent};
use crate::scores::{brier_of, mean};
use serde_json::json;
use std::fmt::Write;

const ARMS: [(Names, &str); 2] = [(Names::Given, "given"), (Names::NotGiven, "not_given")];

fn folder() -> String {
    let dir = concat!(env!("CARGO_MANIFEST_DIR"), "/target/walk").to_owned();
    std::fs::create_dir_all(&dir).expect("target/ is writable");
    dir
}

/// Time: a minute.
#[test]
#[ignore = "writes target/walk/sites_*.json"]
fn walk_write_sites() {
    for (names, arm) in ARMS {
        let all: Vec<serde_json::Value> = sites(JUDGED, names)
            .iter()
            .map(|s| {
                let flags = s.survey.flags.iter().zip(&s.truth.flags);
                let flags: Vec<_> = flags
                    .map(|(f, o)| json!({"x": f.at.x, "y": f.at.y, "sd": f.sd_m, "name": f.name, "line": o.line()}))
                    .collect();
                json!({"seed": s.survey.seed, "in_walking_order": s.survey.in_walking_order, "flags": flags})
            })
            .collect();
        let path = format!("{}/sites_{arm}.json", folder());
        std::fs::write(path, serde_json::Value::from(all).to_string()).expect("target/ is writable");
    }
}

/// n = 200 sites, each with names and without. Time: minutes.
#[test]
#[ignore = "minutes: run with --ignored --nocapture"]
fn walk_baselines_and_ceilings() {
    for (names, arm) in ARMS {
        let all = sites(JUDGED, names);
        let y: Vec<f64> = all
            .iter()
            .flat_map(|s| s.holes.iter().map(|h| f64::from(u8::from(s.truth.strikes(h)))))
            .collect();
        let fitted = polyline::fitted(&all);
        println!(
            "\nnames {arm}: polyline, cut {} m: Brier {:.4}",
            fitted.cut_m,
            mean(brier_of, &fitted.p, &y)
        );
        for cut_m in CUTS_M {
            for least in [1, 2, 3, 4] {
                let judged = Judged::of(&all, &Polyline { cut_m, least });
                let s = judged.share(FLAGS);
                println!(
                    "  cut {cut_m} m, at least {least}: flags right {:.4} ({:.4} to {:.4})",
                    s.value, s.low, s.high
                );
            }
        }
        let line = Judged::of(&all, &Polyline { cut_m: 4.0, least: 3 });
        println!("{}", line.table(&format!("Polyline, names {arm}"), &all));
        println!("{}", Judged::of(&all, &KnowsCourses).table(&format!("Knows courses, names {arm}"), &all));
        println!("{}", Judged::of(&all, &KnowsPieces).table(&format!("Knows pieces, names {arm}"), &all));
    }
}

#[test]
#[ignore = "writes pictures to look at"]
fn walk_draw_sites() {
    for seed in 0..30 {
        let path = format!("{}/site_{seed:03}.svg", folder());
        std::fs::write(path, svg(&super::site(seed, Names::NotGiven))).expect("target/ is writable");
    }
}

/// One site, 24 px to the metre, north up.
fn svg(site: &Site) -> String {
    let (low, high) = extent(&site.survey.boundary);
    let at = |p: Xy| (24.0 * (p.x - low.x + 1.0), 24.0 * (high.y - p.y + 1.0));
    let points =
        |path: &[Xy]| path.iter().map(|&p| at(p)).map(|(x, y)| format!("{x:.1},{y:.1} ")).collect::<String>();
    let mut out = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{:.0}' height='{:.0}'><rect width='100%' height='100%' fill='white'/>",
        24.0 * (high.x - low.x + 2.0),
        24.0 * (high.y - low.y + 2.0)
    );
    let mut shape = |path: &[Xy], fill: &str, stroke: &str, closed: bool| {
        let tag = if closed { "polygon" } else { "polyline" };
        let _ = write!(
            out,
            "<{tag} points='{}' fill='{fill}' stroke='{stroke}' stroke-width='1.5'/>",
            points(path)
        );
    };
    shape(&site.survey.boundary, "#f4f4ee", "#888", true);
    site.survey.swept.iter().for_each(|s| shape(&s.outline, "#e2eed8", "none", true));
    site.survey.obstacles.iter().for_each(|o| shape(&o.outline, "#bbb", "none", true));
    const INKS: [&str; 6] = ["#8040a0", "#909090", "#1566c0", "#d0a000", "#c01030", "#e07020"];
    for line in &site.truth.lines {
        shape(line.course.points(), "none", INKS[line.class as usize], false);
    }
    for (mark, origin) in site.survey.marks.iter().zip(&site.truth.marks) {
        shape(&mark.path, "none", if origin.is == MarkIs::Right { "#60d060" } else { "#ff00ff" }, false);
    }
    let mut dot = |p: Xy, r: f64, fill: &str| {
        let (x, y) = at(p);
        let _ = write!(out, "<circle cx='{x:.1}' cy='{y:.1}' r='{r:.1}' fill='{fill}'/>");
    };
    for (flag, origin) in site.survey.flags.iter().zip(&site.truth.flags) {
        match origin {
            Origin::Stray => dot(flag.at, 4.0, "#000"),
            Origin::On { line, .. } => dot(flag.at, 4.0, INKS[site.truth.lines[*line].class as usize]),
        }
    }
    site.survey.fixtures.iter().for_each(|f| dot(f.at, 6.0, "#00000055"));
    site.truth.crossings.iter().for_each(|c| dot(c.at, 9.0, "#ff000055"));
    out + "</svg>"
}
