//! Best spots on a whole site against every choice of cells; what bars a place and what makes it dearer.

use crate::decisions::{digs, layouts};
use underturf::Error;
use underturf::class::Class;
use underturf::decision::{
    SpotHole, SpotOptions, TreeRules, Weights, assess, best_spots, footprint, strike_map,
};
use underturf::error::ArgumentError;
use underturf::geometry::{Footprint, Point, Polygon};
use underturf::monitor::Unwatched;
use underturf::planting::Setback;
use underturf::site::document::{TreeSize, Vigour};
use underturf::site::{Dig, Plant};
use underturf::strike::raster::ClassMask;

/// Two spots against every pair of cells, the loss of each cell put together from a map for each class.
#[test]
fn best_spots_are_those_of_brute_force_over_maps() {
    let layouts = layouts(300, 7);
    let mut options = SpotOptions { spacing_m: 3.0, cell_m: 0.5, ..SpotOptions::new(2, 0.4, 0.45) };
    options.rules.from_building_m = 0.9;
    options.from_boundary_m = 0.5;
    options.rules.spare_roots = false;
    options.within = Some(Polygon::new([[0., 0.], [16., 0.], [16., 9.], [0., 9.]].map(Point::from).to_vec()));
    let found = best_spots(&layouts, &options, &Unwatched).expect("spots");
    let map = |class| {
        let mask = ClassMask::from_iter([class]);
        strike_map(&layouts, 0.4, 0.45, 0.5, Some(mask), &Unwatched).expect("a map")
    };
    let weights = Weights::default().by_class;
    let known: Vec<Class> = Class::ALL.into_iter().filter(|c| layouts.assessed()[*c as usize]).collect();
    let maps: Vec<_> = known.iter().map(|&class| (weights[class as usize], map(class))).collect();
    let grid = maps[0].1.grid;
    let house = &layouts.site().obstacles[0].outline;
    let mut cells = Vec::new();
    for row in 0..grid.rows {
        for col in 0..grid.cols {
            let at = grid.centre(row, col);
            let loss: f64 = maps.iter().map(|(weight, map)| weight * map.p[(row, col)]).sum();
            let inner = at.x >= 0.9 && at.x <= 15.1 && at.y >= 0.9 && at.y <= 8.6;
            let clear = Footprint::disc(at, 0.4 + 0.9 - 1e-9);
            if !loss.is_nan() && inner && !clear.meets_polygon_interior(house) {
                cells.push((at, loss));
            }
        }
    }
    assert_eq!(found.candidates, cells.len());
    let mut least = f64::INFINITY;
    for (k, (a, la)) in cells.iter().enumerate() {
        for (b, lb) in &cells[..k] {
            if a.distance(*b) >= 3.0 - 1e-9 {
                least = least.min(la + lb);
            }
        }
    }
    assert!((found.total - least).abs() < 1e-9, "{} {least}", found.total);
    assert!(found.exact && found.lower_bound <= found.total + 1e-12);
    assert!(found.spots[0].at.distance(found.spots[1].at) >= 3.0 - 1e-9);
    let sum: f64 = found.spots.iter().map(|spot| spot.loss.loss + spot.setback_loss).sum();
    assert!((sum - found.total).abs() < 1e-9);
}

/// The figures of a spot are those of a dig named there, to 5 errors of both.
#[test]
fn figures_of_spots_are_those_of_named_digs() {
    let layouts = layouts(1000, 7);
    let options = SpotOptions { spacing_m: 2.0, ..SpotOptions::new(4, 0.45, 0.5) };
    let found = best_spots(&layouts, &options, &Unwatched).expect("spots");
    for spot in &found.spots {
        let shape = underturf::site::DigShape::Disc { centre: spot.at, radius_m: 0.45 };
        let dig = Dig { shape, depth_m: 0.5, ..digs(&layouts)[1].clone() };
        let named = &assess(&layouts, &[dig], &Unwatched).expect("a dig")[0];
        let gap = (named.loss.loss - spot.loss.loss).abs();
        assert!(gap < 5.0 * named.loss.error.hypot(spot.loss.error) + 0.02, "{gap}");
        assert!((named.strike.p - spot.p.loss).abs() < 5.0 * named.strike.mcse.hypot(spot.p.error) + 0.005);
        assert!(spot.by_class[Class::Electric as usize].is_none());
        // Where none of a thousand draws strikes, the bound is 1 - 0.05^(1 / 1001), above which the unmapped lines comes.
        assert!(spot.upper > spot.p.loss && spot.upper > 0.0029, "{} {}", spot.upper, spot.p.loss);
    }
}

/// A setback bars what is known and makes what is likely dearer; a small tree is spared both.
#[test]
fn setbacks_bar_marks_and_price_likely_lines() {
    let layouts = layouts(200, 7);
    let plain = SpotOptions { spacing_m: 2.0, cell_m: 0.5, ..SpotOptions::new(3, 0.4, 0.4) };
    // Every line may lie within ten feet here: the limit is lifted, the price stays.
    let ten_feet = Setback::named("lateral_10ft").expect("a row");
    let rules = TreeRules { setback: ten_feet, setback_limit: 1.0, ..TreeRules::default() };
    let asks = SpotHole { keeps_setback: true, ..SpotHole::plain(0.4, 0.4) };
    let kept = SpotOptions { holes: vec![asks; 3], rules, ..plain.clone() };
    let (free, apart) = (
        best_spots(&layouts, &plain, &Unwatched).expect("spots"),
        best_spots(&layouts, &kept, &Unwatched).expect("spots"),
    );
    assert!(apart.candidates < free.candidates && apart.total > free.total);
    for spot in &apart.spots {
        let off = footprint(&digs(&layouts)[2]).reference().y; // the mark runs at y = 11
        assert!(off < 11.0 && 11.0 - spot.at.y >= 3.048 - 1e-9 || spot.at.x > 9.0 + 3.0);
        assert!(spot.setback_loss > 0.0);
    }
    let exempt = SpotHole::of_tree(0.4, 0.4, Plant::of_size(TreeSize::Small));
    let small = SpotOptions { holes: vec![exempt; 3], ..kept };
    assert_eq!(best_spots(&layouts, &small, &Unwatched).expect("spots").total, free.total);
}

/// Two spots for a tree between a standing tree and the building, against every pair of cells: the protected roots of the tree
/// at (6, 6) are 2.4 m wide (BS 5837), the building begins at x = 9, y = 7.5. Planted faults: roots without a price, a tree of
/// which the size alone counts, and protected roots that bar nothing, each choose another total.
#[test]
fn roots_price_buildings_and_those_of_standing_trees_bar() {
    let layouts = layouts(100, 7);
    let large = Plant { vigour: Vigour::Small, ..Plant::of_size(TreeSize::Large) };
    let ground = Polygon::new([[3.5, 3.5], [9.0, 3.5], [9.0, 11.0], [3.5, 11.0]].map(Point::from).to_vec());
    let plain =
        SpotOptions { spacing_m: 3.0, cell_m: 0.5, within: Some(ground), ..SpotOptions::new(2, 0.45, 0.4) };
    // The price of the setback is left out, and its limit: this test is about roots.
    let rules =
        TreeRules { roots_share: 0.5, setback_share: 0.0, setback_limit: 1.0, ..TreeRules::default() };
    let rules = TreeRules { setback: Setback::named("meters_6ft").expect("a row"), ..rules };
    let options = SpotOptions { holes: vec![SpotHole::of_tree(0.45, 0.4, large); 2], rules, ..plain.clone() };
    let free = SpotOptions { rules: TreeRules { spare_roots: false, ..rules }, ..plain.clone() };
    let whole = strike_map(&layouts, 0.45, 0.4, 0.5, None, &Unwatched).expect("a map");
    let weights = Weights::default().by_class;
    let known: Vec<Class> = Class::ALL.into_iter().filter(|c| layouts.assessed()[*c as usize]).collect();
    let maps: Vec<_> = known
        .iter()
        .map(|&class| {
            let mask = ClassMask::from_iter([class]);
            let map = strike_map(&layouts, 0.45, 0.4, 0.5, Some(mask), &Unwatched).expect("a map");
            (weights[class as usize], map.p)
        })
        .collect();
    let price = |reach: f64, share: f64, at: Point| {
        let gap = (9.0 - at.x).max(0.0).hypot((7.5 - at.y).max(0.0));
        share * 20.0 * (1.0 - gap / reach).max(0.0)
    };
    let least = |reach: f64, share: f64, protected_m: f64| {
        let mut cells = Vec::new();
        for ((row, col), p) in whole.p.indexed_iter().filter(|(_, p)| !p.is_nan()) {
            let at = whole.grid.centre(row, col);
            assert!(*p > 0.0);
            let inner = at.x >= 3.95 - 1e-9 && at.x <= 8.55 + 1e-9 && at.y >= 3.95 - 1e-9;
            if inner && at.distance(Point::new(6.0, 6.0)) >= protected_m + 0.45 - 1e-9 {
                let loss: f64 = maps.iter().map(|(weight, map)| weight * map[(row, col)]).sum();
                cells.push((at, loss + price(reach, share, at)));
            }
        }
        let pairs = cells.iter().enumerate().flat_map(|(k, a)| cells[..k].iter().map(move |b| (a, b)));
        let apart = pairs.filter(|(a, b)| a.0.distance(b.0) >= 3.0 - 1e-9);
        (apart.map(|(a, b)| a.1 + b.1).fold(f64::INFINITY, f64::min), cells.len())
    };
    let reach = 6.0 * 0.6; // small vigour of a large tree: six diameters of 0.6 m
    let found = best_spots(&layouts, &options, &Unwatched).expect("spots");
    let (total, count) = least(reach, 0.5, 2.4);
    assert!((found.total - total).abs() < 1e-9 && found.candidates == count, "{} {total}", found.total);
    for (reach, share, protected_m) in [(reach, 0.0, 2.4), (12.0 * 0.6, 0.5, 2.4), (reach, 0.5, 0.0)] {
        let other = least(reach, share, protected_m).0;
        assert!((found.total - other).abs() > 1e-3, "planted fault: {reach} {share} {protected_m}: {other}");
    }
    for spot in &found.spots {
        assert!((spot.roots_loss - price(reach, 0.5, spot.at)).abs() < 1e-9);
        assert!(spot.at.distance(Point::new(6.0, 6.0)) >= 2.85 - 1e-9);
    }
    let unspared = best_spots(&layouts, &free, &Unwatched).expect("spots");
    assert_eq!(unspared.candidates, least(reach, 0.0, 0.0).1, "the stem itself bars");
    assert!(unspared.candidates > count);
    // Its ball of 24 in needs a hole of 72 in (ANSI Z60.1, CSU GardenNotes 633), and that hole is looked for.
    let balled = Plant { caliper_m: Some(0.0508), ..large };
    let wide = SpotOptions { holes: vec![SpotHole::of_tree(0.45, 0.4, balled)], ..options.clone() };
    let spot = &best_spots(&layouts, &wide, &Unwatched).expect("a spot").spots[0];
    assert!(spot.dig.drawn.is_some() && spot.at.distance(Point::new(6.0, 6.0)) >= 2.4 + 0.9144 - 1e-9);
    // All of the tree counts: on a strip along the building given roots price what a smaller tree leaves free.
    let strip = Polygon::new([[0.5, 4.0], [7.0, 4.0], [7.0, 9.0], [0.5, 9.0]].map(Point::from).to_vec());
    let of = |tree: Plant| {
        let holes = vec![SpotHole::of_tree(0.45, 0.4, tree)];
        let options = SpotOptions { holes, within: Some(strip.clone()), ..options.clone() };
        best_spots(&layouts, &options, &Unwatched).expect("spots").spots[0].roots_loss
    };
    let told = |root_radius_m: f64| of(Plant { root_radius_m: Some(root_radius_m), ..large });
    assert!(told(50.0) > told(20.0) && told(20.0) > 0.0);
    assert!(of(Plant { vigour: Vigour::Aggressive, ..large }) > 0.0);
    assert_eq!((of(large), of(Plant::of_size(TreeSize::Small))), (0.0, 0.0));
}

#[test]
fn too_many_spots_are_refused_with_how_many_fit() {
    let layouts = layouts(50, 7);
    let corner = Polygon::new([[0., 0.], [3., 0.], [3., 3.], [0., 3.]].map(Point::from).to_vec());
    let options =
        SpotOptions { spacing_m: 1.9, cell_m: 0.1, within: Some(corner), ..SpotOptions::new(5, 0.4, 0.4) };
    let Err(Error::NoRoom { asked, fit, proven, .. }) = best_spots(&layouts, &options, &Unwatched) else {
        panic!("five holes 1.9 m apart do not fit in a square of 2.2 m")
    };
    assert_eq!((asked, fit, proven), (5, 4, true));
    let bad = SpotOptions { spacing_m: -1.0, ..options };
    assert!(matches!(
        best_spots(&layouts, &bad, &Unwatched),
        Err(Error::Argument(ArgumentError::OutOfRange { name: "spacing_m", .. }))
    ));
}
