//! Colours of inks, tints and washes, as CIELAB on white paper and as densities.

use palette::color_difference::Ciede2000;
use palette::white_point::D65;
use palette::{FromColor, Lab, LinSrgb};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Chroma under which one ink is called near-black rather than coloured (the eye takes a warm
/// or cool black for black).
pub const NEAR_BLACK_CHROMA: f64 = 8.0;
/// Least linear reflectance of an ink per channel: density 2.4, deeper than printed ink films.
const LEAST_REFLECTANCE: f64 = 0.004;

/// A family of colours: ranges of lightness, chroma and hue angle in degrees.
type Family = [std::ops::Range<f64>; 3];

/// Density per linear sRGB channel of a film that looks like `lab` (D65) on white.
#[must_use]
pub fn density_of_lab(lab: [f64; 3]) -> [f64; 3] {
    let linear = LinSrgb::<f64>::from_color(Lab::<D65, f64>::new(lab[0], lab[1], lab[2]));
    [linear.red, linear.green, linear.blue].map(|r| -r.clamp(LEAST_REFLECTANCE, 1.0).log10())
}

/// CIELAB (D65) of linear sRGB light.
#[must_use]
pub fn lab_of_linear([r, g, b]: [f64; 3]) -> [f64; 3] {
    let lab = Lab::<D65, f64>::from_color(LinSrgb::new(r, g, b));
    [lab.l, lab.a, lab.b]
}

/// Colour difference ΔE00 of two CIELAB colours.
#[must_use]
pub fn difference(a: [f64; 3], b: [f64; 3]) -> f64 {
    let [a, b] = [a, b].map(|c| Lab::<D65, f64>::new(c[0], c[1], c[2]));
    a.difference(b)
}

fn of_family([l, c, h]: Family, rng: &mut ChaCha8Rng) -> [f64; 3] {
    let (l, c, h) = (
        rng.random_range(l),
        rng.random_range(c),
        rng.random_range(h).to_radians(),
    );
    [l, c * h.cos(), c * h.sin()]
}

/// A single black ink: warm, neutral or cool, chroma under [`NEAR_BLACK_CHROMA`].
pub fn near_black(rng: &mut ChaCha8Rng) -> [f64; 3] {
    of_family([6.0..27.0, 0.0..0.9 * NEAR_BLACK_CHROMA, 0.0..360.0], rng)
}

/// A single clearly coloured ink: sepia, bistre, red, crimson, green, blue, violet.
pub fn coloured(rng: &mut ChaCha8Rng) -> [f64; 3] {
    let family: Family = match rng.random_range(0..8) {
        0 => [24.0..42.0, 14.0..30.0, 52.0..75.0],
        1 => [30.0..46.0, 20.0..38.0, 70.0..86.0],
        2 => [34.0..50.0, 35.0..60.0, 25.0..45.0],
        3 => [28.0..45.0, 30.0..55.0, 0.0..22.0],
        4 => [26.0..44.0, 14.0..36.0, 130.0..170.0],
        5 => [24.0..42.0, 16.0..42.0, 245.0..285.0],
        6 => [24.0..40.0, 14.0..32.0, 300.0..330.0],
        _ => [28.0..44.0, 12.0..30.0, 90.0..125.0],
    };
    of_family(family, rng)
}

/// A tint at 8–30 ΔE00 from white: below that a tint on toned paper goes unseen by eye too.
pub fn tint(rng: &mut ChaCha8Rng) -> [f64; 3] {
    // Direction from white at full strength: how dark and how chromatic the tint would be.
    let family: Family = match rng.random_range(0..8) {
        0 | 1 => [70.0..88.0, 14.0..32.0, 70.0..90.0],
        2 => [80.0..92.0, 16.0..38.0, 88.0..103.0],
        3 => [68.0..84.0, 5.0..18.0, 225.0..275.0],
        4 => [70.0..86.0, 5.0..18.0, 125.0..175.0],
        5 => [72.0..86.0, 8.0..24.0, 5.0..45.0],
        6 => [62.0..80.0, 10.0..26.0, 55.0..75.0],
        _ => [66.0..84.0, 3.0..8.0, 0.0..360.0],
    };
    let full = of_family(family, rng);
    let wanted = 8.0 * 3.75_f64.powf(rng.random_range(0.0..1.0));
    at_difference(full, wanted)
}

/// The colour on the straight line from white through `full` that lies `wanted` ΔE00 from white.
fn at_difference(full: [f64; 3], wanted: f64) -> [f64; 3] {
    let white = [100.0, 0.0, 0.0];
    let on_line = |f: f64| [100.0 + f * (full[0] - 100.0), f * full[1], f * full[2]];
    let (mut lo, mut hi) = (0.0, 2.0);
    for _ in 0..30 {
        let middle = 0.5 * (lo + hi);
        if difference(white, on_line(middle)) < wanted {
            lo = middle;
        } else {
            hi = middle;
        }
    }
    on_line(0.5 * (lo + hi))
}

/// A transparent watercolour as one full layer lies on white, light to strong.
pub fn watercolour(rng: &mut ChaCha8Rng) -> [f64; 3] {
    let family: Family = match rng.random_range(0..9) {
        0 | 1 => [45.0..85.0, 15.0..50.0, 105.0..165.0],
        2 => [45.0..80.0, 25.0..65.0, 0.0..45.0],
        3 => [70.0..92.0, 30.0..75.0, 80.0..100.0],
        4 => [45.0..82.0, 12.0..45.0, 235.0..290.0],
        5 => [45.0..78.0, 14.0..40.0, 55.0..80.0],
        6 => [60.0..85.0, 12.0..40.0, 340.0..360.0],
        7 => [60.0..82.0, 35.0..70.0, 45.0..75.0],
        _ => [50.0..80.0, 10.0..30.0, 290.0..330.0],
    };
    of_family(family, rng)
}

/// Body colour: white or a strong opaque touch.
pub fn body_colour(rng: &mut ChaCha8Rng) -> [f64; 3] {
    if rng.random_bool(0.5) {
        of_family([90.0..97.0, 0.0..6.0, 60.0..110.0], rng)
    } else {
        of_family([45.0..75.0, 30.0..65.0, 0.0..360.0], rng)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;

    #[test]
    fn density_and_lab_are_inverse_within_the_gamut() {
        let lab = [40.0, 12.0, 18.0];
        let back = lab_of_linear(density_of_lab(lab).map(|d| 10.0_f64.powf(-d)));
        for (a, b) in lab.iter().zip(back) {
            // The colour matrices are published to about five digits.
            assert!((a - b).abs() < 1e-4, "{lab:?} {back:?}");
        }
    }

    #[test]
    fn families_keep_their_promises() {
        let mut rng = ChaCha8Rng::seed_from_u64(2);
        for _ in 0..300 {
            let [_, a, b] = near_black(&mut rng);
            assert!(a.hypot(b) < NEAR_BLACK_CHROMA);
            let [_, a, b] = coloured(&mut rng);
            assert!(a.hypot(b) > NEAR_BLACK_CHROMA);
            let apart = difference([100.0, 0.0, 0.0], tint(&mut rng));
            assert!((3.99..30.01).contains(&apart), "{apart}");
        }
    }
}
