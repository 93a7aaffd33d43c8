//! Survey noise in outlines and paths: repeated corners, closed rings, spikes. They are left out of the site, never of the
//! document.
//!
//! A total station notes the last corner twice, a drawing program closes its rings, a hand slips back a few millimetres: none
//! of that is a fault of the crew's, and none of it is ground.

use crate::geometry::Point;

/// Corners nearer to each other than this are one corner written twice, metres. Numerical choice.
pub(super) const SAME_PLACE_M: f64 = 1e-6;

/// A spike whose shorter side is under this is noise, metres: no survey of a yard is that good. Common practice, no source.
pub(super) const SPIKE_M: f64 = 0.01;

/// ...if it turns back on itself within this angle: its cosine is that of 15 degrees. Numerical choice.
const SHARP: f64 = 0.965_925_826_289;

/// What is left of an outline or path, and what was left out.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Cleaned {
    /// Indices of the corners that are kept, ascending.
    pub kept: Vec<usize>,
    /// Whether the last corner only repeated the first.
    pub closed: bool,
    /// Corners that repeated the one before.
    pub repeated: usize,
    /// Spikes.
    pub spikes: usize,
}

impl Cleaned {
    /// Whether anything was left out.
    pub fn is_changed(&self) -> bool {
        self.closed || self.repeated + self.spikes > 0
    }

    /// Those that are kept.
    pub fn of<T: Copy>(&self, corners: &[T]) -> Vec<T> {
        self.kept.iter().map(|&k| corners[k]).collect()
    }
}

/// An outline, metres: at least three corners are kept where there are so many.
pub(super) fn outline(corners: &[Point]) -> Cleaned {
    cleaned(corners, true)
}

/// A path, metres: its ends are kept.
pub(super) fn path(points: &[Point]) -> Cleaned {
    cleaned(points, false)
}

fn cleaned(corners: &[Point], ring: bool) -> Cleaned {
    let mut all = Cleaned { kept: (0..corners.len()).collect(), ..Cleaned::default() };
    if corners.iter().any(|p| !p.x.is_finite() || !p.y.is_finite()) {
        return all;
    }
    let least = if ring { 3 } else { 2 };
    let near = |a: usize, b: usize| corners[a].distance(corners[b]) < SAME_PLACE_M;
    if ring && corners.len() > least && near(0, corners.len() - 1) {
        all.kept.pop();
        all.closed = true;
    }
    let mut k = 1;
    while k < all.kept.len() && all.kept.len() > least {
        if near(all.kept[k - 1], all.kept[k]) {
            // The ends of a path stay where they are.
            let gone = if !ring && k + 1 == all.kept.len() { k - 1 } else { k };
            all.kept.remove(gone);
            all.repeated += 1;
        } else {
            k += 1;
        }
    }
    while let Some(tip) = spike(corners, &all.kept, ring).filter(|_| all.kept.len() > least) {
        all.kept.remove(tip);
        all.spikes += 1;
        // What stood on either side of a spike may be one place.
        let count = all.kept.len();
        let twin = (0..count).find(|&k| {
            let next = if k + 1 < count { k + 1 } else { 0 };
            (ring || next > k) && near(all.kept[k], all.kept[next])
        });
        if let Some(twin) = twin.filter(|_| count > least) {
            all.kept.remove(if ring { twin } else { (twin + 1).min(count - 2) });
        }
    }
    all
}

/// The place among the kept corners of the tip of a spike, if there is one.
fn spike(corners: &[Point], kept: &[usize], ring: bool) -> Option<usize> {
    let count = kept.len();
    let inner = if ring { 0..count } else { 1..count.saturating_sub(1) };
    inner.into_iter().find(|&k| {
        let at = |place: usize| corners[kept[place % count]];
        let (before, tip, after) = (at(k + count - 1), at(k), at(k + 1));
        let (a, b) = (before - tip, after - tip);
        let (long, short) = (a.norm().max(b.norm()), a.norm().min(b.norm()));
        short < SPIKE_M && a.dot(b) > SHARP * long * short
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(corners: &[[f64; 2]]) -> Vec<Point> {
        corners.iter().copied().map(Point::from).collect()
    }

    /// Catches noise that is kept, and corners that are dropped although they hold ground.
    #[test]
    fn noise_is_left_out_and_ground_is_kept() {
        let square = [[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]];
        assert!(!outline(&points(&square)).is_changed());
        let closed = [&square[..], &[[0.0, 0.0]]].concat();
        let found = outline(&points(&closed));
        assert!(found.closed && found.repeated == 0 && found.kept == [0, 1, 2, 3]);
        let twice = [[0.0, 0.0], [4.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]];
        let found = outline(&points(&twice));
        assert!(found.repeated == 1 && found.kept == [0, 1, 3, 4]);
        // Past the corner by 5 mm and back.
        let spiked = [[0.0, 0.0], [4.005, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]];
        let found = outline(&points(&spiked));
        assert!(found.spikes == 1 && found.kept == [0, 2, 3, 4], "{found:?}");
        // A needle of 8 mm out of a straight wall, both feet at one place.
        let needle = [[0.0, 0.0], [2.0, 0.0], [2.0, -0.008], [2.0, 0.0], [4.0, 0.0], [4.0, 3.0]];
        let found = outline(&points(&needle));
        assert!(found.spikes == 1 && found.kept.len() == 4, "{found:?}");
        // A notch of 8 mm that turns at right angles, and a needle of 2 cm, are as drawn.
        let notch = [[0.0, 0.0], [2.0, 0.0], [2.0, 0.008], [2.3, 0.008], [2.3, 0.0], [4.0, 0.0], [4.0, 3.0]];
        assert!(!outline(&points(&notch)).is_changed());
        let needle = [[0.0, 0.0], [4.02, 0.0], [4.0, 0.001], [4.0, 3.0]];
        assert!(!outline(&points(&needle)).is_changed());
    }

    #[test]
    fn paths_keep_their_ends() {
        let line = points(&[[0.0, 0.0], [0.0, 0.0], [5.0, 0.0], [5.0, 0.0]]);
        assert_eq!(path(&line).of(&line), points(&[[0.0, 0.0], [5.0, 0.0]]));
        let back = points(&[[0.0, 0.0], [5.006, 0.0], [5.0, 0.0], [5.0, 4.0]]);
        assert_eq!(path(&back).kept, [0, 2, 3]);
        let there_and_back = points(&[[0.0, 0.0], [5.0, 0.0], [0.0, 0.0]]);
        assert!(!path(&there_and_back).is_changed());
        let point = points(&[[1.0, 1.0], [1.0, 1.0]]);
        assert_eq!(path(&point).kept.len(), 2);
    }
}
