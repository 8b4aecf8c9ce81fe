//! A quick look for graduations, to tell the photographs of rules among many others.

use super::straighten::View;
use super::{WORKING_SIDE_PX, common, inside, search};
use crate::photo::field;
use crate::plane::Plane;
use image::GrayImage;

/// Exponent from stored grey values to light, about: the place of an edge hardly hangs on it.
const DECODING: f32 = 2.2;

/// Whether a picture shows the graduations of an ordinary rule. It looks at the picture
/// reduced to some 1200 px; [`super::measure_common_rule`] says on the whole photograph what it measures.
#[must_use]
pub fn shows_rule(grey: &GrayImage) -> bool {
    let light = reduced(grey);
    let planes = [light.clone(), light.clone(), light];
    let found = field::find(&planes);
    let mask = inside(&found.field, planes[0].dim());
    let view = View::of(&planes[0], &mask, WORKING_SIDE_PX);
    common(|graduation_mm| search(&view, graduation_mm)).is_ok()
}

/// Mean light of blocks that bring the long side to the working size.
fn reduced(grey: &GrayImage) -> Plane {
    let (width, height) = (grey.width() as usize, grey.height() as usize);
    let k = height.max(width).div_ceil(WORKING_SIDE_PX).max(1);
    let light: Vec<f32> = (0..=255_u8)
        .map(|v| (f32::from(v) / 255.0).powf(DECODING))
        .collect();
    let row = |y: usize| &grey.as_raw()[y * width..][..width];
    Plane::from_shape_fn((height / k, width / k), |(y, x)| {
        let sum: f32 = (y * k..(y + 1) * k)
            .flat_map(|y| &row(y)[x * k..(x + 1) * k])
            .map(|&v| light[usize::from(v)])
            .sum();
        sum / (k * k) as f32
    })
}
