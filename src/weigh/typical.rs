//! Is it any of them at all? How a photograph's findings lie among the reference specimens.
//!
//! Each finding is carried to a normal score (its place among the pooled reference values), and
//! the squared Mahalanobis distance of the findings that were measured is set against that of
//! reference specimens held out from the fit. The share of those that lie as far out or farther
//! is a p-value without any assumption of normality (conformal: Vovk, Gammerman & Shafer 2005).

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal};

/// Normal scores of one finding.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Scale {
    /// Values at fixed pooled probabilities, ascending.
    knots: Vec<f64>,
}

/// Knots of the score: enough to follow any smooth distribution.
const KNOTS: usize = 17;

impl Scale {
    /// From pooled reference values; none where there are too few to tell.
    #[must_use]
    pub fn fit(mut values: Vec<f64>) -> Option<Self> {
        values.retain(|v| v.is_finite());
        if values.len() < 4 * KNOTS {
            return None;
        }
        values.sort_by(f64::total_cmp);
        let knots = (0..KNOTS)
            .map(|k| values[((values.len() - 1) as f64 * probability(k)).round() as usize])
            .collect();
        Some(Self { knots })
    }

    /// Score of a value; beyond the outer knots it goes on at the slope of the outer half, so that
    /// a value far outside the reference sample gets a score far outside.
    #[must_use]
    pub fn score(&self, value: f64) -> f64 {
        let last = KNOTS - 1;
        let above = self.knots.partition_point(|&k| k < value);
        let (a, b) = match above {
            0 => (0, last / 2),
            k if k > last => (last / 2, last),
            k => (k - 1, k),
        };
        let span = (self.knots[b] - self.knots[a]).max(f64::MIN_POSITIVE);
        let (za, zb) = (
            normal_quantile(probability(a)),
            normal_quantile(probability(b)),
        );
        let z = if above > last {
            zb + (value - self.knots[b]) / span * (zb - za)
        } else {
            za + (value - self.knots[a]) / span * (zb - za)
        };
        z.clamp(-FARTHEST, FARTHEST)
    }
}

/// Scores are held to this many standard deviations: one absurd finding is reason enough for doubt,
/// and must not hide the others.
const FARTHEST: f64 = 8.0;

fn probability(knot: usize) -> f64 {
    // From 0.5 % to 99.5 %: the outermost values of a sample say little about its distribution.
    0.005 + 0.99 * knot as f64 / (KNOTS - 1) as f64
}

fn normal_quantile(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p)
}

/// Where the specimens of one hypothesis lie.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cloud {
    mean: Vec<f64>,
    /// Covariance, row by row.
    covariance: Vec<f64>,
    /// Distances of held-out specimens, ascending.
    held_out: Vec<f64>,
}

/// Share of the diagonal in the shrunken covariance; keeps it well conditioned where findings
/// repeat each other.
const SHRINKAGE: f64 = 0.15;
/// Least variance of a normal score.
const LEAST_VARIANCE: f64 = 0.02;

impl Cloud {
    /// Fits mean and covariance to `scores` (one row a specimen, none where not measured) and
    /// keeps the distances of `held_out`.
    #[must_use]
    pub fn fit(scores: &[Vec<Option<f64>>], held_out: &[Vec<Option<f64>>]) -> Self {
        let findings = scores.first().map_or(0, Vec::len);
        let mean: Vec<f64> = (0..findings)
            .map(|f| average(scores.iter().filter_map(|s| s[f])))
            .collect();
        let mut covariance = vec![0.0; findings * findings];
        for i in 0..findings {
            for j in 0..findings {
                let product = average(
                    scores
                        .iter()
                        .filter_map(|s| Some((s[i]? - mean[i]) * (s[j]? - mean[j]))),
                );
                covariance[i * findings + j] = if i == j {
                    product.max(LEAST_VARIANCE)
                } else {
                    product * (1.0 - SHRINKAGE)
                };
            }
        }
        let mut cloud = Self {
            mean,
            covariance,
            held_out: Vec::new(),
        };
        let mut distances: Vec<f64> = held_out.iter().filter_map(|s| cloud.distance(s)).collect();
        distances.sort_by(f64::total_cmp);
        cloud.held_out = distances;
        cloud
    }

    /// Squared Mahalanobis distance a finding; none where nothing was measured.
    #[must_use]
    pub fn distance(&self, scores: &[Option<f64>]) -> Option<f64> {
        let findings = self.mean.len();
        let seen: Vec<usize> = (0..findings).filter(|&f| scores[f].is_some()).collect();
        if seen.is_empty() {
            return None;
        }
        let covariance = DMatrix::from_fn(seen.len(), seen.len(), |i, j| {
            self.covariance[seen[i] * findings + seen[j]]
        });
        let off = DVector::from_fn(seen.len(), |i, _| {
            scores[seen[i]].unwrap_or(0.0) - self.mean[seen[i]]
        });
        // Missing pairs can leave the matrix short of positive definite: then widen its diagonal.
        let solved = [0.0, 0.1, 1.0, 10.0].iter().find_map(|&extra| {
            let widened = &covariance + DMatrix::identity(seen.len(), seen.len()) * extra;
            widened.cholesky().map(|c| c.solve(&off))
        })?;
        Some(off.dot(&solved) / seen.len() as f64)
    }

    /// Share of held-out specimens as far out or farther, in (0, 1]; none without findings.
    #[must_use]
    pub fn share_as_far_out(&self, scores: &[Option<f64>]) -> Option<f64> {
        let distance = self.distance(scores)?;
        let nearer = self.held_out.partition_point(|&d| d < distance);
        let n = self.held_out.len();
        Some((n - nearer + 1) as f64 / (n + 1) as f64)
    }
}

fn average(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = values.fold((0.0, 0usize), |(s, n), v| (s + v, n + 1));
    sum / n.max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, Normal as Draw};

    fn correlated(n: usize, seed: u64) -> Vec<Vec<Option<f64>>> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let unit = Draw::new(0.0, 1.0).unwrap();
        (0..n)
            .map(|i| {
                let a: f64 = unit.sample(&mut rng);
                let b = 0.9 * a + 0.3 * unit.sample(&mut rng);
                vec![
                    Some(a),
                    (i % 7 != 0).then_some(b),
                    Some(unit.sample(&mut rng)),
                ]
            })
            .collect()
    }

    #[test]
    fn p_values_of_fresh_specimens_are_uniform_and_outliers_are_small() {
        let cloud = Cloud::fit(&correlated(800, 1), &correlated(800, 2));
        let fresh: Vec<f64> = correlated(2000, 3)
            .iter()
            .map(|s| cloud.share_as_far_out(s).unwrap())
            .collect();
        for level in [0.05, 0.2, 0.5] {
            let share = fresh.iter().filter(|&&p| p <= level).count() as f64 / fresh.len() as f64;
            // Four standard errors of 2000 draws and of the 800 that set the scale.
            assert!((share - level).abs() < 0.08, "{level}: {share}");
        }
        // Each value is common, the pair is not.
        let odd = cloud
            .share_as_far_out(&[Some(1.5), Some(-1.5), Some(0.0)])
            .unwrap();
        assert!(odd < 0.005, "{odd}");
    }

    #[test]
    fn scores_follow_ranks_and_run_on_outside() {
        let values: Vec<f64> = (0..=1000).map(|i| (f64::from(i) / 100.0).exp()).collect();
        let scale = Scale::fit(values).unwrap();
        assert!(scale.score((5.0f64).exp()).abs() < 0.1);
        assert!(scale.score(1e9) > 4.0);
        assert!(scale.score(0.0) < -2.4);
        assert!(Scale::fit(vec![1.0; 5]).is_none());
    }
}
