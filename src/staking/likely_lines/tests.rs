use super::*;
use crate::error::ArgumentError;
use crate::inference::{SampleOptions, sample_layouts};
use crate::monitor::Unwatched;
use crate::settings::Settings;
use crate::site::Site;

fn site(parts: &str) -> Site {
    let text = format!(r#"{{"format": "underturf-site/2", "units": "m", {parts}}}"#);
    Site::new(serde_json::from_str(&text).unwrap()).unwrap()
}

fn layouts(parts: &str, draws: usize) -> Layouts {
    sample_layouts(&std::sync::Arc::new(site(parts)), &SampleOptions { draws, seed: 4 }, &Unwatched).unwrap()
}

/// One head and its valve: one line is possible, along the grid, and its offset is normal with the spread of the setting and
/// the survey (head 0.05 m each end).
const ONE: &str = r#""settings": {"offset_stray_share": 0.0, "elbow_share_valve": 0.0, "elbow_share": 0.0},
    "heads": [{"id": "a", "x": 8.0, "y": 0.0, "zone": "1"}],
    "valve_boxes": [{"id": "v", "x": 0.0, "y": 0.0, "zones": ["1"]}]"#;

#[test]
fn the_only_line_has_the_band_of_its_offset_law() {
    let layouts = layouts(ONE, 8000);
    let lines = likely_lines(&layouts, &LineOptions::default(), &Unwatched).unwrap();
    assert_eq!(lines.len(), 1);
    assert_eq!((lines[0].class, lines[0].stations.len()), (Class::Lateral, 4));
    // Tables of the normal law: 90 % lies within 1.6449 standard deviations. Trench 0.14 m, head surveyed to 0.05 m and box to
    // 0.1 m, half of either variance at each place between.
    let settings = Settings::default();
    let sd = settings.offset_sd_m.hypot((0.5 * (0.05_f64.powi(2) + 0.1_f64.powi(2))).sqrt());
    let half_width = 1.644_853_6 * sd;
    for station in &lines[0].stations {
        assert!((station.chance - 1.0).abs() < 1e-12);
        // Standard error of either quantile: sqrt(0.05 0.95 / n) over the density there, 0.1031 / sd; half their difference
        // has 0.7 of it. Five of these, four stations that share their draws: a false alarm below 1e-5.
        let error = 0.7 * (0.05 * 0.95 / 8000.0_f64).sqrt() / (0.1031 / sd);
        assert!(
            (station.half_width_m - half_width).abs() < 5.0 * error,
            "{} {half_width} {error}",
            station.half_width_m
        );
        assert!(station.at.y.abs() < 5.0 * error);
        // Planted fault: one standard deviation, or a band of 95 %, is another width.
        assert!((sd - half_width).abs() > 10.0 * error && (1.959_96 * sd - half_width).abs() > 10.0 * error);
    }
    let along: Vec<f64> = lines[0].stations.iter().map(|station| station.at.x).collect();
    assert!(along.iter().zip([1.0, 3.0, 5.0, 7.0]).all(|(x, wanted)| (x - wanted).abs() < 1e-9), "{along:?}");
}

/// A line is likely from the stated chance on: shares of elbows are the law's, an eighth and an eighth and three quarters.
#[test]
fn least_chance_divides_ways() {
    let bent = r#""settings": {"offset_sd_m": 0.05, "offset_stray_share": 0.0, "elbow_share_valve": 0.6},
        "heads": [{"id": "a", "x": 8.0, "y": 6.0, "zone": "1"}],
        "valve_boxes": [{"id": "v", "x": 0.0, "y": 0.0, "zones": ["1"]}],
        "boundary": [[-2, -2], [10, -2], [10, 8], [-2, 8]]"#;
    let layouts = layouts(bent, 2000);
    let at = |least_chance| {
        likely_lines(&layouts, &LineOptions { least_chance, ..LineOptions::default() }, &Unwatched).unwrap()
    };
    let all = at(0.2);
    let straight = |line: &LikelyLine| line.stations.iter().all(|s| (s.at.y - 0.75 * s.at.x).abs() < 0.3);
    let chance: f64 = all.iter().filter(|line| straight(line)).map(|line| line.chance).sum();
    assert!((chance - 0.4).abs() < 0.06, "{all:?}");
    assert!(all.len() > 1, "elbows at three in ten each");
    for line in all.iter().filter(|line| !straight(line)) {
        assert!((line.chance - 0.3).abs() < 0.06, "{line:?}");
    }
    assert!(at(0.35).iter().all(straight));
    assert_eq!(at(0.5), []);
}

/// The same heads under other labels are the same lines: the sum over zones is what is counted.
#[test]
fn no_line_is_told_twice() {
    let rows = r#""boundary": [[-1, -1], [13, -1], [13, 9], [-1, 9]],
        "heads": [{"id": "a", "x": 0.0, "y": 0.0}, {"id": "b", "x": 4.0, "y": 0.0}, {"id": "c", "x": 8.0, "y": 0.0},
                  {"id": "d", "x": 12.0, "y": 0.0}, {"id": "e", "x": 0.0, "y": 8.0}, {"id": "f", "x": 4.0, "y": 8.0},
                  {"id": "g", "x": 8.0, "y": 8.0}, {"id": "h", "x": 12.0, "y": 8.0}],
        "valve_boxes": [{"id": "v", "x": -0.5, "y": 4.0, "valves": 2}]"#;
    let layouts = layouts(rows, 400);
    let lines = likely_lines(&layouts, &LineOptions::default(), &Unwatched).unwrap();
    let row = |y: f64| {
        let near = move |s: &Station| (s.at.y - y).abs() < 1.0 && s.angle_rad.sin().abs() < 0.3;
        let length: f64 =
            lines.iter().flat_map(|l| &l.stations).filter(move |s| near(s)).map(|s| s.span_m).sum();
        length
    };
    // Each row is 12 m long and no more is told of it.
    for y in [0.0, 8.0] {
        assert!(row(y) > 8.0 && row(y) < 13.5, "{} {lines:?}", row(y));
    }
    // Planted fault: without a memory of what was told, courses that carry one line tell it again and again.
    let (options, mut again) = (LineOptions::default(), 0.0);
    for course in courses(&layouts, options.least_chance).iter().filter(|c| c.class == Class::Lateral) {
        let seen = transects(&layouts, course, &options);
        again += seen.iter().filter(|t| t.share() >= options.least_chance).map(|t| t.span_m).sum::<f64>();
    }
    let laterals = lines.iter().filter(|line| line.class == Class::Lateral);
    let told: f64 = laterals.map(LikelyLine::length_m).sum();
    assert!(again > 1.2 * told, "{again} {told}");
}

#[test]
fn arguments_out_of_range_are_refused() {
    let layouts = layouts(ONE, 20);
    for options in [
        LineOptions { least_chance: 0.0, ..LineOptions::default() },
        LineOptions { least_chance: f64::NAN, ..LineOptions::default() },
        LineOptions { step_m: 0.0, ..LineOptions::default() },
        LineOptions { reach_m: -1.0, ..LineOptions::default() },
    ] {
        assert!(matches!(
            likely_lines(&layouts, &options, &Unwatched),
            Err(Error::Argument(ArgumentError::OutOfRange { .. }))
        ));
    }
}
