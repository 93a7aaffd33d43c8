//! Isotonic regression by pooling adjacent violators: the monotone curve with least squared error, which is also the best
//! monotone curve for the log score (Barlow et al. 1972, from memory). Fitted in-sample it is the strongest curve a map
//! of one ordered feature can have.

/// Fits values that never fall as `feature` grows; one fitted value per observation. Equal features share one value.
pub fn rising(feature: &[f64], outcome: &[f64]) -> Vec<f64> {
    assert_eq!(feature.len(), outcome.len());
    let mut order: Vec<usize> = (0..feature.len()).collect();
    order.sort_by(|&a, &b| feature[a].total_cmp(&feature[b]));
    // blocks of (sum, count)
    let mut blocks: Vec<(f64, usize)> = Vec::new();
    let mut k = 0;
    while k < order.len() {
        let tie = order[k..].iter().take_while(|&&i| feature[i] == feature[order[k]]).count();
        let mut block = (order[k..k + tie].iter().map(|&i| outcome[i]).sum::<f64>(), tie);
        while let Some(&(sum, n)) = blocks.last() {
            if sum / (n as f64) < block.0 / block.1 as f64 {
                break;
            }
            block = (block.0 + sum, block.1 + n);
            blocks.pop();
        }
        blocks.push(block);
        k += tie;
    }
    let mut fitted = vec![0.0; feature.len()];
    let mut at = 0;
    for (sum, n) in blocks {
        for &i in &order[at..at + n] {
            fitted[i] = sum / n as f64;
        }
        at += n;
    }
    fitted
}

/// Fits values that never rise as `feature` grows.
pub fn falling(feature: &[f64], outcome: &[f64]) -> Vec<f64> {
    let turned: Vec<f64> = feature.iter().map(|f| -f).collect();
    rising(&turned, outcome)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn adjacent_violators_are_pooled() {
        // by hand: 1, 0 pool to a half; 1, 0, 0 pool to a third and then with the half before them to two fifths
        let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];
        let y = [0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 1.0];
        assert_eq!(rising(&x, &y), [0.0, 0.4, 0.4, 0.4, 0.4, 0.4, 1.0]);
        let x = [3.0, 1.0, 2.0];
        assert_eq!(falling(&x, &[0.0, 1.0, 0.5]), [0.0, 1.0, 0.5]);
    }

    #[test]
    fn equal_features_share_a_value() {
        assert_eq!(
            rising(&[1.0, 1.0, 1.0, 2.0], &[0.0, 1.0, 0.0, 1.0]),
            [1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0, 1.0]
        );
    }
}
