//! Optical density over the local paper.

use super::paper::Ground;
use crate::plane::{Plane, Rgb};
use ndarray::Array2;
use rayon::prelude::*;

/// Darkest reflectance told from black; density is capped at 3 (R / R_paper = 0.001), beyond
/// which a photograph holds only noise.
pub const MAX_DENSITY: f32 = 3.0;

/// Linear light under which a pixel is taken as this dark: one part in ten thousand of white is
/// below the first code value of an 8-bit sRGB file (1/255/12.92 = 0.0003).
const MIN_LINEAR: f32 = 1e-4;

/// Density per channel, −log10(R / R_paper), capped at [`MAX_DENSITY`]; noise may make it
/// slightly negative on bare paper. Reflection density as in ISO 5-4, without its spectral conditions.
#[must_use]
pub fn over_paper(linear: &Rgb, ground: &Ground) -> Rgb {
    [0, 1, 2].map(|c| channel(&linear[c], &ground.light[c]))
}

fn channel(linear: &Plane, light: &[f64; 6]) -> Plane {
    let (height, width) = linear.dim();
    let mut density = vec![0.0f32; width * height];
    let source = linear.as_standard_layout();
    let Some(source) = source.as_slice() else {
        return Array2::zeros((height, width));
    };
    let log10_of_e = std::f64::consts::LOG10_E;
    density
        .par_chunks_mut(width.max(1))
        .zip(source.par_chunks(width.max(1)))
        .enumerate()
        .for_each(|(y, (out, row))| {
            let v = 2.0 * (y as f64 + 0.5) / height as f64 - 1.0;
            let [a, b, c] = [
                light[0] + light[2] * v + light[5] * v * v,
                light[1] + light[4] * v,
                light[3],
            ]
            .map(|k| (k * log10_of_e) as f32);
            let step = 2.0 / width as f32;
            for (x, (out, &value)) in out.iter_mut().zip(row).enumerate() {
                let u = (x as f32 + 0.5) * step - 1.0;
                *out = (a + u * (b + u * c) - log10(value.max(MIN_LINEAR))).min(MAX_DENSITY);
            }
        });
    Array2::from_shape_vec((height, width), density)
        .unwrap_or_else(|_| Array2::zeros((height, width)))
}

/// log10 of a positive normal number to within 2·10⁻⁵, without a library call, so that the row
/// loop vectorises. The mantissa's logarithm is a series in (m − 1)/(m + 1), |·| ≤ 0.172.
fn log10(value: f32) -> f32 {
    let bits = value.to_bits();
    // Split at √½ so that the mantissa lies in [0.707, 1.414).
    let shifted = bits.wrapping_sub(0x3f35_04f3);
    let exponent = (shifted as i32) >> 23;
    let mantissa = f32::from_bits((shifted & 0x007f_ffff).wrapping_add(0x3f35_04f3));
    let t = (mantissa - 1.0) / (mantissa + 1.0);
    let t2 = t * t;
    let ln = 2.0 * t * (1.0 + t2 * (1.0 / 3.0 + t2 * (0.2 + t2 / 7.0)));
    exponent as f32 * std::f32::consts::LOG10_2 + ln * std::f32::consts::LOG10_E
}

/// Mean of the three channels.
#[must_use]
pub fn mean_of_channels(density: &Rgb) -> Plane {
    let [r, g, b] = density;
    let mut mean = r.clone();
    ndarray::Zip::from(&mut mean)
        .and(g)
        .and(b)
        .par_for_each(|m, &g, &b| *m = (*m + g + b) / 3.0);
    mean
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn quick_logarithm_agrees_with_the_library() {
        for i in 0..4000 {
            let value = 1e-4 * 1.003f32.powi(i % 3300) + i as f32 * 1e-5;
            assert_abs_diff_eq!(log10(value), value.log10(), epsilon = 2e-5);
        }
    }
}
