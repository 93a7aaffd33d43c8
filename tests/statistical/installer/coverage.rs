//! Heads set for coverage, before any thought of pipe: corners first, then edges at head-to-head spacing, then the
//! middle (python/docs/trade-values.md, 3.3, 3.4, 3.4c, 3.15). Square or triangular fill; sprays and rotors never on one panel.

use super::dice::Dice;
use super::grounds::Grounds;
use crate::job::HeadKind;
use crate::plane::{Xy, area, edges, extent, grown, inside, length, to_edge, xy};

/// A head as set in the ground. `lap` is the way along the panel's edge for a head that stands on it.
#[derive(Clone, Debug)]
pub struct SetHead {
    pub at: Xy,
    pub kind: HeadKind,
    pub radius_m: f64,
    pub panel: usize,
    pub lap: Option<f64>,
}

/// Sets the heads of every panel.
pub fn set_heads(grounds: &Grounds, dice: &mut Dice) -> Vec<SetHead> {
    let triangular = dice.chance(0.25);
    let jitter = dice.uniform(0.03, 0.22);
    let inset = dice.uniform(0.12, 0.30);
    let mut heads: Vec<SetHead> = Vec::new();
    for (panel, outline) in grounds.panels.iter().enumerate() {
        let (low, high) = extent(outline);
        let breadth = (high.x - low.x).min(high.y - low.y);
        if breadth < 1.5 {
            continue; // python/docs/trade-values.md, 3.15c: no heads in strips this narrow
        }
        let rotor = breadth > 8.0 && dice.chance(if area(outline).abs() > 260.0 { 0.95 } else { 0.5 });
        let (kind, radius_m) = if rotor {
            (HeadKind::Rotor, dice.uniform(8.0, 12.0))
        } else {
            (HeadKind::Spray, dice.uniform(3.5, 5.0))
        };
        for (p, lap) in cover_panel(outline, radius_m, inset, triangular, dice) {
            let at = grounds.open_near(p + dice.scatter(jitter), 0.1, dice);
            if at.to(p) < 0.35 * radius_m
                && heads.iter().all(|h| h.at.to(at) > 0.4 * radius_m.min(h.radius_m))
            {
                heads.push(SetHead { at, kind, radius_m, panel, lap });
            }
        }
    }
    odd_heads(grounds, &mut heads, dice);
    heads
}

/// Spots for one panel, edge spots with their way along the edge.
fn cover_panel(
    outline: &[Xy],
    reach: f64,
    inset: f64,
    triangular: bool,
    dice: &mut Dice,
) -> Vec<(Xy, Option<f64>)> {
    let ring = grown(outline, -inset);
    let mut spots: Vec<(Xy, Option<f64>)> = Vec::new();
    let n = ring.len();
    let is_corner = |i: usize| {
        let (p, q, r) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
        (q - p).unit().cross((r - q).unit()).abs() > 0.5
    };
    let corners: Vec<usize> = (0..n).filter(|&i| is_corner(i)).collect();
    let mut laps = vec![0.0];
    for (a, b) in edges(&ring) {
        laps.push(laps[laps.len() - 1] + a.to(b));
    }
    for &i in &corners {
        spots.push((ring[i], Some(laps[i])));
    }
    // head-to-head, stretched by at most a tenth (python/docs/trade-values.md, 3.3d)
    let gaps = |len: f64| (len / (1.1 * reach)).ceil().max(1.0);
    for (k, &i) in corners.iter().enumerate() {
        let j = corners[(k + 1) % corners.len()];
        let steps = (j + n - i) % n;
        let side: Vec<Xy> = (0..=steps).map(|s| ring[(i + s) % n]).collect();
        let len = length(&side);
        let m = gaps(len);
        let mut f = 1.0;
        while f < m {
            spots.push((along(&side, len * f / m), Some(laps[i] + len * f / m)));
            f += 1.0;
        }
    }
    let (low, high) = extent(&ring);
    let (nx, ny) = (gaps(high.x - low.x), gaps((high.y - low.y) / if triangular { 0.866 } else { 1.0 }));
    let mut row = 1.0;
    while row < ny {
        let shift = if triangular && row % 2.0 == 1.0 { 0.5 } else { 0.0 };
        let mut col = 1.0 - shift;
        while col < nx {
            let p = xy(low.x + (high.x - low.x) * col / nx, low.y + (high.y - low.y) * row / ny);
            let free = spots.iter().all(|(q, _)| p.to(*q) > 0.62 * reach);
            if inside(p, &ring) && to_edge(p, &ring) > 0.45 * reach && free {
                spots.push((p, None));
            }
            col += 1.0;
        }
        row += 1.0;
    }
    if dice.chance(0.1) && spots.len() > 6 {
        spots.truncate(spots.len() - 1); // one head short
    }
    spots
}

fn along(path: &[Xy], mut way: f64) -> Xy {
    for w in path.windows(2) {
        let step = w[0].to(w[1]);
        if way <= step {
            return w[0].between(w[1], way / step);
        }
        way -= step;
    }
    path[path.len() - 1]
}

/// Now and then a head nobody can explain: added later for a dry patch, or one taken out.
fn odd_heads(grounds: &Grounds, heads: &mut Vec<SetHead>, dice: &mut Dice) {
    if heads.len() < 6 {
        return;
    }
    if dice.chance(0.15) {
        let i = dice.whole(0, heads.len() - 1);
        heads.remove(i);
    }
    if dice.chance(0.25) {
        let like = heads[dice.whole(0, heads.len() - 1)].clone();
        let reach = like.radius_m * dice.uniform(0.4, 0.8);
        let at = grounds.open_near(like.at + xy(reach, 0.0).turned(dice.bearing()), 0.15, dice);
        if heads.iter().all(|h| h.at.to(at) > 0.8) && grounds.panels.iter().any(|p| inside(at, p)) {
            heads.push(SetHead { at, lap: None, ..like });
        }
    }
}
