//! From a printed sheet to a photograph: projection, lens, light, sensor, file.

pub mod encode;
pub mod optics;
pub mod projection;
pub mod sensor;

use crate::plane::Rgb;
use image::RgbImage;
use rand::{Rng, RngExt};
use serde::{Deserialize, Serialize};

pub use encode::FileKind;
pub use projection::Projection;
pub use sensor::Demosaic;

/// The sheet is drawn this much finer than the photograph (px per photo px), so that the lens and
/// the pixel aperture, not the drawing, decide what is resolved.
pub const SHEET_OVER_PHOTO: f64 = 1.3;

/// A round field cut by a dark rim.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Loupe {
    /// Centre of the field from the middle of the frame, px, y down.
    pub offset_px: [f64; 2],
    /// Radius, px.
    pub radius_px: f64,
    /// Width of the edge from light to dark, px.
    pub edge_px: f64,
    /// Light on the rim, linear, 0–1.
    pub rim: f64,
}

/// All that is needed to take a photograph of a sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CameraRecipe {
    /// Width and height, px.
    pub size_px: [usize; 2],
    /// Scale in the middle of the frame, px per mm.
    pub px_per_mm: f64,
    /// Turn of the sheet in the picture, degrees counter-clockwise as seen.
    pub rotation_deg: f64,
    /// Radial distortion: the share by which the half-diagonal is displaced; positive is barrel.
    pub radial: f64,
    /// Perspective: relative change of scale from the middle to the right edge and to the foot.
    pub perspective: [f64; 2],
    /// Round field, or `None` for the whole frame.
    pub loupe: Option<Loupe>,
    /// Lens and diffraction, standard deviation in px.
    pub lens_sigma_px: f64,
    /// Radius of the disc of confusion, px.
    pub defocus_px: f64,
    /// Length of the motion stroke, px.
    pub motion_px: f64,
    /// Direction of motion, degrees.
    pub motion_deg: f64,
    /// Red is magnified by 1 + this, blue by 1 − this.
    pub lateral_chroma: f64,
    /// Loss of light at the half-diagonal, 0–1.
    pub vignette: f64,
    /// Relative change of light from the middle to the right edge and to the foot.
    pub gradient: [f64; 2],
    /// Linear level that a perfect white gets.
    pub exposure: f64,
    /// Gain per channel.
    pub white_balance: [f64; 3],
    /// Strength of an S-shaped tone curve, 0–1.
    pub tone_curve: f64,
    /// Electrons at full scale.
    pub full_well: f64,
    /// Read noise, share of full scale.
    pub read_noise: f64,
    /// Colour filter array.
    pub demosaic: Demosaic,
    /// Strength of unsharp masking, 0 = none.
    pub sharpen: f64,
    /// File format.
    pub file: FileKind,
}

/// How kind the photograph is to what is to be measured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hardness {
    /// A careful photographer with a good lens.
    Easy,
    /// What a collector sends.
    #[default]
    Usual,
    /// Out of focus, noisy, moved or heavily compressed.
    Hard,
}

impl CameraRecipe {
    /// Any photograph of the given size, scale (px per mm) and hardness.
    pub fn any(
        size_px: [usize; 2],
        px_per_mm: f64,
        hardness: Hardness,
        rng: &mut impl Rng,
    ) -> Self {
        let blur = Blurs::any(hardness, rng);
        let spread = |rng: &mut _, width: f64| symmetric(rng, width);
        Self {
            size_px,
            px_per_mm,
            rotation_deg: any_turn(rng),
            radial: spread(rng, 0.012),
            perspective: [spread(rng, 0.015), spread(rng, 0.015)],
            loupe: rng.random_bool(0.35).then(|| Loupe::any(size_px, rng)),
            lens_sigma_px: blur.lens_sigma_px,
            defocus_px: blur.defocus_px,
            motion_px: blur.motion_px,
            motion_deg: rng.random_range(0.0..180.0),
            lateral_chroma: if rng.random_bool(0.3) {
                0.0
            } else {
                spread(rng, 0.0008)
            },
            vignette: rng.random_range(0.0..0.25),
            gradient: [spread(rng, 0.12), spread(rng, 0.12)],
            exposure: rng.random_range(0.68..0.97),
            white_balance: [spread(rng, 0.07), spread(rng, 0.02), spread(rng, 0.09)]
                .map(|v| 1.0 + v),
            tone_curve: if rng.random_bool(0.6) {
                0.0
            } else {
                rng.random_range(0.0..0.5)
            },
            full_well: full_well(hardness, rng),
            read_noise: rng.random_range(0.0008..0.005),
            demosaic: Demosaic::any(rng),
            sharpen: if rng.random_bool(0.5) {
                0.0
            } else {
                rng.random_range(0.2..1.1)
            },
            file: FileKind::any(hardness, rng),
        }
    }
}

struct Blurs {
    lens_sigma_px: f64,
    defocus_px: f64,
    motion_px: f64,
}

impl Blurs {
    fn any(hardness: Hardness, rng: &mut impl Rng) -> Self {
        let sometimes = |rng: &mut dyn FnMut() -> (f64, f64), share: f64, top: f64| {
            let (chance, size) = rng();
            if chance < share { top * size } else { 0.0 }
        };
        let mut draw = || (rng.random_range(0.0..1.0), rng.random_range(0.3..1.0));
        let (defocus_share, defocus, motion_share, motion, lens) = match hardness {
            Hardness::Easy => (0.2, 1.0, 0.0, 0.0, 0.3),
            Hardness::Usual => (0.45, 2.2, 0.15, 2.0, 0.9),
            Hardness::Hard => (0.8, 4.5, 0.5, 5.0, 1.6),
        };
        Self {
            lens_sigma_px: 0.45 + lens * draw().0,
            defocus_px: sometimes(&mut draw, defocus_share, defocus),
            motion_px: sometimes(&mut draw, motion_share, motion),
        }
    }
}

fn full_well(hardness: Hardness, rng: &mut impl Rng) -> f64 {
    let (lo, hi): (f64, f64) = match hardness {
        Hardness::Easy => (8000.0, 30_000.0),
        Hardness::Usual => (1500.0, 25_000.0),
        Hardness::Hard => (250.0, 3000.0),
    };
    rng.random_range(lo.ln()..hi.ln()).exp()
}

/// Half of all sheets lie nearly straight, some on their side, the rest anyhow.
fn any_turn(rng: &mut impl Rng) -> f64 {
    let straight = symmetric(rng, 6.0);
    match rng.random_range(0..10) {
        0..5 => straight,
        5..7 => straight + 90.0 * f64::from(rng.random_range(1..4)),
        _ => rng.random_range(0.0..360.0),
    }
}

/// Uniform in ±`width`.
fn symmetric(rng: &mut impl Rng, width: f64) -> f64 {
    rng.random_range(-width..=width)
}

impl Loupe {
    /// A field that fills most of the frame's short side, or a little more than it.
    pub fn any(size_px: [usize; 2], rng: &mut impl Rng) -> Self {
        let short = size_px[0].min(size_px[1]) as f64;
        let radius_px = short * rng.random_range(0.38..0.56);
        Self {
            offset_px: [symmetric(rng, 0.05), symmetric(rng, 0.05)].map(|v| v * short),
            radius_px,
            edge_px: radius_px * rng.random_range(0.004..0.05),
            rim: rng.random_range(0.0..0.03),
        }
    }
}

/// Photographs light `sheet` (linear, at `sheet_px_per_mm`) whose middle lies in the middle of the frame.
#[must_use]
pub fn photograph(sheet: &Rgb, sheet_px_per_mm: f64, recipe: &CameraRecipe, key: u64) -> RgbImage {
    let mut light = optics::image_of(sheet, sheet_px_per_mm, recipe);
    optics::uneven_light(&mut light, recipe);
    sensor::expose(&mut light, recipe, key);
    encode::develop(&light, recipe)
}
