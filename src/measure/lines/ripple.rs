//! Windows over the picture and the plane waves ("ripples") in them: what hatching looks like
//! when one looks at a patch only a few lines wide.

mod folded;
mod spectrum;

use crate::plane::{Mask, Plane};
use folded::Finer;
use ndarray::{Array2, s};
use rayon::prelude::*;
use rustfft::{Fft, FftPlanner};
use spectrum::Spectrum;
use std::f64::consts::TAU;
use std::sync::Arc;

/// Samples along the side of a window. With the band below a window holds 4½ to 9 lines: enough
/// for a sharp peak, few enough that hatching that follows a form is still nearly straight.
pub(super) const WINDOW: usize = 48;
/// Lowest frequency a window answers for, cycles per window.
const BAND_LOW: f64 = 4.5;
/// Highest one, except in the finest layer; an octave up, where the next finer layer takes over.
const BAND_HIGH: f64 = 9.0;
/// Overlap of the bands, so that a drift across the border does not break a system.
const BAND_OVERLAP: f64 = 1.12;
/// Highest frequency in the finest layer: a period of 2.4 px, just short of Nyquist, where the
/// two directions of a wave still stand apart.
const BAND_FINEST: f64 = 20.0;
/// Most windows looked at per layer, which bounds the time on large photos.
const MAX_WINDOWS: usize = 1500;
/// Least share of usable pixels in a window.
const MIN_VALID: f32 = 0.7;

/// Waves down to this share of the floor may carry on a stronger system into its lights.
const FAINT: f64 = 0.35;

/// A plane wave in one window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ripple {
    /// Centre of the window, px.
    pub(super) x: f64,
    /// Centre of the window, px.
    pub(super) y: f64,
    /// Side of the window, px.
    pub(super) side_px: f64,
    /// Frequency vector, cycles per px, y down; the half plane fx > 0 (or fx = 0, fy > 0).
    pub(super) fx: f64,
    /// See `fx`.
    pub(super) fy: f64,
    /// Phase at the window's centre, radians.
    pub(super) phase: f64,
    /// Amplitude in density.
    pub(super) amplitude: f64,
    /// Share of the window's line-frequency power in this wave, 0–1.
    pub(super) share: f64,
    /// Whether its amplitude counts as ink on its own.
    pub(super) strong: bool,
}

impl Ripple {
    /// Frequency, cycles per px.
    pub(super) fn frequency(&self) -> f64 {
        self.fx.hypot(self.fy)
    }
}

/// One window.
#[derive(Clone, Debug)]
pub(super) struct Window {
    /// Layer of the pyramid, 0 = full resolution.
    pub(super) layer: usize,
    /// Position in the layer's grid of windows.
    pub(super) column: usize,
    /// Position in the layer's grid of windows.
    pub(super) row: usize,
    /// Whether it holds enough contrast for ink.
    pub(super) inked: bool,
    /// Strength of one direction over all others in the gradients, 0–1 (structure tensor).
    pub(super) coherence: f64,
    /// Power in line frequencies, density².
    pub(super) power: f64,
    /// Frequency (cycles/px) and power of each ring of the spectrum inside the layer's band.
    pub(super) rings: Vec<(f64, f64)>,
    /// The waves, strongest first.
    pub(super) ripples: Vec<Ripple>,
}

/// The windows of one layer.
#[derive(Clone, Debug)]
pub(super) struct Layer {
    /// Distance between neighbouring windows, px.
    pub(super) stride_px: f64,
    /// Side of a window, px.
    pub(super) side_px: f64,
    /// Windows that were looked at, in reading order.
    pub(super) windows: Vec<Window>,
}

/// Looks at windows of doubling size over the whole usable field. `floor` is the least density
/// amplitude that counts.
pub(super) fn look(density: &Plane, usable: &Mask, floor: f64) -> Vec<Layer> {
    let eye = Eye::new(floor);
    let mut layers = Vec::new();
    let mut scales = vec![(density.clone(), usable.mapv(|u| f32::from(u8::from(u))))];
    while let Some((plane, valid)) = scales.last()
        && plane.nrows().min(plane.ncols()) >= WINDOW
    {
        layers.push(eye.layer(plane, valid, layers.len(), Finer::above(&scales)));
        let next = halve(plane, valid);
        scales.push(next);
    }
    layers
}

/// Halves the resolution by means over 2 × 2 usable pixels.
fn halve(plane: &Plane, valid: &Plane) -> (Plane, Plane) {
    let (rows, columns) = (plane.nrows() / 2, plane.ncols() / 2);
    let mut small = Plane::zeros((rows, columns));
    let mut weight = Plane::zeros((rows, columns));
    small
        .outer_iter_mut()
        .into_par_iter()
        .zip(weight.outer_iter_mut().into_par_iter())
        .enumerate()
        .for_each(|(y, (mut out, mut out_weight))| {
            for x in 0..columns {
                let (mut sum, mut total) = (0.0, 0.0);
                for (dy, dx) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                    let w = valid[[2 * y + dy, 2 * x + dx]];
                    sum += w * plane[[2 * y + dy, 2 * x + dx]];
                    total += w;
                }
                out[x] = if total > 0.0 { sum / total } else { 0.0 };
                out_weight[x] = total / 4.0;
            }
        });
    (small, weight)
}

/// What is needed to look at a window: the taper, the transform, the floor.
struct Eye {
    taper: Array2<f32>,
    taper_power: f64,
    fft: Arc<dyn Fft<f32>>,
    floor: f64,
}

impl Eye {
    fn new(floor: f64) -> Self {
        let hann = |n: usize| 0.5 - 0.5 * (TAU * n as f64 / WINDOW as f64).cos();
        let taper = Array2::from_shape_fn((WINDOW, WINDOW), |(y, x)| (hann(y) * hann(x)) as f32);
        Self {
            taper_power: taper.iter().map(|&w| f64::from(w).powi(2)).sum(),
            taper,
            fft: FftPlanner::new().plan_fft_forward(WINDOW),
            floor,
        }
    }

    fn layer(&self, plane: &Plane, valid: &Plane, layer: usize, finer: Option<Finer>) -> Layer {
        let stride = stride(plane.dim());
        let columns = (plane.ncols() - WINDOW) / stride + 1;
        let rows = (plane.nrows() - WINDOW) / stride + 1;
        let windows = (0..rows * columns)
            .into_par_iter()
            .filter_map(|i| {
                let (row, column) = (i / columns, i % columns);
                let mut window = self.window(plane, valid, layer, [row, column], stride)?;
                if let Some(finer) = &finer {
                    window.ripples.retain(|ripple| finer.shows(ripple));
                }
                Some(window)
            })
            .collect();
        Layer {
            stride_px: (stride << layer) as f64,
            side_px: (WINDOW << layer) as f64,
            windows,
        }
    }

    fn window(
        &self,
        plane: &Plane,
        valid: &Plane,
        layer: usize,
        [row, column]: [usize; 2],
        stride: usize,
    ) -> Option<Window> {
        let (y, x) = (row * stride, column * stride);
        let area = s![y..y + WINDOW, x..x + WINDOW];
        let (tapered, variance) = self.tapered(&plane.slice(area), &valid.slice(area))?;
        let spectrum = Spectrum::of(&tapered, self.fft.as_ref());
        let scale = (1usize << layer) as f64;
        let centre = |corner: usize| (corner as f64 + WINDOW as f64 / 2.0 + 0.5) * scale - 0.5;
        let (total, coherence) = spectrum.total_and_coherence();
        let highest = if layer == 0 { BAND_FINEST } else { BAND_HIGH };
        let ripples = spectrum
            .peaks(BAND_LOW / BAND_OVERLAP, highest * BAND_OVERLAP)
            .into_iter()
            .map(|peak| {
                let amplitude = 2.0 * (peak.power / self.taper_power).sqrt() / WINDOW as f64;
                Ripple {
                    x: centre(x),
                    y: centre(y),
                    side_px: WINDOW as f64 * scale,
                    fx: peak.kx / (WINDOW as f64 * scale),
                    fy: peak.ky / (WINDOW as f64 * scale),
                    phase: peak.phase,
                    amplitude,
                    share: 2.0 * peak.power / total,
                    strong: amplitude >= self.floor,
                }
            })
            .filter(|ripple| ripple.amplitude >= FAINT * self.floor)
            .collect();
        Some(Window {
            layer,
            column,
            row,
            coherence,
            inked: variance >= self.floor * self.floor / 2.0,
            power: total / self.taper_power / (WINDOW * WINDOW) as f64,
            rings: spectrum.rings(highest, scale, self.taper_power),
            ripples,
        })
    }

    /// The window's density about its mean, tapered, and its variance; nothing when too little is usable or it is
    /// flatter than the floor.
    fn tapered(
        &self,
        plane: &ndarray::ArrayView2<f32>,
        valid: &ndarray::ArrayView2<f32>,
    ) -> Option<(Array2<f32>, f64)> {
        if valid.mean()? < MIN_VALID {
            return None;
        }
        let weight = &self.taper * valid;
        let total = weight.sum();
        let mean = (&weight * plane).sum() / total;
        let tapered = (plane - mean) * weight;
        let variance = f64::from(tapered.iter().map(|v| v * v).sum::<f32>()) / self.taper_power;
        let least = (FAINT * self.floor).powi(2) / 2.0;
        (variance >= least).then_some((tapered, variance))
    }
}

/// Distance between windows in samples: half a window, or more on large pictures.
fn stride((rows, columns): (usize, usize)) -> usize {
    let spread = ((rows * columns) as f64 / MAX_WINDOWS as f64).sqrt().ceil() as usize;
    spread.max(WINDOW / 2)
}
