//! A number against its reference distributions → log likelihood per hypothesis.
//!
//! The distribution of a finding under each hypothesis is a histogram over classes of equal pooled
//! probability, smoothed over neighbouring classes, with a pseudo-count in every one. The
//! pseudo-count is also the bound: no ratio can exceed what the size of the sample supports.

use serde::{Deserialize, Serialize};

/// Reference distributions of one finding under each hypothesis.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Distributions {
    /// Upper edges of all classes but the last, ascending, in the finding's own unit.
    edges: Vec<f64>,
    /// `ln_density[hypothesis][class]`: ln of the class's probability under the hypothesis over its
    /// mean probability under all of them.
    ln_density: Vec<Vec<f64>>,
    /// Reference specimens per hypothesis in which it was measured.
    pub n: Vec<usize>,
}

/// Classes at most; more would only resolve noise in samples of a few thousand.
const MAX_CLASSES: usize = 24;
/// Pooled values a class needs before another is opened.
const VALUES_PER_CLASS: usize = 25;
/// Pseudo-count shared out over the classes of each hypothesis. Two whole specimens: a class never
/// seen under a hypothesis keeps the chance that the next few specimens show it.
const PSEUDO_COUNT: f64 = 2.0;
/// Weights of a class, its neighbours and theirs in smoothing (binomial, sums to one).
const SMOOTHING: [f64; 3] = [0.375, 0.25, 0.0625];
/// Fewest specimens of a hypothesis that show the finding; with fewer its distribution is taken as
/// the mean of all, so that it says nothing for or against.
const FEWEST: usize = 12;

impl Distributions {
    /// Fits them to `(hypothesis, value)` pairs. Not-a-number values are left out.
    #[must_use]
    pub fn fit(samples: &[(usize, f64)], hypotheses: usize) -> Self {
        let samples: Vec<(usize, f64)> = samples
            .iter()
            .copied()
            .filter(|s| s.1.is_finite())
            .collect();
        let mut values: Vec<f64> = samples.iter().map(|s| s.1).collect();
        values.sort_by(f64::total_cmp);
        let edges = equal_share_edges(&values);
        let alone = usize::from(lowest_lump(&values) > 0);
        let mut counts = vec![vec![0.0; edges.len() + 1]; hypotheses];
        for &(hypothesis, value) in &samples {
            counts[hypothesis][class_of(&edges, value)] += 1.0;
        }
        let n: Vec<usize> = counts
            .iter()
            .map(|c| c.iter().sum::<f64>() as usize)
            .collect();
        let shares: Vec<Option<Vec<f64>>> = counts
            .iter()
            .zip(&n)
            .map(|(c, &n)| (n >= FEWEST).then(|| smoothed_shares(c, alone)))
            .collect();
        Self {
            ln_density: over_the_mean(&shares, edges.len() + 1),
            edges,
            n,
        }
    }

    /// The same with nothing said by the lowest class, in which the values lie where there is none of its kind.
    #[must_use]
    pub fn with_absence_silent(mut self) -> Self {
        for density in &mut self.ln_density {
            density[0] = 0.0;
        }
        self
    }

    /// ln likelihood of a value under each hypothesis over its mean likelihood under all.
    /// Between class middles the ln density is interpolated, so that a hair's breadth in the
    /// value never makes a jump in its weight.
    #[must_use]
    pub fn ln_likelihood(&self, value: f64) -> Vec<f64> {
        let (a, b, t) = self.place(value);
        self.ln_density
            .iter()
            .map(|d| d[a] * (1.0 - t) + d[b] * t)
            .collect()
    }

    /// Two neighbouring classes and how far the value lies from the first middle to the second.
    fn place(&self, value: f64) -> (usize, usize, f64) {
        let class = class_of(&self.edges, value);
        let middle = |c: usize| {
            (c > 0 && c < self.edges.len()).then(|| f64::midpoint(self.edges[c - 1], self.edges[c]))
        };
        let Some(here) = middle(class) else {
            return (class, class, 0.0);
        };
        let other = if value < here { class - 1 } else { class + 1 };
        // The outer classes have no middle; their density is reached at their inner edge's far side.
        let there = middle(other).unwrap_or(if other < class {
            self.edges[0]
        } else {
            self.edges[self.edges.len() - 1]
        });
        let span = (there - here).abs();
        let t = if span > 0.0 {
            ((value - here).abs() / span).min(1.0)
        } else {
            0.0
        };
        (class, other, t)
    }
}

fn class_of(edges: &[f64], value: f64) -> usize {
    edges.partition_point(|&edge| edge < value)
}

/// Inner edges that give each class about the same share of the pooled values; equal values stay together. Where
/// the lowest value fills more than a class, as that does which stands for "none of its kind", it has a class of
/// its own and the others are shared out among the rest.
fn equal_share_edges(sorted: &[f64]) -> Vec<f64> {
    let lump = lowest_lump(sorted);
    let rest = &sorted[lump..];
    let most = MAX_CLASSES - usize::from(lump > 0);
    let classes = (rest.len() / VALUES_PER_CLASS).clamp(1, most);
    let lowest = (lump > 0).then(|| sorted[0]);
    let mut edges: Vec<f64> = lowest
        .into_iter()
        .chain((1..classes).map(|k| {
            let i = k * rest.len() / classes;
            f64::midpoint(rest[i - 1], rest[i])
        }))
        .collect();
    edges.dedup();
    edges
}

/// How many of the sorted values equal the lowest, where they fill more than a class; else 0.
fn lowest_lump(sorted: &[f64]) -> usize {
    let Some(lowest) = sorted.first() else {
        return 0;
    };
    let equal = sorted.partition_point(|v| v <= lowest);
    if equal * MAX_CLASSES > sorted.len() && equal < sorted.len() {
        equal
    } else {
        0
    }
}

/// Probability of each class: counts smoothed over neighbours, plus the pseudo-count. The first `alone` classes
/// are no neighbours of the others.
fn smoothed_shares(counts: &[f64], alone: usize) -> Vec<f64> {
    let classes = counts.len();
    let mut smooth = vec![0.0; classes];
    smooth[..alone].copy_from_slice(&counts[..alone]);
    for (i, &count) in counts.iter().enumerate().skip(alone) {
        for (distance, weight) in SMOOTHING.iter().enumerate() {
            // What would fall off an end stays in the end class.
            smooth[i.saturating_sub(distance).max(alone)] += weight * count;
            if distance > 0 {
                smooth[(i + distance).min(classes - 1)] += weight * count;
            }
        }
    }
    let total: f64 = counts.iter().sum::<f64>() + PSEUDO_COUNT;
    smooth
        .iter()
        .map(|s| (s + PSEUDO_COUNT / classes as f64) / total)
        .collect()
}

/// ln of each share over the mean share of the hypotheses that were fitted; 0 for the others.
fn over_the_mean(shares: &[Option<Vec<f64>>], classes: usize) -> Vec<Vec<f64>> {
    let fitted = shares.iter().flatten().count().max(1) as f64;
    let mean: Vec<f64> = (0..classes)
        .map(|c| shares.iter().flatten().map(|s| s[c]).sum::<f64>() / fitted)
        .collect();
    shares
        .iter()
        .map(|share| match share {
            Some(share) => share.iter().zip(&mean).map(|(s, m)| (s / m).ln()).collect(),
            None => vec![0.0; classes],
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, Normal};

    fn two_normals(n: usize, apart: f64) -> Vec<(usize, f64)> {
        let mut rng = ChaCha8Rng::seed_from_u64(11);
        (0..2 * n)
            .map(|i| {
                let mean = if i % 2 == 0 { 0.0 } else { apart };
                (i % 2, Normal::new(mean, 1.0).unwrap().sample(&mut rng))
            })
            .collect()
    }

    #[test]
    fn ratio_of_two_normals_is_close_to_the_closed_form() {
        // ln of N(x; 2, 1) / N(x; 0, 1) = 2x − 2.
        let fitted = Distributions::fit(&two_normals(4000, 2.0), 2);
        for x in [-0.5, 0.3, 1.0, 1.8, 2.5] {
            let ln = fitted.ln_likelihood(x);
            // Classes are a third of a standard deviation wide and smoothed over five.
            assert_abs_diff_eq!(ln[1] - ln[0], 2.0 * x - 2.0, epsilon = 0.45);
        }
    }

    #[test]
    fn a_finding_without_information_says_nothing() {
        let fitted = Distributions::fit(&two_normals(2000, 0.0), 2);
        for x in [-3.0, -1.0, 0.0, 1.0, 3.0] {
            let ln = fitted.ln_likelihood(x);
            assert!((ln[1] - ln[0]).abs() < 0.35, "{x}: {ln:?}");
        }
    }

    #[test]
    fn no_ratio_exceeds_what_the_sample_supports() {
        for n in [60usize, 600] {
            let fitted = Distributions::fit(&two_normals(n, 50.0), 2);
            let ln = fitted.ln_likelihood(50.0);
            assert!(
                (ln[1] - ln[0]).exp() <= (n as f64 + PSEUDO_COUNT) * 2.0,
                "{n}"
            );
            assert!(ln[1] > ln[0]);
        }
    }

    #[test]
    fn swapped_labels_give_the_inverse() {
        let samples = two_normals(500, 1.0);
        let swapped: Vec<_> = samples.iter().map(|&(h, x)| (1 - h, x)).collect();
        let (a, b) = (
            Distributions::fit(&samples, 2),
            Distributions::fit(&swapped, 2),
        );
        for x in [-1.0, 0.4, 2.0] {
            assert_abs_diff_eq!(
                a.ln_likelihood(x)[0],
                b.ln_likelihood(x)[1],
                epsilon = 1e-12
            );
        }
    }

    #[test]
    fn many_equal_values_have_a_class_of_their_own_and_the_others_are_told_apart() {
        // Nine in ten show nothing; where something is seen, it is little under 0 and much under 1.
        let samples: Vec<(usize, f64)> = (0..2000)
            .map(|i| {
                let seen = (i / 2) % 10 == 0;
                let value = 0.01 * f64::from(1 + i % 7) + f64::from(i % 2);
                ((i % 2) as usize, if seen { value } else { 0.0 })
            })
            .collect();
        let fitted = Distributions::fit(&samples, 2);
        let ratio = |x: f64| {
            let ln = fitted.ln_likelihood(x);
            ln[1] - ln[0]
        };
        assert_abs_diff_eq!(ratio(0.0), 0.0, epsilon = 0.02);
        assert!(
            ratio(0.05) < -1.0 && ratio(1.05) > 1.0,
            "{} {}",
            ratio(0.05),
            ratio(1.05)
        );
    }

    #[test]
    fn what_is_absent_says_nothing_where_that_is_asked_for() {
        // Seen under hypothesis 1 in every second specimen, under 0 in every tenth.
        let samples: Vec<(usize, f64)> = (0..400)
            .map(|i| {
                let every = if i % 2 == 0 { 10 } else { 2 };
                let seen = (i / 2) % every == 0;
                (i % 2, if seen { 1.0 + f64::from(i) } else { 0.0 })
            })
            .map(|(h, x)| (h as usize, x))
            .collect();
        let fitted = Distributions::fit(&samples, 2);
        assert!(fitted.ln_likelihood(0.0)[1] < fitted.ln_likelihood(0.0)[0]);
        let silent = fitted.clone().with_absence_silent();
        assert_eq!(silent.ln_likelihood(0.0), vec![0.0; 2]);
        assert_eq!(silent.ln_likelihood(300.0), fitted.ln_likelihood(300.0));
        assert!(silent.ln_likelihood(300.0)[1] > silent.ln_likelihood(300.0)[0] + 1.0);
    }

    #[test]
    fn few_or_constant_values_stay_neutral() {
        let fitted = Distributions::fit(&[(0, 1.0), (0, 1.0), (1, 1.0)], 3);
        assert_eq!(fitted.ln_likelihood(1.0), vec![0.0; 3]);
        assert_eq!(Distributions::fit(&[], 2).ln_likelihood(4.0), vec![0.0; 2]);
    }
}
