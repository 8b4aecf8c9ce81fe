//! Reading photo files: limits, orientation, profile, provenance.

use super::Photo;
use std::path::{Path, PathBuf};

/// How a photo is to be read.
#[derive(Clone, Debug)]
pub struct ReadOptions {
    /// Largest picture accepted, megapixels (10⁶ px). Checked before decoding.
    pub max_megapixels: f64,
    /// Pixels per millimetre stated by the user.
    pub px_per_mm: Option<f64>,
    /// Diameter of the loupe's field in mm, to be used where a round field is found.
    pub loupe_field_mm: Option<f64>,
    /// A scale measured in another photo taken with the same setting.
    pub measured_scale: Option<super::Scale>,
}

impl Default for ReadOptions {
    fn default() -> Self {
        Self {
            max_megapixels: 200.0,
            px_per_mm: None,
            loupe_field_mm: None,
            measured_scale: None,
        }
    }
}

/// Why a photo could not be read; every text names the file and what to do next.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// The file could not be opened or read.
    #[error("{}: cannot be read ({source}); check the path and permissions", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The bytes are not a picture this program knows, or are damaged.
    #[error("{}: {what}; {mend}", file.display())]
    NotAPicture {
        /// The file.
        file: PathBuf,
        /// What was wrong.
        what: String,
        /// What to do next.
        mend: String,
    },
    /// The picture is larger than the limit.
    #[error("{}: {megapixels:.0} megapixels is over the limit of {limit:.0}; crop it, or raise --max-megapixels", file.display())]
    TooLarge {
        /// The file.
        file: PathBuf,
        /// Its size, 10⁶ px.
        megapixels: f64,
        /// The limit, 10⁶ px.
        limit: f64,
    },
}

/// Reads a photo file into linear light.
///
/// # Errors
/// [`PhotoError`] when the file is missing, damaged, no picture, or over the size limit.
pub fn read(path: &Path, options: &ReadOptions) -> Result<Photo, PhotoError> {
    let picture = image::open(path)
        .map_err(|error| PhotoError::NotAPicture {
            file: path.to_owned(),
            what: error.to_string(),
            mend: "save it again as JPEG, PNG or TIFF".into(),
        })?
        .to_rgb32f();
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let linear = [0, 1, 2].map(|c| {
        ndarray::Array2::from_shape_fn((height, width), |(y, x)| {
            let v = picture.get_pixel(x as u32, y as u32)[c];
            if v <= 0.04045 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        })
    });
    let none = || crate::measured::Measured::missing("not built yet");
    Ok(Photo {
        provenance: super::Provenance {
            file: path.display().to_string(),
            sha256: String::new(),
            format: String::new(),
            bits_per_sample: 8,
            colour_space: String::new(),
            capture: Vec::new(),
        },
        grey: false,
        usable: ndarray::Array2::from_elem((height, width), true),
        field: super::Field::Frame,
        scale: options.px_per_mm.map(|v| super::Scale {
            value: v,
            lo: v,
            hi: v,
            source: super::scale::ScaleSource::Given,
        }),
        adequacy: super::Adequacy {
            sharpness_cycles_per_px: none(),
            sharpness_lp_per_mm: none(),
            blur_sigma_px: none(),
            noise: none(),
            clipped_share: none(),
            motion_ratio: none(),
            blocking: none(),
            verdict: super::adequacy::Verdict::Good,
            notes: Vec::new(),
        },
        linear,
    })
}
