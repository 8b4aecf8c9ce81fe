//! Where ink ends: the blur of edges, partly undone, and the pixels that count as inked.

use super::rough::Roughness;
use crate::plane::{Mask, Plane};
use crate::rank::median;
use ndarray::Array2;
use rayon::prelude::*;

/// Ink cover, in shares of the mark's own darkest cover, from which a pixel belongs to a mark.
/// Blur by any symmetric kernel leaves a straight edge at its half-height.
pub const HALF: f32 = 0.5;
/// Least darkest cover of a mark: fainter spots are fibres, foxing or dust in blur.
const MIN_PEAK: f32 = 0.35;
/// The darkest cover must also stand this many standard deviations above the ground's own.
const ROUGHNESS_TIMES: f32 = 5.0;
/// However rough the ground, a peak of this cover is ink.
const SURE_PEAK: f32 = 0.75;
/// Standard deviation that undoing blur may add to the ground's cover.
const MAX_ADDED_NOISE: f32 = 0.04;
/// Largest step that is taken: beyond it a five-point Laplacian raises the finest detail (gain
/// 1 + 8λ) far more than blur took from it.
const MAX_LAMBDA: f32 = 0.5;
/// Widest blur that is corrected for, px: beyond it the marks themselves are lost.
const MAX_BLUR_PX: f32 = 4.0;
/// Share of edge pixels less steep than a plain edge: small marks never rise to full ink, and in
/// fine grain they are the most.
const PLAIN_EDGE_SHARE: f64 = 0.9;
/// Ink cover below which a pixel is ground, blurred edges apart.
const GROUND_COVER: f32 = 0.3;
/// From a median absolute deviation to a standard deviation, normal distribution.
const MAD_TO_SIGMA: f32 = 1.4826;
/// Fewest edge pixels from which a blur is taken.
const MIN_EDGE_PIXELS: usize = 200;

/// Blur of the edges in a picture of ink cover.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Blur {
    /// Standard deviation of the Gaussian that would soften a sharp edge as much, px.
    pub sigma_px: f32,
    /// Share of its variance that was undone, 0–1.
    pub undone: f32,
}

impl Blur {
    /// Variance of the blur left in the contours, px²: what was not undone, and 0.2 px² for
    /// the pixel's own width and for drawing contours with straight pieces. One step undoes 0.6
    /// of the variance as seen in half-height areas of discs (computed for σ 0.8–1.8 px and radii
    /// 1.2–6 px; the other 0.4 is of higher order).
    #[must_use]
    pub fn left_px2(self) -> f64 {
        let variance = f64::from(self.sigma_px * self.sigma_px);
        variance * (1.0 - 0.6 * f64::from(self.undone)) + 0.2
    }

    /// Fewest pixels of a mark: half of what a point of ink covers through this blur above half
    /// its peak (2π·ln 2·σ²), and never under `least`.
    #[must_use]
    pub fn min_mark_pixels(self, least: usize) -> usize {
        let point = std::f64::consts::TAU * std::f64::consts::LN_2 * (self.left_px2() - 0.2);
        ((0.5 * point).round() as usize).max(least)
    }
}

/// Undoes as much of the blur as the ground's roughness bears: cover − λ·∇²cover with λ ≤ σ²/2, the first step
/// of running the heat equation backwards. Straight edges stay where they are, narrow gaps and
/// small dots regain contrast.
#[must_use]
pub fn sharpened(cover: &Plane, usable: &Mask) -> (Plane, Blur) {
    let sigma = blur_sigma_px(cover, usable);
    let bearable = MAX_ADDED_NOISE / laplacian_noise(cover, usable).max(1e-6);
    let lambda = (0.5 * sigma * sigma).min(bearable).min(MAX_LAMBDA);
    if lambda <= 0.0 {
        return (
            cover.clone(),
            Blur {
                sigma_px: sigma,
                undone: 0.0,
            },
        );
    }
    let blur = Blur {
        sigma_px: sigma,
        undone: lambda / (0.5 * sigma * sigma),
    };
    (less_laplacian(cover, usable, lambda), blur)
}

/// Standard deviation of the Laplacian on the ground: what noise and fibres make of it.
fn laplacian_noise(cover: &Plane, usable: &Mask) -> f32 {
    /// Rows and columns between samples: odd, so that the 8-px blocks of JPEG are met everywhere.
    const STEP: usize = 7;
    let (height, width) = cover.dim();
    let mut sizes: Vec<f32> = Vec::new();
    for y in (1..height.saturating_sub(1)).step_by(STEP) {
        for x in (1..width.saturating_sub(1)).step_by(STEP) {
            let around = [[y - 1, x], [y + 1, x], [y, x - 1], [y, x + 1]];
            let ground = |at: [usize; 2]| usable[at] && cover[at] < GROUND_COVER;
            if ground([y, x]) && around.iter().all(|&at| ground(at)) {
                let sum: f32 = around.iter().map(|&at| cover[at]).sum();
                sizes.push((sum - 4.0 * cover[[y, x]]).abs());
            }
        }
    }
    MAD_TO_SIGMA * median(sizes).unwrap_or(0.0)
}

fn less_laplacian(cover: &Plane, usable: &Mask, lambda: f32) -> Plane {
    let (height, width) = cover.dim();
    let mut out = cover.clone();
    let (Some(from), Some(used), Some(to)) =
        (cover.as_slice(), usable.as_slice(), out.as_slice_mut())
    else {
        return out;
    };
    if height < 3 || width < 3 {
        return out;
    }
    to.par_chunks_mut(width)
        .enumerate()
        .filter(|(y, _)| (1..height - 1).contains(y))
        .for_each(|(y, row)| {
            let above = &from[(y - 1) * width..y * width];
            let here = &from[y * width..(y + 1) * width];
            let below = &from[(y + 1) * width..(y + 2) * width];
            let used = &used[y * width..(y + 1) * width];
            for x in 1..width - 1 {
                let around = above[x] + below[x] + here[x - 1] + here[x + 1];
                let sharp = here[x] - lambda * (around - 4.0 * here[x]);
                // Next to unusable pixels the Laplacian means nothing.
                row[x] = if used[x] && used[x - 1] && used[x + 1] {
                    sharp
                } else {
                    here[x]
                };
            }
        });
    out
}

/// Blur from the steepness of the cover where it passes one half. A step blurred by σ rises by
/// 1/(σ√2π) a pixel; central differences over two pixels look like a blur of variance 1/3.
fn blur_sigma_px(cover: &Plane, usable: &Mask) -> f32 {
    let (height, width) = cover.dim();
    if height < 3 || width < 3 {
        return 0.0;
    }
    let step = (height / 400).max(1);
    let mut slopes: Vec<f32> = (1..height - 1)
        .into_par_iter()
        .step_by(step)
        .flat_map_iter(|y| {
            (1..width - 1).filter_map(move |x| {
                let near_half = (0.35..0.65).contains(&cover[[y, x]]);
                (near_half && usable[[y, x]]).then(|| {
                    let dx = 0.5 * (cover[[y, x + 1]] - cover[[y, x - 1]]);
                    let dy = 0.5 * (cover[[y + 1, x]] - cover[[y - 1, x]]);
                    dx.hypot(dy)
                })
            })
        })
        .collect();
    if slopes.len() < MIN_EDGE_PIXELS {
        return 0.0;
    }
    let at = ((slopes.len() - 1) as f64 * PLAIN_EDGE_SHARE) as usize;
    let slope = slopes
        .select_nth_unstable_by(at, f32::total_cmp)
        .1
        .max(1e-3);
    let variance = 1.0 / (std::f32::consts::TAU * slope * slope) - 1.0 / 3.0;
    variance.max(0.0).sqrt().min(MAX_BLUR_PX)
}

/// Pixels that count as inked: at least half as covered as the darkest pixel near by (full ink at
/// most), where that stands out from the ground enough to be ink at all.
#[must_use]
pub fn inked_pixels(cover: &Plane, ground: &Roughness, blur: Blur) -> Mask {
    let reach = ((1.8 * blur.sigma_px).ceil() as usize).clamp(2, 4);
    let (height, width) = cover.dim();
    let mut out = Array2::from_elem((height, width), false);
    let (Some(pixels), Some(from)) = (out.as_slice_mut(), cover.as_slice()) else {
        return out;
    };
    if width == 0 {
        return out;
    }
    pixels.par_chunks_mut(width).enumerate().for_each_init(
        || (vec![0.0_f32; width], vec![0.0_f32; width]),
        |(least, sigma), (y, row)| {
            ground.middle.fill_row(y, least);
            ground.sigma.fill_row(y, sigma);
            for (middle, sigma) in least.iter_mut().zip(&*sigma) {
                *middle = (*middle + ROUGHNESS_TIMES * sigma).clamp(MIN_PEAK, SURE_PEAK);
            }
            let here = &from[y * width..(y + 1) * width];
            for (x, inked) in row.iter_mut().enumerate() {
                *inked = here[x] >= SURE_PEAK
                    || (here[x] >= HALF * least[x]
                        && half_of_darkest(from, (height, width), (y, x), reach, least[x]));
            }
        },
    );
    out
}

/// Whether the darkest cover within `reach` of a pixel is at least `least`, and at most twice the
/// pixel's own (full ink counts as 1).
fn half_of_darkest(
    cover: &[f32],
    size: (usize, usize),
    at: (usize, usize),
    reach: usize,
    least: f32,
) -> bool {
    let ((height, width), (y, x)) = (size, at);
    let own = cover[y * width + x];
    let most = if own >= HALF {
        f32::INFINITY
    } else {
        own / HALF
    };
    let columns = x.saturating_sub(reach)..(x + reach + 1).min(width);
    let mut dark_enough = false;
    for row in y.saturating_sub(reach)..(y + reach + 1).min(height) {
        for &c in &cover[row * width + columns.start..row * width + columns.end] {
            if c > most {
                return false;
            }
            dark_enough |= c >= least;
        }
        if dark_enough && own >= HALF {
            return true;
        }
    }
    dark_enough
}
