//! The spectrum of one window, and the waves that stand out in it.

use super::{BAND_LOW, WINDOW};
use ndarray::Array2;
use rustfft::{Fft, num_complex::Complex};
use std::f64::consts::TAU;

/// Below this the power is tone and outlines, not lines; it is left out of the total.
const TONE_BINS: f64 = 3.0;
/// Half-width of a Hann peak: its main lobe ends 2 bins from the centre.
const LOBE_BINS: f64 = 2.0;
/// Most waves kept per window: hatching crosses in two or three directions, hardly in four.
const MAX_RIPPLES: usize = 3;
/// A wave must stand above the lower frequencies along its own direction by this factor, else it
/// is a harmonic or the spectrum of a single edge, which falls steadily.
const ABOVE_LOWER: f64 = 1.6;

/// Spectrum of one window: power by bin, and the transform itself for phases.
pub(super) struct Spectrum {
    bins: Array2<Complex<f32>>,
    power: Array2<f64>,
}

/// A peak of the spectrum, in bins.
pub(super) struct Peak {
    pub(super) kx: f64,
    pub(super) ky: f64,
    pub(super) power: f64,
    pub(super) phase: f64,
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
    /// Of a tapered window.
    pub(super) fn of(tapered: &Array2<f32>, fft: &dyn Fft<f32>) -> Self {
        let mut bins: Vec<Complex<f32>> = tapered.iter().map(|&v| Complex::new(v, 0.0)).collect();
        fft.process(&mut bins);
        let mut turned = transpose(&bins);
        fft.process(&mut turned);
        let bins = Array2::from_shape_fn((WINDOW, WINDOW), |(y, x)| turned[x * WINDOW + y]);
        Self {
            power: bins.mapv(|c| f64::from(c.norm_sqr())),
            bins,
        }
    }

    fn power(&self, kx: i32, ky: i32) -> f64 {
        self.power[[bin(ky), bin(kx)]]
    }

    /// Power above the tone (both halves of the plane) and the structure tensor's coherence.
    pub(super) fn total_and_coherence(&self) -> (f64, f64) {
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

    pub(super) fn rings(&self, highest: f64, scale: f64, taper_power: f64) -> Vec<(f64, f64)> {
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

    pub(super) fn peaks(&self, lowest: f64, highest: f64) -> Vec<Peak> {
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

fn transpose(square: &[Complex<f32>]) -> Vec<Complex<f32>> {
    (0..WINDOW * WINDOW)
        .map(|i| square[(i % WINDOW) * WINDOW + i / WINDOW])
        .collect()
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
