//! A photograph as it is shown in a report: reduced to fit, encoded, embedded.

use crate::photo::Photo;
use crate::plane::{Plane, Rgb};
use base64::Engine;
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use ndarray::s;
use rayon::prelude::*;

/// Longest side of the whole photograph as shown, px: fills an A4 page at 200 px per inch.
pub const OVERVIEW_SIDE_PX: usize = 1600;
/// JPEG quality of pictures in reports; above, files grow and nothing is seen of it.
const JPEG_QUALITY: u8 = 86;

/// A part of the photograph, in its own pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// Left edge, px.
    pub left: usize,
    /// Top edge, px.
    pub top: usize,
    /// Width, px; at least 1.
    pub width: usize,
    /// Height, px; at least 1.
    pub height: usize,
}

impl Window {
    /// The whole photograph.
    #[must_use]
    pub fn whole(photo: &Photo) -> Self {
        Self {
            left: 0,
            top: 0,
            width: photo.width(),
            height: photo.height(),
        }
    }

    /// Width and height when reduced to `longest_px`, each at least 1; never enlarged.
    #[must_use]
    pub fn reduced(&self, longest_px: usize) -> (usize, usize) {
        let longest = self.width.max(self.height).max(1);
        if longest <= longest_px {
            return (self.width.max(1), self.height.max(1));
        }
        let share = longest_px as f64 / longest as f64;
        let side = |px: usize| ((px as f64 * share).round() as usize).max(1);
        (side(self.width), side(self.height))
    }
}

/// A window of the photograph as a JPEG data address, its longest side at most `longest_px`.
/// `None` where the picture cannot be encoded (no pixels).
#[must_use]
pub fn jpeg(photo: &Photo, window: Window, longest_px: usize) -> Option<String> {
    let (width, height) = window.reduced(longest_px);
    let reduced = reduce(&photo.linear, window, width, height)?;
    let mut bytes = Vec::with_capacity(3 * width * height);
    for y in 0..height {
        for x in 0..width {
            bytes.extend(reduced.each_ref().map(|plane| encoded(plane[[y, x]])));
        }
    }
    let mut file = Vec::new();
    JpegEncoder::new_with_quality(&mut file, JPEG_QUALITY)
        .write_image(&bytes, width as u32, height as u32, ExtendedColorType::Rgb8)
        .ok()?;
    Some(data_address("image/jpeg", &file))
}

/// A PNG data address of pixels with transparency, `[red, green, blue, cover]` row by row.
#[must_use]
pub fn png(pixels: &[[u8; 4]], width: usize, height: usize) -> Option<String> {
    let mut file = Vec::new();
    PngEncoder::new_with_quality(&mut file, CompressionType::Default, FilterType::NoFilter)
        .write_image(
            pixels.as_flattened(),
            width as u32,
            height as u32,
            ExtendedColorType::Rgba8,
        )
        .ok()?;
    Some(data_address("image/png", &file))
}

fn data_address(kind: &str, bytes: &[u8]) -> String {
    let text = base64::engine::general_purpose::STANDARD.encode(bytes);
    format!("data:{kind};base64,{text}")
}

/// Linear light 0–1 → sRGB byte.
/// Source: IEC 61966-2-1.
#[must_use]
pub fn encoded(linear: f32) -> u8 {
    let v = linear.clamp(0.0, 1.0);
    let srgb = if v <= 0.003_130_8 {
        12.92 * v
    } else {
        1.055 * v.powf(1.0 / 2.4) - 0.055
    };
    // NaN becomes 0 in this cast.
    (255.0 * srgb).round() as u8
}

/// Mean of linear light over each output pixel's area, so that a screen leaves no false pattern.
fn reduce(linear: &Rgb, window: Window, width: usize, height: usize) -> Option<Rgb> {
    let (rows, cols) = linear[0].dim();
    if window.width == 0
        || window.height == 0
        || window.left + window.width > cols
        || window.top + window.height > rows
    {
        return None;
    }
    let across = spans(window.width, width);
    let down = spans(window.height, height);
    Some(linear.each_ref().map(|plane| {
        let part = plane.slice(s![
            window.top..window.top + window.height,
            window.left..window.left + window.width
        ]);
        let mut reduced = vec![0.0f32; width * height];
        reduced
            .par_chunks_mut(width)
            .zip(&down)
            .for_each(|(out, rows)| {
                for (value, cols) in out.iter_mut().zip(&across) {
                    let mut sum = 0.0;
                    for (y, wy) in rows.iter() {
                        for (x, wx) in cols.iter() {
                            sum += wy * wx * part[[y, x]];
                        }
                    }
                    *value = sum;
                }
            });
        Plane::from_shape_vec((height, width), reduced).unwrap_or_default()
    }))
}

/// Source pixels under one output pixel, with their shares.
struct Span {
    first: usize,
    shares: Vec<f32>,
}

impl Span {
    fn iter(&self) -> impl Iterator<Item = (usize, f32)> + '_ {
        (self.first..).zip(self.shares.iter().copied())
    }
}

fn spans(source: usize, target: usize) -> Vec<Span> {
    let step = source as f64 / target as f64;
    (0..target)
        .map(|i| {
            let (from, to) = (i as f64 * step, (i + 1) as f64 * step);
            let first = (from as usize).min(source - 1);
            let last = ((to.ceil() as usize).max(first + 1)).min(source);
            let share = |p: usize| {
                let inside = to.min((p + 1) as f64) - from.max(p as f64);
                (inside.max(0.0) / step) as f32
            };
            Span {
                first,
                shares: (first..last).map(share).collect(),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_of_every_output_pixel_add_up_to_one() {
        for (source, target) in [(10, 10), (1000, 1600 / 7), (7, 3), (1, 1), (20_000, 1600)] {
            for span in spans(source, target) {
                let sum: f32 = span.shares.iter().sum();
                assert!((sum - 1.0).abs() < 1e-4, "{source} → {target}: {sum}");
                assert!(span.first + span.shares.len() <= source);
            }
        }
    }

    #[test]
    fn reducing_keeps_the_mean_light() {
        let plane = Plane::from_shape_fn((37, 91), |(y, x)| ((x * 7 + y * 13) % 11) as f32 / 10.0);
        let window = Window {
            left: 0,
            top: 0,
            width: 91,
            height: 37,
        };
        let rgb = [plane.clone(), plane.clone(), plane.clone()];
        let [small, ..] = reduce(&rgb, window, 40, 16).unwrap();
        assert!((small.mean().unwrap() - plane.mean().unwrap()).abs() < 0.01);
    }

    #[test]
    fn long_thin_pictures_keep_a_pixel() {
        let window = Window {
            left: 0,
            top: 0,
            width: 20_000,
            height: 1,
        };
        assert_eq!(window.reduced(1600), (1600, 1));
        assert_eq!(encoded(f32::NAN), 0);
        assert_eq!(encoded(0.215_861), 128);
    }
}
