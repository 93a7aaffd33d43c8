//! Chains as columns: what was watched, chain by chain, and how they ran. What the checks say of it is worked out again.

use super::columns::Columns;
use crate::error::{Error, KeptFault};
use crate::inference::convergence::{Convergence, Moved, Watched, judged};
use crate::mcmc::diagnostics::{Kind, Thresholds};

/// The words for kinds of quantities.
const KINDS: [(Kind, &str); 2] = [(Kind::Scalar, "scalar"), (Kind::Probability, "probability")];

/// Puts quantities in, as a group of their own.
pub(super) fn keep_watched(group: &str, watched: &[Watched], columns: &mut Columns) {
    let word = |kind: Kind| KINDS.iter().find(|known| known.0 == kind).map_or("scalar", |known| known.1);
    let names: Vec<String> = watched.iter().map(|it| it.name.clone()).collect();
    columns.put(format!("{group}/name"), names);
    let kinds: Vec<String> = watched.iter().map(|it| word(it.kind).to_owned()).collect();
    columns.put(format!("{group}/kind"), kinds);
    columns.put_whole(&format!("{group}/chains"), watched.iter().map(|it| it.chains.len()));
    let chains = || watched.iter().flat_map(|it| &it.chains);
    columns.put_whole(&format!("{group}_chains/states"), chains().map(Vec::len));
    columns.put(format!("{group}_states/value"), chains().flatten().copied().collect::<Vec<f64>>());
}

/// The quantities of a group.
pub(super) fn watched(group: &str, columns: &Columns) -> Result<Vec<Watched>, KeptFault> {
    let (names, kinds) = (columns.texts(&format!("{group}/name"))?, columns.texts(&format!("{group}/kind"))?);
    let values = columns.floats(&format!("{group}_states/value"))?;
    let states = columns.ranges(&format!("{group}_chains/states"), values.len())?;
    let own = columns.ranges(&format!("{group}/chains"), states.len())?;
    let mut watched = Vec::with_capacity(names.len());
    for (k, own) in own.into_iter().enumerate() {
        let kind = KINDS.iter().find(|known| known.1 == kinds[k]);
        let unread = || KeptFault::Text { column: format!("{group}/kind"), value: kinds[k].clone() };
        let kind = kind.ok_or_else(unread)?.0;
        let chains = states[own].iter().map(|chain| values[chain.clone()].to_vec()).collect();
        watched.push(Watched { name: names[k].clone(), kind, chains });
    }
    Ok(watched)
}

/// Puts in how chains over zonings went.
pub(super) fn keep(convergence: &Convergence, columns: &mut Columns) {
    keep_watched("watched", &convergence.watched, columns);
    let number = |value: Option<f64>| vec![value.unwrap_or(f64::NAN)];
    columns.put("chains/zoning_ess", number(convergence.zoning_ess));
    columns.put("chains/tree_ess", number(convergence.tree_ess));
    columns.put("chains/barrier", number(convergence.barrier));
    columns.put("chains/sweeps", vec![convergence.sweeps.to_string()]);
    columns.put("chains/round_trips", vec![convergence.round_trips.to_string()]);
    columns.put_flags("chains/accept_unconverged", [convergence.accept_unconverged]);
    let Thresholds { r_hat, ess, mcse_floor, mcse_share } = convergence.thresholds;
    for (name, value) in
        [("r_hat", r_hat), ("ess", ess), ("mcse_floor", mcse_floor), ("mcse_share", mcse_share)]
    {
        columns.put(format!("chains/least_{name}"), vec![value]);
    }
    columns.put("temperatures/beta", convergence.betas.clone());
    let moves = || convergence.moves.iter();
    columns.put("proposals/name", moves().map(|it| it.name.clone()).collect::<Vec<String>>());
    columns.put("proposals/tried", moves().map(|it| it.tried as i64).collect::<Vec<i64>>());
    columns.put("proposals/made", moves().map(|it| it.made as i64).collect::<Vec<i64>>());
}

/// How chains over zonings went; `None` where draws are independent.
pub(super) fn taken_up(columns: &Columns) -> Result<Option<Convergence>, Error> {
    if columns.get("chains/sweeps").is_none() {
        return Ok(None);
    }
    let maybe = |name: &str| columns.number(name).map(|value| Some(value).filter(|it| !it.is_nan()));
    let limit = |name: &str| columns.number(&format!("chains/least_{name}"));
    let thresholds = Thresholds {
        r_hat: limit("r_hat")?,
        ess: limit("ess")?,
        mcse_floor: limit("mcse_floor")?,
        mcse_share: limit("mcse_share")?,
    };
    let (zoning_ess, tree_ess) = (maybe("chains/zoning_ess")?, maybe("chains/tree_ess")?);
    let watched = watched("watched", columns)?;
    let checked = judged(&watched, [zoning_ess, tree_ess], &thresholds)?;
    let names = columns.texts("proposals/name")?;
    let counts = |name: &str| columns.indices(name, usize::MAX);
    let (tried, made) = (counts("proposals/tried")?, counts("proposals/made")?);
    let moved = |k: usize| Moved { name: names[k].clone(), tried: tried[k] as u64, made: made[k] as u64 };
    let accept_unconverged = columns.flags("chains/accept_unconverged")?.first().copied().unwrap_or(false);
    Ok(Some(Convergence {
        zoning_ess,
        tree_ess,
        sweeps: columns.written("chains/sweeps")? as usize,
        betas: columns.floats("temperatures/beta")?.to_vec(),
        barrier: maybe("chains/barrier")?,
        round_trips: columns.written("chains/round_trips")?,
        moves: (0..names.len()).map(moved).collect(),
        passed: checked.passed(),
        checked,
        watched,
        thresholds,
        accept_unconverged,
    }))
}
