//! Quantiles of plain numbers and the intervals that hold them, by one rule for all that is measured.

use statrs::distribution::{Binomial, ContinuousCDF, DiscreteCDF, Normal, StudentsT};
use std::cmp::Ordering;

/// A number with a total order, not-a-number included.
pub trait Ranked: Copy {
    /// The order of IEEE 754, `totalOrder`.
    fn order(&self, other: &Self) -> Ordering;
}

impl Ranked for f32 {
    fn order(&self, other: &Self) -> Ordering {
        self.total_cmp(other)
    }
}

impl Ranked for f64 {
    fn order(&self, other: &Self) -> Ordering {
        self.total_cmp(other)
    }
}

/// The value that a share (0–1) of the others lie below: of n in order, that whose place is nearest to
/// `share` × (n − 1), counted from 0. None of nothing.
#[must_use]
pub fn quantile<T: Ranked>(values: impl IntoIterator<Item = T>, share: f64) -> Option<T> {
    let mut values: Vec<T> = values.into_iter().collect();
    let last = values.len().checked_sub(1)?;
    let at = (last as f64 * share.clamp(0.0, 1.0)).round() as usize;
    Some(*values.select_nth_unstable_by(at, T::order).1)
}

/// The middle value; of an even number the upper of the two in the middle. None of nothing.
#[must_use]
pub fn median<T: Ranked>(values: impl IntoIterator<Item = T>) -> Option<T> {
    quantile(values, 0.5)
}

/// Share of samples whose interval may lie above the true quantile, and as many below it.
const EITHER_SIDE: f64 = 0.025;

/// Ends of the 95 % interval of a quantile (`share`, 0–1) of the population that ascending values, at least two,
/// come from; `independent` of them count. They are values of the sample, at the places that the binomial gives
/// whatever the population is like (David & Nagaraja, Order Statistics, 3rd ed. 2003, 7.1; from memory). Where even its
/// lowest or highest is not far enough, as of few values, the end lies as far out as Student's distribution puts it for
/// a normal sample or a lognormal one, whichever is farther.
#[must_use]
pub fn bounds(ascending: &[f64], independent: usize, share: f64) -> [f64; 2] {
    let n = ascending.len();
    // Places are counted among the independent values and looked up at the same share of all.
    let of_all = n as f64 / independent.max(1) as f64;
    let below = Binomial::new(share, independent as u64).ok();
    let place = |chance: f64| below.as_ref().map(|b| b.inverse_cdf(chance) as f64);
    let lo = match place(EITHER_SIDE) {
        Some(at) if at >= 1.0 => ascending[((at - 1.0) * of_all).floor() as usize],
        _ => of_few(ascending, independent, share)[0].min(ascending[0]),
    };
    let hi = match place(1.0 - EITHER_SIDE) {
        Some(at) if at < independent as f64 => {
            ascending[(((at + 1.0) * of_all).ceil() as usize).clamp(1, n) - 1]
        }
        _ => of_few(ascending, independent, share)[1].max(ascending[n - 1]),
    };
    [lo, hi]
}

/// The ends by a normal and, where all values are above 0, by a lognormal sample.
fn of_few(values: &[f64], independent: usize, share: f64) -> [f64; 2] {
    let [lo, hi] = of_normal(values, independent, share);
    if values.iter().any(|v| *v <= 0.0) {
        return [lo, hi];
    }
    let logs: Vec<f64> = values.iter().map(|v| v.ln()).collect();
    let [ln_lo, ln_hi] = of_normal(&logs, independent, share);
    [lo.min(ln_lo.exp()), hi.max(ln_hi.exp())]
}

/// The ends for a normal sample: its mean and z standard deviations, with the standard error of either by Student's
/// quantile. The mean's is that of a median, so that nothing is surer than order would have it.
fn of_normal(values: &[f64], independent: usize, share: f64) -> [f64; 2] {
    /// Variance of a normal sample's median over that of its mean.
    const MEDIAN_OVER_MEAN: f64 = std::f64::consts::FRAC_PI_2;
    let (n, counted) = (values.len() as f64, independent as f64);
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let z = Normal::standard().inverse_cdf(share);
    let half = StudentsT::new(0.0, 1.0, counted - 1.0).map_or(f64::INFINITY, |t| {
        let terms = MEDIAN_OVER_MEAN / counted + z * z / (2.0 * (counted - 1.0));
        t.inverse_cdf(1.0 - EITHER_SIDE) * (variance * terms).sqrt()
    });
    let middle = mean + z * variance.sqrt();
    [middle - half, middle + half]
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_distr::Distribution;

    #[test]
    fn quantiles_are_values_of_the_sample() {
        let values = [5.0, 1.0, 4.0, 2.0];
        assert_eq!(quantile(values, 0.0), Some(1.0));
        assert_eq!(quantile(values, 0.3), Some(2.0));
        assert_eq!(quantile(values, 1.0), Some(5.0));
        assert_eq!(median(values), Some(4.0));
        assert_eq!(median([3.0_f32, 9.0, 1.0]), Some(3.0));
        assert_eq!(median(Vec::<f64>::new()), None);
    }

    /// Places, counted from 1, of the ends of a 95 % interval of the median as printed in tables
    /// (Hahn & Meeker, Statistical Intervals 1991, table A.19; from memory).
    #[test]
    fn ends_of_a_median_stand_where_tables_put_them() {
        for (n, places) in [
            (6, [1, 6]),
            (8, [1, 8]),
            (9, [2, 8]),
            (12, [3, 10]),
            (20, [6, 15]),
        ] {
            let ascending: Vec<f64> = (1..=n).map(f64::from).collect();
            let found = bounds(&ascending, ascending.len(), 0.5);
            assert_eq!(found, places.map(f64::from), "{n} values");
        }
    }

    #[test]
    fn a_median_of_few_is_no_surer_than_their_scatter_allows() {
        // t(0.975; 3) = 3.182 (printed tables); standard deviation of 1, 2, 3, 4: 1.2910; √(π/2) = 1.2533.
        let [lo, hi] = bounds(&[-2.0, -1.0, 0.0, 1.0], 4, 0.5);
        let half = 3.182 * 1.2533 * 1.2910 / 2.0;
        approx::assert_abs_diff_eq!(hi, -0.5 + half, epsilon = 2e-3);
        approx::assert_abs_diff_eq!(lo, -0.5 - half, epsilon = 2e-3);
        // The logarithms of values above 0 may ask for more on one side.
        let [_, skewed] = bounds(&[1.0, 2.0, 3.0, 4.0], 4, 0.5);
        assert!(skewed > 2.5 + half, "{skewed}");
        assert_eq!(
            bounds(&[1.0, 2.0], 1, 0.5),
            [f64::NEG_INFINITY, f64::INFINITY]
        );
    }

    /// Counted on drawn samples: a binomial interval holds at least 95 of 100; deciles of few values are held in some 92.
    #[test]
    fn intervals_hold_the_quantile_of_the_population() {
        const SAMPLES: usize = 4000;
        let normal = rand_distr::Normal::new(0.0, 1.0).expect("a normal distribution");
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(7);
        // Of fewer than six values only medians are taken.
        for n in [4, 6, 10, 30, 200] {
            let shares = [(0.5, 0.0), (0.1, -1.281_55), (0.9, 1.281_55)];
            for (share, truth) in shares.into_iter().take(if n < 6 { 1 } else { 3 }) {
                let mut held = [0; 2];
                for _ in 0..SAMPLES {
                    let mut values: Vec<f64> = normal.sample_iter(&mut random).take(n).collect();
                    values.sort_by(f64::total_cmp);
                    let skewed: Vec<f64> = values.iter().map(|v| (0.5 * v).exp()).collect();
                    let holds = |values: &[f64], truth: f64| {
                        let [lo, hi] = bounds(values, n, share);
                        usize::from((lo..=hi).contains(&truth))
                    };
                    held[0] += holds(&values, truth);
                    held[1] += holds(&skewed, (0.5 * truth).exp());
                }
                let least = if n < 30 && share != 0.5 { 0.91 } else { 0.94 };
                for held in held {
                    let rate = held as f64 / SAMPLES as f64;
                    assert!(rate > least, "{n} values, quantile {share}: {rate}");
                }
            }
        }
    }

    #[test]
    fn values_that_repeat_one_another_make_nothing_surer() {
        let ten: Vec<f64> = (0..10).map(f64::from).collect();
        let repeated: Vec<f64> = ten.iter().flat_map(|v| [*v; 20]).collect();
        let [few, many] = [bounds(&ten, 10, 0.5), bounds(&repeated, 10, 0.5)];
        assert!(
            few[0] >= many[0] - 1.0 && many[0] >= few[0] - 1.0,
            "{few:?} {many:?}"
        );
        assert!((few[1] - many[1]).abs() <= 1.0, "{few:?} {many:?}");
    }
}
