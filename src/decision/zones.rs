//! Which head is on which zone, summed over the zonings that draws came from: chances, heads that go together, and the likeliest
//! grouping.
//!
//! Valves that no document names and that share a box cannot be told apart: which of them is which changes from draw to draw. What
//! does not depend on their names is which heads share one.

use super::valves::{exchangeable_zones, group_names};
use crate::inference::Layouts;

/// One whole zoning, and how sure each head is in it.
#[derive(Clone, Debug, PartialEq)]
pub struct LikelyGroups {
    /// For each head, what its zone is called: see [`group_names`].
    pub names: Vec<String>,
    /// For each head, of a zone that can be told from others the chance to be on it; else the chance to share its zone with another
    /// head of its group, the mean over these; of a head alone in its group, the chance to be alone.
    pub probability: Vec<f64>,
}

/// For each head the chance to be on each zone of the site; each row sums to one.
///
/// # Examples
/// ```
/// let layouts = underturf::example::layouts()?;
/// let chances = underturf::decision::zone_chances(&layouts);
/// assert!(chances[0][0] > 0.9 && chances[3][1] > 0.9 && chances.len() == 6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn zone_chances(layouts: &Layouts) -> Vec<Vec<f64>> {
    let site = layouts.site();
    on_zones(layouts.zonings(), layouts.zoning_shares(), [site.heads.len(), site.zones.len()])
}

/// For each two heads the chance to be on one zone, whichever that is.
///
/// # Examples
/// ```
/// let layouts = underturf::example::layouts()?;
/// let same = underturf::decision::same_zone_chances(&layouts);
/// assert!(same[0][0] == 1.0 && same[0][1] > 0.9 && same[0][3] < 0.1 && same[0][3] == same[3][0]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn same_zone_chances(layouts: &Layouts) -> Vec<Vec<f64>> {
    together(layouts.zonings(), layouts.zoning_shares(), layouts.site().heads.len())
}

/// The zoning, of those that draws came from, whose pairs of heads on one zone come nearest to [`same_zone_chances`] (least squares,
/// the loss of Binder 1978).
///
/// # Examples
/// ```
/// let layouts = underturf::example::layouts()?;
/// let groups = underturf::decision::likely_groups(&layouts);
/// assert_eq!(groups.names, ["1", "1", "1", "2", "2", "2"]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn likely_groups(layouts: &Layouts) -> LikelyGroups {
    let (site, zonings, shares) = (layouts.site(), layouts.zonings(), layouts.zoning_shares());
    let same = together(zonings, shares, site.heads.len());
    let Some(chosen) = nearest(zonings, &same).map(|k| &zonings[k]) else {
        return LikelyGroups { names: Vec::new(), probability: Vec::new() };
    };
    let alike: Vec<usize> = exchangeable_zones(site).into_iter().flatten().collect();
    let chance = |head: usize| {
        if alike.contains(&chosen[head]) {
            return with_its_group(head, chosen, zonings, shares, &same);
        }
        let on = zonings.iter().zip(shares).filter(|(zoning, _)| zoning[head] == chosen[head]);
        on.map(|(_, share)| share).sum::<f64>()
    };
    let probability = (0..chosen.len()).map(|head| chance(head).clamp(0.0, 1.0)).collect();
    LikelyGroups { names: group_names(site, chosen), probability }
}

fn on_zones(zonings: &[Vec<usize>], shares: &[f64], [heads, zones]: [usize; 2]) -> Vec<Vec<f64>> {
    let mut chances = vec![vec![0.0; zones]; heads];
    for (zoning, share) in zonings.iter().zip(shares) {
        zoning.iter().enumerate().for_each(|(head, &zone)| chances[head][zone] += share);
    }
    for row in &mut chances {
        let sum: f64 = row.iter().sum(); // shares sum to one but for rounding
        row.iter_mut().for_each(|chance| *chance /= sum);
    }
    chances
}

/// The heads of each zone of a zoning.
fn by_zone(zoning: &[usize]) -> Vec<Vec<usize>> {
    let mut zones = vec![Vec::new(); zoning.iter().max().map_or(0, |most| most + 1)];
    zoning.iter().enumerate().for_each(|(head, &zone)| zones[zone].push(head));
    zones
}

fn together(zonings: &[Vec<usize>], shares: &[f64], heads: usize) -> Vec<Vec<f64>> {
    let mut same = vec![vec![0.0; heads]; heads];
    for (zoning, share) in zonings.iter().zip(shares) {
        for on in by_zone(zoning) {
            for &head in &on {
                on.iter().for_each(|&other| same[head][other] += share);
            }
        }
    }
    for (head, row) in same.iter_mut().enumerate() {
        row.iter_mut().for_each(|chance| *chance = chance.clamp(0.0, 1.0));
        row[head] = 1.0;
    }
    same
}

/// Losses that differ by less than this are one, so that of equals the first is taken on every machine. Numerical choice.
const EQUAL: f64 = 1e-9;

/// The zoning whose pairs on one zone come nearest, by squares, to these chances.
fn nearest(zonings: &[Vec<usize>], same: &[Vec<f64>]) -> Option<usize> {
    // (s - p)^2 = s (1 - 2 p) + p^2 for s = 0 or 1, and the last part is the same for all.
    let loss = |zoning: &Vec<usize>| -> f64 {
        let of = |on: Vec<usize>| -> f64 {
            on.iter().map(|&a| on.iter().map(|&b| 1.0 - 2.0 * same[a][b]).sum::<f64>()).sum()
        };
        (by_zone(zoning).into_iter().map(of).sum::<f64>() / EQUAL).round()
    };
    let losses: Vec<f64> = zonings.iter().map(loss).collect();
    (0..losses.len()).min_by(|a, b| losses[*a].total_cmp(&losses[*b]))
}

/// Chance of a head to share its zone with another of its group, the mean over these; of one alone, to be alone.
fn with_its_group(
    head: usize,
    chosen: &[usize],
    zonings: &[Vec<usize>],
    shares: &[f64],
    same: &[Vec<f64>],
) -> f64 {
    let others: Vec<usize> =
        (0..chosen.len()).filter(|other| *other != head && chosen[*other] == chosen[head]).collect();
    if others.is_empty() {
        let alone = |zoning: &Vec<usize>| zoning.iter().filter(|zone| **zone == zoning[head]).count() == 1;
        return zonings.iter().zip(shares).filter(|(zoning, _)| alone(zoning)).map(|(_, share)| share).sum();
    }
    others.iter().map(|&other| same[head][other]).sum::<f64>() / others.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn zonings() -> (Vec<Vec<usize>>, Vec<f64>) {
        (vec![vec![0, 0, 1], vec![0, 1, 1]], vec![0.25, 0.75])
    }

    /// By hand. Planted fault: zonings that count alike give a half everywhere.
    #[test]
    fn chances_are_sums_of_shares() {
        let (zonings, shares) = zonings();
        assert_eq!(together(&zonings, &shares, 3), [[1.0, 0.25, 0.0], [0.25, 1.0, 0.75], [0.0, 0.75, 1.0]]);
        assert_eq!(on_zones(&zonings, &shares, [3, 2]), [[1.0, 0.0], [0.25, 0.75], [0.0, 1.0]]);
        assert_eq!(together(&zonings, &[0.5, 0.5], 3)[0][1], 0.5);
    }

    /// By hand: two zonings of four agree on heads 0 and 1 apart and 2 with 1. Planted fault: the names of zones count for nothing.
    #[test]
    fn the_nearest_zoning_heeds_pairs_alone() {
        let all = vec![vec![0, 1, 1], vec![0, 0, 1], vec![1, 1, 0], vec![0, 0, 0]];
        let same = together(&all, &[0.25; 4], 3);
        assert_eq!(nearest(&all, &same), Some(1), "the first of two that are the same but for names");
        let turned: Vec<Vec<usize>> = all.iter().map(|it| it.iter().map(|zone| 1 - zone).collect()).collect();
        assert_eq!(together(&turned, &[0.25; 4], 3), same);
        assert_eq!(nearest(&[], &[]), None);
    }

    /// By hand: head 0 is alone in a quarter. Planted fault: the mean over no other head would be no number.
    #[test]
    fn a_head_is_as_sure_as_its_company() {
        let (zonings, shares) = (vec![vec![0, 1, 1], vec![0, 0, 1]], vec![0.25, 0.75]);
        let same = together(&zonings, &shares, 3);
        assert_relative_eq!(with_its_group(0, &zonings[0], &zonings, &shares, &same), 0.25);
        assert_relative_eq!(with_its_group(1, &zonings[0], &zonings, &shares, &same), 0.25);
        assert_relative_eq!(with_its_group(1, &zonings[1], &zonings, &shares, &same), 0.75);
    }
}
