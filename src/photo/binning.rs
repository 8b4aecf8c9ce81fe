//! Binning: a large photograph that is blurred over several pixels is measured on means of them.
//!
//! Cameras give many more pixels than a loupe resolves. Where the blur spans several of them, their
//! means hold all that the lens let through, with less noise and in a fraction of the time.

use super::{Adequacy, Field, Photo, Scale, adequacy};
use crate::plane::{Mask, Plane};
use rayon::prelude::*;

/// Least blur left after binning, standard deviation in binned px: of structure at the sampling limit
/// such a blur leaves exp(−2 π² · 0.75² · 0.5²) = 6 % of the contrast, so binning folds nothing back.
const LEAST_BLUR_PX: f64 = 0.75;
/// Binned photographs keep at least as many pixels as the specimens of the reference have.
const LEAST_PIXELS: usize = 1_000_000;
/// Binned photographs keep at least this sampling, px/mm: below, screens would not show
/// (`weigh::doubt` heeds the same figure).
const LEAST_PX_PER_MM: f64 = 20.0;

/// How the pixels of a photograph came from those of its file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Binning {
    /// File pixels a side of one pixel; 1 where each is one of the file's.
    pub by: usize,
    /// Width and height of the file's picture, px, upright.
    pub file_size_px: (usize, usize),
}

impl Binning {
    /// Pixels as they are in a file of this width and height.
    #[must_use]
    pub fn none(width: usize, height: usize) -> Self {
        Self {
            by: 1,
            file_size_px: (width, height),
        }
    }
}

impl Photo {
    /// The photograph at the sampling that its sharpness asks for: the means of 2 × 2 or more pixels
    /// where it is large and its blur spans so many, else as it is.
    #[must_use]
    pub fn binned(self) -> Self {
        match bins(&self) {
            0 | 1 => self,
            by => reduced(self, by),
        }
    }

    /// Pixels of the file per millimetre on the sheet, where known.
    #[must_use]
    pub fn file_scale(&self) -> Option<Scale> {
        self.scale
            .as_ref()
            .map(|scale| scale.times(self.binning.by as f64))
    }
}

/// File pixels a side that one pixel may stand for.
fn bins(photo: &Photo) -> usize {
    let Some(blur) = photo.adequacy.blur_sigma_px.figure() else {
        return 1;
    };
    let by_blur = blur.lo / LEAST_BLUR_PX;
    let by_size = (photo.usable.len() as f64 / LEAST_PIXELS as f64).sqrt();
    let by_scale = photo
        .scale
        .as_ref()
        .map_or(f64::INFINITY, |scale| scale.value / LEAST_PX_PER_MM);
    by_blur.min(by_size).min(by_scale) as usize
}

fn reduced(photo: Photo, by: usize) -> Photo {
    let linear = photo.linear.each_ref().map(|plane| means(plane, by));
    let usable = all_usable(&photo.usable, by);
    let field = in_bins(photo.field, by);
    let scale = photo.scale.map(|scale| scale.times(1.0 / by as f64));
    let adequacy = Adequacy {
        // All are of the file's own pixels.
        clipped_share: photo.adequacy.clipped_share,
        beside: photo.adequacy.beside,
        blocking: photo.adequacy.blocking,
        ..adequacy::figures(&linear, &usable, scale.as_ref())
    };
    Photo {
        adequacy: adequacy.judged(&linear, &usable),
        binning: Binning {
            by,
            ..photo.binning
        },
        linear,
        usable,
        field,
        scale,
        ..photo
    }
}

/// Means of squares of `by` × `by` pixels; what is left over at the right and the foot is cut off.
fn means(plane: &Plane, by: usize) -> Plane {
    let mut out = Plane::zeros((plane.nrows() / by, plane.ncols() / by));
    let share = 1.0 / (by * by) as f32;
    out.outer_iter_mut()
        .into_par_iter()
        .enumerate()
        .for_each(|(y, mut means)| {
            for row in (y * by..(y + 1) * by).filter_map(|y| plane.row(y).to_slice()) {
                for (mean, bin) in means.iter_mut().zip(row.chunks_exact(by)) {
                    *mean += share * bin.iter().sum::<f32>();
                }
            }
        });
    out
}

/// True where all pixels of a square are.
fn all_usable(usable: &Mask, by: usize) -> Mask {
    Mask::from_shape_fn((usable.nrows() / by, usable.ncols() / by), |(y, x)| {
        (y * by..(y + 1) * by).all(|v| (x * by..(x + 1) * by).all(|u| usable[[v, u]]))
    })
}

/// The field in binned px; the first bin's centre lies half a bin less half a pixel from the first pixel's.
fn in_bins(field: Field, by: usize) -> Field {
    let by = by as f64;
    let place = |px: f64| (px + 0.5) / by - 0.5;
    match field {
        Field::Frame => Field::Frame,
        Field::Round { cx, cy, radius } => Field::Round {
            cx: place(cx),
            cy: place(cy),
            radius: radius / by,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Provenance, ReadOptions, from_linear};
    use super::*;
    use crate::measure::lattice;
    use crate::measure::segment;

    /// Dots 20 px apart at 30°, their edges `blur` px wide (standard deviation), with a little noise.
    fn screened(side: usize, blur: f64) -> Photo {
        const PERIOD_PX: f64 = 20.0;
        const DOT_RADIUS_PX: f64 = 6.0;
        let (sin, cos) = 30f64.to_radians().sin_cos();
        let off = |v: f64| (v / PERIOD_PX - (v / PERIOD_PX).round()) * PERIOD_PX;
        let mut state = 1u32;
        let plane = Plane::from_shape_fn((side, side), |(y, x)| {
            let (x, y) = (x as f64, y as f64);
            let from_dot = off(cos * x + sin * y).hypot(off(cos * y - sin * x));
            // A logistic edge of the same spread as a Gaussian one.
            let ink = 1.0 / (1.0 + (1.702 * (from_dot - DOT_RADIUS_PX) / blur).exp());
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = f64::from(state >> 8) / f64::from(1 << 24) - 0.5;
            (0.7 - 0.6 * ink + 0.004 * noise) as f32
        });
        let provenance = Provenance {
            file: "screen".into(),
            sha256: String::new(),
            format: String::new(),
            bits_per_sample: 32,
            colour_space: String::new(),
            capture: Vec::new(),
        };
        let options = ReadOptions {
            px_per_mm: Some(90.0),
            ..ReadOptions::default()
        };
        from_linear([plane.clone(), plane.clone(), plane], provenance, &options)
    }

    fn ruling_lpi(photo: &Photo) -> f64 {
        let inked = crate::ink::ink_on_paper(photo);
        let inks = lattice::measure(&inked, &segment::find(&inked)).inks;
        assert_eq!(inks.len(), 1, "the screen and no other");
        inks[0].ruling_lpi.value().expect("a ruling")
    }

    #[test]
    fn only_a_large_and_blurred_photograph_is_binned() {
        for (side, blur, by) in [(2100, 2.4, 2), (2100, 0.9, 1), (900, 2.4, 1)] {
            let photo = screened(side, blur).binned();
            assert_eq!(photo.binning.by, by, "{side} px, blur {blur} px");
            assert_eq!(photo.binning.file_size_px, (side, side));
            assert_eq!(photo.width(), side / by);
            assert_eq!(photo.file_scale().map(|s| s.value), Some(90.0));
        }
    }

    #[test]
    fn what_was_left_out_is_still_said_of_a_binned_photograph() {
        let mut photo = screened(2100, 2.4);
        photo.adequacy.beside.border = 0.2;
        let binned = photo.binned();
        assert_eq!(binned.binning.by, 2);
        let told = |note: &String| note.contains("border");
        assert!(binned.adequacy.notes.iter().any(told));
    }

    #[test]
    fn a_binned_screen_measures_as_it_did() {
        let full = screened(2100, 2.4);
        let blur = full.adequacy.blur_sigma_px.value().expect("edges");
        let drawn = 90.0 / 20.0 * 25.4;
        approx::assert_relative_eq!(ruling_lpi(&full), drawn, max_relative = 1e-3);
        let binned = full.binned();
        assert_eq!(binned.binning.by, 2);
        approx::assert_relative_eq!(ruling_lpi(&binned), drawn, max_relative = 1e-3);
        let left = binned.adequacy.blur_sigma_px.value().expect("edges");
        // The blur in sheet lengths is the same, but for the width of a bin.
        approx::assert_relative_eq!(2.0 * left, blur, max_relative = 0.15);
    }

    #[test]
    fn bins_hold_means_and_the_field_stays_where_it_is() {
        let plane = Plane::from_shape_fn((5, 7), |(y, x)| (10 * y + x) as f32);
        let means = means(&plane, 2);
        assert_eq!(means.dim(), (2, 3));
        assert_eq!(means[[1, 2]], (24.0 + 25.0 + 34.0 + 35.0) / 4.0);
        let mut usable = Mask::from_elem((5, 7), true);
        usable[[3, 4]] = false;
        let kept = all_usable(&usable, 2);
        assert_eq!(kept.iter().filter(|u| !**u).count(), 1);
        assert!(!kept[[1, 2]]);
        let round = |cx, cy, radius| Field::Round { cx, cy, radius };
        // The corner between the first four pixels is the centre of the first bin.
        assert_eq!(in_bins(round(0.5, 0.5, 8.0), 2), round(0.0, 0.0, 4.0));
    }
}
