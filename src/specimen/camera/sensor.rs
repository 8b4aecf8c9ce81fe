//! Photon and read noise, and the colour filter array.

use super::CameraRecipe;
use crate::plane::{Plane, Rgb};
use crate::specimen::texture;
use rand::{Rng, RngExt};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// How three channels come from a sensor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Demosaic {
    /// Three full channels (a scanner, or a picture made smaller).
    None,
    /// RGGB, bilinear.
    Bilinear,
    /// RGGB, gradient-corrected linear (Malvar, He & Cutler, ICASSP 2004; weights from memory).
    GradientCorrected,
}

impl Demosaic {
    /// Any of them.
    pub fn any(rng: &mut impl Rng) -> Self {
        match rng.random_range(0..5) {
            0 | 1 => Self::None,
            2 => Self::Bilinear,
            _ => Self::GradientCorrected,
        }
    }
}

/// Adds noise, and passes the light through the colour filters and back.
pub fn expose(light: &mut Rgb, recipe: &CameraRecipe, key: u64) {
    if recipe.demosaic == Demosaic::None {
        for (channel, plane) in light.iter_mut().enumerate() {
            add_noise(plane, recipe, key ^ (channel as u64 + 1) << 20);
        }
        return;
    }
    let mut mosaic = mosaic_of(light);
    add_noise(&mut mosaic, recipe, key ^ 0xBA << 20);
    *light = demosaiced(&mosaic, recipe.demosaic);
}

/// Variance is signal / full well + read noise².
fn add_noise(plane: &mut Plane, recipe: &CameraRecipe, key: u64) {
    let w = plane.ncols().max(1);
    let per_light = (1.0 / recipe.full_well.max(1.0)) as f32;
    let read = (recipe.read_noise * recipe.read_noise) as f32;
    let Some(cells) = plane.as_slice_mut() else {
        return;
    };
    cells.par_chunks_mut(w).enumerate().for_each(|(y, row)| {
        for (x, v) in row.iter_mut().enumerate() {
            let sigma = (v.max(0.0) * per_light + read).sqrt();
            *v += sigma * texture::normal(key, x as u64, y as u64);
        }
    });
}

/// Channel under the filter at a place: R G / G B.
fn filter_at(x: usize, y: usize) -> usize {
    (x & 1) + (y & 1)
}

fn mosaic_of(light: &Rgb) -> Plane {
    Plane::from_shape_fn(light[0].dim(), |(y, x)| light[filter_at(x, y)][[y, x]])
}

fn demosaiced(mosaic: &Plane, how: Demosaic) -> Rgb {
    let (h, w) = mosaic.dim();
    let mut out = [0, 1, 2].map(|_| Plane::zeros((h, w)));
    let corrected = how == Demosaic::GradientCorrected;
    crate::specimen::light::for_each_pixel(&mut out, |x, y, pixel| {
        *pixel = full_colour(&Window { mosaic, x, y }, corrected);
    });
    out
}

/// The mosaic around one pixel, mirrored at the edges so that the filter colours continue.
struct Window<'a> {
    mosaic: &'a Plane,
    x: usize,
    y: usize,
}

impl Window<'_> {
    fn at(&self, dx: i64, dy: i64) -> f32 {
        let (h, w) = self.mosaic.dim();
        self.mosaic[[
            mirrored(self.y as i64 + dy, h),
            mirrored(self.x as i64 + dx, w),
        ]]
    }

    fn cross(&self, reach: i64) -> f32 {
        self.across(reach) + self.down(reach)
    }

    fn across(&self, reach: i64) -> f32 {
        self.at(-reach, 0) + self.at(reach, 0)
    }

    fn down(&self, reach: i64) -> f32 {
        self.at(0, -reach) + self.at(0, reach)
    }

    fn diagonal(&self) -> f32 {
        self.at(-1, -1) + self.at(1, -1) + self.at(-1, 1) + self.at(1, 1)
    }
}

fn mirrored(i: i64, length: usize) -> usize {
    let last = length as i64 - 1;
    let i = if i < 0 { -i } else { i };
    let i = if i > last { 2 * last - i } else { i };
    i.clamp(0, last) as usize
}

fn full_colour(window: &Window<'_>, corrected: bool) -> [f32; 3] {
    let centre = window.at(0, 0);
    let channel = filter_at(window.x, window.y);
    if channel == 1 {
        return at_green(window, centre, corrected);
    }
    let (mut green, mut other) = (window.cross(1) / 4.0, window.diagonal() / 4.0);
    if corrected {
        let bend = centre - window.cross(2) / 4.0;
        green += bend / 2.0;
        other += bend * 0.75;
    }
    if channel == 0 {
        [centre, green, other]
    } else {
        [other, green, centre]
    }
}

fn at_green(window: &Window<'_>, centre: f32, corrected: bool) -> [f32; 3] {
    let (mut across, mut down) = (window.across(1) / 2.0, window.down(1) / 2.0);
    if corrected {
        let around = window.diagonal();
        let (far_across, far_down) = (window.across(2), window.down(2));
        across += (5.0 * centre - around - far_across + 0.5 * far_down) / 8.0;
        down += (5.0 * centre - around - far_down + 0.5 * far_across) / 8.0;
    }
    // On even rows red lies to the left and right, on odd rows blue.
    if window.y & 1 == 0 {
        [across, centre, down]
    } else {
        [down, centre, across]
    }
}
