//! The values of each finding as steps of about equal shares: between the steps of one a tree may part specimens.

/// Steps of a finding at most: a part of a hundred of the specimens is as fine as they can tell.
const STEPS: usize = 64;
/// Step of what was not measured.
pub(super) const UNMEASURED: u8 = u8::MAX;

/// One finding of all specimens.
pub(super) struct Column {
    /// Step of each specimen, [`UNMEASURED`] where there is none.
    pub(super) steps: Vec<u8>,
    /// Lower limit of each step but the first, ascending.
    pub(super) limits: Vec<f64>,
}

impl Column {
    /// From the values of a finding, none where not measured.
    pub(super) fn new(values: impl Iterator<Item = Option<f64>> + Clone) -> Self {
        let mut sorted: Vec<f64> = values.clone().flatten().collect();
        sorted.sort_by(f64::total_cmp);
        let limits = limits(&sorted);
        let step = |value: f64| limits.partition_point(|&limit| limit <= value) as u8;
        Self {
            steps: values.map(|v| v.map_or(UNMEASURED, step)).collect(),
            limits,
        }
    }
}

/// Half-way between neighbours that differ, at about equal shares.
fn limits(sorted: &[f64]) -> Vec<f64> {
    let mut limits: Vec<f64> = (1..STEPS)
        .filter_map(|k| {
            let at = k * sorted.len() / STEPS;
            let value = *sorted.get(at)?;
            let first = sorted.partition_point(|v| *v < value);
            (first > 0).then(|| f64::midpoint(sorted[first - 1], value))
        })
        .collect();
    limits.dedup();
    limits
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_part_what_differs_and_keep_together_what_does_not() {
        let values = [Some(2.0), None, Some(0.0), Some(0.0), Some(7.0)];
        let column = Column::new(values.into_iter());
        assert_eq!(column.limits, [1.0, 4.5]);
        assert_eq!(column.steps, [1, UNMEASURED, 0, 0, 2]);
        assert!(Column::new([None, Some(3.0)].into_iter()).limits.is_empty());
    }
}
