//! Windows over the picture and the plane waves ("ripples") in them: what hatching looks like
//! when one looks at a patch only a few lines wide.

use crate::plane::{Mask, Plane};
use ndarray::{Array2, s};
use rayon::prelude::*;
use rustfft::{Fft, FftPlanner, num_complex::Complex};
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
/// Below this the power is tone and outlines, not lines; it is left out of the total.
const TONE_BINS: f64 = 3.0;
/// Half-width of a Hann peak: its main lobe ends 2 bins from the centre.
const LOBE_BINS: f64 = 2.0;
/// Most windows looked at per layer, which bounds the time on large photos.
const MAX_WINDOWS: usize = 1500;
/// Least share of usable pixels in a window.
const MIN_VALID: f32 = 0.7;
/// Most waves kept per window: hatching crosses in two or three directions, hardly in four.
const MAX_RIPPLES: usize = 3;
/// A wave must stand above the lower frequencies along its own direction by this factor, else it
/// is a harmonic or the spectrum of a single edge, which falls steadily.
const ABOVE_LOWER: f64 = 1.6;

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
    let mut plane = density.clone();
    let mut valid = usable.mapv(|u| f32::from(u8::from(u)));
    while plane.nrows().min(plane.ncols()) >= WINDOW {
        layers.push(eye.layer(&plane, &valid, layers.len()));
        (plane, valid) = halve(&plane, &valid);
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

/// Spectrum of one window: power by bin, and the transform itself for phases.
struct Spectrum {
    bins: Array2<Complex<f32>>,
    power: Array2<f64>,
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

    fn layer(&self, plane: &Plane, valid: &Plane, layer: usize) -> Layer {
        let stride = stride(plane.dim());
        let columns = (plane.ncols() - WINDOW) / stride + 1;
        let rows = (plane.nrows() - WINDOW) / stride + 1;
        let windows = (0..rows * columns)
            .into_par_iter()
            .filter_map(|i| {
                let (row, column) = (i / columns, i % columns);
                self.window(plane, valid, layer, [row, column], stride)
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
        let spectrum = self.transform(&tapered);
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

    fn transform(&self, tapered: &Array2<f32>) -> Spectrum {
        let mut bins: Vec<Complex<f32>> = tapered.iter().map(|&v| Complex::new(v, 0.0)).collect();
        self.fft.process(&mut bins);
        let mut turned = transpose(&bins);
        self.fft.process(&mut turned);
        let bins = Array2::from_shape_fn((WINDOW, WINDOW), |(y, x)| turned[x * WINDOW + y]);
        Spectrum {
            power: bins.mapv(|c| f64::from(c.norm_sqr())),
            bins,
        }
    }
}

fn transpose(square: &[Complex<f32>]) -> Vec<Complex<f32>> {
    (0..WINDOW * WINDOW)
        .map(|i| square[(i % WINDOW) * WINDOW + i / WINDOW])
        .collect()
}

/// Distance between windows in samples: half a window, or more on large pictures.
fn stride((rows, columns): (usize, usize)) -> usize {
    let spread = ((rows * columns) as f64 / MAX_WINDOWS as f64).sqrt().ceil() as usize;
    spread.max(WINDOW / 2)
}

/// A peak of the spectrum, in bins.
struct Peak {
    kx: f64,
    ky: f64,
    power: f64,
    phase: f64,
}

/// Bin of the transform holding a signed frequency.
fn bin(k: i32) -> usize {
    k.rem_euclid(WINDOW as i32) as usize
}

const NYQUIST: i32 = WINDOW as i32 / 2;

/// One half of the frequency plane, each wave once: kx > 0, or kx = 0 and ky > 0.
fn half_plane() -> impl Iterator<Item = (i32, i32)> {
    (0..NYQUIST)
        .flat_map(|kx| (1 - NYQUIST..NYQUIST).map(move |ky| (kx, ky)))
        .filter(|&(kx, ky)| kx > 0 || ky > 0)
}

impl Spectrum {
    fn power(&self, kx: i32, ky: i32) -> f64 {
        self.power[[bin(ky), bin(kx)]]
    }

    /// Power above the tone (both halves of the plane) and the structure tensor's coherence.
    fn total_and_coherence(&self) -> (f64, f64) {
        let (mut total, mut xx, mut xy, mut yy) = (f64::MIN_POSITIVE, 0.0, 0.0, 0.0);
        for (kx, ky) in half_plane() {
            let (x, y) = (f64::from(kx), f64::from(ky));
            let radius = (x * x + y * y).sqrt();
            if radius < TONE_BINS {
                continue;
            }
            let power = self.power(kx, ky);
            total += 2.0 * power;
            // Gradients weigh by frequency squared; beyond a third of the sampling frequency
            // that would be mostly noise.
            if radius < WINDOW as f64 / 3.0 {
                xx += power * x * x;
                xy += power * x * y;
                yy += power * y * y;
            }
        }
        let trace = (xx + yy).max(f64::MIN_POSITIVE);
        (total, ((xx - yy).hypot(2.0 * xy) / trace).min(1.0))
    }

    fn rings(&self, highest: f64, scale: f64, taper_power: f64) -> Vec<(f64, f64)> {
        let lowest = BAND_LOW.round() as usize;
        let count = highest.round() as usize - lowest;
        let mut rings: Vec<(f64, f64)> = (0..count)
            .map(|i| ((lowest + i) as f64 / (WINDOW as f64 * scale), 0.0))
            .collect();
        for (kx, ky) in half_plane() {
            let ring = f64::from(kx * kx + ky * ky).sqrt().round() as usize;
            if (lowest..lowest + count).contains(&ring) {
                rings[ring - lowest].1 +=
                    2.0 * self.power(kx, ky) / taper_power / (WINDOW * WINDOW) as f64;
            }
        }
        rings
    }

    fn peaks(&self, lowest: f64, highest: f64) -> Vec<Peak> {
        let mut tops: Vec<(f64, i32, i32)> = half_plane()
            .filter(|&(kx, ky)| {
                (lowest..=highest).contains(&f64::from(kx * kx + ky * ky).sqrt())
                    && kx.max(ky.abs()) < NYQUIST - 1
                    && self.is_top(kx, ky)
            })
            .map(|(kx, ky)| (self.power(kx, ky), kx, ky))
            .collect();
        tops.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        let mut kept: Vec<Peak> = Vec::new();
        for (power, kx, ky) in tops {
            if kept.len() == MAX_RIPPLES {
                break;
            }
            if !follows_from(&kept, f64::from(kx), f64::from(ky))
                && self.stands_clear(power, kx, ky)
            {
                kept.push(self.refined(kx, ky));
            }
        }
        kept
    }

    fn is_top(&self, kx: i32, ky: i32) -> bool {
        let here = self.power(kx, ky);
        here > 0.0 && (-1..=1).all(|dy| (-1..=1).all(|dx| self.power(kx + dx, ky + dy) <= here))
    }

    /// Whether the peak stands above the lower frequencies along its own direction.
    fn stands_clear(&self, power: f64, kx: i32, ky: i32) -> bool {
        // From a third of the frequency (or the tone) to where its own lobe begins.
        let radius = f64::from(kx).hypot(f64::from(ky));
        let (from, to) = ((radius / 3.0).max(1.5), radius - LOBE_BINS);
        let steps = ((to - from) * 2.0).floor().max(0.0) as i32;
        (0..=steps).all(|i| {
            let t = (from + f64::from(i) / 2.0) / radius;
            let lower = self.power(
                (f64::from(kx) * t).round() as i32,
                (f64::from(ky) * t).round() as i32,
            );
            power >= ABOVE_LOWER * lower
        })
    }

    /// Sub-bin place by a least-squares paraboloid through the logarithm of the 3 × 3 powers.
    fn refined(&self, kx: i32, ky: i32) -> Peak {
        let (dx, dy) =
            paraboloid_top(|dx, dy| self.power(kx + dx, ky + dy).max(f64::MIN_POSITIVE).ln());
        let reach = LOBE_BINS.floor() as i32;
        let power = (-reach..=reach)
            .flat_map(|j| (-reach..=reach).map(move |i| (i, j)))
            .filter(|&(i, j)| f64::from(i).hypot(f64::from(j)) <= LOBE_BINS)
            .map(|(i, j)| self.power(kx + i, ky + j))
            .sum();
        // The taper is symmetric about the window's centre, half a window in: each bin step
        // turns the phase by half a turn there.
        let bin = self.bins[[bin(ky), bin(kx)]];
        let turn = if (kx + ky).rem_euclid(2) == 1 {
            TAU / 2.0
        } else {
            0.0
        };
        Peak {
            kx: f64::from(kx) + dx,
            ky: f64::from(ky) + dy,
            power,
            phase: f64::from(bin.im).atan2(f64::from(bin.re)) + turn,
        }
    }
}

/// Whether a peak is a neighbour, a harmonic or a sum or difference of stronger ones.
fn follows_from(kept: &[Peak], kx: f64, ky: f64) -> bool {
    let near =
        |x: f64, y: f64, bins: f64| (kx - x).hypot(ky - y) < bins || (kx + x).hypot(ky + y) < bins;
    let lone = kept.iter().any(|p| {
        near(p.kx, p.ky, LOBE_BINS + 0.5)
            || (2..=4).any(|m| near(p.kx * f64::from(m), p.ky * f64::from(m), LOBE_BINS))
    });
    let paired = || {
        kept.iter().enumerate().any(|(i, a)| {
            kept[..i].iter().any(|b| {
                near(a.kx + b.kx, a.ky + b.ky, LOBE_BINS)
                    || near(a.kx - b.kx, a.ky - b.ky, LOBE_BINS)
            })
        })
    };
    lone || paired()
}

/// Top of the least-squares paraboloid through nine values on the 3 × 3 grid about the origin,
/// at most one step away; the origin when the values have no top.
fn paraboloid_top(value: impl Fn(i32, i32) -> f64) -> (f64, f64) {
    let (mut x, mut y, mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for j in -1..=1 {
        for i in -1..=1 {
            let v = value(i, j);
            let (fi, fj) = (f64::from(i), f64::from(j));
            x += fi * v / 6.0;
            y += fj * v / 6.0;
            xx += (fi * fi - 2.0 / 3.0) * v / 2.0;
            yy += (fj * fj - 2.0 / 3.0) * v / 2.0;
            xy += fi * fj * v / 4.0;
        }
    }
    let determinant = 4.0 * xx * yy - xy * xy;
    if xx >= 0.0 || determinant <= 0.0 {
        return (0.0, 0.0);
    }
    (
        ((xy * y - 2.0 * yy * x) / determinant).clamp(-1.0, 1.0),
        ((xy * x - 2.0 * xx * y) / determinant).clamp(-1.0, 1.0),
    )
}
