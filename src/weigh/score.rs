//! Scores of likelihood ratios: how well a set of readings was calibrated.

/// Log-likelihood-ratio cost in bits: 0 perfect, 1 says nothing, more misleads.
///
/// `same` are likelihood ratios where the hypothesis was true, `other` where it was not.
/// Source: Brümmer & du Preez, Computer Speech & Language 20 (2006) 230; van Lierop et al.,
/// FSI: Synergy 8 (2024) 100466.
#[must_use]
pub fn cllr(same: &[f64], other: &[f64]) -> f64 {
    let mean =
        |values: &mut dyn Iterator<Item = f64>, n: usize| values.sum::<f64>() / n.max(1) as f64;
    let a = mean(
        &mut same.iter().map(|lr| (1.0 + 1.0 / lr).log2()),
        same.len(),
    );
    let b = mean(&mut other.iter().map(|lr| (1.0 + lr).log2()), other.len());
    f64::midpoint(a, b)
}

/// Multi-class cost in units of an uninformed guess: mean −log2 posterior of the truth under equal
/// priors, hypotheses counted alike, over log2 of their number. 0 perfect, 1 says nothing.
/// Source: Brümmer, Measuring, refining and calibrating speaker and language information (2010), ch. 6.
#[must_use]
pub fn multiclass_cost(posteriors: &[(usize, Vec<f64>)], hypotheses: usize) -> f64 {
    let mut sums = vec![(0.0, 0usize); hypotheses];
    for (truth, posterior) in posteriors {
        sums[*truth].0 -= posterior[*truth].max(f64::MIN_POSITIVE).log2();
        sums[*truth].1 += 1;
    }
    let seen: Vec<f64> = sums
        .iter()
        .filter(|s| s.1 > 0)
        .map(|s| s.0 / s.1 as f64)
        .collect();
    seen.iter().sum::<f64>() / seen.len().max(1) as f64 / (hypotheses as f64).log2()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn cllr_of_worked_examples() {
        // Limits from Brümmer & du Preez 2006; the two others computed from their formula.
        assert_abs_diff_eq!(cllr(&[1.0, 1.0], &[1.0]), 1.0, epsilon = 1e-12);
        assert_abs_diff_eq!(
            cllr(&[10.0, 100.0, 2.0], &[0.1, 0.5, 0.01]),
            0.245_607,
            epsilon = 1e-6
        );
        assert_abs_diff_eq!(cllr(&[0.1], &[10.0]), 3.459_432, epsilon = 1e-6);
    }

    #[test]
    fn multiclass_cost_limits() {
        let flat = vec![0.2; 5];
        let samples: Vec<_> = (0..5).map(|k| (k, flat.clone())).collect();
        assert_abs_diff_eq!(multiclass_cost(&samples, 5), 1.0, epsilon = 1e-12);
        assert_abs_diff_eq!(
            multiclass_cost(&[(1, vec![0.0, 1.0, 0.0])], 3),
            0.0,
            epsilon = 1e-12
        );
    }
}
