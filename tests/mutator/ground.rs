//! Laws that polygons, digs and probes made from bytes are held to, one function each: libFuzzer runs them, and the laws on bytes
//! made from seeds.

use super::answer::{Wrong, layouts};
use super::bytes::Bytes;
use super::targets::{Outcome, sampled};
use serde_json::{Value, json};
use std::sync::LazyLock;
use underturf::decision;
use underturf::effort::Effort;
use underturf::geometry::{Footprint, Point, Polygon};
use underturf::inference::Layouts;
use underturf::monitor::Unwatched;
use underturf::site::io;
use underturf::strike::Form;

/// So near to a boundary, metres, rounding may decide on which side a point is.
const NEAR_M: f64 = 1e-9;

/// Six heads in two rows about the origin on one zone, a valve beside them: quick to sample.
fn document(digs: &Value, probes: &Value) -> Value {
    let head = |k: usize| {
        let (x, y) = (-4.0 + 4.0 * (k % 3) as f64, -2.0 + 4.0 * (k / 3) as f64);
        json!({"id": format!("h{k}"), "x": x, "y": y, "zone": "1"})
    };
    json!({
        "format": "underturf-site/2", "units": "m",
        "heads": (0..6).map(head).collect::<Vec<_>>(),
        "valve_boxes": [{"id": "v", "x": -6.0, "y": 0.5, "zones": ["1"]}],
        "settings": {"grid_step_deg": 5.0, "header_step_m": 1.0},
        "digs": digs, "probes": probes,
    })
}

/// Chances of the digs of the layouts' site, or of others.
fn struck(layouts: &Layouts, digs: &[underturf::site::Dig]) -> Result<Outcome, String> {
    let strikes = decision::strike_probability(layouts, digs, Form::General, &Unwatched);
    let mut wrong = Wrong::default();
    for (k, strike) in strikes.map_err(|error| format!("asking: {error}"))?.iter().enumerate() {
        wrong.strike(&format!("dig {k}"), strike);
    }
    if wrong.0.is_empty() { Ok(Outcome::Answered) } else { Err(wrong.0.join("; ")) }
}

/// Digs from bytes on a site without probes, sampled once.
///
/// # Errors
/// A chance outside (0, 1), an error other than that of the reader.
pub fn digs(data: &[u8]) -> Result<Outcome, String> {
    static LAYOUTS: LazyLock<Layouts> = LazyLock::new(|| {
        let site = io::from_value(document(&json!([]), &json!([]))).expect("a good document");
        layouts(site, Effort::USUAL, &Unwatched).expect("layouts")
    });
    let Ok(site) = io::from_value(document(&Bytes::new(data).digs(), &json!([]))) else {
        return Ok(Outcome::Refused);
    };
    struck(&LAYOUTS, &site.digs)
}

/// Probes from bytes on a site with one dig, with at most so much work.
///
/// # Errors
/// A chance outside (0, 1), an error that no probes should lead to.
pub fn probes(data: &[u8], effort: u64) -> Result<Outcome, String> {
    let dig = json!([{"x": 1.0, "y": 0.3, "radius": 0.4, "depth": 0.4}]);
    let Ok(site) = io::from_value(document(&dig, &Bytes::new(data).probes())) else {
        return Ok(Outcome::Refused);
    };
    match sampled(site, effort)? {
        Ok(layouts) => struck(&layouts, &layouts.site().digs),
        Err(outcome) => Ok(outcome),
    }
}

/// A polygon from bytes, and a segment.
///
/// # Errors
/// A law that does not hold.
pub fn polygon(data: &[u8]) -> Result<Outcome, String> {
    polygon_by(data, &|polygon, p| polygon.contains(p))
}

/// The same with membership as an argument, so that tests may plant a wrong one.
///
/// # Errors
/// A law that does not hold.
pub fn polygon_by(data: &[u8], contains: &dyn Fn(&Polygon, Point) -> bool) -> Result<Outcome, String> {
    let mut bytes = Bytes::new(data);
    let polygon = Polygon::new(bytes.points(12).into_iter().map(Point::from).collect());
    let (p, q) = (Point::from(bytes.point()), Point::from(bytes.point()));
    if polygon.ring.len() < 3 || !polygon.crossings_with_itself().is_empty() {
        return Ok(Outcome::Refused);
    }
    let hold = |what: &str, holds: bool| {
        if holds { Ok(()) } else { Err(format!("{what}: {:?}, {p:?}, {q:?}", polygon.ring)) }
    };
    let reversed = Polygon::new(polygon.ring.iter().rev().copied().collect());
    // Corners are multiples of 2^-11 below 16, so doubled areas and turns are exact.
    hold("area of the reversed ring", polygon.signed_area() == -reversed.signed_area())?;
    let parts = polygon.convex_parts();
    let sum: f64 = parts.iter().map(|part| Polygon::new(part.clone()).area()).sum();
    hold("area of convex parts", (sum - polygon.area()).abs() < 1e-9)?;
    let inside = contains(&polygon, p);
    hold("membership in the reversed ring", inside == contains(&reversed, p))?;
    hold("corners are in the polygon", polygon.ring.iter().all(|&corner| contains(&polygon, corner)))?;
    let far = polygon.distance_to_boundary(p) > NEAR_M;
    let pit = Footprint::polygon(&polygon);
    hold("membership in the pit", !far || inside == pit.contains(p))?;
    hold("distance to the pit", !far || inside == (pit.distance_to_point(p) == 0.0))?;
    let clipped = polygon.inside_intervals(p, q);
    let ends: Vec<f64> = clipped.iter().flat_map(|&(from, to)| [from, to]).collect();
    let ordered = ends.windows(2).all(|w| w[0] <= w[1]) && ends.iter().all(|t| (0.0..=1.0).contains(t));
    hold("clipped parts in order", ordered)?;
    let middle = |&(from, to): &(f64, f64)| p.towards(q, f64::midpoint(from, to));
    let within = |at: Point| contains(&polygon, at) || polygon.distance_to_boundary(at) <= NEAR_M;
    hold("clipped parts inside", clipped.iter().map(middle).all(within))?;
    hold("clipped where it is blocked", polygon.blocks(p, q) != clipped.is_empty())?;
    hold("covered from end to end", !polygon.covers(p, q) || (within(p) && within(q)))?;
    Ok(Outcome::Answered)
}
