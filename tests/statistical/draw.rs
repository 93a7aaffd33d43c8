//! Pictures of jobs, for the eye: what a crew sees in plain ink, what lies buried in colour. `draw_jobs` writes SVG files
//! into `target/referee/`.

use crate::job::{Carries, HeadKind, Hole, Job};
use crate::plane::{Xy, extent};
use std::fmt::Write;

const ZONE_INK: [&str; 4] = ["#1b6ca8", "#b5532a", "#3b7d3b", "#7a4aa0"];

/// One job as an SVG document, north up, 28 px to the metre.
pub fn svg(job: &Job, holes: &[Hole]) -> String {
    let (low, high) = extent(&job.survey.boundary);
    let k = 28.0;
    let at = |p: Xy| (k * (p.x - low.x + 1.0), k * (high.y - p.y + 2.0));
    let points = |path: &[Xy]| {
        path.iter().fold(String::new(), |mut s, &p| {
            let (x, y) = at(p);
            let _ = write!(s, "{x:.1},{y:.1} ");
            s
        })
    };
    let (w, h) = (k * (high.x - low.x + 2.0), k * (high.y - low.y + 3.0));
    let mut out = format!("<svg xmlns='http://www.w3.org/2000/svg' width='{w:.0}' height='{h:.0}'>");
    let _ = write!(out, "<rect width='100%' height='100%' fill='white'/>");
    let _ = write!(out, "<polygon points='{}' fill='#eef3e6' stroke='#888'/>", points(&job.survey.boundary));
    for o in &job.survey.obstacles {
        let fill = match o.kind {
            "building" => "#999",
            "pool" => "#9cd",
            "bed" => "#d8c8a8",
            _ => "#ddd",
        };
        let _ = write!(out, "<polygon points='{}' fill='{fill}'/>", points(&o.outline));
    }
    for t in &job.survey.trees {
        let (x, y) = at(t.at);
        let _ = write!(
            out,
            "<circle cx='{x:.1}' cy='{y:.1}' r='{:.1}' fill='#6b4'/>",
            k * (t.stem_m / 2.0 + 0.2)
        );
    }
    for hole in holes {
        let (x, y) = at(hole.at);
        let _ = write!(
            out,
            "<circle cx='{x:.1}' cy='{y:.1}' r='{:.1}' fill='none' stroke='#ccb'/>",
            k * hole.radius_m
        );
    }
    for l in &job.lines {
        let (ink, wide, dash) = match l.carries {
            Carries::Lateral => ("#1566c0", 40.0 * l.diameter_m, ""),
            Carries::Mainline => ("#c01030", 2.5, ""),
            Carries::ControlWire => ("#e09000", 1.0, ""),
            Carries::Potable => ("#108080", 2.0, "6,3"),
            Carries::Abandoned => ("#555", 1.5, "3,4"),
        };
        let p = points(&l.path);
        let _ = write!(
            out,
            "<polyline points='{p}' fill='none' stroke='{ink}' stroke-width='{wide:.1}' stroke-dasharray='{dash}'/>"
        );
    }
    let zones = job.survey.zones();
    for head in &job.survey.heads {
        let (x, y) = at(head.at);
        let ink = ZONE_INK[zones.iter().position(|z| *z == head.zone).unwrap_or(0) % 4];
        let r = if head.kind == HeadKind::Rotor { 6 } else { 4 };
        let _ = write!(
            out,
            "<circle cx='{x:.1}' cy='{y:.1}' r='{r}' fill='none' stroke='{ink}' stroke-width='2'/>"
        );
    }
    for b in &job.survey.boxes {
        let (x, y) = at(b.at);
        let _ =
            write!(out, "<rect x='{:.1}' y='{:.1}' width='12' height='9' fill='#222'/>", x - 6.0, y - 4.5);
    }
    for f in job.survey.sources.iter().chain(&job.survey.outlets) {
        let (x, y) = at(f.at);
        let _ = write!(out, "<text x='{x:.1}' y='{y:.1}' font-size='12'>{}</text>", f.kind);
    }
    let title = format!("{}: {}", job.survey.name, job.habits.join(", "));
    let _ = write!(out, "<text x='6' y='16' font-size='14'>{title}</text></svg>");
    out
}

#[test]
#[ignore = "writes pictures to look at"]
fn draw_jobs() {
    let dir = concat!(env!("CARGO_MANIFEST_DIR"), "/target/referee");
    std::fs::create_dir_all(dir).expect("target/ is writable");
    for seed in 0..40 {
        let job = crate::installer::job(seed);
        let holes = crate::digs::propose(&job.survey, 60, seed);
        std::fs::write(format!("{dir}/job_{seed:03}.svg"), svg(&job, &holes)).expect("target/ is writable");
    }
}
