//! Peaks of the mean spectra: the frequencies worth following.

use super::spectrum::{Spectrum, place_of_peak};
use crate::plane::Plane;

/// Shortest screen period that sampling, demosaicing and blur leave readable, px.
pub const MIN_PERIOD_PX: f64 = 3.2;
/// Fewest periods in a window by which a peak stands clear of the picture's slow changes.
const MIN_CYCLES: f64 = 7.0;
/// Least power over the local background. Averaged over ten or more windows a background
/// bin (exponential, mean 1.44 medians) stays below.
const MIN_RATIO: f32 = 2.6;
/// Half side of the neighbourhood that gives the local background.
const BACKGROUND_BINS: i64 = 8;
/// Half side of a peak's own footprint, kept out of its background.
const FOOTPRINT_BINS: i64 = 2;
/// Most peaks followed.
const MAX_PEAKS: usize = 56;
/// Two peaks of different channels or levels closer than this share of their frequency are one.
const SAME_SHARE: f64 = 0.03;
/// Half width in cycles per px within which a peak is laid to the JPEG grid.
const JPEG_TOLERANCE_PER_PX: f64 = 0.0016;

/// A frequency at which the windows hold more power than their surroundings.
#[derive(Clone, Copy, Debug)]
pub struct Peak {
    /// Cycles per px of the photograph, y down; in the half plane fy > 0 or (fy = 0, fx > 0).
    pub frequency: [f64; 2],
    /// Power over local background, the largest over channels.
    pub ratio: f32,
    /// Bin width in cycles per px: how well the place is known.
    pub bin_per_px: f64,
}

impl Peak {
    /// Cycles per px.
    #[must_use]
    pub fn magnitude(&self) -> f64 {
        self.frequency[0].hypot(self.frequency[1])
    }
}

/// The strongest peaks over all levels and channels, strongest first.
#[must_use]
pub fn find(spectra: &[Spectrum]) -> Vec<Peak> {
    let mut all: Vec<Peak> = spectra
        .iter()
        .flat_map(|s| s.power.iter().flat_map(|p| peaks_of(s, p)))
        .filter(|p| p.magnitude() <= 1.0 / MIN_PERIOD_PX && !on_jpeg_grid(p))
        .collect();
    all.sort_by(|a, b| {
        b.ratio
            .total_cmp(&a.ratio)
            .then(a.frequency[0].total_cmp(&b.frequency[0]))
            .then(a.frequency[1].total_cmp(&b.frequency[1]))
    });
    let mut kept: Vec<Peak> = Vec::new();
    for peak in all {
        if kept.len() == MAX_PEAKS {
            break;
        }
        if !kept.iter().any(|k| same(k, &peak)) {
            kept.push(peak);
        }
    }
    kept
}

fn same(a: &Peak, b: &Peak) -> bool {
    let reach =
        (SAME_SHARE * a.magnitude().min(b.magnitude())).max(1.2 * a.bin_per_px.max(b.bin_per_px));
    let near = |s: f64| {
        (a.frequency[0] - s * b.frequency[0]).hypot(a.frequency[1] - s * b.frequency[1]) < reach
    };
    near(1.0) || near(-1.0)
}

/// JPEG codes blocks of 8 px: block edges give peaks at k/8 cycles per px along the file's axes.
fn on_jpeg_grid(peak: &Peak) -> bool {
    let near_eighth =
        |f: f64| ((f * 8.0).round() / 8.0 - f).abs() < JPEG_TOLERANCE_PER_PX.min(peak.bin_per_px);
    peak.frequency.iter().all(|&f| near_eighth(f))
}

fn peaks_of(spectrum: &Spectrum, power: &Plane) -> Vec<Peak> {
    let side = spectrum.side as i64;
    let at = |ky: i64, kx: i64| power[[ky.rem_euclid(side) as usize, kx.rem_euclid(side) as usize]];
    let limit = (side as f64 * 0.42) as i64;
    let mut out = Vec::new();
    for ky in 0..=limit {
        for kx in -limit..=limit {
            let radius = (kx as f64).hypot(ky as f64);
            let value = at(ky, kx);
            if (ky == 0 && kx <= 0)
                || radius < MIN_CYCLES
                || radius > limit as f64
                || value < MIN_RATIO
            {
                continue;
            }
            let top = (-2..=2).all(|j| (-2..=2).all(|i| at(ky + j, kx + i) <= value));
            if !top {
                continue;
            }
            let ratio = value / local_background(&at, ky, kx).max(0.3);
            if ratio >= MIN_RATIO {
                out.push(refined(spectrum, &at, ky, kx, ratio));
            }
        }
    }
    out
}

fn local_background(at: &impl Fn(i64, i64) -> f32, ky: i64, kx: i64) -> f32 {
    let mut around = Vec::with_capacity(288);
    for j in -BACKGROUND_BINS..=BACKGROUND_BINS {
        for i in -BACKGROUND_BINS..=BACKGROUND_BINS {
            if i.abs().max(j.abs()) > FOOTPRINT_BINS {
                around.push(at(ky + j, kx + i));
            }
        }
    }
    let middle = around.len() / 2;
    *around.select_nth_unstable_by(middle, f32::total_cmp).1
}

/// With its place between the bins.
fn refined(
    spectrum: &Spectrum,
    at: &impl Fn(i64, i64) -> f32,
    ky: i64,
    kx: i64,
    ratio: f32,
) -> Peak {
    let bin = 1.0 / (spectrum.side * spectrum.step_px) as f64;
    Peak {
        frequency: place_of_peak(at, ky, kx).map(|bins| bins * bin),
        ratio,
        bin_per_px: bin,
    }
}
