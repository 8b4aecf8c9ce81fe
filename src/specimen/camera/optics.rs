//! Lens and light: the sheet's exitance as it falls on the sensor.

use super::{CameraRecipe, Projection};
use crate::plane::{Plane, Rgb};
use crate::specimen::blur;
use crate::specimen::light::for_each_pixel;
use rayon::prelude::*;

/// Linear image on the sensor, before uneven light and noise.
#[must_use]
pub fn image_of(sheet: &Rgb, sheet_px_per_mm: f64, recipe: &CameraRecipe) -> Rgb {
    let aperture_px = sheet_px_per_mm / recipe.px_per_mm;
    // Red is magnified, so a pixel shows what lies nearer to the middle.
    let magnified = [
        1.0 / (1.0 + recipe.lateral_chroma),
        1.0,
        1.0 + recipe.lateral_chroma,
    ];
    [0, 1, 2].map(|channel| {
        let soft = blur::gaussian(&sheet[channel], recipe.lens_sigma_px * aperture_px);
        let soft = blur::aperture(&soft, aperture_px);
        let image = sampled(&soft, sheet_px_per_mm, recipe, magnified[channel]);
        let image = blur::disc(&image, recipe.defocus_px);
        blur::motion(&image, recipe.motion_px, recipe.motion_deg)
    })
}

/// Samples a band-limited sheet at the photo's pixels by cubic convolution.
fn sampled(sheet: &Plane, sheet_px_per_mm: f64, recipe: &CameraRecipe, magnified: f64) -> Plane {
    let [w, h] = recipe.size_px;
    let (rows, columns) = sheet.dim();
    let projection = Projection::of(recipe);
    let middle = [(columns as f64 - 1.0) / 2.0, (rows as f64 - 1.0) / 2.0];
    let scale = sheet_px_per_mm * magnified;
    let mut image = Plane::zeros((h, w));
    let (Some(to), Some(from)) = (image.as_slice_mut(), sheet.as_slice()) else {
        return image;
    };
    to.par_chunks_mut(w.max(1))
        .enumerate()
        .for_each(|(y, row)| {
            for (x, cell) in row.iter_mut().enumerate() {
                let mm = projection.to_sheet_mm([x as f64, y as f64]);
                let at = [middle[0] + mm[0] * scale, middle[1] + mm[1] * scale];
                *cell = cubic_at(from, columns, rows, at);
            }
        });
    image
}

/// Catmull–Rom interpolation, continued at the edges by the outermost pixel.
fn cubic_at(cells: &[f32], columns: usize, rows: usize, at: [f64; 2]) -> f32 {
    let (x, wx) = first_and_weights(at[0]);
    let (y, wy) = first_and_weights(at[1]);
    let inside = x >= 0 && y >= 0 && x + 4 <= columns as i64 && y + 4 <= rows as i64;
    let mut sum = 0.0;
    for (j, wy) in wy.iter().enumerate() {
        let line = if inside {
            let start = (y as usize + j) * columns + x as usize;
            let c = &cells[start..start + 4];
            c[0] * wx[0] + c[1] * wx[1] + c[2] * wx[2] + c[3] * wx[3]
        } else {
            let row = (y + j as i64).clamp(0, rows as i64 - 1) as usize * columns;
            (0..4)
                .map(|i| wx[i] * cells[row + (x + i as i64).clamp(0, columns as i64 - 1) as usize])
                .sum()
        };
        sum += wy * line;
    }
    sum.max(0.0)
}

fn first_and_weights(at: f64) -> (i64, [f32; 4]) {
    let floor = at.floor();
    let t = (at - floor) as f32;
    let (t2, t3) = (t * t, t * t * t);
    let weights = [
        0.5 * (-t3 + 2.0 * t2 - t),
        0.5 * (3.0 * t3 - 5.0 * t2 + 2.0),
        0.5 * (-3.0 * t3 + 4.0 * t2 + t),
        0.5 * (t3 - t2),
    ];
    (floor as i64 - 1, weights)
}

/// Uneven light, vignette, colour cast, exposure and the rim of a loupe.
pub fn uneven_light(light: &mut Rgb, recipe: &CameraRecipe) {
    let [w, h] = recipe.size_px.map(|n| n as f64);
    let (cx, cy) = ((w - 1.0) / 2.0, (h - 1.0) / 2.0);
    let half_diagonal2 = 0.25 * (w * w + h * h);
    let gain = recipe.white_balance.map(|v| (v * recipe.exposure) as f32);
    for_each_pixel(light, |x, y, pixel| {
        let (dx, dy) = (x as f64 - cx, y as f64 - cy);
        let slope = 1.0 + recipe.gradient[0] * 2.0 * dx / w + recipe.gradient[1] * 2.0 * dy / h;
        let fall = 1.0 - recipe.vignette * (dx * dx + dy * dy) / half_diagonal2;
        let lit = (slope * fall).max(0.0) as f32;
        let (open, rim) = field_at(recipe, dx, dy);
        for (v, gain) in pixel.iter_mut().zip(gain) {
            *v = *v * lit * gain * open + rim;
        }
    });
}

/// Share of light let through by the loupe, and light added by its rim, at an offset from the middle.
fn field_at(recipe: &CameraRecipe, dx: f64, dy: f64) -> (f32, f32) {
    let Some(loupe) = recipe.loupe else {
        return (1.0, 0.0);
    };
    let (dx, dy) = (dx - loupe.offset_px[0], dy - loupe.offset_px[1]);
    let r = (dx * dx + dy * dy).sqrt();
    let t = ((loupe.radius_px - r) / loupe.edge_px.max(0.5) * 0.5 + 0.5).clamp(0.0, 1.0);
    let open = t * t * (3.0 - 2.0 * t);
    (open as f32, ((1.0 - open) * loupe.rim) as f32)
}
