//! Stone grain: broken random texture.
//!
//! - [`windows`]: the square windows in which tone is made of broken texture.
//! - [`texture`]: correlation, chords, spectrum and holes of the inked pixels in a window.
//! - [`tone`]: whether darker tone is made of more grains or of larger ones.
//! - [`outline`]: raggedness and sizes of single grains.
//! - [`rise`]: whether the spectrum of tone rises again towards fine detail.
//! - [`spectrum`]: power over radial frequency in a window.

pub mod outline;
pub mod rise;
pub mod spectrum;
pub mod texture;
pub mod tone;
pub mod windows;

use super::segment::Segments;
use crate::ink::Inked;
use crate::measured::{Measured, NotMeasured};
use crate::rank::bounds;
use schemars::JsonSchema;
use serde::Serialize;
use texture::Texture;

/// Fewest windows of texture for any figure.
pub const MIN_WINDOWS: usize = 4;

/// Broken texture, whatever made it: stone grain, stipple and screens differ in these figures.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Grain {
    /// Share of the usable field where tone is made of broken texture, 0–1.
    pub textured_share: Measured,
    /// Distance over which ink correlates with itself (to 1/e), µm.
    pub correlation_length_um: Measured,
    /// The same in pixels.
    pub correlation_length_px: Measured,
    /// Mean length of ink along a straight line, over the correlation length.
    pub ink_chord: Measured,
    /// Shortest over longest correlation length of four directions, 0–1; 1 = the same all round.
    pub isotropy: Measured,
    /// Depth to which correlation falls below 0: 0 for random grain; evenly spaced dots and screens dip.
    pub negative_lobe: Measured,
    /// Highest of the smoothed spectrum over its value at the lowest frequencies: about 1 for
    /// random grain, large where grains keep a distance.
    pub spectral_peak: Measured,
    /// Slope of ln power over ln frequency above the correlation frequency; steeper than −3 for
    /// round smooth grains.
    pub spectral_slope: Measured,
    /// log10 of how far the spectrum of density rises again above its lowest value at coarser detail,
    /// over the whole field: 0 where it only falls, as it does for drawing and grain; above 0.2 for spots
    /// of one size that keep apart (stochastic screens, error diffusion).
    pub fine_rise: Measured,
    /// The same window by window, the middle one.
    pub fine_rise_of_windows: Measured,
    /// Euler number (patches less holes) per square of the correlation length, in windows.
    pub euler_per_correlation_area: Measured,
    /// Holes per patch in windows that are at least 40 % inked.
    pub holes_per_patch: Measured,
    /// Part of a rise in tone made by more grains, 0–1; the rest is made by larger grains.
    pub tone_by_number: Measured,
    /// Perimeter over that of the disc of the same area, middle of the larger grains; 1 = round.
    pub raggedness: Measured,
    /// Twice the slope of ln perimeter over ln area of the grains: 1 for similar shapes, above 1
    /// where larger grains are more ragged.
    pub outline_dimension: Measured,
    /// Share of the grains whose area is under a tenth of the ink-weighted mean, 0–1.
    pub speck_share: Measured,
    /// Ink-weighted mean diameter over the middle diameter; 1 = all alike, large for broad tails.
    pub size_tail: Measured,
}

/// Measures it.
#[must_use]
pub fn measure(inked: &Inked, segments: &Segments) -> Grain {
    let found = windows::find(inked, segments);
    let textures: Vec<Texture> = windows::chosen(&found)
        .iter()
        .filter_map(|window| texture::measure(segments, window))
        .collect();
    let over = |of: fn(&Texture) -> Option<f64>, unit: &str| over_windows(&textures, of, unit);
    let length = over(|t| Some(t.correlation_px), "px");
    let rise = rise::measure(inked);
    Grain {
        textured_share: found.textured_share(),
        correlation_length_um: in_um(&length, inked),
        ink_chord: over(|t| Some(t.ink_chord_px / t.correlation_px), "1"),
        isotropy: over(|t| Some(t.isotropy), "1"),
        negative_lobe: over(|t| Some(t.negative_lobe), "1"),
        spectral_peak: over(|t| t.spectral_peak, "1"),
        spectral_slope: over(|t| t.spectral_slope, "1"),
        fine_rise: rise.overall,
        fine_rise_of_windows: rise.of_windows,
        euler_per_correlation_area: over(
            |t| Some(t.euler_per_px * t.correlation_px * t.correlation_px),
            "1",
        ),
        holes_per_patch: over(|t| t.holes_per_patch, "1"),
        tone_by_number: tone::by_number(&found),
        raggedness: outline::raggedness(segments),
        outline_dimension: outline::dimension(segments),
        speck_share: outline::speck_share(segments),
        size_tail: outline::size_tail(segments),
        correlation_length_px: length,
    }
}

/// Middle value over windows with its 95 % interval by order statistics.
fn over_windows(
    textures: &[Texture],
    of: impl Fn(&Texture) -> Option<f64>,
    unit: &str,
) -> Measured {
    let mut values: Vec<f64> = textures.iter().filter_map(of).collect();
    middle(&mut values, unit, "windows of broken texture")
}

/// Median of enough windows or grains.
fn middle(values: &mut [f64], unit: &str, what: &str) -> Measured {
    let n = values.len();
    if n < MIN_WINDOWS {
        return NotMeasured::too_few(what, n, MIN_WINDOWS).into();
    }
    values.sort_by(f64::total_cmp);
    let [lo, hi] = bounds(values, n, 0.5);
    Measured::with_interval(values[n / 2], lo, hi, unit, n)
}

fn in_um(length_px: &Measured, inked: &Inked) -> Measured {
    let Some(scale) = &inked.scale else {
        return NotMeasured::no_scale().into();
    };
    let um = 1000.0 / scale.value;
    let own = 0.5 * (scale.hi - scale.lo) / scale.value;
    match length_px {
        Measured::Figure(f) => Measured::with_interval(
            f.value * um,
            um * (f.value - (f.value - f.lo).hypot(f.value * own)),
            um * (f.value + (f.hi - f.value).hypot(f.value * own)),
            "µm",
            f.n,
        ),
        Measured::Missing(reason) => reason.clone().into(),
    }
}
