//! Blurs of the forward model: ink spread, light in paper, lens, defocus, motion, pixel aperture.
//!
//! Edges are continued by their outermost pixel.

use crate::plane::Plane;
use rayon::prelude::*;

/// Gaussians narrower than this (px) change nothing that 8 bits could show.
const NEGLIGIBLE_SIGMA_PX: f64 = 0.12;
/// Above this the Gaussian is made of three boxes, which agree with it within 3 % of its peak.
const WIDEST_DIRECT_SIGMA_PX: f64 = 4.0;

/// Gaussian blur with standard deviation `sigma_px`.
#[must_use]
pub fn gaussian(plane: &Plane, sigma_px: f64) -> Plane {
    if sigma_px.is_nan() || sigma_px < NEGLIGIBLE_SIGMA_PX {
        return plane.clone();
    }
    if sigma_px <= WIDEST_DIRECT_SIGMA_PX {
        return separable(plane, &gaussian_taps(sigma_px));
    }
    let [first, second, third] = box_reaches(sigma_px);
    let once = running_mean(plane, first);
    running_mean(&running_mean(&once, second), third)
}

/// Mean over a square of `width_px`, which need not be whole: the aperture of a pixel.
#[must_use]
pub fn aperture(plane: &Plane, width_px: f64) -> Plane {
    if width_px <= 1.0 {
        return plane.clone();
    }
    separable(plane, &box_taps(width_px))
}

/// Blur by an evenly lit disc of `radius_px`: a lens out of focus.
#[must_use]
pub fn disc(plane: &Plane, radius_px: f64) -> Plane {
    if radius_px < 0.3 {
        return plane.clone();
    }
    by_kernel(plane, &disc_kernel(radius_px))
}

/// Blur along a straight stroke of `length_px` at `angle_deg` (counter-clockwise as seen).
#[must_use]
pub fn motion(plane: &Plane, length_px: f64, angle_deg: f64) -> Plane {
    if length_px < 0.3 {
        return plane.clone();
    }
    by_kernel(plane, &stroke_kernel(length_px, angle_deg))
}

fn gaussian_taps(sigma_px: f64) -> Vec<f32> {
    let reach = (3.0 * sigma_px).ceil() as i64;
    let raw: Vec<f64> = (-reach..=reach)
        .map(|i| (-0.5 * (i as f64 / sigma_px).powi(2)).exp())
        .collect();
    normalised(raw)
}

fn box_taps(width_px: f64) -> Vec<f32> {
    let reach = ((width_px - 1.0) / 2.0).ceil() as i64;
    let raw: Vec<f64> = (-reach..=reach)
        .map(|i| (width_px / 2.0 - (i.abs() as f64 - 0.5)).clamp(0.0, 1.0))
        .collect();
    normalised(raw)
}

fn normalised(raw: Vec<f64>) -> Vec<f32> {
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|v| (v / sum) as f32).collect()
}

/// Convolves rows, then columns, with an odd number of taps.
fn separable(plane: &Plane, taps: &[f32]) -> Plane {
    let (h, w) = plane.dim();
    let (Some(cells), true) = (plane.as_slice(), w > 0 && h > 0) else {
        return plane.clone();
    };
    let along_rows = rows_convolved(cells, w, taps);
    let both = columns_convolved(&along_rows, w, h, taps);
    Plane::from_shape_vec((h, w), both).unwrap_or_else(|_| plane.clone())
}

fn rows_convolved(cells: &[f32], w: usize, taps: &[f32]) -> Vec<f32> {
    let reach = taps.len() / 2;
    let mut out = vec![0.0; cells.len()];
    out.par_chunks_mut(w)
        .zip(cells.par_chunks(w))
        .for_each(|(to, from)| {
            let padded = padded_row(from, reach);
            for (k, &tap) in taps.iter().enumerate() {
                for (cell, &v) in to.iter_mut().zip(&padded[k..k + w]) {
                    *cell += tap * v;
                }
            }
        });
    out
}

fn padded_row(row: &[f32], reach: usize) -> Vec<f32> {
    let (first, last) = (row[0], row[row.len() - 1]);
    let mut padded = vec![first; reach];
    padded.extend_from_slice(row);
    padded.resize(row.len() + 2 * reach, last);
    padded
}

fn columns_convolved(cells: &[f32], w: usize, h: usize, taps: &[f32]) -> Vec<f32> {
    let reach = taps.len() / 2;
    let mut out = vec![0.0; cells.len()];
    out.par_chunks_mut(w).enumerate().for_each(|(y, to)| {
        for (k, &tap) in taps.iter().enumerate() {
            let from = (y + k).saturating_sub(reach).min(h - 1) * w;
            for (cell, &v) in to.iter_mut().zip(&cells[from..from + w]) {
                *cell += tap * v;
            }
        }
    });
    out
}

/// Reaches of three boxes that together have the variance of a Gaussian as nearly as whole
/// widths allow (Kovesi 2010, from memory).
fn box_reaches(sigma_px: f64) -> [usize; 3] {
    // A box of odd width w has the variance (w² − 1) / 12.
    let wanted = 12.0 * sigma_px * sigma_px;
    let ideal = (wanted / 3.0 + 1.0).sqrt();
    let reach = ((ideal - 1.0) / 2.0).floor().max(0.0);
    let narrow = 2.0 * reach + 1.0;
    let narrow_count =
        (3.0 * narrow * narrow + 12.0 * narrow + 9.0 - wanted) / (4.0 * narrow + 4.0);
    [0.5, 1.5, 2.5].map(|i| reach as usize + usize::from(i > narrow_count))
}

/// Running mean over `2 · reach + 1` pixels, along rows and then columns.
fn running_mean(plane: &Plane, reach: usize) -> Plane {
    let along_rows = running_mean_of_rows(plane, reach);
    let turned = along_rows.t().as_standard_layout().into_owned();
    running_mean_of_rows(&turned, reach)
        .t()
        .as_standard_layout()
        .into_owned()
}

fn running_mean_of_rows(plane: &Plane, reach: usize) -> Plane {
    let (h, w) = plane.dim();
    let mut out = Plane::zeros((h, w));
    let (Some(from), Some(to)) = (plane.as_slice(), out.as_slice_mut()) else {
        return plane.clone();
    };
    if w == 0 || h == 0 {
        return out;
    }
    let norm = 1.0 / (2 * reach + 1) as f64;
    to.par_chunks_mut(w)
        .zip(from.par_chunks(w))
        .for_each(|(to, from)| {
            let padded = padded_row(from, reach);
            let mut sum: f64 = padded[..2 * reach].iter().map(|&v| f64::from(v)).sum();
            for (x, cell) in to.iter_mut().enumerate() {
                sum += f64::from(padded[x + 2 * reach]);
                *cell = (sum * norm) as f32;
                sum -= f64::from(padded[x]);
            }
        });
    out
}

/// Offset in x and y, and weight.
type Tap = (i64, i64, f32);

fn disc_kernel(radius_px: f64) -> Vec<Tap> {
    let reach = (radius_px + 0.5).ceil() as i64;
    let inside = |x: i64, y: i64| {
        let distance = ((x * x + y * y) as f64).sqrt();
        (radius_px + 0.5 - distance).clamp(0.0, 1.0)
    };
    weighted(reach, inside)
}

fn stroke_kernel(length_px: f64, angle_deg: f64) -> Vec<Tap> {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let reach = (length_px / 2.0 + 1.0).ceil() as i64;
    let inside = move |x: i64, y: i64| {
        let (x, y) = (x as f64, y as f64);
        let along = (x * cos - y * sin).abs();
        let across = (x * sin + y * cos).abs();
        (1.0 - across).clamp(0.0, 1.0) * (length_px / 2.0 + 0.5 - along).clamp(0.0, 1.0)
    };
    weighted(reach, inside)
}

fn weighted(reach: i64, weight: impl Fn(i64, i64) -> f64) -> Vec<Tap> {
    let raw: Vec<(i64, i64, f64)> = (-reach..=reach)
        .flat_map(|y| (-reach..=reach).map(move |x| (x, y)))
        .map(|(x, y)| (x, y, weight(x, y)))
        .filter(|tap| tap.2 > 0.0)
        .collect();
    let sum: f64 = raw.iter().map(|tap| tap.2).sum();
    raw.iter()
        .map(|&(x, y, v)| (x, y, (v / sum) as f32))
        .collect()
}

fn by_kernel(plane: &Plane, kernel: &[Tap]) -> Plane {
    let (h, w) = plane.dim();
    let mut out = Plane::zeros((h, w));
    let (Some(from), Some(to), true) = (plane.as_slice(), out.as_slice_mut(), w > 0 && h > 0)
    else {
        return plane.clone();
    };
    let reach = kernel
        .iter()
        .map(|tap| tap.0.unsigned_abs() as usize)
        .max()
        .unwrap_or(0);
    let padded: Vec<Vec<f32>> = from
        .par_chunks(w)
        .map(|row| padded_row(row, reach))
        .collect();
    to.par_chunks_mut(w).enumerate().for_each(|(y, to)| {
        for &(dx, dy, weight) in kernel {
            let from = &padded[(y as i64 + dy).clamp(0, h as i64 - 1) as usize];
            let start = (reach as i64 + dx) as usize;
            for (cell, &v) in to.iter_mut().zip(&from[start..start + w]) {
                *cell += weight * v;
            }
        }
    });
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn impulse() -> Plane {
        let mut plane = Plane::zeros((81, 97));
        plane[[40, 50]] = 1.0;
        plane
    }

    /// Sum, and variance along x and y, of a blurred impulse.
    fn spread(plane: &Plane) -> (f64, f64, f64) {
        let mut sums = (0.0, 0.0, 0.0);
        for ((y, x), &v) in plane.indexed_iter() {
            let v = f64::from(v);
            sums.0 += v;
            sums.1 += v * (x as f64 - 50.0).powi(2);
            sums.2 += v * (y as f64 - 40.0).powi(2);
        }
        sums
    }

    #[test]
    fn blurs_keep_the_light_and_have_the_stated_width() {
        for sigma in [0.8, 2.5, 4.3, 6.0, 7.7] {
            let (sum, x, y) = spread(&gaussian(&impulse(), sigma));
            assert!((sum - 1.0).abs() < 1e-3);
            assert!(
                (x.sqrt() - sigma).abs() < 0.05 * sigma,
                "{sigma}: {}",
                x.sqrt()
            );
            assert!((y.sqrt() - sigma).abs() < 0.05 * sigma);
        }
        // A disc of radius r has the variance r²/4 along each axis.
        let (sum, x, y) = spread(&disc(&impulse(), 5.0));
        assert!((sum - 1.0).abs() < 1e-3);
        assert!((x - 6.25).abs() < 0.6 && (y - 6.25).abs() < 0.6);
    }

    #[test]
    fn motion_runs_along_its_angle() {
        let blurred = motion(&impulse(), 8.0, 90.0);
        assert!(blurred[[37, 50]] > 0.05 && blurred[[40, 53]] < 1e-6);
        let blurred = motion(&impulse(), 8.0, 45.0);
        assert!(blurred[[38, 52]] > 0.05 && blurred[[42, 52]] < 1e-6);
    }

    #[test]
    fn thin_planes_survive_wide_blurs() {
        let thin = Plane::from_elem((1, 3), 0.5);
        for blurred in [gaussian(&thin, 9.0), disc(&thin, 4.0), aperture(&thin, 7.5)] {
            assert!(blurred.iter().all(|v| (v - 0.5).abs() < 1e-5));
        }
    }
}
