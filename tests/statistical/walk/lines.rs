//! The buried lines of a lot: services from the street to the walls, lines of the owner from the house into the yard, lines
//! that pass through, and lines beside other lines. Which occur together is common practice, no source; that mainlines start
//! at the backflow and lead to valve boxes, and wires to the same boxes, is python/docs/trade-values.md, 1.9c.

use super::course::Course;
use super::cover;
use super::lot::{Anchor, Lot, Side};
use super::routes::{self, THROUGH, USUAL, beside, turn_deg};
use super::survey::{Class, Kind};
use super::truth::{Bend, Line};
use crate::installer::Dice;
use crate::plane::{Xy, nearest_on_path, xy};

/// How a planned line ends, before fixtures have numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tip {
    /// At a fixture that is seen.
    Fixture(Kind),
    Unseen,
    Edge,
    Bare,
}

/// A line as set out.
#[derive(Clone, Debug)]
pub struct Plan {
    pub class: Class,
    pub corners: Vec<Xy>,
    pub tips: [Tip; 2],
    /// Valve boxes that stand on the way.
    pub boxes: Vec<Xy>,
}

/// One attempt to plan a line of some kind beside those that are planned already.
type Recipe = fn(&Lot, &[Plan], &mut Dice) -> Option<Plan>;

/// The lines of a lot; 1 to 5 of them.
pub fn set_out(lot: &Lot, dice: &mut Dice) -> Vec<Plan> {
    let wanted = 1 + dice.pick(&[0.10, 0.24, 0.30, 0.22, 0.14]);
    let mut kinds: Vec<(Recipe, f64)> = vec![
        (potable, 1.0),
        (gas, 1.0),
        (electric, 1.0),
        (communication, 0.7),
        (mainline, 1.3),
        (control_wire, 0.7),
        (branch, 0.5),
        (through, 0.9),
        (through, 0.6),
        (companion, 1.0),
    ];
    let mut plans: Vec<Plan> = Vec::new();
    while plans.len() < wanted {
        // crossings are wanted: half of the further lines are sought until they cross one that is there
        let across = dice.chance(0.5);
        let Some((k, plan)) = (0..60).find_map(|attempt| {
            let k = dice.pick(&kinds.iter().map(|k| k.1).collect::<Vec<_>>());
            let mut plan = kinds[k].0(lot, &plans, dice)?;
            shorten(&mut plan, dice);
            let fits = plans.iter().all(|other| apart(&plan.corners, &other.corners))
                && (!across || attempt >= 40 || plans.is_empty() || crosses(&plan, &plans));
            fits.then_some((k, plan))
        }) else {
            break;
        };
        plans.push(plan);
        kinds.swap_remove(k);
    }
    plans
}

/// Whether a line crosses another well within both.
fn crosses(plan: &Plan, others: &[Plan]) -> bool {
    let course = Course::new(plan.corners.clone());
    let inner = |s: f64, length: f64| s > 2.5 && s < length - 2.5;
    others.iter().any(|o| {
        let other = Course::new(o.corners.clone());
        course.crossings(&other).iter().any(|c| inner(c.0, course.length()) && inner(c.1, other.length()))
    })
}

/// A share of the lines simply ends: cut off, or gone on with in plastic.
fn shorten(plan: &mut Plan, dice: &mut Dice) {
    let course = Course::new(plan.corners.clone());
    if !dice.chance(0.12) || course.length() < 8.0 {
        return;
    }
    let keep = course.length() * dice.uniform(0.45, 0.85);
    let mut corners: Vec<Xy> = course
        .arcs()
        .iter()
        .zip(course.points())
        .filter(|(s, _)| **s < keep - 1.0)
        .map(|(_, p)| *p)
        .collect();
    corners.push(course.at(keep));
    plan.boxes.retain(|&b| course.nearest(b).0 < keep);
    plan.corners = corners;
    plan.tips[1] = Tip::Bare;
}

/// Whether two courses can be told apart at all: they share at most a crossing, and no end.
fn apart(a: &[Xy], b: &[Xy]) -> bool {
    let ends = |p: &[Xy]| [p[0], p[p.len() - 1]];
    let dense = Course::new(a.to_vec());
    let near = (0..(dense.length() / 0.25) as usize)
        .filter(|&i| nearest_on_path(dense.at(0.25 * i as f64), b).1 < 0.45)
        .count();
    0.25 * near as f64 <= 2.5 && ends(a).iter().all(|p| ends(b).iter().all(|q| p.to(*q) > 0.6))
}

/// The street side of a service: straight in front of its wall half of the time, else anywhere.
fn street(lot: &Lot, wall: Xy, y: f64, dice: &mut Dice) -> Anchor {
    let w = lot.ground.x1;
    let x = if dice.chance(0.5) { wall.x + dice.normal(0.15) } else { dice.uniform(0.06, 0.94) * w };
    Anchor { at: xy(x.clamp(0.5, w - 0.5), y), out: xy(0.0, 1.0) }
}

fn wall_to_the_street(lot: &Lot, dice: &mut Dice) -> Anchor {
    let side = [Side::Front, Side::Left, Side::Right][dice.pick(&[0.5, 0.25, 0.25])];
    lot.on_wall(side, dice)
}

fn seen(kind: Kind, p: f64, dice: &mut Dice) -> Tip {
    if dice.chance(p) { Tip::Fixture(kind) } else { Tip::Unseen }
}

fn route(
    lot: &Lot,
    class: Class,
    [from, to]: [Anchor; 2],
    tips: [Tip; 2],
    habit: &routes::Habit,
    dice: &mut Dice,
) -> Option<Plan> {
    let corners = routes::between(lot, from, to, habit, dice)?;
    Some(Plan { class, corners, tips, boxes: Vec::new() })
}

/// Water meter to the house, or to a hydrant or bib on a post in the yard.
fn potable(lot: &Lot, _: &[Plan], dice: &mut Dice) -> Option<Plan> {
    let (to, tip) = if dice.chance(0.3) {
        let p = lot.ground.grown(-1.0).anywhere(dice);
        let kind = if dice.chance(0.5) { Kind::HoseBib } else { Kind::YardHydrant };
        (lot.is_open(p, 1.0).then_some(Anchor { at: p, out: xy(0.0, 0.0) })?, Tip::Fixture(kind))
    } else {
        (wall_to_the_street(lot, dice), seen(Kind::WaterEntry, 0.6, dice))
    };
    let meter = street(lot, to.at, dice.uniform(0.3, 1.2), dice);
    route(lot, Class::Potable, [meter, to], [Tip::Fixture(Kind::WaterMeter), tip], &USUAL, dice)
}

fn gas(lot: &Lot, _: &[Plan], dice: &mut Dice) -> Option<Plan> {
    let wall = wall_to_the_street(lot, dice);
    // a lid over the valve at the street is found more often than not
    let (y, tip) = if dice.chance(0.6) {
        (dice.uniform(0.2, 0.6), Tip::Fixture(Kind::GasValve))
    } else {
        (0.0, Tip::Edge)
    };
    let from = street(lot, wall.at, y, dice);
    route(lot, Class::Gas, [from, wall], [tip, Tip::Fixture(Kind::GasMeter)], &USUAL, dice)
}

/// A corner of the lot where transformers and pedestals stand.
fn corner(lot: &Lot, dice: &mut Dice) -> Anchor {
    let (g, off) = (lot.ground, dice.uniform(0.4, 1.2));
    let x = if dice.chance(0.5) { off } else { g.x1 - off };
    let y = if dice.chance(0.6) { dice.uniform(0.3, 1.0) } else { g.y1 - dice.uniform(0.3, 1.0) };
    Anchor { at: xy(x, y), out: xy(0.0, 0.0) }
}

fn any_wall(lot: &Lot, dice: &mut Dice) -> Anchor {
    let side = [Side::Front, Side::Left, Side::Right, Side::Back][dice.pick(&[0.2, 0.3, 0.3, 0.2])];
    lot.on_wall(side, dice)
}

fn electric(lot: &Lot, _: &[Plan], dice: &mut Dice) -> Option<Plan> {
    let ends = [corner(lot, dice), any_wall(lot, dice)];
    let tips = [seen(Kind::ElectricFeed, 0.85, dice), Tip::Fixture(Kind::ElectricMeter)];
    route(lot, Class::Electric, ends, tips, &USUAL, dice)
}

fn communication(lot: &Lot, _: &[Plan], dice: &mut Dice) -> Option<Plan> {
    let ends = [corner(lot, dice), any_wall(lot, dice)];
    let tips = [seen(Kind::Pedestal, 0.8, dice), seen(Kind::CommunicationBox, 0.85, dice)];
    route(lot, Class::Communication, ends, tips, &USUAL, dice)
}

/// Backflow to the last valve box, past others.
fn mainline(lot: &Lot, _: &[Plan], dice: &mut Dice) -> Option<Plan> {
    let from = if dice.chance(0.6) {
        any_wall(lot, dice)
    } else {
        Anchor { at: xy(dice.uniform(1.0, lot.ground.x1 - 1.0), dice.uniform(0.6, 2.0)), out: xy(0.0, 1.0) }
    };
    let p = lot.ground.grown(-1.5).anywhere(dice);
    let to = lot.is_open(p, 1.0).then_some(Anchor { at: p, out: xy(0.0, 0.0) })?;
    let last = match dice.pick(&[0.7, 0.18, 0.12]) {
        0 => Tip::Fixture(Kind::ValveBox),
        1 => Tip::Fixture(Kind::QuickCoupler),
        _ => Tip::Bare,
    };
    let tips = [Tip::Fixture(Kind::Backflow), last];
    let mut plan = route(lot, Class::Mainline, [from, to], tips, &USUAL, dice)?;
    let course = Course::new(plan.corners.clone());
    for _ in 0..dice.whole(0, 2) {
        plan.boxes.push(course.at(course.length() * dice.uniform(0.2, 0.85)));
    }
    (course.length() > 5.0).then_some(plan)
}

/// Controller on a wall, out of sight of the survey, to a valve box: that of the mainline where there is one.
fn control_wire(lot: &Lot, plans: &[Plan], dice: &mut Dice) -> Option<Plan> {
    let main = plans.iter().find(|p| p.class == Class::Mainline && p.tips[1] == Tip::Fixture(Kind::ValveBox));
    let at = match main {
        Some(main) if dice.chance(0.7) => {
            main.corners[main.corners.len() - 1] + xy(0.7, 0.0).turned(dice.bearing())
        }
        _ => lot.ground.grown(-1.5).anywhere(dice),
    };
    let to = lot.is_open(at, 0.6).then_some(Anchor { at, out: xy(0.0, 0.0) })?;
    let tips = [Tip::Unseen, Tip::Fixture(Kind::ValveBox)];
    route(lot, Class::ControlWire, [any_wall(lot, dice), to], tips, &USUAL, dice)
}

/// Power or gas of the owner, from the house to a shed, a grill or a pump.
fn branch(lot: &Lot, _: &[Plan], dice: &mut Dice) -> Option<Plan> {
    let side = [Side::Left, Side::Right, Side::Back][dice.whole(0, 2)];
    let ends = [lot.on_wall(side, dice), lot.out_back(dice)?];
    let (class, kinds) = if dice.chance(0.65) {
        (Class::Electric, [Kind::ElectricMeter, Kind::ElectricFeed])
    } else {
        (Class::Gas, [Kind::GasMeter, Kind::GasValve])
    };
    let tips = [seen(kinds[0], 0.7, dice), seen(kinds[1], 0.8, dice)];
    route(lot, class, ends, tips, &USUAL, dice)
}

/// From edge to edge of the lot: an easement, a neighbour's feed, an old iron main.
fn through(lot: &Lot, _: &[Plan], dice: &mut Dice) -> Option<Plan> {
    let sides = [Side::Front, Side::Left, Side::Right, Side::Back];
    let (a, b) = (dice.whole(0, 3), dice.whole(0, 3));
    if a == b {
        return None;
    }
    let from = lot.on_edge(sides[a], dice);
    let mut to = lot.on_edge(sides[b], dice);
    // between facing edges they run square more often than not; round a corner of the lot they turn, or cut it
    let facing = from.out.dot(to.out) < -0.5;
    if facing && dice.chance(0.7) {
        to.at = if from.out.x == 0.0 {
            xy(from.at.x + dice.normal(0.2), to.at.y)
        } else {
            xy(to.at.x, from.at.y + dice.normal(0.2))
        };
    }
    let habit = if facing { &THROUGH } else { &USUAL };
    let class = [Class::Electric, Class::Communication, Class::Gas, Class::Mainline][dice.whole(0, 3)];
    route(lot, class, [from, to], [Tip::Edge, Tip::Edge], habit, dice)
}

/// A line beside another, on the other side of its trench or in one next to it: 0.6 to 2 m off.
fn companion(lot: &Lot, plans: &[Plan], dice: &mut Dice) -> Option<Plan> {
    if plans.is_empty() {
        return None;
    }
    let of = &plans[dice.whole(0, plans.len() - 1)];
    let by = dice.uniform(0.6, 2.0) * if dice.chance(0.5) { 1.0 } else { -1.0 };
    let corners = beside(&of.corners, by);
    let open = corners.windows(2).all(|w| lot.passes(w[0], w[1]) && w[0].to(w[1]) >= 0.6);
    let others: Vec<Class> = Class::ALL.into_iter().filter(|c| *c != of.class).collect();
    let class = others[dice.whole(0, others.len() - 1)];
    let wall = |p: Xy| lot.walls().any(|r| r.grown(0.05).holds(p));
    let ends = [corners[0], corners[corners.len() - 1]];
    let tips = [0, 1].map(|k| match of.tips[k] {
        Tip::Edge => Tip::Edge,
        // what stands at the end of the other line stands there for this one too, of its own class
        Tip::Fixture(_) | Tip::Unseen => match (class, wall(ends[k])) {
            (Class::Potable, true) => Tip::Fixture(Kind::WaterEntry),
            (Class::Potable, false) => Tip::Fixture(Kind::YardHydrant),
            (Class::Gas, true) => Tip::Fixture(Kind::GasMeter),
            (Class::Electric, true) => Tip::Fixture(Kind::ElectricMeter),
            (Class::Electric, false) => Tip::Fixture(Kind::ElectricFeed),
            (Class::Communication, true) => Tip::Fixture(Kind::CommunicationBox),
            (Class::Communication, false) => Tip::Fixture(Kind::Pedestal),
            (Class::Mainline | Class::ControlWire, false) => Tip::Fixture(Kind::ValveBox),
            _ => Tip::Unseen,
        },
        Tip::Bare => Tip::Bare,
    });
    open.then_some(Plan { class, corners, tips, boxes: Vec::new() })
}

/// The line that was laid by a plan, without the numbers of its fixtures.
pub fn lay(plan: &Plan, dice: &mut Dice) -> Line {
    let course = Course::trenched(&plan.corners, dice.uniform(0.01, 0.04), dice);
    let bends =
        plan.corners.windows(3).map(|w| Bend { arc_m: course.nearest(w[1]).0, turn_deg: turn_deg(w) });
    Line {
        class: plan.class,
        bends: bends.collect(),
        cover_m: cover::along(plan.class, course.arcs(), dice),
        diameter_m: cover::diameter_m(plan.class, dice),
        course,
        ends: [super::truth::End::Unseen; 2],
    }
}
