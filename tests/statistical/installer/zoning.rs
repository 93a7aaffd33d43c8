//! Heads parted into zones by kind and by what the supply can feed, and valves placed by either of the two schools
//! (python/docs/trade-values.md, 3.5, 3.8, 3.21): clustered in one or two boxes, or each in its own zone.

use super::coverage::SetHead;
use super::dice::Dice;
use super::grounds::Grounds;
use crate::job::HeadKind;
use crate::plane::{Xy, extent, xy};

/// Heads of one zone, by index.
pub type ZoneHeads = Vec<usize>;

/// Splits the heads, or gives nothing when the site would need more than four zones or leave one with too few heads.
pub fn split(heads: &[SetHead], dice: &mut Dice) -> Option<Vec<ZoneHeads>> {
    let mut zones = Vec::new();
    for (kind, cap) in [(HeadKind::Rotor, dice.whole(5, 9)), (HeadKind::Spray, dice.whole(8, 14))] {
        let all: ZoneHeads = (0..heads.len()).filter(|&i| heads[i].kind == kind).collect();
        if all.is_empty() {
            continue;
        }
        bisect(heads, all.clone(), all.len().div_ceil(cap), &mut zones);
    }
    (zones.len() <= 4 && !zones.is_empty() && zones.iter().all(|z| (4..=14).contains(&z.len())))
        .then_some(zones)
}

/// Contiguous parts: cut across the longer extent, again and again.
fn bisect(heads: &[SetHead], mut part: ZoneHeads, parts: usize, out: &mut Vec<ZoneHeads>) {
    if parts <= 1 {
        out.push(part);
        return;
    }
    let (low, high) = extent(&part.iter().map(|&i| heads[i].at).collect::<Vec<_>>());
    // a slight slant keeps a row of heads together when the cut runs through it
    let key = |p: Xy| if high.x - low.x >= high.y - low.y { p.x + 0.02 * p.y } else { p.y + 0.02 * p.x };
    part.sort_by(|&a, &b| key(heads[a].at).total_cmp(&key(heads[b].at)));
    let first = parts / 2;
    let rest = part.split_off((part.len() * first + parts / 2) / parts);
    bisect(heads, part, first, out);
    bisect(heads, rest, parts - first, out);
}

/// A box and the zones (by index) whose valves it holds.
pub struct PlacedBox {
    pub at: Xy,
    pub zones: Vec<usize>,
}

/// Places the valve boxes.
pub fn place_boxes(
    grounds: &Grounds,
    heads: &[SetHead],
    zones: &[ZoneHeads],
    dice: &mut Dice,
) -> Vec<PlacedBox> {
    let centre = |zs: &[usize]| {
        let all: Vec<Xy> = zs.iter().flat_map(|&z| zones[z].iter().map(|&i| heads[i].at)).collect();
        all.iter().fold(xy(0.0, 0.0), |s, &p| s + p) * (1.0 / all.len() as f64)
    };
    if dice.chance(0.6) {
        let every: Vec<usize> = (0..zones.len()).collect();
        let groups = if zones.len() >= 3 && dice.chance(0.4) {
            let (a, b) = every.split_at(zones.len() / 2);
            vec![a.to_vec(), b.to_vec()]
        } else {
            vec![every]
        };
        groups
            .into_iter()
            .enumerate()
            .map(|(g, zs)| {
                // by the meter, or by a corner of the house, on the way to the zones
                let near = if g == 0 && dice.chance(0.6) {
                    grounds.meter + (centre(&zs) - grounds.meter).unit() * dice.uniform(0.6, 3.0)
                } else if let Some(house) = grounds.outlines("building").next() {
                    let c = house[dice.whole(0, house.len() - 1)];
                    c + (centre(&zs) - c).unit() * dice.uniform(0.5, 1.5)
                } else {
                    grounds.meter.between(centre(&zs), dice.uniform(0.2, 0.7))
                };
                PlacedBox { at: grounds.open_near(near, 0.3, dice), zones: zs }
            })
            .collect()
    } else {
        (0..zones.len())
            .map(|z| {
                let c = centre(&[z]);
                let lead = heads[zones[z][dice.whole(0, zones[z].len() - 1)]].at;
                let near = if dice.chance(0.6) {
                    // beside one of the zone's heads, on the side of the middle
                    lead + (c - lead).unit() * dice.uniform(0.5, 1.5)
                } else {
                    grounds.meter.between(c, dice.uniform(0.5, 0.9))
                };
                PlacedBox { at: grounds.open_near(near, 0.3, dice), zones: vec![z] }
            })
            .collect()
    }
}
