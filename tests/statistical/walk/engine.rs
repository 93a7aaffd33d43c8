//! The engine on trial with lines of metal: a survey in as a site document; flags, courses, classes, crossings, chances out.

use super::document::{Keys, document};
use super::forecaster::{
    CourseForecast, CrossingForecast, FlagForecast, Forecast, LineForecast, MetalForecaster,
};
use super::survey::Survey;
use crate::engine::Engine;
use crate::job::Hole;
use crate::plane::xy;
use std::cell::Cell;
use std::sync::Arc;
use underturf::decision;
use underturf::inference::RunBudget;
use underturf::layout::MetalLine;
use underturf::metal::{Origin, Summary, class_names};
use underturf::strike::RunIndex;

/// The engine with the settings that it ships with.
pub struct MetalEngine {
    pub engine: Engine,
    pub keys: Keys,
    /// Sites on which convergence checks passed.
    pub passed: Cell<usize>,
}

impl MetalForecaster for MetalEngine {
    fn forecast(&self, survey: &Survey, holes: &[Hole]) -> Result<Forecast, String> {
        let layouts = self.engine.layouts(document(survey, holes, self.keys), &RunBudget::default())?;
        let draws: Vec<&[Arc<MetalLine>]> = layouts.draws().iter().map(|draw| &*draw.metal).collect();
        let summary = layouts.metal().map(|metal| metal.summary(&draws));
        let summary = summary.ok_or("no evidence of metal")?;
        let digs = layouts.site().digs.clone();
        let index = RunIndex::new(layouts.draws());
        let chance = |dig| {
            let by_draw = index.metal(&decision::look(dig));
            by_draw.iter().sum::<f64>() / by_draw.len() as f64
        };
        let passed = layouts.metal().is_some_and(|metal| metal.checked().passed());
        self.passed.set(self.passed.get() + usize::from(passed));
        Ok(Forecast { p_strike: digs.iter().map(chance).collect(), ..forecast(&summary, survey.flags.len()) })
    }
}

fn forecast(summary: &Summary, flags: usize) -> Forecast {
    let mut placed = vec![FlagForecast { line: None, p_stray: 1.0 }; flags];
    for item in &summary.items {
        if let Origin::Flag(k) = item.origin {
            placed[k] = FlagForecast { line: item.line, p_stray: item.stray };
        }
    }
    let names = class_names();
    let lines = summary.lines.iter().map(|line| {
        let band = line.stations.iter().map(|station| super::forecaster::Station {
            at: xy(station.at.x, station.at.y),
            half_width_m: 0.5 * (station.band_m[1] - station.band_m[0]),
        });
        let class = names.iter().zip(line.classes).map(|(name, p)| ((*name).to_owned(), p)).collect();
        LineForecast { course: CourseForecast::Band(band.collect()), class }
    });
    let crossing =
        |it: &underturf::metal::Crossing| CrossingForecast { at: xy(it.at.x, it.at.y), lines: it.lines };
    Forecast {
        flags: placed,
        lines: lines.collect(),
        crossings: summary.crossings.iter().filter(|it| it.probability >= 0.5).map(crossing).collect(),
        p_strike: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Names;
    use super::super::judge::{JUDGED, Judged, TRIED, sites};
    use super::*;
    use crate::page::Keeping;
    use std::fmt::Write;
    use std::ops::Range;
    use std::time::Instant;

    fn engine(draws: usize) -> MetalEngine {
        MetalEngine { engine: Engine { draws }, keys: Keys::WithDepthAndClass, passed: Cell::new(0) }
    }

    /// The table of an arm, and seconds of a site.
    fn run(range: Range<u64>, names: Names, title: &str) -> String {
        let all = sites(range, names);
        let engine = engine(1_000);
        let start = Instant::now();
        let judged = Judged::of(&all, &engine);
        let mut table = judged.table(title, &all);
        let _ = writeln!(
            table,
            "\nConvergence checks passed on {} of {} sites; {:.1} s a site.",
            engine.passed.get(),
            all.len(),
            start.elapsed().as_secs_f64() / all.len() as f64
        );
        println!("{table}");
        table
    }

    /// Sites that nothing is judged by, for whoever tries a setting: how many by WALK_SITES.
    #[test]
    #[ignore = "minutes: run with --ignored --nocapture"]
    fn walks_to_try() {
        let count: u64 = std::env::var("WALK_SITES").map_or(20, |text| text.parse().expect("a number"));
        let range = TRIED.start..TRIED.start + count;
        run(range.clone(), Names::NotGiven, "Sites to try settings on, names not given");
        run(range, Names::Given, "Sites to try settings on, names given");
    }

    #[test]
    #[ignore = "half an hour: run with --ignored --nocapture"]
    fn walks_200_without_names() {
        let keeping = Keeping::begin("walks_unnamed", "walk::engine::tests::walks_200_without_names");
        keeping.keep("200", "0 to 199", &run(JUDGED, Names::NotGiven, "Names not given"));
    }

    /// The first sixty: with names little is left in doubt.
    #[test]
    #[ignore = "minutes: run with --ignored --nocapture"]
    fn walks_60_with_names() {
        let keeping = Keeping::begin("walks_named", "walk::engine::tests::walks_60_with_names");
        keeping.keep("60", "0 to 59", &run(JUDGED.start..JUDGED.start + 60, Names::Given, "Names given"));
    }

    #[test]
    fn documents_are_read_without_faults() {
        for site in sites(0..10, Names::Given) {
            let value = document(&site.survey, &site.holes, Keys::WithDepthAndClass);
            let read = underturf::site::io::from_value(value);
            assert!(read.is_ok(), "{}: {:?}", site.survey.name(), read.err().map(|f| f.to_string()));
        }
    }

    /// Metal that carries the supply may leave a box out of reach of every pipe but itself: site 38 was refused for that, as were
    /// 12 and 117.
    #[test]
    fn no_walk_is_refused_for_its_supply() {
        let all = sites(38..39, Names::NotGiven);
        let forecast = engine(60).forecast(&all[0].survey, &all[0].holes);
        assert!(forecast.is_ok(), "{:?}", forecast.err());
    }

    /// The engine on two sites: most flags right, the score of holes below that of a constant rate. Fault that it catches: an
    /// adapter that hands on lines or holes in another order.
    #[test]
    fn two_walks_are_understood() {
        let all = sites(TRIED.start + 5..TRIED.start + 7, Names::Given);
        let judged = Judged::of(&all, &engine(200));
        assert!(judged.refused.is_empty(), "{:?}", judged.refused);
        assert!(judged.share(super::super::judge::FLAGS).value > 0.9);
        let (p, y, _) = judged.holes();
        let (rate, n) = (y.iter().sum::<f64>() / y.len() as f64, y.len() as f64);
        let brier = p.iter().zip(&y).map(|(p, y)| (p - y).powi(2)).sum::<f64>() / n;
        assert!(brier < 0.7 * rate * (1.0 - rate), "{brier}");
    }
}
