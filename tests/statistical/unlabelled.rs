//! Site documents that do not say which head is on which zone: what a crew writes that has counted the valves, or run some
//! of them and noted which heads came up, but has not flagged heads by zone.

use crate::adapter;
use crate::installer::Dice;
use crate::job::{Hole, Survey};
use serde_json::{Value, json};
use underturf::inference::RunBudget;

/// How much of the zones a document tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// The zone of every head.
    Zones,
    /// What came up on every valve.
    AllTests,
    /// What came up on one valve, any of them alike.
    OneTest,
    /// How many valves are in each box.
    Valves,
}

impl Told {
    pub const ALL: [Self; 4] = [Self::Zones, Self::AllTests, Self::OneTest, Self::Valves];

    pub fn name(self) -> &'static str {
        match self {
            Self::Zones => "zones known",
            Self::AllTests => "all valves run",
            Self::OneTest => "one valve run",
            Self::Valves => "valves counted",
        }
    }
}

/// The document of a survey that tells so much of the zones. Tests are noted without an error.
pub fn document(survey: &Survey, digs: &[Hole], told: Told, seed: u64) -> Value {
    let mut document = adapter::document(survey, digs);
    if told == Told::Zones {
        return document;
    }
    forget(&mut document);
    let zones = survey.zones();
    let run = match told {
        Told::Zones | Told::Valves => &[],
        Told::AllTests => zones.as_slice(),
        Told::OneTest => {
            let k = Dice::new(seed ^ 0x_7e57_0000_0000).whole(0, zones.len() - 1);
            &zones[k..=k]
        }
    };
    if run.is_empty() {
        for held in document["valve_boxes"].as_array_mut().expect("boxes") {
            let held = held.as_object_mut().expect("a box");
            let zones = held.remove("zones").expect("zones");
            held.insert("valves".into(), zones.as_array().expect("zones").len().into());
        }
    } else {
        document["station_tests"] =
            run.iter().map(|zone| json!({"zone": zone, "heads": raised(survey, zone)})).collect();
    }
    document
}

/// The survey as a crew sees it that is told so much: who only knows how many valves there are sees one zone for all.
pub fn seen(survey: &Survey, told: Told) -> Survey {
    let mut survey = survey.clone();
    if told != Told::Zones {
        survey.heads.iter_mut().for_each(|head| head.zone = "any".into());
        survey.boxes.iter_mut().for_each(|held| held.zones = vec!["any".into()]);
    }
    survey
}

/// What is done where chains over zones do not pass: an answer is taken all the same, to be counted as such.
pub fn budget(told: Told) -> RunBudget {
    match told {
        Told::Zones => RunBudget::default(),
        _ => RunBudget { accept_unconverged: true, longest: 2, ..RunBudget::default() },
    }
}

/// Takes the zone off every head.
pub fn forget(document: &mut Value) {
    for head in document["heads"].as_array_mut().expect("heads") {
        head.as_object_mut().expect("a head").remove("zone");
    }
}

/// Ids of the heads that come up when a zone runs.
fn raised(survey: &Survey, zone: &str) -> Vec<String> {
    let heads = survey.heads.iter().enumerate().filter(|(_, head)| head.zone == zone);
    heads.map(|(k, _)| format!("h{}", k + 1)).collect()
}

/// Near heads, so many for each head, as pairs: those that one zone or two may hold.
pub fn near_pairs(survey: &Survey, near: usize) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    for (a, head) in survey.heads.iter().enumerate() {
        let mut others: Vec<usize> = (0..survey.heads.len()).filter(|&b| b != a).collect();
        let way = |b: usize| survey.heads[b].at.to(head.at);
        others.sort_by(|&b, &c| way(b).total_cmp(&way(c)));
        pairs.extend(others.into_iter().take(near).map(|b| (a.min(b), a.max(b))));
    }
    pairs.sort_unstable();
    pairs.dedup();
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::installer;
    use underturf::site::io;

    #[test]
    fn documents_tell_as_much_of_the_zones_as_they_say() {
        let survey =
            (0..).map(|seed| installer::job(seed).survey).find(|s| s.zones().len() == 3).expect("a site");
        for told in Told::ALL {
            let site = io::from_value(document(&survey, &[], told, 1)).expect("a sound document");
            assert_eq!(site.zones.len(), 3, "{told:?}");
            assert_eq!(site.heads.iter().all(|head| head.zone.is_some()), told == Told::Zones);
            let tests = match told {
                Told::Zones | Told::Valves => 0,
                Told::OneTest => 1,
                Told::AllTests => 3,
            };
            assert_eq!(site.station_tests.len(), tests);
            for test in &site.station_tests {
                let name = &site.zones[test.zone.expect("a named zone")].name;
                let up = |&h: &usize| survey.heads[h].zone == *name;
                assert!(test.heads.iter().all(up));
                assert_eq!(test.heads.len(), survey.heads.iter().filter(|h| h.zone == *name).count());
            }
        }
    }

    #[test]
    fn near_pairs_by_hand() {
        let mut survey = installer::job(0).survey;
        survey.heads.truncate(4);
        for (head, x) in survey.heads.iter_mut().zip([0.0, 1.0, 2.1, 9.0]) {
            head.at = crate::plane::xy(x, 0.0);
        }
        assert_eq!(near_pairs(&survey, 1), [(0, 1), (1, 2), (2, 3)]);
    }
}
