//! The grounds an installer arrives at: lot, house, walks, drive, pool, beds, trees, and the lawn panels between them.
//! Drawn square to the local axes; the finished job is turned by a random bearing. Sizes are common practice, no source.

use super::dice::Dice;
use crate::job::{Obstacle, Tree};
use crate::plane::{Xy, extent, inside, rectangle, to_edge, xy};

/// A site before any pipe. `panels` are the pieces of lawn an installer treats as one; panel outlines do not overlap.
pub struct Grounds {
    pub shape: &'static str,
    pub boundary: Vec<Xy>,
    pub panels: Vec<Vec<Xy>>,
    pub obstacles: Vec<Obstacle>,
    pub trees: Vec<Tree>,
    /// Where the water meter stands.
    pub meter: Xy,
}

impl Grounds {
    pub fn outlines(&self, kind: &str) -> impl Iterator<Item = &[Xy]> {
        self.obstacles.iter().filter(move |o| o.kind == kind).map(|o| o.outline.as_slice())
    }
    /// Outlines no pipe may cross.
    pub fn walls(&self) -> impl Iterator<Item = &[Xy]> {
        self.outlines("building").chain(self.outlines("pool"))
    }
    /// Open ground: within the boundary, out of every obstacle, at least `clear` from their edges.
    pub fn is_open(&self, p: Xy, clear: f64) -> bool {
        inside(p, &self.boundary)
            && to_edge(p, &self.boundary) >= clear
            && self.obstacles.iter().all(|o| !inside(p, &o.outline) && to_edge(p, &o.outline) >= clear)
            && self.trees.iter().all(|t| t.at.to(p) >= t.stem_m / 2.0 + 2.0 * clear)
    }
    /// Nearest open spot to `p`, by widening rings.
    pub fn open_near(&self, p: Xy, clear: f64, dice: &mut Dice) -> Xy {
        for step in 0..400 {
            let r = 0.02 * f64::from(step);
            let q = p + xy(r, 0.0).turned(dice.bearing());
            if self.is_open(q, clear) {
                return q;
            }
        }
        p
    }
}

fn obstacle(kind: &'static str, outline: Vec<Xy>) -> Obstacle {
    Obstacle { kind, outline }
}

/// Draws the grounds of one site.
pub fn draw(dice: &mut Dice) -> Grounds {
    let mut grounds = match dice.pick(&[0.38, 0.30, 0.16, 0.16]) {
        0 => open_lawn(dice),
        1 => house_lot(dice),
        2 => corner_house(dice),
        _ => ring_strip(dice),
    };
    plant_trees(&mut grounds, dice);
    grounds
}

/// A lawn without a house: rectangle, L, irregular quadrilateral, or one curved edge.
fn open_lawn(dice: &mut Dice) -> Grounds {
    let (w, h) = (dice.uniform(11.0, 34.0), dice.uniform(9.0, 24.0));
    let (shape, outline) = match dice.whole(0, 3) {
        0 => ("rectangle", rectangle(0.0, 0.0, w, h)),
        1 => {
            let (a, b) = (w * dice.uniform(0.4, 0.65), h * dice.uniform(0.4, 0.65));
            ("L", vec![xy(0.0, 0.0), xy(w, 0.0), xy(w, b), xy(a, b), xy(a, h), xy(0.0, h)])
        }
        2 => {
            let mut slip = |k: f64| dice.uniform(-0.16, 0.16) * k;
            let corners = rectangle(0.0, 0.0, w, h).into_iter().map(|p| p + xy(slip(w), slip(h))).collect();
            ("quadrilateral", corners)
        }
        _ => {
            let bulge = dice.uniform(0.12, 0.35) * h * if dice.chance(0.7) { 1.0 } else { -0.6 };
            let mut outline = vec![xy(0.0, 0.0), xy(w, 0.0)];
            outline.extend((0..=12).map(|i| {
                let t = f64::from(i) / 12.0;
                xy(w * (1.0 - t), h + bulge * (std::f64::consts::PI * t).sin())
            }));
            ("curved", outline)
        }
    };
    let mut obstacles = Vec::new();
    let mut panels = vec![outline.clone()];
    if shape == "rectangle" && dice.chance(0.4) {
        // a walk right across: nobody gets round its ends without leaving the lawn
        let (x, wide) = (w * dice.uniform(0.35, 0.65), dice.uniform(1.0, 1.8));
        obstacles.push(obstacle("paving", rectangle(x, 0.0, x + wide, h)));
        panels = vec![rectangle(0.0, 0.0, x, h), rectangle(x + wide, 0.0, w, h)];
    } else if dice.chance(0.3) {
        // a shed or a bed in the open; sheds often come after the pipe, but pipe goes round here
        let c = xy(w * dice.uniform(0.3, 0.7), h * dice.uniform(0.3, 0.5));
        let s = dice.uniform(0.8, 1.6);
        let kind = if dice.chance(0.5) { "building" } else { "bed" };
        let patch = rectangle(c.x - s, c.y - s, c.x + s, c.y + s);
        if patch.iter().all(|&p| inside(p, &outline) && to_edge(p, &outline) > 1.0) {
            obstacles.push(obstacle(kind, patch));
        }
    }
    let meter = xy(dice.uniform(0.1, 0.9) * w, dice.uniform(0.1, 0.3));
    Grounds { shape, boundary: outline, panels, obstacles, trees: Vec::new(), meter }
}

/// House in the middle of a lot, front walk and drive to the street (south), lawn in front, behind and beside.
fn house_lot(dice: &mut Dice) -> Grounds {
    let (house_w, house_d) = (dice.uniform(9.0, 13.0), dice.uniform(8.0, 11.0));
    let (left, right) = (dice.uniform(1.6, 4.5), dice.uniform(4.4, 7.0));
    let (front, back) = (dice.uniform(6.0, 10.0), dice.uniform(7.0, 14.0));
    let (w, d) = (left + house_w + right, front + house_d + back);
    let mut obstacles = vec![obstacle("building", rectangle(left, front, left + house_w, front + house_d))];
    let drive = (w - dice.uniform(0.2, 0.8) - 3.2, 3.2);
    obstacles.push(obstacle("paving", rectangle(drive.0, 0.0, drive.0 + drive.1, front + house_d * 0.4)));
    let walk = (left + house_w * dice.uniform(0.3, 0.55), dice.uniform(1.0, 1.4));
    obstacles.push(obstacle("paving", rectangle(walk.0, 0.0, walk.0 + walk.1, front - 0.02)));
    let bed = if dice.chance(0.5) { dice.uniform(0.8, 1.4) } else { 0.0 };
    if bed > 0.0 {
        obstacles.push(obstacle("bed", rectangle(left, front - bed, walk.0 - 0.05, front - 0.02)));
    }
    let mut panels = vec![
        rectangle(0.0, 0.0, walk.0, front - bed),
        rectangle(walk.0 + walk.1, 0.0, drive.0, front),
        rectangle(0.0, front + house_d, w, d),
    ];
    if left > 2.4 && dice.chance(0.6) {
        panels.push(rectangle(0.0, front - bed, left, front + house_d));
    }
    if back > 10.0 && dice.chance(0.35) {
        let x = dice.uniform(0.3, 0.6) * w;
        let pool = rectangle(x, d - back * 0.5 - 1.6, x + 5.5, d - back * 0.5 + 1.6);
        obstacles.push(obstacle("pool", pool));
    }
    let meter = if dice.chance(0.6) {
        xy(dice.uniform(0.3, walk.0 - 0.3), 0.3)
    } else {
        xy(left - 0.35, front + dice.uniform(0.3, 0.9) * house_d)
    };
    Grounds {
        shape: "house lot",
        boundary: rectangle(0.0, 0.0, w, d),
        panels,
        obstacles,
        trees: Vec::new(),
        meter,
    }
}

/// House in one corner of the lot: an L of lawn round it, sometimes a walk across one arm.
fn corner_house(dice: &mut Dice) -> Grounds {
    let (house_w, house_d) = (dice.uniform(8.0, 12.0), dice.uniform(7.0, 10.0));
    let (arm_x, arm_y) = (dice.uniform(4.5, 11.0), dice.uniform(4.5, 11.0));
    let (w, d) = (house_w + arm_x, house_d + arm_y);
    let mut obstacles = vec![obstacle("building", rectangle(0.05, arm_y, house_w, d - 0.05))];
    let mut panels =
        vec![vec![xy(0.0, 0.0), xy(w, 0.0), xy(w, d), xy(house_w, d), xy(house_w, arm_y), xy(0.0, arm_y)]];
    if dice.chance(0.5) {
        let (x, wide) = (house_w * dice.uniform(0.3, 0.6), dice.uniform(1.0, 1.4));
        obstacles.push(obstacle("paving", rectangle(x, 0.0, x + wide, arm_y - 0.02)));
        let x1 = x + wide;
        panels = vec![
            rectangle(0.0, 0.0, x, arm_y),
            vec![xy(x1, 0.0), xy(w, 0.0), xy(w, d), xy(house_w, d), xy(house_w, arm_y), xy(x1, arm_y)],
        ];
    }
    let meter = xy(house_w + 0.35, arm_y + dice.uniform(0.5, 0.9) * house_d);
    Grounds {
        shape: "L round a house",
        boundary: rectangle(0.0, 0.0, w, d),
        panels,
        obstacles,
        trees: Vec::new(),
        meter,
    }
}

/// A strip of lawn all round a house, narrow enough for one or two rows of heads.
fn ring_strip(dice: &mut Dice) -> Grounds {
    let (house_w, house_d) = (dice.uniform(9.0, 15.0), dice.uniform(7.0, 10.0));
    let strip =
        [dice.uniform(2.6, 5.5), dice.uniform(2.6, 5.5), dice.uniform(2.6, 5.5), dice.uniform(2.6, 5.5)];
    let (w, d) = (strip[0] + house_w + strip[1], strip[2] + house_d + strip[3]);
    let (x0, y0) = (strip[0], strip[2]);
    let (x1, y1) = (x0 + house_w, y0 + house_d);
    let mut obstacles = vec![obstacle("building", rectangle(x0, y0, x1, y1))];
    let mut panels = vec![rectangle(0.0, 0.0, w, y0), rectangle(0.0, y1, w, d), rectangle(0.0, y0, x0, y1)];
    if dice.chance(0.6) {
        panels.push(rectangle(x1, y0, w, y1));
    }
    if dice.chance(0.6) {
        let (x, wide) = (x0 + house_w * dice.uniform(0.3, 0.6), dice.uniform(1.0, 1.4));
        obstacles.push(obstacle("paving", rectangle(x, 0.0, x + wide, y0 - 0.02)));
        panels[0] = rectangle(0.0, 0.0, x, y0);
        panels.push(rectangle(x + wide, 0.0, w, y0));
    }
    let meter = xy(x0 - 0.35, y0 + dice.uniform(0.2, 0.8) * house_d);
    Grounds {
        shape: "strip",
        boundary: rectangle(0.0, 0.0, w, d),
        panels,
        obstacles,
        trees: Vec::new(),
        meter,
    }
}

fn plant_trees(grounds: &mut Grounds, dice: &mut Dice) {
    let (low, high) = extent(&grounds.boundary);
    for _ in 0..dice.pick(&[0.4, 0.25, 0.2, 0.15]) {
        let p = xy(dice.uniform(low.x, high.x), dice.uniform(low.y, high.y));
        let apart = grounds.trees.iter().all(|t| t.at.to(p) > 4.0);
        if grounds.is_open(p, 1.2) && apart {
            grounds.trees.push(Tree { at: p, stem_m: dice.uniform(0.1, 0.5) });
        }
    }
}
