//! Sheets drawn for tests: ground and marks as reflectance over white, photographed plainly.

use crate::ink::{Inked, Paper, cielab, density, paper};
use crate::measured::Measured;
use crate::photo::adequacy::{Adequacy, Verdict};
use crate::plane::Plane;
use ndarray::Array2;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Paper of all drawn sheets, linear light.
pub(crate) const PAPER: [f64; 3] = [0.80, 0.76, 0.66];
/// A black printing ink: what it lets through per channel.
pub(crate) const BLACK: [f64; 3] = [0.05, 0.05, 0.05];

/// A dot of ink.
#[derive(Clone, Copy)]
pub(crate) struct Dot {
    pub x: f64,
    pub y: f64,
    pub radius: f64,
    pub through: [f64; 3],
}

/// Dots about 11 px apart, jittered, of radius 2.5–4 px; `ink` picks each one's colour.
pub(crate) fn dots(
    size: [usize; 2],
    seed: u64,
    ink: impl Fn(f64, f64) -> Option<[f64; 3]>,
) -> Vec<Dot> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut dots = Vec::new();
    for y in (0..size[1]).step_by(11) {
        for x in (0..size[0]).step_by(11) {
            let x = x as f64 + rng.random_range(2.0..9.0);
            let y = y as f64 + rng.random_range(2.0..9.0);
            let radius = rng.random_range(2.5..4.0);
            dots.extend(ink(x, y).map(|through| Dot {
                x,
                y,
                radius,
                through,
            }));
        }
    }
    dots
}

/// Linear light of a sheet: paper × ground × dots, then blur (3 × 3 box, `blur` times) and noise.
pub(crate) fn light(
    size: [usize; 2],
    dots: &[Dot],
    blur: usize,
    ground: impl Fn(f64, f64) -> [f64; 3],
) -> [Plane; 3] {
    let mut rng = ChaCha8Rng::seed_from_u64(99);
    [0, 1, 2].map(|c| {
        let mut plane = Array2::from_shape_fn((size[1], size[0]), |(y, x)| {
            (PAPER[c] * ground(x as f64, y as f64)[c]) as f32
        });
        for dot in dots {
            print(&mut plane, dot, c);
        }
        for _ in 0..blur {
            plane = box_blur(&plane);
        }
        plane.mapv(|v| v * (1.0 + 0.02 * (rng.random::<f32>() + rng.random::<f32>() - 1.0)))
    })
}

fn print(plane: &mut Plane, dot: &Dot, channel: usize) {
    let (height, width) = plane.dim();
    let reach = dot.radius + 1.0;
    for y in (dot.y - reach).max(0.0) as usize..((dot.y + reach) as usize + 1).min(height) {
        for x in (dot.x - reach).max(0.0) as usize..((dot.x + reach) as usize + 1).min(width) {
            let off = (x as f64 - dot.x).hypot(y as f64 - dot.y);
            let cover = (dot.radius + 0.5 - off).clamp(0.0, 1.0);
            plane[[y, x]] *= (1.0 - cover * (1.0 - dot.through[channel])) as f32;
        }
    }
}

fn box_blur(plane: &Plane) -> Plane {
    let (height, width) = plane.dim();
    Array2::from_shape_fn((height, width), |(y, x)| {
        let mut sum = 0.0;
        for dy in -1isize..=1 {
            for dx in -1isize..=1 {
                let row = y.saturating_add_signed(dy).min(height - 1);
                let column = x.saturating_add_signed(dx).min(width - 1);
                sum += plane[[row, column]];
            }
        }
        sum / 9.0
    })
}

/// The light as ink on the paper that was drawn; `bend` is a slope of ln light across the frame
/// that was wrongly taken out.
pub(crate) fn inked(linear: &[Plane; 3], bend: f64) -> Inked {
    let none = || Measured::missing("drawn");
    let light = PAPER.map(|p| [p.ln(), bend, 0.0, 0.0, 0.0, 0.0]);
    let paper = Paper {
        linear: PAPER,
        lab: cielab::from_linear(PAPER),
        share: 0.3,
        hue_drift: 0.0,
    };
    let ground = paper::Ground {
        paper: paper.clone(),
        light,
    };
    let density = density::over_paper(linear, &ground);
    Inked {
        grey_density: density::mean_of_channels(&density),
        usable: Array2::from_elem(linear[0].dim(), true),
        density,
        paper,
        light,
        grey: false,
        scale: None,
        adequacy: Adequacy {
            sharpness_cycles_per_px: none(),
            sharpness_lp_per_mm: none(),
            blur_sigma_px: none(),
            noise: none(),
            clipped_share: none(),
            motion_ratio: none(),
            blocking: none(),
            beside: Default::default(),
            verdict: Verdict::Good,
            notes: Vec::new(),
        },
    }
}

/// JPEG's chroma subsampling: colour differences averaged over 2 × 2 px, lightness kept (in
/// gamma-coded light, as a camera does it).
pub(crate) fn subsample_chroma(linear: &[Plane; 3]) -> [Plane; 3] {
    let coded = linear
        .clone()
        .map(|p| p.mapv(|v| v.max(0.0).powf(1.0 / 2.2)));
    let luma = 0.299 * &coded[0] + 0.587 * &coded[1] + 0.114 * &coded[2];
    coded.map(|plane| {
        let chroma = &plane - &luma;
        let (height, width) = plane.dim();
        Array2::from_shape_fn((height, width), |(y, x)| {
            let (y0, x0) = (y / 2 * 2, x / 2 * 2);
            let (y1, x1) = ((y0 + 1).min(height - 1), (x0 + 1).min(width - 1));
            let mean =
                (chroma[[y0, x0]] + chroma[[y0, x1]] + chroma[[y1, x0]] + chroma[[y1, x1]]) / 4.0;
            (luma[[y, x]] + mean).clamp(0.0, 1.0).powf(2.2)
        })
    })
}
