//! Sets of reals as sorted, disjoint closed intervals.

/// Sorts the intervals and merges those that overlap or touch, in place; intervals that end before they begin are dropped.
pub fn merge_intervals(intervals: &mut Vec<(f64, f64)>) {
    intervals.retain(|&(low, high)| low <= high);
    intervals.sort_unstable_by(|p, q| p.0.total_cmp(&q.0));
    let mut kept = 0;
    for k in 0..intervals.len() {
        let (low, high) = intervals[k];
        if kept > 0 && low <= intervals[kept - 1].1 {
            intervals[kept - 1].1 = intervals[kept - 1].1.max(high);
        } else {
            intervals[kept] = (low, high);
            kept += 1;
        }
    }
    intervals.truncate(kept);
}

#[cfg(test)]
mod tests {
    use super::merge_intervals;

    #[test]
    fn overlapping_and_touching_intervals_become_one() {
        let mut set = vec![(3.0, 4.0), (0.0, 1.0), (1.0, 2.0), (3.5, 3.7), (6.0, 5.0), (3.9, 5.0)];
        merge_intervals(&mut set);
        assert_eq!(set, vec![(0.0, 2.0), (3.0, 5.0)]);
        let mut none: Vec<(f64, f64)> = vec![];
        merge_intervals(&mut none);
        assert!(none.is_empty());
    }
}
