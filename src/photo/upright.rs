//! Turning a picture upright as its EXIF orientation asks.

use super::pixels::Raster;
use image::metadata::Orientation;
use rayon::prelude::*;

/// Output rows turned together: one source line is read for all of them while it is in cache.
const BAND_ROWS: usize = 32;

/// Where an output pixel comes from: `source = origin + x · step_x + y · step_y`, in pixels.
#[derive(Clone, Copy, Debug)]
struct Turn {
    origin: isize,
    step_x: isize,
    step_y: isize,
}

impl Turn {
    fn of(orientation: Orientation, width: usize, height: usize) -> Self {
        let (w, h) = (width as isize, height as isize);
        let last = w * h - 1;
        let (origin, step_x, step_y) = match orientation {
            Orientation::NoTransforms => (0, 1, w),
            Orientation::FlipHorizontal => (w - 1, -1, w),
            Orientation::Rotate180 => (last, -1, -w),
            Orientation::FlipVertical => (last - (w - 1), 1, -w),
            Orientation::Rotate90FlipH => (0, w, 1),
            Orientation::Rotate90 => (last - (w - 1), -w, 1),
            Orientation::Rotate270FlipH => (last, -w, -1),
            Orientation::Rotate270 => (w - 1, w, -1),
        };
        Self {
            origin,
            step_x,
            step_y,
        }
    }
}

/// The raster turned upright; sides swap for quarter turns.
#[must_use]
pub fn turn<T: Copy + Default + Send + Sync>(
    raster: Raster<T>,
    orientation: Orientation,
) -> Raster<T> {
    if orientation == Orientation::NoTransforms {
        return raster;
    }
    let n = raster.channels;
    let turn = Turn::of(orientation, raster.width, raster.height);
    let swaps = matches!(
        orientation,
        Orientation::Rotate90
            | Orientation::Rotate270
            | Orientation::Rotate90FlipH
            | Orientation::Rotate270FlipH
    );
    let (width, height) = if swaps {
        (raster.height, raster.width)
    } else {
        (raster.width, raster.height)
    };
    let mut samples = vec![T::default(); raster.samples.len()];
    samples
        .par_chunks_mut(width * n * BAND_ROWS)
        .enumerate()
        .for_each(|(band, out)| {
            fill_band(out, &raster, turn, band * BAND_ROWS, width);
        });
    Raster {
        width,
        height,
        channels: n,
        samples,
    }
}

/// Fills output rows from `top` on, column by column so that source lines are read in turn.
fn fill_band<T: Copy>(out: &mut [T], raster: &Raster<T>, turn: Turn, top: usize, width: usize) {
    let n = raster.channels;
    let rows = out.len() / (width * n);
    for x in 0..width {
        for row in 0..rows {
            let from = turn.origin + x as isize * turn.step_x + (top + row) as isize * turn.step_y;
            let from = from as usize * n;
            let to = (row * width + x) * n;
            out[to..to + n].copy_from_slice(&raster.samples[from..from + n]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::DynamicImage;

    /// All eight orientations agree with the decoder library's own slow turning.
    #[test]
    fn every_orientation_equals_the_library() {
        for (width, height) in [(5_u32, 3_u32), (1, 7), (70, 2), (40, 67)] {
            let pixels: Vec<u8> = (0..width * height * 3)
                .map(|v| (v * 7 % 251) as u8)
                .collect();
            for exif in 1..=8 {
                let orientation = Orientation::from_exif(exif).expect("1 to 8");
                let mut expected = DynamicImage::ImageRgb8(
                    image::RgbImage::from_raw(width, height, pixels.clone()).expect("size"),
                );
                expected.apply_orientation(orientation);
                let turned = turn(
                    Raster {
                        width: width as usize,
                        height: height as usize,
                        channels: 3,
                        samples: pixels.clone(),
                    },
                    orientation,
                );
                assert_eq!(
                    turned.width,
                    expected.width() as usize,
                    "orientation {exif}"
                );
                assert_eq!(turned.samples, expected.into_bytes(), "orientation {exif}");
            }
        }
    }
}
