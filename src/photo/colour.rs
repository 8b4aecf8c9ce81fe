//! Colour: transfer curves and embedded profiles to linear light, sRGB primaries.

mod engine;

use super::pixels::{Raster, Samples};
use crate::plane::{Mask, Plane, Rgb};
use engine::{from_cmyk, through_lut};
use moxcms::{ColorProfile, DataColorSpace, Matrix3f, ProfileText, ToneReprCurve};
use ndarray::Array2;
use rayon::prelude::*;

/// Largest difference between channels of a file that holds no colour, in 8-bit code values:
/// JPEG's colour transform rounds each channel on its own.
const GREY_SPREAD_CODES: f32 = 2.0;
/// Opacity from which on a pixel counts as seen, of 1: one 8-bit code value below full.
const OPAQUE: f32 = 254.0 / 255.0;

/// What the file says of its colours.
#[derive(Clone, Debug, Default)]
pub struct ColourClaim {
    /// Embedded ICC profile.
    pub icc: Option<Vec<u8>>,
    /// EXIF says Adobe RGB.
    pub adobe_rgb: bool,
    /// Exponent of the encoding stated by a PNG's gAMA chunk (light = code^γ).
    pub gamma: Option<f64>,
}

/// Linear light with what the conversion found out.
#[derive(Debug)]
pub struct LinearPicture {
    /// Linear light, sRGB primaries, 0–1.
    pub linear: Rgb,
    /// False where the picture is transparent; `None` when it has no transparency.
    pub opaque: Option<Mask>,
    /// The file holds no colour.
    pub grey: bool,
    /// What the samples were taken to mean.
    pub colour_space: String,
}

impl LinearPicture {
    /// What a transparent pixel hides is not part of the picture: it is made black, as beyond a loupe's rim.
    pub(super) fn blacken_unseen(&mut self) {
        if let Some(opaque) = &self.opaque {
            for plane in &mut self.linear {
                plane.zip_mut_with(opaque, |light, seen| {
                    if !seen {
                        *light = 0.0;
                    }
                });
            }
        }
    }
}

/// A sample depth with its table of all code values.
trait Code: Copy + Default + Send + Sync + 'static {
    const LEVELS: usize;
    fn index(self) -> usize;
}

impl Code for u8 {
    const LEVELS: usize = 256;
    fn index(self) -> usize {
        usize::from(self)
    }
}

impl Code for u16 {
    const LEVELS: usize = 65536;
    fn index(self) -> usize {
        usize::from(self)
    }
}

/// How code values become linear light.
struct Meaning {
    words: String,
    curves: [Box<dyn Fn(f32) -> f32 + Sync>; 3],
    /// To linear sRGB; `None` when the primaries are those of sRGB.
    matrix: Option<Matrix3f>,
}

/// Converts decoded samples to linear light.
#[must_use]
pub fn to_linear(samples: Samples, claim: &ColourClaim) -> LinearPicture {
    match samples {
        Samples::Eight(raster) => by_code(&raster, claim),
        Samples::Sixteen(raster) => by_code(&raster, claim),
        Samples::Float(raster) => from_float(raster, claim),
        Samples::Cmyk(raster) => from_cmyk(&raster, claim),
    }
}

fn by_code<T: Code>(raster: &Raster<T>, claim: &ColourClaim) -> LinearPicture {
    let profile = claim
        .icc
        .as_deref()
        .map(ColorProfile::new_from_slice)
        .and_then(Result::ok);
    if let Some(profile) = &profile
        && raster.channels >= 3
        && profile.color_space == DataColorSpace::Rgb
        && !profile.is_matrix_shaper()
        && let Some(picture) = through_lut(raster, profile)
    {
        return picture;
    }
    let meaning = Meaning::of(profile.as_ref(), raster.channels, claim);
    convert(raster, &meaning)
}

impl Meaning {
    fn of(profile: Option<&ColorProfile>, channels: usize, claim: &ColourClaim) -> Self {
        match profile {
            Some(profile) => Self::from_profile(profile, channels)
                .unwrap_or_else(|| Self::srgb("sRGB (assumed; the embedded profile does not fit)")),
            None if claim.icc.is_some() => {
                Self::srgb("sRGB (assumed; the embedded profile is damaged)")
            }
            None if claim.adobe_rgb => Self::from_profile(&ColorProfile::new_adobe_rgb(), channels)
                .map(|meaning| Self {
                    words: "Adobe RGB (stated in EXIF)".into(),
                    ..meaning
                })
                .unwrap_or_else(|| Self::srgb("sRGB (assumed)")),
            None => match claim.gamma {
                Some(gamma) => Self::power(gamma),
                None => Self::srgb("sRGB (assumed)"),
            },
        }
    }

    fn srgb(words: &str) -> Self {
        Self {
            words: words.into(),
            curves: std::array::from_fn(|_| Box::new(srgb_to_linear) as _),
            matrix: None,
        }
    }

    fn power(gamma: f64) -> Self {
        Self {
            words: format!("sRGB primaries, gamma {gamma:.2} (stated in the file)"),
            curves: std::array::from_fn(|_| Box::new(move |v: f32| v.powf(gamma as f32)) as _),
            matrix: None,
        }
    }

    /// The curves and the matrix of a profile; `None` where it does not describe such samples.
    fn from_profile(profile: &ColorProfile, channels: usize) -> Option<Self> {
        let words = format!("{} (embedded profile)", profile_name(profile));
        let grey_file = channels < 3;
        if profile.color_space == DataColorSpace::Gray && grey_file {
            let curve = evaluator(profile.gray_trc.as_ref()?)?;
            let curve = std::sync::Arc::new(curve);
            return Some(Self {
                words,
                curves: std::array::from_fn(|_| {
                    let curve = curve.clone();
                    Box::new(move |v| curve(v)) as _
                }),
                matrix: None,
            });
        }
        if !profile.is_matrix_shaper() {
            return None;
        }
        let curves = [
            Box::new(evaluator(profile.red_trc.as_ref()?)?) as _,
            Box::new(evaluator(profile.green_trc.as_ref()?)?) as _,
            Box::new(evaluator(profile.blue_trc.as_ref()?)?) as _,
        ];
        let matrix = profile.transform_matrix(&ColorProfile::new_srgb()).to_f32();
        let sound = matrix.v.iter().flatten().all(|v| v.is_finite());
        sound.then_some(Self {
            words,
            curves,
            // Equal channels stay equal through a matrix that keeps white.
            matrix: (!grey_file).then_some(matrix),
        })
    }

    fn tables<T: Code>(&self) -> [Vec<f32>; 3] {
        let top = (T::LEVELS - 1) as f32;
        std::array::from_fn(|c| {
            (0..T::LEVELS)
                .map(|code| tame((self.curves[c])(code as f32 / top)))
                .collect()
        })
    }
}

/// Inside 0–1 whatever a profile says; NaN counts as black.
fn tame(v: f32) -> f32 {
    if v.is_nan() { 0.0 } else { v.clamp(0.0, 1.0) }
}

/// sRGB decoding (IEC 61966-2-1).
#[must_use]
pub fn srgb_to_linear(v: f32) -> f32 {
    if v <= 0.040_45 {
        v / 12.92
    } else {
        ((v + 0.055) / 1.055).powf(2.4)
    }
}

/// Linear light to code value, both 0–1 (IEC 61966-2-1).
fn linear_to_srgb(v: f32) -> f32 {
    if v <= 0.003_130_8 {
        12.92 * v
    } else {
        1.055 * v.powf(1.0 / 2.4) - 0.055
    }
}

/// A tone curve as a function on 0–1.
fn evaluator(curve: &ToneReprCurve) -> Option<impl Fn(f32) -> f32 + Send + Sync + 'static> {
    let evaluator = curve.make_linear_evaluator().ok()?;
    Some(move |v: f32| evaluator.evaluate_value(v))
}

/// The profile's own description.
fn profile_name(profile: &ColorProfile) -> String {
    let text = match &profile.description {
        Some(ProfileText::PlainString(text)) => text.clone(),
        Some(ProfileText::Localizable(list)) => {
            list.first().map(|l| l.value.clone()).unwrap_or_default()
        }
        Some(ProfileText::Description(text)) if !text.ascii_string.is_empty() => {
            text.ascii_string.clone()
        }
        Some(ProfileText::Description(text)) => text.unicode_string.clone(),
        None => String::new(),
    };
    let text: String = text.chars().filter(|c| !c.is_control()).take(60).collect();
    if text.trim().is_empty() {
        "unnamed colour space".into()
    } else {
        text.trim().to_owned()
    }
}

/// Table look-up and matrix, rows in parallel.
fn convert<T: Code>(raster: &Raster<T>, meaning: &Meaning) -> LinearPicture {
    let tables = meaning.tables::<T>();
    let n = raster.channels;
    // Grey and grey + alpha: the one channel serves as all three.
    let of = if n < 3 { [0, 0, 0] } else { [0, 1, 2] };
    let linear = fill_planes(raster, |px| {
        let rgb: [f32; 3] = std::array::from_fn(|c| tables[c][px[of[c]].index()]);
        match &meaning.matrix {
            Some(m) => times(m, rgb),
            None => rgb,
        }
    });
    LinearPicture {
        linear,
        opaque: opacity(raster),
        grey: n < 3 || is_grey(raster),
        colour_space: meaning.words.clone(),
    }
}

fn times(m: &Matrix3f, [r, g, b]: [f32; 3]) -> [f32; 3] {
    std::array::from_fn(|row| {
        let [x, y, z] = m.v[row];
        (x * r + y * g + z * b).clamp(0.0, 1.0)
    })
}

/// Three planes from one function of a pixel's samples.
fn fill_planes<T: Copy + Send + Sync>(
    raster: &Raster<T>,
    light: impl Fn(&[T]) -> [f32; 3] + Sync,
) -> Rgb {
    let (width, height, n) = (raster.width, raster.height, raster.channels);
    let mut planes: [Vec<f32>; 3] = std::array::from_fn(|_| vec![0.0; width * height]);
    let [red, green, blue] = &mut planes;
    raster
        .samples
        .par_chunks_exact(width * n)
        .zip(red.par_chunks_exact_mut(width))
        .zip(green.par_chunks_exact_mut(width))
        .zip(blue.par_chunks_exact_mut(width))
        .for_each(|(((row, red), green), blue)| {
            for (x, px) in row.chunks_exact(n).enumerate() {
                [red[x], green[x], blue[x]] = light(px);
            }
        });
    planes.map(|samples| plane(samples, width, height))
}

fn plane(samples: Vec<f32>, width: usize, height: usize) -> Plane {
    Array2::from_shape_vec((height, width), samples)
        .unwrap_or_else(|_| Array2::zeros((height, width)))
}

/// Which pixels are opaque, for pictures with an alpha channel that is used at all.
fn opacity<T: Code>(raster: &Raster<T>) -> Option<Mask> {
    let n = raster.channels;
    if n != 2 && n != 4 {
        return None;
    }
    let floor = OPAQUE * (T::LEVELS - 1) as f32;
    let seen: Vec<bool> = raster
        .samples
        .par_chunks_exact(n)
        .map(|px| px[n - 1].index() as f32 >= floor)
        .collect();
    if seen.iter().all(|v| *v) {
        return None;
    }
    Array2::from_shape_vec((raster.height, raster.width), seen).ok()
}

/// True when all three channels agree within rounding wherever something is seen.
fn is_grey<T: Code>(raster: &Raster<T>) -> bool {
    let n = raster.channels;
    let opaque = OPAQUE * (T::LEVELS - 1) as f32;
    let unseen = |px: &[T]| n == 4 && (px[3].index() as f32) < opaque;
    let tolerance = (GREY_SPREAD_CODES / 255.0 * (T::LEVELS - 1) as f32) as usize;
    raster
        .samples
        .par_chunks_exact(raster.width * n)
        .all(|row| {
            row.chunks_exact(n).all(|px| {
                let [r, g, b] = [px[0].index(), px[1].index(), px[2].index()];
                r.max(g).max(b) - r.min(g).min(b) <= tolerance || unseen(px)
            })
        })
}

/// Floating-point files: linear light unless a profile says otherwise.
fn from_float(raster: Raster<f32>, claim: &ColourClaim) -> LinearPicture {
    let coded = Raster {
        width: raster.width,
        height: raster.height,
        channels: raster.channels,
        samples: raster
            .samples
            .par_iter()
            .map(|v| (tame(*v) * 65535.0).round() as u16)
            .collect::<Vec<u16>>(),
    };
    if claim.icc.is_some() {
        return by_code(&coded, claim);
    }
    LinearPicture {
        linear: fill_planes(&raster, |px| [tame(px[0]), tame(px[1]), tame(px[2])]),
        opaque: opacity(&coded),
        grey: is_grey(&coded),
        colour_space: "linear light, sRGB primaries (assumed for a floating-point file)".into(),
    }
}
