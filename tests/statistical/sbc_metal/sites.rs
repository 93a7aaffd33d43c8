//! Small sites of several kinds: what stands on them but for the places of their items.

use underturf::geometry::{Point, Polygon};
use underturf::metal::{Evidence, Fixture, Item, Law, Origin};
use underturf::site::document::SourceKind;

/// The ground where all items stand, metres.
pub const WINDOW_M: (f64, f64) = (8.0, 7.5);

/// What stands on a site.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Four flags.
    Open,
    /// Four flags of which three bear names, two bearings.
    Named,
    /// Two flags and a mark of two points, a valve box.
    Paint,
    /// Four flags, class and depth of two of them told, a valve box and a meter.
    Told,
    /// Four flags, swept ground, a building, two bearings.
    Swept,
    /// Two flags and the two ends of a service, a meter, two bearings.
    Service,
    /// Five flags.
    Five,
}

impl Kind {
    pub const ALL: [Self; 7] =
        [Self::Five, Self::Open, Self::Named, Self::Paint, Self::Told, Self::Swept, Self::Service];

    /// Number of items.
    pub fn items(self) -> usize {
        if self == Self::Five { 5 } else { 4 }
    }

    /// The evidence with its items at these places.
    pub fn evidence(self, places: &[Point], law: &Law) -> Evidence {
        let origin = |k: usize| match self {
            Self::Paint if k >= 2 => Origin::Mark(0),
            Self::Service if k >= 2 => Origin::Service(0),
            _ => Origin::Flag(k),
        };
        let item = |(k, &at): (usize, &Point)| {
            let origin = origin(k);
            let sd_m = if matches!(origin, Origin::Mark(_)) { 0.4 } else { 0.15 };
            Item { at, sd_m, origin, name: None, class: None, depth: None }
        };
        let mut items: Vec<Item> = places.iter().enumerate().map(item).collect();
        let flags = items.iter().filter(|item| item.is_flag()).count();
        // Potable lines and gas.
        let said = |class: usize| Some(std::array::from_fn(|c| if c == class { -0.05 } else { -5.0 }));
        let (mut names, mut fixtures) = (0, Vec::new());
        let mut bearings = vec![(0.05, 1.0)];
        let (mut solid, mut swept) = (Vec::new(), Vec::new());
        match self {
            Self::Open | Self::Five => {}
            Self::Named => {
                names = 2;
                (items[0].name, items[1].name, items[2].name) = (Some(0), Some(1), Some(0));
                bearings = vec![(0.02, 0.6), (0.4, 0.4)];
            }
            Self::Paint => {
                items[2].class = said(3);
                fixtures.push((Fixture::ValveBox, Point::new(5.5, 3.0)));
            }
            Self::Told => {
                (items[0].class, items[3].depth) = (said(4), Some((0.5, 0.1)));
                fixtures.push((Fixture::ValveBox, Point::new(5.5, 3.0)));
                fixtures.push((Fixture::Source(SourceKind::Meter), Point::new(1.0, 7.0)));
            }
            Self::Swept => {
                swept.push((square(4.5, 1.0, 3.0), 0.8));
                solid.push(square(1.0, 3.5, 2.0));
                bearings = vec![(0.02, 0.6), (0.4, 0.4)];
            }
            Self::Service => {
                items[2].class = said(3);
                items[3].class = said(3);
                fixtures.push((Fixture::Source(SourceKind::Meter), Point::new(1.0, 1.0)));
                bearings = vec![(0.02, 0.6), (0.4, 0.4)];
            }
        }
        Evidence {
            items,
            flags,
            names,
            fixtures,
            bearings,
            area_m2: WINDOW_M.0 * WINDOW_M.1,
            solid,
            swept,
            false_marks: vec![0.05],
            law: *law,
        }
    }
}

fn square(x: f64, y: f64, side: f64) -> Polygon {
    let corners = [[0., 0.], [side, 0.], [side, side], [0., side]];
    Polygon::new(corners.map(|[u, v]| Point::new(x + u, y + v)).to_vec())
}
