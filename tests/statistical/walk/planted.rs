//! The scores judged: the truth itself scores full marks, and planted faults are caught by the score that is there for them.

use super::forecaster::{
    CourseForecast, CrossingForecast, FlagForecast, Forecast, LineForecast, MetalForecaster, Station,
};
use super::judge::{BENDS, CLASSES, COVERED, CROSSINGS, FLAGS, Judged, OBLIQUE, STRAYS, TOLD, TRIED, sites};
use super::survey::Survey;
use super::truth::{Origin, Truth};
use super::{Names, Site, site};
use crate::job::Hole;
use crate::plane::Xy;

/// What is done to the truth before it is handed in.
type Fault = fn(&Truth, &mut Forecast);

/// Hands in the truth, with a fault.
struct Teller(Fault);

impl MetalForecaster for Teller {
    fn forecast(&self, survey: &Survey, holes: &[Hole]) -> Result<Forecast, String> {
        let truth = site(survey.seed, Names::NotGiven).truth;
        let mut forecast = Forecast {
            flags: (truth.flags.iter())
                .map(|o| FlagForecast { line: o.line(), p_stray: f64::from(u8::from(*o == Origin::Stray)) })
                .collect(),
            lines: (truth.lines.iter())
                .map(|l| LineForecast {
                    course: CourseForecast::Draws(vec![l.course.points().to_vec()]),
                    class: vec![(l.class.name().to_owned(), 1.0)],
                })
                .collect(),
            crossings: (truth.crossings.iter())
                .map(|c| CrossingForecast { at: c.at, lines: c.lines })
                .collect(),
            p_strike: holes.iter().map(|h| f64::from(u8::from(truth.strikes(h)))).collect(),
        };
        (self.0)(&truth, &mut forecast);
        Ok(forecast)
    }
}

fn few() -> Vec<Site> {
    sites(TRIED.start..TRIED.start + 60, Names::NotGiven)
}

fn judged(fault: Fault) -> Judged {
    let judged = Judged::of(&few(), &Teller(fault));
    assert!(judged.refused.is_empty());
    judged
}

/// Exact: every share is one, every hole is told. Looks at what was asked: 60 sites have crossings, oblique ones, bends, ends.
#[test]
fn the_truth_scores_full_marks() {
    let judged = judged(|_, _| {});
    for share in [FLAGS, STRAYS, COVERED, CROSSINGS, OBLIQUE, BENDS, CLASSES] {
        let (right, all) = judged.scores.iter().map(share).fold((0, 0), |s, t| (s.0 + t.0, s.1 + t.1));
        assert!(all >= 5, "only {all} were asked");
        assert_eq!(right, all);
    }
    assert_eq!(judged.skill(&few()).value, 1.0);
    assert_eq!(judged.class_gap(), 0.0);
    let wide = judged.scores.iter().flat_map(|s| &s.widths_m).fold(0.0f64, |a, b| a.max(*b));
    assert_eq!(wide, 0.0, "one course has no width");
}

/// Lines in another order, or one line cut in two, change nothing or cost the lesser part.
#[test]
fn the_numbers_of_lines_mean_nothing() {
    let turned = judged(|_, f| {
        f.lines.reverse();
        let last = f.lines.len() - 1;
        f.flags.iter_mut().for_each(|flag| flag.line = flag.line.map(|k| last - k));
        f.crossings.iter_mut().for_each(|c| c.lines = c.lines.map(|k| last - k));
    });
    for share in [FLAGS, COVERED, TOLD, CLASSES] {
        assert_eq!(turned.share(share).value, 1.0);
    }
}

/// The tails of both lines are swapped at every crossing: each crossing that was asked is lost, and no bend.
#[test]
fn swapped_tails_lose_the_crossings() {
    let swapped = judged(|truth, f| {
        for c in &truth.crossings {
            for (flag, origin) in f.flags.iter_mut().zip(&truth.flags) {
                if let Origin::On { line, arc_m } = *origin {
                    for k in 0..2 {
                        if line == c.lines[k] && arc_m >= c.arc_m[k] && flag.line == Some(line) {
                            flag.line = Some(c.lines[1 - k]);
                        }
                    }
                }
            }
        }
    });
    assert!(swapped.share(CROSSINGS).value < 0.1, "{:?}", swapped.share(CROSSINGS));
    assert!(swapped.share(FLAGS).value < 0.95, "{:?}", swapped.share(FLAGS));
}

/// Two lines that cross are made one.
#[test]
fn merged_lines_lose_the_crossings_and_their_flags() {
    let merged = judged(|_, f| f.flags.iter_mut().for_each(|flag| flag.line = flag.line.map(|_| 0)));
    assert_eq!(merged.share(CROSSINGS).value, 0.0);
    assert!(merged.share(FLAGS).value < 0.75 && merged.share(COVERED).value < 0.75);
}

/// Every line is cut at its bends, as if others crossed there: bends are lost, crossings are not.
#[test]
fn lines_cut_at_bends_lose_the_bends() {
    let cut = judged(|truth, f| {
        for (k, line) in truth.lines.iter().enumerate() {
            for bend in &line.bends {
                let new = f.lines.len();
                f.lines.push(f.lines[k].clone());
                for (flag, origin) in f.flags.iter_mut().zip(&truth.flags) {
                    if matches!(*origin, Origin::On { line, arc_m } if line == k && arc_m > bend.arc_m) {
                        flag.line = Some(new);
                    }
                }
            }
        }
    });
    assert_eq!(cut.share(BENDS).value, 0.0);
    let listed = judged(|truth, f| {
        for line in &truth.lines {
            let at =
                line.bends.iter().map(|b| CrossingForecast { at: line.course.at(b.arc_m), lines: [0, 0] });
            f.crossings.extend(at);
        }
    });
    assert_eq!(listed.share(BENDS).value, 0.0, "a bend that is listed as a crossing is wrong");
    assert_eq!(listed.share(CROSSINGS).value, 1.0);
}

/// Bands of 0.2 m half-width about the true course hold it all; moved sideways by 0.3 m they hold nothing but what lies near
/// bends and ends. Draws with the same fault fail alike.
#[test]
fn a_course_that_is_off_by_a_foot_loses_its_cover() {
    fn moved(truth: &Truth, f: &mut Forecast, by_m: f64) {
        for (l, line) in f.lines.iter_mut().zip(&truth.lines) {
            let course = &line.course;
            let at = |s: &f64| course.at(*s) + course.direction(*s).left() * by_m;
            let stations = course.arcs().iter().map(|s| Station { at: at(s), half_width_m: 0.2 });
            l.course = CourseForecast::Band(stations.collect());
        }
    }
    assert_eq!(judged(|t, f| moved(t, f, 0.0)).share(COVERED).value, 1.0);
    let off = judged(|t, f| moved(t, f, 0.3)).share(COVERED).value;
    assert!(off < 0.05, "{off}");
    let draws = judged(|truth, f| {
        for (l, line) in f.lines.iter_mut().zip(&truth.lines) {
            let to_one_side = |by: f64| -> Vec<Xy> {
                let c = &line.course;
                c.arcs().iter().map(|s| c.at(*s) + c.direction(*s).left() * by).collect()
            };
            l.course =
                CourseForecast::Draws((0..21).map(|i| to_one_side(0.1 + 0.02 * f64::from(i))).collect());
        }
    });
    assert!(draws.share(COVERED).value < 0.05, "{:?}", draws.share(COVERED));
}

/// A forecaster that calls everything stray is right about strays and nothing else.
#[test]
fn all_stray_is_caught() {
    let shy = judged(|_, f| {
        f.flags.iter_mut().for_each(|flag| *flag = FlagForecast { line: None, p_stray: 1.0 });
        f.lines.clear();
        f.crossings.clear();
    });
    let flags = shy.share(FLAGS).value;
    assert!(flags < 0.2 && shy.share(STRAYS).value == 1.0, "{flags}");
    assert_eq!((shy.share(COVERED).value, shy.share(TOLD).value, shy.share(CLASSES).value), (0.0, 0.0, 0.0));
}

/// A forecaster that calls nothing stray.
#[test]
fn none_stray_is_caught() {
    let bold = judged(|_, f| {
        f.flags
            .iter_mut()
            .for_each(|flag| *flag = FlagForecast { line: Some(flag.line.unwrap_or(0)), p_stray: 0.0 });
    });
    let flags = bold.share(FLAGS).value;
    assert!(flags < 0.95 && bold.share(STRAYS).value == 0.0, "{flags}");
}

/// A wrong class that is stated for sure, and holes told the wrong way round.
#[test]
fn wrong_classes_and_holes_are_caught() {
    let wrong = judged(|_, f| {
        f.lines.iter_mut().for_each(|l| l.class = vec![("sewer".into(), 0.9), (l.class[0].0.clone(), 0.1)]);
        f.p_strike.iter_mut().for_each(|p| *p = 1.0 - *p);
    });
    assert_eq!(wrong.share(CLASSES).value, 0.0);
    assert!((wrong.class_gap() - 0.9).abs() < 1e-12);
    assert!(wrong.skill(&few()).high < 0.0);
}
