//! Profiles that are tables, and ink amounts: what goes through the colour engine.

use super::{
    Code, ColourClaim, GREY_SPREAD_CODES, LinearPicture, fill_planes, is_grey, linear_to_srgb,
    opacity, profile_name, srgb_to_linear,
};
use crate::photo::pixels::Raster;
use crate::plane::Rgb;
use moxcms::{ColorProfile, DataColorSpace, Layout, TransformOptions};
use rayon::prelude::*;

/// Three channels through a profile that is a table rather than curves and a matrix.
pub(super) fn through_lut<T: Code>(
    raster: &Raster<T>,
    profile: &ColorProfile,
) -> Option<LinearPicture> {
    let scale = 65535.0 / (T::LEVELS - 1) as f32;
    let wide = |row: &[T]| -> Vec<u16> {
        row.chunks_exact(raster.channels)
            .flat_map(|px| [px[0], px[1], px[2]])
            .map(|v| (v.index() as f32 * scale) as u16)
            .collect()
    };
    Some(LinearPicture {
        linear: transform_rows(raster, profile, Layout::Rgb, wide)?,
        opaque: opacity(raster),
        grey: is_grey(raster),
        colour_space: format!("{} (embedded profile)", profile_name(profile)),
    })
}

/// Each row through the colour engine to 16-bit sRGB, and from there to linear light.
fn transform_rows<T: Copy + Send + Sync>(
    raster: &Raster<T>,
    profile: &ColorProfile,
    layout: Layout,
    wide: impl Fn(&[T]) -> Vec<u16> + Sync,
) -> Option<Rgb> {
    let engine = profile
        .create_transform_16bit(
            layout,
            &ColorProfile::new_srgb(),
            Layout::Rgb,
            TransformOptions::default(),
        )
        .ok()?;
    let table: Vec<f32> = (0..=u16::MAX)
        .map(|code| srgb_to_linear(f32::from(code) / 65535.0))
        .collect();
    let rows: Option<Vec<Vec<u16>>> = raster
        .samples
        .par_chunks_exact(raster.width * raster.channels)
        .map(|row| {
            let mut out = vec![0_u16; raster.width * 3];
            engine.transform(&wide(row), &mut out).ok().map(|()| out)
        })
        .collect();
    let converted = Raster {
        width: raster.width,
        height: raster.height,
        channels: 3,
        samples: rows?.concat(),
    };
    Some(fill_planes(&converted, |px| {
        [px[0], px[1], px[2]].map(|v| table[usize::from(v)])
    }))
}

/// As [`GREY_SPREAD_CODES`] for greys of ink amounts that went through a profile and back, whose tables are coarser than
/// codes. A choice without a source; toned paper spreads its channels by twenty codes and more.
const PROFILE_SPREAD_CODES: f32 = 6.0;

/// Ink amounts: by the profile where there is one that can be used, else by a plain rule.
pub(super) fn from_cmyk(raster: &Raster<u16>, claim: &ColourClaim) -> LinearPicture {
    let profile = claim
        .icc
        .as_deref()
        .map(ColorProfile::new_from_slice)
        .and_then(Result::ok)
        .filter(|profile| profile.color_space == DataColorSpace::Cmyk);
    let by_profile = profile.as_ref().and_then(|profile| {
        let linear = transform_rows(raster, profile, Layout::Rgba, <[u16]>::to_vec)?;
        Some((
            linear,
            format!("{} (embedded profile)", profile_name(profile)),
        ))
    });
    let spread = match by_profile {
        Some(_) => PROFILE_SPREAD_CODES,
        None => GREY_SPREAD_CODES,
    };
    let (linear, colour_space) = by_profile.unwrap_or_else(|| {
        (
            fill_planes(raster, plain_cmyk),
            "CMYK without a usable profile, converted as (1 − ink)(1 − black) in sRGB".into(),
        )
    });
    LinearPicture {
        grey: is_neutral(&linear, spread),
        linear,
        opaque: None,
        colour_space,
    }
}

/// True when the three channels agree everywhere within so many 8-bit code values of sRGB.
fn is_neutral(linear: &Rgb, spread_codes: f32) -> bool {
    let [red, green, blue] = linear;
    ndarray::Zip::from(red).and(green).and(blue).par_fold(
        || true,
        |neutral, &r, &g, &b| {
            let codes = || [r, g, b].map(|v| 255.0 * linear_to_srgb(v));
            let [r, g, b] = if neutral { codes() } else { [0.0; 3] };
            neutral && r.max(g).max(b) - r.min(g).min(b) <= spread_codes
        },
        |a, b| a && b,
    )
}

/// The plain rule (1 − ink)(1 − black) in sRGB code values.
fn plain_cmyk(px: &[u16]) -> [f32; 3] {
    let black = 1.0 - f32::from(px[3]) / 65535.0;
    std::array::from_fn(|c| srgb_to_linear((1.0 - f32::from(px[c]) / 65535.0) * black))
}
