//! What stands above ground before a trench is dug: grounds, heads, zones, boxes and the outlet. All of it is seen by the
//! crew (through survey error); nothing below ground has been decided yet.

use super::coverage::{self, SetHead};
use super::dice::Dice;
use super::grounds::{self, Grounds};
use super::zoning::{self, PlacedBox, ZoneHeads};
use crate::job::Fixture;
use crate::plane::{extent, xy};

pub struct Site {
    pub grounds: Grounds,
    pub heads: Vec<SetHead>,
    pub zones: Vec<ZoneHeads>,
    pub boxes: Vec<PlacedBox>,
    pub outlet: Option<Outlet>,
}

/// An outlet and how it is fed. Bibs that hang on the house are fed from inside it, with nothing buried.
pub struct Outlet {
    pub fixture: Fixture,
    pub fed_by: FedBy,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FedBy {
    Mainline,
    Potable,
    House,
}

/// One attempt; nothing when the drawn lawn does not make one to four zones.
pub fn draw(dice: &mut Dice) -> Option<Site> {
    let mut grounds = grounds::draw(dice);
    grounds.meter = grounds.open_near(grounds.meter, 0.1, dice);
    let heads = coverage::set_heads(&grounds, dice);
    let zones = zoning::split(&heads, dice)?;
    let boxes = zoning::place_boxes(&grounds, &heads, &zones, dice);
    let outlet = dice.chance(0.4).then(|| outlet(&grounds, dice));
    Some(Site { grounds, heads, zones, boxes, outlet })
}

fn outlet(grounds: &Grounds, dice: &mut Dice) -> Outlet {
    let house = grounds.outlines("building").next().filter(|_| dice.chance(0.3));
    if let Some(house) = house {
        let k = dice.whole(0, house.len() - 1);
        let on = house[k].between(house[(k + 1) % house.len()], dice.uniform(0.2, 0.8));
        let fixture = Fixture { at: grounds.open_near(on, 0.05, dice), kind: "hose_bib" };
        return Outlet { fixture, fed_by: FedBy::House };
    }
    let (low, high) = extent(&grounds.boundary);
    let spot = xy(dice.uniform(low.x, high.x), dice.uniform(low.y, high.y));
    let at = grounds.open_near(spot, 0.25, dice);
    let (kind, fed_by) = match dice.pick(&[0.35, 0.33, 0.32]) {
        0 => ("quick_coupler", FedBy::Mainline),
        1 => ("hose_bib", FedBy::Potable),
        _ => ("yard_hydrant", FedBy::Potable),
    };
    Outlet { fixture: Fixture { at, kind }, fed_by }
}
