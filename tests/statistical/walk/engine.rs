//! The engine on trial with lines of metal: a survey in as a site document; flags, courses, classes, crossings, chances out.

use super::document::{Keys, document};
use super::forecaster::{
    CourseForecast, CrossingForecast, FlagForecast, Forecast, LineForecast, MetalForecaster,
};
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
        if let Some(checked) =
            layouts.metal().map(underturf::inference::Metal::checked).filter(|c| !c.passed())
        {
            let row = |row: &underturf::mcmc::diagnostics::Row| {
                format!("{} {:.2?} {:.0?}", row.name, row.r_hat, row.ess_bulk)
            };
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

    /// A look at the chains of one site: WALK_SITE.
    #[test]
    #[ignore = "prints"]
    fn walk_look() {
        let seed: u64 =
            std::env::var("WALK_SITE").map_or(TRIED.start, |text| text.parse().expect("a number"));
        let site = super::super::site(seed, Names::NotGiven);
        let engine = Engine { draws: 200 };
        let start = Instant::now();
        let layouts = engine
            .layouts(document(&site.survey, &site.holes, Keys::WithDepthAndClass), &RunBudget::default())
            .unwrap();
        let metal = layouts.metal().unwrap();
        println!("{:?}", start.elapsed());
        for (k, item) in metal.evidence().items.iter().enumerate() {
            let truth = match item.origin {
                Origin::Flag(f) => format!("{:?}", site.truth.flags[f]),
                _ => String::new(),
            };
            println!(
                "  {k} {:?} ({:.2}, {:.2}) sd {:.2} name {:?} {truth}",
                item.origin, item.at.x, item.at.y, item.sd_m, item.name
            );
        }
        println!("{}", metal.look());
    }

    /// Where names make a difference.
    #[test]
    #[ignore = "prints"]
    fn walk_compare() {
        let engine = MetalEngine { engine: Engine { draws: 1_000 }, keys: Keys::WithDepthAndClass };
        for seed in TRIED.start..TRIED.start + 16 {
            let both = [Names::NotGiven, Names::Given].map(|names| super::super::site(seed, names));
            let found = [0, 1].map(|k| engine.forecast(&both[k].survey, &both[k].holes).unwrap());
            let y = |k: usize| f64::from(u8::from(both[0].truth.strikes(&both[0].holes[k])));
            let brier = |f: &Forecast| (0..both[0].holes.len()).map(|k| (f.p_strike[k] - y(k)).powi(2)).sum::<f64>();
            println!("{seed}: {:.2} {:.2} lines {} {}", brier(&found[0]), brier(&found[1]), found[0].lines.len(), found[1].lines.len());
            for k in 0..both[0].holes.len() {
                let (a, b) = (found[0].p_strike[k], found[1].p_strike[k]);
                if (a - b).abs() > 0.3 {
                    let h = &both[0].holes[k];
                    println!("    hole ({:.2}, {:.2}) r {:.2} depth {:.2}: {a:.2} {b:.2} true {}", h.at.x, h.at.y, h.radius_m, h.depth_m, y(k));
                }
            }
            for f in &found {
                for line in &f.lines {
                    let best = line.class.iter().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
                    print!("  {} {:.2};", best.0, best.1);
                }
                println!();
            }
            println!("  true {:?}", both[0].truth.lines.iter().map(|l| l.class.name()).collect::<Vec<_>>());
        }
    }
}
