//! Several photographs of one sheet: one drawing on one paper, by one camera, a place each.

use super::camera::{self, CameraRecipe, FileKind};
use super::light;
use super::paper;
use super::screen::Frame;
use super::series::{SeriesRequest, any_camera, drawn_sheet, frame_for};
use super::sheet::Origin;
use crate::plane::Rgb;
use image::RgbImage;
use ndarray::s;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Where and how one photograph of a sheet is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Which place of the sheet, from 0; places lie side by side.
    pub place: usize,
    /// How far from the middle of the place, as shares of the frame's width and height.
    pub moved: [f64; 2],
    /// How far the camera is turned against the others, degrees.
    pub turned_deg: f64,
    /// Light against the others, times.
    pub light: f64,
}

impl View {
    /// The middle of a place.
    #[must_use]
    pub fn of(place: usize) -> Self {
        Self {
            place,
            moved: [0.0; 2],
            turned_deg: 0.0,
            light: 1.0,
        }
    }
}

/// A sheet seen in several photographs.
#[derive(Clone, Debug)]
pub struct Viewed {
    /// Its process.
    pub origin: Origin,
    /// Scale of the photographs at their middle, px per mm.
    pub px_per_mm: f64,
    /// How the camera stores them.
    pub file: FileKind,
    /// The photographs, before compression, in the order of the views.
    pub photos: Vec<RgbImage>,
}

/// Draws a sheet and photographs it. One view gives the same picture whatever the others are, as long
/// as they reach as far.
#[must_use]
pub fn views(seed: u64, request: &SeriesRequest, views: &[View]) -> Viewed {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let camera = any_camera(request, &mut rng);
    let frame = frame_for(&camera);
    let ground = Ground::under(views, frame);
    let drawn = drawn_sheet(seed, request, ground.whole, &mut rng);
    let key: u64 = rng.random();
    let sheet = &drawn.sheet;
    let stock = paper::lay(&drawn.paper, sheet.size_px, sheet.px_per_mm, key);
    let exitance = light::exitance(sheet, &stock, &drawn.paper);
    let photos = views
        .par_iter()
        .map(|view| {
            let light = ground.cut(&exitance, view);
            let key = key ^ (view.place as u64 + 1) << 48 ^ view.light.to_bits();
            camera::photograph(&light, frame.px_per_mm, &held_for(&camera, view), key)
        })
        .collect();
    Viewed {
        origin: sheet.truth.origin,
        px_per_mm: camera.px_per_mm,
        file: camera.file,
        photos,
    }
}

fn held_for(camera: &CameraRecipe, view: &View) -> CameraRecipe {
    CameraRecipe {
        rotation_deg: camera.rotation_deg + view.turned_deg,
        exposure: camera.exposure * view.light,
        ..camera.clone()
    }
}

/// The sheet under all places.
struct Ground {
    /// One photograph's share, px of the sheet.
    frame_px: [usize; 2],
    /// Room around the places for frames that are moved, px of the sheet.
    margin_px: [usize; 2],
    whole: Frame,
}

impl Ground {
    fn under(views: &[View], frame: Frame) -> Self {
        let places = views.iter().map(|v| v.place + 1).max().unwrap_or(1);
        let margin_px = [0, 1].map(|axis| {
            let farthest = views
                .iter()
                .map(|v| v.moved[axis].abs())
                .fold(0.0, f64::max);
            (farthest * frame.size_px[axis] as f64).ceil() as usize
        });
        let [width, height] = frame.size_px;
        Self {
            frame_px: frame.size_px,
            margin_px,
            whole: Frame {
                size_px: [width * places + 2 * margin_px[0], height + 2 * margin_px[1]],
                ..frame
            },
        }
    }

    fn cut(&self, light: &Rgb, view: &View) -> Rgb {
        let [width, height] = self.frame_px;
        let [left, top] = [0, 1].map(|axis| {
            let moved = (view.moved[axis] * self.frame_px[axis] as f64).round() as isize;
            self.margin_px[axis].saturating_add_signed(moved)
        });
        let left = left + view.place * width;
        [0, 1, 2].map(|channel| {
            light[channel]
                .slice(s![top..top + height, left..left + width])
                .to_owned()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::camera::Hardness;

    /// Highest correlation of two pictures when the second is shifted by about `right` px.
    fn alike(a: &RgbImage, b: &RgbImage, right: i32) -> f64 {
        let at = |picture: &RgbImage, x: i32, y: i32| {
            f64::from(picture.get_pixel(x as u32, y as u32)[1])
        };
        let places: Vec<(i32, i32)> = (20..160)
            .step_by(3)
            .flat_map(|y| (20..150).step_by(3).map(move |x| (x, y)))
            .collect();
        let correlation = |dx: i32, dy: i32| {
            let pairs = || {
                places
                    .iter()
                    .map(|&(x, y)| (at(a, x + dx, y + dy), at(b, x, y)))
            };
            let n = places.len() as f64;
            let (ma, mb) = pairs().fold((0.0, 0.0), |m, p| (m.0 + p.0 / n, m.1 + p.1 / n));
            let (ab, aa, bb) = pairs().fold((0.0, 0.0, 0.0), |s, (p, q)| {
                let (p, q) = (p - ma, q - mb);
                (s.0 + p * q, s.1 + p * p, s.2 + q * q)
            });
            ab / (aa * bb).sqrt()
        };
        (-8..=8)
            .flat_map(|dy| (right - 10..=right + 10).map(move |dx| (dx, dy)))
            .map(|(dx, dy)| correlation(dx, dy))
            .fold(-1.0, f64::max)
    }

    #[test]
    fn a_place_moved_shows_the_same_farther_on_and_another_place_does_not() {
        let request = SeriesRequest {
            origin: Some(Origin::Lithograph),
            size_px: Some([240, 180]),
            px_per_mm: Some([40.0, 40.0]),
            hardness: Some(Hardness::Easy),
            ..SeriesRequest::default()
        };
        let moved = View {
            moved: [0.25, 0.0],
            ..View::of(0)
        };
        let taken = || views(7, &request, &[View::of(0), View::of(1), moved]).photos;
        let all = taken();
        assert_eq!(all, taken());
        let (same, other) = (alike(&all[0], &all[2], 60), alike(&all[0], &all[1], 60));
        println!("moved {same:.2}, elsewhere {other:.2}");
        assert!(same > 0.7 && other < same - 0.2, "{same:.2}, {other:.2}");
    }
}
