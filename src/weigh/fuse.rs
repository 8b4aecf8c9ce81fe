//! Findings that overlap are weighed down so that nothing counts twice.
//!
//! The ln likelihoods of all findings enter one multinomial logistic regression with one weight a
//! finding, held at zero or above (Brümmer's logistic-regression fusion of detectors, here with
//! weights bounded). Findings that repeat each other share their weight; one that misleads gets none.

use serde::{Deserialize, Serialize};

/// Fusion weights of the findings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fusion {
    /// Weight of each finding, 0 … about 1.
    pub weights: Vec<f64>,
}

/// One specimen for fitting: its hypothesis and `ln_likelihood[finding][hypothesis]`, zeros where
/// a finding was not measured.
pub struct FusionSample {
    /// True hypothesis.
    pub hypothesis: usize,
    /// ln likelihood per finding and hypothesis.
    pub ln_likelihood: Vec<Vec<f64>>,
}

/// Pull of the weights towards zero, per specimen: of the order of one specimen in a thousand.
const RIDGE: f64 = 1e-3;
/// Steps of the gradient method; the loss then changes by under 10⁻⁶ a step on samples tried.
const STEPS: usize = 600;
/// Step length of Adam (Kingma & Ba 2015), with its usual decay rates below.
const STEP: f64 = 0.02;
const DECAY: (f64, f64) = (0.9, 0.999);

impl Fusion {
    /// Fits the weights by the mean multinomial log loss, every hypothesis counted alike however
    /// many specimens it has.
    #[must_use]
    pub fn fit(samples: &[FusionSample], hypotheses: usize) -> Self {
        let findings = samples.first().map_or(0, |s| s.ln_likelihood.len());
        let share = class_shares(samples, hypotheses);
        let mut weights = vec![1.0 / (findings.max(1) as f64).sqrt(); findings];
        let (mut first, mut second) = (vec![0.0; findings], vec![0.0; findings]);
        for step in 1..=STEPS {
            let gradient = gradient(samples, &share, &weights);
            for f in 0..findings {
                first[f] = DECAY.0 * first[f] + (1.0 - DECAY.0) * gradient[f];
                second[f] = DECAY.1 * second[f] + (1.0 - DECAY.1) * gradient[f].powi(2);
                let mean = first[f] / (1.0 - DECAY.0.powi(step as i32));
                let square = second[f] / (1.0 - DECAY.1.powi(step as i32));
                weights[f] = (weights[f] - STEP * mean / (square.sqrt() + 1e-8)).max(0.0);
            }
        }
        Self { weights }
    }

    /// Sum over findings of weight × ln likelihood, per hypothesis.
    #[must_use]
    pub fn sum(&self, ln_likelihood: &[Vec<f64>], hypotheses: usize) -> Vec<f64> {
        let mut total = vec![0.0; hypotheses];
        for (weight, row) in self.weights.iter().zip(ln_likelihood) {
            for (t, l) in total.iter_mut().zip(row) {
                *t += weight * l;
            }
        }
        total
    }
}

/// Probabilities in proportion to exp(ln likelihood) × prior, without overflow.
#[must_use]
pub fn posterior(ln_likelihood: &[f64], prior: &[f64]) -> Vec<f64> {
    let top = ln_likelihood
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    let mass: Vec<f64> = ln_likelihood
        .iter()
        .zip(prior)
        .map(|(l, p)| (l - top).exp() * p)
        .collect();
    let total: f64 = mass.iter().sum();
    if total > 0.0 {
        mass.iter().map(|m| m / total).collect()
    } else {
        prior.to_vec()
    }
}

/// Weight of a specimen of each hypothesis, so that the hypotheses weigh the same in all.
fn class_shares(samples: &[FusionSample], hypotheses: usize) -> Vec<f64> {
    let mut counts = vec![0.0; hypotheses];
    for sample in samples {
        counts[sample.hypothesis] += 1.0;
    }
    counts
        .iter()
        .map(|&c: &f64| 1.0 / (c.max(1.0) * hypotheses as f64))
        .collect()
}

fn gradient(samples: &[FusionSample], share: &[f64], weights: &[f64]) -> Vec<f64> {
    let flat = vec![1.0; share.len()];
    let fusion = Fusion {
        weights: weights.to_vec(),
    };
    let mut gradient: Vec<f64> = weights.iter().map(|w| RIDGE * w).collect();
    for sample in samples {
        let p = posterior(&fusion.sum(&sample.ln_likelihood, share.len()), &flat);
        for (g, row) in gradient.iter_mut().zip(&sample.ln_likelihood) {
            let expected: f64 = row.iter().zip(&p).map(|(l, p)| l * p).sum();
            *g += share[sample.hypothesis] * (expected - row[sample.hypothesis]);
        }
    }
    gradient
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// Two hypotheses; a good finding, an exact copy of it, and one of pure noise.
    fn samples() -> Vec<FusionSample> {
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        (0..600)
            .map(|i| {
                let hypothesis = i % 2;
                // x ~ N(±1, 1): ln LR = 2x exactly.
                let noise: f64 = (0..12).map(|_| rng.random_range(-0.5..0.5)).sum();
                let x = if hypothesis == 1 { 1.0 } else { -1.0 } + noise;
                let useless = rng.random_range(-2.0..2.0);
                let good = vec![-x, x];
                FusionSample {
                    hypothesis,
                    ln_likelihood: vec![good.clone(), good, vec![-useless, useless]],
                }
            })
            .collect()
    }

    #[test]
    fn a_copied_finding_does_not_count_twice_and_noise_counts_little() {
        let fusion = Fusion::fit(&samples(), 2);
        let both = fusion.weights[0] + fusion.weights[1];
        assert!((both - 1.0).abs() < 0.25, "{:?}", fusion.weights);
        assert!(fusion.weights[2] < 0.12, "{:?}", fusion.weights);
    }

    #[test]
    fn posterior_follows_the_prior_where_evidence_is_silent() {
        assert_eq!(posterior(&[3.0, 3.0], &[0.25, 0.75]), vec![0.25, 0.75]);
        let far = posterior(&[900.0, -900.0], &[0.5, 0.5]);
        assert!(far[0] > 0.999_999 && far[1] >= 0.0);
    }
}
