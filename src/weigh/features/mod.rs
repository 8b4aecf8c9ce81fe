//! One number per finding, taken from the measurements; a file a subject.

mod film;
mod grain;
mod layering;
mod lines;
mod marks;
mod screens;

pub use screens::FINEST_EXCLUDED;

use crate::measure::Examined;
use crate::measured::Measured;
use std::sync::LazyLock;

/// A finding that can be weighed.
#[derive(Clone, Copy)]
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

/// Unit of a chance that is told by its logarithm to the base ten.
pub const CHANCE_AS_LOG10: &str = "log10 of a chance";

/// Unit of a finding that is there (1) or not (0).
pub const YES_OR_NO: &str = "1 = yes";

/// Subjects of findings that are about colour, by the first part of their keys, and those of their findings that a
/// photograph without colour holds too.
const OF_COLOUR: [&str; 3] = ["film.", "fine.", "layering."];
const IN_GREY_TOO: [&str; 2] = ["film.ground_lightness", "film.ground_seen"];

impl Feature {
    /// Whether it can be found on a photograph with colour only. On one without, no film, wash or coloured ink is seen
    /// because none could be, not because none is there.
    #[must_use]
    pub fn needs_colour(&self) -> bool {
        OF_COLOUR
            .iter()
            .any(|subject| self.key.starts_with(subject))
            && !IN_GREY_TOO.contains(&self.key)
    }

    /// Whether it is told by the colour of the ground, which light of two colours would change. Spots and specks of
    /// several inks and their register are not.
    #[must_use]
    pub fn is_of_the_ground(&self) -> bool {
        const WHATEVER_THE_LIGHT: [&str; 3] =
            ["fine.", "layering.speck_", "layering.out_of_register"];
        let mut whatever = WHATEVER_THE_LIGHT.iter();
        self.needs_colour() && !whatever.any(|start| self.key.starts_with(start))
    }
}

/// A value with its 95 % interval where one was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Value {
    /// The value.
    pub value: f64,
    /// Its 95 % interval.
    pub interval: Option<[f64; 2]>,
    /// Whether nothing of its kind was seen, be it that none is there or that it cannot be seen; the value stands
    /// for that.
    pub nothing_there: bool,
}

impl Value {
    /// Nothing of its kind seen.
    const NONE_THERE: Self = Self {
        value: 0.0,
        interval: None,
        nothing_there: true,
    };

    fn bare(value: f64) -> Option<Self> {
        value.is_finite().then_some(Self {
            value,
            interval: None,
            nothing_there: false,
        })
    }

    /// The figure, or 0 where nothing of its kind was seen: that is a finding too.
    fn or_none_there(measured: &Measured) -> Option<Self> {
        Self::of(measured).or(Some(Self::NONE_THERE))
    }

    /// 1 where there was enough of its kind to be measured, else 0.
    fn seen(measured: &Measured) -> Option<Self> {
        Self::bare(f64::from(u8::from(measured.figure().is_some())))
    }

    fn of(measured: &Measured) -> Option<Self> {
        measured.figure().map(|f| Self {
            value: f.value,
            interval: Some([f.lo, f.hi]),
            nothing_there: false,
        })
    }
}

/// Findings whose absence weighs nothing. Whether a tint's border comes into view is the photographer's choice, and
/// how well presses keep register is their printers': specimens cannot say how often real photographs show either.
pub const ABSENCE_SAYS_NOTHING: &[&str] = &["film.border_length", "layering.out_of_register"];

/// All findings, in the order of the reference.
pub static FEATURES: LazyLock<Vec<Feature>> = LazyLock::new(|| {
    [
        film::FEATURES,
        screens::FEATURES,
        grain::FEATURES,
        layering::FEATURES,
        lines::FEATURES,
        marks::FEATURES,
    ]
    .concat()
});
