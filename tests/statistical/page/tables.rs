//! The tables that slow tests write, each with the sources that it judges: when these change, the page says that the table was
//! not rerun. A table of simulated sites judges the simulator along with the engine.

use Judged::{Decisions, Engine, Metal, Simulator, Walks, ZoningPrior};

/// Parts of the repository that a table can depend on.
#[derive(Clone, Copy)]
enum Judged {
    /// From a document to layouts and strike probabilities.
    Engine,
    /// Shifts and plans of probes.
    Decisions,
    /// The prior of zonings and the proposals that walk over it.
    ZoningPrior,
    /// Metal lines.
    Metal,
    /// The installer simulator.
    Simulator,
    /// The simulator of detector walks.
    Walks,
}

impl Judged {
    fn paths(self) -> &'static [&'static str] {
        match self {
            Self::Engine => &[
                "src/class.rs",
                "src/geometry",
                "src/inference",
                "src/layout",
                "src/mcmc",
                "src/metal",
                "src/model",
                "src/rng.rs",
                "src/settings.rs",
                "src/site",
                "src/spanning_tree",
                "src/strike",
            ],
            Self::Decisions => &["src/decision", "src/planting"],
            Self::ZoningPrior => &[
                "src/geometry",
                "src/inference/proposals",
                "src/model",
                "src/rng.rs",
                "src/settings.rs",
                "src/site",
                "src/spanning_tree",
            ],
            Self::Metal => &["src/geometry", "src/inference/metal.rs", "src/metal", "src/rng.rs"],
            Self::Walks => &["tests/statistical/walk"],
            Self::Simulator => &["tests/statistical/installer", "tests/statistical/digs.rs"],
        }
    }
}

const TABLES: &[(&str, &[Judged])] = &[
    ("installer_sites", &[Engine, Simulator]),
    ("installer_sites_held_out", &[Engine, Simulator]),
    ("installer_sites_ceiling", &[Simulator]),
    ("five_probes", &[Engine, Simulator]),
    ("five_probes_ceiling", &[Simulator]),
    ("planned_probes", &[Engine, Decisions, Simulator]),
    ("planned_probes_unknown_zones", &[Engine, Decisions, Simulator]),
    ("unknown_zones", &[Engine, Simulator]),
    ("unknown_zones_five_probes", &[Engine, Simulator]),
    ("neighbours", &[Engine]),
    ("zoning_prior", &[ZoningPrior, Simulator]),
    ("zoning_prior_changed", &[ZoningPrior, Simulator]),
    ("feeders", &[Engine]),
    ("campaigns_without_probes", &[Engine, Decisions, Simulator]),
    ("campaigns_known_zones", &[Engine, Decisions, Simulator]),
    ("campaigns_every_crew", &[Engine, Decisions, Simulator]),
    ("campaigns_unknown_zones", &[Engine, Decisions, Simulator]),
    ("sbc", &[Engine]),
    ("sbc_deaf", &[Engine]),
    ("sbc_reweighted", &[Engine]),
    ("sbc_zones", &[Engine]),
    ("sbc_zones_other_sites", &[Engine]),
    ("sbc_zones_deaf", &[Engine]),
    ("sbc_metal", &[Metal]),
    ("walks_named", &[Metal, Walks]),
    ("walks_unnamed", &[Metal, Walks]),
];

pub fn names() -> impl Iterator<Item = &'static str> {
    TABLES.iter().map(|(name, _)| *name)
}

/// Paths of the sources that the table of that name judges. Figures that no test writes have none.
pub fn judged(name: &str) -> Vec<&'static str> {
    let (_, parts) =
        TABLES.iter().find(|(table, _)| *table == name).unwrap_or_else(|| panic!("no table {name}"));
    parts.iter().flat_map(|part| part.paths()).copied().collect()
}
