//! What a figure is off by besides its scatter.
//!
//! Scatter shrinks with the number of marks. What threshold, blur and the structure of the paper do to all
//! marks alike does not, and a hand's spacing differs from place to place. How much that is was measured:
//! figures of drawn specimens of the training series were set against their truth
//! (`inktell calibrate uncertainty`), and each class here holds the 95 % quantile found, rounded up, or more where it
//! says so: 320 stippled and 213 engraved sheets, 1280 covers and 419 screens of the first 1600 of the series. This is
//! an uncertainty from earlier measurements in the sense of the Guide to the Expression of Uncertainty in
//! Measurement (JCGM 100:2008, 4.3). `inktell trial specimens` says on other specimens how often the intervals
//! hold the truth.

/// Part of a figure's uncertainty that does not shrink with the number of samples.
#[derive(Debug, PartialEq)]
pub struct Component {
    /// Upper limits of the classes of what it hangs on, ascending; one fewer than classes.
    pub limits: &'static [f64],
    /// Half-width of the 95 % interval of the natural logarithm of the figure, a class.
    pub ln_half: &'static [f64],
}

impl Component {
    /// The class of a condition; where it is not known, the one in which errors are largest.
    #[must_use]
    pub fn class(&self, condition: Option<f64>) -> usize {
        let worst = || {
            (0..self.ln_half.len())
                .max_by(|&a, &b| self.ln_half[a].total_cmp(&self.ln_half[b]))
                .unwrap_or(0)
        };
        condition.map_or_else(worst, |c| self.limits.partition_point(|limit| *limit <= c))
    }

    /// Half-width under a condition.
    #[must_use]
    pub fn at(&self, condition: Option<f64>) -> f64 {
        self.ln_half[self.class(condition)]
    }
}

/// Marks per mm², where dots can be counted at all (see `marks`): 104 of the 320 sheets.
pub const DENSITY: Component = Component {
    limits: &[],
    ln_half: &[0.28],
};
/// Equivalent diameter, by the dots' middle diameter over the blur of edges: under twelve, dots run together.
pub const DIAMETER: Component = Component {
    limits: &[5.0, 8.0, 12.0],
    ln_half: &[0.95, 1.25, 1.2, 0.16],
};
/// Cover of marks, by the same.
pub const COVERAGE: Component = Component {
    limits: &[5.0, 8.0, 12.0],
    ln_half: &[0.93, 0.53, 0.32, 0.26],
};
/// Spacing of a system of hatching, by the share of the field that it covers: of small patches some are
/// parts of other systems. Held against the lines drawn beneath the patches read, of 150 engraved sheets (2026-11-27)
/// 95 % lie within 0.83, 0.69 and 0.06 in the last three classes; two are left wider until other sheets have shown that.
pub const SPACING: Component = Component {
    limits: &[0.1, 0.2, 0.3],
    ln_half: &[1.95, 0.96, 0.69, 0.11],
};
/// Ruling of a screen: the scale of a tilted sheet differs over the field. It holds 377 of the 419 screens.
/// Most of the others are the beat of two screens, taken for one of them where they are too fine or too
/// faint themselves; no interval can hold those.
pub const RULING: Component = Component {
    limits: &[],
    ln_half: &[0.004],
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_are_chosen_by_their_limits_and_the_unknown_is_taken_as_the_worst() {
        for component in [&DENSITY, &DIAMETER, &COVERAGE, &SPACING, &RULING] {
            assert_eq!(component.ln_half.len(), component.limits.len() + 1);
            assert!(component.limits.is_sorted());
            let worst = component.ln_half.iter().copied().fold(0.0, f64::max);
            assert_eq!(component.at(None), worst);
        }
        assert_eq!(DIAMETER.at(Some(4.9)), DIAMETER.ln_half[0]);
        assert_eq!(DIAMETER.at(Some(5.0)), DIAMETER.ln_half[1]);
        assert_eq!(DIAMETER.at(Some(50.0)), DIAMETER.ln_half[3]);
    }
}
