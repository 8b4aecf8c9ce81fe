//! Quantiles of plain numbers, by one rule for all that is measured.

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

#[cfg(test)]
mod tests {
    use super::*;

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
}
