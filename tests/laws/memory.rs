//! Memory is asked for before work: too many draws, cells or places are refused at once, with the number that would fit.

use serde_json::json;
use std::sync::Arc;
use underturf::Error;
use underturf::decision::{
    PlaceOptions, ProbePlan, SpotOptions, best_spots, dig_maps, plan_probes, strike_map,
};
use underturf::error::MemoryUse;
use underturf::inference::{Layouts, SampleOptions, sample_layouts};
use underturf::memory;
use underturf::monitor::{Monitor, Unwatched};
use underturf::site::io;

/// A caller who allows so many bytes.
struct Allows(u64);

impl Monitor for Allows {
    fn tick(&self, _done: usize, _total: usize) -> bool {
        true
    }

    fn memory_limit(&self) -> Option<u64> {
        Some(self.0)
    }
}

fn layouts(draws: usize, monitor: &dyn Monitor) -> Result<Layouts, Error> {
    let document = json!({
        "format": "underturf-site/2", "units": "m",
        "heads": [{"id": "a", "x": 0.0, "y": 0.0, "zone": "1"}, {"id": "b", "x": 4.0, "y": 0.0, "zone": "1"}],
        "valve_boxes": [{"id": "v", "x": 2.0, "y": -3.0, "zones": ["1"]}],
        "digs": [{"id": "d", "x": 2.0, "y": 0.3, "radius": 0.4, "depth": 0.4}],
    });
    let site = Arc::new(io::from_value(document).expect("a sound document"));
    sample_layouts(&site, &SampleOptions { draws, seed: 1 }, monitor)
}

fn refused<T>(of: Result<T, Error>, wanted: MemoryUse) -> (usize, usize, String) {
    match of {
        Err(error @ Error::TooMuchMemory { .. }) => {
            let said = error.to_string();
            let Error::TooMuchMemory { used, asked, fit, .. } = error else { unreachable!() };
            assert_eq!(used, wanted);
            (asked, fit, said)
        }
        Err(error) => panic!("{error}"),
        Ok(_) => panic!("{wanted}: not refused"),
    }
}

/// Fifty million draws would need tens of gigabytes: refused in no time, with a number of draws that is then granted. Planted
/// fault: a check after the work would run for minutes here.
#[test]
fn draws_that_do_not_fit_are_refused_with_the_number_that_does() {
    let allows = Allows(10_000_000);
    let (asked, fit, said) = refused(layouts(50_000_000, &allows), MemoryUse::Draws);
    assert!(asked == 50_000_000 && fit > 1_000 && fit < 20_000, "{fit}");
    assert!(said.starts_with("draws = 50,000,000 needs about ") && said.contains("fit in 10 MB"), "{said}");
    assert_eq!(layouts(1_000, &allows).expect("what fits").draws().len(), 1_000);
    assert!(layouts(fit + 1, &allows).is_err());
}

#[test]
fn cells_and_places_that_do_not_fit_are_refused() {
    let (layouts, allows) = (layouts(50, &Unwatched).expect("layouts"), Allows(1_000_000));
    let digs = layouts.site().digs.clone();
    let (asked, fit, _) = refused(strike_map(&layouts, 0.3, 0.4, 0.01, None, &allows), MemoryUse::Cells);
    assert!(asked > fit && fit > 10_000);
    // A step of a micrometre: more cells than there are bytes in the world.
    refused(dig_maps(&layouts, &digs, &PlaceOptions::within(50.0, 1e-6), &allows), MemoryUse::Cells);
    refused(dig_maps(&layouts, &digs, &PlaceOptions::within(50.0, 1e-15), &allows), MemoryUse::Cells);
    refused(
        best_spots(&layouts, &SpotOptions { cell_m: 0.02, ..SpotOptions::new(1, 0.3, 0.4) }, &allows),
        MemoryUse::Cells,
    );
    let plan = |cell_m| ProbePlan { cell_m: Some(cell_m), ..ProbePlan::new(1, 0.25) };
    refused(plan_probes(&layouts, &digs, &plan(0.001), &allows), MemoryUse::Cells);
    let many = self::layouts(4_000, &Unwatched).expect("layouts");
    refused(plan_probes(&many, &digs, &plan(0.25), &allows), MemoryUse::ProbePlaces);
    // What is small enough is not refused.
    assert!(strike_map(&layouts, 0.3, 0.4, 0.1, None, &allows).is_ok());
    assert!(dig_maps(&layouts, &digs, &PlaceOptions::within(1.5, 0.1), &allows).is_ok());
}

/// Where nothing is said the limit is half of what is free: some, and less than any machine has.
#[test]
fn the_limit_as_shipped_is_what_the_system_has_to_spare() {
    let limit = memory::limit(&Unwatched);
    assert!(limit > 10_000_000 && limit < 1 << 50, "{limit}");
    assert_eq!(memory::limit(&Allows(7)), 7);
}
