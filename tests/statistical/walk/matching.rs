//! Which line of a forecast is which true line: the one-to-one matching that puts most flags right. Exact, by a sum over the sets
//! of true lines already taken; sites have at most five.

/// For each row of `overlap` (a forecast line) the column (a true line) that it is matched to. Pairs that share no flag stay
/// unmatched.
pub fn best(overlap: &[Vec<usize>], columns: usize) -> Vec<Option<usize>> {
    assert!(columns <= 16, "the sets of columns are listed");
    let sets = 1 << columns;
    // most[i][taken]: the most flags put right by the rows before i, with those columns taken
    let mut most = vec![vec![None::<usize>; sets]; overlap.len() + 1];
    most[0][0] = Some(0);
    for (i, row) in overlap.iter().enumerate() {
        for taken in 0..sets {
            let Some(so_far) = most[i][taken] else { continue };
            let mut offer = |set: usize, value: usize| {
                if most[i + 1][set].is_none_or(|v| v < value) {
                    most[i + 1][set] = Some(value);
                }
            };
            offer(taken, so_far);
            for (j, &n) in row.iter().enumerate().filter(|(j, n)| **n > 0 && taken & (1 << j) == 0) {
                offer(taken | 1 << j, so_far + n);
            }
        }
    }
    let mut set = (0..sets).max_by_key(|&s| most[overlap.len()][s].map_or(0, |v| v + 1)).unwrap_or(0);
    let mut match_of = vec![None; overlap.len()];
    for (i, row) in overlap.iter().enumerate().rev() {
        let value = most[i + 1][set].expect("a set that was reached");
        if most[i][set] == Some(value) {
            continue;
        }
        let from = (0..columns).find(|&j| {
            set & (1 << j) != 0 && row[j] > 0 && most[i][set & !(1 << j)].is_some_and(|v| v + row[j] == value)
        });
        let j = from.expect("one step back");
        match_of[i] = Some(j);
        set &= !(1 << j);
    }
    match_of
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::installer::Dice;

    /// All matchings tried one by one.
    fn by_trial(overlap: &[Vec<usize>], free: usize) -> usize {
        let Some((row, rest)) = overlap.split_first() else { return 0 };
        let skip = by_trial(rest, free);
        (0..row.len())
            .filter(|j| free & (1 << j) != 0)
            .map(|j| row[j] + by_trial(rest, free & !(1 << j)))
            .fold(skip, usize::max)
    }

    #[test]
    fn the_greedy_matching_is_not_taken_where_another_is_better() {
        // greedy takes 6 and is left with 0; the best is 5 + 5
        assert_eq!(best(&[vec![6, 5], vec![5, 0]], 2), [Some(1), Some(0)]);
        assert_eq!(best(&[vec![0, 0], vec![3, 0]], 2), [None, Some(0)]);
        assert!(best(&[], 3).is_empty());
    }

    #[test]
    fn the_matching_is_as_good_as_the_best_of_all() {
        let mut dice = Dice::new(8);
        for _ in 0..200 {
            let (rows, columns) = (dice.whole(1, 5), dice.whole(1, 4));
            let overlap: Vec<Vec<usize>> =
                (0..rows).map(|_| (0..columns).map(|_| dice.whole(0, 9)).collect()).collect();
            let matched = best(&overlap, columns);
            let value: usize = matched.iter().zip(&overlap).filter_map(|(m, row)| m.map(|j| row[j])).sum();
            let mut used: Vec<usize> = matched.iter().flatten().copied().collect();
            used.sort_unstable();
            assert!(used.windows(2).all(|w| w[0] != w[1]), "one to one");
            assert_eq!(value, by_trial(&overlap, (1 << columns) - 1));
        }
    }
}
