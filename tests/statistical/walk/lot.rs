//! The lot: ground, house, shed, drive, in a frame of its own with the street along y = 0. A site is turned at the very end,
//! so that no axis of the page means anything. Sizes are common practice, no source.

use super::survey::Obstacle;
use crate::installer::Dice;
use crate::plane::{Xy, inside, rectangle, segment_enters, xy};

/// A box square to the lot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    pub x0: f64,
    pub y0: f64,
    pub x1: f64,
    pub y1: f64,
}

impl Rect {
    pub fn new(x0: f64, y0: f64, x1: f64, y1: f64) -> Self {
        Self { x0, y0, x1, y1 }
    }
    pub fn outline(&self) -> Vec<Xy> {
        rectangle(self.x0, self.y0, self.x1, self.y1)
    }
    pub fn grown(&self, by: f64) -> Self {
        Self::new(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)
    }
    pub fn holds(&self, p: Xy) -> bool {
        p.x >= self.x0 && p.x < self.x1 && p.y >= self.y0 && p.y < self.y1
    }
    pub fn area(&self) -> f64 {
        (self.x1 - self.x0) * (self.y1 - self.y0)
    }
    pub fn anywhere(&self, dice: &mut Dice) -> Xy {
        xy(dice.uniform(self.x0, self.x1), dice.uniform(self.y0, self.y1))
    }
    /// What is left when `hole` is cut out: up to four boxes.
    pub fn minus(&self, hole: &Rect) -> Vec<Rect> {
        let cut =
            Rect::new(hole.x0.max(self.x0), hole.y0.max(self.y0), hole.x1.min(self.x1), hole.y1.min(self.y1));
        if cut.x0 >= cut.x1 || cut.y0 >= cut.y1 {
            return vec![*self];
        }
        [
            Rect::new(self.x0, self.y0, self.x1, cut.y0),
            Rect::new(self.x0, cut.y1, self.x1, self.y1),
            Rect::new(self.x0, cut.y0, cut.x0, cut.y1),
            Rect::new(cut.x1, cut.y0, self.x1, cut.y1),
        ]
        .into_iter()
        .filter(|r| r.x1 > r.x0 && r.y1 > r.y0)
        .collect()
    }
}

/// A place on a wall or on the edge of the lot, and the way away from it.
#[derive(Clone, Copy, Debug)]
pub struct Anchor {
    pub at: Xy,
    /// Unit vector into open ground; zero where every way is open.
    pub out: Xy,
}

pub struct Lot {
    pub ground: Rect,
    pub house: Rect,
    pub shed: Option<Rect>,
    pub drive: Option<Rect>,
}

/// Sides of a box as seen from the street.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    Front,
    Left,
    Right,
    Back,
}

impl Lot {
    pub fn draw(dice: &mut Dice) -> Self {
        let ground = Rect::new(0.0, 0.0, dice.uniform(15.0, 45.0), dice.uniform(15.0, 45.0));
        let (w, d) = (ground.x1, ground.y1);
        let (wide, deep) = (w * dice.uniform(0.30, 0.55), d * dice.uniform(0.22, 0.42));
        let x0 = dice.uniform(2.0, w - wide - 2.0);
        let y0 = dice.uniform(0.2, 0.45) * d;
        let y0 = y0.clamp(3.5, d - deep - 2.5);
        let house = Rect::new(x0, y0, x0 + wide, y0 + deep);
        let shed = (dice.chance(0.35) && d - house.y1 > 6.0).then(|| {
            let (a, b) = (dice.uniform(2.0, 4.0), dice.uniform(2.0, 3.5));
            let left = if dice.chance(0.5) { 1.0 } else { w - a - 1.0 };
            Rect::new(left, d - b - 1.0, left + a, d - 1.0)
        });
        let drive = dice.chance(0.5).then(|| {
            let x = dice.uniform(house.x0, house.x1 - 3.0);
            Rect::new(x, 0.0, x + 3.0, house.y0)
        });
        Self { ground, house, shed, drive }
    }

    pub fn walls(&self) -> impl Iterator<Item = &Rect> {
        std::iter::once(&self.house).chain(&self.shed)
    }

    pub fn obstacles(&self) -> Vec<Obstacle> {
        let built = self.walls().map(|r| Obstacle { kind: "building", outline: r.outline() });
        built.chain(self.drive.iter().map(|r| Obstacle { kind: "paving", outline: r.outline() })).collect()
    }

    /// A place on a wall of the house.
    pub fn on_wall(&self, side: Side, dice: &mut Dice) -> Anchor {
        Self::on(&self.house, side, dice.uniform(0.08, 0.92))
    }

    fn on(r: &Rect, side: Side, t: f64) -> Anchor {
        let (x, y) = (r.x0 + t * (r.x1 - r.x0), r.y0 + t * (r.y1 - r.y0));
        match side {
            Side::Front => Anchor { at: xy(x, r.y0), out: xy(0.0, -1.0) },
            Side::Left => Anchor { at: xy(r.x0, y), out: xy(-1.0, 0.0) },
            Side::Right => Anchor { at: xy(r.x1, y), out: xy(1.0, 0.0) },
            Side::Back => Anchor { at: xy(x, r.y1), out: xy(0.0, 1.0) },
        }
    }

    /// A place on the wall of the shed that looks to the street, or at a grill or pump in open ground behind the house.
    pub fn out_back(&self, dice: &mut Dice) -> Option<Anchor> {
        if let Some(shed) = &self.shed {
            return Some(Self::on(shed, Side::Front, dice.uniform(0.2, 0.8)));
        }
        let yard = Rect::new(1.0, self.house.y1 + 2.0, self.ground.x1 - 1.0, self.ground.y1 - 1.0);
        (yard.y1 - yard.y0 > 1.0).then(|| Anchor { at: yard.anywhere(dice), out: xy(0.0, 0.0) })
    }

    /// A place on an edge of the lot.
    pub fn on_edge(&self, side: Side, dice: &mut Dice) -> Anchor {
        let anchor = Self::on(&self.ground, side, dice.uniform(0.08, 0.92));
        Anchor { out: anchor.out * -1.0, ..anchor }
    }

    /// Open ground: on the lot, not in a building nor nearer to it than `clear_m`.
    pub fn is_open(&self, p: Xy, clear_m: f64) -> bool {
        inside(p, &self.ground.outline()) && self.walls().all(|r| !r.grown(clear_m).holds(p))
    }

    /// Whether a straight piece stays on the lot and out of the buildings. It may start or end on a wall.
    pub fn passes(&self, a: Xy, b: Xy) -> bool {
        let ground = self.ground.grown(1e-6);
        ground.holds(a)
            && ground.holds(b)
            && self.walls().all(|r| !segment_enters(a, b, &r.grown(-0.02).outline()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_less_a_box_keeps_the_rest_of_its_area() {
        let r = Rect::new(0.0, 0.0, 10.0, 8.0);
        let rest = |hole| r.minus(&hole).iter().map(Rect::area).sum::<f64>();
        assert!((rest(Rect::new(2.0, 3.0, 5.0, 4.0)) - 77.0).abs() < 1e-12);
        assert!((rest(Rect::new(8.0, -3.0, 15.0, 2.0)) - 76.0).abs() < 1e-12);
        assert_eq!(r.minus(&Rect::new(10.0, 0.0, 12.0, 8.0)), [r]);
    }

    #[test]
    fn a_house_leaves_a_way_round_it() {
        let mut dice = Dice::new(3);
        for _ in 0..200 {
            let lot = Lot::draw(&mut dice);
            let (g, h) = (lot.ground, lot.house);
            assert!(h.x0 >= 2.0 && g.x1 - h.x1 >= 2.0 - 1e-9 && h.y0 >= 3.3 && g.y1 - h.y1 >= 2.4, "{h:?}");
            assert!(lot.passes(xy(h.x0, h.y0 + 1.0), xy(0.5, h.y0 + 1.0)), "away from a wall");
            assert!(!lot.passes(xy(0.5, h.y0 + 1.0), xy(h.x1 + 1.0, h.y0 + 1.0)), "through the house");
        }
    }
}
