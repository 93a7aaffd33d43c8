//! The engine on trial with lines of metal: a survey in as a site document; flags, courses, classes, crossings, chances out.

use super::document::{Keys, document};
use super::forecaster::{CourseForecast, CrossingForecast, FlagForecast, Forecast, LineForecast, MetalForecaster};
use super::survey::Survey;
use crate::engine::Engine;
use crate::job::Hole;
use crate::plane::xy;
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
        if let Some(checked) = layouts.metal().map(underturf::inference::Metal::checked).filter(|c| !c.passed()) {
            let row = |row: &underturf::mcmc::diagnostics::Row| format!("{} {:.2?} {:.0?}", row.name, row.r_hat, row.ess_bulk);
            println!("{}: {}", survey.name(), checked.rows.iter().map(row).collect::<Vec<_>>().join(", "));
        }
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
    let crossing = |it: &underturf::metal::Crossing| CrossingForecast { at: xy(it.at.x, it.at.y), lines: it.lines };
    Forecast {
        flags: placed,
        lines: lines.collect(),
        crossings: summary.crossings.iter().filter(|it| it.probability >= 0.5).map(crossing).collect(),
        p_strike: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::judge::{JUDGED, Judged, TRIED, sites};
    use super::super::{Names, survey};
    use super::*;
    use std::time::Instant;

    fn run(range: std::ops::Range<u64>, title: &str) {
        for (names, arm) in [(Names::NotGiven, "names not given"), (Names::Given, "names given")] {
            let all = sites(range.clone(), names);
            let engine = MetalEngine { engine: Engine { draws: 1_000 }, keys: Keys::WithDepthAndClass };
            let start = Instant::now();
            let judged = Judged::of(&all, &engine);
            println!("{}", judged.table(&format!("{title}, {arm}"), &all));
            println!("{:.1} s a site", start.elapsed().as_secs_f64() / all.len() as f64);
        }
    }

    /// Sites that nothing is judged by: how many by WALK_SITES.
    #[test]
    #[ignore = "minutes"]
    fn walk_tried() {
        let count: u64 = std::env::var("WALK_SITES").map_or(20, |text| text.parse().expect("a number"));
        run(TRIED.start..TRIED.start + count, "Sites to try settings on");
    }

    #[test]
    #[ignore = "hours"]
    fn walk_judged() {
        run(JUDGED, "The engine on the judged sites");
    }

    #[test]
    fn documents_are_read_without_faults() {
        let _ = survey::Class::ALL;
        for site in sites(0..10, Names::Given) {
            let value = document(&site.survey, &site.holes, Keys::WithDepthAndClass);
            let read = underturf::site::io::from_value(value);
            assert!(read.is_ok(), "{}: {:?}", site.survey.name(), read.err().map(|f| f.to_string()));
        }
    }
}
