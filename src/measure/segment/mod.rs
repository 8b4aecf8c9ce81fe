//! Cutting the picture into marks: connected patches of printing ink on the lighter ground.
//!
//! - [`contrast`]: the channels in which the marks stand out most → one plane of absorbed light.
//! - [`level`]: how light the ground and how dark the ink is here → ink cover per pixel, 0–1.
//! - [`rough`]: how much cover the ground itself shows: noise, fibres, brush marks.
//! - [`edge`]: the blur of edges, partly undone → inked pixels.
//! - [`label`]: inked pixels joined into patches (runs and union-find).
//! - [`crumbs`]: specks of noise beside the marks' edges taken out.
//! - [`shape`]: area, perimeter, moments and density of each patch.
//!
//! Connectivity is 8: a flick or a burin line one pixel wide stays one mark when it runs
//! diagonally; the price is that two dots touching at a corner count as one, as they do at the
//! sheet, and [`super::marks`] gives the count with touching dots parted beside it.

pub mod contrast;
pub mod crumbs;
pub mod edge;
pub mod label;
pub mod level;
pub mod rough;
pub mod shape;
pub mod tiles;

use crate::ink::Inked;
use crate::plane::Plane;
use ndarray::Array2;

/// Fewest pixels of a mark in a sharp photograph. One or two pixels above the half level are as likely noise as ink.
pub const MIN_MARK_PIXELS: usize = 3;

/// One connected mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Centre of mass, px.
    pub cx: f64,
    /// Centre of mass, px.
    pub cy: f64,
    /// Area in px² inside the sub-pixel contour at half ink cover (not a pixel count), corrected
    /// for what blur takes from convex outlines.
    pub area_px: f64,
    /// Number of inked pixels.
    pub pixels: usize,
    /// Full length of the ellipse with the mark's second moments, px.
    pub major_px: f64,
    /// Full width of that ellipse, px.
    pub minor_px: f64,
    /// Direction of the long axis, degrees counter-clockwise as seen, [0, 180).
    pub orientation_deg: f64,
    /// Length of the sub-pixel contour at half ink cover (marching squares), px.
    pub perimeter_px: f64,
    /// Holes of bare ground in the mark.
    pub holes: usize,
    /// Mean density over the mark per channel, above paper.
    pub density: [f64; 3],
    /// Left, top, right, bottom, inclusive, px.
    pub bbox: [usize; 4],
    /// True when it meets the frame or the edge of the usable field, so its shape is cut.
    pub cut: bool,
}

impl Mark {
    /// Diameter of the circle with the same area, px.
    #[must_use]
    pub fn diameter_px(&self) -> f64 {
        2.0 * (self.area_px / std::f64::consts::PI).sqrt()
    }

    /// 4π·area / perimeter²: 1 for a disc, less for anything longer or more ragged.
    #[must_use]
    pub fn circularity(&self) -> f64 {
        if self.perimeter_px <= 0.0 {
            return 1.0;
        }
        4.0 * std::f64::consts::PI * self.area_px / (self.perimeter_px * self.perimeter_px)
    }

    /// Length over width of the ellipse with the same moments, ≥ 1.
    #[must_use]
    pub fn elongation(&self) -> f64 {
        if self.minor_px <= 0.0 {
            return 1.0;
        }
        self.major_px / self.minor_px
    }
}

/// The picture cut into marks.
#[derive(Clone, Debug)]
pub struct Segments {
    /// 0 = ground or unusable, i = `marks[i − 1]`.
    pub labels: Array2<u32>,
    /// The marks, in reading order of their first pixel.
    pub marks: Vec<Mark>,
    /// Usable area, px.
    pub usable_px: usize,
    /// Ink cover per pixel: 0 at the local ground (paper, wash or tint), 1 at the local solid
    /// ink; noise and sharpening may exceed both. 0 outside the usable field.
    pub cover: Plane,
    /// How blurred the marks' edges are.
    pub blur: edge::Blur,
}

/// Finds the marks.
#[must_use]
pub fn find(inked: &Inked) -> Segments {
    let absorbed = contrast::absorbed(inked);
    let levels = level::find(&absorbed, &inked.usable);
    let mut cover = levels.cover(absorbed, &inked.usable);
    rough::of_ground(&cover, &cover, &inked.usable).zero(&mut cover, &inked.usable);
    let (sharp, blur) = edge::sharpened(&cover, &inked.usable);
    let ground = rough::of_ground(&sharp, &cover, &inked.usable);
    let inked_pixels = edge::inked_pixels(&sharp, &ground, blur);
    let patches = label::join(&inked_pixels, blur.min_mark_pixels(MIN_MARK_PIXELS));
    let patches = crumbs::swept(patches, &inked.usable, f64::from(blur.sigma_px));
    let marks = shape::measure(&patches.labels, patches.count, &sharp, blur, inked);
    Segments {
        labels: patches.labels,
        marks,
        usable_px: inked.usable_px(),
        cover,
        blur,
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::ink::Paper;
    use crate::measured::Measured;
    use crate::photo::adequacy::{Adequacy, Verdict};
    use crate::photo::{Scale, scale::ScaleSource};
    use rand::{RngExt, SeedableRng};

    /// A picture as ink on paper, from its three planes of reflectance over paper.
    pub(crate) fn inked_from(reflectance: [Plane; 3], px_per_mm: Option<f64>) -> Inked {
        let none = || Measured::missing("drawn picture");
        let density = reflectance.map(|p| p.mapv(|r| -r.max(1e-3).log10()));
        Inked {
            grey_density: crate::ink::density::mean_of_channels(&density),
            usable: Array2::from_elem(density[0].dim(), true),
            density,
            light: [[0.8f64.ln(), 0.0, 0.0, 0.0, 0.0, 0.0]; 3],
            paper: Paper {
                linear: [0.8; 3],
                lab: [91.0, 0.0, 0.0],
                share: 0.5,
                hue_drift: 0.0,
            },
            grey: false,
            scale: px_per_mm.map(|value| Scale {
                value,
                lo: value,
                hi: value,
                source: ScaleSource::Given,
            }),
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

    /// Cover of a disc by 8 × 8 samples a pixel.
    pub(crate) fn add_disc(cover: &mut Plane, cx: f64, cy: f64, radius: f64) {
        let (height, width) = cover.dim();
        let reach = |c: f64, n: usize| {
            let lo = (c - radius - 1.0).max(0.0) as usize;
            lo..((c + radius + 2.0).max(0.0) as usize).min(n)
        };
        for y in reach(cy, height) {
            for x in reach(cx, width) {
                let hits = (0..64)
                    .filter(|i| {
                        let sx = x as f64 + (f64::from(i % 8) + 0.5) / 8.0 - 0.5;
                        let sy = y as f64 + (f64::from(i / 8) + 0.5) / 8.0 - 0.5;
                        (sx - cx).hypot(sy - cy) <= radius
                    })
                    .count();
                cover[[y, x]] = cover[[y, x]].max(hits as f32 / 64.0);
            }
        }
    }

    /// Ink of reflectance `ink` where covered, on paper of reflectance 1, blurred and noisy.
    fn photographed(cover: &Plane, ink: [f32; 3], sigma: f32, noise: f32) -> Inked {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(7);
        let blurred = blurred(cover, sigma);
        let planes = ink.map(|ink| {
            blurred.mapv(|c| {
                let grain: f32 = (0..12).map(|_| rng.random::<f32>()).sum::<f32>() - 6.0;
                1.0 - c * (1.0 - ink) + noise * grain
            })
        });
        inked_from(planes, Some(50.0))
    }

    fn blurred(cover: &Plane, sigma: f32) -> Plane {
        let as_image = image::ImageBuffer::<image::Luma<f32>, _>::from_fn(
            cover.ncols() as u32,
            cover.nrows() as u32,
            |x, y| image::Luma([cover[[y as usize, x as usize]]]),
        );
        let soft = imageproc::filter::gaussian_blur_f32(&as_image, sigma);
        Plane::from_shape_fn(cover.dim(), |(y, x)| {
            soft.get_pixel(x as u32, y as u32).0[0]
        })
    }

    fn dots() -> (Plane, Vec<f64>) {
        let mut cover = Plane::zeros((420, 610));
        let mut radii = Vec::new();
        for i in 0..9 {
            for j in 0..13 {
                let radius = 3.0 + 0.37 * (i as f64) + 0.11 * (j as f64);
                add_disc(
                    &mut cover,
                    31.3 + 45.7 * j as f64,
                    29.8 + 44.9 * i as f64,
                    radius,
                );
                radii.push(radius);
            }
        }
        (cover, radii)
    }

    #[test]
    fn discs_keep_their_area_perimeter_and_place_under_blur_and_noise() {
        let (cover, radii) = dots();
        let inked = photographed(&cover, [0.06, 0.06, 0.07], 0.9, 0.015);
        let found = find(&inked);
        assert_eq!(found.marks.len(), radii.len());
        let drawn: f64 = radii.iter().map(|r| std::f64::consts::PI * r * r).sum();
        let measured: f64 = found.marks.iter().map(|m| m.area_px).sum();
        // Blur draws convex outlines inward; what is not undone of it is kept (see `shape`).
        assert!(
            (measured / drawn - 1.0).abs() < 0.03,
            "{}",
            measured / drawn
        );
        for mark in &found.marks {
            assert!(mark.circularity() > 0.9, "{}", mark.circularity());
            // One row of pixels more on a disc of 6 px across is a sixth.
            assert!(mark.elongation() < 1.0 + 1.0 / mark.diameter_px());
            assert!(!mark.cut);
        }
    }

    #[test]
    fn red_dots_are_found_though_red_light_hardly_sees_them() {
        let (cover, radii) = dots();
        let inked = photographed(&cover, [0.85, 0.12, 0.15], 0.8, 0.01);
        let found = find(&inked);
        assert_eq!(found.marks.len(), radii.len());
        let mark = &found.marks[40];
        assert!(mark.density[1] > 5.0 * mark.density[0]);
    }

    #[test]
    fn noise_on_blank_paper_holds_no_marks() {
        let inked = photographed(&Plane::zeros((300, 410)), [0.1; 3], 0.8, 0.03);
        let found = find(&inked);
        assert!(found.marks.is_empty());
        assert_eq!(found.usable_px, 300 * 410);
    }

    #[test]
    fn pictures_of_any_shape_are_survived() {
        for size in [(0, 0), (1, 1), (1, 700), (700, 1), (2, 2), (9, 17)] {
            for level in [0.0, 0.5, 1.0] {
                let plane = Plane::from_elem(size, level);
                let _ = find(&inked_from([plane.clone(), plane.clone(), plane], None));
            }
        }
    }
}
