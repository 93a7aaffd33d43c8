//! A part of a zone's tree joins another zone, or becomes a zone of its own; or a zone joins another.
//!
//! One of the K zones that are there is drawn, and one of as many options as it has heads: cut one of the runs of a random
//! tree of it, either side alike, or take it whole (only a zone that may be absent; else nothing happens). The part X so
//! cut, its own tree T_X kept, goes wherever the prior sends it. Where X joins zone C, the chance to draw X again is
//! `1/K * 1/(|C| + |X|) * 1/2 * w(T_X) tau_C w(X, C) / tau_(C + X)`, where it stands alone `1/(K + 1) * 1/|X| * w(T_X) /
//! tau_X`, K counting the zones without X. Times the density, which holds the tau of the zone X is in, this leaves the
//! weights below; drawing from them needs no ratio. Only zones with a head near X are looked at: which these are does not
//! depend on where X is, and where its own zone is not among them nothing happens. (Subtree prune and regraft with all
//! regrafts scored: Hohna & Drummond 2012, abstract read. Split and merge of zones: the number of zones changes, the space of
//! zonings is one.)

use super::mover::{Proposal, Proposals};
use super::zoning::Zoning;
use super::zoning::{between, draw_tree, joined, pick_log, side, without};
use rand::{Rng, RngExt};

pub(super) fn propose(
    moves: &Proposals<'_>,
    zoning: &Zoning,
    beta: f64,
    rng: &mut impl Rng,
) -> Option<Proposal> {
    let prior = moves.prior;
    let there: Vec<usize> = zoning.there().collect();
    let from = there[rng.random_range(0..there.len())];
    let heads = &zoning.parts[from].heads;
    let option = rng.random_range(0..heads.len());
    let part = if option + 1 < heads.len() {
        let edges = draw_tree(prior, heads, rng);
        let (a, b) = edges[option];
        side(&edges, option, if rng.random::<bool>() { a } else { b })
    } else if prior.may_be_bare(from) {
        heads.clone()
    } else {
        return None;
    };
    let rest = without(heads, &part);
    let bare = prior.share(from, &rest);
    let zones = there.len() - usize::from(rest.is_empty());
    let beside = moves.beside(&part, zoning);
    if !rest.is_empty() && !beside.contains(&from) {
        return None;
    }
    let (mut options, mut logs) = (Vec::new(), Vec::new());
    for zone in 0..prior.zones() {
        let members = if zone == from { &rest } else { &zoning.parts[zone].heads };
        let (log, after) = if !members.is_empty() {
            if !beside.contains(&zone) {
                continue;
            }
            let chances = 2.0 * (members.len() + part.len()) as f64 * zones as f64;
            ((between(prior, &part, members) / chances).ln(), joined(members, &part))
        } else if prior.may_be_bare(zone) {
            (-((part.len() * (zones + 1)) as f64).ln(), part.clone())
        } else {
            continue;
        };
        let joined = prior.share(zone, &after);
        let shares = [(from, &bare), (zone, &joined)];
        logs.push(log + zoning.weight_with(prior, beta, if zone == from { &shares[1..] } else { &shares }));
        options.push((zone, after));
    }
    let (to, after) = options.swap_remove(pick_log(&logs, rng)?);
    (to != from).then(|| Proposal { change: vec![(from, rest), (to, after)], log_ratio: 0.0 })
}
