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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::{Plane, angle_deg};

    /// A camera that does nothing but project.
    fn plain(size_px: [usize; 2], px_per_mm: f64) -> CameraRecipe {
        CameraRecipe {
            size_px,
            px_per_mm,
            rotation_deg: 0.0,
            radial: 0.0,
            perspective: [0.0; 2],
            loupe: None,
            lens_sigma_px: 0.6,
            defocus_px: 0.0,
            motion_px: 0.0,
            motion_deg: 0.0,
            lateral_chroma: 0.0,
            vignette: 0.0,
            gradient: [0.0; 2],
            exposure: 1.0,
            white_balance: [1.0; 3],
            tone_curve: 0.0,
            full_well: 1e9,
            read_noise: 0.0,
            demosaic: Demosaic::None,
            sharpen: 0.0,
            file: FileKind::Png,
        }
    }

    fn bent() -> CameraRecipe {
        CameraRecipe {
            rotation_deg: 31.0,
            radial: 0.02,
            perspective: [0.015, -0.02],
            ..plain([230, 170], 20.0)
        }
    }

    /// Linear values of one channel of what falls on the sensor.
    fn on_sensor(sheet: &Plane, sheet_px_per_mm: f64, recipe: &CameraRecipe) -> Plane {
        let rgb = [sheet.clone(), sheet.clone(), sheet.clone()];
        let [_, green, _] = optics::image_of(&rgb, sheet_px_per_mm, recipe);
        green
    }

    #[test]
    fn there_and_back_again() {
        let projection = Projection::of(&bent());
        for at in [[0.0, 0.0], [229.0, 3.0], [60.0, 160.0]] {
            let back = projection.to_photo_px(projection.to_sheet_mm(at));
            assert!((back[0] - at[0]).abs() < 1e-6 && (back[1] - at[1]).abs() < 1e-6);
        }
    }

    #[test]
    fn points_land_where_the_projection_says() {
        let recipe = bent();
        let px_per_mm = 32.0;
        let [w, h] = recipe
            .sheet_mm()
            .map(|mm| (mm * px_per_mm).ceil() as usize + 1);
        let mut sheet = Plane::zeros((h, w));
        let spots = [[-3.0, 1.5], [0.5, -2.5], [2.5, 2.0]];
        let middle = [(w as f64 - 1.0) / 2.0, (h as f64 - 1.0) / 2.0];
        for spot in spots {
            for ((y, x), v) in sheet.indexed_iter_mut() {
                let dx = x as f64 - middle[0] - spot[0] * px_per_mm;
                let dy = y as f64 - middle[1] - spot[1] * px_per_mm;
                *v += (-(dx * dx + dy * dy) / 8.0).exp() as f32;
            }
        }
        let image = on_sensor(&sheet, px_per_mm, &recipe);
        for spot in spots {
            let truth = Projection::of(&recipe).to_photo_px(spot);
            let found = centroid_near(&image, truth);
            let miss = (found[0] - truth[0]).hypot(found[1] - truth[1]);
            assert!(miss < 0.03, "{found:?} for {truth:?}");
        }
    }

    fn centroid_near(image: &Plane, at: [f64; 2]) -> [f64; 2] {
        const REACH: f64 = 9.0;
        let mut sums = [0.0; 3];
        for ((y, x), &v) in image.indexed_iter() {
            let (x, y, v) = (x as f64, y as f64, f64::from(v));
            if (x - at[0]).abs() < REACH && (y - at[1]).abs() < REACH {
                sums = [sums[0] + v, sums[1] + v * x, sums[2] + v * y];
            }
        }
        [sums[1] / sums[0], sums[2] / sums[0]]
    }

    #[test]
    fn a_turn_adds_to_angles_counter_clockwise() {
        let recipe = CameraRecipe {
            rotation_deg: 20.0,
            ..plain([100, 80], 30.0)
        };
        let (sin, cos) = 15f64.to_radians().sin_cos();
        let seen = Projection::of(&recipe).frequency_at([70.0, 10.0], [4.0 * cos, -4.0 * sin]);
        assert!((angle_deg(seen[0], seen[1]) - 35.0).abs() < 1e-6);
        assert!((seen[0].hypot(seen[1]) * 30.0 - 4.0).abs() < 1e-6);
    }

    #[test]
    fn noise_has_the_stated_level() {
        let recipe = CameraRecipe {
            full_well: 2000.0,
            read_noise: 0.004,
            ..plain([240, 180], 30.0)
        };
        let mut light = [0.2, 0.5, 0.8].map(|v| Plane::from_elem((180, 240), v));
        sensor::expose(&mut light, &recipe, 77);
        for (plane, level) in light.iter().zip([0.2f64, 0.5, 0.8]) {
            let n = plane.len() as f64;
            let mean = plane.iter().map(|&v| f64::from(v)).sum::<f64>() / n;
            let sd = (plane
                .iter()
                .map(|&v| (f64::from(v) - mean).powi(2))
                .sum::<f64>()
                / n)
                .sqrt();
            let stated = (level / 2000.0 + 0.004f64.powi(2)).sqrt();
            assert!((sd / stated - 1.0).abs() < 0.03, "{sd} for {stated}");
            assert!((mean - level).abs() < 4.0 * stated / n.sqrt());
        }
    }

    #[test]
    fn demosaicing_keeps_even_colours() {
        for how in [Demosaic::Bilinear, Demosaic::GradientCorrected] {
            let recipe = CameraRecipe {
                demosaic: how,
                ..plain([31, 22], 30.0)
            };
            let mut light = [0.2, 0.5, 0.8].map(|v| Plane::from_elem((22, 31), v));
            sensor::expose(&mut light, &recipe, 1);
            for (plane, level) in light.iter().zip([0.2, 0.5, 0.8]) {
                assert!(plane.iter().all(|v| (v - level).abs() < 1e-3), "{how:?}");
            }
        }
    }

    #[test]
    fn the_sheet_covers_the_frame_and_the_loupe_cuts_it() {
        let mut recipe = bent();
        let whole = recipe.sheet_mm();
        let corner = Projection::of(&recipe).to_sheet_mm([0.0, 169.0]);
        assert!(corner[0].abs() < whole[0] / 2.0 && corner[1].abs() < whole[1] / 2.0);
        recipe.loupe = Some(Loupe {
            offset_px: [3.0, -2.0],
            radius_px: 60.0,
            edge_px: 2.0,
            rim: 0.01,
        });
        assert!(recipe.sheet_mm()[0] < whole[0]);
        assert!(recipe.sees([117.0, 82.0]) && !recipe.sees([10.0, 10.0]));
    }

    #[test]
    fn tiny_frames_are_photographed() {
        for size in [[1, 1], [1, 40], [40, 1]] {
            let sheet = [0.5f32; 3].map(|v| Plane::from_elem((3, 2), v));
            let recipe = CameraRecipe {
                demosaic: Demosaic::Bilinear,
                ..plain(size, 20.0)
            };
            let photo = photograph(&sheet, 26.0, &recipe, 1);
            assert_eq!(photo.dimensions(), (size[0] as u32, size[1] as u32));
        }
    }
}
