//! One number per finding, taken from the measurements.

use crate::measure::Examined;
use crate::measured::Measured;

/// A finding that can be weighed.
pub struct Feature {
    /// Key, also the column in the table of specimens.
    pub key: &'static str,
    /// Name in plain words.
    pub title: &'static str,
    /// Unit of the value.
    pub unit: &'static str,
    /// What the finding tells apart, in plain trade language.
    pub meaning: &'static str,
    /// Takes the value from what was measured.
    pub take: fn(&Examined) -> Option<Value>,
}

/// A value with its 95 % interval where one was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Value {
    /// The value.
    pub value: f64,
    /// Its 95 % interval.
    pub interval: Option<[f64; 2]>,
}

impl Value {
    fn bare(value: f64) -> Option<Self> {
        value.is_finite().then_some(Self {
            value,
            interval: None,
        })
    }

    fn of(measured: &Measured) -> Option<Self> {
        measured.figure().map(|f| Self {
            value: f.value,
            interval: Some([f.lo, f.hi]),
        })
    }
}

/// All findings, in the order of the reference.
pub static FEATURES: &[Feature] = &[];
