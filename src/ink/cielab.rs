//! CIELAB of linear light, and how far two colours are apart to the eye.

use palette::color_difference::Ciede2000;
use palette::convert::FromColorUnclamped;
use palette::{Lab, LinSrgb, Xyz, white_point::D65};

/// CIELAB (D65) of linear light with sRGB primaries; 1, 1, 1 is L\* = 100.
#[must_use]
pub fn from_linear(rgb: [f64; 3]) -> [f64; 3] {
    let [r, g, b] = rgb;
    let lab: Lab<D65, f64> = Lab::from_color_unclamped(LinSrgb::new(r, g, b));
    [lab.l, lab.a, lab.b]
}

/// Linear light with sRGB primaries of a CIELAB (D65) colour; outside 0–1 where sRGB cannot
/// show it.
#[must_use]
pub fn to_linear(lab: [f64; 3]) -> [f64; 3] {
    let [l, a, b] = lab;
    let xyz = Xyz::from_color_unclamped(Lab::<D65, f64>::new(l, a, b));
    let rgb: LinSrgb<f64> = LinSrgb::from_color_unclamped(xyz);
    [rgb.red, rgb.green, rgb.blue]
}

/// CIEDE2000 colour difference, ΔE00 ≥ 0; about 1 is just seen side by side.
///
/// Source: Sharma, Wu & Dalal, Color Res. Appl. 30 (2005) 21–30, as built in the `palette` crate.
#[must_use]
pub fn delta_e_2000(one: [f64; 3], other: [f64; 3]) -> f64 {
    let lab = |[l, a, b]: [f64; 3]| Lab::<D65, f64>::new(l, a, b);
    lab(one).difference(lab(other))
}

/// Chroma C\*ab, distance from the grey axis, ≥ 0.
#[must_use]
pub fn chroma(lab: [f64; 3]) -> f64 {
    lab[1].hypot(lab[2])
}
