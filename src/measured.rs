//! A measured figure is never a bare number: value, 95 % interval, unit and sample count,
//! or the reason why it was not measured.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A figure with its 95 % interval, unit and number of samples.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Figure {
    /// The estimate, in `unit`.
    pub value: f64,
    /// Lower end of the 95 % interval, in `unit`.
    pub lo: f64,
    /// Upper end of the 95 % interval, in `unit`.
    pub hi: f64,
    /// Unit as a cataloguer would write it (`"mm⁻²"`, `"µm"`, `"lpi"`, `"°"`, `"1"` for a pure number).
    pub unit: String,
    /// How many independent samples (marks, windows, tiles) the estimate rests on.
    pub n: usize,
}

/// Why a figure is missing, in words that end in what would help.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct NotMeasured {
    /// The reason, a full clause without a full stop ("screen period under 4 px at this scale").
    pub not_measured: String,
}

impl NotMeasured {
    /// A reason in free words; prefer the named reasons where one fits.
    #[must_use]
    pub fn because(reason: impl Into<String>) -> Self {
        Self {
            not_measured: reason.into(),
        }
    }

    /// The photograph has no scale, so lengths in mm are withheld.
    #[must_use]
    pub fn no_scale() -> Self {
        Self::because(
            "the scale of the photograph is unknown; photograph a millimetre rule with the same loupe and setting",
        )
    }

    /// Too few samples for an honest interval.
    #[must_use]
    pub fn too_few(what: &str, have: usize, need: usize) -> Self {
        Self::because(format!(
            "only {have} {what} in the usable field, {need} needed"
        ))
    }
}

/// A figure, or the reason why there is none.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Measured {
    /// It was measured.
    Figure(Figure),
    /// It was not, and this is why.
    Missing(NotMeasured),
}

/// Standard errors either side in a 95 % interval of a normal estimate.
pub const Z95: f64 = 1.96;

impl Measured {
    /// A figure with a symmetric 95 % interval of 1.96 standard errors.
    #[must_use]
    pub fn with_standard_error(value: f64, se: f64, unit: &str, n: usize) -> Self {
        let half = Z95 * se.abs();
        Self::with_interval(value, value - half, value + half, unit, n)
    }

    /// A share of `n` samples with Wilson's 95 % interval (J. Am. Stat. Assoc. 22 (1927) 209–212): unlike that of a
    /// normal estimate it has breadth at 0 and at 1 too. `independent` is as how many samples they count, above 0.
    #[must_use]
    pub fn with_share(share: f64, independent: f64, n: usize) -> Self {
        if !((0.0..=1.0).contains(&share) && independent > 0.0) {
            return Self::missing("no samples are there to take a share of");
        }
        let z2 = Z95 * Z95;
        let shrink = 1.0 + z2 / independent;
        let middle = (share + z2 / (2.0 * independent)) / shrink;
        let variance = share * (1.0 - share) / independent + z2 / (4.0 * independent.powi(2));
        let half = Z95 * variance.sqrt() / shrink;
        Self::with_interval(
            share,
            (middle - half).clamp(0.0, share),
            (middle + half).clamp(share, 1.0),
            "1",
            n,
        )
    }

    /// A count of rare places with the 95 % interval of a Poisson count, never below 0, by Byar's approximation to the
    /// exact one (N. E. Breslow & N. E. Day, Statistical Methods in Cancer Research II, IARC 1987; from memory).
    #[must_use]
    pub fn with_count(count: usize, unit: &str) -> Self {
        let end = |n: f64, sides: f64| {
            n * (1.0 - 1.0 / (9.0 * n) + sides * Z95 / (3.0 * n.sqrt())).powi(3)
        };
        let n = count as f64;
        let lo = if count == 0 { 0.0 } else { end(n, -1.0) };
        Self::with_interval(n, lo, end(n + 1.0, 1.0), unit, count)
    }

    /// The same figure in a unit of its own.
    #[must_use]
    pub fn in_unit(mut self, unit: &str) -> Self {
        if let Self::Figure(figure) = &mut self {
            unit.clone_into(&mut figure.unit);
        }
        self
    }

    /// The same figure in another unit, so many of which make one of its own; `factor` above 0.
    #[must_use]
    pub fn times(self, factor: f64, unit: &str) -> Self {
        match self {
            Self::Figure(f) => Self::Figure(Figure {
                value: f.value * factor,
                lo: f.lo * factor,
                hi: f.hi * factor,
                unit: unit.to_owned(),
                n: f.n,
            }),
            missing => missing,
        }
    }

    /// A figure with a given 95 % interval. A value or bound that is not finite becomes a
    /// missing figure, so that NaN never reaches a report.
    #[must_use]
    pub fn with_interval(value: f64, lo: f64, hi: f64, unit: &str, n: usize) -> Self {
        if !(value.is_finite() && lo.is_finite() && hi.is_finite()) {
            return Self::missing("the samples do not determine it");
        }
        Self::Figure(Figure {
            value,
            lo,
            hi,
            unit: unit.to_owned(),
            n,
        })
    }

    /// The same with a wider interval: `ln_half` is the 95 % half-width, in the natural logarithm of the
    /// value, of a part of its uncertainty that the interval does not hold yet. A lower end at 0 stays.
    #[must_use]
    pub fn widened(self, ln_half: f64) -> Self {
        let wider = |ratio: f64| ratio.ln().hypot(ln_half).exp();
        match self {
            Self::Figure(f) if f.value > 0.0 => Self::Figure(Figure {
                lo: if f.lo > 0.0 {
                    f.value / wider(f.value / f.lo)
                } else {
                    f.lo
                },
                hi: f.value * wider(f.hi / f.value),
                ..f
            }),
            other => other,
        }
    }

    /// The same with an interval that ends at `most`, beyond which the figure cannot lie.
    #[must_use]
    pub fn at_most(self, most: f64) -> Self {
        match self {
            Self::Figure(f) => Self::Figure(Figure {
                hi: f.hi.min(most).max(f.value),
                ..f
            }),
            missing => missing,
        }
    }

    /// A missing figure with its reason.
    #[must_use]
    pub fn missing(reason: impl Into<String>) -> Self {
        Self::Missing(NotMeasured::because(reason))
    }

    /// The value where there is one.
    #[must_use]
    pub fn value(&self) -> Option<f64> {
        self.figure().map(|figure| figure.value)
    }

    /// The figure where there is one.
    #[must_use]
    pub fn figure(&self) -> Option<&Figure> {
        match self {
            Self::Figure(figure) => Some(figure),
            Self::Missing(_) => None,
        }
    }
}

impl From<NotMeasured> for Measured {
    fn from(reason: NotMeasured) -> Self {
        Self::Missing(reason)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Newcombe, Statistics in Medicine 17 (1998) 857–872, table I, method 3 (from memory).
    #[test]
    fn shares_have_the_intervals_of_published_examples() {
        for (hits, n, lo, hi) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let share = f64::from(hits) / f64::from(n);
            let found = Measured::with_share(share, f64::from(n), n as usize);
            let figure = found.figure().expect("a share");
            approx::assert_abs_diff_eq!(figure.lo, lo, epsilon = 5e-5);
            approx::assert_abs_diff_eq!(figure.hi, hi, epsilon = 5e-5);
        }
        for (share, n) in [(f64::NAN, 9.0), (0.0, 0.0), (1.5, 9.0)] {
            assert!(Measured::with_share(share, n, 9).value().is_none());
        }
    }

    /// Exact limits of a Poisson count: F. Garwood, Biometrika 28 (1936) 437–442 (from memory).
    #[test]
    fn counts_have_the_intervals_of_a_published_table() {
        for (count, lo, hi) in [
            (0, 0.0, 3.69),
            (5, 1.62, 11.67),
            (10, 4.80, 18.39),
            (50, 37.11, 65.92),
        ] {
            let found = Measured::with_count(count, "places");
            let figure = found.figure().expect("a count");
            approx::assert_abs_diff_eq!(figure.lo, lo, epsilon = 0.05);
            approx::assert_abs_diff_eq!(figure.hi, hi, epsilon = 0.05);
        }
    }

    #[test]
    fn independent_parts_of_an_uncertainty_add_in_squares() {
        // ln 2 and ln 2 · 0.75 make ln 2 · 1.25.
        let ln2 = std::f64::consts::LN_2;
        let wide = Measured::with_interval(8.0, 4.0, 16.0, "mm⁻²", 9).widened(0.75 * ln2);
        let figure = wide.figure().expect("it was measured");
        assert_relative_eq!(figure.lo, 8.0 / 2f64.powf(1.25), epsilon = 1e-12);
        assert_relative_eq!(figure.hi, 8.0 * 2f64.powf(1.25), epsilon = 1e-12);
        assert_eq!((figure.value, figure.n), (8.0, 9));
        let none = Measured::with_interval(0.0, 0.0, 3.0, "mm⁻²", 0);
        assert_eq!(none.clone().widened(1.0), none);
        let share = Measured::with_interval(0.8, 0.7, 0.9, "1", 9)
            .widened(1.0)
            .at_most(1.0);
        assert_eq!(share.figure().map(|f| f.hi), Some(1.0));
    }
}
