//! What is exactly known of a photograph: the sheet's truth carried through the camera.

use super::camera::{CameraRecipe, Projection};
use super::paper::PaperRecipe;
use super::patches;
use super::screen::{self, Family};
use super::sheet::{ColourTruth, HatchPlace, HatchTruth, MarksTruth, Origin, ScreenTruth, Sheet};
use crate::ink::Ink;
use crate::plane::angle_deg;
use serde::{Deserialize, Serialize};

/// Everything known of one photograph. Lengths on paper in mm or µm, in the photo in px; angles in
/// degrees counter-clockwise as seen in the photo; vectors with y down.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SpecimenTruth {
    /// Seed that draws it again.
    pub seed: u64,
    /// Process.
    pub origin: Origin,
    /// In words, for look-alikes and reproductions.
    pub other: Option<String>,
    /// For a reproduction: the process of the old print that it shows, or `None` for a modern picture.
    pub reproduces: Option<Origin>,
    /// For a reproduction: how it was printed.
    pub family: Option<Family>,
    /// Where the colour lies; never empty.
    pub colouring: Vec<ColourTruth>,
    /// Scale, mean over the visible field, px per mm.
    pub px_per_mm: f64,
    /// Scale in the middle of the frame, px per mm.
    pub px_per_mm_centre: f64,
    /// Width and height of the photo, px.
    pub size_px: [usize; 2],
    /// Round field of a loupe, or `None` for the whole frame.
    pub field: Option<FieldTruth>,
    /// Sheet seen in the field, mm².
    pub area_mm2: f64,
    /// Connected marks of the key whose centre lies in the field; `None` for screens and look-alikes
    /// without marks.
    pub marks: Option<MarksTruth>,
    /// Hatching as it lies in the photo, largest share first.
    pub hatching: Vec<HatchTruth>,
    /// Screens as they lie in the photo.
    pub screens: Vec<PhotoScreenTruth>,
    /// Whether a stochastic or inkjet screen was used.
    pub stochastic: bool,
    /// Stone grains per mm.
    pub grains_per_mm: Option<f64>,
    /// CIELAB of the printed tint on white paper, and its share of the sheet.
    pub tint: Option<([f64; 3], f64)>,
    /// CIELAB of the paper.
    pub paper_lab: [f64; 3],
    /// Everything that chance decided besides.
    pub nuisance: Nuisance,
}

/// The chance settings of a specimen, for the study of errors.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Nuisance {
    /// Paper.
    pub paper: PaperRecipe,
    /// Camera.
    pub camera: CameraRecipe,
    /// Reproduction.
    pub screen: Option<screen::Recipe>,
    /// Size of the reproduction over that of its original.
    pub reduction: Option<f64>,
}

/// A round field.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FieldTruth {
    /// Centre, px.
    pub centre_px: [f64; 2],
    /// Radius to the middle of the edge, px.
    pub radius_px: f64,
}

/// One ink's screen in the photo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PhotoScreenTruth {
    /// Ink.
    pub ink: Ink,
    /// Ruling on paper, lines per inch, mean of its directions.
    pub ruling_lpi: f64,
    /// The same as seen, mean over the field, reckoned with the mean scale, lines per inch.
    pub ruling_in_photo_lpi: f64,
    /// Mean over the field of the angle of the first frequency vector, [0, 90); [0, 180) for lines.
    pub angle_deg: f64,
    /// Mean frequency vectors, cycles per px, y down; one for a line screen.
    pub vectors_per_px: Vec<[f64; 2]>,
    /// Period of the first vector, px.
    pub period_px: f64,
    /// Mean printed area, 0–1.
    pub area: f64,
    /// Contrast left by lens, defocus and pixel at the screen's frequency, 0–1.
    pub contrast: f64,
    /// Whether a careful eye could see it: see [`PhotoScreenTruth::is_resolvable`].
    pub resolvable: bool,
}

impl PhotoScreenTruth {
    /// A screen can be measured where its period is over this many px …
    pub const LEAST_PERIOD_PX: f64 = 2.5;
    /// … its contrast over this …
    pub const LEAST_CONTRAST: f64 = 0.15;
    /// … and its ink neither nearly absent nor nearly solid.
    pub const AREA_RANGE: [f64; 2] = [0.02, 0.97];

    fn is_resolvable(period_px: f64, contrast: f64, area: f64) -> bool {
        period_px >= Self::LEAST_PERIOD_PX
            && contrast >= Self::LEAST_CONTRAST
            && (Self::AREA_RANGE[0]..=Self::AREA_RANGE[1]).contains(&area)
    }
}

/// Places of the visible field, for means over it.
pub struct VisibleField<'a> {
    recipe: &'a CameraRecipe,
    projection: Projection,
    points_px: Vec<[f64; 2]>,
    /// Photo area that each point stands for, px².
    px2_each: f64,
}

impl<'a> VisibleField<'a> {
    /// The field of a recipe.
    #[must_use]
    pub fn of(recipe: &'a CameraRecipe) -> Self {
        /// Points along the longer side.
        const POINTS: f64 = 80.0;
        let [w, h] = recipe.size_px.map(|n| n.max(1) as f64);
        let step = (w.max(h) / POINTS).max(1.0);
        let along = |length: f64| {
            let count = (length / step).floor().max(1.0);
            let pace = length / count;
            (0..count as usize).map(move |i| (i as f64 + 0.5) * pace - 0.5)
        };
        let points_px: Vec<[f64; 2]> = along(h)
            .flat_map(|y| along(w).map(move |x| [x, y]))
            .filter(|&at| recipe.sees(at))
            .collect();
        let total = (w / step).floor().max(1.0) * (h / step).floor().max(1.0);
        Self {
            recipe,
            projection: Projection::of(recipe),
            points_px,
            px2_each: w * h / total,
        }
    }

    fn mean(&self, of: impl Fn([f64; 2]) -> f64) -> f64 {
        let sum: f64 = self.points_px.iter().map(|&at| of(at)).sum();
        sum / self.points_px.len().max(1) as f64
    }

    /// Mean scale, px per mm.
    #[must_use]
    pub fn px_per_mm(&self) -> f64 {
        self.mean(|at| self.projection.scale_at(at))
    }

    /// Sheet seen, mm².
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.px2_each
            * self
                .points_px
                .iter()
                .map(|&at| self.projection.scale_at(at).powi(-2))
                .sum::<f64>()
    }

    /// Mean frequency vector in the photo, cycles per px, and the mean of its length.
    #[must_use]
    pub fn frequency(&self, per_mm: [f64; 2]) -> ([f64; 2], f64) {
        let at = |p| self.projection.frequency_at(p, per_mm);
        let mean = [self.mean(|p| at(p)[0]), self.mean(|p| at(p)[1])];
        (mean, self.mean(|p| at(p)[0].hypot(at(p)[1])))
    }

    /// A screen of the sheet as it lies in the photo.
    #[must_use]
    pub fn screen(&self, screen: &ScreenTruth) -> PhotoScreenTruth {
        let vectors: Vec<([f64; 2], f64)> = screen
            .vectors_per_mm
            .iter()
            .map(|&v| self.frequency(v))
            .collect();
        let (first, length) = vectors.first().copied().unwrap_or(([0.0; 2], 0.0));
        let turn = if vectors.len() > 1 { 90.0 } else { 180.0 };
        let period_px = if length > 0.0 {
            1.0 / length
        } else {
            f64::INFINITY
        };
        let contrast = self.recipe.contrast_at(length);
        let mean_length = vectors.iter().map(|v| v.1).sum::<f64>() / vectors.len().max(1) as f64;
        PhotoScreenTruth {
            ink: screen.ink,
            ruling_lpi: screen.ruling_lpi,
            ruling_in_photo_lpi: mean_length * self.px_per_mm() * 25.4,
            angle_deg: angle_deg(first[0], first[1]).rem_euclid(turn),
            vectors_per_px: vectors.iter().map(|v| v.0).collect(),
            period_px,
            area: screen.area,
            contrast,
            resolvable: PhotoScreenTruth::is_resolvable(period_px, contrast, screen.area),
        }
    }

    /// A system of hatching as it lies in the photo.
    #[must_use]
    pub fn hatching(&self, hatch: &HatchTruth) -> HatchTruth {
        let (sin, cos) = hatch.orientation_deg.to_radians().sin_cos();
        // The frequency vector stands across the lines (y down).
        let across = [hatch.lines_per_mm * sin, hatch.lines_per_mm * cos];
        let (mean, length) = self.frequency(across);
        HatchTruth {
            lines_per_mm: length * self.px_per_mm(),
            orientation_deg: (angle_deg(mean[0], mean[1]) + 90.0).rem_euclid(180.0),
            places: self.seen(&hatch.places),
            ..hatch.clone()
        }
    }

    /// The places of a system that are seen, as they lie in the photo.
    fn seen(&self, places: &[HatchPlace]) -> Vec<HatchPlace> {
        let px_per_mm = self.px_per_mm();
        let photographed = |place: &HatchPlace| {
            let at = self.projection.to_photo_px(place.at);
            let (sin, cos) = place.orientation_deg.to_radians().sin_cos();
            let across = [place.lines_per_mm * sin, place.lines_per_mm * cos];
            let [x, y] = self.projection.frequency_at(at, across);
            HatchPlace {
                at,
                lines_per_mm: x.hypot(y) * px_per_mm,
                orientation_deg: (angle_deg(x, y) + 90.0).rem_euclid(180.0),
            }
        };
        let photographed = places.iter().map(photographed);
        photographed.filter(|p| self.recipe.sees(p.at)).collect()
    }

    /// Marks of the key whose centre is seen, and the printed share of what is seen.
    #[must_use]
    pub fn marks(&self, sheet: &Sheet) -> Option<MarksTruth> {
        let key = sheet.key()?;
        let middle = sheet.size_px.map(|n| (n as f64 - 1.0) / 2.0);
        let seen: Vec<u32> = patches::found(&key.cover)
            .into_iter()
            .filter(|patch| {
                let mm = [0, 1].map(|i| (patch.centre_px[i] - middle[i]) / sheet.px_per_mm);
                self.recipe.sees(self.projection.to_photo_px(mm))
            })
            .map(|patch| patch.area_px)
            .collect();
        Some(patches::marks_from(
            seen,
            self.coverage(sheet),
            sheet.px_per_mm,
            self.area_mm2().max(f64::MIN_POSITIVE),
        ))
    }

    /// Printed share of what is seen, by sampling every fourth pixel of the photo.
    fn coverage(&self, sheet: &Sheet) -> f64 {
        const EVERY: usize = 2;
        let Some(key) = sheet.key() else { return 0.0 };
        let [w, h] = sheet.size_px;
        let middle = [w, h].map(|n| (n as f64 - 1.0) / 2.0);
        let (mut seen, mut printed) = (0usize, 0usize);
        for y in (0..self.recipe.size_px[1]).step_by(EVERY) {
            for x in (0..self.recipe.size_px[0]).step_by(EVERY) {
                let at = [x as f64, y as f64];
                if !self.recipe.sees(at) {
                    continue;
                }
                let mm = self.projection.to_sheet_mm(at);
                let [px, py] = [0, 1].map(|i| (middle[i] + mm[i] * sheet.px_per_mm).round());
                if px < 0.0 || py < 0.0 || px >= w as f64 || py >= h as f64 {
                    continue;
                }
                seen += 1;
                let cover = key.cover[[py as usize, px as usize]];
                printed += usize::from(patches::is_printed(cover));
            }
        }
        printed as f64 / seen.max(1) as f64
    }
}

impl CameraRecipe {
    /// Contrast that lens, defocus and pixel aperture leave at a frequency, cycles per px, 0–1.
    #[must_use]
    pub fn contrast_at(&self, per_px: f64) -> f64 {
        use std::f64::consts::PI;
        let lens = (-2.0 * (PI * self.lens_sigma_px * per_px).powi(2)).exp();
        // A disc blurs nearly as a Gaussian of half its radius up to its first zero.
        let disc = (-2.0 * (PI * 0.5 * self.defocus_px * per_px).powi(2)).exp();
        let x = PI * per_px;
        let pixel = if x.abs() < 1e-9 {
            1.0
        } else {
            (x.sin() / x).abs()
        };
        lens * disc * pixel
    }

    /// Where the loupe's field lies in the photo.
    #[must_use]
    pub fn field_truth(&self) -> Option<FieldTruth> {
        let [w, h] = self.size_px.map(|n| n as f64);
        self.loupe.map(|loupe| FieldTruth {
            centre_px: [
                (w - 1.0) / 2.0 + loupe.offset_px[0],
                (h - 1.0) / 2.0 + loupe.offset_px[1],
            ],
            radius_px: loupe.radius_px,
        })
    }
}
