//! Light off a printed sheet: ink as a filter over paper that scatters sideways.

use super::blur;
use super::paper::PaperRecipe;
use super::sheet::Sheet;
use crate::plane::Rgb;
use rayon::prelude::*;

/// Reflectance of the printed sheet, linear, at the sheet's resolution.
///
/// Light passes the ink, spreads inside the paper, and passes the ink again where it leaves, so
/// `R = S + (1 − S)·t·(G ∗ t)·R_paper` with `t² = T` the two-way transmittance of the layers. With no
/// spread this is Murray–Davies, with wide spread Yule–Nielsen at n = 2 (Yule & Nielsen 1951,
/// from memory).
#[must_use]
pub fn exitance(sheet: &Sheet, paper: &Rgb, recipe: &PaperRecipe) -> Rgb {
    let spread_px = recipe.scatter_mm * sheet.px_per_mm;
    let surface = recipe.surface as f32;
    let mut once = sheet.reflectance_over([1.0; 3]);
    for (plane, paper) in once.iter_mut().zip(paper) {
        plane.par_mapv_inplace(|t| t.max(0.0).sqrt());
        let spread = blur::gaussian(plane, spread_px);
        ndarray::Zip::from(plane)
            .and(&spread)
            .and(paper)
            .par_for_each(|out, &spread, &paper| {
                *out = surface + (1.0 - surface) * *out * spread * paper;
            });
    }
    once
}

/// Work on one pixel of three planes at once, rows in parallel.
pub(super) fn for_each_pixel(rgb: &mut Rgb, work: impl Fn(usize, usize, &mut [f32; 3]) + Sync) {
    let (_, w) = rgb[0].dim();
    let [red, green, blue] = rgb;
    let (Some(red), Some(green), Some(blue), true) = (
        red.as_slice_mut(),
        green.as_slice_mut(),
        blue.as_slice_mut(),
        w > 0,
    ) else {
        return;
    };
    red.par_chunks_mut(w)
        .zip(green.par_chunks_mut(w))
        .zip(blue.par_chunks_mut(w))
        .enumerate()
        .for_each(|(y, ((red, green), blue))| {
            for x in 0..w {
                let mut pixel = [red[x], green[x], blue[x]];
                work(x, y, &mut pixel);
                [red[x], green[x], blue[x]] = pixel;
            }
        });
}
